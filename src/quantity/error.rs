//! Why a text is not the quantity that was wanted, in words a builder can act on.

use std::fmt;

use super::family::UnitFamily;
use super::kind::Kind;

/// A text that is not the wanted quantity.
///
/// Its `Display` says what was wanted, quotes the text, and says what to write instead.
///
/// ```
/// use loopwright::quantity::{AbsolutePressure, Refusal};
///
/// let error = "85 kPa".parse::<AbsolutePressure>().unwrap_err();
/// assert_eq!(error.refusal(), &Refusal::AbsoluteWanted);
/// assert_eq!(
///     error.to_string(),
///     "an absolute pressure is wanted, but `85 kPa` is a gauge pressure; write `85 kPa abs`"
/// );
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct QuantityError {
    wanted: Kind,
    text: Box<str>,
    refusal: Refusal,
}

/// The reason of a [`QuantityError`].
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Refusal {
    /// The text does not hold one number in front of its unit.
    NotANumber,
    /// Digits are grouped, or a comma stands for the decimal point.
    Separator,
    /// The number is infinite, not a number, or too large.
    NotFinite,
    /// There is a number and nothing else.
    MissingUnit,
    /// A unit that is not in the table.
    UnknownUnit {
        /// The unit as written.
        unit: Box<str>,
        /// The unit that may have been meant.
        suggestion: Option<&'static str>,
    },
    /// A word that names several different units.
    AmbiguousUnit {
        /// The unit as written.
        unit: Box<str>,
        /// What to write instead.
        instead: &'static str,
    },
    /// A unit of another kind.
    WrongKind {
        /// What the unit measures, such as `a pressure`.
        got: &'static str,
    },
    /// A gauge pressure is wanted, the unit says absolute.
    GaugeWanted,
    /// An absolute pressure is wanted, the unit does not say so.
    AbsoluteWanted,
    /// A pressure difference is wanted, the unit says gauge or absolute.
    DifferenceWanted,
    /// A point on the temperature scale is wanted, the unit is of a difference.
    PointWanted,
    /// A temperature difference is wanted, the unit is of a point.
    TemperatureDifferenceWanted,
    /// A temperature below absolute zero.
    BelowAbsoluteZero,
    /// An absolute pressure below vacuum.
    BelowVacuum,
}

impl QuantityError {
    pub(super) fn new(wanted: Kind, text: &str, refusal: Refusal) -> Self {
        Self {
            wanted,
            text: shortened(text),
            refusal,
        }
    }

    /// The kind that was wanted.
    pub fn wanted(&self) -> Kind {
        self.wanted
    }

    /// The text as written, shortened when it is very long.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Why it was refused.
    pub fn refusal(&self) -> &Refusal {
        &self.refusal
    }

    fn write_try(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let metric = self.wanted.example(UnitFamily::Metric);
        let us = self.wanted.example(UnitFamily::Us);
        if metric == us {
            write!(f, "; try \"{metric}\"")
        } else {
            write!(f, "; try \"{metric}\" or \"{us}\"")
        }
    }
}

/// At most sixty characters, with control characters made visible.
pub(super) fn shortened(text: &str) -> Box<str> {
    const LONGEST: usize = 60;
    let mut short = String::new();
    for (i, c) in text.trim().chars().enumerate() {
        if i == LONGEST {
            short.push('…');
            break;
        }
        if c.is_control() {
            short.extend(c.escape_default());
        } else {
            short.push(c);
        }
    }
    short.into()
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = &self.text;
        write!(f, "{} is wanted, but ", self.wanted.noun())?;
        match &self.refusal {
            Refusal::NotANumber if text.is_empty() => f.write_str("the text is empty")?,
            Refusal::NotANumber => write!(f, "`{text}` is not one number with its unit")?,
            Refusal::Separator => {
                return write!(
                    f,
                    "`{text}` has a separator inside its number; write the digits without gaps or commas, and a point for decimals, as in \"1250.5\""
                );
            }
            Refusal::NotFinite => write!(f, "`{text}` is not a finite number")?,
            Refusal::MissingUnit => write!(f, "`{text}` has no unit")?,
            Refusal::UnknownUnit { unit, suggestion } => {
                write!(f, "`{unit}` in `{text}` is not a known unit")?;
                if let Some(suggestion) = suggestion {
                    return write!(f, "; did you mean `{suggestion}`?");
                }
            }
            Refusal::AmbiguousUnit { unit, instead } => {
                return write!(
                    f,
                    "`{unit}` in `{text}` names more than one unit; write {instead}"
                );
            }
            Refusal::WrongKind { got } => {
                write!(f, "`{text}` is {got}")?;
                if self.wanted.is_pressure() && *got == Kind::Length.noun() {
                    f.write_str(" (a head is a pressure only with a density)")?;
                }
            }
            Refusal::GaugeWanted => write!(f, "`{text}` is an absolute pressure")?,
            Refusal::AbsoluteWanted => {
                write!(f, "`{text}` is a gauge pressure")?;
                let lower = text.to_ascii_lowercase();
                let says_gauge = ["psig", "barg", "gauge", "gage"]
                    .iter()
                    .any(|end| lower.ends_with(end));
                if !says_gauge {
                    return write!(f, "; write `{text} abs`");
                }
            }
            Refusal::DifferenceWanted => {
                write!(
                    f,
                    "`{text}` says gauge or absolute, which a rise or drop has not"
                )?;
            }
            Refusal::PointWanted => write!(f, "`{text}` is a temperature difference")?,
            Refusal::TemperatureDifferenceWanted => write!(
                f,
                "`{text}` is not written as one: a difference is in K or in F difference"
            )?,
            Refusal::BelowAbsoluteZero => write!(
                f,
                "`{text}` is below absolute zero (-273.15 degC, -459.67 degF)"
            )?,
            Refusal::BelowVacuum => write!(f, "`{text}` is below vacuum")?,
        }
        self.write_try(f)
    }
}

impl std::error::Error for QuantityError {}
