//! The answer of a case as a view: what flows through every part, at which pressures and temperatures.
//! It is read off the solver's raw numbers; nothing is iterated here.

use super::case_state::{Carried, CaseState, LoopState, ambient_pa};
use super::closure::{Closure, closure};
use super::header_view::{BankState, Unevenness, deviation};
use super::loop_view::{Along, LoopView};
use super::second::SecondAnswer;
use super::states::{EffortSum, PartState, PointState, PumpState};
use crate::finding::Finding;
use crate::network::{Case, Network};
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
