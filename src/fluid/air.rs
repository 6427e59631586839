//! Dry air as an ideal gas in the standard atmosphere.
//!
//! For the air side of cores and fans; humidity is not modelled (saturated air at 35 degC is about
//! 2 % lighter than dry air). Sources stand on each item.

use super::error::FluidError;
use super::property::{Properties, held};

/// Specific gas constant of dry air, J/(kg K). Source: ISO 2533:1975.
const GAS_CONSTANT_J_KG_K: f64 = 287.052_87;

/// Standard gravity, m/s2. Source: ISO 2533:1975.
const GRAVITY_M_S2: f64 = 9.806_65;

/// Pressure of the standard atmosphere at sea level, Pa. Source: ISO 2533:1975.
const SEA_LEVEL_PRESSURE_PA: f64 = 101_325.0;

/// Temperature of the standard atmosphere at sea level, K. Source: ISO 2533:1975.
const SEA_LEVEL_TEMPERATURE_K: f64 = 288.15;

/// Fall of temperature with altitude in the lowest layer, K/m. Source: ISO 2533:1975.
const LAPSE_K_M: f64 = 0.0065;

/// Specific heat of air, J/(kg K), taken constant; within 0.21 % between -40 and 60 degC and 0.8 %
/// at 120 degC of Lemmon et al. (2000).
const SPECIFIC_HEAT_J_KG_K: f64 = 1006.0;

const LOWEST_ALTITUDE_M: f64 = -500.0;
const HIGHEST_ALTITUDE_M: f64 = 11_000.0;
const LOWEST_K: f64 = 223.15;
const HIGHEST_K: f64 = 423.15;

/// Density of dry air at 20 degC and sea level, kg/m3: the state fan curves are commonly rated at.
pub const REFERENCE_AIR_DENSITY_KG_M3: f64 = SEA_LEVEL_PRESSURE_PA / (GAS_CONSTANT_J_KG_K * 293.15);

/// Pressure of the standard atmosphere at an altitude.
///
/// `p = 101325 (1 - 0.0065 h / 288.15)^(g / (R 0.0065))`, h in m (geopotential; the difference to
/// height above sea level is under 0.2 %), p in Pa. Range -500..11000 m; held at the ends outside.
///
/// Source: ISO 2533:1975, Standard Atmosphere, lowest layer.
///
/// ```
/// let p = loopwright::fluid::air::standard_pressure_pa(1000.0);
/// assert!((p - 89_874.57).abs() < 0.01);
/// ```
pub fn standard_pressure_pa(altitude_m: f64) -> f64 {
    let h = held(altitude_m, LOWEST_ALTITUDE_M, HIGHEST_ALTITUDE_M);
    let ratio = 1.0 - LAPSE_K_M * h / SEA_LEVEL_TEMPERATURE_K;
    SEA_LEVEL_PRESSURE_PA * ratio.powf(GRAVITY_M_S2 / (GAS_CONSTANT_J_KG_K * LAPSE_K_M))
}

/// Dry air at one temperature and altitude.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    pressure_pa: f64,
    properties: Properties,
}

impl Air {
    /// Air at a temperature, at the standard pressure of an altitude.
    ///
    /// Density `p / (R T)`; viscosity `1.458e-6 T^1.5 / (T + 110.4)` Pa s; conductivity
    /// `2.64638e-3 T^1.5 / (T + 245.4 10^(-12/T))` W/(m K); specific heat 1006 J/(kg K).
    /// Range -50..150 degC and -500..11000 m. Agreement with Lemmon and Jacobsen (2004) between
    /// -40 and 120 degC: density 0.14 %, viscosity 0.85 %, conductivity 1.7 %, specific heat 0.8 %.
    ///
    /// Source: U.S. Standard Atmosphere (1976), eqs. 51 and 53 (Sutherland's law and its
    /// counterpart for conductivity).
    ///
    /// # Errors
    ///
    /// [`FluidError::AirTemperature`] and [`FluidError::Altitude`] outside those ranges.
    ///
    /// ```
    /// use loopwright::fluid::{FluidError, air::Air};
    ///
    /// let air = Air::at(293.15, 0.0)?;
    /// assert!((air.density_kg_m3() - 1.2041).abs() < 5e-5);
    /// assert!(Air::at(500.0, 0.0).is_err());
    /// # Ok::<(), FluidError>(())
    /// ```
    pub fn at(temperature_k: f64, altitude_m: f64) -> Result<Self, FluidError> {
        if !(LOWEST_K..=HIGHEST_K).contains(&temperature_k) {
            return Err(FluidError::AirTemperature {
                temperature_k,
                lowest_k: LOWEST_K,
                highest_k: HIGHEST_K,
            });
        }
        if !(LOWEST_ALTITUDE_M..=HIGHEST_ALTITUDE_M).contains(&altitude_m) {
            return Err(FluidError::Altitude {
                altitude_m,
                lowest_m: LOWEST_ALTITUDE_M,
                highest_m: HIGHEST_ALTITUDE_M,
            });
        }
        let pressure_pa = standard_pressure_pa(altitude_m);
        let t = temperature_k;
        let t15 = t * t.sqrt();
        Ok(Self {
            pressure_pa,
            properties: Properties {
                density_kg_m3: pressure_pa / (GAS_CONSTANT_J_KG_K * t),
                viscosity_pa_s: 1.458e-6 * t15 / (t + 110.4),
                specific_heat_j_kg_k: SPECIFIC_HEAT_J_KG_K,
                conductivity_w_m_k: 2.646_38e-3 * t15 / (t + 245.4 * 10.0_f64.powf(-12.0 / t)),
            },
        })
    }

    /// Absolute pressure, Pa.
    pub fn pressure_pa(&self) -> f64 {
        self.pressure_pa
    }

    /// Density, kg/m3.
    pub fn density_kg_m3(&self) -> f64 {
        self.properties.density_kg_m3
    }

    /// Prandtl number, dimensionless; about 0.71.
    pub fn prandtl(&self) -> f64 {
        self.properties.prandtl()
    }

    /// All four properties.
    pub fn properties(&self) -> Properties {
        self.properties
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn air_at_the_rating_state_has_the_reference_density() {
        let air = Air::at(293.15, 0.0).expect("accepted");
        assert!((air.density_kg_m3() / REFERENCE_AIR_DENSITY_KG_M3 - 1.0).abs() < 1e-15);
        assert!((0.70..0.72).contains(&air.prandtl()));
    }

    #[test]
    fn pressure_falls_with_altitude_and_is_held_outside() {
        let mut last = f64::INFINITY;
        for i in -5..=110 {
            let p = standard_pressure_pa(f64::from(i) * 100.0);
            assert!(p < last);
            last = p;
        }
        assert_eq!(standard_pressure_pa(1e6), last);
        assert_eq!(standard_pressure_pa(f64::NAN), standard_pressure_pa(-500.0));
    }

    #[test]
    fn air_outside_its_range_is_refused_with_value_and_range() {
        assert_eq!(
            Air::at(450.0, 0.0).expect_err("refused").to_string(),
            "cannot evaluate air because the temperature is outside its range: got 176.85 degC, limits \
             -50.00 degC and 150.00 degC; try a temperature between them"
        );
        for (t, h) in [
            (f64::NAN, 0.0),
            (300.0, f64::NAN),
            (300.0, 12_000.0),
            (200.0, 0.0),
        ] {
            assert!(Air::at(t, h).is_err());
        }
    }
}
