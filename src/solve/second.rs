//! Two answers of one case: cold coolant is thick, flows less through a branch that chills it, and so stays cold. A case is
//! therefore solved from the other end of its temperatures too, and where that leads elsewhere both answers are kept.

use super::case_state::{Carried, CaseState, LoopState};
use super::couple::solve_case;
use super::error::SolveError;
use super::findings::findings;
use super::loop_heat::sink_temperature_k;
use super::options::Options;
use super::solution::Solution;
use super::solver::Solver;
use crate::finding::{Finding, FindingKind};
use crate::id::Subject;
use crate::network::{Case, NodeKind};
use crate::quantity::{Kind, show_both};

/// Difference of a flow, over the largest of its loop, from which answers are two: far above what passes agree to.
const APART_SHARE: f64 = 1.0e-4;
/// Difference of a temperature from which answers are two, K.
const APART_K: f64 = 0.02;
/// Agreement of temperatures with which the other answer is looked for, K: too coarse to be told, fine enough to see whether
/// it is another. A twentieth of [`APART_K`]; flows, at 2 % a kelvin, agree to a fifth of [`APART_SHARE`].
const LOOK_K: f64 = 1.0e-3;
/// A warm start is at least this warm, K: a loop that comes from a hot drive (our choice, no source).
const WARM_K: f64 = 333.15;
/// Branches told of each loop.
const TOLD: usize = 8;

/// The other answer of a loop.
#[derive(Clone, Debug, PartialEq)]
pub struct SecondAnswer {
    /// The loop.
    pub owner: String,
    /// Temperature from which it was reached, K.
    pub start_k: f64,
    /// Hottest coolant: here, in the other answer, K.
    pub hottest_k: [f64; 2],
    /// Hottest module: here, in the other answer, K; none without modules.
    pub hottest_module_k: Option<[f64; 2]>,
    /// The branches that differ most, most first.
    pub branches: Vec<BranchPair>,
}

/// A branch in two answers.
#[derive(Clone, Debug, PartialEq)]
pub struct BranchPair {
    /// The part of the branch that loses most pressure here.
    pub id: String,
    /// Its flow: here, in the other answer, kg/s.
    pub mass_flow_kg_s: [f64; 2],
    /// Temperature at which its coolant leaves: here, in the other answer, K.
    pub outlet_temperature_k: [f64; 2],
}

impl<'n> Solver<'n> {
    /// Solves a case and looks for a second answer from the other end of its temperatures: warm where the first start was
    /// cold, cold where it was warm. That takes one more solve, coarser, and where it leads elsewhere another; where either
    /// fails there is no second answer to tell.
    ///
    /// # Errors
    /// As [`Solver::solve`].
    pub fn solve_from_both_ends(&mut self, case: &Case) -> Result<Solution<'n>, SolveError> {
        let mut solution = self.solve(case)?;
        let Some(start_k) = other_start_k(&solution) else {
            return Ok(solution);
        };
        let exact = Options {
            start_k: Some(start_k),
            ..self.options
        };
        let coarse = Options {
            agreed_k: exact.agreed_k.max(LOOK_K),
            ..exact
        };
        for options in [coarse, exact] {
            let solved = solve_case(self.network, case, &options, &mut self.workspaces);
            solution.second = match solved {
                Ok(other) => differences(&solution.state, &other, start_k),
                Err(_) => Vec::new(),
            };
            if solution.second.is_empty() {
                return Ok(solution);
            }
        }
        solution.findings = findings(&solution);
        Ok(solution)
    }
}

/// Where a second start would begin, K; none where no temperatures were solved.
fn other_start_k(solution: &Solution<'_>) -> Option<f64> {
    let air_k = solution.case().air_temperature_k;
    let solved = || {
        let loops = solution.state.loops.iter();
        loops.filter(|l| l.carried == Carried::Solved)
    };
    let (mut warm, mut cold) = (WARM_K, f64::INFINITY);
    let mut first = Vec::new();
    for state in solved() {
        let circuit = &state.circuit;
        let nodes = &state.heat.node_k;
        warm = nodes.iter().copied().fold(warm, f64::max);
        cold = nodes.iter().copied().fold(cold, f64::min);
        for tie in &circuit.exchangers {
            warm = warm.max(tie.stream_temperature_k);
            cold = cold.min(tie.stream_temperature_k);
        }
        for node in &circuit.net.nodes {
            let enters = matches!(node.kind, NodeKind::Fixed { .. } | NodeKind::Draw { .. });
            if let (true, Some(k)) = (enters, node.inflow_temperature_k) {
                warm = warm.max(k);
                cold = cold.min(k);
            }
        }
        first.push(sink_temperature_k(circuit, air_k));
    }
    if first.is_empty() {
        return None;
    }
    let from_warm = first.iter().fold(0.0, |m: f64, k| m.max(warm - k));
    let from_cold = first.iter().fold(0.0, |m: f64, k| m.max(k - cold));
    Some(if from_warm >= from_cold { warm } else { cold })
}

fn differences(here: &CaseState, other: &CaseState, start_k: f64) -> Vec<SecondAnswer> {
    let pairs = here.loops.iter().zip(&other.loops);
    pairs
        .filter_map(|(a, b)| difference(a, b, start_k))
        .collect()
}

fn difference(here: &LoopState, other: &LoopState, start_k: f64) -> Option<SecondAnswer> {
    if here.carried != Carried::Solved || other.carried != Carried::Solved {
        return None;
    }
    let net = &here.circuit.net;
    let most = |s: &LoopState| {
        s.flow
            .flow_kg_s
            .iter()
            .fold(0.0, |m: f64, v| m.max(v.abs()))
    };
    let scale = most(here).max(most(other)).max(1e-12);
    let mut branches: Vec<(f64, BranchPair)> = Vec::new();
    let (mut flow_apart, mut k_apart) = (0.0_f64, 0.0_f64);
    for (j, branch) in net.branches.iter().enumerate() {
        let flows = [here.flow.flow_kg_s[j], other.flow.flow_kg_s[j]];
        let apart = (flows[0] - flows[1]).abs() / scale;
        flow_apart = flow_apart.max(apart);
        let drop = |e: usize| -> f64 {
            let laws = &net.laws[net.elements[e].laws.clone()];
            let fluid = &here.fluid.elements[e];
            laws.iter()
                .map(|l| l.drop(flows[0], fluid).drop_pa.abs())
                .sum()
        };
        let Some(part) = branch
            .elements
            .clone()
            .max_by(|&a, &b| drop(a).total_cmp(&drop(b)))
        else {
            continue;
        };
        let leaving = |state: &LoopState, flow: f64| {
            let (first, last) = (branch.elements.start, branch.elements.end - 1);
            state.heat.downstream_k[if flow >= 0.0 { last } else { first }]
        };
        let pair = BranchPair {
            id: net.elements[part].id.to_string(),
            mass_flow_kg_s: flows,
            outlet_temperature_k: [leaving(here, flows[0]), leaving(other, flows[1])],
        };
        branches.push((apart, pair));
    }
    for (a, b) in here.heat.node_k.iter().zip(&other.heat.node_k) {
        k_apart = k_apart.max((a - b).abs());
    }
    if flow_apart <= APART_SHARE && k_apart <= APART_K {
        return None;
    }
    branches.sort_by(|a, b| b.0.total_cmp(&a.0));
    let hottest = |values: &[f64]| values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let modules = !here.heat.module_k.is_empty();
    Some(SecondAnswer {
        owner: here.circuit.name.clone(),
        start_k,
        hottest_k: [hottest(&here.heat.node_k), hottest(&other.heat.node_k)],
        hottest_module_k: modules
            .then(|| [hottest(&here.heat.module_k), hottest(&other.heat.module_k)]),
        branches: branches.into_iter().take(TOLD).map(|b| b.1).collect(),
    })
}

/// What is to be told of second answers.
pub(super) fn second_findings(solution: &Solution<'_>, found: &mut Vec<Finding>) {
    for second in &solution.second {
        let mut text = format!(
            "started from coolant at {} this case settles elsewhere:",
            show_both(Kind::Temperature, second.start_k)
        );
        for (k, pair) in second.branches.iter().take(3).enumerate() {
            let [here, there] = pair.mass_flow_kg_s;
            let [here_k, there_k] = pair.outlet_temperature_k;
            text.push_str(&format!(
                "{} `{}` carries {:.0} % of what is told here and its coolant leaves at {} instead of {}",
                if k == 0 { "" } else { "," },
                pair.id,
                100.0 * there / here,
                show_both(Kind::Temperature, there_k),
                show_both(Kind::Temperature, here_k)
            ));
        }
        text.push_str("; which of the two comes true depends on how the loop was warmed; a larger bore, less glycol or a warmer stream on its cold side leaves one");
        found.push(Finding::new(
            FindingKind::SecondAnswer,
            Subject::whole(&second.owner),
            text,
        ));
    }
}
