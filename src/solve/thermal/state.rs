//! Temperatures along a loop, and the weights by which streams mix.

use crate::network::{Loop, ThermostatNode};

/// Width of the smoothed mixing weights over the largest flow.
const MIXING_WIDTH: f64 = 1.0e-9;
/// Smallest width, kg/s: a loop at rest.
const LEAST_WIDTH_KG_S: f64 = 1.0e-12;
/// Flow below which a branch counts as at rest, over the largest flow.
pub const RESTING_SHARE: f64 = 1.0e-7;

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
}
