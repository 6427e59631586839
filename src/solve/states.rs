//! What a solution says of each kind of thing: parts, points, cores, fans, pumps. Records only.

use crate::part::{MachineRegion, Origin, Regime};

/// What was solved for one part with an inlet and an outlet. Inlet and outlet are those of the run, whichever way the
/// coolant flows.
#[derive(Clone, Debug, PartialEq)]
pub struct PartState {
    /// Name in its loop.
    pub id: String,
    /// Key of its kind.
    pub kind: &'static str,
    /// Where its numbers come from.
    pub origin: Option<Origin>,
    /// Mass flow, kg/s, positive from inlet to outlet.
    pub mass_flow_kg_s: f64,
    /// Volume flow at the part's mean temperature, m3/s.
    pub volume_flow_m3_s: f64,
    /// Total pressure lost, Pa, without the weight of the column; negative across a pump.
    pub pressure_drop_pa: f64,
    /// Total pressure at the inlet, Pa absolute, without the `rho g z` term.
    pub inlet_total_pressure_pa: f64,
    /// Total pressure at the outlet, Pa absolute.
    pub outlet_total_pressure_pa: f64,
    /// Static pressure at the inlet, Pa gauge.
    pub inlet_static_gauge_pa: f64,
    /// Static pressure at the outlet, Pa gauge.
    pub outlet_static_gauge_pa: f64,
    /// Coolant temperature at the inlet, K.
    pub inlet_temperature_k: f64,
    /// Coolant temperature at the outlet, K.
    pub outlet_temperature_k: f64,
    /// Heat into the coolant, W.
    pub heat_w: f64,
    /// Reynolds number, where the part has a passage.
    pub reynolds: Option<f64>,
    /// Mean velocity, m/s, where the part has a passage.
    pub velocity_m_s: Option<f64>,
    /// Temperature of the device or module, K, where it has one.
    pub part_temperature_k: Option<f64>,
    /// Resistance between the device or module circuit and its coolant at this flow, K/W, where it has one.
    pub resistance_k_w: Option<f64>,
}

/// What was solved for a point or a tee.
#[derive(Clone, Debug, PartialEq)]
pub struct PointState {
    /// Name in its loop.
    pub id: String,
    /// `expansion_tank`, `open_end`, `draw`, `joint` or `tee`.
    pub kind: &'static str,
    /// Total pressure, Pa absolute (of the leg that carries the whole flow, for a tee).
    pub total_pressure_pa: f64,
    /// Temperature of what is mixed there, K.
    pub temperature_k: f64,
    /// Mass flow that enters the loop there, kg/s (zero for joints and tees).
    pub inflow_kg_s: f64,
    /// For a tee: flow into it at `a`, `b` and `side`, kg/s.
    pub leg_flow_kg_s: Option<[f64; 3]>,
}

/// What was solved for a core.
#[derive(Clone, Debug, PartialEq)]
pub struct CoreState {
    /// Name of the core.
    pub core: String,
    /// Its loop.
    pub owner: String,
    /// Heat out of the coolant, W.
    pub heat_rejected_w: f64,
    /// Heat over the most that could pass at these flows.
    pub effectiveness: Option<f64>,
    /// Transfer units on the smaller heat capacity flow.
    pub ntu: Option<f64>,
    /// Air through the core, kg/s.
    pub air_mass_flow_kg_s: f64,
    /// Mean face velocity, m/s.
    pub face_velocity_m_s: f64,
    /// Air that passes the core whichever way, kg/s: the sum over its strips.
    pub air_passing_kg_s: f64,
    /// Mixed temperature of the air as it reaches the core, K; none where no air flows. Behind another core it is not
    /// that of the case.
    pub air_inlet_temperature_k: Option<f64>,
    /// Heat from each neighbour through the tank plates, W, positive into the coolant of this core; it is part of what
    /// `heat_rejected_w` leaves over.
    pub tank_leaks: Vec<LeakState>,
    /// Mixed temperature of the air behind the core, K; none where no air flows.
    pub air_outlet_temperature_k: Option<f64>,
    /// Coolant temperature in, K.
    pub inlet_temperature_k: f64,
    /// Coolant temperature out, K.
    pub outlet_temperature_k: f64,
    /// Both sides of the core.
    pub sides: CoreSides,
}

/// The two sides of a core.
#[derive(Clone, Debug, PartialEq)]
pub struct CoreSides {
    /// How often the coolant crosses the face.
    pub passes: u32,
    /// Reynolds number in the tubes.
    pub reynolds: f64,
    /// Regime in the tubes.
    pub regime: Regime,
    /// Mean velocity in the tubes, m/s.
    pub tube_velocity_m_s: f64,
    /// Velocity of the core's whole flow along its tanks, m/s; none where their section is not given.
    pub tank_velocity_m_s: Option<f64>,
    /// From the coolant to the tube walls, W/K.
    pub coolant_side_w_k: f64,
    /// From the tube walls to the air, fins included, W/K.
    pub air_side_w_k: f64,
    /// Efficiency of a fin, mean over the face, where fins are known.
    pub fin_efficiency: Option<f64>,
    /// Smallest and largest Reynolds number of the air over the face, where fins are known.
    pub air_reynolds: Option<(f64, f64)>,
}

/// Heat through the plates between two cores.
#[derive(Clone, Debug, PartialEq)]
pub struct LeakState {
    /// The neighbour.
    pub from: String,
    /// Heat from it, W; negative to it.
    pub heat_w: f64,
}

/// What was solved for a fan.
#[derive(Clone, Debug, PartialEq)]
pub struct FanState {
    /// Its name.
    pub name: String,
    /// Air through it, m3/s at inlet density.
    pub volume_flow_m3_s: f64,
    /// Pressure rise, Pa.
    pub pressure_rise_pa: f64,
    /// Flow over free flow.
    pub share_of_free_flow: Option<f64>,
    /// Where on its curve it works.
    pub region: MachineRegion,
}

/// What was solved for a pump, beyond [`PartState`].
#[derive(Clone, Debug, PartialEq)]
pub struct PumpState {
    /// Name in its loop.
    pub id: String,
    /// Flow, m3/s.
    pub volume_flow_m3_s: f64,
    /// Pressure rise, Pa.
    pub pressure_rise_pa: f64,
    /// Rise at no flow at this density and speed, Pa.
    pub shut_off_rise_pa: f64,
    /// Flow over the last flow of its curve at this speed.
    pub share_of_free_flow: Option<f64>,
    /// Power given to the coolant, W.
    pub hydraulic_w: f64,
    /// Speed over the speed of the curve.
    pub speed: f64,
    /// Where on its curve it works.
    pub region: MachineRegion,
    /// Absolute static pressure at the inlet less the vapour pressure of the coolant there, Pa.
    pub inlet_margin_over_boiling_pa: f64,
}

/// What it cost to solve a case.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct EffortSum {
    /// Most Newton steps of any one hydraulic solve.
    pub newton_iterations_max: usize,
    /// Most passes of flow and heat of any loop.
    pub passes: usize,
    /// Factorisations of the flow equations, all solves together.
    pub factorisations: usize,
}
