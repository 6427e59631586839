//! The two families of units that builders think in.

use serde::{Deserialize, Serialize};

/// The family of units that a report is printed in. Reading always accepts both.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum UnitFamily {
    /// Millimetres, litres per minute, kilopascals, degrees Celsius.
    #[default]
    Metric,
    /// Inches, US gallons per minute, pounds per square inch, degrees Fahrenheit.
    Us,
}

impl UnitFamily {
    /// The name as it stands in a design file: `metric` or `us`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Metric => "metric",
            Self::Us => "us",
        }
    }
}
