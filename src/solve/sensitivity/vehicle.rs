//! All equations of a vehicle at given unknowns, written branch by branch and node by node, so that a change of one
//! unknown touches the few rows that it moves. The laws are those of the solver: nothing is modelled here.

use super::super::couple::{
    AirState, Carried, CaseState, ambient_pa, core_gives, machine_heat, sides_of,
    start_temperature_k,
};
use super::super::exchange::CoreSides;
use super::super::hydraulic::{GRAVITY_M_S2, SHUT_LEAK};
use super::super::meeting::{Meeting, Tanks};
use super::super::thermal::{HeatInput, HeatState, Rows, follow, forward_part, usable_w_k};
use super::places::Places;
use super::scales::Scales;
use crate::correlation::tees::tee;
use crate::fluid::Properties;
use crate::network::{Case, HeatRole, Loop, Network, NodeKind, Passage};
use crate::quantity::AbsolutePressure;
use std::sync::Arc;

/// Rounds by which the temperatures along a branch agree with the properties of the coolant there.
const ROUNDS: usize = 40;
/// Change of a temperature at which they agree, K: some twenty units of round-off of a temperature, so that a slope over
/// 3 mK is right to 1e-9.
const AGREED_K: f64 = 1.0e-12;

/// Residuals: row and what is added to it.
pub type Additions = Vec<(usize, f64)>;

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
    core_branch: Vec<usize>,
    /// What cores met at the solution.
    pub meeting: Meeting,
    /// Room for the temperatures along branches; they begin from those of the solution.
    pub heats: Vec<HeatState>,
    flows: Vec<Vec<f64>>,
    pub pump_w: Vec<Vec<f64>>,
    rows: Rows,
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

    /// What cores meet at the unknowns.
    pub fn meeting_at(&self, z: &[f64]) -> Meeting {
        let mut meeting = self.meeting.clone();
        self.places.tell(z, &mut meeting);
        meeting
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

    /// The rows of a branch: its pressure, what it brings to both nodes, its modules, the thermostats and cores in it.
    pub fn add_branch(&mut self, l: usize, j: usize, z: &[f64], rows: &mut Additions) {
        let meeting = if self.places.cores.is_empty() {
            None
        } else {
            Some(self.meeting_at(z))
        };
        self.stand(l, j, z);
        let solved = self.carried[l] == Carried::Solved;
        let out_k = if solved {
            self.follow_branch(l, j, meeting.as_ref())
        } else {
            f64::NAN
        };
        self.add_pressure(l, j, z, rows);
        self.add_mass(l, j, rows);
        if solved {
            self.add_heat(l, j, out_k, rows);
            self.add_bodies(l, rows);
            self.add_sensed(l, j, rows);
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

    fn add_pressure(&self, l: usize, j: usize, z: &[f64], rows: &mut Additions) {
        let (at, circuit) = (&self.places.loops[l], &self.circuits[l]);
        let (most, span) = self.scales.loops[l];
        let branch = &circuit.net.branches[j];
        let difference = self.pressure_pa(l, branch.from, z) - self.pressure_pa(l, branch.to, z);
        let flow = self.flows[l][j];
        let row = at.flow + j;
        if self.scales.closed[l][j] {
            rows.push((row, flow / most - SHUT_LEAK * difference / span));
            return;
        }
        let heat = &self.heats[l];
        let mut loss = 0.0;
        for e in branch.elements.clone() {
            let element = &circuit.net.elements[e];
            let fluid = circuit.coolant.properties_extended(heat.mean_k(e));
            let laws = &circuit.net.laws[element.laws.clone()];
            loss += laws
                .iter()
                .map(|l| l.drop(flow, &fluid).drop_pa)
                .sum::<f64>();
            loss += fluid.density_kg_m3 * GRAVITY_M_S2 * (element.lead_m + element.rise_m);
        }
        if branch.trail_m != 0.0 {
            let fluid = (circuit.coolant).properties_extended(heat.node_k[branch.to]);
            loss += fluid.density_kg_m3 * GRAVITY_M_S2 * branch.trail_m;
        }
        if let Passage::OneWay { cracking_pa } = branch.passage {
            loss += cracking_pa;
        }
        rows.push((row, (difference - loss) / span));
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

    fn add_mass(&self, l: usize, j: usize, rows: &mut Additions) {
        let at = &self.places.loops[l];
        let branch = &self.circuits[l].net.branches[j];
        let flow = self.flows[l][j] / self.scales.loops[l].0;
        for (n, sign) in [(branch.from, -1.0), (branch.to, 1.0)] {
            if let Some(row) = at.pressure[n] {
                rows.push((row, sign * flow));
            }
        }
    }

    fn add_heat(&self, l: usize, j: usize, out_k: f64, rows: &mut Additions) {
        let (at, circuit) = (&self.places.loops[l], &self.circuits[l]);
        let branch = &circuit.net.branches[j];
        let flow = self.flows[l][j];
        let width = self.scales.width_kg_s[l];
        let (up, down) = if flow >= 0.0 {
            (branch.from, branch.to)
        } else {
            (branch.to, branch.from)
        };
        let enthalpy = |n: usize| (circuit.coolant).enthalpy_j_kg(self.heats[l].node_k[n]);
        let scale = &self.scales.node_k_w[l];
        let main = forward_part(flow.abs(), width);
        let counter = forward_part(-flow.abs(), width);
        let (hu, hd) = (enthalpy(up), enthalpy(down));
        let brought = main * (circuit.coolant.enthalpy_j_kg(out_k) - hd);
        rows.push((at.node + down, brought * scale[down]));
        rows.push((at.node + up, counter * (hd - hu) * scale[up]));
    }

    fn add_bodies(&self, l: usize, rows: &mut Additions) {
        let start = self.places.loops[l].module;
        for met in self.rows.met() {
            let body_k = self.heats[l].module_k[met.body];
            let given = met.conductance_w_k * (body_k - met.inlet_k);
            rows.push((
                start + met.body,
                given * self.scales.module_k_w[l][met.body],
            ));
        }
    }

    fn add_sensed(&self, l: usize, j: usize, rows: &mut Additions) {
        let circuit = &self.circuits[l];
        let range = &circuit.net.branches[j].elements;
        for (t, thermostat) in circuit.thermostats.iter().enumerate() {
            if thermostat.mixing.is_none() && range.contains(&thermostat.element) {
                let sensed_k = self.heats[l].upstream_k[thermostat.element];
                let row = self.places.loops[l].opening + t;
                rows.push((row, -thermostat.lift.opening(sensed_k)));
            }
        }
    }

    /// The rows of what all cores meet.
    fn add_meeting(&self, z: &[f64], rows: &mut Additions) {
        let meeting = self.meeting_at(z);
        let mut noted = self.meeting.clone();
        for core in 0..self.places.cores.len() {
            let (flow, ends_k) = self.core_ends(core);
            let tanks = self.note_core(core, flow, ends_k, &meeting, &mut noted);
            self.add_tanks(core, tanks, rows);
        }
        self.add_air(noted, rows);
    }

    /// The rows of what all cores meet, where one stands at this flow and these ends of its coolant and the others as in the
    /// solution: enough for the slopes over what that core depends on.
    pub fn add_core(
        &self,
        core: usize,
        flow_kg_s: f64,
        ends_k: (f64, f64),
        meeting: &Meeting,
        rows: &mut Additions,
    ) {
        let mut noted = self.meeting.clone();
        let tanks = self.note_core(core, flow_kg_s, ends_k, meeting, &mut noted);
        self.add_tanks(core, tanks, rows);
        self.add_air(noted, rows);
    }

    fn add_tanks(&self, core: usize, tanks: Option<Tanks>, rows: &mut Additions) {
        if let (Some([inlet, outlet]), Some(tanks)) = (self.places.cores[core].tanks, tanks) {
            rows.push((inlet, -tanks.inlet_k));
            rows.push((outlet, -tanks.outlet_k));
        }
    }

    fn add_air(&self, mut noted: Meeting, rows: &mut Additions) {
        noted.follow(self.case, &self.airs);
        for (c, core) in self.places.cores.iter().enumerate() {
            let before = noted.air_before_k(c);
            rows.extend(core.before.clone().zip(before).map(|(row, k)| (row, -k)));
        }
    }

    /// The flow of a core and the ends of its coolant in the room of its loop, kg/s and K.
    pub fn core_ends(&self, core: usize) -> (f64, (f64, f64)) {
        let tie = &self.network.cores()[core];
        let flow = self.flows[tie.circuit][self.core_branch[core]];
        (flow, self.heats[tie.circuit].ends_k(tie.element))
    }

    /// Notes what a core gives its air, and its tanks.
    pub fn note_core(
        &self,
        core: usize,
        flow_kg_s: f64,
        ends_k: (f64, f64),
        meeting: &Meeting,
        noted: &mut Meeting,
    ) -> Option<Tanks> {
        let l = self.network.cores()[core].circuit;
        let from = (&*self.circuits[l], flow_kg_s, ends_k, self.carried[l]);
        let given = core_gives(self.network, core, from, self.case, &self.airs, meeting);
        given.note(core, self.case, noted);
        given.tanks
    }

    /// The rows of a node: what enters from outside, the losses of a tee, the thermostats that feel it.
    pub fn add_node(&self, l: usize, n: usize, z: &[f64], rows: &mut Additions) {
        let (at, circuit) = (&self.places.loops[l], &self.circuits[l]);
        let node = &circuit.net.nodes[n];
        let (most, span) = self.scales.loops[l];
        let solved = self.carried[l] == Carried::Solved;
        let here_k = if solved {
            z[at.node + n]
        } else {
            self.heats[l].node_k[n]
        };
        match &node.kind {
            NodeKind::Draw { inflow_m3_s } => {
                let rho = circuit.coolant.properties_extended(here_k).density_kg_m3;
                if let Some(row) = at.pressure[n] {
                    rows.push((row, inflow_m3_s * rho / most));
                }
            }
            NodeKind::Tee(shape) => {
                let rho = circuit.coolant.properties_extended(here_k).density_kg_m3;
                let flows = shape.flows_in(&z[at.flow..]);
                let seen = tee(shape.model, &shape.shape, rho, flows);
                for (leg, excess_pa) in shape.legs.iter().zip(seen.excess_pa) {
                    if let Some((j, end)) = leg.filter(|(j, _)| !self.is_closed(l, *j)) {
                        rows.push((at.flow + j, -end.sign() * excess_pa / span));
                    }
                }
            }
            NodeKind::Fixed { .. } | NodeKind::Meeting => {}
        }
        if !solved {
            return;
        }
        if let (true, Some(k)) = (self.enters(l, n), node.inflow_temperature_k) {
            let net: f64 = self
                .ends_at(l, n)
                .map(|(j, sign)| sign * z[at.flow + j])
                .sum();
            let entering = forward_part(-net, self.scales.width_kg_s[l]);
            let gain = circuit.coolant.enthalpy_j_kg(k) - circuit.coolant.enthalpy_j_kg(here_k);
            rows.push((at.node + n, entering * gain * self.scales.node_k_w[l][n]));
        }
        for (t, thermostat) in circuit.thermostats.iter().enumerate() {
            if thermostat.mixing.is_some_and(|way| way.node == n) {
                rows.push((at.opening + t, -thermostat.lift.opening(here_k)));
            }
        }
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

    /// The heat of a module, in its row.
    pub fn add_module(&self, l: usize, module: usize, z: &[f64], rows: &mut Additions) {
        if self.carried[l] != Carried::Solved {
            return;
        }
        let row = self.places.loops[l].module + module;
        if let Some(heat) = &self.circuits[l].modules[module].heat {
            let scale = self.scales.module_k_w[l][module];
            rows.push((row, -heat.at(z[row]).value * scale));
        }
    }

    /// Unknowns that stand in their own row as they are: openings, what cores meet, temperatures that nothing moves.
    pub fn add_own(&self, z: &[f64], rows: &mut Additions) {
        for (l, at) in self.places.loops.iter().enumerate() {
            let thermostats = self.circuits[l].thermostats.len();
            rows.extend((at.opening..at.opening + thermostats).map(|row| (row, z[row])));
            if self.carried[l] == Carried::Solved {
                // A place without a module has no coolant that could set its temperature.
                let modules = self.circuits[l].modules.iter().enumerate();
                let empty = modules.filter(|(_, module)| module.circuits.is_empty());
                let stated = &self.heats[l].module_k;
                rows.extend(empty.map(|(k, _)| (at.module + k, z[at.module + k] - stated[k])));
                continue;
            }
            let (nodes, modules) = (&self.heats[l].node_k, &self.heats[l].module_k);
            for (k, stated) in nodes.iter().enumerate() {
                rows.push((at.node + k, z[at.node + k] - stated));
            }
            for (k, stated) in modules.iter().enumerate() {
                rows.push((at.module + k, z[at.module + k] - stated));
            }
            for (t, thermostat) in self.circuits[l].thermostats.iter().enumerate() {
                let sensed_k = self.heats[l].sensed_k(thermostat);
                rows.push((at.opening + t, -thermostat.lift.opening(sensed_k)));
            }
        }
        for core in &self.places.cores {
            rows.extend(core.before.clone().map(|row| (row, z[row])));
            rows.extend(core.tanks.into_iter().flatten().map(|row| (row, z[row])));
        }
    }

    /// Whether temperatures of a loop are solved.
    pub fn solved(&self, l: usize) -> bool {
        self.carried[l] == Carried::Solved
    }
}

fn core_branches(network: &Network) -> Vec<usize> {
    let owner: Vec<Vec<usize>> = (network.loops().iter())
        .map(|l| l.net.branch_of_elements())
        .collect();
    let cores = network.cores().iter();
    cores.map(|c| owner[c.circuit][c.element]).collect()
}

/// All equations at unknowns.
pub fn residual(vehicle: &mut Vehicle<'_>, z: &[f64]) -> Vec<f64> {
    let mut rows = Additions::new();
    for l in 0..vehicle.circuits.len() {
        for j in 0..vehicle.circuits[l].net.branches.len() {
            vehicle.add_branch(l, j, z, &mut rows);
        }
        for n in 0..vehicle.circuits[l].net.nodes.len() {
            vehicle.add_node(l, n, z, &mut rows);
        }
        for module in 0..vehicle.circuits[l].modules.len() {
            vehicle.add_module(l, module, z, &mut rows);
        }
    }
    if !vehicle.places.cores.is_empty() {
        vehicle.add_meeting(z, &mut rows);
    }
    vehicle.add_own(z, &mut rows);
    let mut residual = vec![0.0; z.len()];
    for (row, value) in rows {
        residual[row] += value;
    }
    residual
}

/// Whether two loops of one graph have their unknowns and heat at the same places.
fn same_places((a, b): (&Loop, &Arc<Loop>)) -> bool {
    let roles = |l: &Loop| -> Vec<HeatRole> { l.net.elements.iter().map(|e| e.heat).collect() };
    let places = |l: &Loop| (l.modules.len(), l.machines.len(), l.thermostats.len());
    places(a) == places(b) && roles(a) == roles(b)
}
