//! The slopes of all equations over all unknowns as one sparse matrix, and its factors.

use super::super::linear::SparseSystem;
use super::NoSlopes;
use super::vehicle::{Additions, Vehicle};
use crate::network::{HeatRole, NodeKind};

/// Step of a temperature, K: properties bend over tens of kelvin, so the curvature costs 1e-8, round-off 1e-9.
const STEP_K: f64 = 3.0e-3;
/// Step of a flow, over itself: curvature costs 1e-10, round-off 1e-11.
const STEP_FLOW: f64 = 1.0e-5;
/// Least flow by which that step is measured, over the largest of the loop: below, a branch counts as at rest.
const LEAST_FLOW: f64 = 1.0e-3;
/// Step of a thermostat's opening, which goes from 0 to 1.
const STEP_OPENING: f64 = 1.0e-5;

/// The slopes, factorised.
pub struct Slopes {
    positions: Vec<(usize, usize)>,
    values: Vec<f64>,
    size: usize,
    system: SparseSystem,
    turned: Option<SparseSystem>,
}

impl Slopes {
    /// The slopes at unknowns.
    pub fn new(vehicle: &mut Vehicle<'_>, z: &[f64]) -> Result<Self, NoSlopes> {
        let mut taken = Taken::new(z);
        for l in 0..vehicle.circuits.len() {
            for j in 0..vehicle.circuits[l].net.branches.len() {
                taken.branch(vehicle, l, j);
            }
            for n in 0..vehicle.circuits[l].net.nodes.len() {
                taken.node(vehicle, l, n);
            }
            for module in 0..vehicle.circuits[l].modules.len() {
                taken.module(vehicle, l, module);
            }
            taken.openings(vehicle, l);
        }
        let mut own = Additions::new();
        vehicle.add_own(z, &mut own);
        let mut known = vec![false; z.len()];
        for (row, _) in own {
            if !std::mem::replace(&mut known[row], true) {
                taken.put(row, row, 1.0);
            }
        }
        let Taken {
            positions, values, ..
        } = taken;
        let system = factorised(z.len(), &positions, &values)?;
        Ok(Self {
            size: z.len(),
            positions,
            values,
            system,
            turned: None,
        })
    }

    /// How the unknowns move where the equations are moved by `rows`, in place and with the sign turned.
    pub fn solve(&mut self, rows: &mut [f64]) -> Result<(), NoSlopes> {
        self.system.solve(rows).map_err(|_| NoSlopes::Singular)
    }

    /// How an output with this gradient over the unknowns moves with each equation, in place and with the sign turned.
    pub fn solve_turned(&mut self, gradient: &mut [f64]) -> Result<(), NoSlopes> {
        if self.turned.is_none() {
            let turned: Vec<_> = self.positions.iter().map(|&(r, c)| (c, r)).collect();
            self.turned = Some(factorised(self.size, &turned, &self.values)?);
        }
        match &mut self.turned {
            Some(turned) => turned.solve(gradient).map_err(|_| NoSlopes::Singular),
            None => Err(NoSlopes::Singular),
        }
    }
}

fn factorised(
    size: usize,
    positions: &[(usize, usize)],
    values: &[f64],
) -> Result<SparseSystem, NoSlopes> {
    let (mut system, slots) = SparseSystem::new(size, positions);
    for (slot, value) in slots.iter().zip(values) {
        system.add(*slot, *value);
    }
    system.factorise().map_err(|_| NoSlopes::Singular)?;
    Ok(system)
}

/// Slopes as they are taken.
struct Taken {
    z: Vec<f64>,
    positions: Vec<(usize, usize)>,
    values: Vec<f64>,
    rows: Additions,
}

impl Taken {
    fn new(z: &[f64]) -> Self {
        Self {
            z: z.to_vec(),
            positions: Vec::new(),
            values: Vec::new(),
            rows: Additions::new(),
        }
    }

    fn put(&mut self, row: usize, column: usize, value: f64) {
        self.positions.push((row, column));
        self.values.push(value);
    }

    /// Half the difference of what `add` writes with one unknown a step up and a step down.
    fn difference(
        &mut self,
        column: usize,
        step: f64,
        add: &mut dyn FnMut(&[f64], &mut Additions),
    ) {
        let here = self.z[column];
        for sign in [1.0, -1.0] {
            self.z[column] = here + sign * step;
            let wide = self.z[column] - here;
            self.rows.clear();
            add(&self.z, &mut self.rows);
            for &(row, value) in &self.rows {
                self.positions.push((row, column));
                self.values.push(0.5 * value / wide);
            }
        }
        self.z[column] = here;
    }

    fn flow_step(&self, vehicle: &Vehicle<'_>, l: usize, place: usize) -> f64 {
        let most = vehicle.scales.loops[l].0;
        STEP_FLOW * self.z[place].abs().max(LEAST_FLOW * most)
    }

    fn branch(&mut self, vehicle: &mut Vehicle<'_>, l: usize, j: usize) {
        let at = vehicle.places.loops[l].clone();
        let step = self.flow_step(vehicle, l, at.flow + j);
        self.difference(at.flow + j, step, &mut |z, rows| {
            vehicle.add_branch(l, j, z, rows);
            vehicle.add_cores(l, j, z, rows);
        });
        let branch = &vehicle.circuits[l].net.branches[j];
        let (from, to, elements) = (branch.from, branch.to, branch.elements.clone());
        let pull = vehicle.pull(l, j);
        for (n, sign) in [(from, 1.0), (to, -1.0)] {
            if let Some(place) = at.pressure[n] {
                self.put(at.flow + j, place, sign * pull);
            }
        }
        let mut columns = Vec::new();
        if vehicle.solved(l) {
            columns.push(at.node + from);
            if to != from {
                columns.push(at.node + to);
            }
            for e in elements {
                if let HeatRole::Circuit(module) = vehicle.circuits[l].net.elements[e].heat {
                    columns.push(at.module + module);
                }
            }
        }
        if !vehicle.places.cores.is_empty() {
            let cores = vehicle.cores_of(l, j);
            for &c in &cores {
                columns.extend(vehicle.places.cores[c].before.clone());
            }
            if !cores.is_empty() {
                let tanks = vehicle.places.cores.iter().filter_map(|c| c.tanks);
                columns.extend(tanks.flatten());
            }
        }
        columns.sort_unstable();
        columns.dedup();
        for column in columns {
            self.difference(column, STEP_K, &mut |z, rows| {
                vehicle.add_branch(l, j, z, rows);
                vehicle.add_cores(l, j, z, rows);
            });
        }
    }

    fn node(&mut self, vehicle: &Vehicle<'_>, l: usize, n: usize) {
        let at = &vehicle.places.loops[l];
        let node = &vehicle.circuits[l].net.nodes[n];
        let mut flows: Vec<usize> = match &node.kind {
            NodeKind::Tee(tee) => tee.legs.iter().flatten().map(|(j, _)| *j).collect(),
            _ if vehicle.solved(l) && node.inflow_temperature_k.is_some() => {
                vehicle.ends_at(l, n).map(|(j, _)| j).collect()
            }
            _ => Vec::new(),
        };
        flows.sort_unstable();
        flows.dedup();
        for j in flows {
            let step = self.flow_step(vehicle, l, at.flow + j);
            self.difference(at.flow + j, step, &mut |z, rows| {
                vehicle.add_node(l, n, z, rows);
            });
        }
        if vehicle.solved(l) {
            self.difference(at.node + n, STEP_K, &mut |z, rows| {
                vehicle.add_node(l, n, z, rows);
            });
        }
    }

    fn module(&mut self, vehicle: &Vehicle<'_>, l: usize, module: usize) {
        let column = vehicle.places.loops[l].module + module;
        self.difference(column, STEP_K, &mut |z, rows| {
            vehicle.add_module(l, module, z, rows);
        });
    }

    /// An opening moves the laws of its element, and of the bypass of a mixing thermostat.
    fn openings(&mut self, vehicle: &mut Vehicle<'_>, l: usize) {
        let start = vehicle.places.loops[l].opening;
        let owner = vehicle.circuits[l].net.branch_of_elements();
        for t in 0..vehicle.circuits[l].thermostats.len() {
            let thermostat = vehicle.circuits[l].thermostats[t];
            let mut branches = vec![owner[thermostat.element]];
            branches.extend(thermostat.mixing.map(|way| owner[way.bypass]));
            branches.dedup();
            let here = self.z[start + t];
            let ends = [
                (here + STEP_OPENING).min(1.0),
                (here - STEP_OPENING).max(0.0),
            ];
            for (opening, sign) in ends.into_iter().zip([1.0, -1.0]) {
                self.z[start + t] = opening;
                vehicle.set_openings(&self.z);
                self.rows.clear();
                for &j in &branches {
                    vehicle.add_branch(l, j, &self.z, &mut self.rows);
                }
                for &(row, value) in &self.rows {
                    self.positions.push((row, start + t));
                    self.values.push(sign * value / (ends[0] - ends[1]));
                }
            }
            self.z[start + t] = here;
        }
        vehicle.set_openings(&self.z);
    }
}
