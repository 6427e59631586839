//! Cases as the design file writes them: the weather, the duty and the speeds for which a design is solved.

use crate::part::{Load, Share};
use crate::quantity::{Current, Duration, Length, Power, Temperature, Velocity};
use indexmap::IndexMap;
use serde::{Deserialize, Serialize};

/// One case: what the vehicle does and in which air.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CaseRecord {
    /// Air temperature before the radiator.
    pub air: Temperature,
    /// Height above sea level (default 0 m).
    #[cfg_attr(test, schemars(extend("x-at-least" = -500, "x-at-most" = 9000, "x-limit-text" = "from -500 m to 9000 m")))]
    pub altitude: Option<Length>,
    /// Speed of travel (default 0 km/h).
    #[cfg_attr(test, schemars(extend("x-at-least" = 0, "x-at-most" = 100, "x-limit-text" = "from 0 km/h to 360 km/h")))]
    pub travel_speed: Option<Velocity>,
    /// Temperature of the air around hoses that lose heat, and of air that flows backwards through a radiator (default:
    /// the air temperature).
    pub bay_temperature: Option<Temperature>,
    /// Root-mean-square current through one module (default 0 A).
    pub module_current: Option<Current>,
    /// Heat given to the coolant, by `loop.part`.
    #[serde(default)]
    pub heat: IndexMap<String, Power>,
    /// Load over rated load, by `loop.part` of a plate with `heat_over_load` (default: off, no heat).
    #[serde(default)]
    pub load: IndexMap<String, Load>,
    /// Speed over the speed of the curve, by `loop.part` of a pump.
    #[serde(default)]
    pub pump_speed: IndexMap<String, Ratio>,
    /// Speed over the speed of the curve, by radiator or by `radiator.fan`.
    #[serde(default)]
    pub fan_speed: IndexMap<String, Ratio>,
    /// Opening of valves, by `loop.part`.
    #[serde(default)]
    pub valve_opening: IndexMap<String, Share>,
    /// Solve flows alone with all coolant at this temperature, leaving heat out (a cold start, a bench test).
    pub coolant_temperature: Option<Temperature>,
    /// How long this duty lasts: the case is then marched in time from `start_temperature`.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub duration: Option<Duration>,
    /// Temperature of everything (modules, devices, coolant) when the duty begins; goes with `duration`.
    pub start_temperature: Option<Temperature>,
}

/// A ratio of speeds, 0 to 5.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(transparent)]
#[cfg_attr(test, schemars(inline))]
pub struct Ratio(#[cfg_attr(test, schemars(range(min = 0.0, max = 5.0)))] pub f64);
