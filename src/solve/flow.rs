//! Flows and pressures of one network at one state of its fluid: a ladder of starts over Newton.

use super::draws::draws_have_ways;
use super::error::SolveError;
use super::hydraulic::{FlowEquations, FluidState, Scales};
use super::layout::{Layout, pivots};
use super::linear::Saddle;
use super::newton::{Effort, Halt, Patience, Room, solve};
use super::numbers::Numbers;
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
    /// Evaluations of all laws in this solve.
    pub law_passes: usize,
    /// Largest residual before each step, in scaled units.
    pub history: Vec<f64>,
}

/// What stays between solves of one network: positions, analysis, matrix.
pub struct FlowWorkspace {
    layout: Layout,
    matrix: Saddle,
    numbers: Numbers,
    settling: Settling,
}

impl FlowWorkspace {
    /// The workspace of a network.
    pub fn new(net: &FlowNet) -> Self {
        let (layout, matrix) = Layout::new(net);
        let settling = Settling::new(&layout);
        let numbers = Numbers::default();
        Self {
            layout,
            matrix,
            numbers,
            settling,
        }
    }

    /// Whether it was made for a network of the same graph, whose analysis is the same.
    pub fn fits(&self, net: &FlowNet) -> bool {
        self.layout.fits(net) && self.matrix.has_pivots(pivots(net))
    }
}

/// Speeds of the cold starts, over the velocity from which Newton needs fewest steps.
const COLD_STARTS: [f64; 3] = [1.0, 0.1, 5.0];
/// Share of what is owed that a residual of pressure or a leak may take.
const ENOUGH: f64 = 0.1;
/// Most finishes of a solution in its own scales (two are the most that was seen to be needed).
const FINISHES: usize = 3;
/// Share of tees with which they are brought in at first (our choice; five solves where each leads on).
const TEES_FIRST: f64 = 0.05;
/// Least change of that share that is tried (our choice).
const TEES_LEAST: f64 = 1.0e-3;
/// Most solves on the way: the cap on time.
const TEES_MOST: usize = 40;

/// Solves one network; `warm` is an earlier solution of the same network.
///
/// # Errors
/// [`SolveError::DrawWithoutWay`] where a stated flow can neither come nor go; [`SolveError::FlowsUnsettled`] names the
/// branch whose equation is worst met.
pub fn solve_flows(
    net: &FlowNet,
    owner: &str,
    fluid: &FluidState,
    ambient_pa: f64,
    warm: Option<&FlowState>,
    workspace: &mut FlowWorkspace,
    options: &Options,
) -> Result<FlowState, SolveError> {
    let FlowWorkspace {
        layout,
        matrix,
        numbers,
        settling,
    } = workspace;
    draws_have_ways(net, owner, &fluid.node_density_kg_m3)?;
    matrix.begin();
    let mut equations = FlowEquations::new(net, layout, numbers, fluid, ambient_pa);
    let before = (matrix.factorisations(), equations.law_passes());
    if let Some(state) = warm {
        settling.flow_kg_s.copy_from_slice(&state.flow_kg_s);
        settling.node_pa.copy_from_slice(&state.node_pa);
    }
    let begin = if warm.is_some() {
        Begin::Results
    } else {
        Begin::Guess
    };
    let settled = settle(&mut equations, matrix, settling, begin, options);
    let effort = &settling.effort;
    match settled {
        Ok(()) => Ok(FlowState {
            tee_excess_pa: equations.tee_excess_pa(&settling.x),
            flow_kg_s: settling.flow_kg_s.clone(),
            node_pa: settling.node_pa.clone(),
            steps: effort.steps,
            factorisations: matrix.factorisations() - before.0,
            law_passes: equations.law_passes() - before.1,
            history: effort.history.clone(),
        }),
        Err(worst) => {
            let part = worst.map_or(String::new(), |j| branch_name(net, j));
            Err(SolveError::FlowsUnsettled {
                subject: Subject::part(owner, part),
                steps: effort.steps,
                residual: effort.history.last().copied().unwrap_or(f64::MAX),
            })
        }
    }
}

/// Unknowns, results and effort of a solve, kept between solves.
pub struct Settling {
    /// Scaled unknowns.
    pub x: Vec<f64>,
    /// Their scales, after a solve that settled.
    pub scales: Option<Scales>,
    finished: Vec<f64>,
    room: Room,
    /// Mass flow of each branch, kg/s; before a warm solve, of the solution it begins from.
    pub flow_kg_s: Vec<f64>,
    /// Total pressure of each node, Pa absolute; likewise.
    pub node_pa: Vec<f64>,
    /// Effort of the last solve.
    pub effort: Effort,
}

impl Settling {
    /// Room for a network.
    pub fn new(layout: &Layout) -> Self {
        Self {
            x: vec![0.0; layout.size],
            scales: None,
            finished: Vec::new(),
            room: Room::default(),
            flow_kg_s: vec![0.0; layout.ends.len()],
            node_pa: vec![0.0; layout.places.len()],
            effort: Effort::default(),
        }
    }
}

/// Where a ladder of starts begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Begin {
    /// With the equations' own guess.
    Guess,
    /// With the results in the room, of equations like these.
    Results,
    /// With the unknowns in the room, as the last solve left them.
    Unknowns,
}

/// Solves equations by the ladder of starts.
///
/// # Errors
/// The branch whose equation is worst met, where any start led anywhere.
pub fn settle(
    equations: &mut FlowEquations<'_>,
    matrix: &mut Saddle,
    settling: &mut Settling,
    begin: Begin,
    options: &Options,
) -> Result<(), Option<usize>> {
    let Settling {
        x,
        scales,
        finished,
        room,
        flow_kg_s,
        node_pa,
        effort,
    } = settling;
    effort.steps = 0;
    effort.history.clear();
    let starts = (begin != Begin::Guess)
        .then_some(Start::Warm)
        .into_iter()
        .chain(COLD_STARTS.map(Start::Cold))
        .chain([Start::Tees]);
    let patience = Patience::usual(options.newton_steps);
    let mut led = false;
    'starts: for start in starts {
        let begun = match start {
            Start::Warm => {
                let last = scales.filter(|_| begin == Begin::Unknowns);
                if !last.is_some_and(|scales| equations.resume(scales, x)) {
                    equations.scale_into(flow_kg_s, node_pa, x);
                }
                true
            }
            Start::Cold(speed) => equations.guess_into(speed, matrix, x),
            Start::Tees => equations.guess_into(1.0, matrix, x),
        };
        if !begun {
            continue;
        }
        led = true;
        effort.history.clear();
        let outcome = match start {
            Start::Tees => bring_in_tees(equations, x, matrix, effort, room),
            _ => solve(equations, x, matrix, patience, effort, room),
        };
        if outcome == Ok::<(), Halt>(()) {
            equations.unscale_into(x, flow_kg_s, node_pa);
            // The scales of a guess may be far from those of the solution: finish in its own where that matters. Once more
            // where pressures that no flow feels, or a system solved as closely as its largest row asks, left something.
            for finish in 0..=FINISHES {
                let left = effort.history.last().copied().unwrap_or(0.0);
                let (misfit_pa, misfit_kg_s) = equations.misses(left);
                let (pa, kg_s) = (owed_pa(node_pa), owed_kg_s(flow_kg_s));
                // Leaks go with the scale of pressures.
                let most_kg_s = misfit_kg_s.max(equations.leak_kg_s());
                if misfit_pa <= ENOUGH * pa && most_kg_s <= ENOUGH * kg_s {
                    break;
                }
                finished.resize(x.len(), 0.0);
                equations.scale_into(flow_kg_s, node_pa, finished);
                let finer = finish < FINISHES
                    && solve(equations, finished, matrix, patience, effort, room).is_ok();
                if finer {
                    x.copy_from_slice(finished);
                    equations.unscale_into(x, flow_kg_s, node_pa);
                } else if misfit_pa > pa || misfit_kg_s > kg_s {
                    // Met in the scales of the guess alone: no solution.
                    x.copy_from_slice(finished);
                    continue 'starts;
                } else {
                    // As good as it gets: the same solution, in the scales that the equations have now.
                    equations.scale_into(flow_kg_s, node_pa, x);
                    break;
                }
            }
            *scales = Some(equations.scales());
            return Ok(());
        }
    }
    *scales = None;
    Err(if led { equations.worst_branch(x) } else { None })
}

/// Misfit of pressure that the handbook allows a solution with these pressures, Pa.
fn owed_pa(node_pa: &[f64]) -> f64 {
    let high = node_pa.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let low = node_pa.iter().copied().fold(f64::INFINITY, f64::min);
    (1e-9 * (high - low)).max(1e-6)
}

/// Misfit of mass that the handbook allows a solution with these flows, kg/s.
fn owed_kg_s(flow_kg_s: &[f64]) -> f64 {
    let most = flow_kg_s.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
    (1e-9 * most).max(1e-12)
}

enum Start {
    Warm,
    Cold(f64),
    Tees,
}

/// Flows of the branches alone, where every loss rises with flow, led to those with tees, whose excess pressures may fall
/// with it: each share more is solved from the solution before, by a step that doubles where it leads on and halves where it
/// does not. Patient, for it is asked where nothing else led anywhere.
fn bring_in_tees(
    equations: &mut FlowEquations<'_>,
    x: &mut [f64],
    matrix: &mut Saddle,
    effort: &mut Effort,
    room: &mut Room,
) -> Result<(), Halt> {
    let (mut share, mut step) = (0.0, TEES_FIRST);
    let mut trial = x.to_vec();
    for _ in 0..TEES_MOST {
        let wanted = f64::min(1.0, share + step);
        let tees = equations.leave_out_tees(1.0 - wanted);
        trial.copy_from_slice(x);
        effort.history.clear();
        if solve(equations, &mut trial, matrix, Patience::LONG, effort, room).is_ok() {
            x.copy_from_slice(&trial);
            share = if tees { wanted } else { 1.0 };
            step *= 2.0;
        } else {
            step *= 0.5;
        }
        if share == 1.0 || step < TEES_LEAST || !tees {
            break;
        }
    }
    equations.leave_out_tees(0.0);
    // With a share left out it is the solution of other equations.
    if share == 1.0 {
        Ok(())
    } else {
        Err(Halt::Stalled)
    }
}

/// The first part of a branch, or its first node where it has none.
pub(super) fn branch_name(net: &FlowNet, branch: usize) -> String {
    let b = &net.branches[branch];
    net.elements[b.elements.clone()]
        .first()
        .map_or_else(|| net.nodes[b.from].id.to_string(), |e| e.id.to_string())
}
