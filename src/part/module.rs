//! A battery module: its circuits' pressure drop, its heat from current and resistance, its path for heat.

use super::contact::{Channel, ThermalTest};
use super::curve::{Curve, CurveError};
use super::drop::PressureDrop;
use super::origin::Origin;
use crate::correlation::friction::Sloped;
use crate::quantity::{
    Current, ElectricalResistance, Mass, Power, SpecificHeat, Temperature, ThermalResistance,
    Volume,
};
use serde::{Deserialize, Serialize};

/// A reused battery module, described once under `modules` and used by any number of banks.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Module {
    /// Where the numbers come from.
    pub origin: Option<Origin>,
    /// Separate coolant circuits in one module (default 1).
    #[cfg_attr(test, schemars(range(min = 1, max = 16)))]
    pub circuits: Option<u32>,
    /// Pressure drop of one circuit.
    pub pressure_drop: PressureDrop,
    /// Electrical resistance of the module: one value, or pairs of temperature and resistance.
    pub resistance: Option<Resistance>,
    /// Pairs of current and heat, rising, in place of `resistance`; the current is that of `resistance`.
    #[cfg_attr(test, schemars(length(min = 1, max = 1000)))]
    pub heat_over_current: Option<Vec<(Current, Power)>>,
    /// Heat of the module, in place of current and resistance.
    #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
    pub heat: Option<Power>,
    /// Mass of the module.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub mass: Option<Mass>,
    /// Heat capacity of the module per mass.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub specific_heat: Option<SpecificHeat>,
    /// Kelvin between the module and its coolant per watt, all circuits flowing; without it the module is taken at the
    /// coolant's outlet.
    #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
    pub thermal_resistance: Option<ThermalResistance>,
    /// One measured point of the module, in place of `thermal_resistance`.
    pub thermal_test: Option<ThermalTest>,
    /// The coolant channels of one circuit, in place of `thermal_resistance`.
    pub channel: Option<Channel>,
    /// Coolant in the whole module.
    #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
    pub coolant_volume: Option<Volume>,
}

/// One resistance, or resistance against temperature.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(untagged)]
pub enum Resistance {
    /// The same at every temperature.
    Constant(ElectricalResistance),
    /// Pairs of temperature and resistance, temperatures rising; read between them without overshoot, held beyond.
    Table(Vec<(Temperature, ElectricalResistance)>),
}

/// Heat of one module over its temperature.
#[derive(Clone, Debug, PartialEq)]
pub enum ModuleHeat {
    /// Stated, W.
    Stated(f64),
    /// `I^2 R`, R constant: current in A, resistance in ohm.
    Joule(f64, f64),
    /// `I^2 R(T)`: current in A, resistance in ohm over kelvin.
    JouleOverTemperature(f64, Curve),
}

impl ModuleHeat {
    /// Heat in W and its slope over module temperature in W/K.
    ///
    /// `Q = I^2 R(T)`, `I` the rms current through one module.
    ///
    /// ```
    /// use loopwright::part::ModuleHeat;
    /// // 300 A through 3 mohm: 270 W.
    /// assert!((ModuleHeat::Joule(300.0, 3.0e-3).at(298.15).value - 270.0).abs() < 1e-9);
    /// ```
    pub fn at(&self, module_k: f64) -> Sloped {
        match self {
            Self::Stated(heat_w) => Sloped {
                value: *heat_w,
                slope: 0.0,
            },
            Self::Joule(current_a, ohm) => Sloped {
                value: current_a * current_a * ohm,
                slope: 0.0,
            },
            Self::JouleOverTemperature(current_a, curve) => {
                let r = curve.held_at(module_k);
                Sloped {
                    value: current_a * current_a * r.value,
                    slope: current_a * current_a * r.slope,
                }
            }
        }
    }
}

impl Module {
    /// Number of separate circuits.
    pub fn circuit_count(&self) -> u32 {
        self.circuits.unwrap_or(1)
    }

    /// Heat at a current; `None` where the module has neither heat nor resistance.
    ///
    /// # Errors
    /// [`CurveError`] where the resistance table does not rise in temperature.
    pub fn heat(&self, current: Option<Current>) -> Result<Option<ModuleHeat>, CurveError> {
        if let Some(heat) = self.heat {
            return Ok(Some(ModuleHeat::Stated(heat.w())));
        }
        let (Some(current), Some(resistance)) = (current, &self.resistance) else {
            return Ok(None);
        };
        Ok(Some(match resistance {
            Resistance::Constant(r) => ModuleHeat::Joule(current.a(), r.ohm()),
            Resistance::Table(rows) if rows.len() == 1 => {
                ModuleHeat::Joule(current.a(), rows[0].1.ohm())
            }
            Resistance::Table(rows) => {
                let points: Vec<(f64, f64)> = rows.iter().map(|(t, r)| (t.k(), r.ohm())).collect();
                ModuleHeat::JouleOverTemperature(current.a(), Curve::through(&points)?)
            }
        }))
    }
}
