//! Pump: a curve through points, speed by the affinity laws, and what it does beyond its ends.

use super::drop::PressureDrop;
use super::record::two_end_part;
use crate::quantity::{Power, PressureDifference, Temperature, VolumeFlow};
use serde::{Deserialize, Serialize};

/// The coolant and temperature for which a curve was printed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CurveCoolant {
    /// The coolant, by its name under `coolants`.
    pub coolant: String,
    /// Its temperature.
    pub temperature: Temperature,
}

two_end_part! {
    /// Pump: pressure rise against flow, falling, from no flow on.
    pub struct Pump {
        /// Flow and pressure rise, two points or more, flow rising and rise falling.
        #[cfg_attr(test, schemars(length(min = 2, max = 1000)))]
        pub curve: Vec<(VolumeFlow, PressureDifference)>,
        /// The coolant for which the curve holds (default: water at 20 degC). The rise scales with density.
        pub curve_coolant: Option<CurveCoolant>,
        /// Speed over the speed of the curve (default 1; a case may override it).
        #[cfg_attr(test, schemars(range(min = 0.0, max = 5.0)))]
        pub speed: Option<f64>,
        /// Share of the shaft power that becomes pressure and flow; the rest heats the coolant.
        #[cfg_attr(test, schemars(range(min = 0.01, max = 1.0)))]
        pub efficiency: Option<f64>,
        /// Electrical power at the working point, all of it taken to reach the coolant; an alternative to `efficiency`.
        #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
        pub electrical_power: Option<Power>,
        /// Pressure drop of the standing pump, in place of the estimate from its curve.
        pub stopped_loss: Option<PressureDrop>,
    }
}
