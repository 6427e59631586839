//! Quantities with their units: what a number in a design file means, how it is read, and how it is written back.
//!
//! A quantity is a plain newtype over its SI value. This room reads and writes text; it knows no part, no fluid
//! and no file format. Conversion factors follow A. Thompson and B. N. Taylor, *Guide for the Use of the
//! International System of Units*, NIST Special Publication 811 (2008), appendix B.8, taken from the exact
//! definitions (inch, pound, US gallon, International Table Btu) where there is one.
//!
//! ```
//! use loopwright::quantity::{Length, UnitFamily, VolumeFlow};
//!
//! let bore: Length = "3/4 in".parse()?;
//! assert_eq!(bore.m(), 0.01905);
//! assert_eq!(bore.to_string(), "19.05 mm");
//! assert_eq!(VolumeFlow::from_m3_s(2.05e-4).show(UnitFamily::Us), "3.25 gpm");
//! let refused = "5 psi".parse::<Length>().unwrap_err();
//! assert_eq!(refused.to_string(), r#"a length is wanted, but `5 psi` is a pressure; try "19 mm" or "3/4 in""#);
//! # Ok::<(), loopwright::quantity::QuantityError>(())
//! ```

mod atom;
mod display;
mod error;
mod family;
mod kind;
mod number;
mod parse;
mod pattern;
mod pressure;
mod quantities;
mod unit;

pub use display::{in_unit, show_both, show_option, show_si, significant, text_si, unit_symbol};
pub use error::{QuantityError, Refusal};
pub use family::UnitFamily;
pub use kind::Kind;
pub use pattern::{BELOW_ZERO, ZERO_OR_BELOW, quantity_pattern};
pub use pressure::Pressure;
pub use quantities::{
    AbsolutePressure, Angle, Area, Current, Density, Duration, DynamicViscosity,
    ElectricalResistance, Energy, EntropicCoefficient, GaugePressure, HeatCapacity,
    HeatTransferCoefficient, Length, LinearResistance, Mass, MassFlow, Power, PressureDifference,
    QuadraticResistance, Quantity, RotationalSpeed, SpecificHeat, Temperature,
    TemperatureDifference, ThermalConductance, ThermalConductivity, ThermalResistance, Velocity,
    Voltage, Volume, VolumeFlow,
};

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests;
