//! Two designs side by side: every input in which they differ, every output that moved, every limit that flipped.

use super::check;
use super::limit_row::{LimitRow, LimitSide, Verdict};
use super::readout::{Judging, Readout, Solved, solve_case};
use crate::design::{Design, Difference, Limits};
use crate::network::{BuildError, Network};
use crate::solve::Solver;
use indexmap::IndexMap;

/// An output has moved when it changed by more than this share of itself, unless the caller says otherwise.
pub const MOVED: f64 = 0.01;

/// How to compare.
#[derive(Clone, Debug, PartialEq)]
pub struct CompareQuestion {
    /// Only these cases; empty takes all.
    pub cases: Vec<String>,
    /// The share of itself by which an output must change to be told.
    pub threshold: f64,
}

impl Default for CompareQuestion {
    fn default() -> Self {
        Self {
            cases: Vec::new(),
            threshold: MOVED,
        }
    }
}

/// An output that moved, or that only one of the two designs has.
#[derive(Clone, Debug, PartialEq)]
pub struct Moved {
    /// Its path behind the name of the case.
    pub path: String,
    /// In the first design, SI.
    pub before: Option<f64>,
    /// In the second design, SI.
    pub after: Option<f64>,
    /// Change over what the readout measures it against; infinite where one is missing.
    pub share: f64,
}

/// A limit in both designs.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitPair {
    /// In the first design; none where it has no such limit.
    pub before: Option<LimitRow>,
    /// In the second.
    pub after: Option<LimitRow>,
}

/// How a verdict changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flip {
    /// It is missed now and was not.
    ToMissed,
    /// It was missed and is not any more.
    FromMissed,
    /// Another change: to or from provisional, or there is no value any more.
    Other,
}

impl LimitPair {
    /// The row of the second design, or else of the first.
    pub fn row(&self) -> Option<&LimitRow> {
        self.after.as_ref().or(self.before.as_ref())
    }

    /// How the verdict changed; none where it did not, or the limit stands in one design only.
    pub fn flip(&self) -> Option<Flip> {
        let (before, after) = (self.before.as_ref()?.verdict, self.after.as_ref()?.verdict);
        match (before, after) {
            _ if before == after => None,
            (_, Verdict::Missed) => Some(Flip::ToMissed),
            (Verdict::Missed, _) => Some(Flip::FromMissed),
            _ => Some(Flip::Other),
        }
    }
}

/// One case in both designs.
#[derive(Clone, Debug, PartialEq)]
pub struct ComparedCase {
    /// Its name.
    pub case: String,
    /// Why the first design has no answer to it.
    pub first_failure: Option<String>,
    /// Why the second has none.
    pub second_failure: Option<String>,
    /// Outputs that moved, in the order of the first design.
    pub moved: Vec<Moved>,
    /// How many outputs both designs have.
    pub compared: usize,
    /// Limits of either design.
    pub limits: Vec<LimitPair>,
}

/// The comparison.
#[derive(Clone, Debug, PartialEq)]
pub struct CompareAnswer {
    /// Titles of the two designs.
    pub titles: (String, String),
    /// Inputs that differ.
    pub inputs: Vec<Difference>,
    /// Cases of either design.
    pub cases: Vec<ComparedCase>,
    /// The share by which an output had to change.
    pub threshold: f64,
}

impl CompareAnswer {
    /// Every limit that flipped, with its case.
    pub fn flips(&self) -> impl Iterator<Item = (&str, &LimitPair, Flip)> {
        self.cases.iter().flat_map(|c| {
            let pairs = c.limits.iter();
            pairs.filter_map(|pair| pair.flip().map(|flip| (c.case.as_str(), pair, flip)))
        })
    }

    /// Whether any limit is missed in the second design that was not in the first.
    pub fn is_worse(&self) -> bool {
        self.flips().any(|(.., flip)| flip == Flip::ToMissed)
    }

    /// Whether every case that both designs have was solved in both.
    pub fn is_answered(&self) -> bool {
        let solved = |c: &ComparedCase| c.first_failure.is_none() && c.second_failure.is_none();
        self.cases.iter().all(solved)
    }

    /// Whether nothing differs at all.
    pub fn is_same(&self) -> bool {
        let still = |c: &ComparedCase| c.moved.is_empty() && c.first_failure == c.second_failure;
        self.inputs.is_empty() && self.cases.iter().all(still) && self.flips().next().is_none()
    }
}

/// What one design says about one case.
struct Side {
    numbers: Result<Vec<(String, f64)>, String>,
    limits: Vec<LimitRow>,
}

/// Compares two designs.
///
/// # Errors
/// [`BuildError`] where one of them makes no network.
///
/// ```
/// use loopwright::{design::Source, report::Keys, study::compare::{self, CompareQuestion}};
/// # let text = include_str!("../../networks/three-reservoirs.json");
/// let one = Source::read(text).unwrap().design;
/// let other = Source::read(&text.replace("1000 ft", "1500 ft")).unwrap().design;
/// let answer = compare::run(&one, &other, &CompareQuestion::default(), &Keys).unwrap();
/// assert_eq!(answer.inputs.len(), 1);
/// assert!(answer.cases[0].moved.iter().any(|m| m.path == "loops.mains.parts.pipe A.mass_flow_kg_s"));
/// ```
pub fn run(
    first: &Design,
    second: &Design,
    question: &CompareQuestion,
    readout: &dyn Readout,
) -> Result<CompareAnswer, BuildError> {
    let mut one = sides(first, &question.cases, readout)?;
    let mut other = sides(second, &question.cases, readout)?;
    let mut names: Vec<String> = one.keys().cloned().collect();
    names.extend(other.keys().filter(|k| !one.contains_key(*k)).cloned());
    let cases = names
        .into_iter()
        .map(|name| {
            let sides = (one.shift_remove(&name), other.shift_remove(&name));
            compared(name, sides, question.threshold, readout)
        })
        .collect();
    Ok(CompareAnswer {
        titles: (first.title.clone(), second.title.clone()),
        inputs: first.differences(second),
        cases,
        threshold: question.threshold,
    })
}

fn sides(
    design: &Design,
    only: &[String],
    readout: &dyn Readout,
) -> Result<IndexMap<String, Side>, BuildError> {
    let network = Network::build(design)?;
    // Verdicts are those of `check`, which reads single measured points both ways.
    let checked = check::verdicts(design, only)?;
    let limits = design.limits.clone().unwrap_or_default();
    let mut solver = Solver::new(&network);
    let sides = checked.cases.into_iter().map(|answer| {
        let case = network.cases().iter().find(|c| c.name == answer.case);
        let numbers = match case {
            Some(case) => numbers(&mut solver, case, &limits, readout),
            None => Err("there is no such case".to_owned()),
        };
        let side = Side {
            numbers,
            limits: answer.limits.unwrap_or_default(),
        };
        (answer.case, side)
    });
    Ok(sides.collect())
}

fn numbers(
    solver: &mut Solver<'_>,
    case: &crate::network::Case,
    limits: &Limits,
    readout: &dyn Readout,
) -> Result<Vec<(String, f64)>, String> {
    let solved: Solved<'_> =
        solve_case(solver, case, limits, Judging::No).map_err(|error| error.to_string())?;
    Ok(readout.every(&solved))
}

fn compared(
    case: String,
    sides: (Option<Side>, Option<Side>),
    threshold: f64,
    readout: &dyn Readout,
) -> ComparedCase {
    let failure = |side: &Option<Side>, which: &str| match side {
        None => Some(format!("the {which} design has no such case")),
        Some(side) => side.numbers.as_ref().err().cloned(),
    };
    let (first_failure, second_failure) = (failure(&sides.0, "first"), failure(&sides.1, "second"));
    let (mut moved, mut compared) = (Vec::new(), 0);
    let limits = |side: &Option<Side>| side.as_ref().map_or(Vec::new(), |s| s.limits.clone());
    let pairs = pair_limits(limits(&sides.0), limits(&sides.1));
    if let (Some(Side { numbers: Ok(a), .. }), Some(Side { numbers: Ok(b), .. })) = sides {
        let mut after: IndexMap<String, f64> = b.into_iter().collect();
        for (path, before) in a {
            let now = after.get(&path).copied();
            if let Some(now) = now {
                after.insert(path.clone(), f64::NAN);
                compared += 1;
                let scale = readout.scale(&path, before.abs().max(now.abs()));
                let share = (now - before).abs() / scale;
                if share > threshold {
                    moved.push(Moved {
                        path,
                        before: Some(before),
                        after: Some(now),
                        share,
                    });
                }
            } else {
                moved.push(Moved {
                    path,
                    before: Some(before),
                    after: None,
                    share: f64::INFINITY,
                });
            }
        }
        // What is left stands in the second design alone.
        let new = after.into_iter().filter(|(_, now)| !now.is_nan());
        moved.extend(new.map(|(path, now)| Moved {
            path,
            before: None,
            after: Some(now),
            share: f64::INFINITY,
        }));
    }
    ComparedCase {
        case,
        first_failure,
        second_failure,
        moved,
        compared,
        limits: pairs,
    }
}

fn pair_limits(before: Vec<LimitRow>, mut after: Vec<LimitRow>) -> Vec<LimitPair> {
    let key = |row: &LimitRow| {
        let side = match row.side {
            LimitSide::Min => 0,
            LimitSide::Max => 1,
        };
        (row.limit, row.subject.clone(), side)
    };
    let mut pairs: Vec<LimitPair> = before
        .into_iter()
        .map(|row| {
            let same = after.iter().position(|other| key(other) == key(&row));
            LimitPair {
                after: same.map(|k| after.remove(k)),
                before: Some(row),
            }
        })
        .collect();
    pairs.extend(after.into_iter().map(|row| LimitPair {
        before: None,
        after: Some(row),
    }));
    pairs
}
