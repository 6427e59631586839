//! Slopes of the rows of one branch over everything that it depends on: each element's own slopes, chained along the stream.
//!
//! What an element does depends on the flow, on the coolant at its ends and on what it touches. Its slopes over these are
//! exact where its law states them and central differences where not, taken at the answer; the chain, and that the properties
//! in an element hang on the temperature at which it lets the coolant go, are exact.

use super::super::couple::{machine_heat, sides_of};
use super::super::exchange::{CoreSides, LinearHeat};
use super::super::hydraulic::GRAVITY_M_S2;
use super::super::meeting::Meeting;
use super::super::thermal::{HeatInput, forward_part, part_heat};
use super::matrix::{Matrix, STEP_K, over_kelvin};
use super::vehicle::{Additions, Vehicle};
use crate::fluid::Properties;
use crate::network::HeatRole;
use std::ops::Range;

/// Step of a flow, over itself: curvature costs 1e-10, round-off 1e-11.
const STEP_FLOW: f64 = 1.0e-5;
/// Least flow by which that step is measured, over the largest of the loop: below, a branch counts as at rest.
const LEAST_FLOW: f64 = 1.0e-3;

/// Place of the flow among the columns of a branch.
const FLOW: usize = 0;
/// Place of the temperature where its stream begins.
const UP: usize = 1;
/// Place of the temperature where its stream ends; what it touches follows.
const DOWN: usize = 2;

/// Room for a chain.
#[derive(Default)]
pub struct Chain {
    /// The unknowns that a branch depends on.
    columns: Vec<usize>,
    /// Slopes over them of the temperature of the stream before an element, and of that behind it.
    before: Vec<f64>,
    behind: Vec<f64>,
    /// Slopes of the loss so far.
    loss: Vec<f64>,
    /// Slopes of an element's heat over what it touches, by the place of the column.
    touched: Vec<(usize, f64)>,
}

/// A branch at the answer.
#[derive(Clone, Copy)]
struct Course {
    l: usize,
    j: usize,
    /// 1 with the branch, -1 against it.
    sign: f64,
    /// Size of the flow, kg/s.
    flow_kg_s: f64,
    /// Its stream, kg/s, and the slope of that over the size of the flow.
    main_kg_s: f64,
    main_slope: f64,
    /// The size of the flow a step down and a step up, kg/s.
    beside_kg_s: [f64; 2],
}

impl Course {
    /// The slope over the flow of what depends on its size.
    fn over_flow(&self, of: impl Fn(f64) -> f64) -> f64 {
        let [low, high] = self.beside_kg_s;
        self.sign * (of(high) - of(low)) / (high - low)
    }
}

/// The heat of an element, W, and its slopes, W over kg/s and K.
#[derive(Default)]
struct HeatSlopes {
    heat_w: f64,
    over_flow: f64,
    over_inlet: f64,
    over_outlet: f64,
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

    fn course(&self, l: usize, j: usize) -> Course {
        let flow = self.flow_kg_s(l, j);
        let size = flow.abs();
        let width = self.scales.width_kg_s[l];
        let step = STEP_FLOW * size.max(LEAST_FLOW * self.scales.loops[l].0);
        let main_kg_s = forward_part(size, width);
        Course {
            l,
            j,
            sign: if flow >= 0.0 { 1.0 } else { -1.0 },
            flow_kg_s: size,
            main_kg_s,
            main_slope: main_kg_s / size.hypot(width),
            beside_kg_s: [(size - step).max(0.0), size + step],
        }
    }

    /// Nodes where the stream of a branch begins and ends.
    fn up_and_down(&self, course: &Course) -> (usize, usize) {
        let branch = &self.circuits[course.l].net.branches[course.j];
        if course.sign > 0.0 {
            (branch.from, branch.to)
        } else {
            (branch.to, branch.from)
        }
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

    /// The elements of a branch in the order of its stream.
    fn along(&self, course: &Course) -> impl Iterator<Item = usize> + use<> {
        let range = self.circuits[course.l].net.branches[course.j]
            .elements
            .clone();
        let forwards = course.sign > 0.0;
        let ends = range.start + range.end;
        range.map(move |e| if forwards { e } else { ends - 1 - e })
    }

    /// Adds the unknowns that a core meets: the air before it, and where it has plates, the coolant in all tanks.
    fn add_met(&self, core: usize, columns: &mut Vec<usize>) {
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

    /// The heat of an element with its slopes; those over what it touches go to `chain.touched`, by the places of their
    /// columns from `next` on. None where it carries the coolant along.
    fn heat_slopes(
        &self,
        course: &Course,
        e: usize,
        z: &mut [f64],
        chain: &mut Chain,
        next: &mut usize,
    ) -> Option<HeatSlopes> {
        chain.touched.clear();
        let heat_w = self.heats[course.l].heat_w[e];
        let role = self.circuits[course.l].net.elements[e].heat;
        match role {
            HeatRole::Carries => return None,
            HeatRole::Plate(_) => {
                return Some(HeatSlopes {
                    heat_w,
                    ..HeatSlopes::default()
                });
            }
            _ => {}
        }
        let (inlet_k, outlet_k) = self.heats[course.l].ends_k(e);
        let ends_k = (inlet_k, outlet_k);
        let law = |flow_kg_s: f64, ends_k: (f64, f64), met: &Meeting| {
            self.element_heat(course, e, flow_kg_s, ends_k, met)
        };
        let (flow, met) = (course.flow_kg_s, &self.meeting);
        let over_flow = course.over_flow(|flow| law(flow, ends_k, met).at(inlet_k));
        let [above, below] =
            [STEP_K, -STEP_K].map(|step| law(flow, (inlet_k, outlet_k + step), met));
        let over_outlet = (above.at(inlet_k) - below.at(inlet_k)) / (2.0 * STEP_K);
        let own_slope = 0.5 * (above.slope_w_k + below.slope_w_k);
        // Properties are those at the mean of both ends; the heat is linear in the temperature at which coolant enters.
        let mut over_inlet = own_slope + over_outlet;
        match role {
            HeatRole::Core(core) => {
                over_inlet = over_kelvin(|step| {
                    let entering_k = inlet_k + step;
                    law(flow, (entering_k, outlet_k), met).at(entering_k)
                });
                let mut met = Vec::new();
                self.add_met(core, &mut met);
                for column in met {
                    let [above, below] = self.meetings_beside(column, z);
                    let at = |met: &Meeting| law(flow, ends_k, met).at(inlet_k);
                    let slope = (at(&above) - at(&below)) / (2.0 * STEP_K);
                    chain.touched.push((*next, slope));
                    *next += 1;
                }
            }
            HeatRole::Circuit(_) => {
                // Warmer by as much, the module gives what a cooler stream would take.
                chain.touched.push((*next, -own_slope));
                *next += 1;
            }
            _ => {}
        }
        Some(HeatSlopes {
            heat_w,
            over_flow,
            over_inlet,
            over_outlet,
        })
    }

    /// What cores meet with one of its unknowns a step up, and a step down.
    fn meetings_beside(&self, column: usize, z: &mut [f64]) -> [Meeting; 2] {
        let here = z[column];
        let met = [STEP_K, -STEP_K].map(|step| {
            z[column] = here + step;
            self.meeting_at(z)
        });
        z[column] = here;
        met
    }

    /// The heat law of an element at a size of the flow and ends of the coolant.
    fn element_heat(
        &self,
        course: &Course,
        e: usize,
        flow_kg_s: f64,
        ends_k: (f64, f64),
        meeting: &Meeting,
    ) -> LinearHeat {
        let l = course.l;
        let circuit = &self.circuits[l];
        let flow = course.sign * flow_kg_s;
        if let HeatRole::Machine(m) = circuit.net.elements[e].heat {
            let mean_k = 0.5 * (ends_k.0 + ends_k.1);
            let fluid = circuit.coolant.properties_extended(mean_k);
            let most = self.scales.loops[l].0;
            return LinearHeat {
                constant_w: machine_heat(circuit, &circuit.machines[m], flow, most, &fluid),
                slope_w_k: 0.0,
            };
        }
        let sides = |core: usize, m: f64, p: &Properties| -> CoreSides {
            sides_of(self.network, core, self.case, &self.airs, meeting, m, p)
        };
        let input = HeatInput {
            circuit,
            flow_kg_s: &[],
            pump_w: &[],
            sides: &sides,
        };
        let stream = forward_part(flow_kg_s, self.scales.width_kg_s[l]);
        let part = part_heat(&input, e, (flow, stream), ends_k.0, ends_k, &self.heats[l]);
        part.map_or_else(LinearHeat::default, |part| part.heat)
    }

    /// Adds the slopes of an element's loss, whose properties are those at the mean of the stream before and behind it.
    fn loss_slopes(&self, course: &Course, e: usize, chain: &mut Chain) {
        let circuit = &self.circuits[course.l];
        let element = &circuit.net.elements[e];
        let height_m = element.lead_m + element.rise_m;
        if element.laws.is_empty() && height_m == 0.0 {
            return;
        }
        let flow = course.sign * course.flow_kg_s;
        let mean_k = self.heats[course.l].mean_k(e);
        let at = |k: f64| {
            let fluid = circuit.coolant.properties_extended(k);
            let mut loss_pa = fluid.density_kg_m3 * GRAVITY_M_S2 * height_m;
            let mut slope = 0.0;
            for law in &circuit.net.laws[element.laws.clone()] {
                let drop = law.drop(flow, &fluid);
                loss_pa += drop.drop_pa;
                slope += drop.slope_pa_s_kg;
            }
            (loss_pa, slope)
        };
        if !self.solved(course.l) {
            chain.loss[FLOW] += at(mean_k).1;
            return;
        }
        let (above, below) = (at(mean_k + STEP_K), at(mean_k - STEP_K));
        chain.loss[FLOW] += 0.5 * (above.1 + below.1);
        let over_end = 0.5 * (above.0 - below.0) / (2.0 * STEP_K);
        let streams = chain.before.iter().zip(&chain.behind);
        for (loss, (before, behind)) in chain.loss.iter_mut().zip(streams) {
            *loss += over_end * (before + behind);
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
