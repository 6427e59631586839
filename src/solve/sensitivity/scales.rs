//! What stays the same while unknowns move: the scales of all rows, and which branches are closed.

use super::super::case_state::CaseState;
use super::super::thermal::{forward_part, mixing_width};
use crate::network::Passage;

/// What stays the same while unknowns move: scales of the rows, and which rows hold.
#[derive(Clone, Debug)]
pub struct Scales {
    /// Of each loop: flow, kg/s, and pressure, Pa.
    pub loops: Vec<(f64, f64)>,
    /// Width of the mixing weights of each loop, kg/s.
    pub width_kg_s: Vec<f64>,
    /// Kelvin over watt of each node, by loop.
    pub node_k_w: Vec<Vec<f64>>,
    /// Kelvin over watt of each module, by loop.
    pub module_k_w: Vec<Vec<f64>>,
    /// Whether each branch is closed, by loop.
    pub closed: Vec<Vec<bool>>,
}

impl Scales {
    /// The scales of a solved case; those of modules are filled in by what their circuits carry.
    pub fn new(state: &CaseState) -> Self {
        let mut scales = Self {
            loops: Vec::new(),
            width_kg_s: Vec::new(),
            node_k_w: Vec::new(),
            module_k_w: vec![Vec::new(); state.loops.len()],
            closed: Vec::new(),
        };
        for solved in &state.loops {
            let (net, flow) = (&solved.circuit.net, &solved.flow.flow_kg_s);
            let most = flow.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
            let pa = &solved.flow.node_pa;
            let low = pa.iter().copied().fold(f64::INFINITY, f64::min);
            let high = pa.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let most = if most > 0.0 { most } else { 1e-3 };
            scales.loops.push((most, (high - low).max(1.0)));
            let width = mixing_width(flow);
            scales.width_kg_s.push(width);
            let mut met = vec![0.0; net.nodes.len()];
            let mut net_into = vec![0.0; net.nodes.len()];
            for (branch, flow) in net.branches.iter().zip(flow) {
                met[branch.to] += forward_part(*flow, width);
                met[branch.from] += forward_part(-flow, width);
                net_into[branch.to] += flow;
                net_into[branch.from] -= flow;
            }
            for ((node, net_into), met) in net.nodes.iter().zip(&net_into).zip(&mut met) {
                if node.inflow_temperature_k.is_some() {
                    *met += forward_part(-net_into, width);
                }
            }
            let cp = |k: f64| {
                let coolant = &solved.circuit.coolant;
                coolant.properties_extended(k).specific_heat_j_kg_k
            };
            let per_w = met.iter().zip(&solved.heat.node_k);
            let per_w = per_w.map(|(met, k)| 1.0 / (met.max(width) * cp(*k)));
            scales.node_k_w.push(per_w.collect());
            let closed = net
                .branches
                .iter()
                .zip(flow)
                .map(|(branch, flow)| match branch.passage {
                    Passage::Open => false,
                    Passage::OneWay { .. } => *flow <= RESTING_VALVE * most,
                    Passage::Shut => true,
                });
            scales.closed.push(closed.collect());
        }
        scales
    }
}

/// Flow through a check valve below which it is closed, over the largest flow of its loop.
const RESTING_VALVE: f64 = 1.0e-9;
