//! The solved state that belongs to unknowns: what a [`Solution`] reads, rebuilt from the one vector.

use super::super::case_state::{CaseState, LoopState};
use super::super::flow::FlowState;
use super::super::loop_heat::fluid_at;
use super::super::solution::Solution;
use super::vehicle::Vehicle;
use crate::correlation::tees::tee;
use crate::network::NodeKind;
use std::sync::Arc;

impl<'n> Vehicle<'n> {
    /// The answer that belongs to unknowns, without findings.
    pub fn solution(self, z: &[f64]) -> Solution<'n> {
        let (network, case) = (self.network, self.case);
        Solution::of_state(network, case, self.state(z))
    }

    /// The solved state that belongs to unknowns, with everything that hangs on them.
    fn state(mut self, z: &[f64]) -> CaseState {
        self.set_openings(z);
        let meeting = self.meeting_at(z);
        let count = self.circuits.len();
        for l in 0..count {
            for j in 0..self.circuits[l].net.branches.len() {
                self.stand(l, j, z);
                if self.solved(l) {
                    self.follow_branch(l, j, Some(&meeting));
                }
            }
        }
        let mut noted = meeting.clone();
        for core in 0..self.network.cores().len() {
            let (flow, ends_k) = self.core_ends(core);
            self.note_core(core, flow, ends_k, &meeting, &mut noted);
        }
        noted.follow(self.case, &self.airs);
        let loops = (0..count).map(|l| self.loop_state(l, z)).collect();
        CaseState {
            loops,
            airs: self.airs,
            meeting: noted,
        }
    }

    fn loop_state(&self, l: usize, z: &[f64]) -> LoopState {
        let (at, circuit, heat) = (&self.places.loops[l], &self.circuits[l], &self.heats[l]);
        let net = &circuit.net;
        let flow_kg_s = z[at.flow..at.flow + net.branches.len()].to_vec();
        let node_pa = (0..net.nodes.len()).map(|n| self.pressure_pa(l, n, z));
        let fluid = fluid_at(circuit, heat);
        let tees = net.nodes.iter().enumerate().filter_map(|(n, node)| {
            let NodeKind::Tee(shape) = &node.kind else {
                return None;
            };
            let flows = shape.flows_in(&flow_kg_s);
            let rho = fluid.node_density_kg_m3[n];
            let seen = tee(shape.model, &shape.shape, rho, flows);
            Some((n, seen.excess_pa))
        });
        LoopState {
            flow: FlowState {
                node_pa: node_pa.collect(),
                tee_excess_pa: tees.collect(),
                flow_kg_s: flow_kg_s.clone(),
                ..FlowState::default()
            },
            circuit: Arc::clone(circuit),
            heat: heat.clone(),
            fluid,
            pump_w: self.pump_w[l].clone(),
            carried: self.carried[l],
            steps_max: 0,
            passes: 0,
            factorisations: 0,
            storing_w: Vec::new(),
            storing_round_off_w: 0.0,
        }
    }
}
