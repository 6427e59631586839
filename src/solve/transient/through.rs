//! Heat of a loop in a march through its outside, and where it cannot go.

use super::circuit::LoopMarch;
use super::step::Through;
use crate::id::Subject;
use crate::network::{HeatRole, NodeKind};
use crate::solve::case_state::LoopState;
use crate::solve::error::SolveError;
use crate::solve::thermal::{RESTING_SHARE, forward_part, mixing_width};

impl LoopMarch {
    /// Heat on a part that neither stores it nor passes it on has no answer.
    pub(super) fn massless_need_flow(&self, flow_kg_s: &[f64]) -> Result<(), SolveError> {
        let circuit = &self.state.circuit;
        let massless = (circuit.plates.iter().map(|p| p.capacity_j_k))
            .chain(circuit.modules.iter().map(|m| m.capacity_j_k))
            .any(|c| c == 0.0);
        if !massless {
            return Ok(());
        }
        let owner = circuit.net.branch_of_elements();
        let most = flow_kg_s.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
        let rests = |e: usize| most <= 1e-12 || flow_kg_s[owner[e]].abs() <= RESTING_SHARE * most;
        let refuse = |part: &str, heat_w: f64| {
            Err(SolveError::HeatWithoutFlow {
                subject: Subject::part(&circuit.name, part),
                heat_w,
            })
        };
        for plate in &circuit.plates {
            if plate.heat_w != 0.0 && plate.capacity_j_k == 0.0 && rests(plate.element) {
                return refuse(
                    circuit.net.elements[plate.element].id.as_str(),
                    plate.heat_w,
                );
            }
        }
        for module in circuit.modules.iter().filter(|m| m.capacity_j_k == 0.0) {
            let heat_w = (module.heat.as_ref()).map_or(0.0, |h| h.at(self.start_k).value);
            if heat_w > 0.0 && module.circuits.iter().all(|&e| rests(e)) {
                return refuse(&module.name, heat_w);
            }
        }
        Ok(())
    }

    /// Heat through the outside, from flows and temperatures alone, W.
    pub(super) fn through_w(&self) -> Through {
        let LoopState {
            circuit,
            heat,
            flow,
            pump_w,
            ..
        } = &self.state;
        let mut sum = Through::default();
        let mut count = |w: f64| {
            sum.gained += w.max(0.0);
            sum.lost += (-w).max(0.0);
        };
        pump_w.iter().for_each(|w| count(*w));
        circuit.plates.iter().for_each(|p| count(p.heat_w));
        for (module, k) in circuit.modules.iter().zip(&heat.module_k) {
            count(module.heat.as_ref().map_or(0.0, |h| h.at(*k).value));
        }
        for (element, w) in circuit.net.elements.iter().zip(&heat.heat_w) {
            if matches!(
                element.heat,
                HeatRole::Core(_) | HeatRole::Exchanger(_) | HeatRole::Hose(_)
            ) {
                count(*w);
            }
        }
        let mut inflow = vec![0.0; circuit.net.nodes.len()];
        for (branch, m) in circuit.net.branches.iter().zip(&flow.flow_kg_s) {
            inflow[branch.from] += m;
            inflow[branch.to] -= m;
        }
        let width = mixing_width(&flow.flow_kg_s);
        let datum = circuit.coolant.enthalpy_j_kg(self.start_k);
        let above = |k: f64| circuit.coolant.enthalpy_j_kg(k) - datum;
        for (n, node) in circuit.net.nodes.iter().enumerate() {
            if matches!(node.kind, NodeKind::Fixed { .. } | NodeKind::Draw { .. }) {
                let entering_k = node.inflow_temperature_k.unwrap_or(heat.node_k[n]);
                count(forward_part(inflow[n], width) * above(entering_k));
                count(-forward_part(-inflow[n], width) * above(heat.node_k[n]));
            }
        }
        sum
    }
}
