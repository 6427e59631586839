//! Closures of a solved loop, recomputed from what is reported: flows and temperatures, never the solver's residuals.

use super::case_state::{AirState, Carried, LoopState};
use super::thermal::{forward_part, mixing_width};
use crate::network::{NodeKind, Passage};

/// How well a solved loop keeps mass and energy.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Closure {
    /// Largest sum of flows at any node, kg/s.
    pub mass_kg_s: f64,
    /// Largest flow of the loop, kg/s.
    pub largest_flow_kg_s: f64,
    /// Sum over all parts and nodes of what their enthalpy balance misses, W; 0 where heat was not carried.
    pub energy_w: f64,
    /// Sum of the magnitudes of all heats, W.
    pub heat_w: f64,
    /// Sum over all nodes of the heat capacity flow that meets there, W/K.
    pub stream_w_k: f64,
    /// Round-off of the heat that coolant stores, W; 0 in a steady state.
    pub round_off_w: f64,
    /// Largest misfit of pressure along any branch, Pa; at a shut one-way branch, what its pressure exceeds cracking.
    pub pressure_pa: f64,
    /// Largest less smallest total pressure of nodes and legs of tees, Pa.
    pub pressure_span_pa: f64,
}

impl Closure {
    /// What the mass closure may be, kg/s.
    pub fn mass_owed_kg_s(&self) -> f64 {
        (1e-9 * self.largest_flow_kg_s).max(1e-12)
    }

    /// What the energy closure may be, W.
    pub fn energy_owed_w(&self) -> f64 {
        (1e-6 * self.heat_w)
            .max(1e-9 * self.stream_w_k)
            .max(self.round_off_w)
            .max(1e-6)
    }

    /// What the misfit of pressure may be, Pa.
    pub fn pressure_owed_pa(&self) -> f64 {
        (1e-9 * self.pressure_span_pa).max(1e-6)
    }

    /// Whether all three are as good as owed.
    pub fn is_met(&self) -> bool {
        self.mass_kg_s <= self.mass_owed_kg_s()
            && self.energy_w <= self.energy_owed_w()
            && self.pressure_pa <= self.pressure_owed_pa()
    }
}

/// Recomputes the closures of a loop.
pub(super) fn closure(state: &LoopState, air_k: f64) -> Closure {
    let net = &state.circuit.net;
    let flows = &state.flow.flow_kg_s;
    let mut sum = vec![0.0; net.nodes.len()];
    for (branch, flow) in net.branches.iter().zip(flows) {
        sum[branch.to] += flow;
        sum[branch.from] -= flow;
    }
    let mut result = Closure {
        largest_flow_kg_s: flows.iter().fold(0.0, |m: f64, v| m.max(v.abs())),
        ..Closure::default()
    };
    for (n, node) in net.nodes.iter().enumerate() {
        let outside = match node.kind {
            NodeKind::Fixed { .. } => continue,
            NodeKind::Draw { inflow_m3_s } => inflow_m3_s * state.fluid.node_density_kg_m3[n],
            _ => 0.0,
        };
        result.mass_kg_s = result.mass_kg_s.max((sum[n] + outside).abs());
    }
    pressures(state, &mut result);
    if state.carried == Carried::Solved {
        energy(state, &sum, air_k, &mut result);
    }
    result
}

/// Closure of mass at the inner nodes of an air path; its largest flow.
pub(super) fn air_flow_closure(state: &AirState) -> Closure {
    let net = &state.path.net;
    let mut sum = vec![0.0; net.nodes.len()];
    for (branch, flow) in net.branches.iter().zip(&state.flow.flow_kg_s) {
        sum[branch.to] += flow;
        sum[branch.from] -= flow;
    }
    let inner = (net.nodes.iter().zip(&sum)).filter(|(n, _)| n.kind == NodeKind::Meeting);
    let flows = state.flow.flow_kg_s.iter();
    Closure {
        mass_kg_s: inner.fold(0.0, |m: f64, (_, s)| m.max(s.abs())),
        largest_flow_kg_s: flows.fold(0.0, |m: f64, v| m.max(v.abs())),
        ..Closure::default()
    }
}

fn pressures(state: &LoopState, result: &mut Closure) {
    use super::loop_view::LoopView;
    let net = &state.circuit.net;
    let nodes = state.flow.node_pa.iter().copied();
    let legs = (state.flow.tee_excess_pa.iter())
        .flat_map(|(node, excess)| excess.map(|e| state.flow.node_pa[*node] + e));
    let (high, low) = nodes
        .chain(legs)
        .fold((f64::NEG_INFINITY, f64::INFINITY), |(high, low), p| {
            (high.max(p), low.min(p))
        });
    result.pressure_span_pa = (high - low).max(0.0);
    let view = LoopView::new(state, 0.0);
    for (j, branch) in net.branches.iter().enumerate() {
        let flow = state.flow.flow_kg_s[j];
        let misfit_pa = match branch.passage {
            Passage::Open => view.misfit_pa(j).abs(),
            // What flows backwards or through a shut branch is missing mass.
            Passage::Shut => {
                result.mass_kg_s = result.mass_kg_s.max(flow.abs());
                continue;
            }
            Passage::OneWay { cracking_pa } => {
                result.mass_kg_s = result.mass_kg_s.max(-flow);
                let over_pa = view.misfit_pa(j) - cracking_pa;
                if flow > result.mass_owed_kg_s() {
                    over_pa.abs()
                } else {
                    over_pa.max(0.0)
                }
            }
        };
        result.pressure_pa = result.pressure_pa.max(misfit_pa);
    }
}

fn energy(state: &LoopState, sum: &[f64], air_k: f64, result: &mut Closure) {
    let net = &state.circuit.net;
    let (coolant, heat) = (&state.circuit.coolant, &state.heat);
    let flows = &state.flow.flow_kg_s;
    let width = mixing_width(flows);
    let mut balance = vec![0.0; net.nodes.len()];
    for (j, branch) in net.branches.iter().enumerate() {
        let flow = flows[j];
        let (up, down) = if flow >= 0.0 {
            (branch.from, branch.to)
        } else {
            (branch.to, branch.from)
        };
        let main = forward_part(flow.abs(), width);
        let counter = forward_part(-flow.abs(), width);
        let mut arriving_k = heat.node_k[up];
        let count = branch.elements.len();
        for k in 0..count {
            let e = if flow >= 0.0 {
                branch.elements.start + k
            } else {
                branch.elements.end - 1 - k
            };
            let gained = main
                * (coolant.enthalpy_j_kg(heat.downstream_k[e])
                    - coolant.enthalpy_j_kg(heat.upstream_k[e]));
            result.energy_w += (gained - heat.heat_w[e]).abs();
            result.energy_w += (main
                * (coolant.enthalpy_j_kg(heat.upstream_k[e]) - coolant.enthalpy_j_kg(arriving_k)))
            .abs();
            result.heat_w += heat.heat_w[e].abs();
            arriving_k = heat.downstream_k[e];
        }
        let here = coolant.enthalpy_j_kg(heat.node_k[down]);
        balance[down] += main * (coolant.enthalpy_j_kg(arriving_k) - here);
        balance[up] += counter * (here - coolant.enthalpy_j_kg(heat.node_k[up]));
        result.stream_w_k += main
            * coolant
                .properties_extended(heat.node_k[down])
                .specific_heat_j_kg_k;
    }
    for (n, node) in net.nodes.iter().enumerate() {
        let stated = matches!(node.kind, NodeKind::Fixed { .. } | NodeKind::Draw { .. });
        if stated && let Some(k) = node.inflow_temperature_k {
            let k = if k.is_nan() { air_k } else { k };
            let entering = forward_part(-sum[n], width);
            balance[n] +=
                entering * (coolant.enthalpy_j_kg(k) - coolant.enthalpy_j_kg(heat.node_k[n]));
        }
    }
    // In a march the coolant of a node keeps what its balance leaves over.
    for (left, storing) in balance.iter_mut().zip(&state.storing_w) {
        *left -= storing;
    }
    result.round_off_w = state.storing_round_off_w;
    result.energy_w += balance.iter().map(|b| b.abs()).sum::<f64>();
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::Source;
    use crate::network::Network;
    use crate::solve::Solver;

    /// A loop with an open one-way branch, one that is shut, heat and a sink, solved.
    fn solved() -> LoopState {
        let text = r#"{ "format": 1, "title": "t", "coolants": { "w": { "water": {} } },
          "loops": { "l": { "coolant": "w", "parts": { "tank": { "expansion_tank": {} },
              "pump": { "pump": { "curve": [["0 L/min", "50 kPa"], ["30 L/min", "0 kPa"]] } },
              "t": { "tee": { "straight_bore": "16 mm", "side_bore": "13 mm" } }, "u": { "tee": { "straight_bore": "16 mm", "side_bore": "13 mm" } },
              "plate": { "plate": { "pressure_drop": { "kv": "1 m3/h" }, "heat": "400 W" } },
              "open": { "check_valve": { "pressure_drop": { "kv": "2 m3/h" }, "cracking_pressure": "1 kPa" } },
              "held": { "check_valve": { "pressure_drop": { "kv": "2 m3/h" }, "cracking_pressure": "90 kPa" } },
              "shut": { "valve": { "kv": "2 m3/h", "opening": 0 } },
              "past": { "hose": { "bore": "10 mm", "length": "1 m" } },
              "cooler": { "exchanger": { "pressure_drop": { "kv": "3 m3/h" }, "conductance": "300 W/K", "stream": { "temperature": "10 degC" } } } },
            "runs": [["tank", "pump", "t.a"], ["t.b", "plate", "open", "u.b"], ["t.side", "past", "u.side"], ["u.a", "cooler", "tank"],
              ["tank", "held", "tank"], ["tank", "shut", "tank"]] } },
          "cases": { "c": { "air": "20 degC" } } }"#;
        let source = Source::read(text).unwrap_or_else(|e| panic!("{e:?}"));
        let network = Network::build(&source.design).unwrap_or_else(|e| panic!("{e}"));
        let mut state = Solver::new(&network)
            .solve_raw(&network.cases()[0])
            .unwrap_or_else(|e| panic!("{e}"));
        state.loops.remove(0)
    }

    #[test]
    fn a_solution_closes_and_a_touch_anywhere_opens_it() {
        let sound = solved();
        assert!(
            closure(&sound, 293.15).is_met(),
            "{:?}",
            closure(&sound, 293.15)
        );
        let refuse = |what: String, touch: &dyn Fn(&mut LoopState)| {
            let mut touched = sound.clone();
            touch(&mut touched);
            assert!(!closure(&touched, 293.15).is_met(), "{what}");
        };
        for j in 0..sound.flow.flow_kg_s.len() {
            refuse(format!("flow {j}"), &|s| s.flow.flow_kg_s[j] += 1e-6);
        }
        let net = &sound.circuit.net;
        for n in 0..net.nodes.len() {
            refuse(format!("pressure {n}"), &|s| s.flow.node_pa[n] += 1e-2);
            refuse(format!("temperature {n}"), &|s| s.heat.node_k[n] += 1e-3);
        }
        let owner = net.branch_of_elements();
        for e in (0..net.elements.len()).filter(|&e| sound.flow.flow_kg_s[owner[e]].abs() > 1e-6) {
            refuse(format!("outlet {e}"), &|s| s.heat.downstream_k[e] += 1e-3);
            refuse(format!("inlet {e}"), &|s| s.heat.upstream_k[e] += 1e-3);
            refuse(format!("heat {e}"), &|s| s.heat.heat_w[e] += 1e-2);
        }
    }
}
