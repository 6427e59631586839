//! Why a sizing study cannot be asked as it was.

use crate::design::{list, nearest};
use crate::network::BuildError;
use crate::solve::SolveError;
use std::fmt;

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum StudyError {
    /// The design makes no network.
    Build(BuildError),
    /// The design as it stands has no solution where one is needed to begin with.
    Solve(SolveError),
    /// Several things could be meant.
    Which {
        /// What is to be chosen: a pump, a loop, a bank.
        sort: &'static str,
        /// The option that chooses.
        option: &'static str,
        /// Their names.
        known: Vec<String>,
    },
    /// The design, or the stock list, has nothing of the sort.
    Nothing {
        /// What is missing.
        sort: &'static str,
        /// What to try.
        help: &'static str,
    },
    /// Only cases in time are asked for, and steady answers are compared.
    NoSteadyCase {
        /// The cases in time.
        in_time: Vec<String>,
    },
    /// A name that nothing has.
    Unknown {
        /// What was asked for.
        sort: &'static str,
        /// The name.
        name: String,
        /// The names there are.
        known: Vec<String>,
    },
    /// A value that cannot be used.
    Value {
        /// Why, with value and limit.
        reason: String,
    },
}

impl StudyError {
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

impl From<BuildError> for StudyError {
    fn from(error: BuildError) -> Self {
        Self::Build(error)
    }
}

impl From<SolveError> for StudyError {
    fn from(error: SolveError) -> Self {
        Self::Solve(error)
    }
}

impl fmt::Display for StudyError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let all = |names: &[String]| list(names.iter().map(String::as_str));
        match self {
            Self::Build(error) => error.fmt(f),
            Self::Solve(error) => write!(f, "the design as it stands has no answer: {error}"),
            Self::Which {
                sort,
                option,
                known,
            } => write!(
                f,
                "cannot choose a {sort} because there are several; try `{option}` with one of {}",
                all(known)
            ),
            Self::Nothing { sort, help } => write!(f, "there is no {sort}; {help}"),
            Self::NoSteadyCase { in_time } => write!(
                f,
                "cannot compare because no steady case is left beside the cases in time {}; try a case without `duration`, or `--season constant-load`",
                all(in_time)
            ),
            Self::Unknown { sort, name, known } => {
                write!(f, "there is no {sort} `{name}`; ")?;
                match nearest(name, known.iter().map(String::as_str)) {
                    Some(near) => write!(f, "did you mean `{near}`?"),
                    None => write!(f, "try {}", all(known)),
                }
            }
            Self::Value { reason } => f.write_str(reason),
        }
    }
}

impl std::error::Error for StudyError {}
