//! The answer of a case as a view: what flows through every part, at which pressures and temperatures.
//! It is read off the solver's raw numbers; nothing is iterated here.

use super::case_state::{Carried, CaseState, LoopState, ambient_pa};
use super::closure::{Closure, closure};
use super::header_view::{BankState, Unevenness, deviation};
use super::hydraulic::GRAVITY_M_S2;
use super::second::SecondAnswer;
use super::states::{EffortSum, PartState, PointState, PumpState};
use crate::finding::Finding;
use crate::network::{BranchEnd, Case, HeatRole, Network, NodeKind};
use crate::part::Law;
use std::borrow::Cow;
use std::sync::OnceLock;

/// A solved case.
#[derive(Clone, Debug)]
pub struct Solution<'n> {
    pub(super) network: &'n Network,
    pub(super) case: Case,
    pub(super) state: CaseState,
    pub(super) findings: Vec<Finding>,
    pub(super) second: Vec<SecondAnswer>,
    /// What views read of each loop, once one has asked for it.
    seen: Vec<Seen>,
}

/// What views read of one loop.
#[derive(Clone, Debug, Default)]
struct Seen {
    along: OnceLock<Along>,
    parts: OnceLock<Vec<PartState>>,
    banks: OnceLock<Vec<BankState>>,
}

impl<'n> Solution<'n> {
    /// A state as an answer, without findings and without a look for a second one.
    pub(super) fn of_state(network: &'n Network, case: &Case, state: CaseState) -> Self {
        Self {
            network,
            case: case.clone(),
            seen: vec![Seen::default(); state.loops.len()],
            state,
            findings: Vec::new(),
            second: Vec::new(),
        }
    }

    /// The view of a loop.
    pub(super) fn view(&self, index: usize) -> LoopView<'_> {
        let state = &self.state.loops[index];
        LoopView {
            state,
            ambient_pa: ambient_pa(&self.case),
            along: Cow::Borrowed(self.seen[index].along.get_or_init(|| Along::new(state))),
        }
    }

    /// The place of a loop.
    fn index_of(&self, name: &str) -> Option<usize> {
        let mut loops = self.state.loops.iter();
        loops.position(|l| l.circuit.name == name)
    }

    /// The view of a loop by its name.
    fn view_of(&self, name: &str) -> Option<LoopView<'_>> {
        Some(self.view(self.index_of(name)?))
    }

    /// The case.
    pub fn case(&self) -> &Case {
        &self.case
    }

    /// The network that was solved.
    pub fn network(&self) -> &'n Network {
        self.network
    }

    /// Names of the loops, in the order of the design.
    pub fn loop_names(&self) -> impl Iterator<Item = &str> {
        self.state.loops.iter().map(|l| l.circuit.name.as_str())
    }

    /// The raw state of a loop.
    pub fn loop_state(&self, name: &str) -> Option<&LoopState> {
        self.state.loops.iter().find(|l| l.circuit.name == name)
    }

    /// What the builder should know.
    pub fn findings(&self) -> &[Finding] {
        &self.findings
    }

    /// Loops that settle elsewhere from another start; looked for by [`super::Solver::solve_from_both_ends`] alone.
    pub fn second_answers(&self) -> &[SecondAnswer] {
        &self.second
    }

    /// Whether temperatures of a loop were solved, stated or left out.
    pub fn carried(&self, name: &str) -> Option<Carried> {
        self.loop_state(name).map(|l| l.carried)
    }

    /// Effort of the case.
    pub fn effort(&self) -> EffortSum {
        let airs = self
            .state
            .airs
            .iter()
            .map(|a| (a.flow.steps, 1, a.flow.factorisations));
        let loops = self
            .state
            .loops
            .iter()
            .map(|l| (l.steps_max, l.passes, l.factorisations));
        airs.chain(loops)
            .fold(EffortSum::default(), |sum, (steps, passes, count)| {
                EffortSum {
                    newton_iterations_max: sum.newton_iterations_max.max(steps),
                    passes: sum.passes.max(passes),
                    factorisations: sum.factorisations + count,
                }
            })
    }

    /// Largest scaled residual left by any hydraulic solve.
    pub fn residual(&self) -> f64 {
        let airs = self.state.airs.iter().map(|a| &a.flow);
        let loops = self.state.loops.iter().map(|l| &l.flow);
        airs.chain(loops)
            .filter_map(|f| f.history.last().copied())
            .fold(0.0, f64::max)
    }

    /// Closures of a loop, recomputed from its reported flows and temperatures.
    pub fn closure(&self, name: &str) -> Option<Closure> {
        self.loop_state(name)
            .map(|l| closure(l, self.case.air_temperature_k))
    }

    /// All parts of a loop with an inlet and an outlet.
    pub fn parts(&self, name: &str) -> &[PartState] {
        let Some(index) = self.index_of(name) else {
            return &[];
        };
        let seen = &self.seen[index];
        seen.parts.get_or_init(|| self.view(index).parts())
    }

    /// One part of a loop.
    pub fn part(&self, owner: &str, id: &str) -> Option<PartState> {
        let view = self.view_of(owner)?;
        let mut elements = view.state.circuit.net.elements.iter();
        view.part(elements.position(|e| e.id.as_str() == id)?)
    }

    /// The hoses of a loop, each with the size of its mean velocity, m/s.
    pub fn hose_speeds(&self, name: &str) -> Vec<(&str, f64)> {
        let Some(view) = self.view_of(name) else {
            return Vec::new();
        };
        let state = view.state;
        let elements = state.circuit.net.elements.iter().enumerate();
        let hoses = elements.filter(|(_, element)| element.kind == "hose");
        hoses
            .filter_map(|(e, hose)| Some((hose.id.as_str(), view.velocity_m_s(e)?.abs())))
            .collect()
    }

    /// Points and tees of a loop.
    pub fn points(&self, name: &str) -> Vec<PointState> {
        self.view_of(name).map(|v| v.points()).unwrap_or_default()
    }

    /// Power that each tee uses up, W: what its flows bring in less what they carry out.
    pub fn tee_power_w(&self, name: &str) -> Vec<(String, f64)> {
        let Some(state) = self.loop_state(name) else {
            return Vec::new();
        };
        let points = self.points(name);
        let excess = &state.flow.tee_excess_pa;
        excess
            .iter()
            .filter_map(|(node, excess_pa)| {
                let flows = points[*node].leg_flow_kg_s?;
                let rho = state.fluid.node_density_kg_m3[*node];
                let power = flows.iter().zip(excess_pa).map(|(m, e)| m * e / rho).sum();
                Some((points[*node].id.clone(), power))
            })
            .collect()
    }

    /// Banks of a loop.
    pub fn banks(&self, name: &str) -> &[BankState] {
        let Some(index) = self.index_of(name) else {
            return &[];
        };
        self.seen[index].banks.get_or_init(|| {
            let view = self.view(index);
            let banks = view.state.circuit.banks.iter();
            banks.map(|b| view.bank(b)).collect()
        })
    }

    /// How uneven the flows of each bank of a loop are: what [`Solution::banks`] says of it, without the rest.
    pub fn unevenness(&self, name: &str) -> Vec<Unevenness> {
        self.loop_state(name)
            .map(Unevenness::of)
            .unwrap_or_default()
    }

    /// Pumps of a loop.
    pub fn pumps(&self, name: &str) -> Vec<PumpState> {
        self.view_of(name).map(|v| v.pumps()).unwrap_or_default()
    }

    /// Largest of `|flow/mean - 1|` over all circuits of a loop; none without modules.
    pub fn loop_deviation(&self, name: &str) -> Option<f64> {
        deviation_of(self.banks(name))
    }

    /// Hottest less coldest module of a loop, K; none without modules.
    pub fn loop_spread_k(&self, name: &str) -> Option<f64> {
        spread_of(self.banks(name))
    }
}

/// Largest of `|flow/mean - 1|` over all circuits of banks; none without circuits.
pub(crate) fn deviation_of(banks: &[BankState]) -> Option<f64> {
    let flows = banks.iter().flat_map(|b| &b.circuit_flow_kg_s);
    let flows: Vec<f64> = flows.copied().collect();
    (!flows.is_empty()).then(|| deviation(&flows))
}

/// Hottest less coldest module of banks, K; none without modules.
pub(crate) fn spread_of(banks: &[BankState]) -> Option<f64> {
    let temperatures = banks.iter().flat_map(|b| &b.module_temperature_k);
    let temperatures: Vec<f64> = temperatures.copied().collect();
    (!temperatures.is_empty()).then(|| spread(&temperatures))
}

/// Largest less smallest of the values that exist.
pub(super) fn spread(values: &[f64]) -> f64 {
    let known = || values.iter().copied().filter(|v| v.is_finite());
    let (high, low) = (
        known().fold(f64::NEG_INFINITY, f64::max),
        known().fold(f64::INFINITY, f64::min),
    );
    (high - low).max(0.0)
}

/// Pressures along the branches of one loop, at its elements.
#[derive(Clone, Debug)]
pub(super) struct Along {
    pub branch_of: Vec<usize>,
    pub inlet_pa: Vec<f64>,
    pub outlet_pa: Vec<f64>,
    pub drop_pa: Vec<f64>,
}

impl Along {
    fn new(state: &LoopState) -> Self {
        let net = &state.circuit.net;
        let count = net.elements.len();
        let mut along = Self {
            branch_of: net.branch_of_elements(),
            inlet_pa: vec![0.0; count],
            outlet_pa: vec![0.0; count],
            drop_pa: vec![0.0; count],
        };
        for (j, branch) in net.branches.iter().enumerate() {
            let flow = state.flow.flow_kg_s[j];
            let mut pressure = state.flow.node_pa[branch.from]
                + excess_pa(state, branch.from, j, BranchEnd::Start);
            for e in branch.elements.clone() {
                let fluid = &state.fluid.elements[e];
                let laws = &net.laws[net.elements[e].laws.clone()];
                let drop: f64 = laws.iter().map(|l| l.drop(flow, fluid).drop_pa).sum();
                let weight = fluid.density_kg_m3 * GRAVITY_M_S2;
                pressure -= weight * net.elements[e].lead_m;
                along.inlet_pa[e] = pressure;
                along.drop_pa[e] = drop;
                pressure -= drop + weight * net.elements[e].rise_m;
                along.outlet_pa[e] = pressure;
            }
        }
        along
    }
}

/// Excess pressure of the leg of a tee at which a branch ends, Pa; 0 where there is none.
fn excess_pa(state: &LoopState, node: usize, branch: usize, end: BranchEnd) -> f64 {
    let NodeKind::Tee(tee) = &state.circuit.net.nodes[node].kind else {
        return 0.0;
    };
    let leg = tee.legs.iter().position(|l| *l == Some((branch, end)));
    // In the order of the nodes.
    let known = &state.flow.tee_excess_pa;
    let place = known.binary_search_by_key(&node, |(n, _)| *n);
    match (leg, place) {
        (Some(leg), Ok(k)) => known[k].1[leg],
        _ => 0.0,
    }
}

/// A loop with the pressures along its branches.
pub(super) struct LoopView<'a> {
    pub(super) state: &'a LoopState,
    pub(super) ambient_pa: f64,
    along: Cow<'a, Along>,
}

impl<'a> LoopView<'a> {
    /// A view of its own, for one look.
    pub fn new(state: &'a LoopState, ambient_pa: f64) -> Self {
        Self {
            state,
            ambient_pa,
            along: Cow::Owned(Along::new(state)),
        }
    }

    /// The branch of each element.
    pub(super) fn branch_of(&self) -> &[usize] {
        &self.along.branch_of
    }

    /// Drop along each element, Pa.
    pub(super) fn drop_pa(&self) -> &[f64] {
        &self.along.drop_pa
    }

    pub(super) fn excess(&self, node: usize, branch: usize, end: BranchEnd) -> f64 {
        excess_pa(self.state, node, branch, end)
    }

    /// What the pressures at the ends of a branch miss of the sum of its drops, Pa.
    pub fn misfit_pa(&self, branch: usize) -> f64 {
        let net = &self.state.circuit.net;
        let b = &net.branches[branch];
        let end = self.state.flow.node_pa[b.to] + self.excess(b.to, branch, BranchEnd::Finish);
        let end = end + self.state.fluid.node_density_kg_m3[b.to] * GRAVITY_M_S2 * b.trail_m;
        match b.elements.clone().last() {
            Some(last) => self.along.outlet_pa[last] - end,
            None => {
                self.state.flow.node_pa[b.from] + self.excess(b.from, branch, BranchEnd::Start)
                    - end
            }
        }
    }

    /// Velocity head of an element, or of the nearest one in its branch that has a passage, Pa.
    fn head_pa(&self, element: usize) -> f64 {
        let net = &self.state.circuit.net;
        let range = net.branches[self.along.branch_of[element]].elements.clone();
        let nearest = range
            .filter(|&e| net.elements[e].passage.is_some())
            .min_by_key(|&e| e.abs_diff(element));
        let Some(passage) = nearest.and_then(|e| net.elements[e].passage) else {
            return 0.0;
        };
        let rho = self.state.fluid.elements[element].density_kg_m3;
        let velocity = self.state.flow.flow_kg_s[self.along.branch_of[element]]
            / (rho * passage.area_m2 * passage.parallel);
        0.5 * rho * velocity * velocity
    }

    pub fn parts(&self) -> Vec<PartState> {
        (0..self.along.inlet_pa.len())
            .filter_map(|e| self.part(e))
            .collect()
    }

    pub fn part(&self, e: usize) -> Option<PartState> {
        let (circuit, heat) = (&self.state.circuit, &self.state.heat);
        let element = circuit.net.elements.get(e)?;
        let flow = self.state.flow.flow_kg_s[self.along.branch_of[e]];
        let fluid = &self.state.fluid.elements[e];
        let (t_in, t_out) = if flow >= 0.0 {
            (heat.upstream_k[e], heat.downstream_k[e])
        } else {
            (heat.downstream_k[e], heat.upstream_k[e])
        };
        let head = self.head_pa(e);
        let reynolds = element
            .passage
            .map(|p| flow.abs() * p.diameter_m / (p.area_m2 * p.parallel * fluid.viscosity_pa_s));
        Some(PartState {
            id: element.id.as_str().to_owned(),
            kind: element.kind,
            origin: element.origin,
            mass_flow_kg_s: flow,
            volume_flow_m3_s: flow / fluid.density_kg_m3,
            pressure_drop_pa: self.along.drop_pa[e],
            inlet_total_pressure_pa: self.along.inlet_pa[e],
            outlet_total_pressure_pa: self.along.outlet_pa[e],
            inlet_static_gauge_pa: self.along.inlet_pa[e] - head - self.ambient_pa,
            outlet_static_gauge_pa: self.along.outlet_pa[e] - head - self.ambient_pa,
            inlet_temperature_k: t_in,
            outlet_temperature_k: t_out,
            heat_w: heat.heat_w[e],
            reynolds,
            velocity_m_s: self.velocity_m_s(e),
            part_temperature_k: self.device_k(e),
            resistance_k_w: self.resistance_k_w(e),
        })
    }

    /// Mean velocity in an element that has a passage, m/s.
    fn velocity_m_s(&self, e: usize) -> Option<f64> {
        let flow = self.state.flow.flow_kg_s[self.along.branch_of[e]];
        let passage = self.state.circuit.net.elements[e].passage?;
        let rho = self.state.fluid.elements[e].density_kg_m3;
        Some(flow / (rho * passage.area_m2 * passage.parallel))
    }

    /// Temperature of the module or device of an element: the inlet plus the heat over what the stream can use.
    fn device_k(&self, e: usize) -> Option<f64> {
        let (circuit, heat) = (&self.state.circuit, &self.state.heat);
        match circuit.net.elements[e].heat {
            HeatRole::Circuit(module) => Some(heat.module_k[module]),
            // A heater has no device whose temperature matters.
            HeatRole::Plate(_) if circuit.net.elements[e].kind == "heater" => None,
            HeatRole::Plate(plate) if !heat.plate_k.is_empty() => Some(heat.plate_k[plate]),
            HeatRole::Plate(plate) => {
                let flow = self.state.flow.flow_kg_s[self.along.branch_of[e]].abs();
                let fluid = &self.state.fluid.elements[e];
                let cp = fluid.specific_heat_j_kg_k;
                let node = &circuit.plates[plate];
                let resistance = node.contact.resistance_k_w(flow, fluid);
                let usable = super::exchange::stream_conductance_w_k(flow * cp, resistance);
                Some(
                    heat.upstream_k[e]
                        + if usable > 0.0 {
                            node.heat_w / usable
                        } else {
                            0.0
                        },
                )
            }
            _ => None,
        }
    }

    /// Resistance between an element's part and its coolant at its flow, where it has one.
    fn resistance_k_w(&self, e: usize) -> Option<f64> {
        let circuit = &self.state.circuit;
        let contact = match circuit.net.elements[e].heat {
            HeatRole::Circuit(module) => circuit.modules[module].contact,
            HeatRole::Plate(plate) if circuit.net.elements[e].kind == "plate" => {
                circuit.plates[plate].contact
            }
            _ => return None,
        };
        let flow = self.state.flow.flow_kg_s[self.along.branch_of[e]];
        let resistance = contact.resistance_k_w(flow, &self.state.fluid.elements[e]);
        (resistance > 0.0).then_some(resistance)
    }

    pub fn points(&self) -> Vec<PointState> {
        let net = &self.state.circuit.net;
        let flows = &self.state.flow.flow_kg_s;
        let mut inflow = vec![0.0; net.nodes.len()];
        for (branch, flow) in net.branches.iter().zip(flows) {
            inflow[branch.from] += flow;
            inflow[branch.to] -= flow;
        }
        let thermostats = &self.state.circuit.thermostats;
        let mixes = |n: usize| {
            let mut ways = thermostats.iter().filter_map(|t| t.mixing);
            ways.any(|way| way.node == n)
        };
        net.nodes
            .iter()
            .enumerate()
            .map(|(n, node)| {
                let (kind, legs) = match &node.kind {
                    NodeKind::Fixed { .. } if node.inflow_temperature_k.is_none() => {
                        ("expansion_tank", None)
                    }
                    NodeKind::Fixed { .. } => ("open_end", None),
                    NodeKind::Draw { .. } => ("draw", None),
                    NodeKind::Meeting if mixes(n) => ("mixing_thermostat", None),
                    NodeKind::Meeting => ("joint", None),
                    NodeKind::Tee(tee) => ("tee", Some(tee.flows_in(flows))),
                };
                PointState {
                    id: node.id.as_str().to_owned(),
                    kind,
                    total_pressure_pa: self.state.flow.node_pa[n],
                    temperature_k: self.state.heat.node_k[n],
                    inflow_kg_s: if matches!(kind, "joint" | "tee" | "mixing_thermostat") {
                        0.0
                    } else {
                        inflow[n]
                    },
                    leg_flow_kg_s: legs,
                }
            })
            .collect()
    }

    pub fn pumps(&self) -> Vec<PumpState> {
        let circuit = &self.state.circuit;
        circuit
            .machines
            .iter()
            .filter_map(|m| {
                let part = self.part(m.element)?;
                let laws = &circuit.net.laws[circuit.net.elements[m.element].laws.clone()];
                let Some(Law::Machine(machine)) = laws.first() else {
                    return None;
                };
                let rho = self.state.fluid.elements[m.element].density_kg_m3;
                let free = machine.free_flow_m3_s();
                let rise = -part.pressure_drop_pa;
                let vapour = circuit.coolant.vapour_pressure_pa(part.inlet_temperature_k);
                Some(PumpState {
                    id: part.id,
                    volume_flow_m3_s: part.volume_flow_m3_s,
                    pressure_rise_pa: rise,
                    shut_off_rise_pa: machine.shut_off_rise_pa(rho),
                    share_of_free_flow: (free > 0.0).then(|| part.volume_flow_m3_s / free),
                    hydraulic_w: rise * part.volume_flow_m3_s,
                    speed: machine.speed,
                    region: machine.region(part.mass_flow_kg_s, rho),
                    inlet_margin_over_boiling_pa: part.inlet_static_gauge_pa + self.ambient_pa
                        - vapour,
                })
            })
            .collect()
    }
}
