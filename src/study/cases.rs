//! The cases of a design, each solved whole: steady or in time, with its limits and the bands of its banks. No case knows
//! another, so they are solved on all threads, to the numbers of single solves, bit for bit.

use super::band::{Band, Bands};
use super::crew::{all_threads, work};
use super::limits::{LimitRow, judge};
use super::time::{self, TimeAnswer};
use crate::design::Limits;
use crate::network::{Case, Network};
use crate::solve::{Solution, SolveError, Solver};
use std::ops::ControlFlow;

/// A solution with its limits and bands.
pub type Answered<'n> = (Solution<'n>, Vec<LimitRow>, Vec<Band>);

/// One case, solved.
pub struct SolvedCase<'n> {
    /// The case.
    pub case: Case,
    /// Its answer with limits and bands, or why there is none. Of a case in time it is the end of the march, with the
    /// bands of the same duty without end.
    pub outcome: Result<Answered<'n>, SolveError>,
    /// Its march, for a case in time.
    pub march: Option<TimeAnswer<'n>>,
}

/// Whether a second answer of a steady case is looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SecondLook {
    /// From the other end of its temperatures too.
    Yes,
    /// From its own start alone.
    No,
}

/// Solves the cases of a network, or only those named, in their order. A case without an answer says why and holds up no
/// other.
///
/// ```
/// use loopwright::{design::Source, network::Network, study::cases::{self, SecondLook}};
/// let text = r#"{ "format": 1, "title": "bucket", "coolants": { "water": { "water": {} } },
///   "loops": { "bench": { "coolant": "water",
///     "parts": { "mains": { "open_end": { "pressure": "20 kPa" } }, "bucket": { "open_end": {} },
///                "hose": { "hose": { "bore": "12 mm", "length": "3 m" } } },
///     "runs": [["mains", "hose", "bucket"]] } },
///   "cases": { "cold tap": { "air": "12 degC" }, "warm tap": { "air": "30 degC" } } }"#;
/// let source = Source::read(text).unwrap();
/// let network = Network::build(&source.design).unwrap();
/// let answers = cases::run(&network, &Default::default(), &[], SecondLook::No);
/// let flow = |k: usize| answers[k].outcome.as_ref().unwrap().0.part("bench", "hose").unwrap().mass_flow_kg_s;
/// assert!(flow(1) > flow(0));
/// ```
pub fn run<'n>(
    network: &'n Network,
    limits: &Limits,
    only: &[String],
    second: SecondLook,
) -> Vec<SolvedCase<'n>> {
    let asked = |c: &&Case| only.is_empty() || only.contains(&c.name);
    let cases: Vec<&Case> = network.cases().iter().filter(asked).collect();
    let bands = Bands::new(network);
    each(
        &cases,
        || (Solver::new(network), None),
        |(solver, room), case| {
            let (outcome, march) = match time::run(solver, case, limits) {
                Ok(Some(march)) => {
                    let steady = march.steady.as_ref();
                    let steady = steady.map(|s| bands.of(s, room)).unwrap_or_default();
                    let answered = (march.end.clone(), march.limits.clone(), steady);
                    (Ok(answered), Some(march))
                }
                Ok(None) => {
                    let solved = match second {
                        SecondLook::Yes => solver.solve_from_both_ends(case),
                        SecondLook::No => solver.solve(case),
                    };
                    let answered = solved.map(|solution| {
                        let rows = judge(&solution, limits);
                        let bands = bands.of(&solution, room);
                        (solution, rows, bands)
                    });
                    (answered, None)
                }
                Err(error) => (Err(error), None),
            };
            SolvedCase {
                case: case.clone(),
                outcome,
                march,
            }
        },
    )
}

/// Answers of cases in their order, worked out on all threads; those in time, which take longest, are begun first.
pub(super) fn each<T: Send, W>(
    cases: &[&Case],
    worker: impl Fn() -> W + Sync,
    answer: impl Fn(&mut W, &Case) -> T + Sync,
) -> Vec<T> {
    let mut turns: Vec<usize> = (0..cases.len()).collect();
    turns.sort_by_key(|&k| cases[k].time.is_none());
    let mut answers: Vec<(usize, T)> = Vec::with_capacity(cases.len());
    work(
        cases.len(),
        all_threads(),
        worker,
        |own, turn| (turns[turn], answer(own, cases[turns[turn]])),
        &mut |answered| {
            answers.push(answered);
            ControlFlow::Continue(())
        },
    );
    answers.sort_by_key(|(k, _)| *k);
    answers.into_iter().map(|(_, answer)| answer).collect()
}
