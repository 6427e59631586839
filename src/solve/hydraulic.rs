//! The flow equations of one network as a system for Newton: laws, tees, gravity, one-way branches.
//!
//! Unknowns: mass flow of every branch and total pressure of every node without a stated one, both scaled. Along a
//! branch `p_a + e_a - p_b - e_b - F(m) = 0`, `e` the excess pressures of tee legs; at a node the flows sum to nothing.
//! A one-way branch keeps `min(m, F - dp) = 0` as the smooth function of Fischer (1992), `a + b - sqrt(a^2 + b^2)`.

use super::linear::SparseSystem;
use super::newton::System;
use crate::correlation::tees::{TeeState, tee};
use crate::fluid::Properties;
use crate::network::{BranchEnd, FlowNet, NodeKind, Passage, TeeNode};
use crate::part::{Drop, Law};

/// Standard acceleration of gravity, m/s2 (exact, ISO 80000-3).
pub const GRAVITY_M_S2: f64 = 9.806_65;
/// Flow that leaks through a shut branch, in scaled units of flow over pressure: it gives a piece that is shut off on
/// both sides a pressure, and lies far below the mass closure that is owed.
const SHUT_LEAK: f64 = 1.0e-13;

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

struct TeeSlots {
    node: usize,
    legs: [Option<LegSlots>; 3],
}

/// A leg with a branch: the branch, the sign of its flow into the tee, the slots of its row over the three legs.
type LegSlots = (usize, f64, [Option<usize>; 3]);

struct BranchSlots {
    own: usize,
    from: Option<usize>,
    to: Option<usize>,
    node_from: Option<usize>,
    node_to: Option<usize>,
}

/// Places of every entry of the matrix, made once per topology.
pub struct Layout {
    free: Vec<Option<usize>>,
    branches: Vec<BranchSlots>,
    tees: Vec<TeeSlots>,
    size: usize,
}

impl Layout {
    /// The layout of a network and its empty matrix.
    pub fn new(net: &FlowNet) -> (Self, SparseSystem) {
        let count = net.branches.len();
        let mut free = vec![None; net.nodes.len()];
        let mut size = count;
        for (node, place) in net.nodes.iter().zip(&mut free) {
            if !matches!(node.kind, NodeKind::Fixed { .. }) {
                *place = Some(size);
                size += 1;
            }
        }
        let mut positions = Vec::new();
        let mut put = |row, column| {
            positions.push((row, column));
            positions.len() - 1
        };
        let mut branches: Vec<BranchSlots> = net
            .branches
            .iter()
            .enumerate()
            .map(|(j, b)| BranchSlots {
                own: put(j, j),
                from: free[b.from].map(|p| put(j, p)),
                to: free[b.to].map(|p| put(j, p)),
                node_from: free[b.from].map(|p| put(p, j)),
                node_to: free[b.to].map(|p| put(p, j)),
            })
            .collect();
        let mut tees = Vec::new();
        for (index, node) in net.nodes.iter().enumerate() {
            let NodeKind::Tee(TeeNode { legs, .. }) = &node.kind else {
                continue;
            };
            let slots = legs.map(|leg| {
                leg.map(|(branch, end)| {
                    let sign = if end == BranchEnd::Finish { 1.0 } else { -1.0 };
                    (
                        branch,
                        sign,
                        legs.map(|other| other.map(|(k, _)| put(branch, k))),
                    )
                })
            });
            tees.push(TeeSlots {
                node: index,
                legs: slots,
            });
        }
        let (matrix, map) = SparseSystem::new(size, &positions);
        for b in &mut branches {
            b.own = map[b.own];
            for slot in [&mut b.from, &mut b.to, &mut b.node_from, &mut b.node_to]
                .into_iter()
                .flatten()
            {
                *slot = map[*slot];
            }
        }
        for (_, _, row) in tees.iter_mut().flat_map(|t| t.legs.iter_mut().flatten()) {
            row.iter_mut().flatten().for_each(|slot| *slot = map[*slot]);
        }
        let layout = Self {
            free,
            branches,
            tees,
            size,
        };
        (layout, matrix)
    }
}

/// The flow equations at one state of the fluid.
pub struct FlowEquations<'a> {
    net: &'a FlowNet,
    layout: &'a Layout,
    fluid: &'a FluidState,
    fixed_pa: Vec<f64>,
    weight_pa: Vec<f64>,
    inflow_kg_s: Vec<f64>,
    reference_pa: f64,
    flow_scale: f64,
    pressure_scale: f64,
    damping: Vec<f64>,
    tee_states: Vec<TeeState>,
}

/// Flow for which a branch without a passage is linearised at the start, kg/s (our choice; any will do).
const START_FLOW_KG_S: f64 = 0.02;
/// Velocity of liquid at which branches are linearised at the start, m/s: from there Newton needs fewest steps.
const START_LIQUID_M_S: f64 = 0.4;
/// The same for air, m/s.
const START_AIR_M_S: f64 = 3.0;
/// Density below which a fluid counts as air, kg/m3.
const AIR_BELOW_KG_M3: f64 = 50.0;

impl<'a> FlowEquations<'a> {
    /// The equations; `ambient_pa` turns gauge pressures into absolute ones.
    pub fn new(
        net: &'a FlowNet,
        layout: &'a Layout,
        fluid: &'a FluidState,
        ambient_pa: f64,
    ) -> Self {
        let fixed_pa: Vec<f64> = net
            .nodes
            .iter()
            .map(|n| match n.kind {
                NodeKind::Fixed { pressure } => pressure
                    .to_absolute(crate::quantity::AbsolutePressure::from_pa(ambient_pa))
                    .pa(),
                _ => 0.0,
            })
            .collect();
        let reference_pa = net
            .nodes
            .iter()
            .zip(&fixed_pa)
            .find(|(n, _)| matches!(n.kind, NodeKind::Fixed { .. }))
            .map_or(ambient_pa, |(_, p)| *p);
        let weight_pa = net
            .branches
            .iter()
            .map(|b| {
                let columns = b.elements.clone().map(|e| {
                    let element = &net.elements[e];
                    fluid.elements[e].density_kg_m3
                        * GRAVITY_M_S2
                        * (element.lead_m + element.rise_m)
                });
                columns.sum::<f64>() + fluid.node_density_kg_m3[b.to] * GRAVITY_M_S2 * b.trail_m
            })
            .collect();
        let inflow_kg_s = net
            .nodes
            .iter()
            .zip(&fluid.node_density_kg_m3)
            .map(|(n, rho)| match n.kind {
                NodeKind::Draw { inflow_m3_s } => inflow_m3_s * rho,
                _ => 0.0,
            })
            .collect();
        Self {
            net,
            layout,
            fluid,
            fixed_pa,
            weight_pa,
            inflow_kg_s,
            reference_pa,
            flow_scale: 1.0,
            pressure_scale: 1.0,
            damping: vec![1.0; net.branches.len()],
            tee_states: Vec::new(),
        }
    }

    /// Total pressure at a node, Pa above the reference.
    fn node_pa(&self, node: usize, x: &[f64]) -> f64 {
        match self.layout.free[node] {
            Some(place) => x[place] * self.pressure_scale,
            None => self.fixed_pa[node] - self.reference_pa,
        }
    }

    /// Loss of all elements of a branch, without gravity.
    pub fn branch_drop(&self, branch: usize, flow_kg_s: f64) -> Drop {
        let mut sum = Drop::default();
        for e in self.net.branches[branch].elements.clone() {
            for law in self.net.elements[e].laws.clone() {
                sum += self.net.laws[law].drop(flow_kg_s, &self.fluid.elements[e]);
            }
        }
        sum
    }

    fn leg_flows(&self, slots: &TeeSlots, x: &[f64]) -> [f64; 3] {
        slots.legs.each_ref().map(|leg| {
            leg.as_ref()
                .map_or(0.0, |(branch, sign, _)| sign * x[*branch] * self.flow_scale)
        })
    }

    /// State of every tee at these flows (scaled unknowns).
    fn update_tees(&mut self, x: &[f64]) {
        let states = self.layout.tees.iter().map(|slots| {
            let NodeKind::Tee(node) = &self.net.nodes[slots.node].kind else {
                return TeeState::AT_REST;
            };
            let density = self.fluid.node_density_kg_m3[slots.node];
            tee(node.model, &node.shape, density, self.leg_flows(slots, x))
        });
        self.tee_states = states.collect();
    }

    /// The flow at which a branch is linearised for the first guess.
    fn start_flow(&self, branch: usize, speed: f64) -> f64 {
        let elements = self.net.branches[branch].elements.clone();
        elements
            .filter_map(|e| {
                let passage = self.net.elements[e].passage?;
                let rho = self.fluid.elements[e].density_kg_m3;
                let velocity = if rho < AIR_BELOW_KG_M3 {
                    START_AIR_M_S
                } else {
                    START_LIQUID_M_S
                };
                Some(rho * velocity * passage.area_m2 * passage.parallel)
            })
            .reduce(f64::min)
            .unwrap_or(START_FLOW_KG_S)
            * speed
    }

    /// A first guess: every branch linearised through its start flow, machines along their tangent at half their free
    /// flow, tees left out. Sets the scales; returns scaled unknowns, or `None` where the linear system is singular.
    pub fn first_guess(&mut self, speed: f64, matrix: &mut SparseSystem) -> Option<Vec<f64>> {
        self.flow_scale = 1.0;
        self.pressure_scale = 1.0;
        matrix.clear();
        let mut rhs = vec![0.0; self.layout.size];
        let (mut largest_flow, mut largest_drop) = (0.0_f64, 1.0_f64);
        let mut stiffness = vec![0.0; self.net.branches.len()];
        for (j, branch) in self.net.branches.iter().enumerate() {
            let at = self.start_flow(j, speed);
            let (mut slope, mut offset) = (0.0, self.weight_pa[j]);
            for e in branch.elements.clone() {
                let fluid = &self.fluid.elements[e];
                for law in self.net.elements[e].laws.clone() {
                    let law = &self.net.laws[law];
                    if let Law::Machine(machine) = law {
                        let half = 0.5 * machine.free_flow_m3_s() * fluid.density_kg_m3;
                        let drop = law.drop(half, fluid);
                        slope += drop.slope_pa_s_kg;
                        offset += drop.drop_pa - drop.slope_pa_s_kg * half;
                        largest_drop =
                            largest_drop.max(machine.shut_off_rise_pa(fluid.density_kg_m3));
                    } else {
                        slope += law.drop(at, fluid).drop_pa / at;
                    }
                }
            }
            if let Passage::OneWay { cracking_pa } = branch.passage {
                offset += cracking_pa;
            }
            stiffness[j] = slope.max(1e-6 * largest_drop / at);
            let slots = &self.layout.branches[j];
            let fixed = |n: usize| {
                if self.layout.free[n].is_none() {
                    self.node_pa(n, &rhs)
                } else {
                    0.0
                }
            };
            let stated = fixed(branch.from) - fixed(branch.to);
            if branch.passage == Passage::Shut {
                // The leak gives a piece that is shut off on all sides a pressure, as in the equations themselves.
                matrix.add(slots.own, 1.0);
                rhs[j] = SHUT_LEAK * stated;
                add_pressures(matrix, slots, -SHUT_LEAK);
            } else {
                matrix.add(slots.own, -stiffness[j]);
                rhs[j] = offset - stated;
                add_pressures(matrix, slots, 1.0);
            }
            if let Some(slot) = slots.node_from {
                matrix.add(slot, -1.0);
            }
            if let Some(slot) = slots.node_to {
                matrix.add(slot, 1.0);
            }
            largest_drop = largest_drop.max(self.weight_pa[j].abs());
        }
        for (node, place) in self.layout.free.iter().enumerate() {
            match place {
                Some(place) => rhs[*place] = -self.inflow_kg_s[node],
                None => {
                    largest_drop = largest_drop.max((self.fixed_pa[node] - self.reference_pa).abs())
                }
            }
        }
        if matrix.factorise().is_err() || matrix.solve(&mut rhs).is_err() {
            return None;
        }
        let branches = self.net.branches.len();
        for (j, flow) in rhs[..branches].iter_mut().enumerate() {
            if matches!(self.net.branches[j].passage, Passage::OneWay { .. }) && *flow < 0.0 {
                *flow = 0.0;
            }
            largest_flow = largest_flow.max(flow.abs());
            largest_drop = largest_drop.max((*flow * stiffness[j]).abs());
        }
        self.flow_scale = if largest_flow > 0.0 {
            largest_flow
        } else {
            START_FLOW_KG_S
        };
        self.pressure_scale = largest_drop;
        self.damping = stiffness
            .iter()
            .map(|s| s * self.flow_scale / self.pressure_scale)
            .collect();
        let mut x = rhs;
        x[..branches].iter_mut().for_each(|m| *m /= self.flow_scale);
        x[branches..]
            .iter_mut()
            .for_each(|p| *p /= self.pressure_scale);
        Some(x)
    }

    /// Scaled unknowns from flows and absolute pressures of an earlier solution.
    pub fn scaled(&mut self, flow_kg_s: &[f64], node_pa: &[f64]) -> Vec<f64> {
        let most = flow_kg_s.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
        self.flow_scale = if most > 0.0 { most } else { START_FLOW_KG_S };
        let span = node_pa
            .iter()
            .fold(1.0, |m: f64, p| m.max((p - self.reference_pa).abs()));
        self.pressure_scale = span;
        let mut x = vec![0.0; self.layout.size];
        for (x, m) in x.iter_mut().zip(flow_kg_s) {
            *x = m / self.flow_scale;
        }
        for (node, place) in self.layout.free.iter().enumerate() {
            if let Some(place) = place {
                x[*place] = (node_pa[node] - self.reference_pa) / self.pressure_scale;
            }
        }
        for (j, flow) in flow_kg_s.iter().enumerate() {
            let slope = self.branch_drop(j, *flow).slope_pa_s_kg.abs();
            self.damping[j] = (slope * self.flow_scale / self.pressure_scale).max(1e-6);
        }
        x
    }

    /// A residual of branches in Pa.
    pub fn misses_pa(&self, residual: f64) -> f64 {
        residual * self.pressure_scale
    }

    /// Flows in kg/s and absolute total pressures in Pa from scaled unknowns.
    pub fn unscaled(&self, x: &[f64]) -> (Vec<f64>, Vec<f64>) {
        let flows = x[..self.net.branches.len()]
            .iter()
            .map(|m| m * self.flow_scale)
            .collect();
        let pressures = (0..self.net.nodes.len())
            .map(|n| self.node_pa(n, x) + self.reference_pa)
            .collect();
        (flows, pressures)
    }

    /// The excess pressures of every tee's legs (in the order of the nodes) at these flows.
    pub fn tee_excess_pa(&mut self, x: &[f64]) -> Vec<(usize, [f64; 3])> {
        self.update_tees(x);
        self.layout
            .tees
            .iter()
            .zip(&self.tee_states)
            .map(|(slots, state)| (slots.node, state.excess_pa))
            .collect()
    }

    /// The branch whose equation is worst met.
    pub fn worst_branch(&mut self, x: &[f64]) -> Option<usize> {
        let mut residual = vec![0.0; self.layout.size];
        self.evaluate(x, &mut residual, None);
        (0..self.net.branches.len())
            .max_by(|a, b| residual[*a].abs().total_cmp(&residual[*b].abs()))
    }
}

impl System for FlowEquations<'_> {
    fn size(&self) -> usize {
        self.layout.size
    }

    fn evaluate(&mut self, x: &[f64], residual: &mut [f64], mut slopes: Option<&mut SparseSystem>) {
        self.update_tees(x);
        if let Some(matrix) = slopes.as_deref_mut() {
            matrix.clear();
        }
        let (ms, ps) = (self.flow_scale, self.pressure_scale);
        // Excess pressure of the tee legs, gathered per branch.
        let mut excess = vec![0.0; self.net.branches.len()];
        for (slots, state) in self.layout.tees.iter().zip(&self.tee_states) {
            for (leg, entry) in slots.legs.iter().enumerate() {
                if let Some((branch, sign, _)) = entry {
                    excess[*branch] -= sign * state.excess_pa[leg];
                }
            }
        }
        residual.fill(0.0);
        let mut row_factor = vec![1.0; self.net.branches.len()];
        for (j, branch) in self.net.branches.iter().enumerate() {
            let slots = &self.layout.branches[j];
            let flow = x[j] * ms;
            let (a, b) = (self.node_pa(branch.from, x), self.node_pa(branch.to, x));
            if let Some(place) = self.layout.free[branch.from] {
                residual[place] -= x[j];
            }
            if let Some(place) = self.layout.free[branch.to] {
                residual[place] += x[j];
            }
            if let Some(matrix) = slopes.as_deref_mut() {
                for (slot, sign) in [(slots.node_from, -1.0), (slots.node_to, 1.0)] {
                    if let Some(slot) = slot {
                        matrix.add(slot, sign);
                    }
                }
            }
            if branch.passage == Passage::Shut {
                residual[j] = x[j] - SHUT_LEAK * (a - b) / ps;
                row_factor[j] = 0.0;
                if let Some(matrix) = slopes.as_deref_mut() {
                    matrix.add(slots.own, 1.0);
                    add_pressures(matrix, slots, -SHUT_LEAK);
                }
                continue;
            }
            let drop = self.branch_drop(j, flow);
            let plain = (a - b + excess[j] - drop.drop_pa - self.weight_pa[j]) / ps;
            let own = -drop.slope_pa_s_kg * ms / ps;
            if let Passage::OneWay { cracking_pa } = branch.passage {
                // Slack of the shut valve, and its flow with a leak that only the pressures see.
                let (leak, slack) = (x[j] - SHUT_LEAK * (a - b) / ps, cracking_pa / ps - plain);
                let h = leak.hypot(slack);
                let (fa, fb) = if h > 0.0 {
                    (1.0 - leak / h, 1.0 - slack / h)
                } else {
                    (
                        1.0 - std::f64::consts::FRAC_1_SQRT_2,
                        1.0 - std::f64::consts::FRAC_1_SQRT_2,
                    )
                };
                residual[j] = if leak > 0.0 && slack > 0.0 {
                    2.0 * leak * slack / (leak + slack + h)
                } else {
                    leak + slack - h
                };
                row_factor[j] = -fb;
                if let Some(matrix) = slopes.as_deref_mut() {
                    matrix.add(slots.own, fa - fb * own);
                    add_pressures(matrix, slots, -fb - fa * SHUT_LEAK);
                }
            } else {
                residual[j] = plain;
                if let Some(matrix) = slopes.as_deref_mut() {
                    matrix.add(slots.own, own);
                    add_pressures(matrix, slots, 1.0);
                }
            }
        }
        for (node, place) in self.layout.free.iter().enumerate() {
            if let Some(place) = place {
                residual[*place] += self.inflow_kg_s[node] / ms;
            }
        }
        if let Some(matrix) = slopes {
            for (slots, state) in self.layout.tees.iter().zip(&self.tee_states) {
                for (leg, entry) in slots.legs.iter().enumerate() {
                    let Some((branch, sign, row)) = entry else {
                        continue;
                    };
                    for (other, slot) in row.iter().enumerate() {
                        if let (Some(slot), Some((_, other_sign, _))) = (slot, &slots.legs[other]) {
                            let slope = -sign * state.slope[leg][other] * other_sign * ms / ps;
                            matrix.add(*slot, row_factor[*branch] * slope);
                        }
                    }
                }
            }
        }
    }

    fn relative_size(&self, step: &[f64], x: &[f64]) -> f64 {
        let count = self.net.branches.len();
        let most = x[..count].iter().fold(1e-3, |m: f64, v| m.max(v.abs()));
        step[..count].iter().fold(0.0, |m: f64, v| m.max(v.abs())) / most
    }

    fn damp(&self, weight: f64, slopes: &mut SparseSystem) {
        for (slots, stiffness) in self.layout.branches.iter().zip(&self.damping) {
            slopes.add(slots.own, -weight * stiffness);
        }
    }
}

fn add_pressures(matrix: &mut SparseSystem, slots: &BranchSlots, value: f64) {
    if let Some(slot) = slots.from {
        matrix.add(slot, value);
    }
    if let Some(slot) = slots.to {
        matrix.add(slot, -value);
    }
}

#[cfg(test)]
#[path = "hydraulic_tests.rs"]
mod tests;
