//! Properties of what flows: water, glycol mixes, a user's table, and air.
//!
//! Pure functions of numbers in SI units. This room knows no parts, no pressures of a network and
//! no document; properties of liquids depend on temperature only. Sources stand in each file.
//!
//! How well glycol properties are known: two published data sets, at the same composition
//! (20-50 % by volume, 0-99 degC), differ by up to 12 % in viscosity, 4 % in conductivity, 2 % in
//! heat capacity and 0.9 % in density. That spread, not the misfit of the polynomials, is the
//! honest uncertainty; above 100 degC only density is published.

pub mod air;
mod coolant;
mod error;
mod glycol;
mod glycol_ashrae;
mod glycol_melinder;
mod polynomial;
mod property;
mod table;
mod water;

pub use coolant::Coolant;
pub use error::FluidError;
pub use glycol::{Fraction, Glycol, GlycolSource};
pub use property::Properties;
pub use table::{BoilingPoint, TableRow};
