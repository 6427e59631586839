//! The cases of a design, each solved whole: steady or in time, with its limits and the bands of its banks. No case knows
//! another, so they are solved on all threads, to the numbers of single solves, bit for bit.

use super::band::{Band, Bands};
use super::crew::share_out;
use super::limit_row::LimitRow;
use super::limits::judge;
use super::time::{self, Endless, Marched, TimeAnswer};
use crate::design::Limits;
use crate::network::{Case, Network};
use crate::solve::{Solution, SolveError, Solver};

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
    // The march of a case in time and the same duty without end know nothing of each other either.
    let timed = || cases.iter().filter(|c| c.time.is_some());
    let pieces: Vec<Piece<'_>> = (timed().map(|c| Piece::March(c)))
        .chain(timed().map(|c| Piece::Endless(c)))
        .chain((cases.iter().filter(|c| c.time.is_none())).map(|c| Piece::Steady(c)))
        .collect();
    let done = share_out(
        &pieces,
        || Solver::new(network),
        |solver, piece| match *piece {
            Piece::March(case) => Done::March(time::march(solver, case, limits)),
            Piece::Endless(case) => {
                let endless = time::for_ever(solver, case, limits);
                let whole = endless.whole.as_ref();
                let of = |s| solver.lend(|room| bands.of(s, room));
                let bands = whole.map(of).unwrap_or_default();
                Done::Endless(endless, bands)
            }
            Piece::Steady(case) => {
                let solved = match second {
                    SecondLook::Yes => solver.solve_from_both_ends(case),
                    SecondLook::No => solver.solve(case),
                };
                Done::Steady(solved.map(|solution| {
                    let rows = judge(&solution, limits);
                    let bands = solver.lend(|room| bands.of(&solution, room));
                    (solution, rows, bands)
                }))
            }
        },
    );
    let (mut marches, mut endless, mut steady) = (Vec::new(), Vec::new(), Vec::new());
    for one in done {
        match one {
            Done::March(march) => marches.push(march),
            Done::Endless(without_end, bands) => endless.push((without_end, bands)),
            Done::Steady(answered) => steady.push(answered),
        }
    }
    let (mut marches, mut steady) = (marches.into_iter().zip(endless), steady.into_iter());
    let answers = cases.into_iter().map_while(|case| {
        let (outcome, march) = match case.time {
            None => (steady.next()?, None),
            Some(_) => match marches.next()? {
                (Ok(march), (endless, bands)) => {
                    let march = march?.join(endless);
                    let answered = (march.end.clone(), march.limits.clone(), bands);
                    (Ok(answered), Some(march))
                }
                (Err(error), _) => (Err(error), None),
            },
        };
        Some(SolvedCase {
            case: case.clone(),
            outcome,
            march,
        })
    });
    answers.collect()
}

/// What a thread does at once: a case, or half of one in time.
enum Piece<'a> {
    March(&'a Case),
    Endless(&'a Case),
    Steady(&'a Case),
}

/// What came of it.
enum Done<'n> {
    March(Result<Option<Marched<'n>>, SolveError>),
    Endless(Endless<'n>, Vec<Band>),
    Steady(Result<Answered<'n>, SolveError>),
}

/// Answers of cases in their order, worked out on all threads; those in time, which take longest, are begun first.
pub(super) fn each<T: Send, W>(
    cases: &[&Case],
    worker: impl Fn() -> W + Sync,
    answer: impl Fn(&mut W, &Case) -> T + Sync,
) -> Vec<T> {
    let mut turns: Vec<usize> = (0..cases.len()).collect();
    turns.sort_by_key(|&k| cases[k].time.is_none());
    let mut answers = share_out(&turns, worker, |own, &k| (k, answer(own, cases[k])));
    answers.sort_by_key(|(k, _)| *k);
    answers.into_iter().map(|(_, answer)| answer).collect()
}
