//! Flows and pressures of one network at one state of its fluid: a ladder of starts over Newton.

use super::error::SolveError;
use super::hydraulic::{FlowEquations, FluidState, Layout};
use super::linear::SparseSystem;
use super::newton::{Effort, Halt, march, solve};
use super::options::Options;
use crate::id::Subject;
use crate::network::FlowNet;

/// Flows, pressures and what they cost.
#[derive(Clone, Debug, Default)]
pub struct FlowState {
    /// Mass flow of each branch, kg/s.
    pub flow_kg_s: Vec<f64>,
    /// Total pressure of each node, Pa absolute.
    pub node_pa: Vec<f64>,
    /// Excess total pressure of tee legs over their node: node, legs `a`, `b`, `side`, Pa.
    pub tee_excess_pa: Vec<(usize, [f64; 3])>,
    /// Newton steps of this solve, failed starts included.
    pub steps: usize,
    /// Factorisations of this solve.
    pub factorisations: usize,
    /// Largest residual before each step, in scaled units.
    pub history: Vec<f64>,
}

/// What stays between solves of one network: positions, analysis, matrix.
pub struct FlowWorkspace {
    layout: Layout,
    matrix: SparseSystem,
}

impl FlowWorkspace {
    /// The workspace of a network.
    pub fn new(net: &FlowNet) -> Self {
        let (layout, matrix) = Layout::new(net);
        Self { layout, matrix }
    }
}

/// Speeds of the cold starts, over the velocity from which Newton needs fewest steps.
const COLD_STARTS: [f64; 3] = [1.0, 0.1, 5.0];
/// Share of the owed closure of pressure that a residual may take.
const ENOUGH: f64 = 0.1;
/// Steps of the damped march, tried last.
const MARCH_STEPS: usize = 300;

/// Solves one network; `warm` is an earlier solution of the same network.
///
/// # Errors
/// [`SolveError::FlowsUnsettled`] names the branch whose equation is worst met.
pub fn solve_flows(
    net: &FlowNet,
    owner: &str,
    fluid: &FluidState,
    ambient_pa: f64,
    warm: Option<&FlowState>,
    workspace: &mut FlowWorkspace,
    options: &Options,
) -> Result<FlowState, SolveError> {
    let FlowWorkspace { layout, matrix } = workspace;
    let mut equations = FlowEquations::new(net, layout, fluid, ambient_pa);
    let mut effort = Effort::default();
    let before = matrix.factorisations();
    let starts = warm
        .map(Start::Warm)
        .into_iter()
        .chain(COLD_STARTS.map(Start::Cold))
        .chain([Start::March]);
    let mut last = Vec::new();
    for start in starts {
        let x = match start {
            Start::Warm(state) => Some(equations.scaled(&state.flow_kg_s, &state.node_pa)),
            Start::Cold(speed) => equations.first_guess(speed, matrix),
            Start::March => equations.first_guess(1.0, matrix),
        };
        let Some(mut x) = x else { continue };
        effort.history.clear();
        let outcome = match start {
            Start::March => march(&mut equations, &mut x, matrix, MARCH_STEPS, &mut effort),
            _ => solve(
                &mut equations,
                &mut x,
                matrix,
                options.newton_steps,
                &mut effort,
            ),
        };
        if outcome == Ok::<(), Halt>(()) {
            let (mut flow_kg_s, mut node_pa) = equations.unscaled(&x);
            // The scales of a guess may be far from those of the solution: finish in its own where that matters.
            let left = effort.history.last().copied().unwrap_or(0.0);
            if equations.misses_pa(left) > ENOUGH * owed_pa(&node_pa) {
                let mut finished = equations.scaled(&flow_kg_s, &node_pa);
                let steps = options.newton_steps;
                if solve(&mut equations, &mut finished, matrix, steps, &mut effort).is_ok() {
                    x = finished;
                    (flow_kg_s, node_pa) = equations.unscaled(&x);
                }
            }
            return Ok(FlowState {
                tee_excess_pa: equations.tee_excess_pa(&x),
                flow_kg_s,
                node_pa,
                steps: effort.steps,
                factorisations: matrix.factorisations() - before,
                history: effort.history,
            });
        }
        last = x;
    }
    let worst = if last.is_empty() {
        None
    } else {
        equations.worst_branch(&last)
    };
    let part = worst.map_or(String::new(), |j| branch_name(net, j));
    Err(SolveError::FlowsUnsettled {
        subject: Subject::part(owner, part),
        steps: effort.steps,
        residual: effort.history.last().copied().unwrap_or(f64::MAX),
    })
}

/// Misfit of pressure that the handbook allows a solution with these pressures, Pa.
fn owed_pa(node_pa: &[f64]) -> f64 {
    let high = node_pa.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let low = node_pa.iter().copied().fold(f64::INFINITY, f64::min);
    (1e-9 * (high - low)).max(1e-6)
}

enum Start<'a> {
    Warm(&'a FlowState),
    Cold(f64),
    March,
}

/// The first part of a branch, or its first node where it has none.
pub(super) fn branch_name(net: &FlowNet, branch: usize) -> String {
    let b = &net.branches[branch];
    net.elements[b.elements.clone()]
        .first()
        .map_or_else(|| net.nodes[b.from].id.to_string(), |e| e.id.to_string())
}
