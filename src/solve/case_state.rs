//! What was solved of a case: loops, air paths, and what cores met of each other.

use super::flow::FlowState;
use super::hydraulic::FluidState;
use super::meeting::Meeting;
use super::thermal::HeatState;
use crate::network::{AirPath, Case, Loop};
use std::sync::Arc;

/// A loop set to its case, with its solution.
#[derive(Clone, Debug)]
pub struct LoopState {
    /// The loop as solved: heats, speeds and openings of the case.
    pub circuit: Arc<Loop>,
    /// Flows and pressures.
    pub flow: FlowState,
    /// Temperatures.
    pub heat: HeatState,
    /// Properties of the coolant along the elements, at which the flows were solved.
    pub fluid: FluidState,
    /// Heat of each pump, W.
    pub pump_w: Vec<f64>,
    /// Whether heat was carried, or the coolant held at one temperature.
    pub carried: Carried,
    /// Most Newton steps of any one hydraulic solve.
    pub steps_max: usize,
    /// Passes of flow and heat.
    pub passes: usize,
    /// Factorisations of the flow equations.
    pub factorisations: usize,
    /// Heat that the coolant at each node is storing, W, in a march; empty in a steady solve.
    pub storing_w: Vec<f64>,
    /// Round-off of that, from four units in the last place of every temperature, W.
    pub storing_round_off_w: f64,
}

/// Whether the temperatures of a loop were solved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Carried {
    /// Enthalpy was carried and balanced.
    Solved,
    /// The case states the coolant's temperature.
    Stated,
    /// Nothing warms or cools the loop but its pump, whose heat is left out.
    LeftOut,
}

/// An air path set to its case, with its solution.
#[derive(Clone, Debug)]
pub struct AirState {
    /// The air path as solved.
    pub path: AirPath,
    /// Flows and pressures.
    pub flow: FlowState,
}

/// Everything that was solved for a case.
#[derive(Clone, Debug)]
pub struct CaseState {
    /// The loops, in the order of the design.
    pub loops: Vec<LoopState>,
    /// The air paths, in the order of the network.
    pub airs: Vec<AirState>,
    /// What the cores met of each other.
    pub meeting: Meeting,
}

/// Air pressure of a case, Pa.
pub fn ambient_pa(case: &Case) -> f64 {
    case.air.pressure_pa()
}
