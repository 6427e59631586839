//! A vehicle in a case at given unknowns, whose rows stand in `rows.rs`, what cores meet in `cores.rs`, and their slopes in
//! `chain.rs` and `slopes.rs`.

use super::super::case_state::{AirState, Carried, CaseState, ambient_pa};
use super::super::couple::sides_of;
use super::super::exchange::CoreSides;
use super::super::hydraulic::SHUT_LEAK;
use super::super::loop_heat::{machine_heat, start_temperature_k};
use super::super::meeting::Meeting;
use super::super::thermal::{HeatInput, HeatState, Rows, follow, forward_part, usable_w_k};
use super::cores::core_branches;
use super::places::Places;
use super::scales::Scales;
use crate::fluid::Properties;
use crate::network::{Case, HeatRole, Loop, Network, NodeKind};
use crate::quantity::AbsolutePressure;
use std::sync::Arc;

/// Rounds by which the temperatures along a branch agree with the properties of the coolant there.
const ROUNDS: usize = 40;
/// Change of a temperature at which they agree, K: some twenty units of round-off of a temperature, so that a slope over
/// 3 mK is right to 1e-9.
const AGREED_K: f64 = 1.0e-12;

/// A vehicle in a case at unknowns.
pub struct Vehicle<'n> {
    pub network: &'n Network,
    pub case: &'n Case,
    pub places: Places,
    pub scales: Scales,
    /// Loops set to the case and to the openings of the unknowns.
    pub circuits: Vec<Arc<Loop>>,
    pub airs: Vec<AirState>,
    pub carried: Vec<Carried>,
    /// The branch of each core in its loop.
    pub core_branch: Vec<usize>,
    /// What cores met at the solution.
    pub meeting: Meeting,
    /// Room for the temperatures along branches; they begin from those of the solution.
    pub heats: Vec<HeatState>,
    pub flows: Vec<Vec<f64>>,
    pub pump_w: Vec<Vec<f64>>,
    pub rows: Rows,
}

impl<'n> Vehicle<'n> {
    /// The vehicle at a solved case.
    pub fn at_solution(network: &'n Network, case: &'n Case, state: &CaseState) -> Self {
        let places = Places::new(network, state);
        let loops = || state.loops.iter();
        let mut vehicle = Self {
            network,
            case,
            scales: Scales::new(state),
            circuits: loops().map(|l| Arc::clone(&l.circuit)).collect(),
            airs: state.airs.clone(),
            carried: loops().map(|l| l.carried).collect(),
            core_branch: core_branches(network),
            meeting: state.meeting.clone(),
            heats: loops().map(|l| l.heat.clone()).collect(),
            flows: loops().map(|l| l.flow.flow_kg_s.clone()).collect(),
            pump_w: loops().map(|l| l.pump_w.clone()).collect(),
            rows: Rows::default(),
            places,
        };
        vehicle.weigh_bodies();
        vehicle
    }

    /// A changed vehicle at the same unknowns: same graphs, which the caller holds, and other numbers. `None` where there
    /// are more or fewer modules, thermostats or cores, or cores come to meet each other that did not.
    pub fn changed<'m>(
        &self,
        network: &'m Network,
        case: &'m Case,
        airs: Vec<AirState>,
        z: &[f64],
    ) -> Option<Vehicle<'m>> {
        let cores = network.cores().iter().zip(self.network.cores());
        let alike = (network.loops().iter().zip(&self.circuits)).all(same_places)
            && network.cores().len() == self.network.cores().len()
            && cores.into_iter().all(|(a, b)| {
                (a.circuit, a.element, a.strips.len()) == (b.circuit, b.element, b.strips.len())
            });
        if !alike {
            return None;
        }
        let circuits = network.loops().iter().enumerate();
        let mut changed = Vehicle {
            network,
            case,
            scales: self.scales.clone(),
            circuits: circuits.map(|(l, c)| Arc::new(c.set_to(l, case))).collect(),
            meeting: Meeting::new(network, case, &airs),
            airs,
            carried: self.carried.clone(),
            core_branch: self.core_branch.clone(),
            heats: self.heats.clone(),
            flows: self.flows.clone(),
            pump_w: self.pump_w.clone(),
            rows: Rows::default(),
            places: self.places.clone(),
        };
        if changed.meeting.ties_cores(&changed.airs) == self.places.cores.is_empty() {
            return None;
        }
        for (l, circuit) in changed.circuits.iter().enumerate() {
            if changed.carried[l] != Carried::Solved {
                let k = start_temperature_k(circuit, case, None);
                changed.heats[l] = HeatState::uniform(circuit, k);
            }
        }
        changed.set_openings(z);
        Some(changed)
    }

    /// Sets thermostats to the openings of the unknowns.
    pub fn set_openings(&mut self, z: &[f64]) {
        for (circuit, at) in self.circuits.iter_mut().zip(&self.places.loops) {
            for t in 0..circuit.thermostats.len() {
                let opening = z[at.opening + t];
                if circuit.thermostats[t].opening != opening {
                    Arc::make_mut(circuit).set_thermostat(t, opening);
                }
            }
        }
    }

    /// The module rows are divided by what their circuits carry.
    fn weigh_bodies(&mut self) {
        for l in 0..self.circuits.len() {
            let circuit = &self.circuits[l];
            let mut carried = vec![0.0; circuit.modules.len()];
            let (heat, width) = (&self.heats[l], self.scales.width_kg_s[l]);
            let branches = circuit.net.branches.iter().zip(&self.flows[l]);
            for (branch, flow) in branches.filter(|_| self.carried[l] == Carried::Solved) {
                let main = forward_part(flow.abs(), width);
                for e in branch.elements.clone() {
                    if let HeatRole::Circuit(module) = circuit.net.elements[e].heat {
                        let contact = &circuit.modules[module].contact;
                        let mean_k = heat.mean_k(e);
                        carried[module] += usable_w_k(&circuit.coolant, contact, main, mean_k);
                    }
                }
            }
            self.scales.module_k_w[l] = carried.iter().map(|c| 1.0 / c.max(1e-9)).collect();
        }
    }

    /// Follows the coolant along a branch at the unknowns last written into the room of its loop, until temperatures and
    /// properties agree.
    pub fn follow_branch(&mut self, l: usize, j: usize, meeting: Option<&Meeting>) -> f64 {
        // Without ties the air before a core is that of the solution, or of the changed case.
        let meeting = meeting.unwrap_or(&self.meeting);
        let (circuit, heat) = (&self.circuits[l], &mut self.heats[l]);
        let flow = self.flows[l][j];
        let branch = &circuit.net.branches[j];
        let up = if flow >= 0.0 { branch.from } else { branch.to };
        let most = self.scales.loops[l].0;
        let main = forward_part(flow.abs(), self.scales.width_kg_s[l]);
        let sides = |core: usize, m: f64, p: &Properties| -> CoreSides {
            sides_of(self.network, core, self.case, &self.airs, meeting, m, p)
        };
        let mut out_k = heat.node_k[up];
        for _ in 0..ROUNDS {
            for e in branch.elements.clone() {
                if let HeatRole::Machine(m) = circuit.net.elements[e].heat {
                    let fluid = circuit.coolant.properties_extended(heat.mean_k(e));
                    self.pump_w[l][m] =
                        machine_heat(circuit, &circuit.machines[m], flow, most, &fluid);
                }
            }
            let before = out_k;
            let input = HeatInput {
                circuit,
                flow_kg_s: &self.flows[l],
                pump_w: &self.pump_w[l],
                sides: &sides,
            };
            out_k = follow(&input, j, main, up, heat, &mut self.rows);
            if (out_k - before).abs() <= AGREED_K {
                break;
            }
        }
        out_k
    }

    /// Writes the unknowns that a branch depends on into the room of its loop.
    pub fn stand(&mut self, l: usize, j: usize, z: &[f64]) {
        let (at, circuit) = (&self.places.loops[l], &self.circuits[l]);
        let branch = &circuit.net.branches[j];
        self.flows[l][j] = z[at.flow + j];
        if self.carried[l] != Carried::Solved {
            return;
        }
        let heat = &mut self.heats[l];
        for n in [branch.from, branch.to] {
            heat.node_k[n] = z[at.node + n];
        }
        for e in branch.elements.clone() {
            if let HeatRole::Circuit(module) = circuit.net.elements[e].heat {
                heat.module_k[module] = z[at.module + module];
            }
        }
    }

    /// Total pressure of a node, Pa absolute: stated, or that of the unknowns.
    pub fn pressure_pa(&self, l: usize, n: usize, z: &[f64]) -> f64 {
        match (
            self.places.loops[l].pressure[n],
            &self.circuits[l].net.nodes[n].kind,
        ) {
            (Some(place), _) => z[place],
            (None, NodeKind::Fixed { pressure }) => {
                let ambient = AbsolutePressure::from_pa(ambient_pa(self.case));
                pressure.to_absolute(ambient).pa()
            }
            (None, _) => f64::NAN,
        }
    }

    /// Slope of a branch's row over the pressure at its beginning.
    pub fn pull(&self, l: usize, j: usize) -> f64 {
        let per_pa = 1.0 / self.scales.loops[l].1;
        if self.scales.closed[l][j] {
            -SHUT_LEAK * per_pa
        } else {
            per_pa
        }
    }

    /// Whether a branch is shut, or its check valve closed.
    pub fn is_closed(&self, l: usize, j: usize) -> bool {
        self.scales.closed[l][j]
    }

    /// Whether coolant may enter at a node from outside and bring heat.
    pub fn enters(&self, l: usize, n: usize) -> bool {
        let kind = &self.circuits[l].net.nodes[n].kind;
        self.solved(l) && matches!(kind, NodeKind::Fixed { .. } | NodeKind::Draw { .. })
    }

    /// Flow of a branch as last written into the room of its loop, kg/s.
    pub fn flow_kg_s(&self, l: usize, j: usize) -> f64 {
        self.flows[l][j]
    }

    /// Branches that end at a node, with the sign of their flow into it.
    pub fn ends_at(&self, l: usize, n: usize) -> impl Iterator<Item = (usize, f64)> + '_ {
        let branches = self.circuits[l].net.branches.iter().enumerate();
        branches.flat_map(move |(j, b)| {
            let into = (b.to == n).then_some((j, 1.0));
            let out = (b.from == n).then_some((j, -1.0));
            into.into_iter().chain(out)
        })
    }

    /// Whether temperatures of a loop are solved.
    pub fn solved(&self, l: usize) -> bool {
        self.carried[l] == Carried::Solved
    }
}

/// Whether two loops of one graph have their unknowns and heat at the same places.
fn same_places((a, b): (&Loop, &Arc<Loop>)) -> bool {
    let roles = |l: &Loop| -> Vec<HeatRole> { l.net.elements.iter().map(|e| e.heat).collect() };
    let places = |l: &Loop| (l.modules.len(), l.machines.len(), l.thermostats.len());
    places(a) == places(b) && roles(a) == roles(b)
}
