//! A judged limit.

use crate::quantity::Kind;

/// What a limit measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    /// A dimensional quantity.
    Quantity(Kind),
    /// A plain ratio.
    Ratio,
}

/// Which side of the value the bound is on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LimitSide {
    /// The value must not be lower.
    Min,
    /// The value must not be higher.
    Max,
}

/// How a limit came out, from good to bad.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Met.
    Met,
    /// Met, but resting on a placeholder or on a single measured point.
    Provisional,
    /// There is no such value in this case.
    NoValue,
    /// Missed.
    Missed,
}

impl Verdict {
    /// The word a report prints.
    pub fn word(self) -> &'static str {
        match self {
            Self::Met => "met",
            Self::Provisional => "provisional",
            Self::NoValue => "no value",
            Self::Missed => "MISSED",
        }
    }

    /// The stable code.
    pub fn code(self) -> &'static str {
        match self {
            Self::Met => "met",
            Self::Provisional => "provisional",
            Self::NoValue => "no_value",
            Self::Missed => "missed",
        }
    }
}

/// One limit of one subject in one case.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitRow {
    /// Key of the limit in the design file.
    pub limit: &'static str,
    /// What it is judged on: a loop, a bank, a part.
    pub subject: String,
    /// What it measures.
    pub measure: Measure,
    /// Which side the bound is on.
    pub side: LimitSide,
    /// The worst value, SI.
    pub value: Option<f64>,
    /// Lowest and highest value where single measured points leave a band, SI.
    pub band: Option<(f64, f64)>,
    /// The bound, SI.
    pub bound: f64,
    /// Distance to the bound, SI; positive is met.
    pub margin: Option<f64>,
    /// The verdict.
    pub verdict: Verdict,
    /// The part that limits.
    pub limited_by: String,
    /// What would help.
    pub advice: String,
}

impl LimitRow {
    /// Takes another reading of the same limit in: the band grows, the worse value counts.
    pub(super) fn widen(&mut self, other: &Self) {
        let (Some(mine), Some(theirs)) = (self.value, other.value) else {
            return;
        };
        let (low, high) = self.band.unwrap_or((mine, mine));
        self.band = Some((low.min(theirs), high.max(theirs)));
        let worse = match self.side {
            LimitSide::Min => theirs < mine,
            LimitSide::Max => theirs > mine,
        };
        if worse {
            self.value = other.value;
            self.margin = other.margin;
            self.limited_by.clone_from(&other.limited_by);
        }
        self.verdict = self.verdict.max(other.verdict).max(Verdict::Provisional);
    }
}
