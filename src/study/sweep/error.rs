//! Why a sweep cannot begin.

use crate::design::{ChangeError, Fault, nearest};
use crate::network::BuildError;
use std::fmt;

/// Why there is no sweep.
#[derive(Clone, Debug, PartialEq)]
pub enum SweepError {
    /// The design itself does not pass.
    Design(Vec<Fault>),
    /// The design makes no network.
    Build(BuildError),
    /// A path or its values are wrong.
    Vary(ChangeError),
    /// Nothing is varied.
    NothingVaried,
    /// Two dials turn the same value.
    Twice(String),
    /// A range has no steps, and no sampling was asked for.
    NoSteps(String),
    /// A range has steps, and sampling sets its own.
    StepsInSampling(String),
    /// More values are varied than the sampling has dimensions.
    TooManyDimensions {
        /// How many are varied.
        got: usize,
        /// How many there can be.
        limit: usize,
    },
    /// There are more points than can be counted.
    TooManyPoints,
    /// No points are asked for.
    NoPoints,
    /// A case that the design has not.
    UnknownCase {
        /// The name.
        name: String,
        /// Those there are.
        known: Vec<String>,
    },
    /// An output that no answer has.
    Output {
        /// Its path.
        path: String,
        /// What is wrong with it.
        why: String,
    },
}

impl From<ChangeError> for SweepError {
    fn from(error: ChangeError) -> Self {
        Self::Vary(error)
    }
}

impl fmt::Display for SweepError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Design(faults) => {
                let told: Vec<String> = faults.iter().map(ToString::to_string).collect();
                f.write_str(&told.join("\n"))
            }
            Self::Build(error) => error.fmt(f),
            Self::Vary(error) => error.fmt(f),
            Self::NothingVaried => {
                f.write_str("nothing is varied; try `--vary PATH=13 mm..25 mm:13`")
            }
            Self::Twice(path) => {
                write!(f, "`{path}` is varied twice; keep one of the two")
            }
            Self::NoSteps(path) => write!(
                f,
                "the range of `{path}` says no number of values; write `A..B:N`, or sample with `--sobol N`"
            ),
            Self::StepsInSampling(path) => write!(
                f,
                "the range of `{path}` says a number of values, but the sampling has its own; write `A..B`"
            ),
            Self::TooManyDimensions { got, limit } => write!(
                f,
                "too many values are varied for sampling: got {got}, limit {limit}; vary fewer, or use a grid"
            ),
            Self::TooManyPoints => {
                f.write_str("there are more points than can be counted; give fewer values a range")
            }
            Self::NoPoints => f.write_str("no points are asked for: got 0, limit at least 1"),
            Self::UnknownCase { name, known } => {
                write!(f, "the design has no case `{name}`; ")?;
                match nearest(name, known.iter().map(String::as_str)) {
                    Some(meant) => write!(f, "did you mean `{meant}`?"),
                    None => {
                        let known: Vec<String> = known.iter().map(|k| format!("`{k}`")).collect();
                        write!(f, "its cases are {}", known.join(", "))
                    }
                }
            }
            Self::Output { path, why } => write!(f, "cannot read the output `{path}`: {why}"),
        }
    }
}

impl std::error::Error for SweepError {}
