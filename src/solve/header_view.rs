//! A bank as its headers make it: flows and temperatures of its modules, the design ratios that builders quote, and why
//! the worst branch is the worst. Read off a solution; nothing is iterated here.

use super::case_state::LoopState;
use super::loop_view::LoopView;
use super::solution::spread;
use crate::network::{BankMap, BranchEnd, NodeKind};

/// What was solved for a bank. A module that is missing has no flow and no temperature: `NaN` in the lists.
#[derive(Clone, Debug, PartialEq)]
pub struct BankState {
    /// Name in its loop.
    pub id: String,
    /// Mass flow of each circuit, kg/s, module by module.
    pub circuit_flow_kg_s: Vec<f64>,
    /// Flow of each circuit over the mean of the bank.
    pub circuit_flow_over_mean: Vec<f64>,
    /// Flow of each module (the sum of its circuits) over the mean of the bank.
    pub branch_flow_over_mean: Vec<f64>,
    /// Largest circuit flow over smallest; none where one has no flow.
    pub max_over_min: Option<f64>,
    /// Largest of `|flow/mean - 1|` over the circuits.
    pub deviation: f64,
    /// Temperature of each module, K.
    pub module_temperature_k: Vec<f64>,
    /// Hottest less coldest module, K.
    pub module_temperature_spread_k: f64,
    /// Header area over the sum of port areas.
    pub area_ratio: f64,
    /// Port of the first circuit of each module, counted from 0; none where the module is missing.
    pub module_port: Vec<Option<usize>>,
    /// Static pressure at each port of the supply header, Pa gauge.
    pub supply_static_gauge_pa: Vec<f64>,
    /// Static pressure at each port of the return header, Pa gauge.
    pub return_static_gauge_pa: Vec<f64>,
    /// Volume flow of all circuits together, m3/s.
    pub volume_flow_m3_s: f64,
    /// Total pressure lost from inlet to outlet, Pa, without the weight of the column.
    pub drop_pa: f64,
    /// Mean loss of a branch from port to port, Pa.
    pub branch_loss_pa: f64,
    /// Largest velocity head in either header, Pa.
    pub header_head_pa: f64,
    /// Wall friction along both headers, from the feed to the farthest port and back, Pa.
    pub header_friction_pa: f64,
    /// The branch that is farthest from the mean, and why.
    pub worst: Option<WorstBranch>,
}

/// The branch farthest from the mean of its bank.
#[derive(Clone, Debug, PartialEq)]
pub struct WorstBranch {
    /// The circuit, such as `mid.module 3.circuit 1`.
    pub id: String,
    /// Its flow over the mean.
    pub over_mean: f64,
    /// Pressure that friction in the headers adds to (or takes from) it against the mean of the branches, Pa.
    pub friction_pa: f64,
    /// Pressure that the tees (change of velocity, turning) add to it against the mean, Pa.
    pub momentum_pa: f64,
    /// What decides.
    pub cause: Cause,
}

/// Why a branch differs from the mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// Friction along the headers.
    Friction,
    /// Change of velocity and turning at the tees.
    Momentum,
    /// The branch itself differs from the others.
    Branch,
}

impl Cause {
    /// The words a report prints.
    pub fn words(self) -> &'static str {
        match self {
            Self::Friction => "friction along the headers",
            Self::Momentum => "change of velocity at the tees",
            Self::Branch => "the branch itself",
        }
    }
}

/// A circuit with less than this share of the mean flow is blocked: what is left is round-off.
const BLOCKED_SHARE: f64 = 1e-9;

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values
        .filter(|v| v.is_finite())
        .fold((0.0, 0), |(s, n), v| (s + v, n + 1));
    if count == 0 {
        0.0
    } else {
        sum / f64::from(count)
    }
}

fn over(q: f64, mean: f64) -> f64 {
    if q.is_nan() {
        f64::NAN
    } else if mean == 0.0 {
        1.0
    } else {
        q / mean
    }
}

/// Distances over the largest of them that are the same: equal branches differ by round-off.
const SAME_SHARE: f64 = 1e-9;

/// The place of the largest of these distances by size, the first of equal ones.
pub(crate) fn first_farthest(off: impl Iterator<Item = f64> + Clone) -> Option<usize> {
    let most = off.clone().fold(0.0, |m: f64, v| m.max(v.abs()));
    let mut sizes = off.map(f64::abs);
    sizes.position(|v| v >= (1.0 - SAME_SHARE) * most)
}

/// Largest of `|flow/mean - 1|`.
pub(super) fn deviation(flows: &[f64]) -> f64 {
    let mean = mean(flows.iter().copied());
    if mean == 0.0 {
        return 0.0;
    }
    flows
        .iter()
        .filter(|q| q.is_finite())
        .fold(0.0, |m: f64, q| m.max((q / mean - 1.0).abs()))
}

/// Largest flow over smallest; none where one has no flow.
fn max_over_min(flows: &[f64]) -> Option<f64> {
    let high = flows.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let low = flows.iter().copied().fold(f64::INFINITY, f64::min);
    (low > BLOCKED_SHARE * mean(flows.iter().copied()) && low.is_finite()).then(|| high / low)
}

/// How uneven the flows of a bank are, without the rest of [`BankState`].
#[derive(Clone, Debug, PartialEq)]
pub struct Unevenness {
    /// Name of the bank in its loop.
    pub id: String,
    /// Largest of `|flow/mean - 1|` over the circuits.
    pub deviation: f64,
    /// Largest circuit flow over smallest; none where one has no flow.
    pub max_over_min: Option<f64>,
}

impl Unevenness {
    /// Of all banks of a loop.
    pub(super) fn of(state: &LoopState) -> Vec<Self> {
        let circuit = &state.circuit;
        let net = &circuit.net;
        let banks = circuit.banks.iter().map(|map| {
            let modules = circuit.modules[map.modules.clone()].iter();
            let elements = modules.flat_map(|m| m.circuits.iter().copied());
            let flows = elements.map(|e| state.flow.flow_kg_s[net.branch_of(e)]);
            let flows: Vec<f64> = flows.collect();
            Self {
                id: map.name.clone(),
                deviation: deviation(&flows),
                max_over_min: max_over_min(&flows),
            }
        });
        banks.collect()
    }
}

impl LoopView<'_> {
    /// The state of a bank.
    pub fn bank(&self, map: &BankMap) -> BankState {
        let circuit = &self.state.circuit;
        let modules = &circuit.modules[map.modules.clone()];
        let flow = |e: &usize| self.state.flow.flow_kg_s[self.branch_of()[*e]];
        let elements: Vec<usize> = modules
            .iter()
            .flat_map(|m| m.circuits.iter().copied())
            .collect();
        let flows: Vec<f64> = elements.iter().map(flow).collect();
        let circuit_mean = mean(flows.iter().copied());
        let module_flow: Vec<f64> = modules
            .iter()
            .map(|m| {
                if m.circuits.is_empty() {
                    f64::NAN
                } else {
                    m.circuits.iter().map(flow).sum()
                }
            })
            .collect();
        let module_mean = mean(module_flow.iter().copied());
        let temperatures: Vec<f64> = modules
            .iter()
            .zip(&self.state.heat.module_k[map.modules.clone()])
            .map(|(m, t)| if m.circuits.is_empty() { f64::NAN } else { *t })
            .collect();
        let branch_loss: Vec<f64> = elements
            .iter()
            .map(|e| self.branch_loss_pa(self.branch_of()[*e]))
            .collect();
        let (supply, ret) = (self.friction(map, true), self.friction(map, false));
        let farthest = |f: &[f64]| {
            f.iter()
                .copied()
                .filter(|v| v.is_finite())
                .fold(0.0, f64::max)
        };
        BankState {
            id: map.name.clone(),
            circuit_flow_over_mean: flows.iter().map(|q| over(*q, circuit_mean)).collect(),
            branch_flow_over_mean: module_flow.iter().map(|q| over(*q, module_mean)).collect(),
            max_over_min: max_over_min(&flows),
            deviation: deviation(&flows),
            module_temperature_spread_k: spread(&temperatures),
            module_temperature_k: temperatures,
            area_ratio: map.area_ratio,
            module_port: modules
                .iter()
                .map(|m| m.circuits.first().and_then(|e| self.port(map, *e)))
                .collect(),
            supply_static_gauge_pa: self.header_static(&map.supply_tees),
            return_static_gauge_pa: self.header_static(&map.return_tees),
            volume_flow_m3_s: elements
                .iter()
                .map(|e| flow(e) / self.state.fluid.elements[*e].density_kg_m3)
                .sum(),
            drop_pa: self.leg_pa(map.inlet) - self.leg_pa(map.outlet),
            branch_loss_pa: mean(branch_loss.iter().copied()),
            header_head_pa: self.largest_head_pa(map),
            header_friction_pa: farthest(&supply) + farthest(&ret),
            worst: self.worst(map, &elements, &flows, &branch_loss, (&supply, &ret)),
            circuit_flow_kg_s: flows,
        }
    }

    /// The port of a circuit: the supply tee at which its branch begins.
    fn port(&self, map: &BankMap, element: usize) -> Option<usize> {
        let from = self.state.circuit.net.branches[self.branch_of()[element]].from;
        map.supply_tees.iter().position(|t| *t == from)
    }

    /// Total pressure at a leg of a tee, Pa absolute.
    fn leg_pa(&self, (node, leg): (usize, usize)) -> f64 {
        let excess = self
            .state
            .flow
            .tee_excess_pa
            .iter()
            .find(|(n, _)| *n == node);
        self.state.flow.node_pa[node] + excess.map_or(0.0, |(_, e)| e[leg])
    }

    /// Loss of a branch from end to end, Pa, without the weight of the column.
    fn branch_loss_pa(&self, branch: usize) -> f64 {
        self.state.circuit.net.branches[branch]
            .elements
            .clone()
            .map(|e| self.drop_pa()[e])
            .sum()
    }

    /// Wall friction along a header between the place where it is fed (or drawn off) and each of its ports, Pa.
    fn friction(&self, map: &BankMap, supply: bool) -> Vec<f64> {
        let net = &self.state.circuit.net;
        let (tees, tap) = if supply {
            (&map.supply_tees, map.inlet.0)
        } else {
            (&map.return_tees, map.outlet.0)
        };
        let mut lost_pa = vec![f64::NAN; net.nodes.len()];
        // Nodes of the header that were not reached yet.
        let mut ahead = vec![false; net.nodes.len()];
        tees.iter().for_each(|t| ahead[*t] = true);
        (lost_pa[tap], ahead[tap]) = (0.0, false);
        let mut waiting = vec![tap];
        while let Some(node) = waiting.pop() {
            let NodeKind::Tee(tee) = &net.nodes[node].kind else {
                continue;
            };
            for &(branch, end) in tee.legs[..2].iter().flatten() {
                let other = match end {
                    BranchEnd::Start => net.branches[branch].to,
                    BranchEnd::Finish => net.branches[branch].from,
                };
                if std::mem::take(&mut ahead[other]) {
                    // Towards a supply port the drop counts along the flow, from a return port likewise.
                    let along = (end == BranchEnd::Start) == supply;
                    let drop = self.branch_loss_pa(branch);
                    lost_pa[other] = lost_pa[node] + if along { drop } else { -drop };
                    waiting.push(other);
                }
            }
        }
        tees.iter().map(|t| lost_pa[*t]).collect()
    }

    fn largest_head_pa(&self, map: &BankMap) -> f64 {
        let net = &self.state.circuit.net;
        let mut largest = 0.0_f64;
        for &node in map.supply_tees.iter().chain(&map.return_tees) {
            let NodeKind::Tee(tee) = &net.nodes[node].kind else {
                continue;
            };
            let rho = self.state.fluid.node_density_kg_m3[node];
            for (leg, area) in tee.legs[..2]
                .iter()
                .zip([tee.shape.a_area_m2, tee.shape.b_area_m2])
            {
                if let Some((branch, _)) = leg {
                    let velocity = self.state.flow.flow_kg_s[*branch] / (rho * area);
                    largest = largest.max(0.5 * rho * velocity * velocity);
                }
            }
        }
        largest
    }

    fn worst(
        &self,
        map: &BankMap,
        elements: &[usize],
        flows: &[f64],
        losses: &[f64],
        (supply, ret): (&[f64], &[f64]),
    ) -> Option<WorstBranch> {
        let net = &self.state.circuit.net;
        let flow_mean = mean(flows.iter().copied());
        let worst = first_farthest(flows.iter().map(|q| q - flow_mean))?;
        if flow_mean == 0.0 {
            return None;
        }
        let paid: Vec<f64> = elements
            .iter()
            .map(|e| self.port(map, *e).map_or(f64::NAN, |p| supply[p] + ret[p]))
            .collect();
        let friction_pa = mean(paid.iter().copied()) - paid[worst];
        let momentum_pa = losses[worst] - mean(losses.iter().copied()) - friction_pa;
        let lifted = friction_pa + momentum_pa;
        let blocked = flows[worst].abs() <= BLOCKED_SHARE * flow_mean.abs();
        let cause = if blocked
            || lifted * (flows[worst] - flow_mean) <= 0.0
                && (flows[worst] / flow_mean - 1.0).abs() > 1e-9
        {
            Cause::Branch
        } else if friction_pa.abs() >= momentum_pa.abs() {
            Cause::Friction
        } else {
            Cause::Momentum
        };
        Some(WorstBranch {
            id: net.elements[elements[worst]].id.as_str().to_owned(),
            over_mean: flows[worst] / flow_mean,
            friction_pa,
            momentum_pa,
            cause,
        })
    }

    /// Static pressure of the run at each tee of a header: the larger run flow's total pressure less its velocity head.
    fn header_static(&self, tees: &[usize]) -> Vec<f64> {
        let flows = &self.state.flow.flow_kg_s;
        tees.iter()
            .map(|&n| {
                let NodeKind::Tee(tee) = &self.state.circuit.net.nodes[n].kind else {
                    return 0.0;
                };
                let areas = [tee.shape.a_area_m2, tee.shape.b_area_m2];
                let run = tee.legs[..2]
                    .iter()
                    .zip(areas)
                    .filter_map(|(leg, area)| leg.map(|(branch, end)| (branch, end, area)))
                    .max_by(|a, b| flows[a.0].abs().total_cmp(&flows[b.0].abs()));
                let Some((branch, end, area)) = run else {
                    return 0.0;
                };
                let rho = self.state.fluid.node_density_kg_m3[n];
                let velocity = flows[branch] / (rho * area);
                let total = self.state.flow.node_pa[n] + self.excess(n, branch, end);
                total - 0.5 * rho * velocity * velocity - self.ambient_pa
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_branches_that_differ_by_round_off_the_first_is_named() {
        let find = |values: &[f64]| first_farthest(values.iter().copied());
        assert_eq!(find(&[0.1, -0.3, 0.3 + 1e-16, 0.2]), Some(1));
        assert_eq!(find(&[0.1, -0.3, 0.31]), Some(2));
        assert_eq!(find(&[0.0, 0.0]), Some(0));
        assert_eq!(find(&[]), None);
    }
}
