//! The balance of enthalpy at every node and of heat in every module, with its slopes.

use super::part::{HeatInput, part_heat};
use super::state::{HeatState, forward_part, mixing_width};
use crate::correlation::Sloped;
use crate::network::{Loop, NodeKind};

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
pub struct BodyMet {
    /// Its place among modules and, after them, devices.
    pub body: usize,
    /// Conductance that the stream can use of it, W/K.
    pub conductance_w_k: f64,
    /// Temperature of the stream where it meets the body, K.
    pub inlet_k: f64,
    /// Slopes of that temperature, places in [`Rows::met_slopes`].
    slopes: std::ops::Range<usize>,
}

/// The balance as rows: residuals and their slopes, with room for what is reckoned on the way.
#[derive(Default)]
pub struct Rows {
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
pub fn balance(input: &HeatInput<'_>, state: &mut HeatState, rows: &mut Rows) {
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
pub fn follow(
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

#[cfg(test)]
#[path = "slope_tests.rs"]
mod slope_tests;
