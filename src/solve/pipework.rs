//! The solver of a bare network: the same equations, Newton and linear algebra as for a design, with all room kept.

use super::error::SolveError;
use super::flow::{Begin, Settling, settle};
use super::hydraulic::{FlowEquations, GRAVITY_M_S2};
use super::layout::Layout;
use super::linear::{EXACT, Pivot, Saddle};
use super::newton::System;
use super::numbers::Numbers;
use super::options::Options;
use crate::fluid::Properties;
use crate::id::Subject;
use crate::network::{PipeNode, Pipework};
use crate::part::{Law, LawStore};

/// Where a solve begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PipeStart {
    /// From the solver's own first guess.
    Cold,
    /// From the solution before; from the first guess where there is none.
    Last,
}

/// Flows and pressures of a bare network, and what they cost.
#[derive(Clone, Copy, Debug)]
pub struct PipeFlows<'a> {
    /// Mass flow of each branch, kg/s.
    pub flow_kg_s: &'a [f64],
    /// Total pressure of each node, Pa absolute.
    pub node_pa: &'a [f64],
    /// Newton steps.
    pub steps: usize,
    /// Factorisations.
    pub factorisations: usize,
    /// Evaluations of all laws.
    pub law_passes: usize,
    /// Largest residual before each step and after the last, in scaled units.
    pub history: &'a [f64],
}

/// How the flow of one branch answers to small changes anywhere in a bare network.
#[derive(Clone, Copy, Debug)]
pub struct PipeSlopes<'a> {
    /// Its change for each pascal of loss added in each branch at the same flow, kg/s over Pa. Times what a step of a bore,
    /// a length or a coefficient adds to that loss, it is the slope over them.
    pub over_loss_kg_s_pa: &'a [f64],
    /// Its change for each kg/s more that enters at each node; 0 where the pressure is stated.
    pub over_inflow: &'a [f64],
}

/// Solves one bare network as often as wanted; the analysis of its graph is made once, and a solve allocates nothing.
///
/// Equal cold solves give equal bits on one binary and machine. An example stands at
/// [`PipeworkBuilder`](crate::network::PipeworkBuilder).
pub struct PipeworkSolver {
    fluid: [Properties; 1],
    alone: Vec<Law>,
    layout: Layout,
    matrix: Saddle,
    numbers: Numbers,
    settling: Settling,
    options: Options,
    solved: bool,
    slopes: Vec<f64>,
    over_inflow: Vec<f64>,
}

impl PipeworkSolver {
    /// A solver with the default options.
    pub fn new(pipework: Pipework) -> Self {
        Self::with_options(pipework, Options::default())
    }

    /// A solver with options of its own.
    pub fn with_options(pipework: Pipework, options: Options) -> Self {
        let rho = pipework.fluid.density_kg_m3;
        let mut weak = pipework.weak.iter().copied().peekable();
        let pivots = (0..pipework.ends.len() as u32).map(|j| {
            if weak.next_if_eq(&j).is_some() {
                Pivot::Weak
            } else {
                Pivot::Loss
            }
        });
        let pivots = pivots.collect();
        let weight = |&[from, to]: &[u32; 2]| {
            let rise = pipework.elevation_m[to as usize] - pipework.elevation_m[from as usize];
            rho * GRAVITY_M_S2 * rise
        };
        let weight_pa = pipework.ends.iter().map(weight).collect();
        let fixed = pipework.fixed_pa.iter().map(|p| !p.is_nan());
        let (layout, matrix) =
            Layout::with_parts(pipework.ends, fixed, Vec::new(), Vec::new(), pivots);
        let first = pipework.fixed_pa.iter().find(|p| !p.is_nan());
        let mut numbers = Numbers {
            table: pipework.table,
            weight_pa,
            reference_pa: first.copied().unwrap_or(0.0),
            start_kg_s: pipework.start_kg_s,
            ..Numbers::default()
        };
        let mut fixed_pa = pipework.fixed_pa;
        fixed_pa
            .iter_mut()
            .filter(|p| p.is_nan())
            .for_each(|p| *p = 0.0);
        numbers.fixed_pa = fixed_pa;
        let mut inflow = pipework.inflow_m3_s;
        inflow.iter_mut().for_each(|q| *q *= rho);
        numbers.inflow_kg_s = inflow;
        numbers.make_room(&layout);
        Self {
            fluid: [pipework.fluid],
            alone: pipework.alone,
            settling: Settling::new(&layout),
            layout,
            matrix,
            numbers,
            options,
            solved: false,
            slopes: Vec::new(),
            over_inflow: Vec::new(),
        }
    }

    /// Sets what enters at a node (negative: leaves), m3/s; without effect where the pressure is stated.
    pub fn set_inflow(&mut self, node: PipeNode, inflow_m3_s: f64) {
        if let Some(room) = self.numbers.inflow_kg_s.get_mut(node.index()) {
            *room = inflow_m3_s * self.fluid[0].density_kg_m3;
        }
    }

    /// Sets the speed of every pump over that of its curve.
    pub fn set_pump_speed(&mut self, ratio: f64) {
        self.count_machines(-1.0);
        for law in &mut self.alone {
            if let Law::Machine(machine) = law {
                machine.speed = ratio;
            }
        }
        self.count_machines(1.0);
    }

    /// Adds the machines, or takes them out, where what all laws give is known.
    fn count_machines(&mut self, sign: f64) {
        let store = LawStore {
            laws: &self.alone,
            fluids: &self.fluid,
        };
        self.numbers.count_machines(store, sign);
    }

    /// Solves the network.
    ///
    /// # Errors
    /// [`SolveError::FlowsUnsettled`] names the branch whose equation is worst met, by its number.
    pub fn solve(&mut self, start: PipeStart) -> Result<PipeFlows<'_>, SolveError> {
        let store = LawStore {
            laws: &self.alone,
            fluids: &self.fluid,
        };
        self.matrix.begin();
        let warm = start == PipeStart::Last && self.solved;
        if !warm {
            self.numbers.forget();
        }
        let (factorised, looked) = (self.matrix.factorisations(), self.numbers.law_passes);
        let mut equations = FlowEquations::with_numbers(&self.layout, &mut self.numbers, store);
        let begin = if warm { Begin::Unknowns } else { Begin::Guess };
        let (matrix, settling) = (&mut self.matrix, &mut self.settling);
        let settled = settle(&mut equations, matrix, settling, begin, &self.options);
        self.solved = settled.is_ok();
        let effort = &self.settling.effort;
        if let Err(worst) = settled {
            let part = worst.map_or(String::new(), |j| format!("branch {j}"));
            return Err(SolveError::FlowsUnsettled {
                subject: Subject::part("pipework", part),
                steps: effort.steps,
                residual: effort.history.last().copied().unwrap_or(f64::MAX),
            });
        }
        Ok(PipeFlows {
            flow_kg_s: &self.settling.flow_kg_s,
            node_pa: &self.settling.node_pa,
            steps: effort.steps,
            factorisations: self.matrix.factorisations() - factorised,
            law_passes: self.numbers.law_passes - looked,
            history: &effort.history,
        })
    }

    /// How the flow of a branch moves with the loss of every branch and with what enters at every node, by the adjoint of
    /// the equations at the solution: one evaluation, one factorisation and one back-substitution for all of them.
    ///
    /// None before a solution, for a branch that is not there, and where the equations are singular.
    pub fn flow_slopes(&mut self, branch: usize) -> Option<PipeSlopes<'_>> {
        let branches = self.layout.ends.len();
        if !self.solved || branch >= branches {
            return None;
        }
        let store = LawStore {
            laws: &self.alone,
            fluids: &self.fluid,
        };
        let settling = &mut self.settling;
        let mut equations = FlowEquations::with_numbers(&self.layout, &mut self.numbers, store);
        equations.scale_into(&settling.flow_kg_s, &settling.node_pa, &mut settling.x);
        settling.scales = Some(equations.scales());
        self.slopes.resize(self.layout.size, 0.0);
        equations.evaluate(&settling.x, &mut self.slopes, Some(&mut self.matrix));
        let per_pa = equations.flow_per_pa();
        self.matrix.factorise().ok()?;
        // Turned over, the matrix differs in the sign of the couplings alone, so its own factors serve.
        self.slopes.fill(0.0);
        self.slopes[branch] = 1.0;
        self.matrix.solve(&mut self.slopes, EXACT).ok()?;
        let (flows, pressures) = self.slopes.split_at_mut(branches);
        flows.iter_mut().for_each(|s| *s *= per_pa);
        let places = self.layout.places.iter();
        self.over_inflow.clear();
        self.over_inflow.extend(places.map(|&place| {
            let free = pressures.get(place as usize);
            free.copied().unwrap_or(0.0)
        }));
        Some(PipeSlopes {
            over_loss_kg_s_pa: &self.slopes[..branches],
            over_inflow: &self.over_inflow,
        })
    }
}
