//! The plan: the names of a design and how its runs follow one another, before anything is lowered.
//! The checks of `check.rs` read the plan, so that they know nothing of records.

use super::names::is_near;
use crate::part::{MIXING_ENDS, TEE_ENDS};
use crate::place::Place;

/// Names that mean nothing, up to which a missing part is held against all of them.
const MOST_SLIPS: usize = 50;

/// What a named part is to a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sort {
    /// A point where any number of runs meet, with a stated pressure (an expansion tank).
    Tank,
    /// A point with a stated pressure that is open to the outside.
    OpenEnd,
    /// A point without a stated pressure.
    Meeting,
    /// A tee with three ends.
    Tee,
    /// A mixing thermostat with three ends.
    Mixing,
    /// A part with an inlet and an outlet.
    TwoEnd,
}

impl Sort {
    /// The names of its three ends, where it has three.
    pub fn ends(self) -> Option<&'static [&'static str; 3]> {
        match self {
            Self::Tee => Some(&TEE_ENDS),
            Self::Mixing => Some(&MIXING_ENDS),
            _ => None,
        }
    }

    /// What a message calls a part with three ends.
    pub fn noun(self) -> &'static str {
        match self {
            Self::Mixing => "mixing thermostat",
            _ => "tee",
        }
    }
}

/// A part of a loop.
#[derive(Clone, Debug)]
pub struct PlanPart {
    /// Its name.
    pub name: String,
    /// What it is to a run.
    pub sort: Sort,
    /// Its place.
    pub place: Place,
}

/// One name in a run, resolved.
#[derive(Clone, Debug)]
pub struct Link {
    /// As written.
    pub text: String,
    /// What it names.
    pub target: Target,
    /// Its place.
    pub place: Place,
}

/// What a name in a run means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Target {
    /// A part, by its place in the loop's list.
    Part(usize),
    /// An end of a tee or a mixing thermostat: the part and the leg.
    TeeEnd(usize, usize),
    /// A core: radiator and core, by their places.
    Core(usize, usize),
    /// Nothing; already reported.
    Nothing,
}

/// A loop's names and runs.
#[derive(Clone, Debug)]
pub struct PlanLoop {
    /// Its name.
    pub name: String,
    /// Its place.
    pub place: Place,
    /// Its parts.
    pub parts: Vec<PlanPart>,
    /// Its runs.
    pub runs: Vec<Vec<Link>>,
}

/// A core of a radiator.
#[derive(Clone, Debug)]
pub struct PlanCore {
    /// `radiator.core`.
    pub name: String,
    /// Its place.
    pub place: Place,
    /// Radiator and core, by their places.
    pub target: (usize, usize),
}

/// All names and runs of a design.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The loops.
    pub loops: Vec<PlanLoop>,
    /// The cores of all radiators.
    pub cores: Vec<PlanCore>,
    /// Names of the radiators with their places.
    pub radiators: Vec<(String, Place)>,
}

impl PlanLoop {
    /// Whether a name in a run that names nothing may have meant this part or core: what is missing because of that
    /// slip is not told a second time.
    pub fn may_mean(&self, name: &str) -> bool {
        let unresolved = self
            .runs
            .iter()
            .flatten()
            .filter(|link| link.target == Target::Nothing)
            .take(MOST_SLIPS);
        unresolved.into_iter().any(|link| {
            let owner = link.text.split('.').next().unwrap_or("");
            is_near(&link.text, name) || (owner != link.text && is_near(owner, name))
        })
    }

    /// Whether a link is a point or a tee end, where a branch begins or ends.
    pub fn is_node(&self, link: &Link) -> bool {
        match link.target {
            Target::Part(part) => self.parts[part].sort != Sort::TwoEnd,
            Target::TeeEnd(..) => true,
            Target::Core(..) | Target::Nothing => false,
        }
    }
}
