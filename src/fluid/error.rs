//! What this room refuses, each refusal with the value and the limit.

use std::error::Error;
use std::fmt;

use super::glycol::Fraction;

/// Why a fluid could not be made or evaluated.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum FluidError {
    /// The mix lies outside the published data.
    Fraction {
        /// Name of the mix.
        mix: String,
        /// The fraction asked for.
        given: Fraction,
        /// The largest fraction, on the basis that was asked for.
        limit: Fraction,
    },
    /// The liquid temperature lies outside the range of the coolant.
    Temperature {
        /// What the coolant is.
        coolant: String,
        /// The temperature asked for, K.
        temperature_k: f64,
        /// The lowest temperature allowed, K.
        lowest_k: f64,
        /// The highest temperature allowed, K.
        highest_k: f64,
    },
    /// A table has fewer than two rows.
    TableTooShort {
        /// How many rows it has.
        rows: usize,
    },
    /// A row of a table does not rise above the one before it.
    TableOrder {
        /// Temperature of the row, K.
        temperature_k: f64,
        /// Temperature of the row before, K.
        previous_k: f64,
    },
    /// A value of a table is not positive and finite.
    TableValue {
        /// Temperature of the row, K.
        temperature_k: f64,
        /// Which property.
        property: &'static str,
        /// The value.
        value: f64,
    },
    /// The freezing point of a table leaves no liquid range.
    TableFreezing {
        /// The freezing point, K.
        freezing_k: f64,
        /// The last row of the table, K.
        highest_k: f64,
    },
    /// The boiling point of a table is outside the water line it is scaled from.
    TableBoiling {
        /// The boiling temperature, K.
        temperature_k: f64,
        /// The absolute pressure, Pa.
        pressure_pa: f64,
    },
    /// The air temperature lies outside the range of the air model.
    AirTemperature {
        /// The temperature asked for, K.
        temperature_k: f64,
        /// The lowest temperature allowed, K.
        lowest_k: f64,
        /// The highest temperature allowed, K.
        highest_k: f64,
    },
    /// The altitude lies outside the lowest layer of the standard atmosphere.
    Altitude {
        /// The altitude asked for, m.
        altitude_m: f64,
        /// The lowest altitude allowed, m.
        lowest_m: f64,
        /// The highest altitude allowed, m.
        highest_m: f64,
    },
}

fn celsius(temperature_k: f64) -> f64 {
    temperature_k - 273.15
}

impl fmt::Display for FluidError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Fraction { mix, given, limit } => write!(
                f,
                "cannot mix {mix} because the fraction is outside the published data: got {given}, \
                 limits 0 and {limit}; try a fraction between them"
            ),
            Self::Temperature {
                coolant,
                temperature_k,
                lowest_k,
                highest_k,
            } => write!(
                f,
                "cannot evaluate {coolant} because the temperature is outside its range: got {:.2} degC, \
                 limits {:.2} degC and {:.2} degC; try a temperature between them or another coolant",
                celsius(*temperature_k),
                celsius(*lowest_k),
                celsius(*highest_k)
            ),
            Self::TableTooShort { rows } => write!(
                f,
                "cannot read the coolant table because it is too short: got {rows} rows, limit 2 rows; \
                 try adding rows that span the temperatures of every case"
            ),
            Self::TableOrder {
                temperature_k,
                previous_k,
            } => write!(
                f,
                "cannot read the coolant table because its rows must rise in temperature: got {:.2} degC \
                 after {:.2} degC; try sorting the rows",
                celsius(*temperature_k),
                celsius(*previous_k)
            ),
            Self::TableValue {
                temperature_k,
                property,
                value,
            } => write!(
                f,
                "cannot read the coolant table because the {property} at {:.2} degC is not a positive \
                 number: got {value}, limit 0; try checking its unit",
                celsius(*temperature_k)
            ),
            Self::TableFreezing {
                freezing_k,
                highest_k,
            } => write!(
                f,
                "cannot read the coolant table because its freezing point leaves no liquid range: got \
                 {:.2} degC, limit {:.2} degC (the last row); try checking the freezing point",
                celsius(*freezing_k),
                celsius(*highest_k)
            ),
            Self::TableBoiling {
                temperature_k,
                pressure_pa,
            } => write!(
                f,
                "cannot use the boiling point of the coolant table because it cannot be scaled from the \
                 vapour pressure of water: got {:.2} degC at {:.1} kPa abs, limits 0 degC and 370 degC at \
                 a positive pressure; try the boiling point at 101.3 kPa abs",
                celsius(*temperature_k),
                pressure_pa / 1e3
            ),
            Self::AirTemperature {
                temperature_k,
                lowest_k,
                highest_k,
            } => write!(
                f,
                "cannot evaluate air because the temperature is outside its range: got {:.2} degC, limits \
                 {:.2} degC and {:.2} degC; try a temperature between them",
                celsius(*temperature_k),
                celsius(*lowest_k),
                celsius(*highest_k)
            ),
            Self::Altitude {
                altitude_m,
                lowest_m,
                highest_m,
            } => write!(
                f,
                "cannot evaluate air because the altitude is outside the standard atmosphere's lowest \
                 layer: got {altitude_m} m, limits {lowest_m} m and {highest_m} m; try an altitude between them"
            ),
        }
    }
}

impl Error for FluidError {}
