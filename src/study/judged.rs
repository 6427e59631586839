//! Judging many variants of a design alike: steady cases solved and judged, and which limits count for a choice.
//!
//! A limit of the loop counts where some variant meets it in every case. Flows of parts and modules count always, and
//! for a pump temperatures too, since a variant that cannot meet them is no answer. What no variant mends is told, and
//! not counted.

use super::error::StudyError;
use super::limit_row::{LimitRow, LimitSide, Verdict};
use super::limits::judge;
use super::partition::{Tight, margin_k};
use crate::design::{Design, Limits};
use crate::finding::FindingKind;
use crate::network::Network;
use crate::part::SinglePoint;
use crate::solve::{Solution, SolveError, Solver};

/// Limits that count for a pump whether or not any meets them.
pub(super) const FLOW_AND_HEAT: [&str; 6] = [
    "module_flow",
    "part_flow",
    "module_temperature",
    "coolant_inlet",
    "coolant_outlet",
    "device_temperature",
];
/// Limits that count for hoses whether or not any set meets them; temperatures beyond every set are the radiator's.
pub(super) const FLOW: [&str; 2] = ["module_flow", "part_flow"];

/// One case of one variant.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// The case.
    pub case: String,
    /// Every limit, judged, or why there is no answer.
    pub outcome: Result<Vec<LimitRow>, SolveError>,
}

/// A limit, whatever the case.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LimitKey {
    /// Its key in the design file.
    pub limit: &'static str,
    /// What it is judged on.
    pub subject: String,
    /// Which side the bound is on.
    pub side: LimitSide,
}

impl LimitKey {
    fn of(row: &LimitRow) -> Self {
        Self {
            limit: row.limit,
            subject: row.subject.clone(),
            side: row.side,
        }
    }

    pub(super) fn is(&self, row: &LimitRow) -> bool {
        self.limit == row.limit && self.side == row.side && self.subject == row.subject
    }
}

/// The limits of a loop, divided.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Counting {
    /// Those that decide.
    pub counts: Vec<LimitKey>,
    /// Those that no variant meets in every case, and that another remedy must mend.
    pub hopeless: Vec<LimitKey>,
    /// What the hopeless ones must be held at, where the study asks that they get no worse than in the design.
    pub floors: Vec<Floor>,
}

/// A limit that no variant meets, in one case of the design as it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Floor {
    /// The case.
    pub case: String,
    /// The limit.
    pub key: LimitKey,
    /// Its margin now on the common scale, K.
    pub margin_k: f64,
}

/// A limit is worse than now if it is so by more than this, K: the solver's closure.
const WORSE_K: f64 = 1e-6;

/// What a variant comes to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Weighed {
    /// Every case has an answer and every limit that counts is met.
    pub fits: bool,
    /// The tightest limit that counts.
    pub worst: Option<Tight>,
    /// The hopeless limit that gets worse than now by most, its margin against now; none where none does.
    pub worse: Option<Tight>,
    /// The first case without an answer.
    pub failure: Option<(String, SolveError)>,
}

/// The steady cases that are asked for, and those in time that are left out.
pub(super) fn steady_cases(
    design: &Design,
    only: &[String],
) -> Result<(Vec<String>, Vec<String>), StudyError> {
    if let Some(case) = only.iter().find(|c| !design.cases.contains_key(*c)) {
        return Err(StudyError::unknown("case", case, design.cases.keys()));
    }
    let asked = design
        .cases
        .iter()
        .filter(|(name, _)| only.is_empty() || only.contains(name));
    let (in_time, steady): (Vec<_>, Vec<_>) = asked.partition(|(_, c)| c.duration.is_some());
    let names = |list: Vec<(&String, _)>| list.into_iter().map(|(n, _)| n.clone()).collect();
    let (steady, in_time): (Vec<String>, Vec<String>) = (names(steady), names(in_time));
    if steady.is_empty() {
        return Err(StudyError::NoSteadyCase { in_time });
    }
    Ok((steady, in_time))
}

/// Solves and judges cases of a variant; single measured points are read both ways and the worse counts. `see` looks at
/// every solution and decides whether to go on.
pub(super) fn judge_design(
    design: &Design,
    cases: &[String],
    see: &mut dyn FnMut(&Solution<'_>, &[LimitRow]) -> Onward,
) -> Result<Vec<Judged>, StudyError> {
    let network = Network::build(design)?;
    let limits = design.limits.clone().unwrap_or_default();
    let single = network
        .findings()
        .iter()
        .any(|f| f.kind == FindingKind::SinglePoint);
    let others: Vec<Network> = if single {
        [SinglePoint::AllLaminar, SinglePoint::AllTurbulent]
            .into_iter()
            .map(|reading| Network::build_with(design, reading))
            .collect::<Result<_, _>>()?
    } else {
        Vec::new()
    };
    Ok(judge_networks(&network, &others, &limits, cases, see))
}

/// Whether a variant is solved further.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Onward {
    /// The next case.
    Next,
    /// It is lost already.
    Stop,
}

fn judge_networks(
    network: &Network,
    others: &[Network],
    limits: &Limits,
    cases: &[String],
    see: &mut dyn FnMut(&Solution<'_>, &[LimitRow]) -> Onward,
) -> Vec<Judged> {
    let mut solver = Solver::new(network);
    let mut solvers: Vec<(&Network, Solver<'_>)> =
        others.iter().map(|n| (n, Solver::new(n))).collect();
    let mut all = Vec::new();
    for case in network.cases().iter().filter(|c| cases.contains(&c.name)) {
        let outcome = solver.solve(case).map(|solution| {
            let mut rows = judge(&solution, limits);
            for (other, solver) in &mut solvers {
                let same = other.cases().iter().find(|c| c.name == case.name);
                if let Some(Ok(reading)) = same.map(|c| solver.solve(c)) {
                    for (row, other) in rows.iter_mut().zip(judge(&reading, limits)) {
                        row.widen(&other);
                    }
                }
            }
            let onward = see(&solution, &rows);
            (rows, onward)
        });
        let stop = matches!(outcome, Err(_) | Ok((_, Onward::Stop)));
        all.push(Judged {
            case: case.name.clone(),
            outcome: outcome.map(|(rows, _)| rows),
        });
        if stop {
            break;
        }
    }
    all
}

/// The loop that a subject belongs to.
pub(super) fn owner_of(subject: &str) -> &str {
    subject.split('.').next().unwrap_or(subject)
}

pub(super) fn is_met(row: &LimitRow) -> bool {
    matches!(row.verdict, Verdict::Met | Verdict::Provisional)
}

/// Divides the limits of a loop by what the variants show.
pub(super) fn counting<'a>(
    variants: impl Iterator<Item = &'a [Judged]> + Clone,
    owner: &str,
    always: &[&str],
) -> Counting {
    let mut keys: Vec<LimitKey> = Vec::new();
    for rows in variants.clone().flatten().flat_map(|j| &j.outcome) {
        for row in rows.iter().filter(|r| r.margin.is_some()) {
            if owner_of(&row.subject) == owner && !keys.iter().any(|k| k.is(row)) {
                keys.push(LimitKey::of(row));
            }
        }
    }
    let mends = |key: &LimitKey| {
        variants.clone().any(|cases| {
            let mut rows = cases.iter().map(|judged| {
                judged.outcome.as_ref().is_ok_and(|rows| {
                    rows.iter()
                        .filter(|r| key.is(r) && r.margin.is_some())
                        .all(is_met)
                })
            });
            !cases.is_empty() && rows.all(|met| met)
        })
    };
    let (counts, hopeless) = keys
        .into_iter()
        .partition(|key| always.contains(&key.limit) || mends(key));
    Counting {
        counts,
        hopeless,
        floors: Vec::new(),
    }
}

impl Counting {
    pub(super) fn counts(&self, row: &LimitRow) -> bool {
        self.counts.iter().any(|k| k.is(row))
    }

    /// From here on a hopeless limit must be no worse than in these cases of the design as it stands.
    pub(super) fn hold(&mut self, own: &[Judged]) {
        for judged in own {
            for row in judged.outcome.iter().flatten() {
                let key = self.hopeless.iter().find(|k| k.is(row));
                if let (Some(key), Some(margin_k)) = (key, margin_k(row)) {
                    self.floors.push(Floor {
                        case: judged.case.clone(),
                        key: key.clone(),
                        margin_k,
                    });
                }
            }
        }
    }

    /// By how much a row is below its floor, as a margin against now, K.
    fn below_floor(&self, case: &str, row: &LimitRow) -> Option<f64> {
        let floor = self
            .floors
            .iter()
            .find(|f| f.case == case && f.key.is(row))?;
        let against_now_k = margin_k(row)? - floor.margin_k;
        (against_now_k < -WORSE_K).then_some(against_now_k)
    }

    /// Weighs the cases of a variant.
    pub(super) fn weigh(&self, cases: &[Judged]) -> Weighed {
        let mut weighed = Weighed {
            fits: !cases.is_empty(),
            ..Weighed::default()
        };
        for judged in cases {
            let rows = match &judged.outcome {
                Ok(rows) => rows,
                Err(error) => {
                    weighed.fits = false;
                    if weighed.failure.is_none() {
                        weighed.failure = Some((judged.case.clone(), error.clone()));
                    }
                    continue;
                }
            };
            let tight = |row: &LimitRow, margin_k: f64| Tight {
                margin_k,
                measure: row.measure,
                limit: row.limit,
                subject: row.subject.clone(),
                case: judged.case.clone(),
            };
            let tighten = |slot: &mut Option<Tight>, row: &LimitRow, margin_k: f64| {
                if slot.as_ref().is_none_or(|w| margin_k < w.margin_k) {
                    *slot = Some(tight(row, margin_k));
                }
            };
            for row in rows {
                if let Some(against_now_k) = self.below_floor(&judged.case, row) {
                    weighed.fits = false;
                    tighten(&mut weighed.worse, row, against_now_k);
                }
                if self.counts(row)
                    && let Some(margin_k) = margin_k(row)
                {
                    weighed.fits &= is_met(row);
                    tighten(&mut weighed.worst, row, margin_k);
                }
            }
        }
        weighed
    }
}
