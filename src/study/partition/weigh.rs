//! Making margins of different limits comparable, and choosing by them.
//!
//! Temperatures weigh by their kelvin. Any other limit weighs by its margin over the larger of bound and value, 2 % as
//! much as 1 K (common practice, no source: about what a bench thermometer and a bench gauge tell apart).

use super::{Cut, is_met};
use crate::quantity::Kind;
use crate::study::limit_row::{LimitRow, LimitSide, Measure};

/// Kelvin that a margin as large as the bound itself weighs, for what is no temperature.
pub const KELVIN_PER_WHOLE: f64 = 50.0;
/// A limit that moves less than this over all cuts is not moved by the cut, K.
const UNMOVED_K: f64 = 0.01;

/// The margin of a limit on the common scale, K; none without a value.
///
/// Range: temperatures any; others within -2 and 2 times [`KELVIN_PER_WHOLE`].
pub fn margin_k(row: &LimitRow) -> Option<f64> {
    let margin = row.margin?;
    match row.measure {
        Measure::Quantity(Kind::Temperature | Kind::TemperatureDifference) => Some(margin),
        _ => {
            let whole = row.bound.abs().max(row.value?.abs());
            let share = if whole > 0.0 { margin / whole } else { 0.0 };
            Some(KELVIN_PER_WHOLE * share)
        }
    }
}

/// The limit that is tightest.
#[derive(Clone, Debug, PartialEq)]
pub struct Tight {
    /// Margin on the common scale, K.
    pub margin_k: f64,
    /// What the limit measures.
    pub measure: Measure,
    /// Key of the limit.
    pub limit: &'static str,
    /// What it is judged on.
    pub subject: String,
    /// The case.
    pub case: String,
}

impl Tight {
    /// The margin as a share of bound or value, whichever is larger; none for a temperature, which weighs by its kelvin.
    pub fn share(&self) -> Option<f64> {
        match self.measure {
            Measure::Quantity(Kind::Temperature | Kind::TemperatureDifference) => None,
            _ => Some(self.margin_k / KELVIN_PER_WHOLE),
        }
    }
}

/// One limit in one case, followed over all cuts.
#[derive(Clone, Debug, PartialEq)]
pub struct Track {
    /// The case.
    pub case: String,
    /// Key of the limit.
    pub limit: &'static str,
    /// What it is judged on.
    pub subject: String,
    /// Which side the bound is on.
    pub side: LimitSide,
    /// Whether it counts for the choice: the cut moves it, and it is a temperature of one of the two loops or is met
    /// by some cut in all cases at once. What no cut meets and is no temperature needs another remedy.
    pub counts: bool,
    /// Whether some cut meets it in every case.
    pub mendable: bool,
    /// First and last number of tubes of the first core that meets it.
    pub met: Option<(u32, u32)>,
    /// Smallest and largest margin over all cuts on the common scale, K.
    pub range_k: Option<(f64, f64)>,
}

impl Track {
    pub(super) fn is_of(&self, case: &str, row: &LimitRow) -> bool {
        self.case == case
            && self.limit == row.limit
            && self.side == row.side
            && self.subject == row.subject
    }

    /// Whether it has a value and no cut meets it in every case.
    pub fn is_hopeless(&self) -> bool {
        !self.mendable && self.range_k.is_some()
    }
}

/// The loop that a subject belongs to.
pub(super) fn owner_of(subject: &str) -> &str {
    subject.split('.').next().unwrap_or(subject)
}

/// Whether a limit is on the level of temperatures, which the size of a core sets.
pub(super) fn is_level(row: &LimitRow) -> bool {
    matches!(row.measure, Measure::Quantity(Kind::Temperature))
}

/// Follows every limit over all cuts.
pub(super) fn tracks(cuts: &[Cut], owners: &[String; 2]) -> Vec<Track> {
    let mut tracks: Vec<(Track, bool)> = Vec::new();
    for cut in cuts {
        for case in &cut.cases {
            let Ok(state) = &case.outcome else { continue };
            for row in &state.limits {
                let level = is_level(row) && owners.iter().any(|o| o == owner_of(&row.subject));
                let index = tracks
                    .iter()
                    .position(|t| t.0.is_of(&case.case, row))
                    .unwrap_or_else(|| {
                        let track = Track {
                            case: case.case.clone(),
                            limit: row.limit,
                            subject: row.subject.clone(),
                            side: row.side,
                            counts: false,
                            mendable: false,
                            met: None,
                            range_k: None,
                        };
                        tracks.push((track, level));
                        tracks.len() - 1
                    });
                let track = &mut tracks[index].0;
                if is_met(row) {
                    let first = track.met.map_or(cut.tubes[0], |m| m.0);
                    track.met = Some((first, cut.tubes[0]));
                }
                if let Some(m) = margin_k(row) {
                    let (low, high) = track.range_k.unwrap_or((m, m));
                    track.range_k = Some((low.min(m), high.max(m)));
                }
            }
        }
    }
    let mendable: Vec<bool> = tracks.iter().map(|t| is_mendable(cuts, &t.0)).collect();
    tracks
        .into_iter()
        .zip(mendable)
        .map(|((track, level), mendable)| {
            let moved = track.range_k.is_some_and(|(a, b)| b - a >= UNMOVED_K);
            Track {
                counts: moved && (level || mendable),
                mendable,
                ..track
            }
        })
        .collect()
}

/// Whether some cut meets a limit in every case in which it has a value.
fn is_mendable(cuts: &[Cut], track: &Track) -> bool {
    cuts.iter().filter(|c| c.failure().is_none()).any(|cut| {
        cut.cases.iter().all(|case| {
            case.outcome.as_ref().is_ok_and(|state| {
                state
                    .limits
                    .iter()
                    .filter(|row| track.is_of(&track.case, row) && row.margin.is_some())
                    .all(is_met)
            })
        })
    })
}

/// Fills in the worst margins and whether each cut fits.
pub(super) fn judge_cuts(cuts: &mut [Cut], tracks: &[Track], owners: &[String; 2]) {
    for cut in cuts {
        let mut fits = true;
        let mut worst: Option<Tight> = None;
        let mut worst_of: [Option<Tight>; 2] = [None, None];
        for case in &cut.cases {
            let Ok(state) = &case.outcome else {
                fits = false;
                continue;
            };
            for row in &state.limits {
                let counts = tracks.iter().any(|t| t.counts && t.is_of(&case.case, row));
                if !counts {
                    continue;
                }
                fits &= is_met(row);
                let Some(margin_k) = margin_k(row) else {
                    continue;
                };
                let tight = Tight {
                    margin_k,
                    measure: row.measure,
                    limit: row.limit,
                    subject: row.subject.clone(),
                    case: case.case.clone(),
                };
                for (owner, slot) in owners.iter().zip(&mut worst_of) {
                    if owner == owner_of(&row.subject) {
                        tighten(slot, &tight);
                    }
                }
                tighten(&mut worst, &tight);
            }
        }
        cut.worst = worst;
        cut.worst_of = worst_of;
        cut.fits = fits;
    }
}

fn tighten(slot: &mut Option<Tight>, tight: &Tight) {
    if slot.as_ref().is_none_or(|s| tight.margin_k < s.margin_k) {
        *slot = Some(tight.clone());
    }
}

/// The cut with the largest smallest margin among those with an answer in every case; the first of equals.
pub(super) fn best(cuts: &[Cut]) -> Option<usize> {
    let mut best: Option<(usize, bool, f64)> = None;
    for (index, cut) in cuts.iter().enumerate() {
        let (Some(worst), None) = (&cut.worst, cut.failure()) else {
            continue;
        };
        let better = best.is_none_or(|(_, fits, margin)| {
            (cut.fits && !fits) || (cut.fits == fits && worst.margin_k > margin)
        });
        if better {
            best = Some((index, cut.fits, worst.margin_k));
        }
    }
    best.map(|(index, _, _)| index)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::Verdict;

    fn row(measure: Measure, side: LimitSide, value: f64, bound: f64) -> LimitRow {
        let margin = match side {
            LimitSide::Min => value - bound,
            LimitSide::Max => bound - value,
        };
        LimitRow {
            limit: "module_temperature",
            subject: "battery".into(),
            measure,
            side,
            value: Some(value),
            band: None,
            bound,
            margin: Some(margin),
            verdict: if margin < 0.0 {
                Verdict::Missed
            } else {
                Verdict::Met
            },
            limited_by: String::new(),
            advice: String::new(),
        }
    }

    #[test]
    fn temperatures_weigh_by_kelvin_and_other_limits_by_two_percent_of_the_larger_of_bound_and_value()
     {
        let hot = row(
            Measure::Quantity(Kind::Temperature),
            LimitSide::Max,
            316.15,
            318.15,
        );
        assert!(margin_k(&hot).is_some_and(|m| (m - 2.0).abs() < 1e-9));
        let fast = row(Measure::Quantity(Kind::Velocity), LimitSide::Max, 1.96, 2.0);
        assert!(margin_k(&fast).is_some_and(|m| (m - 1.0).abs() < 1e-9));
        let low = row(
            Measure::Quantity(Kind::PressureDifference),
            LimitSide::Min,
            40e3,
            20e3,
        );
        assert!(margin_k(&low).is_some_and(|m| (m - 25.0).abs() < 1e-9));
        let uneven = row(Measure::Ratio, LimitSide::Max, 0.2, 0.1);
        assert!(margin_k(&uneven).is_some_and(|m| (m + 25.0).abs() < 1e-9));
    }

    #[test]
    fn a_bound_of_zero_gives_no_division_by_zero() {
        let still = row(
            Measure::Quantity(Kind::PressureDifference),
            LimitSide::Min,
            0.0,
            0.0,
        );
        assert_eq!(margin_k(&still), Some(0.0));
    }
}
