//! All equations of a vehicle at given unknowns, written branch by branch and node by node. The laws are those of the solver:
//! nothing is modelled here.

use super::super::case_state::Carried;
use super::super::hydraulic::{GRAVITY_M_S2, SHUT_LEAK};
use super::super::thermal::forward_part;
use super::vehicle::Vehicle;
use crate::correlation::tees::tee;
use crate::network::{NodeKind, Passage};

/// Residuals: row and what is added to it.
pub type Additions = Vec<(usize, f64)>;

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

impl Vehicle<'_> {
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
}
