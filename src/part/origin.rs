//! Where the numbers of a part come from, so that a report can say how far an answer may be trusted.

use serde::{Deserialize, Serialize};

/// Where the numbers of a part come from. A verdict that rests on a placeholder is provisional.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Origin {
    /// Measured on the part itself.
    Measured,
    /// Printed by its maker.
    DataSheet,
    /// Estimated from similar parts or from geometry.
    Estimated,
    /// Put in so that the design can be solved; nobody has looked yet.
    Placeholder,
}

impl Origin {
    /// The word a report prints.
    pub fn word(self) -> &'static str {
        match self {
            Self::Measured => "measured",
            Self::DataSheet => "data sheet",
            Self::Estimated => "estimated",
            Self::Placeholder => "placeholder",
        }
    }
}
