//! Any output against any input: a design solved again for every point of a grid or of a sample. Each point starts cold
//! and knows no other, so a sweep gives the numbers of single solves, bit for bit, on any number of threads.

mod error;
mod resolve;
mod sobol;

pub use error::SweepError;
pub use sobol::{SOBOL_DIMENSIONS, SOBOL_POINTS, sobol};

use super::crew;
use super::readout::{Judging, Readout, solve_case};
use crate::design::{Adjustable, Design, Dial, Limits, Setting, Vary};
use crate::network::Network;
use crate::solve::{Solver, SolverRoom};
use resolve::{dials, outputs, points};
use std::ops::ControlFlow;

/// How the values that are varied are combined.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Sampling {
    /// Every value with every other; the last one varied changes fastest.
    #[default]
    Grid,
    /// So many points of a Sobol sequence, spread evenly between the ends of all ranges.
    Sobol(usize),
}

/// What to vary and what to read.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SweepQuestion {
    /// The inputs and their values.
    pub vary: Vec<Vary>,
    /// How they are combined.
    pub sampling: Sampling,
    /// Cases to solve (default: those that the outputs name, else every steady one).
    pub cases: Vec<String>,
    /// Outputs, by their paths in the answer of `solve --json` (default: what the readout takes for usual).
    pub outputs: Vec<String>,
    /// Threads; 0 takes as many as the machine has.
    pub threads: usize,
}

/// An output of a sweep.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Output {
    /// The whole path.
    pub path: String,
    /// The case it belongs to.
    pub case: String,
    /// The path behind the name of the case.
    pub rest: String,
}

/// One point.
#[derive(Clone, Debug, PartialEq)]
pub struct SweepRow {
    /// Its number, from 0.
    pub point: usize,
    /// What was set, one entry a dial.
    pub inputs: Vec<Setting>,
    /// What was read, one entry an output; none where there is no such value or no answer.
    pub outputs: Vec<Option<f64>>,
    /// Why there is no answer for every case.
    pub failure: Option<String>,
}

/// How a sweep ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SweepAnswer {
    /// Points asked for.
    pub points: usize,
    /// Points handed on: fewer where the sink stopped the sweep.
    pub done: usize,
    /// Points without an answer for every case.
    pub failed: usize,
    /// Threads that worked.
    pub threads: usize,
}

/// A sweep that is ready to run: every path was found and every value fits.
pub struct Sweep<'r> {
    base: Adjustable,
    dials: Vec<Dial>,
    sampling: Sampling,
    points: usize,
    /// Each case to solve, with whether its limits are judged, and its outputs by their place among all.
    cases: Vec<(String, Judging, Vec<usize>)>,
    outputs: Vec<Output>,
    readout: &'r dyn Readout,
    threads: usize,
}

impl<'r> Sweep<'r> {
    /// Finds every path and checks every value.
    ///
    /// # Errors
    /// [`SweepError`] with the first thing that makes no sense.
    pub fn new(
        design: &Design,
        question: &SweepQuestion,
        readout: &'r dyn Readout,
    ) -> Result<Self, SweepError> {
        let base = Adjustable::new(design).map_err(SweepError::Design)?;
        let dials = dials(&base, question)?;
        let points = points(&dials, question.sampling)?;
        let network = Network::build_checked(base.design()).map_err(SweepError::Build)?;
        let outputs = outputs(&network, base.design(), question, readout)?;
        let mut cases: Vec<(String, Judging, Vec<usize>)> = Vec::new();
        for (k, output) in outputs.iter().enumerate() {
            let judged = readout.judged(&output.rest);
            match cases.iter_mut().find(|(name, ..)| *name == output.case) {
                Some((_, all, list)) => {
                    if judged == Judging::Yes {
                        *all = judged;
                    }
                    list.push(k);
                }
                None => cases.push((output.case.clone(), judged, vec![k])),
            }
        }
        let threads = match question.threads {
            0 => crew::all_threads(),
            some => some,
        };
        Ok(Self {
            base,
            dials,
            sampling: question.sampling,
            points,
            cases,
            outputs,
            readout,
            threads: threads.min(points),
        })
    }

    /// How many points there are.
    pub fn points(&self) -> usize {
        self.points
    }

    /// The inputs.
    pub fn dials(&self) -> &[Dial] {
        &self.dials
    }

    /// The outputs.
    pub fn outputs(&self) -> &[Output] {
        &self.outputs
    }

    /// The cases that are solved at each point.
    pub fn cases(&self) -> impl Iterator<Item = &str> {
        self.cases.iter().map(|(name, ..)| name.as_str())
    }

    /// Solves every point and hands the rows to `sink`, in their order, as they come; it may stop the sweep.
    pub fn run(&self, sink: &mut dyn FnMut(SweepRow) -> ControlFlow<()>) -> SweepAnswer {
        let mut failed = 0;
        let done = crew::work(
            self.points,
            self.threads,
            || (self.base.clone(), None),
            |(base, room), point| self.row(base, room, point),
            &mut |row: SweepRow| {
                failed += usize::from(row.failure.is_some());
                sink(row)
            },
        );
        SweepAnswer {
            points: self.points,
            done,
            failed,
            threads: self.threads,
        }
    }

    fn settings(&self, point: usize) -> Vec<Setting> {
        if let Sampling::Sobol(_) = self.sampling {
            let dials = self.dials.iter().enumerate();
            return dials
                .map(|(d, dial)| dial.at_share(sobol(point, d).unwrap_or(0.0)))
                .collect();
        }
        let mut rest = point;
        let mut settings: Vec<Setting> = Vec::with_capacity(self.dials.len());
        for dial in self.dials.iter().rev() {
            let count = dial.levels().count().unwrap_or(1);
            settings.push(dial.level(rest % count));
            rest /= count;
        }
        settings.reverse();
        settings
    }

    fn row(&self, base: &mut Adjustable, room: &mut Option<SolverRoom>, point: usize) -> SweepRow {
        let inputs = self.settings(point);
        let mut outputs = vec![None; self.outputs.len()];
        let failure = self.fill(base, room, &inputs, &mut outputs);
        SweepRow {
            point,
            inputs,
            outputs,
            failure,
        }
    }

    /// Solves one point; says why where a case has no answer.
    fn fill(
        &self,
        base: &mut Adjustable,
        room: &mut Option<SolverRoom>,
        inputs: &[Setting],
        outputs: &mut [Option<f64>],
    ) -> Option<String> {
        let design = match base.turn(inputs) {
            Ok(design) => design,
            Err(fault) => return Some(fault.to_string()),
        };
        let network = match Network::build_checked(design) {
            Ok(network) => network,
            Err(error) => return Some(error.to_string().trim_end().to_owned()),
        };
        let none = Limits::default();
        let limits = design.limits.as_ref().unwrap_or(&none);
        let mut solver = match room.take() {
            Some(room) => Solver::resumed(&network, room),
            None => Solver::new(&network),
        };
        let mut failures = Vec::new();
        for (name, judged, list) in &self.cases {
            let Some(case) = network.cases().iter().find(|c| c.name == *name) else {
                continue;
            };
            match solve_case(&mut solver, case, limits, *judged) {
                Ok(solved) => {
                    let paths: Vec<&str> = list
                        .iter()
                        .map(|&k| self.outputs[k].rest.as_str())
                        .collect();
                    let read = self.readout.numbers(&solved, &paths);
                    for (&k, number) in list.iter().zip(read) {
                        outputs[k] = number.ok().flatten();
                    }
                }
                Err(error) => failures.push(format!("{name}: {error}")),
            }
        }
        *room = Some(solver.into_room());
        (!failures.is_empty()).then(|| failures.join("; "))
    }
}

/// Finds every path, checks every value and solves every point.
///
/// # Errors
/// [`SweepError`] with the first thing that makes no sense. A point without an answer is a row that says why.
///
/// ```
/// use loopwright::{design::Source, report::Keys, study::sweep::{self, SweepQuestion}};
/// # let text = include_str!("../../networks/three-reservoirs.json");
/// let design = Source::read(text).unwrap().design;
/// let vary = vec!["loops.mains.parts.pipe A.hose.length=1000 ft..2000 ft:3".parse().unwrap()];
/// let outputs = vec!["loops.mains.parts.pipe A.mass_flow_kg_s".to_owned()];
/// let mut flows = Vec::new();
/// sweep::run(&design, &SweepQuestion { vary, outputs, ..SweepQuestion::default() }, &Keys, &mut |row| {
///     flows.push(row.outputs[0]);
///     std::ops::ControlFlow::Continue(())
/// }).unwrap();
/// assert!(flows.len() == 3 && flows[2] < flows[0], "a longer pipe carries less");
/// ```
pub fn run(
    design: &Design,
    question: &SweepQuestion,
    readout: &dyn Readout,
    sink: &mut dyn FnMut(SweepRow) -> ControlFlow<()>,
) -> Result<SweepAnswer, SweepError> {
    Ok(Sweep::new(design, question, readout)?.run(sink))
}
