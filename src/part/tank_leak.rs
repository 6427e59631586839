//! Tank leak: heat through the plate that two neighbouring tanks of a divided radiator share.

use crate::quantity::ThermalConductance;
use serde::{Deserialize, Serialize};

/// A leak of heat between two cores of one radiator.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct TankLeak {
    /// The two cores, neighbours.
    pub between: (String, String),
    /// Heat per kelvin through the plates at both tank ends together.
    #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
    pub conductance: ThermalConductance,
}
