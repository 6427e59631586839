//! Temperatures of one loop at known flows: enthalpy carried along branches, mixed at nodes, exchanged with parts.
//!
//! Unknowns: temperature of every node and of every module (in time also of every device on a plate). Newton on the balance of enthalpy; a branch carries the
//! stream `w(|m|)` from its upstream end through its parts, and the tiny counter-stream `w(-|m|)` without them, with
//! `w(m) = (m + sqrt(m^2 + e^2))/2`: mixing weights that stay smooth where a flow reverses and add up to `m`.

use super::exchange::{
    CoreSides, LinearHeat, hose_heat, limited_exchanger_heat, stream_conductance_w_k,
};
use super::linear::StrongSystem;
use crate::correlation::Sloped;
use crate::fluid::{Coolant, Properties};
use crate::network::{HeatRole, Loop, NodeKind, ThermostatNode};
use crate::part::Contact;

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
/// Share of the change of a pass to which its temperatures are solved.
const PASS_SHARE: f64 = 1.0e-6;
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

    /// Where the stream enters an element and where it leaves, K.
    pub fn ends_k(&self, element: usize) -> (f64, f64) {
        (self.upstream_k[element], self.downstream_k[element])
    }

    /// Mean temperature of an element, K.
    pub fn mean_k(&self, element: usize) -> f64 {
        0.5 * (self.upstream_k[element] + self.downstream_k[element])
    }
}

/// Smoothed forward part of a flow.
pub fn forward_part(flow: f64, width: f64) -> f64 {
    // Flows and widths are far from where squares overflow or vanish.
    let h = (flow * flow + width * width).sqrt();
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

/// A temperature as a function of unknowns: value and slopes, with enthalpy and heat capacity at the value.
#[derive(Default)]
struct Tracked {
    k: f64,
    enthalpy_j_kg: f64,
    cp_j_kg_k: f64,
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
    /// Temperature of the stream where it meets the body, K.
    pub inlet_k: f64,
    /// Slopes of that temperature, places in [`Rows::met_slopes`].
    slopes: std::ops::Range<usize>,
}

/// What stays between thermal solves of one loop: the balance's room and the analysis of its matrix.
#[derive(Default)]
pub struct HeatRoom {
    rows: Rows,
    system: StrongSystem,
    step: Vec<f64>,
}

/// How exactly temperatures are wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wanted {
    /// To the last of what is owed.
    Exact,
    /// As one of several passes, whose flows move them again: to a small share of their own change.
    Pass,
}

impl Wanted {
    fn share(self) -> f64 {
        match self {
            Self::Exact => 0.0,
            Self::Pass => PASS_SHARE,
        }
    }
}

/// What is left of a change that shrinks by the same share from step to step, given the change of the step before. A
/// first step, or one that hardly shrank, foretells nothing.
pub fn left_after(change: f64, before: f64) -> f64 {
    let share = change / before;
    if before.is_finite() && share < 0.1 {
        change * share / (1.0 - share)
    } else {
        change
    }
}

/// Solves the temperatures; returns the new state and whether it settled.
///
/// # Errors
/// `Err(())` where the balance has no unique solution at these flows.
pub fn solve_heat(
    input: &HeatInput<'_>,
    from: &HeatState,
    room: &mut HeatRoom,
    wanted: Wanted,
) -> Result<(HeatState, bool), ()> {
    let circuit = input.circuit;
    let nodes = circuit.net.nodes.len();
    let size = nodes + circuit.modules.len();
    let mut state = from.clone();
    let HeatRoom { rows, system, step } = room;
    let (mut before, mut moved) = (f64::INFINITY, 0.0);
    for _ in 0..MOST_STEPS {
        rows.begin(size);
        balance(input, &mut state, rows);
        system.set(size, &rows.positions, &rows.values);
        step.clone_from(&rows.residual);
        system.factorise().map_err(|_| ())?;
        system.solve(step).map_err(|_| ())?;
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
            .zip(step.iter())
        {
            *t -= shorten * s;
        }
        moved += largest;
        let left = match wanted {
            Wanted::Exact => largest,
            Wanted::Pass => left_after(largest, before),
        };
        before = largest;
        if left < DONE_K.max(wanted.share() * moved) {
            rows.begin(size);
            balance(input, &mut state, rows);
            return Ok((state, true));
        }
    }
    Ok((state, false))
}

/// The balance as rows: residuals and their slopes, with room for what is reckoned on the way.
#[derive(Default)]
pub(super) struct Rows {
    /// Row and column of each slope.
    pub positions: Vec<(usize, usize)>,
    /// Slopes.
    pub values: Vec<f64>,
    /// Residuals, K.
    pub residual: Vec<f64>,
    /// Residual in K over heat that is gained in W, by row.
    pub kelvin_per_w: Vec<f64>,
    nodes: Vec<NodeHeat>,
    ways: Vec<Way>,
    stream: Tracked,
    met: Vec<BodyMet>,
    met_slopes: Vec<(usize, f64)>,
    carried_w_k: Vec<f64>,
}

/// Smoothed parts of the flow of a branch along it and against it, kg/s.
#[derive(Clone, Copy)]
struct Way {
    main: f64,
    counter: f64,
}

/// What meets at a node.
#[derive(Clone, Copy, Default)]
struct NodeHeat {
    met_kg_s: f64,
    net_inflow_kg_s: f64,
    enthalpy_j_kg: f64,
    cp_j_kg_k: f64,
    scale: f64,
}

impl Rows {
    /// The bodies that a stream met, in their order.
    pub fn met(&self) -> &[BodyMet] {
        &self.met
    }

    #[cfg(test)]
    pub fn new(size: usize) -> Self {
        let mut rows = Self::default();
        rows.begin(size);
        rows
    }

    /// Empties the rows for a balance of `size` unknowns.
    pub fn begin(&mut self, size: usize) {
        self.positions.clear();
        self.values.clear();
        for list in [&mut self.residual, &mut self.kelvin_per_w] {
            list.clear();
            list.resize(size, 0.0);
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
    let coolant = &circuit.coolant;
    let width = mixing_width(input.flow_kg_s);
    let mut nodes = std::mem::take(&mut rows.nodes);
    let mut ways = std::mem::take(&mut rows.ways);
    nodes_met(input, state, width, &mut nodes, &mut ways);
    // Every row is divided by the heat capacity that meets there, so that residuals are kelvin.
    for (n, node) in nodes.iter_mut().enumerate() {
        let k = state.node_k[n];
        (node.enthalpy_j_kg, node.cp_j_kg_k) = coolant.enthalpy_and_specific_heat(k);
        let known = &circuit.net.nodes[n];
        let stated = matches!(known.kind, NodeKind::Fixed { .. } | NodeKind::Draw { .. });
        if let (true, Some(entering_k)) = (stated, known.inflow_temperature_k) {
            let entering = forward_part(-node.net_inflow_kg_s, width);
            node.met_kg_s += entering;
            let brought = coolant.enthalpy_j_kg(entering_k) - node.enthalpy_j_kg;
            rows.residual[n] = entering * brought;
        }
        node.scale = 1.0 / (node.met_kg_s.max(width) * node.cp_j_kg_k);
        rows.residual[n] *= node.scale;
        rows.kelvin_per_w[n] = node.scale;
        rows.add(n, n, -node.met_kg_s * node.cp_j_kg_k * node.scale);
    }
    rows.met.clear();
    rows.met_slopes.clear();
    let mut stream = std::mem::take(&mut rows.stream);
    for (j, branch) in circuit.net.branches.iter().enumerate() {
        let flow = input.flow_kg_s[j];
        let (up, down) = if flow >= 0.0 {
            (branch.from, branch.to)
        } else {
            (branch.to, branch.from)
        };
        let Way { main, counter } = ways[j];
        stream.k = state.node_k[up];
        stream.enthalpy_j_kg = nodes[up].enthalpy_j_kg;
        stream.cp_j_kg_k = nodes[up].cp_j_kg_k;
        stream.slopes.clear();
        stream.slopes.push((up, 1.0));
        along(input, j, main, state, &mut stream, rows);
        let here = &nodes[down];
        rows.residual[down] += main * (stream.enthalpy_j_kg - here.enthalpy_j_kg) * here.scale;
        for (variable, slope) in &stream.slopes {
            rows.add(
                down,
                *variable,
                main * stream.cp_j_kg_k * slope * here.scale,
            );
        }
        let back = here.enthalpy_j_kg - nodes[up].enthalpy_j_kg;
        rows.residual[up] += counter * back * nodes[up].scale;
        rows.add(up, down, counter * here.cp_j_kg_k * nodes[up].scale);
    }
    rows.stream = stream;
    rows.nodes = nodes;
    rows.ways = ways;
    bodies(circuit, state, rows);
}

/// What flows to and from every node.
fn nodes_met(
    input: &HeatInput<'_>,
    state: &HeatState,
    width: f64,
    nodes: &mut Vec<NodeHeat>,
    ways: &mut Vec<Way>,
) {
    ways.clear();
    nodes.clear();
    nodes.resize(state.node_k.len(), NodeHeat::default());
    for (branch, &flow) in input.circuit.net.branches.iter().zip(input.flow_kg_s) {
        nodes[branch.to].net_inflow_kg_s += flow;
        nodes[branch.from].net_inflow_kg_s -= flow;
        let way = Way {
            main: forward_part(flow.abs(), width),
            counter: forward_part(-flow.abs(), width),
        };
        ways.push(way);
        let (up, down) = if flow >= 0.0 {
            (branch.from, branch.to)
        } else {
            (branch.to, branch.from)
        };
        nodes[down].met_kg_s += way.main;
        nodes[up].met_kg_s += way.counter;
    }
}

/// One module is one temperature: what its circuits carry off equals its heat. The same for the device of a plate where
/// its temperature is an unknown.
fn bodies(circuit: &Loop, state: &HeatState, rows: &mut Rows) {
    let nodes = circuit.net.nodes.len();
    let modules = circuit.modules.len();
    let mut carried = std::mem::take(&mut rows.carried_w_k);
    carried.clear();
    carried.resize(modules + state.plate_k.len(), 0.0);
    for met in &rows.met {
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
    let met = std::mem::take(&mut rows.met);
    let slopes = std::mem::take(&mut rows.met_slopes);
    for met in &met {
        let row = nodes + met.body;
        let scale = met.conductance_w_k / carried[met.body].max(1e-9);
        let body_k = match met.body.checked_sub(modules) {
            None => state.module_k[met.body],
            Some(plate) => state.plate_k[plate],
        };
        rows.residual[row] += (body_k - met.inlet_k) * scale;
        for (variable, slope) in &slopes[met.slopes.clone()] {
            rows.add(row, *variable, -slope * scale);
        }
    }
    (rows.met, rows.met_slopes, rows.carried_w_k) = (met, slopes, carried);
}

/// Follows the main stream of one branch alone from a node; writes temperatures and heats of its elements, notes the
/// bodies that it meets, and returns the temperature at which it arrives, K.
pub(super) fn follow(
    input: &HeatInput<'_>,
    branch: usize,
    stream_kg_s: f64,
    up: usize,
    state: &mut HeatState,
    rows: &mut Rows,
) -> f64 {
    let coolant = &input.circuit.coolant;
    rows.met.clear();
    rows.met_slopes.clear();
    let mut stream = std::mem::take(&mut rows.stream);
    let k = state.node_k[up];
    stream.k = k;
    (stream.enthalpy_j_kg, stream.cp_j_kg_k) = coolant.enthalpy_and_specific_heat(k);
    stream.slopes.clear();
    along(input, branch, stream_kg_s, state, &mut stream, rows);
    let out_k = stream.k;
    rows.stream = stream;
    out_k
}

/// Follows the main stream of a branch from its upstream node; writes temperatures and heats of its elements.
fn along(
    input: &HeatInput<'_>,
    branch: usize,
    stream_kg_s: f64,
    state: &mut HeatState,
    stream: &mut Tracked,
    rows: &mut Rows,
) {
    let circuit = input.circuit;
    let coolant = &circuit.coolant;
    let nodes = circuit.net.nodes.len();
    let backwards = input.flow_kg_s[branch] < 0.0;
    let range = circuit.net.branches[branch].elements.clone();
    let count = range.len();
    for k in 0..count {
        let e = if backwards {
            range.end - 1 - k
        } else {
            range.start + k
        };
        let ends_k = state.ends_k(e);
        let at = (input.flow_kg_s[branch], stream_kg_s);
        let Some(part) = part_heat(input, e, at, stream.k, ends_k, state) else {
            state.upstream_k[e] = stream.k;
            state.downstream_k[e] = stream.k;
            state.heat_w[e] = 0.0;
            continue;
        };
        if let Some((body, conductance_w_k)) = part.body {
            let begin = rows.met_slopes.len();
            rows.met_slopes.extend_from_slice(&stream.slopes);
            rows.met.push(BodyMet {
                body,
                conductance_w_k,
                inlet_k: stream.k,
                slopes: begin..rows.met_slopes.len(),
            });
        }
        let heat = part.heat;
        let q = heat.at(stream.k);
        let enthalpy_j_kg = stream.enthalpy_j_kg + q / stream_kg_s;
        let out_k = coolant.temperature_from_enthalpy_near_k(enthalpy_j_kg, state.downstream_k[e]);
        let cp_out = coolant.specific_heat_extended_j_kg_k(out_k);
        state.upstream_k[e] = stream.k;
        state.downstream_k[e] = out_k;
        state.heat_w[e] = q;
        stream.scale((stream.cp_j_kg_k + heat.slope_w_k / stream_kg_s) / cp_out);
        if let Some((body, conductance_w_k)) = part.body {
            let slope = conductance_w_k / (stream_kg_s * cp_out);
            stream.slopes.push((nodes + body, slope));
        }
        (stream.k, stream.enthalpy_j_kg, stream.cp_j_kg_k) = (out_k, enthalpy_j_kg, cp_out);
    }
}

/// What a part does to the heat of its stream.
pub(super) struct PartHeat {
    /// The heat that the coolant gains, linear in the temperature at which it enters.
    pub heat: LinearHeat,
    /// The body whose heat it is, and the conductance that the stream can use of it, W/K.
    pub body: Option<(usize, f64)>,
}

impl PartHeat {
    fn alone(heat: LinearHeat) -> Self {
        Self { heat, body: None }
    }
}

/// The heat law of an element at a flow and stream, kg/s, whose coolant enters at `inlet_k` and has its properties at the
/// mean of `ends_k`; bodies are at the temperatures of `state`. None where the element carries it along.
pub(super) fn part_heat(
    input: &HeatInput<'_>,
    element: usize,
    (flow_kg_s, stream_kg_s): (f64, f64),
    inlet_k: f64,
    ends_k: (f64, f64),
    state: &HeatState,
) -> Option<PartHeat> {
    let circuit = input.circuit;
    let coolant = &circuit.coolant;
    let mean_k = 0.5 * (ends_k.0 + ends_k.1);
    let mean_cp = || coolant.specific_heat_extended_j_kg_k(mean_k);
    let (body, body_k, contact) = match circuit.net.elements[element].heat {
        HeatRole::Carries => return None,
        HeatRole::Machine(m) => return Some(PartHeat::alone(stated(input.pump_w[m]))),
        HeatRole::Plate(p) if state.plate_k.is_empty() => {
            return Some(PartHeat::alone(stated(circuit.plates[p].heat_w)));
        }
        HeatRole::Core(core) => {
            let properties = coolant.properties_extended(mean_k);
            let sides = (input.sides)(core, flow_kg_s, &properties);
            let cp = |k: f64| coolant.specific_heat_extended_j_kg_k(k);
            return Some(PartHeat::alone(sides.heat(ends_k, stream_kg_s, &cp)));
        }
        HeatRole::Exchanger(x) => {
            let tie = &circuit.exchangers[x];
            let heat = limited_exchanger_heat(tie, stream_kg_s * mean_cp(), inlet_k);
            return Some(PartHeat::alone(heat));
        }
        HeatRole::Hose(h) => {
            let heat = hose_heat(&circuit.hoses[h], stream_kg_s * mean_cp());
            return Some(PartHeat::alone(heat));
        }
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
    };
    let conductance_w_k = usable_w_k(coolant, &contact, stream_kg_s, mean_k);
    Some(PartHeat {
        heat: LinearHeat {
            constant_w: conductance_w_k * body_k,
            slope_w_k: -conductance_w_k,
        },
        body: Some((body, conductance_w_k)),
    })
}

/// Conductance that a stream can use of what it touches, W/K, with the properties of the coolant at `mean_k`.
pub(super) fn usable_w_k(
    coolant: &Coolant,
    contact: &Contact,
    stream_kg_s: f64,
    mean_k: f64,
) -> f64 {
    let (cp, each) = match contact.resistance_of_flow_k_w(stream_kg_s) {
        Some(each) => (coolant.specific_heat_extended_j_kg_k(mean_k), each),
        None => {
            let fluid = coolant.properties_extended(mean_k);
            let each = contact.resistance_k_w(stream_kg_s, &fluid);
            (fluid.specific_heat_j_kg_k, each)
        }
    };
    stream_conductance_w_k(stream_kg_s * cp, each)
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

    #[test]
    fn forward_parts_add_up_to_the_flow_and_are_never_negative() {
        for flow in [-3.0, -1e-10, 0.0, 1e-12, 2.0] {
            let (f, b) = (forward_part(flow, 1e-9), forward_part(-flow, 1e-9));
            assert!(f >= 0.0 && b >= 0.0);
            assert!((f - b - flow).abs() <= 1e-15 * flow.abs().max(1e-9));
        }
    }

    #[test]
    fn enthalpy_and_heat_capacity_are_the_same_together_as_apart() {
        let rows = [280.0, 320.0, 370.0].map(|temperature_k| crate::fluid::TableRow {
            temperature_k,
            properties: crate::fluid::Properties {
                density_kg_m3: 1000.0,
                viscosity_pa_s: 1e-3,
                specific_heat_j_kg_k: 3000.0 + temperature_k,
                conductivity_w_m_k: 0.5,
            },
        });
        let table = Coolant::table(&rows, None, None).unwrap_or_else(|e| panic!("{e}"));
        for coolant in [Coolant::water(), table] {
            for k in [200.0, 273.15, 280.0, 301.7, 350.0, 370.0, 500.0] {
                let apart = (
                    coolant.enthalpy_j_kg(k),
                    coolant.specific_heat_extended_j_kg_k(k),
                );
                assert_eq!(coolant.enthalpy_and_specific_heat(k), apart, "{k}");
            }
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
