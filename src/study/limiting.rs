//! What limits a design most, and the one change that helps each limit most: every change of a list is tried on the
//! design, the case solved again, and the same limit read again.

mod changes;

use super::check::{CaseAnswer, CheckAnswer};
use super::limit_row::{LimitRow, Verdict};
use super::limits::judge;
use super::partition::margin_k;
use super::time;
use crate::design::Design;
use crate::network::Network;
use crate::solve::Solver;
use changes::changes;
use std::cmp::Ordering;

/// How many limits are told.
const MOST: usize = 3;
/// A change that wins less than this on the common scale helps nobody, K.
const WORTH_K: f64 = 0.05;
/// Changes of a case in time that are marched.
const MARCHED: usize = 2;
/// A case in time stands for a limit only where it is worse than a steady one by this share.
const CLEARLY: f64 = 0.05;

/// A change that was tried.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// What was changed, in words without units.
    pub words: String,
    /// The value with it, SI.
    pub value: f64,
    /// The margin with it, SI.
    pub margin: f64,
}

/// A limit that limits the design.
#[derive(Clone, Debug, PartialEq)]
pub struct Limiting {
    /// Its case.
    pub case: String,
    /// The limit.
    pub row: LimitRow,
    /// The change that helps most, where any helps.
    pub best: Option<Change>,
    /// How many changes were tried.
    pub tried: usize,
}

/// The limits with the least margin, worst first: one a limit and subject, in its worst case.
pub fn tightest(answer: &CheckAnswer) -> Vec<(String, LimitRow)> {
    let mut list: Vec<(f64, String, LimitRow)> = Vec::new();
    for case in &answer.cases {
        for row in case.limits.iter().flatten() {
            let Some(margin) = margin_k(row) else {
                continue;
            };
            let same = |l: &&mut (f64, String, LimitRow)| {
                l.2.limit == row.limit && l.2.subject == row.subject && l.2.side == row.side
            };
            match list.iter_mut().find(same) {
                Some(known) if worse(margin, case, known) => {
                    *known = (margin, case.case.clone(), row.clone());
                }
                Some(_) => {}
                None => list.push((margin, case.case.clone(), row.clone())),
            }
        }
    }
    list.sort_by(|a, b| {
        let missed = |r: &LimitRow| r.verdict == Verdict::Missed;
        missed(&b.2).cmp(&missed(&a.2)).then(a.0.total_cmp(&b.0))
    });
    list.into_iter().map(|(_, case, row)| (case, row)).collect()
}

/// Whether a margin is worse than the known one; a steady case is drawn rather than one in time that is hardly worse.
fn worse(margin_k: f64, case: &CaseAnswer, known: &(f64, String, LimitRow)) -> bool {
    if !case.in_time.is_empty() {
        margin_k < known.0 - CLEARLY * known.0.abs()
    } else {
        margin_k < known.0
    }
}

/// The three tightest limits with what helps each.
pub fn run(design: &Design, network: &Network, answer: &CheckAnswer) -> Vec<Limiting> {
    tightest(answer)
        .into_iter()
        .take(MOST)
        .map(|(case, row)| {
            let mut changes = changes(design, network, &row, &case);
            let tried = changes.len();
            shorten(&mut changes, network, &case, &row);
            // Read as the changes are read: a limit that rests on a single measured point may stand worse in `row`.
            let before = read_limit(design, &case, &row, Reading::Whole)
                .and_then(|r| margin_k(&r))
                .or_else(|| margin_k(&row));
            let best = changes
                .into_iter()
                .filter_map(|(words, changed)| {
                    let after = read_limit(&changed, &case, &row, Reading::Whole)?;
                    let gain_k = margin_k(&after)? - before?;
                    let change = Change {
                        words,
                        value: after.value?,
                        margin: after.margin?,
                    };
                    Some((gain_k, change))
                })
                .filter(|(gain_k, _)| *gain_k > WORTH_K)
                .max_by(|a, b| a.0.partial_cmp(&b.0).unwrap_or(Ordering::Equal))
                .map(|(_, change)| change);
            Limiting {
                case,
                row,
                best,
                tried,
            }
        })
        .collect()
}

/// How a limit is read.
#[derive(Clone, Copy, PartialEq)]
enum Reading {
    /// As `check` reads it: a case in time is marched.
    Whole,
    /// The steady answer of the same duty.
    Steady,
}

/// A march takes long: of a case in time the changes are compared on its steady answer, and the best few are kept to be
/// marched. Where the duty has no steady answer all are kept.
fn shorten(changes: &mut Vec<(String, Design)>, network: &Network, case: &str, row: &LimitRow) {
    let in_time = network
        .cases()
        .iter()
        .any(|c| c.name == case && c.time.is_some());
    if !in_time {
        return;
    }
    let mut ranked: Vec<(f64, usize)> = changes
        .iter()
        .enumerate()
        .filter_map(|(k, (_, design))| {
            let read = read_limit(design, case, row, Reading::Steady)?;
            Some((margin_k(&read)?, k))
        })
        .collect();
    if ranked.is_empty() {
        return;
    }
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
    ranked.truncate(MARCHED);
    let mut place = 0;
    changes.retain(|_| {
        place += 1;
        ranked.iter().any(|r| r.1 == place - 1)
    });
}

/// The same limit in a changed design, where it has an answer.
fn read_limit(design: &Design, case: &str, row: &LimitRow, reading: Reading) -> Option<LimitRow> {
    let network = Network::build(design).ok()?;
    let mut case = network.cases().iter().find(|c| c.name == case)?.clone();
    if reading == Reading::Steady {
        case.time = None;
    }
    let limits = design.limits.clone().unwrap_or_default();
    let mut solver = Solver::new(&network);
    let rows = match time::run(&mut solver, &case, &limits).ok()? {
        Some(march) => march.limits,
        None => judge(&solver.solve(&case).ok()?, &limits),
    };
    rows.into_iter()
        .find(|r| r.limit == row.limit && r.subject == row.subject && r.side == row.side)
}

#[cfg(test)]
mod tests {
    use super::super::check;
    use super::*;
    use crate::design::Source;

    #[test]
    fn the_change_that_is_told_helps_and_none_that_was_tried_helps_more() {
        let text = include_str!("../../networks/bookmobile.json");
        let design = Source::read(text).expect("a design").design;
        let network = Network::build(&design).expect("a network");
        let answer = check::run(&design, &["hot hill".to_owned()]).expect("an answer");
        let found = run(&design, &network, &answer);
        assert_eq!(found.len(), 3);
        for limiting in &found {
            assert_eq!(limiting.row.verdict, Verdict::Missed);
            let best = limiting.best.as_ref().expect("something helps");
            assert!(best.margin > limiting.row.margin.expect("a value"));
            let weight = |margin: f64, value: f64| {
                let row = LimitRow {
                    margin: Some(margin),
                    value: Some(value),
                    ..limiting.row.clone()
                };
                margin_k(&row).expect("a value")
            };
            for (words, changed) in changes(&design, &network, &limiting.row, "hot hill") {
                if let Some(other) = read_limit(&changed, "hot hill", &limiting.row, Reading::Whole)
                {
                    let other = margin_k(&other).expect("a value");
                    assert!(
                        other <= weight(best.margin, best.value) + 1e-9,
                        "{words} beats {best:?}"
                    );
                }
            }
        }
        // The worst comes first.
        let margins: Vec<f64> = found.iter().filter_map(|l| margin_k(&l.row)).collect();
        assert!(margins.windows(2).all(|w| w[0] <= w[1]), "{margins:?}");
    }
}
