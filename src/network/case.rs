//! A case in SI: what `build` makes of the document's case.

use crate::finding::Finding;
use crate::fluid::air::Air;
use crate::part::ModuleHeat;

/// One resolved case. Settings that concern one part carry its place in the network.
#[derive(Clone, Debug)]
pub struct Case {
    /// Its name.
    pub name: String,
    /// The air before the radiators.
    pub air: Air,
    /// Its temperature, K.
    pub air_temperature_k: f64,
    /// Temperature of the air around hoses and of air that flows backwards through a radiator, K.
    pub bay_temperature_k: f64,
    /// Speed of travel, m/s.
    pub travel_speed_m_s: f64,
    /// All coolant at this temperature, heat left out, K.
    pub coolant_temperature_k: Option<f64>,
    /// How long the duty lasts, and from which temperature; none where it lasts until all is steady.
    pub time: Option<TimeSpan>,
    /// What is to be told of the case before it is solved: tables left, devices taken as off.
    pub(crate) findings: Vec<Finding>,
    /// Heat of each module: loop, module, heat.
    pub(crate) module_heat: Vec<(usize, usize, ModuleHeat)>,
    /// Heat of each plate: loop, plate, W.
    pub(crate) plate_heat: Vec<(usize, usize, f64)>,
    /// Pump speeds: loop, element, ratio.
    pub(crate) pump_speed: Vec<(usize, usize, f64)>,
    /// Fan speeds: air path, fan, ratio.
    pub(crate) fan_speed: Vec<(usize, usize, f64)>,
    /// Valve openings: loop, element, share of the full coefficient.
    pub(crate) valve_opening: Vec<(usize, usize, f64)>,
}

/// A duty of limited length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TimeSpan {
    /// How long it lasts, s.
    pub duration_s: f64,
    /// Temperature of everything when it begins, K.
    pub start_k: f64,
}
