//! The quantities themselves: one newtype over its SI value for each kind.

use std::fmt;
use std::marker::PhantomData;
use std::str::FromStr;

use serde::de::{Error, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::display::{show_si, text_si};
use super::error::QuantityError;
use super::family::UnitFamily;
use super::kind::Kind;
use super::parse::read;

/// A quantity of one kind, kept as its value in the coherent SI unit.
pub trait Quantity: Copy {
    /// The kind, which decides the units.
    const KIND: Kind;

    /// The value in the coherent SI unit.
    fn si(self) -> f64;

    /// The quantity of that value in the coherent SI unit. It is not checked, as only a text is.
    fn from_si(value: f64) -> Self;
}

/// Reads a quantity out of a string, for `Deserialize`.
pub(super) fn from_text<'de, T, D>(kind: Kind, deserializer: D) -> Result<T, D::Error>
where
    T: FromStr<Err = QuantityError>,
    D: Deserializer<'de>,
{
    struct Text<T>(Kind, PhantomData<T>);

    impl<T: FromStr<Err = QuantityError>> Visitor<'_> for Text<T> {
        type Value = T;

        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            let example = self.0.example(UnitFamily::Metric);
            write!(
                f,
                "{} as text with its unit, such as \"{example}\"",
                self.0.noun()
            )
        }

        fn visit_str<E: Error>(self, text: &str) -> Result<T, E> {
            text.parse().map_err(E::custom)
        }
    }

    deserializer.deserialize_str(Text(kind, PhantomData))
}

/// The schema of a text of that kind.
#[cfg(test)]
pub(super) fn schema(kind: Kind) -> schemars::Schema {
    let metric = kind.example(UnitFamily::Metric);
    let us = kind.example(UnitFamily::Us);
    let examples = if metric == us {
        vec![metric]
    } else {
        vec![metric, us]
    };
    schemars::json_schema!({
        "type": "string",
        "x-quantity": kind.name(),
        "description": format!("{} with its unit", kind.noun()),
        "examples": examples,
    })
}

macro_rules! quantities {
    ($($(#[$doc:meta])* $name:ident $from:ident $get:ident $unit:literal;)+) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            #[doc = concat!("From a value in ", $unit, ".")]
            pub const fn $from(value: f64) -> Self {
                Self(value)
            }

            #[doc = concat!("The value in ", $unit, ".")]
            pub const fn $get(self) -> f64 {
                self.0
            }

            /// Exact text in the units of `family`; see [`text_si`].
            pub fn text(self, family: UnitFamily) -> String {
                text_si(Kind::$name, self.0, family)
            }

            /// Rounded text in the units of `family`, for reports; see [`show_si`].
            pub fn show(self, family: UnitFamily) -> String {
                show_si(Kind::$name, self.0, family)
            }
        }

        impl Quantity for $name {
            const KIND: Kind = Kind::$name;

            fn si(self) -> f64 {
                self.0
            }

            fn from_si(value: f64) -> Self {
                Self(value)
            }
        }

        impl FromStr for $name {
            type Err = QuantityError;

            fn from_str(text: &str) -> Result<Self, QuantityError> {
                read(Kind::$name, text).map(|reading| Self(reading.si))
            }
        }

        /// The exact text in metric units.
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&self.text(UnitFamily::Metric))
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.serialize_str(&self.text(UnitFamily::Metric))
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                from_text(Kind::$name, deserializer)
            }
        }

        #[cfg(test)]
        impl schemars::JsonSchema for $name {
            fn inline_schema() -> bool {
                true
            }

            fn schema_name() -> std::borrow::Cow<'static, str> {
                std::borrow::Cow::Borrowed(stringify!($name))
            }

            fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
                schema(Kind::$name)
            }
        }
    )+};
}

quantities! {
    /// A length: a bore, a pitch, a height.
    Length from_m m "m";
    /// An area: a bore, a radiator face.
    Area from_m2 m2 "m2";
    /// A volume.
    Volume from_m3 m3 "m3";
    /// A mass.
    Mass from_kg kg "kg";
    /// A plane angle.
    Angle from_rad rad "rad";
    /// A velocity, of a fluid or of the vehicle.
    Velocity from_m_s m_s "m/s";
    /// A volume flow.
    VolumeFlow from_m3_s m3_s "m3/s";
    /// A mass flow.
    MassFlow from_kg_s kg_s "kg/s";
    /// A pressure rise or drop; it has no zero to be above.
    PressureDifference from_pa pa "Pa";
    /// A pressure above the surrounding air.
    GaugePressure from_pa pa "Pa";
    /// A pressure above vacuum.
    AbsolutePressure from_pa pa "Pa";
    /// A point on the temperature scale.
    Temperature from_k k "K";
    /// A rise, spread or margin of temperature; never shifted by 32.
    TemperatureDifference from_k k "K";
    /// A heat flow or other power.
    Power from_w w "W";
    /// Heat per mass and kelvin.
    SpecificHeat from_j_kg_k j_kg_k "J/(kg K)";
    /// Heat per kelvin of a whole body.
    HeatCapacity from_j_k j_k "J/K";
    /// Kelvin per heat flow.
    ThermalResistance from_k_w k_w "K/W";
    /// Heat flow per kelvin.
    ThermalConductance from_w_k w_k "W/K";
    /// Heat flow per area and kelvin.
    HeatTransferCoefficient from_w_m2_k w_m2_k "W/(m2 K)";
    /// Heat flow per length and kelvin.
    ThermalConductivity from_w_m_k w_m_k "W/(m K)";
    /// Mass per volume.
    Density from_kg_m3 kg_m3 "kg/m3";
    /// Dynamic viscosity.
    DynamicViscosity from_pa_s pa_s "Pa s";
    /// Electric current.
    Current from_a a "A";
    /// Electrical resistance.
    ElectricalResistance from_ohm ohm "ohm";
    /// Voltage.
    Voltage from_v v "V";
    /// A span of time.
    Duration from_s s "s";
    /// Pressure drop per air velocity.
    LinearResistance from_pa_s_m pa_s_m "Pa s/m";
    /// Pressure drop per velocity squared.
    QuadraticResistance from_pa_s2_m2 pa_s2_m2 "Pa s2/m2";
    /// Change of cell voltage with temperature.
    EntropicCoefficient from_v_k v_k "V/K";
    /// Energy or heat.
    Energy from_j j "J";
    /// Rotational speed.
    RotationalSpeed from_rad_s rad_s "rad/s";
}

impl Temperature {
    /// From a value in degC.
    pub const fn from_celsius(value: f64) -> Self {
        Self(value + 273.15)
    }

    /// The value in degC.
    pub const fn celsius(self) -> f64 {
        self.0 - 273.15
    }
}

impl RotationalSpeed {
    /// From a value in revolutions per minute.
    pub const fn from_rpm(value: f64) -> Self {
        Self(value * (2.0 * std::f64::consts::PI) / 60.0)
    }

    /// The value in revolutions per minute.
    pub const fn rpm(self) -> f64 {
        self.0 * 60.0 / (2.0 * std::f64::consts::PI)
    }
}
