//! Why a design is refused once its syntax is sound: one rule, one place in the document, one sentence.

use crate::place::{Place, Step};
use std::fmt;

/// The rule that a design breaks; [`Rule::code`] is stable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Rule {
    /// A name that nothing has.
    UnknownName,
    /// A name that two things have.
    NameTwice,
    /// A run too short to join anything.
    ShortRun,
    /// A tee or a core named without its end, or another part named with one.
    WrongEnd,
    /// A part that stands twice.
    PartTwice,
    /// A part that no run holds.
    PartUnused,
    /// An end that is joined to nothing, or joined twice.
    LooseEnd,
    /// A connected piece without a pressure reference.
    NoPressureReference,
    /// A second expansion tank in a closed loop.
    SecondTank,
    /// Stated pressures joined without loss.
    LosslessJoin,
    /// Stated flows that cannot be met.
    UnmetDraw,
    /// A key or a combination of values that makes no part.
    BadPart,
    /// A curve that rises or has too few points.
    BadCurve,
    /// Coolant properties outside their range.
    CoolantRange,
    /// A division of a radiator that does not come out.
    BadCut,
    /// A bound that can never hold, or holds nothing.
    BadBound,
    /// Keys of a case that do not go together.
    BadCase,
}

impl Rule {
    /// The stable code.
    pub fn code(self) -> &'static str {
        match self {
            Self::UnknownName => "unknown-name",
            Self::NameTwice => "name-twice",
            Self::ShortRun => "short-run",
            Self::WrongEnd => "wrong-end",
            Self::PartTwice => "part-twice",
            Self::PartUnused => "part-unused",
            Self::LooseEnd => "loose-end",
            Self::NoPressureReference => "no-pressure-reference",
            Self::SecondTank => "second-tank",
            Self::LosslessJoin => "lossless-join",
            Self::UnmetDraw => "unmet-draw",
            Self::BadPart => "bad-part",
            Self::BadCurve => "bad-curve",
            Self::CoolantRange => "coolant-range",
            Self::BadCut => "bad-cut",
            Self::BadBound => "bad-bound",
            Self::BadCase => "bad-case",
        }
    }
}

/// What begins the advice at the end of a sentence that the rooms below write in one piece.
const ADVICE: [&str; 4] = ["; try ", "; give ", "; keep ", ": give "];

/// One reason why a design is refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NetworkError {
    /// The rule.
    pub rule: Rule,
    /// Where in the document.
    pub place: Place,
    /// What is wrong, with value and limit.
    pub message: String,
    /// What to try.
    pub help: Option<String>,
}

impl NetworkError {
    /// A refusal with a next step.
    pub fn new(
        rule: Rule,
        place: &Place,
        message: impl Into<String>,
        help: impl Into<String>,
    ) -> Self {
        let (mut message, mut help): (String, String) = (message.into(), help.into());
        if help.is_empty()
            && let Some(at) = ADVICE.iter().filter_map(|word| message.rfind(word)).max()
        {
            help = message[at + 2..].to_owned();
            message.truncate(at);
        }
        Self {
            rule,
            place: place.clone(),
            message,
            help: (!help.is_empty()).then_some(help),
        }
    }

    /// Whether the mistake is the key that ends the place, such as a part's name under `heat`, and not its value.
    pub fn is_of_the_key(&self) -> bool {
        match self.place.steps().last() {
            Some(Step::Key(key)) => {
                self.rule == Rule::UnknownName && self.message.contains(&format!("`{key}`"))
            }
            _ => false,
        }
    }
}

impl fmt::Display for NetworkError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.place, self.message)?;
        match &self.help {
            Some(help) => write!(f, "; {help}"),
            None => Ok(()),
        }
    }
}

impl std::error::Error for NetworkError {}
