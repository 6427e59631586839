//! Which hose bores from a stock list: trunk, feeds and tails each get one size. Pressure against mass is an exact Pareto
//! set at the design's own flows; the lightest set that meets the limits is searched with every set solved anew.
//!
//! The search takes sets in the order of their mass, so that the first which meets every limit is the lightest there
//! is. Where it stops early, the mass of the next set is a proven bound, and the answer says how far it may be off.

use super::hose_climb::climb;
use super::hose_group::{Frame, choices, groups, with_choices};
pub use super::hose_group::{Group, GroupKind, HoseChoice};
use super::hose_search::{Front, front, near_own, search};
use crate::design::{Design, Stock};
use crate::network::Network;
use crate::solve::Solver;
use crate::study::error::StudyError;
use crate::study::judged::{
    Counting, FLOW, Judged, Onward, Weighed, counting, judge_design, steady_cases,
};

/// Velocity above which a hose is noisy and wears, where the design states no limit, m/s (common practice, no source).
pub const COMMON_VELOCITY_M_S: f64 = 2.0;
/// Velocity below which a falling hose keeps its bubbles, m/s (common practice, no source).
pub const BUBBLE_VELOCITY_M_S: f64 = 0.6;
/// Sets solved before the search stops and says how far it may be off.
pub const MOST_TRIALS: usize = 1500;
/// Sets of the Pareto set that are solved anew, evenly over it.
const FRONT_TRIALS: usize = 24;

/// What to size.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HoseQuestion {
    /// The loop (default: the only one).
    pub owner: Option<String>,
    /// Most pressure that the hoses may take at the design's own flows, Pa (default: no bound).
    pub pressure_pa: Option<f64>,
    /// Most sets to solve (default [`MOST_TRIALS`]).
    pub most_trials: Option<usize>,
    /// Only these cases (default: all steady ones).
    pub cases: Vec<String>,
}

/// A choice of one size for each group.
#[derive(Clone, Debug, PartialEq)]
pub struct HoseSet {
    /// For each group, the place of its size in the group's choices.
    pub picks: Vec<usize>,
    /// Pressure that the hoses take of the pump at the design's own flows, Pa.
    pub pressure_pa: f64,
    /// Mass of hoses and their coolant, kg.
    pub mass_kg: f64,
    /// Coolant in them, m3.
    pub volume_m3: f64,
}

/// A set that was solved anew.
#[derive(Clone, Debug, PartialEq)]
pub struct SolvedSet {
    /// The set.
    pub set: HoseSet,
    /// Every case, judged.
    pub cases: Vec<Judged>,
    /// What it comes to.
    pub weighed: Weighed,
}

/// How far the search went.
#[derive(Clone, Debug, PartialEq)]
pub struct SearchEnd {
    /// Sets there are.
    pub sets: f64,
    /// Sets solved.
    pub solved: usize,
    /// No lighter set can meet the limits: every one was tried, or there is none.
    pub exact: bool,
    /// No set lighter than this meets the limits, kg.
    pub bound_kg: f64,
}

/// The answer for a loop.
#[derive(Clone, Debug, PartialEq)]
pub struct HoseAnswer {
    /// The loop.
    pub owner: String,
    /// The groups, each with its sizes.
    pub groups: Vec<Group>,
    /// The case at whose flows pressures are compared: that in which the hoses take most.
    pub governing: String,
    /// The cases.
    pub cases: Vec<String>,
    /// Cases in time, which are not compared.
    pub in_time: Vec<String>,
    /// Most velocity, m/s, and whether the design states it.
    pub velocity_m_s: f64,
    /// The design's own sizes, with their mass as near as the list's walls tell.
    pub own: HoseSet,
    /// Sets that no other beats in both pressure and mass, lightest first, within the velocity at the design's flows.
    pub front: Vec<HoseSet>,
    /// The lightest set that meets every limit that counts, and makes none of the others worse than now.
    pub best: Option<SolvedSet>,
    /// Where none does: the solved set that comes nearest.
    pub nearest: Option<SolvedSet>,
    /// How far the search went.
    pub end: SearchEnd,
    /// Which limits decide, and which no solved set mends.
    pub counting: Counting,
    /// Parts, modules and radiators whose numbers are placeholders.
    pub placeholders: Vec<String>,
}

/// Searches the sizes of a loop's hoses.
///
/// # Errors
/// [`StudyError`] where the question names nothing, the list holds no hose, or the design as it stands has no answer.
///
/// ```
/// use loopwright::{design::{Source, Stock}, study::size::hose::{self, HoseQuestion}};
/// let design = Source::read(include_str!("../../../networks/bookmobile.json")).unwrap().design;
/// let stock = Stock::read(r#"{ "format": 1, "title": "two", "hoses": {
///   "thin": { "bore": "13 mm" }, "wide": { "bore": "19 mm" } } }"#).unwrap();
/// let question = HoseQuestion { owner: Some("drive".into()), ..Default::default() };
/// let answer = hose::run(&design, &stock, &question).unwrap();
/// assert!(answer.end.exact);
/// ```
pub fn run(
    design: &Design,
    stock: &Stock,
    question: &HoseQuestion,
) -> Result<HoseAnswer, StudyError> {
    if stock.hoses.is_empty() {
        return Err(StudyError::Nothing {
            sort: "hose in the stock list",
            help: "try a list with `hoses`, such as networks/stock/hoses.json",
        });
    }
    let owner = choose(design, question.owner.as_deref())?;
    let (cases, in_time) = steady_cases(design, &question.cases)?;
    let network = Network::build(design)?;
    let mut solver = Solver::new(&network);
    let mut solutions = Vec::new();
    for case in network.cases().iter().filter(|c| cases.contains(&c.name)) {
        solutions.push(solver.solve(case)?);
    }
    let mut groups = groups(design, &owner, &solutions);
    if groups.is_empty() {
        return Err(StudyError::Nothing {
            sort: "round hose in this loop",
            help: "try another loop with `--loop`",
        });
    }
    let frame = Frame::new(design, &owner, &solutions, &groups);
    for group in &mut groups {
        (group.choices, group.refused) = choices(&frame, group, stock);
    }
    let limit = design.limits.as_ref().and_then(|l| l.hose_velocity);
    let stated = limit.and_then(|b| b.max).map(|v| v.m_s());
    let velocity_m_s = stated.unwrap_or(COMMON_VELOCITY_M_S);
    let Front { sets, own } = front(&frame, &groups, velocity_m_s, question.pressure_pa);
    let mut tried: Vec<(HoseSet, Vec<Judged>)> = Vec::new();
    let step = sets.len().div_ceil(FRONT_TRIALS).max(1);
    let last = sets.len().saturating_sub(1);
    let of_front = sets.iter().enumerate();
    let mut first: Vec<HoseSet> = of_front
        .filter(|(k, _)| k % step == 0 || *k == last)
        .map(|(_, set)| set.clone())
        .collect();
    let within = |s: &HoseSet| {
        question
            .pressure_pa
            .is_none_or(|most| s.pressure_pa <= most)
    };
    first.extend(near_own(&groups).into_iter().filter(within));
    for set in &first {
        if tried.iter().all(|(known, _)| known.picks != set.picks) {
            let changed = with_choices(design, &owner, &groups, &set.picks, stock);
            if let Ok(judged) = judge_design(&changed, &cases, &mut |_, _| Onward::Next) {
                tried.push((set.clone(), judged));
            }
        }
    }
    let own_cases = judge_design(design, &cases, &mut |_, _| Onward::Next)?;
    let variants = tried
        .iter()
        .map(|t| t.1.as_slice())
        .chain([own_cases.as_slice()]);
    let mut counting = counting(variants, &owner, &FLOW);
    // A radiator too small is no licence for a hose too thin.
    counting.hold(&own_cases);
    let mut known: Vec<SolvedSet> = tried
        .into_iter()
        .map(|(set, cases)| SolvedSet {
            weighed: counting.weigh(&cases),
            set,
            cases,
        })
        .collect();
    let own_like = near_own(&groups).into_iter().next();
    let start = known
        .iter()
        .find(|s| own_like.as_ref().is_some_and(|o| o.picks == s.set.picks))
        .cloned();
    if let (Some(start), false) = (start, known.iter().any(|s| s.weighed.fits)) {
        let mut judge = |picks: &[usize]| -> Option<(Vec<Judged>, Weighed)> {
            let changed = with_choices(design, &owner, &groups, picks, stock);
            let judged = judge_design(&changed, &cases, &mut |_, _| Onward::Next).ok()?;
            let weighed = counting.weigh(&judged);
            Some((judged, weighed))
        };
        let better = climb(&groups, start, question.pressure_pa, &mut judge);
        known.extend(better);
    }
    let most = question.most_trials.unwrap_or(MOST_TRIALS);
    let mut judge = |picks: &[usize]| -> Option<(Vec<Judged>, Weighed)> {
        let changed = with_choices(design, &owner, &groups, picks, stock);
        let judged = judge_design(&changed, &cases, &mut |_, rows| {
            let missed = |r: &crate::study::LimitRow| {
                counting.counts(r) && r.margin.is_some_and(|m| m < 0.0)
            };
            if rows.iter().any(missed) {
                Onward::Stop
            } else {
                Onward::Next
            }
        })
        .ok()?;
        let weighed = counting.weigh(&judged);
        Some((judged, weighed))
    };
    let found = search(&groups, &known, question.pressure_pa, most, &mut judge);
    Ok(HoseAnswer {
        governing: frame.governing().to_owned(),
        velocity_m_s,
        own,
        front: sets,
        best: found.best,
        nearest: found.nearest,
        end: found.end,
        placeholders: network.placeholders().to_vec(),
        owner: owner.clone(),
        groups,
        cases,
        in_time,
        counting,
    })
}

fn choose(design: &Design, asked: Option<&str>) -> Result<String, StudyError> {
    match asked {
        Some(asked) if design.loops.contains_key(asked) => Ok(asked.to_owned()),
        Some(asked) => Err(StudyError::unknown("loop", asked, design.loops.keys())),
        None => match design.loops.keys().collect::<Vec<_>>()[..] {
            [one] => Ok(one.clone()),
            _ => Err(StudyError::Which {
                sort: "loop",
                option: "--loop",
                known: design.loops.keys().cloned().collect(),
            }),
        },
    }
}
