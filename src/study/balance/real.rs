//! Real drills: the nearest to each exact hole, then one size up or down wherever that evens the flows out further; and
//! what a tenth of a millimetre does.

use super::bench::Bench;
use super::drill::{Drill, DrillSet};
use super::question::Tolerance;
use super::settle::deviation;
use crate::network::Case;
use crate::part::TwoTerm;
use crate::solve::SolveError;

/// Rounds over all branches in which a size up or down is tried.
const ROUNDS: usize = 2;
/// What a hole may be off, m.
const OFF_M: f64 = 1e-4;
/// A change of drill must even the flows by this at least.
const WORTH: f64 = 1e-6;

/// The drills of every branch, by place in the drills that fit its pipe; the place behind the last is no disc.
struct Choice {
    drills: Vec<Vec<Drill>>,
    places: Vec<usize>,
}

impl Choice {
    fn bores(&self) -> Vec<Option<f64>> {
        let each = self.places.iter().zip(&self.drills);
        each.map(|(p, d)| d.get(*p).map(|d| d.bore_m)).collect()
    }
}

fn laws(bench: &Bench, bores: &[Option<f64>]) -> Vec<TwoTerm> {
    let each = bores.iter().enumerate();
    each.map(|(k, bore)| bench.law(k, *bore)).collect()
}

/// The drills to take: none where the branch stays open.
pub(super) fn drills(
    bench: &mut Bench,
    case: &Case,
    shares: &[f64],
    exact_m: &[Option<f64>],
    set: DrillSet,
) -> Result<Vec<Option<Drill>>, SolveError> {
    let drills: Vec<Vec<Drill>> = bench
        .branches
        .iter()
        .map(|b| set.below(b.pipe_bore_m))
        .collect();
    let places = drills
        .iter()
        .zip(exact_m)
        .map(|(list, exact)| match exact {
            Some(exact) => (0..list.len())
                .min_by(|a, b| {
                    let off = |k: usize| (list[k].bore_m - exact).abs();
                    off(*a).total_cmp(&off(*b))
                })
                .unwrap_or(list.len()),
            None => list.len(),
        })
        .collect();
    let mut choice = Choice { drills, places };
    let laws_now = laws(bench, &choice.bores());
    let mut best = deviation(&bench.flows(&laws_now, case)?, shares);
    for _ in 0..ROUNDS {
        let before = best;
        for k in 0..shares.len() {
            let own = choice.places[k];
            let last = choice.drills[k].len();
            let mut kept = own;
            for tried in [own.checked_sub(1), Some(own + 1).filter(|t| *t <= last)] {
                let Some(tried) = tried else { continue };
                choice.places[k] = tried;
                let laws_now = laws(bench, &choice.bores());
                let off = deviation(&bench.flows(&laws_now, case)?, shares);
                if off < best - WORTH {
                    best = off;
                    kept = tried;
                }
            }
            choice.places[k] = kept;
        }
        // At least one branch stays open: discs in all would waste pressure.
        if before - best < WORTH {
            break;
        }
    }
    let each = choice.places.iter().zip(choice.drills);
    Ok(each
        .map(|(place, drills)| drills.into_iter().nth(*place))
        .collect())
}

/// What a hole drilled off its size does to the flow of its branch.
pub(super) fn tolerances(
    bench: &mut Bench,
    case: &Case,
    bores: &[Option<f64>],
) -> Result<Vec<Tolerance>, SolveError> {
    let laws_now = laws(bench, bores);
    let base = bench.flows(&laws_now, case)?;
    let mut all = Vec::with_capacity(bores.len());
    for (k, bore) in bores.iter().enumerate() {
        let mut change = |by_m: f64| -> Result<Option<f64>, SolveError> {
            let Some(moved) = bore.map(|b| b + by_m).filter(|b| *b > 0.0) else {
                return Ok(None);
            };
            let mut changed = laws_now.clone();
            changed[k] = bench.law(k, Some(moved));
            let flows = bench.flows(&changed, case)?;
            Ok(Some(flows[k] / base[k] - 1.0))
        };
        all.push(Tolerance {
            smaller: change(-OFF_M)?,
            larger: change(OFF_M)?,
        });
    }
    Ok(all)
}
