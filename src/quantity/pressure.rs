//! A pressure that may be written gauge or absolute.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::display::{show_si, text_si};
use super::error::QuantityError;
use super::family::UnitFamily;
use super::kind::Kind;
use super::parse::read;
use super::quantities::{self, AbsolutePressure, GaugePressure, Quantity};
use super::unit::Reference;

/// A gauge or an absolute pressure, as the text says; without a word it is gauge.
///
/// ```
/// use loopwright::quantity::{AbsolutePressure, Pressure};
///
/// let air = AbsolutePressure::from_pa(101_325.0);
/// assert_eq!("30 kPa".parse::<Pressure>()?.to_absolute(air).pa(), 131_325.0);
/// assert_eq!("85 kPa abs".parse::<Pressure>()?.to_absolute(air).pa(), 85_000.0);
/// # Ok::<(), loopwright::quantity::QuantityError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pressure {
    /// Above the surrounding air.
    Gauge(GaugePressure),
    /// Above vacuum.
    Absolute(AbsolutePressure),
}

impl Pressure {
    /// The pressure above vacuum, with the surrounding air at `ambient`.
    pub fn to_absolute(self, ambient: AbsolutePressure) -> AbsolutePressure {
        match self {
            Self::Gauge(gauge) => AbsolutePressure::from_pa(gauge.pa() + ambient.pa()),
            Self::Absolute(absolute) => absolute,
        }
    }

    /// The pressure above the surrounding air, which is at `ambient`.
    pub fn to_gauge(self, ambient: AbsolutePressure) -> GaugePressure {
        match self {
            Self::Gauge(gauge) => gauge,
            Self::Absolute(absolute) => GaugePressure::from_pa(absolute.pa() - ambient.pa()),
        }
    }

    /// Exact text in the units of `family`; see [`text_si`].
    pub fn text(self, family: UnitFamily) -> String {
        let (kind, si) = self.parts();
        text_si(kind, si, family)
    }

    /// Rounded text in the units of `family`; see [`show_si`].
    pub fn show(self, family: UnitFamily) -> String {
        let (kind, si) = self.parts();
        show_si(kind, si, family)
    }

    fn parts(self) -> (Kind, f64) {
        match self {
            Self::Gauge(gauge) => (Kind::GaugePressure, gauge.si()),
            Self::Absolute(absolute) => (Kind::AbsolutePressure, absolute.si()),
        }
    }
}

impl FromStr for Pressure {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let reading = read(Kind::Pressure, text)?;
        Ok(match reading.reference {
            Reference::Absolute => Self::Absolute(AbsolutePressure::from_pa(reading.si)),
            _ => Self::Gauge(GaugePressure::from_pa(reading.si)),
        })
    }
}

impl fmt::Display for Pressure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.text(UnitFamily::Metric))
    }
}

impl Serialize for Pressure {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.text(UnitFamily::Metric))
    }
}

impl<'de> Deserialize<'de> for Pressure {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        quantities::from_text(Kind::Pressure, deserializer)
    }
}

#[cfg(test)]
impl schemars::JsonSchema for Pressure {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> std::borrow::Cow<'static, str> {
        std::borrow::Cow::Borrowed("Pressure")
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        quantities::schema(Kind::Pressure)
    }
}
