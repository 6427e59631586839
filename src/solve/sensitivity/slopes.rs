//! The slopes of all equations over all unknowns as one sparse matrix, and its factors.

use super::super::linear::{Diagonal, StrongSystem};
use super::super::thermal::forward_part;
use super::NoSlopes;
use super::chain::Chain;
use super::matrix::{Matrix, STEP_K, over_kelvin};
use super::rows::Additions;
use super::vehicle::Vehicle;
use crate::correlation::tees::tee;
use crate::network::{NodeKind, TeeNode, ThermostatNode};
use crate::part::{Law, TwoTerm, valve_law};

/// Step of a thermostat's opening, which goes from 0 to 1.
const STEP_OPENING: f64 = 1.0e-5;
/// Slope of a branch's row over its flow, both scaled, below which it may be nothing: a pump at the top of its curve (our
/// choice; what a poor pivot spoils, the residual tells).
const WEAK: f64 = 1.0e-9;

/// What stays between linearisations of networks with the same graphs: the order in which their unknowns are eliminated, and
/// room for numbers; by default of no network.
#[derive(Default)]
pub struct SlopesRoom {
    chain: Chain,
    matrix: Matrix,
    diagonals: Vec<Diagonal>,
    /// Size of the unknown in each column, by which columns are divided.
    sizes: Vec<f64>,
    system: StrongSystem,
}

/// The slopes, factorised.
pub struct Slopes {
    room: SlopesRoom,
}

impl Slopes {
    /// The slopes at unknowns, which come back as they were.
    pub fn new(
        vehicle: &Vehicle<'_>,
        z: &mut [f64],
        mut room: SlopesRoom,
    ) -> Result<Self, NoSlopes> {
        room.matrix.clear();
        room.diagonals.clear();
        room.diagonals.resize(z.len(), Diagonal::Loss);
        room.sizes.clear();
        room.sizes.resize(z.len(), 1.0);
        for l in 0..vehicle.circuits.len() {
            room.take_loop(vehicle, l, z);
        }
        room.take_own(vehicle, z);
        let SlopesRoom {
            matrix,
            diagonals,
            sizes,
            system,
            ..
        } = &mut room;
        for (value, (_, column)) in matrix.values.iter_mut().zip(&matrix.positions) {
            *value *= sizes[*column];
        }
        system.set_with(diagonals, &matrix.positions, &matrix.values);
        system.factorise().map_err(|_| NoSlopes::Singular)?;
        Ok(Self { room })
    }

    /// The slope of each row over each unknown, a place more than once where several parts add to it.
    #[cfg(test)]
    pub fn entries(&self) -> impl Iterator<Item = ((usize, usize), f64)> + '_ {
        let SlopesRoom { matrix, sizes, .. } = &self.room;
        let values = matrix.values.iter();
        let entries = matrix.positions.iter().copied().zip(values);
        entries.map(|((row, column), value)| ((row, column), value / sizes[column]))
    }

    /// The room, for slopes elsewhere.
    pub fn into_room(self) -> SlopesRoom {
        self.room
    }

    /// How the unknowns move where the equations are moved by `rows`, in place and with the sign turned.
    pub fn solve(&mut self, rows: &mut [f64]) -> Result<(), NoSlopes> {
        let solved = self.room.system.solve(rows);
        solved.map_err(|_| NoSlopes::Singular)?;
        self.stretch(rows);
        Ok(())
    }

    /// How an output with this gradient over the unknowns moves with each equation, in place and with the sign turned.
    pub fn solve_turned(&mut self, gradient: &mut [f64]) -> Result<(), NoSlopes> {
        self.stretch(gradient);
        let solved = self.room.system.solve_turned(gradient);
        solved.map_err(|_| NoSlopes::Singular)
    }

    fn stretch(&self, unknowns: &mut [f64]) {
        for (unknown, size) in unknowns.iter_mut().zip(&self.room.sizes) {
            *unknown *= size;
        }
    }
}

impl SlopesRoom {
    fn take_loop(&mut self, vehicle: &Vehicle<'_>, l: usize, z: &mut [f64]) {
        let (at, circuit) = (&vehicle.places.loops[l], &vehicle.circuits[l]);
        let (most, span) = vehicle.scales.loops[l];
        for j in 0..circuit.net.branches.len() {
            let place = (l, j);
            let own = vehicle.branch_slopes(place, z, &mut self.chain, &mut self.matrix);
            self.sizes[at.flow + j] = most;
            if (own * most).abs() < WEAK {
                self.diagonals[at.flow + j] = Diagonal::Weak;
            }
        }
        for place in at.pressure.iter().flatten() {
            self.sizes[*place] = span;
            self.diagonals[*place] = Diagonal::EmptyNode;
        }
        for (n, node) in circuit.net.nodes.iter().enumerate() {
            match &node.kind {
                NodeKind::Tee(shape) => self.take_tee(vehicle, (l, n), shape, z),
                NodeKind::Draw { inflow_m3_s } => self.take_draw(vehicle, (l, n), *inflow_m3_s),
                NodeKind::Fixed { .. } | NodeKind::Meeting => {}
            }
            if let (true, Some(k)) = (vehicle.enters(l, n), node.inflow_temperature_k) {
                self.take_entering(vehicle, (l, n), k, z);
            }
        }
        for (t, thermostat) in circuit.thermostats.iter().enumerate() {
            if let (Some(way), true) = (thermostat.mixing, vehicle.solved(l)) {
                let place = at.node + way.node;
                let slope = over_kelvin(|step| thermostat.lift.opening(z[place] + step));
                self.matrix.put(at.opening + t, place, -slope);
            }
            self.take_opening(vehicle, (l, t), thermostat);
        }
        for (module, heat) in circuit.modules.iter().map(|m| &m.heat).enumerate() {
            if let (Some(heat), true) = (heat, vehicle.solved(l)) {
                let place = at.module + module;
                let scale = vehicle.scales.module_k_w[l][module];
                self.matrix
                    .put(place, place, -heat.at(z[place]).slope * scale);
            }
        }
    }

    /// The losses of a tee over its flows and over the density in it.
    fn take_tee(
        &mut self,
        vehicle: &Vehicle<'_>,
        (l, n): (usize, usize),
        shape: &TeeNode,
        z: &[f64],
    ) {
        let at = &vehicle.places.loops[l];
        let span = vehicle.scales.loops[l].1;
        let flows = shape.flows_in(&z[at.flow..]);
        let here_k = vehicle.heats[l].node_k[n];
        let seen = |k: f64| {
            let rho = vehicle.circuits[l]
                .coolant
                .properties_extended(k)
                .density_kg_m3;
            tee(shape.model, &shape.shape, rho, flows)
        };
        let solved = vehicle.solved(l);
        let (above, below) = if solved {
            (seen(here_k + STEP_K), seen(here_k - STEP_K))
        } else {
            let here = seen(here_k);
            (here, here)
        };
        for (k, leg) in shape.legs.iter().enumerate() {
            let Some((j, end)) = leg.filter(|(j, _)| !vehicle.is_closed(l, *j)) else {
                continue;
            };
            let (row, factor) = (at.flow + j, -end.sign() / span);
            for (i, other) in shape.legs.iter().enumerate() {
                if let Some((other, end)) = other {
                    let slope = 0.5 * (above.slope[k][i] + below.slope[k][i]) * end.sign();
                    self.matrix.put(row, at.flow + other, factor * slope);
                }
            }
            if solved {
                let slope = (above.excess_pa[k] - below.excess_pa[k]) / (2.0 * STEP_K);
                self.matrix.put(row, at.node + n, factor * slope);
            }
        }
    }

    /// A stated volume flow over the density at its node.
    fn take_draw(&mut self, vehicle: &Vehicle<'_>, (l, n): (usize, usize), inflow_m3_s: f64) {
        let at = &vehicle.places.loops[l];
        if let (Some(row), true) = (at.pressure[n], vehicle.solved(l)) {
            let coolant = &vehicle.circuits[l].coolant;
            let here_k = vehicle.heats[l].node_k[n];
            let density = |k: f64| coolant.properties_extended(k).density_kg_m3;
            let slope = over_kelvin(|step| density(here_k + step));
            let most = vehicle.scales.loops[l].0;
            self.matrix
                .put(row, at.node + n, inflow_m3_s * slope / most);
        }
    }

    /// What enters from outside at a temperature, over the flows there and the temperature of the node.
    fn take_entering(
        &mut self,
        vehicle: &Vehicle<'_>,
        (l, n): (usize, usize),
        entering_k: f64,
        z: &[f64],
    ) {
        let at = &vehicle.places.loops[l];
        let coolant = &vehicle.circuits[l].coolant;
        let width = vehicle.scales.width_kg_s[l];
        let scale = vehicle.scales.node_k_w[l][n];
        let (h, cp) = coolant.enthalpy_and_specific_heat(vehicle.heats[l].node_k[n]);
        let ends = || vehicle.ends_at(l, n);
        let net: f64 = ends().map(|(j, sign)| sign * z[at.flow + j]).sum();
        let entering = forward_part(-net, width);
        let gain = coolant.enthalpy_j_kg(entering_k) - h;
        let row = at.node + n;
        for (j, sign) in ends() {
            let slope = -sign * entering / net.hypot(width);
            self.matrix.put(row, at.flow + j, slope * gain * scale);
        }
        self.matrix.put(row, row, -entering * cp * scale);
    }

    /// The losses of a thermostat, and of the bypass of a mixing one, over its opening.
    fn take_opening(
        &mut self,
        vehicle: &Vehicle<'_>,
        (l, t): (usize, usize),
        thermostat: &ThermostatNode,
    ) {
        let column = vehicle.places.loops[l].opening + t;
        let ends = [
            (thermostat.opening + STEP_OPENING).min(1.0),
            (thermostat.opening - STEP_OPENING).max(0.0),
        ];
        let lift = thermostat.lift;
        self.take_valve(vehicle, (l, thermostat.element), column, ends, &|opening| {
            lift.law(opening)
        });
        if let Some(way) = thermostat.mixing {
            self.take_valve(vehicle, (l, way.bypass), column, ends, &|opening| {
                let open = lift.complement(opening);
                valve_law(way.bypass_full_1_m4 / (open * open))
            });
        }
    }

    fn take_valve(
        &mut self,
        vehicle: &Vehicle<'_>,
        (l, element): (usize, usize),
        column: usize,
        ends: [f64; 2],
        law: &dyn Fn(f64) -> TwoTerm,
    ) {
        let circuit = &vehicle.circuits[l];
        let j = circuit.net.branch_of(element);
        if vehicle.is_closed(l, j) {
            return;
        }
        let fluid = (circuit.coolant).properties_extended(vehicle.heats[l].mean_k(element));
        let flow = vehicle.flow_kg_s(l, j);
        let laws = circuit.net.elements[element].laws.len() as f64;
        let [above, below] =
            ends.map(|opening| Law::TwoTerm(law(opening)).drop(flow, &fluid).drop_pa);
        let slope = laws * (above - below) / (ends[0] - ends[1]);
        let span = vehicle.scales.loops[l].1;
        let row = vehicle.places.loops[l].flow + j;
        self.matrix.put(row, column, -slope / span);
    }

    /// Unknowns that stand in their own row as they are.
    fn take_own(&mut self, vehicle: &Vehicle<'_>, z: &[f64]) {
        let mut own = Additions::new();
        vehicle.add_own(z, &mut own);
        let mut known = vec![false; z.len()];
        for (row, _) in own {
            if !std::mem::replace(&mut known[row], true) {
                self.matrix.put(row, row, 1.0);
            }
        }
    }
}
