//! Temperatures of one loop at known flows: enthalpy carried along branches, mixed at nodes, exchanged with parts.
//!
//! Unknowns: temperature of every node and of every module (in time also of every device on a plate). Newton on the balance of enthalpy; a branch carries the
//! stream `w(|m|)` from its upstream end through its parts, and the tiny counter-stream `w(-|m|)` without them, with
//! `w(m) = (m + sqrt(m^2 + e^2))/2`: mixing weights that stay smooth where a flow reverses and add up to `m`.

use super::exchange::{
    CoreSides, LinearHeat, hose_heat, limited_exchanger_heat, stream_conductance_w_k,
};
use super::linear::SparseSystem;
use crate::correlation::Sloped;
use crate::fluid::Properties;
use crate::network::{HeatRole, Loop, NodeKind, ThermostatNode};

/// Width of the smoothed mixing weights over the largest flow.
const MIXING_WIDTH: f64 = 1.0e-9;
/// Smallest width, kg/s: a loop at rest.
const LEAST_WIDTH_KG_S: f64 = 1.0e-12;
/// Flow below which a branch counts as at rest, over the largest flow.
pub const RESTING_SHARE: f64 = 1.0e-7;
/// Newton steps of one thermal solve.
const MOST_STEPS: usize = 60;
/// Change of temperature at which a thermal solve is done, K.
const DONE_K: f64 = 1.0e-10;
/// Most that any temperature moves in one step, K.
const LARGEST_MOVE_K: f64 = 60.0;

/// Temperatures along a loop.
#[derive(Clone, Debug, PartialEq)]
pub struct HeatState {
    /// Of each node, K.
    pub node_k: Vec<f64>,
    /// Of each module, K.
    pub module_k: Vec<f64>,
    /// Of each device on a plate, K, where it is an unknown of its own (in time); empty in a steady solve.
    pub plate_k: Vec<f64>,
    /// Where the stream enters each element (seen in its own direction of flow), K.
    pub upstream_k: Vec<f64>,
    /// Where it leaves, K.
    pub downstream_k: Vec<f64>,
    /// Heat into the coolant in each element, W.
    pub heat_w: Vec<f64>,
}

impl HeatState {
    /// One temperature everywhere.
    pub fn uniform(circuit: &Loop, temperature_k: f64) -> Self {
        let elements = circuit.net.elements.len();
        Self {
            node_k: vec![temperature_k; circuit.net.nodes.len()],
            module_k: vec![temperature_k; circuit.modules.len()],
            plate_k: Vec::new(),
            upstream_k: vec![temperature_k; elements],
            downstream_k: vec![temperature_k; elements],
            heat_w: vec![0.0; elements],
        }
    }

    /// Temperature that moves a thermostat, K: that of the coolant that enters it, or that of what it mixes.
    pub fn sensed_k(&self, thermostat: &ThermostatNode) -> f64 {
        match thermostat.mixing {
            Some(way) => self.node_k[way.node],
            None => self.upstream_k[thermostat.element],
        }
    }

    /// Mean temperature of an element, K.
    pub fn mean_k(&self, element: usize) -> f64 {
        0.5 * (self.upstream_k[element] + self.downstream_k[element])
    }
}

/// Smoothed forward part of a flow.
pub fn forward_part(flow: f64, width: f64) -> f64 {
    let h = flow.hypot(width);
    if flow >= 0.0 {
        0.5 * (flow + h)
    } else {
        // The same without cancellation.
        0.5 * width * width / (h - flow)
    }
}

/// Width of the mixing weights of a loop, kg/s.
pub fn mixing_width(flow_kg_s: &[f64]) -> f64 {
    let most = flow_kg_s.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
    (MIXING_WIDTH * most).max(LEAST_WIDTH_KG_S)
}

/// What the thermal solve is given.
pub struct HeatInput<'a> {
    /// The loop, set to the case.
    pub circuit: &'a Loop,
    /// Mass flow of each branch, kg/s.
    pub flow_kg_s: &'a [f64],
    /// Heat of each pump, W, by the list of machines.
    pub pump_w: &'a [f64],
    /// Makes both sides of the core in this element, given its flow and the coolant's properties there.
    pub sides: &'a dyn Fn(usize, f64, &Properties) -> CoreSides,
}

/// A temperature as a function of unknowns: value and slopes.
#[derive(Clone, Default)]
pub(super) struct Tracked {
    pub k: f64,
    slopes: Vec<(usize, f64)>,
}

impl Tracked {
    fn scale(&mut self, factor: f64) {
        self.slopes.iter_mut().for_each(|s| s.1 *= factor);
    }
}

/// A stream that passes a body: a module, or after them the device of a plate.
pub(super) struct BodyMet {
    /// Its place among modules and, after them, devices.
    pub body: usize,
    /// Conductance that the stream can use of it, W/K.
    pub conductance_w_k: f64,
    inlet: Tracked,
}

impl BodyMet {
    /// Temperature of the stream where it meets the body, K.
    pub fn inlet_k(&self) -> f64 {
        self.inlet.k
    }
}

/// Solves the temperatures; returns the new state and whether it settled.
///
/// # Errors
/// `Err(())` where the balance has no unique solution at these flows.
pub fn solve_heat(input: &HeatInput<'_>, from: &HeatState) -> Result<(HeatState, bool), ()> {
    let circuit = input.circuit;
    let nodes = circuit.net.nodes.len();
    let size = nodes + circuit.modules.len();
    let mut state = from.clone();
    for _ in 0..MOST_STEPS {
        let mut rows = Rows::new(size);
        balance(input, &mut state, &mut rows);
        let (mut system, slots) = SparseSystem::new(size, &rows.positions);
        for (slot, value) in slots.iter().zip(&rows.values) {
            system.add(*slot, *value);
        }
        let mut step = rows.residual;
        system.factorise().map_err(|_| ())?;
        system.solve(&mut step).map_err(|_| ())?;
        let largest = step.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
        let shorten = if largest > LARGEST_MOVE_K {
            LARGEST_MOVE_K / largest
        } else {
            1.0
        };
        for (t, s) in state
            .node_k
            .iter_mut()
            .chain(&mut state.module_k)
            .zip(&step)
        {
            *t -= shorten * s;
        }
        if largest < DONE_K {
            let mut rows = Rows::new(size);
            balance(input, &mut state, &mut rows);
            return Ok((state, true));
        }
    }
    Ok((state, false))
}

/// The balance as rows: residuals and their slopes.
pub(super) struct Rows {
    /// Row and column of each slope.
    pub positions: Vec<(usize, usize)>,
    /// Slopes.
    pub values: Vec<f64>,
    /// Residuals, K.
    pub residual: Vec<f64>,
    /// Residual in K over heat that is gained in W, by row.
    pub kelvin_per_w: Vec<f64>,
}

impl Rows {
    pub fn new(size: usize) -> Self {
        Self {
            positions: Vec::new(),
            values: Vec::new(),
            residual: vec![0.0; size],
            kelvin_per_w: vec![0.0; size],
        }
    }

    fn add(&mut self, row: usize, column: usize, value: f64) {
        self.positions.push((row, column));
        self.values.push(value);
    }
}

/// Writes the balance of enthalpy at every node and of heat in every module, and the temperatures along branches.
pub(super) fn balance(input: &HeatInput<'_>, state: &mut HeatState, rows: &mut Rows) {
    let circuit = input.circuit;
    let nodes = circuit.net.nodes.len();
    let coolant = &circuit.coolant;
    let width = mixing_width(input.flow_kg_s);
    // Every row is divided by the heat capacity that meets there, so that residuals are kelvin.
    let mut met = vec![0.0; nodes];
    let mut net_inflow = vec![0.0; nodes];
    for (j, branch) in circuit.net.branches.iter().enumerate() {
        let flow = input.flow_kg_s[j];
        net_inflow[branch.to] += flow;
        net_inflow[branch.from] -= flow;
        met[branch.to] += forward_part(flow, width);
        met[branch.from] += forward_part(-flow, width);
    }
    let cp_of = |k: f64| coolant.properties_extended(k).specific_heat_j_kg_k;
    let mut entering = vec![0.0; nodes];
    for (n, node) in circuit.net.nodes.iter().enumerate() {
        let stated = matches!(node.kind, NodeKind::Fixed { .. } | NodeKind::Draw { .. });
        if stated && node.inflow_temperature_k.is_some() {
            entering[n] = forward_part(-net_inflow[n], width);
            met[n] += entering[n];
        }
    }
    let scale: Vec<f64> = (0..nodes)
        .map(|n| 1.0 / (met[n].max(width) * cp_of(state.node_k[n])))
        .collect();
    rows.kelvin_per_w[..nodes].copy_from_slice(&scale);
    for n in 0..nodes {
        let here = coolant.enthalpy_j_kg(state.node_k[n]);
        if entering[n] > 0.0
            && let Some(k) = circuit.net.nodes[n].inflow_temperature_k
        {
            rows.residual[n] += entering[n] * (coolant.enthalpy_j_kg(k) - here) * scale[n];
        }
        rows.add(n, n, -met[n] * cp_of(state.node_k[n]) * scale[n]);
    }
    let mut circuits = Vec::new();
    for (j, branch) in circuit.net.branches.iter().enumerate() {
        let flow = input.flow_kg_s[j];
        let (up, down) = if flow >= 0.0 {
            (branch.from, branch.to)
        } else {
            (branch.to, branch.from)
        };
        let main = forward_part(flow.abs(), width);
        let counter = forward_part(-flow.abs(), width);
        let out = along(input, j, main, up, state, &mut circuits);
        let here = coolant.enthalpy_j_kg(state.node_k[down]);
        rows.residual[down] += main * (coolant.enthalpy_j_kg(out.k) - here) * scale[down];
        let cp_out = cp_of(out.k);
        for (variable, slope) in &out.slopes {
            rows.add(down, *variable, main * cp_out * slope * scale[down]);
        }
        let (hu, hd) = (coolant.enthalpy_j_kg(state.node_k[up]), here);
        rows.residual[up] += counter * (hd - hu) * scale[up];
        rows.add(up, down, counter * cp_of(state.node_k[down]) * scale[up]);
    }
    bodies(circuit, state, &circuits, rows);
}

/// One module is one temperature: what its circuits carry off equals its heat. The same for the device of a plate where
/// its temperature is an unknown.
fn bodies(circuit: &Loop, state: &HeatState, circuits: &[BodyMet], rows: &mut Rows) {
    let nodes = circuit.net.nodes.len();
    let modules = circuit.modules.len();
    let mut carried = vec![0.0; modules + state.plate_k.len()];
    for met in circuits {
        carried[met.body] += met.conductance_w_k;
    }
    for (k, carried_w_k) in carried.iter().enumerate() {
        let row = nodes + k;
        let heat = match k.checked_sub(modules) {
            None => (circuit.modules[k].heat.as_ref())
                .map_or_else(Sloped::default, |h| h.at(state.module_k[k])),
            Some(plate) => Sloped {
                value: circuit.plates[plate].heat_w,
                slope: 0.0,
            },
        };
        let scale = 1.0 / carried_w_k.max(1e-9);
        rows.kelvin_per_w[row] = -scale;
        rows.residual[row] -= heat.value * scale;
        rows.add(row, row, (carried_w_k.max(1e-9) - heat.slope) * scale);
    }
    for met in circuits {
        let row = nodes + met.body;
        let scale = met.conductance_w_k / carried[met.body].max(1e-9);
        let body_k = match met.body.checked_sub(modules) {
            None => state.module_k[met.body],
            Some(plate) => state.plate_k[plate],
        };
        rows.residual[row] += (body_k - met.inlet.k) * scale;
        for (variable, slope) in &met.inlet.slopes {
            rows.add(row, *variable, -slope * scale);
        }
    }
}

/// Follows the main stream of a branch from its upstream node; writes temperatures and heats of its elements.
pub(super) fn along(
    input: &HeatInput<'_>,
    branch: usize,
    stream_kg_s: f64,
    up: usize,
    state: &mut HeatState,
    circuits: &mut Vec<BodyMet>,
) -> Tracked {
    let circuit = input.circuit;
    let coolant = &circuit.coolant;
    let nodes = circuit.net.nodes.len();
    let backwards = input.flow_kg_s[branch] < 0.0;
    let range = circuit.net.branches[branch].elements.clone();
    let count = range.len();
    let mut stream = Tracked {
        k: state.node_k[up],
        slopes: vec![(up, 1.0)],
    };
    for k in 0..count {
        let e = if backwards {
            range.end - 1 - k
        } else {
            range.start + k
        };
        let (heat, from_module) = match circuit.net.elements[e].heat {
            HeatRole::Carries => {
                state.upstream_k[e] = stream.k;
                state.downstream_k[e] = stream.k;
                state.heat_w[e] = 0.0;
                continue;
            }
            HeatRole::Machine(m) => (stated(input.pump_w[m]), None),
            HeatRole::Plate(p) if state.plate_k.is_empty() => {
                (stated(circuit.plates[p].heat_w), None)
            }
            HeatRole::Plate(_) | HeatRole::Circuit(_) => {
                let fluid = coolant.properties_extended(state.mean_k(e));
                let cp = fluid.specific_heat_j_kg_k;
                let (body, body_k, contact) = match circuit.net.elements[e].heat {
                    HeatRole::Plate(p) => (
                        circuit.modules.len() + p,
                        state.plate_k[p],
                        circuit.plates[p].contact,
                    ),
                    HeatRole::Circuit(module) => (
                        module,
                        state.module_k[module],
                        circuit.modules[module].contact,
                    ),
                    _ => continue,
                };
                let each = contact.resistance_k_w(stream_kg_s, &fluid);
                let conductance_w_k = stream_conductance_w_k(stream_kg_s * cp, each);
                circuits.push(BodyMet {
                    body,
                    conductance_w_k,
                    inlet: stream.clone(),
                });
                let heat = LinearHeat {
                    constant_w: conductance_w_k * body_k,
                    slope_w_k: -conductance_w_k,
                };
                (heat, Some((nodes + body, conductance_w_k)))
            }
            HeatRole::Core(core) => {
                let properties = coolant.properties_extended(state.mean_k(e));
                let sides = (input.sides)(core, input.flow_kg_s[branch], &properties);
                let ends_k = (state.upstream_k[e], state.downstream_k[e]);
                let cp = |k: f64| coolant.properties_extended(k).specific_heat_j_kg_k;
                (sides.heat(ends_k, stream_kg_s, &cp), None)
            }
            HeatRole::Exchanger(x) => {
                let cp = coolant
                    .properties_extended(state.mean_k(e))
                    .specific_heat_j_kg_k;
                (
                    limited_exchanger_heat(&circuit.exchangers[x], stream_kg_s * cp, stream.k),
                    None,
                )
            }
            HeatRole::Hose(h) => {
                let cp = coolant
                    .properties_extended(state.mean_k(e))
                    .specific_heat_j_kg_k;
                (hose_heat(&circuit.hoses[h], stream_kg_s * cp), None)
            }
        };
        let q = heat.at(stream.k);
        let (h_in, cp_in) = (
            coolant.enthalpy_j_kg(stream.k),
            coolant.properties_extended(stream.k).specific_heat_j_kg_k,
        );
        let out_k = coolant.temperature_from_enthalpy_k(h_in + q / stream_kg_s);
        let cp_out = coolant.properties_extended(out_k).specific_heat_j_kg_k;
        state.upstream_k[e] = stream.k;
        state.downstream_k[e] = out_k;
        state.heat_w[e] = q;
        stream.scale((cp_in + heat.slope_w_k / stream_kg_s) / cp_out);
        if let Some((variable, conductance)) = from_module {
            stream
                .slopes
                .push((variable, conductance / (stream_kg_s * cp_out)));
        }
        stream.k = out_k;
    }
    stream
}

fn stated(heat_w: f64) -> LinearHeat {
    LinearHeat {
        constant_w: heat_w,
        slope_w_k: 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fluid::Coolant;

    #[test]
    fn forward_parts_add_up_to_the_flow_and_are_never_negative() {
        for flow in [-3.0, -1e-10, 0.0, 1e-12, 2.0] {
            let (f, b) = (forward_part(flow, 1e-9), forward_part(-flow, 1e-9));
            assert!(f >= 0.0 && b >= 0.0);
            assert!((f - b - flow).abs() <= 1e-15 * flow.abs().max(1e-9));
        }
    }

    #[test]
    fn a_coolant_keeps_its_enthalpy_through_the_inverse() {
        let coolant = Coolant::water();
        let h = coolant.enthalpy_j_kg(321.0);
        assert!((coolant.temperature_from_enthalpy_k(h) - 321.0).abs() < 1e-10);
    }
}

#[cfg(test)]
#[path = "thermal_tests.rs"]
mod slope_tests;
