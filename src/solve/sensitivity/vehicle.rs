//! All equations of a vehicle at given unknowns, written branch by branch and node by node, so that a change of one
//! unknown touches the few rows that it moves. The laws are those of the solver: nothing is modelled here.

use super::super::couple::{
    AirState, Carried, CaseState, LoopState, ambient_pa, fluid_at, machine_heat, sides_of,
    start_temperature_k,
};
use super::super::exchange::CoreSides;
use super::super::flow::FlowState;
use super::super::hydraulic::{FluidState, GRAVITY_M_S2, SHUT_LEAK};
use super::super::meeting::{Meeting, Tanks};
use super::super::plates::TankStreams;
use super::super::solution::Solution;
use super::super::thermal::{HeatInput, HeatState, Rows, follow, forward_part, mixing_width};
use super::places::Places;
use crate::correlation::tees::tee;
use crate::fluid::Properties;
use crate::network::{BranchEnd, Case, HeatRole, Loop, Network, NodeKind, Passage};
use crate::quantity::AbsolutePressure;

/// Rounds by which the temperatures along a branch agree with the properties of the coolant there.
const ROUNDS: usize = 40;
/// Change of a temperature at which they agree, K.
const AGREED_K: f64 = 1.0e-12;

/// Residuals: row and what is added to it.
pub type Additions = Vec<(usize, f64)>;

/// What stays the same while unknowns move: scales of the rows, and which rows hold.
#[derive(Clone, Debug)]
pub struct Scales {
    /// Of each loop: flow, kg/s, and pressure, Pa.
    pub loops: Vec<(f64, f64)>,
    /// Width of the mixing weights of each loop, kg/s.
    width_kg_s: Vec<f64>,
    /// Kelvin over watt of each node, by loop.
    node_k_w: Vec<Vec<f64>>,
    /// Kelvin over watt of each module, by loop.
    module_k_w: Vec<Vec<f64>>,
    /// Whether each branch is closed, by loop.
    closed: Vec<Vec<bool>>,
}

/// A vehicle in a case at unknowns.
pub struct Vehicle<'n> {
    pub network: &'n Network,
    pub case: &'n Case,
    pub places: Places,
    pub scales: Scales,
    /// Loops set to the case and to the openings of the unknowns.
    pub circuits: Vec<Loop>,
    pub airs: Vec<AirState>,
    carried: Vec<Carried>,
    /// The branch of each core in its loop.
    core_branch: Vec<usize>,
    /// What cores met at the solution.
    meeting: Meeting,
    /// Room for the temperatures along branches; they begin from those of the solution.
    heats: Vec<HeatState>,
    flows: Vec<Vec<f64>>,
    pump_w: Vec<Vec<f64>>,
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
            circuits: loops().map(|l| l.circuit.clone()).collect(),
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

    /// A changed vehicle at the same unknowns: same graphs, other numbers. `None` where the graphs differ.
    pub fn changed<'m>(
        &self,
        network: &'m Network,
        case: &'m Case,
        airs: Vec<AirState>,
        z: &[f64],
    ) -> Option<Vehicle<'m>> {
        let alike = network.loops().len() == self.circuits.len()
            && network.cores().len() == self.network.cores().len()
            && network.loops().iter().zip(&self.circuits).all(same_graph)
            && (network.cores().iter().zip(self.network.cores()))
                .all(|(a, b)| a.strips.len() == b.strips.len() && a.element == b.element);
        if !alike {
            return None;
        }
        let circuits = network.loops().iter().enumerate();
        let mut changed = Vehicle {
            network,
            case,
            scales: self.scales.clone(),
            circuits: circuits.map(|(l, c)| c.set_to(l, case)).collect(),
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
                circuit.set_thermostat(t, z[at.opening + t]);
            }
        }
    }

    /// The module rows are divided by what their circuits carry.
    fn weigh_bodies(&mut self) {
        for l in 0..self.circuits.len() {
            let mut carried = vec![0.0; self.circuits[l].modules.len()];
            if self.carried[l] == Carried::Solved {
                for j in 0..self.circuits[l].net.branches.len() {
                    self.follow_branch(l, j, None);
                    for met in self.rows.met() {
                        carried[met.body] += met.conductance_w_k;
                    }
                }
            }
            self.scales.module_k_w[l] = carried.iter().map(|c| 1.0 / c.max(1e-9)).collect();
        }
    }

    /// What cores meet at the unknowns.
    fn meeting_at(&self, z: &[f64]) -> Meeting {
        let mut meeting = self.meeting.clone();
        self.places.tell(z, &mut meeting);
        meeting
    }

    /// Follows the coolant along a branch at the unknowns last written into the room of its loop, until temperatures and
    /// properties agree.
    fn follow_branch(&mut self, l: usize, j: usize, meeting: Option<&Meeting>) -> f64 {
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
    fn stand(&mut self, l: usize, j: usize, z: &[f64]) {
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

    fn add_pressure(&self, l: usize, j: usize, z: &[f64], rows: &mut Additions) {
        let (at, circuit) = (&self.places.loops[l], &self.circuits[l]);
        let (most, span) = self.scales.loops[l];
        let branch = &circuit.net.branches[j];
        let pressure = |n: usize| match (at.pressure[n], &circuit.net.nodes[n].kind) {
            (Some(place), _) => z[place],
            (None, NodeKind::Fixed { pressure }) => {
                let ambient = AbsolutePressure::from_pa(ambient_pa(self.case));
                pressure.to_absolute(ambient).pa()
            }
            _ => f64::NAN,
        };
        let difference = pressure(branch.from) - pressure(branch.to);
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

    /// Kelvin in the row of a module over watt.
    pub fn module_k_w(&self, l: usize, module: usize) -> f64 {
        self.scales.module_k_w[l][module]
    }

    /// Kelvin in the row of a node over watt.
    pub fn node_k_w(&self, l: usize, node: usize) -> f64 {
        self.scales.node_k_w[l][node]
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

    /// The rows of what all cores meet, where only the cores of one branch stand at the unknowns and the others as in the
    /// solution: enough for the slopes over what that branch depends on.
    pub fn add_cores(&mut self, l: usize, j: usize, z: &[f64], rows: &mut Additions) {
        let cores = self.cores_of(l, j);
        if !self.places.cores.is_empty() && !cores.is_empty() {
            self.add_meeting(&cores, z, rows);
        }
    }

    fn add_meeting(&self, cores: &[usize], z: &[f64], rows: &mut Additions) {
        let meeting = self.meeting_at(z);
        let mut noted = self.meeting.clone();
        for &c in cores {
            let tanks = self.note_core(c, &meeting, &mut noted);
            if let (Some([inlet, outlet]), Some(tanks)) = (self.places.cores[c].tanks, tanks) {
                rows.push((inlet, -tanks.inlet_k));
                rows.push((outlet, -tanks.outlet_k));
            }
        }
        noted.follow(self.case, &self.airs);
        for (c, core) in self.places.cores.iter().enumerate() {
            let before = noted.air_before_k(c);
            rows.extend(core.before.clone().zip(before).map(|(row, k)| (row, -k)));
        }
    }

    /// The cores in a branch.
    pub fn cores_of(&self, l: usize, j: usize) -> Vec<usize> {
        let cores = self.network.cores().iter().zip(&self.core_branch);
        let cores = cores.enumerate();
        cores
            .filter(|(_, (core, branch))| core.circuit == l && **branch == j)
            .map(|(c, _)| c)
            .collect()
    }

    /// Notes what a core gives its air, and its tanks, at the temperatures in the room of its loop.
    fn note_core(&self, core: usize, meeting: &Meeting, noted: &mut Meeting) -> Option<Tanks> {
        let tie = &self.network.cores()[core];
        let l = tie.circuit;
        let (circuit, heat) = (&self.circuits[l], &self.heats[l]);
        let flow = self.flows[l][self.core_branch[core]];
        let fluid = circuit
            .coolant
            .properties_extended(heat.mean_k(tie.element));
        let (network, case, airs) = (self.network, self.case, &self.airs);
        let sides = sides_of(network, core, case, airs, meeting, flow, &fluid);
        let ends_k = (heat.upstream_k[tie.element], heat.downstream_k[tie.element]);
        let cp = |k: f64| circuit.coolant.properties_extended(k).specific_heat_j_kg_k;
        let tanks = (self.carried[l] == Carried::Solved).then(|| Tanks {
            inlet_k: TankStreams::between(ends_k, flow.abs(), &cp, &sides.plates).tank_k,
            outlet_k: ends_k.1,
        });
        let inlet_k = tanks.map_or(case.air_temperature_k, |t| t.inlet_k);
        let air_w_k = case.air.properties().specific_heat_j_kg_k;
        noted.note(core, inlet_k, &sides.strips, air_w_k, tanks);
        tanks
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
                let sign = |end: BranchEnd| if end == BranchEnd::Finish { 1.0 } else { -1.0 };
                let flows =
                    (shape.legs).map(|leg| leg.map_or(0.0, |(j, end)| sign(end) * z[at.flow + j]));
                let seen = tee(shape.model, &shape.shape, rho, flows);
                for (leg, excess_pa) in shape.legs.iter().zip(seen.excess_pa) {
                    if let Some((j, end)) = leg.filter(|(j, _)| !self.scales.closed[l][*j]) {
                        rows.push((at.flow + j, -sign(end) * excess_pa / span));
                    }
                }
            }
            NodeKind::Fixed { .. } | NodeKind::Meeting => {}
        }
        if !solved {
            return;
        }
        let enters = matches!(node.kind, NodeKind::Fixed { .. } | NodeKind::Draw { .. });
        if let (true, Some(k)) = (enters, node.inflow_temperature_k) {
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
                rows.extend(empty.map(|(k, _)| (at.module + k, 0.0)));
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

    /// The answer that belongs to unknowns, without findings.
    pub fn solution(self, z: &[f64]) -> Solution<'n> {
        Solution {
            network: self.network,
            case: self.case.clone(),
            state: self.state(z),
            findings: Vec::new(),
            second: Vec::new(),
        }
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
            self.note_core(core, &meeting, &mut noted);
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
        let ambient = AbsolutePressure::from_pa(ambient_pa(self.case));
        let node_pa =
            net.nodes
                .iter()
                .zip(&at.pressure)
                .map(|(node, place)| match (place, &node.kind) {
                    (Some(place), _) => z[*place],
                    (None, NodeKind::Fixed { pressure }) => pressure.to_absolute(ambient).pa(),
                    _ => f64::NAN,
                });
        let fluid: FluidState = fluid_at(circuit, heat);
        let tees = net.nodes.iter().enumerate().filter_map(|(n, node)| {
            let NodeKind::Tee(shape) = &node.kind else {
                return None;
            };
            let sign = |end: BranchEnd| if end == BranchEnd::Finish { 1.0 } else { -1.0 };
            let flows =
                (shape.legs).map(|leg| leg.map_or(0.0, |(j, end)| sign(end) * flow_kg_s[j]));
            let seen = tee(
                shape.model,
                &shape.shape,
                fluid.node_density_kg_m3[n],
                flows,
            );
            Some((n, seen.excess_pa))
        });
        LoopState {
            flow: FlowState {
                node_pa: node_pa.collect(),
                tee_excess_pa: tees.collect(),
                flow_kg_s: flow_kg_s.clone(),
                ..FlowState::default()
            },
            circuit: circuit.clone(),
            heat: heat.clone(),
            fluid,
            pump_w: self.pump_w[l].clone(),
            carried: self.carried[l],
            steps_max: 0,
            passes: 0,
            factorisations: 0,
            storing_w: Vec::new(),
        }
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
        let cores: Vec<usize> = (0..vehicle.places.cores.len()).collect();
        vehicle.add_meeting(&cores, z, &mut rows);
    }
    vehicle.add_own(z, &mut rows);
    let mut residual = vec![0.0; z.len()];
    for (row, value) in rows {
        residual[row] += value;
    }
    residual
}

/// Whether two loops have the same nodes and branches; a passage may differ in its numbers only.
fn same_graph((a, b): (&Loop, &Loop)) -> bool {
    let ends =
        |l: &Loop| -> Vec<[usize; 2]> { l.net.branches.iter().map(|b| [b.from, b.to]).collect() };
    let kinds = |l: &Loop| -> Vec<_> {
        let nodes = l.net.nodes.iter();
        nodes.map(|n| std::mem::discriminant(&n.kind)).collect()
    };
    ends(a) == ends(b)
        && kinds(a) == kinds(b)
        && a.net.elements.len() == b.net.elements.len()
        && a.modules.len() == b.modules.len()
        && a.machines.len() == b.machines.len()
        && a.thermostats.len() == b.thermostats.len()
}

impl Scales {
    fn new(state: &CaseState) -> Self {
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
