//! Why a radiator cannot be divided as asked.

use crate::design::nearest;
use crate::network::BuildError;
use std::fmt;

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum PartitionError {
    /// The design makes no network.
    Build(BuildError),
    /// No radiator has two cores.
    NothingDivided,
    /// Several radiators have two cores or more.
    WhichRadiator {
        /// Their names.
        known: Vec<String>,
    },
    /// The radiator has one core.
    OneCore {
        /// Its name.
        radiator: String,
    },
    /// The radiator is cut by rectangles, between which no whole tubes move.
    CutByFace {
        /// Its name.
        radiator: String,
    },
    /// Tubes cannot move from a core to itself.
    SameCore {
        /// The core.
        core: String,
    },
    /// Only cases in time are asked for, and cuts are judged on steady answers.
    NoSteadyCase {
        /// The cases in time.
        in_time: Vec<String>,
    },
    /// A name that nothing has.
    Unknown {
        /// What was asked for: a radiator, a core, a case.
        sort: &'static str,
        /// The name.
        name: String,
        /// The names there are.
        known: Vec<String>,
    },
}

impl PartitionError {
    pub(super) fn unknown<'a>(
        sort: &'static str,
        name: &str,
        known: impl Iterator<Item = &'a String>,
    ) -> Self {
        Self::Unknown {
            sort,
            name: name.to_owned(),
            known: known.cloned().collect(),
        }
    }
}

impl From<BuildError> for PartitionError {
    fn from(error: BuildError) -> Self {
        Self::Build(error)
    }
}

impl fmt::Display for PartitionError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Build(error) => error.fmt(f),
            Self::NothingDivided => f.write_str(
                "cannot divide a radiator because none has two cores; try giving it two under `cores`",
            ),
            Self::WhichRadiator { known } => write!(
                f,
                "cannot choose a radiator because several have two cores; try `--radiator` with one of {}",
                quoted(known)
            ),
            Self::OneCore { radiator } => write!(
                f,
                "cannot divide `{radiator}` because it has one core; try giving it two under `cores`"
            ),
            Self::CutByFace { radiator } => write!(
                f,
                "cannot move tubes between the cores of `{radiator}` because they are rectangles of its face; try a cut by `tubes` to compare, or change `face` and solve"
            ),
            Self::SameCore { core } => write!(
                f,
                "cannot move tubes from the core `{core}` to itself; try two different cores"
            ),
            Self::NoSteadyCase { in_time } => write!(
                f,
                "cannot compare cuts because no steady case is left beside the cases in time {}; try a case without `duration`, or `--season constant-load`",
                quoted(in_time)
            ),
            Self::Unknown { sort, name, known } => {
                write!(f, "the design has no {sort} `{name}`; ")?;
                match nearest(name, known.iter().map(String::as_str)) {
                    Some(near) => write!(f, "did you mean `{near}`?"),
                    None if known.is_empty() => write!(f, "it has none at all"),
                    None => write!(f, "try {}", quoted(known)),
                }
            }
        }
    }
}

impl std::error::Error for PartitionError {}

fn quoted(names: &[String]) -> String {
    let quoted: Vec<String> = names.iter().map(|n| format!("`{n}`")).collect();
    quoted.join(", ")
}
