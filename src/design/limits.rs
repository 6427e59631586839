//! Limits as the design file writes them. They are read here and judged in `study/limits.rs`.

use crate::quantity::{
    GaugePressure, PressureDifference, Temperature, TemperatureDifference, Velocity, VolumeFlow,
};
use indexmap::IndexMap;
use serde::{Deserialize, Serialize};

/// A lower and an upper bound; at least one is given.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Bound<T> {
    /// At least this.
    pub min: Option<T>,
    /// At most this.
    pub max: Option<T>,
}

/// What must hold in every case.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Limits {
    /// Temperature of every module.
    pub module_temperature: Option<Bound<Temperature>>,
    /// Hottest less coldest module of a loop.
    pub module_temperature_spread: Option<Bound<TemperatureDifference>>,
    /// Largest deviation of a circuit's flow from the mean, per bank and over the whole loop, as a ratio.
    pub module_flow_deviation: Option<Bound<f64>>,
    /// Flow of every module (all its circuits).
    pub module_flow: Option<Bound<VolumeFlow>>,
    /// Mean velocity in every hose.
    pub hose_velocity: Option<Bound<Velocity>>,
    /// Absolute pressure at every pump inlet above the vapour pressure of the coolant.
    pub pump_inlet_margin_over_boiling: Option<Bound<PressureDifference>>,
    /// Highest static gauge pressure in a part, running or at shut-off, by `loop.part`.
    #[serde(default)]
    pub part_pressure: IndexMap<String, Bound<GaugePressure>>,
    /// Pressure drop of a part, by `loop.part`.
    #[serde(default)]
    pub part_pressure_drop: IndexMap<String, Bound<PressureDifference>>,
    /// Flow through a part, by `loop.part`.
    #[serde(default)]
    pub part_flow: IndexMap<String, Bound<VolumeFlow>>,
    /// Coolant temperature at the inlet of a part, by `loop.part`.
    #[serde(default)]
    pub coolant_inlet: IndexMap<String, Bound<Temperature>>,
    /// Coolant temperature at the outlet of a part, by `loop.part`.
    #[serde(default)]
    pub coolant_outlet: IndexMap<String, Bound<Temperature>>,
    /// Temperature of a plate's device, by `loop.part`.
    #[serde(default)]
    pub device_temperature: IndexMap<String, Bound<Temperature>>,
    /// Air temperature of the case above the freezing point of every coolant.
    pub freezing_margin: Option<Bound<TemperatureDifference>>,
    /// Boiling point above the coolant's temperature, at the pressure and place of a loop where they come nearest.
    pub boiling_margin: Option<Bound<TemperatureDifference>>,
}
