//! The flow equations of one network as a system for Newton: laws, tees, gravity, one-way branches.
//!
//! Unknowns: mass flow of every branch and total pressure of every node without a stated one, both scaled. Along a
//! branch `p_a + e_a - p_b - e_b - F(m) = 0`, `e` the excess pressures of tee legs; at a node the flows sum to nothing.
//! A one-way branch keeps `min(m, F - dp) = 0` as the smooth function of Fischer (1992), `a + b - sqrt(a^2 + b^2)`.

use super::converge::largest;
use super::gates::solve_with_gates;
use super::layout::{Layout, TieSlot};
use super::linear::{NO_PLACE, Saddle};
use super::newton::System;
use super::numbers::{Numbers, START_FLOW_KG_S};
use crate::fluid::Properties;
use crate::network::{FlowNet, Passage};
use crate::part::{Law, LawStore};

/// Standard acceleration of gravity, m/s2 (exact, ISO 80000-3).
pub const GRAVITY_M_S2: f64 = 9.806_65;
/// Flow that leaks through a shut branch, in scaled units of flow over pressure: it gives a piece that is shut off on
/// both sides a pressure, and lies far below the mass closure that is owed.
pub(super) const SHUT_LEAK: f64 = 1.0e-13;

/// State of the fluid: properties along the elements and density at the nodes, held during one solve.
#[derive(Clone, Debug)]
pub struct FluidState {
    /// Properties of each element.
    pub elements: Vec<Properties>,
    /// Density at each node, kg/m3.
    pub node_density_kg_m3: Vec<f64>,
}

impl FluidState {
    /// The same properties everywhere.
    pub fn uniform(net: &FlowNet, properties: Properties) -> Self {
        Self {
            elements: vec![properties; net.elements.len()],
            node_density_kg_m3: vec![properties.density_kg_m3; net.nodes.len()],
        }
    }
}

/// Scales of the unknowns.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scales {
    flow_kg_s: f64,
    pressure_pa: f64,
}

/// Largest scaled flow with which scales still fit (our choice: stops count from 1).
const LASTING: std::ops::Range<f64> = 0.3..3.0;

/// The flow equations at one state of the fluid.
pub struct FlowEquations<'a> {
    layout: &'a Layout,
    numbers: &'a mut Numbers,
    store: LawStore<'a>,
    flow_scale: f64,
    pressure_scale: f64,
}

impl<'a> FlowEquations<'a> {
    /// The equations of a network; `ambient_pa` turns gauge pressures into absolute ones.
    pub fn new(
        net: &'a FlowNet,
        layout: &'a Layout,
        numbers: &'a mut Numbers,
        fluid: &'a FluidState,
        ambient_pa: f64,
    ) -> Self {
        numbers.join(net, layout, fluid, ambient_pa);
        let store = LawStore {
            laws: &net.laws,
            fluids: &fluid.elements,
        };
        Self::with_numbers(layout, numbers, store)
    }

    /// The equations of numbers that are joined already.
    pub fn with_numbers(layout: &'a Layout, numbers: &'a mut Numbers, store: LawStore<'a>) -> Self {
        Self {
            layout,
            numbers,
            store,
            flow_scale: 1.0,
            pressure_scale: 1.0,
        }
    }

    /// How often all laws were evaluated, ever.
    pub fn law_passes(&self) -> usize {
        self.numbers.law_passes
    }

    /// A first guess: every branch linearised through its start flow, machines along their tangent at half their free
    /// flow, tees left out. Sets the scales; returns scaled unknowns, or `None` where the linear system is singular.
    #[cfg(test)]
    pub fn first_guess(&mut self, speed: f64, matrix: &mut Saddle) -> Option<Vec<f64>> {
        let mut x = vec![0.0; self.layout.size];
        self.guess_into(speed, matrix, &mut x).then_some(x)
    }

    /// The same into room of the caller's; whether there is a guess.
    pub fn guess_into(&mut self, speed: f64, matrix: &mut Saddle, x: &mut [f64]) -> bool {
        let Self {
            layout,
            numbers,
            store,
            ..
        } = self;
        let branches = layout.ends.len();
        matrix.begin();
        matrix.clear();
        numbers.look_at_start(*store, speed);
        let (mut largest_flow, mut largest_drop) = (0.0_f64, 1.0_f64);
        // The room of slopes takes the stiffness, that of drops the offsets.
        let (offset, stiffness) = (&mut numbers.seen.drop_pa, &mut numbers.seen.slope_pa_s_kg);
        for j in 0..branches {
            stiffness[j] = offset[j] / (numbers.start_kg_s[j] * speed);
            offset[j] = numbers.weight_pa[j];
        }
        for (j, law, fluid) in numbers.table.machines(*store) {
            if let Law::Machine(machine) = law {
                let half = 0.5 * machine.free_flow_m3_s() * fluid.density_kg_m3;
                let drop = law.drop(half, fluid);
                stiffness[j] += drop.slope_pa_s_kg;
                offset[j] += drop.drop_pa - drop.slope_pa_s_kg * half;
                largest_drop = largest_drop.max(machine.shut_off_rise_pa(fluid.density_kg_m3));
            }
        }
        for &(j, passage) in &numbers.special {
            if let Passage::OneWay { cracking_pa } = passage {
                offset[j as usize] += cracking_pa;
            }
        }
        for (j, &[from, to]) in layout.ends.iter().enumerate() {
            let at = numbers.start_kg_s[j] * speed;
            stiffness[j] = stiffness[j].max(1e-6 * largest_drop / at);
            let fixed = |n: u32| {
                if layout.places[n as usize] == NO_PLACE {
                    numbers.fixed_pa[n as usize] - numbers.reference_pa
                } else {
                    0.0
                }
            };
            matrix.set_branch(j, -stiffness[j], 1.0);
            x[j] = offset[j] - (fixed(from) - fixed(to));
            largest_drop = largest_drop.max(numbers.weight_pa[j].abs());
        }
        for &(j, passage) in &numbers.special {
            if passage == Passage::Shut {
                // The leak gives a piece that is shut off on all sides a pressure, as in the equations themselves.
                let j = j as usize;
                matrix.set_branch(j, 1.0, -SHUT_LEAK);
                x[j] = SHUT_LEAK * (offset[j] - x[j]);
            }
        }
        for (node, &place) in layout.places.iter().enumerate() {
            if place == NO_PLACE {
                let fixed = numbers.fixed_pa[node] - numbers.reference_pa;
                largest_drop = largest_drop.max(fixed.abs());
            } else {
                x[branches + place as usize] = -numbers.inflow_kg_s[node];
            }
        }
        if !solve_with_gates(layout, &numbers.special, stiffness, offset, matrix, x) {
            return false;
        }
        for &(j, passage) in &numbers.special {
            if passage == Passage::Shut {
                // A leak is no flow: it may not set the scale of flows.
                x[j as usize] = 0.0;
            }
        }
        for (flow, stiffness) in x[..branches].iter().zip(stiffness.iter()) {
            largest_flow = largest_flow.max(flow.abs());
            largest_drop = largest_drop.max((flow * stiffness).abs());
        }
        self.flow_scale = if largest_flow > 0.0 {
            largest_flow
        } else {
            START_FLOW_KG_S
        };
        self.pressure_scale = largest_drop;
        x[..branches].iter_mut().for_each(|m| *m /= self.flow_scale);
        x[branches..]
            .iter_mut()
            .for_each(|p| *p /= self.pressure_scale);
        true
    }

    /// Scaled unknowns from flows and absolute pressures of an earlier solution.
    pub fn scale_into(&mut self, flow_kg_s: &[f64], node_pa: &[f64], x: &mut [f64]) {
        let most = flow_kg_s.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
        self.flow_scale = if most > 0.0 { most } else { START_FLOW_KG_S };
        let reference_pa = self.numbers.reference_pa;
        let span = node_pa
            .iter()
            .fold(1.0, |m: f64, p| m.max((p - reference_pa).abs()));
        self.pressure_scale = span;
        let (flows, pressures) = x.split_at_mut(self.layout.ends.len());
        for (x, m) in flows.iter_mut().zip(flow_kg_s) {
            *x = m / self.flow_scale;
        }
        for (&place, p) in self.layout.places.iter().zip(node_pa) {
            if place != NO_PLACE {
                pressures[place as usize] = (p - reference_pa) / self.pressure_scale;
            }
        }
    }

    /// Goes on in the scales of an earlier solution, whose unknowns are in `x`; whether they still fit it.
    pub fn resume(&mut self, scales: Scales, x: &[f64]) -> bool {
        let (flows, pressures) = x.split_at(self.layout.ends.len());
        (self.flow_scale, self.pressure_scale) = (scales.flow_kg_s, scales.pressure_pa);
        LASTING.contains(&largest(flows)) && largest(pressures) <= LASTING.end
    }

    /// The scales of the unknowns.
    pub fn scales(&self) -> Scales {
        Scales {
            flow_kg_s: self.flow_scale,
            pressure_pa: self.pressure_scale,
        }
    }

    /// Flow of one scaled unit over pressure of one.
    pub fn flow_per_pa(&self) -> f64 {
        self.flow_scale / self.pressure_scale
    }

    /// Largest leak through a shut branch or a one-way branch, kg/s, at the last evaluation: what gives pressures to what they
    /// shut off.
    pub fn leak_kg_s(&self) -> f64 {
        let level = &self.numbers.level_pa;
        let special = self.numbers.special.iter();
        let across_pa = special.fold(0.0, |most: f64, &(j, _)| {
            let [from, to] = self.layout.ends[j as usize];
            most.max((level[from as usize] - level[to as usize]).abs())
        });
        SHUT_LEAK * across_pa * self.flow_per_pa()
    }

    /// A residual in Pa of a branch, and in kg/s of a node.
    pub fn misses(&self, residual: f64) -> (f64, f64) {
        (residual * self.pressure_scale, residual * self.flow_scale)
    }

    /// Flows in kg/s and absolute total pressures in Pa from scaled unknowns.
    pub fn unscale_into(&self, x: &[f64], flow_kg_s: &mut [f64], node_pa: &mut [f64]) {
        let (flows, pressures) = x.split_at(self.layout.ends.len());
        for (m, x) in flow_kg_s.iter_mut().zip(flows) {
            *m = x * self.flow_scale;
        }
        let reference_pa = self.numbers.reference_pa;
        for (node, (p, &place)) in node_pa.iter_mut().zip(&self.layout.places).enumerate() {
            *p = if place == NO_PLACE {
                self.numbers.fixed_pa[node] - reference_pa + reference_pa
            } else {
                pressures[place as usize] * self.pressure_scale + reference_pa
            };
        }
    }

    /// Leaves out a share of the excess pressures of tees; whether there are any.
    pub fn leave_out_tees(&mut self, share: f64) -> bool {
        self.numbers.tees_left_out = share;
        self.numbers.forget();
        !self.layout.tees.is_empty()
    }

    /// The excess pressures of every tee's legs (in the order of the nodes) at these flows.
    pub fn tee_excess_pa(&mut self, x: &[f64]) -> Vec<(usize, [f64; 3])> {
        let flows = &x[..self.layout.ends.len()];
        self.numbers
            .look(self.layout, self.store, flows, self.flow_scale);
        self.layout
            .tees
            .iter()
            .zip(&self.numbers.seen.tees)
            .map(|(slots, state)| (slots.node, state.excess_pa))
            .collect()
    }

    /// The branch whose equation is worst met.
    pub fn worst_branch(&mut self, x: &[f64]) -> Option<usize> {
        let mut residual = vec![0.0; self.layout.size];
        self.evaluate(x, &mut residual, None);
        (0..self.layout.ends.len()).max_by(|a, b| residual[*a].abs().total_cmp(&residual[*b].abs()))
    }

    /// The row of a branch that lets through less than everything: residual, own slope, pull, factor of its tees.
    fn special_row(&self, j: usize, passage: Passage, flow: f64, plain: f64) -> [f64; 4] {
        let (ms, ps) = (self.flow_scale, self.pressure_scale);
        let seen = &self.numbers.seen;
        let [from, to] = self.layout.ends[j];
        let level = &self.numbers.level_pa;
        let leak = flow - SHUT_LEAK * (level[from as usize] - level[to as usize]) / ps;
        let own = -seen.slope_pa_s_kg[j] * ms / ps;
        match passage {
            Passage::Open => [plain, own, 1.0, 1.0],
            Passage::Shut => [leak, 1.0, -SHUT_LEAK, 0.0],
            Passage::OneWay { cracking_pa } => {
                // Slack of the shut valve, and its flow with a leak that only the pressures see.
                let slack = cracking_pa / ps - plain;
                let h = leak.hypot(slack);
                let (fa, fb) = if h > 0.0 {
                    (1.0 - leak / h, 1.0 - slack / h)
                } else {
                    (
                        1.0 - std::f64::consts::FRAC_1_SQRT_2,
                        1.0 - std::f64::consts::FRAC_1_SQRT_2,
                    )
                };
                let residual = if leak > 0.0 && slack > 0.0 {
                    2.0 * leak * slack / (leak + slack + h)
                } else {
                    leak + slack - h
                };
                [residual, fa - fb * own, -fb - fa * SHUT_LEAK, -fb]
            }
        }
    }
}

impl FlowEquations<'_> {
    /// Adds the slopes of tees to the rows of their branches.
    fn add_ties(&self, matrix: &mut Saddle) {
        let ratio = self.flow_scale / self.pressure_scale;
        let numbers = &*self.numbers;
        for (slots, state) in self.layout.tees.iter().zip(&numbers.seen.tees) {
            for (leg, slope) in slots.legs.iter().zip(&state.slope) {
                let Some(leg) = leg else { continue };
                let factor = -numbers.row_factor[leg.branch] * leg.sign * ratio;
                for ((slot, slope), other) in leg.row.iter().zip(slope).zip(&slots.legs) {
                    let sign = other.as_ref().map_or(0.0, |other| other.sign);
                    match slot {
                        TieSlot::None => {}
                        TieSlot::Own => matrix.add_own(leg.branch, factor * slope * sign),
                        TieSlot::Tie(tie) => matrix.add_tie(*tie, factor * slope * sign),
                    }
                }
            }
        }
    }
}

impl System for FlowEquations<'_> {
    fn size(&self) -> usize {
        self.layout.size
    }

    fn evaluate(&mut self, x: &[f64], residual: &mut [f64], mut slopes: Option<&mut Saddle>) {
        let branches = self.layout.ends.len();
        let (ms, ps) = (self.flow_scale, self.pressure_scale);
        let (flows, pressures) = x.split_at(branches);
        self.numbers.look(self.layout, self.store, flows, ms);
        let numbers = &mut *self.numbers;
        let (rows, nodes) = residual.split_at_mut(branches);
        for (node, &place) in self.layout.places.iter().enumerate() {
            numbers.level_pa[node] = if place == NO_PLACE {
                numbers.fixed_pa[node] - numbers.reference_pa
            } else {
                nodes[place as usize] = numbers.inflow_kg_s[node] / ms;
                pressures[place as usize] * ps
            };
        }
        let (seen, level) = (&numbers.seen, &numbers.level_pa);
        let per_scale = 1.0 / ps;
        let branches = rows.iter_mut().zip(&self.layout.ends).zip(flows);
        let losses = seen.drop_pa.iter().zip(&numbers.weight_pa);
        for (((row, &[from, to]), flow), (drop_pa, weight_pa)) in branches.zip(losses) {
            let (from, to) = (from as usize, to as usize);
            *row = (level[from] - level[to] - (drop_pa + weight_pa)) * per_scale;
            let (a, b) = (self.layout.places[from], self.layout.places[to]);
            if a != NO_PLACE {
                nodes[a as usize] -= flow;
            }
            if b != NO_PLACE {
                nodes[b as usize] += flow;
            }
        }
        for (row, excess_pa) in rows.iter_mut().zip(&seen.excess_pa) {
            *row += excess_pa * per_scale;
        }
        if let Some(matrix) = slopes.as_deref_mut() {
            matrix.clear();
            let ratio = ms / ps;
            for (j, slope) in seen.slope_pa_s_kg.iter().enumerate() {
                matrix.set_branch(j, -slope * ratio, 1.0);
            }
        }
        for k in 0..self.numbers.special.len() {
            let (j, passage) = self.numbers.special[k];
            let j = j as usize;
            let [value, own, pull, factor] = self.special_row(j, passage, flows[j], rows[j]);
            if let Some(matrix) = slopes.as_deref_mut() {
                matrix.set_branch(j, own, pull);
            }
            if let Some(room) = self.numbers.row_factor.get_mut(j) {
                *room = factor;
            }
            rows[j] = value;
        }
        if let Some(matrix) = slopes {
            self.add_ties(matrix);
        }
    }

    fn relative_size(&self, step: &[f64], x: &[f64]) -> f64 {
        let count = self.layout.ends.len();
        let most = x[..count].iter().fold(1e-3, |m: f64, v| m.max(v.abs()));
        step[..count].iter().fold(0.0, |m: f64, v| m.max(v.abs())) / most
    }

    /// Widens the blends of tees between two patterns.
    fn ease(&mut self, share: f64) -> bool {
        let numbers = &mut *self.numbers;
        if numbers.least_band != share {
            numbers.least_band = share;
            numbers.forget();
        }
        !self.layout.tees.is_empty()
    }
}

#[cfg(test)]
#[path = "hydraulic_tests.rs"]
mod tests;
