//! Slopes of the rows of one branch over everything that it depends on: each element's own slopes, chained along the stream.
//!
//! What an element does depends on the flow, on the coolant at its ends and on what it touches (`element.rs`). The chain, and
//! that the properties in an element hang on the temperature at which it lets the coolant go, are exact.

use super::super::hydraulic::GRAVITY_M_S2;
use super::super::meeting::Meeting;
use super::super::thermal::forward_part;
use super::course::Course;
use super::element::HeatSlopes;
use super::matrix::{Matrix, STEP_K, over_kelvin};
use super::rows::Additions;
use super::vehicle::Vehicle;
use crate::network::HeatRole;
use std::ops::Range;

/// Place of the flow among the columns of a branch.
pub const FLOW: usize = 0;
/// Place of the temperature where its stream begins.
pub const UP: usize = 1;
/// Place of the temperature where its stream ends; what it touches follows.
pub const DOWN: usize = 2;

/// Room for a chain.
#[derive(Default)]
pub struct Chain {
    /// The unknowns that a branch depends on.
    pub columns: Vec<usize>,
    /// Slopes over them of the temperature of the stream before an element, and of that behind it.
    pub before: Vec<f64>,
    pub behind: Vec<f64>,
    /// Slopes of the loss so far.
    pub loss: Vec<f64>,
    /// Slopes of an element's heat over what it touches, by the place of the column.
    pub touched: Vec<(usize, f64)>,
}

impl Vehicle<'_> {
    /// Slopes of the rows of a branch: its pressure, what it brings to both nodes, its modules, thermostats and cores.
    /// Returns the slope of its own row over its flow, but for what tees add. `z` are the unknowns; they come back as they
    /// were.
    pub fn branch_slopes(
        &self,
        (l, j): (usize, usize),
        z: &mut [f64],
        chain: &mut Chain,
        into: &mut Matrix,
    ) -> f64 {
        let (at, circuit) = (&self.places.loops[l], &self.circuits[l]);
        let (most, span) = self.scales.loops[l];
        let branch = &circuit.net.branches[j];
        let row = at.flow + j;
        for (n, sign) in [(branch.from, -1.0), (branch.to, 1.0)] {
            if let Some(place) = at.pressure[n] {
                into.put(place, row, sign / most);
                into.put(row, place, -sign * self.pull(l, j));
            }
        }
        let course = self.course(l, j);
        self.begin(&course, chain);
        self.follow_chain(&course, z, chain, into);
        if self.solved(l) {
            self.brought_slopes(&course, chain, into);
        }
        if self.is_closed(l, j) {
            into.put(row, row, 1.0 / most);
            return 1.0 / most;
        }
        for (column, slope) in chain.columns.iter().zip(&chain.loss) {
            into.put(row, *column, -slope / span);
        }
        -chain.loss[FLOW] / span
    }

    /// Lists the columns of a branch, those of what it touches in the order of the stream.
    fn begin(&self, course: &Course, chain: &mut Chain) {
        let (at, circuit) = (&self.places.loops[course.l], &self.circuits[course.l]);
        chain.columns.clear();
        chain.columns.push(at.flow + course.j);
        if self.solved(course.l) {
            let (up, down) = self.up_and_down(course);
            chain.columns.extend([at.node + up, at.node + down]);
            for e in self.along(course) {
                match circuit.net.elements[e].heat {
                    HeatRole::Circuit(module) => chain.columns.push(at.module + module),
                    HeatRole::Core(core) => self.add_met(core, &mut chain.columns),
                    _ => {}
                }
            }
        }
        for list in [&mut chain.before, &mut chain.behind, &mut chain.loss] {
            list.clear();
            list.resize(chain.columns.len(), 0.0);
        }
        if let Some(up) = chain.before.get_mut(UP) {
            *up = 1.0;
        }
    }

    /// Adds the unknowns that a core meets: the air before it, and where it has plates, the coolant in all tanks.
    pub fn add_met(&self, core: usize, columns: &mut Vec<usize>) {
        if let Some(places) = self.places.cores.get(core) {
            columns.extend(places.before.clone());
            if places.tanks.is_some() {
                let tanks = self.places.cores.iter().filter_map(|c| c.tanks);
                columns.extend(tanks.flatten());
            }
        }
    }

    /// Follows the stream through the elements of a branch: leaves its slopes behind the last one in `before`.
    fn follow_chain(&self, course: &Course, z: &mut [f64], chain: &mut Chain, into: &mut Matrix) {
        let circuit = &self.circuits[course.l];
        let coolant = &circuit.coolant;
        let heat = &self.heats[course.l];
        let mut next = DOWN + 1;
        for e in self.along(course) {
            if !self.solved(course.l) {
                self.loss_slopes(course, e, chain);
                continue;
            }
            self.sensed_slopes(course, e, chain, into);
            let first = next;
            let Some(own) = self.heat_slopes(course, e, z, chain, &mut next) else {
                chain.behind.copy_from_slice(&chain.before);
                self.loss_slopes(course, e, chain);
                continue;
            };
            let (inlet_k, outlet_k) = heat.ends_k(e);
            let main = course.main_kg_s;
            // m h(out) = m h(in) + q, q over the ends, the flow and what is touched.
            let taken = coolant.specific_heat_extended_j_kg_k(inlet_k) + own.over_inlet / main;
            let given = coolant.specific_heat_extended_j_kg_k(outlet_k) - own.over_outlet / main;
            for (behind, before) in chain.behind.iter_mut().zip(&chain.before) {
                *behind = taken * before;
            }
            let thinned = own.heat_w * course.sign * course.main_slope / main;
            chain.behind[FLOW] += (own.over_flow - thinned) / main;
            for (place, slope) in &chain.touched {
                chain.behind[*place] += slope / main;
            }
            chain.behind.iter_mut().for_each(|slope| *slope /= given);
            match circuit.net.elements[e].heat {
                HeatRole::Circuit(module) => self.body_slopes(course, module, &own, chain, into),
                HeatRole::Core(core) => {
                    self.meeting_slopes(course, (core, e), first..next, z, chain, into);
                }
                _ => {}
            }
            self.loss_slopes(course, e, chain);
            std::mem::swap(&mut chain.before, &mut chain.behind);
        }
    }

    /// The row of a module: what the stream takes from it.
    fn body_slopes(
        &self,
        course: &Course,
        module: usize,
        own: &HeatSlopes,
        chain: &Chain,
        into: &mut Matrix,
    ) {
        let row = self.places.loops[course.l].module + module;
        let scale = self.scales.module_k_w[course.l][module];
        let streams = chain.before.iter().zip(&chain.behind);
        for (column, (before, behind)) in chain.columns.iter().zip(streams) {
            let given = own.over_inlet * before + own.over_outlet * behind;
            into.put(row, *column, given * scale);
        }
        into.put(row, chain.columns[FLOW], own.over_flow * scale);
        for (place, slope) in &chain.touched {
            into.put(row, chain.columns[*place], slope * scale);
        }
    }

    /// The rows of thermostats that feel the coolant before this element.
    fn sensed_slopes(&self, course: &Course, e: usize, chain: &Chain, into: &mut Matrix) {
        let l = course.l;
        for (t, thermostat) in self.circuits[l].thermostats.iter().enumerate() {
            if thermostat.mixing.is_none() && thermostat.element == e {
                let row = self.places.loops[l].opening + t;
                let sensed_k = self.heats[l].upstream_k[e];
                let slope = over_kelvin(|step| thermostat.lift.opening(sensed_k + step));
                for (column, before) in chain.columns.iter().zip(&chain.before) {
                    into.put(row, *column, -slope * before);
                }
            }
        }
    }

    /// The rows of what all cores meet, over what one of them depends on; `places` are those of what it meets itself.
    fn meeting_slopes(
        &self,
        course: &Course,
        (core, e): (usize, usize),
        places: Range<usize>,
        z: &mut [f64],
        chain: &Chain,
        into: &mut Matrix,
    ) {
        if self.places.cores.is_empty() {
            return;
        }
        let (inlet_k, outlet_k) = self.heats[course.l].ends_k(e);
        let (flow, met) = (course.flow_kg_s, &self.meeting);
        let rows = |flow_kg_s: f64, ends_k: (f64, f64), met: &Meeting| {
            let mut rows = Additions::new();
            self.add_core(core, course.sign * flow_kg_s, ends_k, met, &mut rows);
            rows
        };
        // Rows come in the same order, whatever they hold.
        let mut put = |above: Additions, below: Additions, wide: f64, over: &[(usize, f64)]| {
            for ((row, above), (_, below)) in above.into_iter().zip(below) {
                for (place, share) in over {
                    let slope = share * (above - below) / wide;
                    into.put(row, chain.columns[*place], slope);
                }
            }
        };
        let all =
            |slopes: &[f64]| -> Vec<(usize, f64)> { slopes.iter().copied().enumerate().collect() };
        let [low, high] = course.beside_kg_s;
        let ends_k = (inlet_k, outlet_k);
        let (above, below) = (rows(high, ends_k, met), rows(low, ends_k, met));
        put(above, below, high - low, &[(FLOW, course.sign)]);
        let [above, below] =
            [STEP_K, -STEP_K].map(|step| rows(flow, (inlet_k + step, outlet_k), met));
        put(above, below, 2.0 * STEP_K, &all(&chain.before));
        let [above, below] =
            [STEP_K, -STEP_K].map(|step| rows(flow, (inlet_k, outlet_k + step), met));
        put(above, below, 2.0 * STEP_K, &all(&chain.behind));
        for place in places {
            let [above, below] = self
                .meetings_beside(chain.columns[place], z)
                .map(|met| rows(flow, ends_k, &met));
            put(above, below, 2.0 * STEP_K, &[(place, 1.0)]);
        }
    }

    /// What the stream brings to the node where it ends, and the counter-stream to the one where it begins; and the height
    /// behind the last element.
    fn brought_slopes(&self, course: &Course, chain: &mut Chain, into: &mut Matrix) {
        let l = course.l;
        let circuit = &self.circuits[l];
        let start = self.places.loops[l].node;
        let (up, down) = self.up_and_down(course);
        let last = self.along(course).last();
        let node_k = &self.heats[l].node_k;
        let end_k = last.map_or(node_k[up], |e| self.heats[l].downstream_k[e]);
        let enthalpy = |k: f64| circuit.coolant.enthalpy_and_specific_heat(k);
        let ((h_up, cp_up), (h_down, cp_down)) = (enthalpy(node_k[up]), enthalpy(node_k[down]));
        let (h_end, cp_end) = enthalpy(end_k);
        let scale = &self.scales.node_k_w[l];
        let Course {
            sign, main_kg_s, ..
        } = *course;
        for (column, slope) in chain.columns.iter().zip(&chain.before) {
            let brought = main_kg_s * cp_end * slope;
            into.put(start + down, *column, brought * scale[down]);
        }
        let more = sign * course.main_slope * (h_end - h_down);
        into.put(start + down, chain.columns[FLOW], more * scale[down]);
        into.put(
            start + down,
            start + down,
            -main_kg_s * cp_down * scale[down],
        );
        let counter = forward_part(-course.flow_kg_s, self.scales.width_kg_s[l]);
        let less = -sign * counter / (main_kg_s + counter) * (h_down - h_up);
        into.put(start + up, chain.columns[FLOW], less * scale[up]);
        into.put(start + up, start + down, counter * cp_down * scale[up]);
        into.put(start + up, start + up, -counter * cp_up * scale[up]);
        let branch = &circuit.net.branches[course.j];
        if branch.trail_m != 0.0 {
            let at = |k: f64| circuit.coolant.properties_extended(k).density_kg_m3;
            let slope = over_kelvin(|step| at(node_k[branch.to] + step));
            let place = if branch.to == up { UP } else { DOWN };
            chain.loss[place] += slope * GRAVITY_M_S2 * branch.trail_m;
        }
    }
}
