//! The exact part of hose sizing: the Pareto set of separable sums, and sets in the order of their mass.

use super::hose::{HoseSet, SearchEnd, SolvedSet};
use super::hose_group::{Frame, Group, HoseChoice};
use crate::study::judged::{Judged, Weighed};
use std::cmp::Ordering;
use std::collections::{BinaryHeap, HashSet};

/// The Pareto set with the design's own sizes beside it.
pub(super) struct Front {
    pub(super) sets: Vec<HoseSet>,
    pub(super) own: HoseSet,
}

fn empty() -> HoseSet {
    HoseSet {
        picks: Vec::new(),
        pressure_pa: 0.0,
        mass_kg: 0.0,
        volume_m3: 0.0,
    }
}

fn plus(set: &HoseSet, pick: usize, choice: &HoseChoice) -> HoseSet {
    let mut picks = set.picks.clone();
    picks.push(pick);
    HoseSet {
        picks,
        pressure_pa: set.pressure_pa + choice.pressure_pa,
        mass_kg: set.mass_kg + choice.mass_kg,
        volume_m3: set.volume_m3 + choice.volume_m3,
    }
}

/// The sets of which no other has both less pressure and less mass.
///
/// Both are sums over the groups, so a part of a set that is beaten is beaten in every whole set: merging group by
/// group and dropping the beaten loses nothing.
pub(super) fn front(
    frame: &Frame<'_>,
    groups: &[Group],
    velocity_m_s: f64,
    pressure_pa: Option<f64>,
) -> Front {
    let mut sets = vec![empty()];
    for group in groups {
        let mut merged: Vec<HoseSet> = Vec::new();
        for set in &sets {
            for (pick, choice) in group.choices.iter().enumerate() {
                if choice.velocity_m_s <= velocity_m_s {
                    merged.push(plus(set, pick, choice));
                }
            }
        }
        sets = unbeaten(merged);
    }
    sets.retain(|s| pressure_pa.is_none_or(|most| s.pressure_pa <= most));
    Front {
        sets,
        own: frame.own(groups),
    }
}

/// Those that no other beats, by rising mass; of equals one.
fn unbeaten(mut sets: Vec<HoseSet>) -> Vec<HoseSet> {
    sets.sort_by(|a, b| {
        a.mass_kg
            .total_cmp(&b.mass_kg)
            .then(a.pressure_pa.total_cmp(&b.pressure_pa))
    });
    let mut least = f64::INFINITY;
    sets.retain(|set| {
        let kept = set.pressure_pa < least;
        least = least.min(set.pressure_pa);
        kept
    });
    sets
}

/// A set in the heap; the lightest is taken first.
struct Queued(HoseSet);

impl PartialEq for Queued {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Queued {}

impl PartialOrd for Queued {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Queued {
    fn cmp(&self, other: &Self) -> Ordering {
        let mass = other.0.mass_kg.total_cmp(&self.0.mass_kg);
        mass.then_with(|| other.0.picks.cmp(&self.0.picks))
    }
}

pub(super) fn total(groups: &[Group], picks: &[usize]) -> HoseSet {
    let chosen = groups.iter().zip(picks);
    chosen.fold(empty(), |set, (group, &pick)| {
        plus(&set, pick, &group.choices[pick])
    })
}

/// The sizes nearest to the design's own, and from there each one group larger or smaller.
pub(super) fn near_own(groups: &[Group]) -> Vec<HoseSet> {
    // Choices lie by mass; neighbours are wanted by bore.
    let by_bore = |group: &Group| {
        let mut places: Vec<usize> = (0..group.choices.len()).collect();
        let bore = |k: usize| group.choices[k].bore_m;
        places.sort_by(|a, b| bore(*a).total_cmp(&bore(*b)));
        let off = |k: usize| (bore(k) - group.own_bore_m).abs();
        let own = (0..places.len()).min_by(|a, b| off(places[*a]).total_cmp(&off(places[*b])));
        Some((places, own?))
    };
    let Some(orders) = groups.iter().map(by_bore).collect::<Option<Vec<_>>>() else {
        return Vec::new();
    };
    let own: Vec<usize> = orders.iter().map(|(places, own)| places[*own]).collect();
    let mut sets = vec![total(groups, &own)];
    for (k, (places, at)) in orders.iter().enumerate() {
        for other in [at.checked_sub(1), Some(at + 1)].into_iter().flatten() {
            if let Some(place) = places.get(other) {
                let mut picks = own.clone();
                picks[k] = *place;
                sets.push(total(groups, &picks));
            }
        }
    }
    sets
}

/// What the search came to.
pub(super) struct Found {
    pub(super) best: Option<SolvedSet>,
    pub(super) nearest: Option<SolvedSet>,
    pub(super) end: SearchEnd,
}

/// Solves and judges one set; none where it cannot be built.
pub(super) type Judging<'a> = dyn FnMut(&[usize]) -> Option<(Vec<Judged>, Weighed)> + 'a;

/// Takes sets by rising mass until one meets the limits, the lightest known one is reached, or `most` were solved.
pub(super) fn search(
    groups: &[Group],
    known: &[SolvedSet],
    pressure_pa: Option<f64>,
    most: usize,
    judge: &mut Judging<'_>,
) -> Found {
    let sets: f64 = groups.iter().map(|g| g.choices.len() as f64).product();
    let mut best = known
        .iter()
        .filter(|s| s.weighed.fits)
        .min_by(|a, b| a.set.mass_kg.total_cmp(&b.set.mass_kg))
        .cloned();
    let mut nearest: Option<SolvedSet> = known.iter().cloned().reduce(closer);
    let mut end = SearchEnd {
        sets,
        solved: known.len(),
        exact: true,
        bound_kg: f64::INFINITY,
    };
    let mut heap = BinaryHeap::new();
    let mut met = HashSet::new();
    if groups.iter().all(|g| !g.choices.is_empty()) {
        let first = vec![0; groups.len()];
        met.insert(first.clone());
        heap.push(Queued(total(groups, &first)));
    }
    while let Some(Queued(set)) = heap.pop() {
        if best.as_ref().is_some_and(|b| b.set.mass_kg <= set.mass_kg) {
            break;
        }
        let over = pressure_pa.is_some_and(|most| set.pressure_pa > most);
        let seen = known.iter().any(|k| k.set.picks == set.picks);
        if !over && !seen {
            if end.solved >= most {
                end.exact = false;
                end.bound_kg = set.mass_kg;
                break;
            }
            end.solved += 1;
            if let Some((cases, weighed)) = judge(&set.picks) {
                let solved = SolvedSet {
                    set: set.clone(),
                    cases,
                    weighed,
                };
                if solved.weighed.fits {
                    best = Some(solved);
                    break;
                }
                nearest = Some(match nearest {
                    Some(known) => closer(known, solved),
                    None => solved,
                });
            }
        }
        for (k, group) in groups.iter().enumerate() {
            let mut next = set.picks.clone();
            next[k] += 1;
            if next[k] < group.choices.len() && met.insert(next.clone()) {
                heap.push(Queued(total(groups, &next)));
            }
        }
    }
    if end.exact {
        end.bound_kg = best.as_ref().map_or(f64::INFINITY, |b| b.set.mass_kg);
    }
    Found {
        nearest: nearest.filter(|_| best.is_none()),
        best,
        end,
    }
}

/// The one of two that misses by less.
pub(super) fn closer(a: SolvedSet, b: SolvedSet) -> SolvedSet {
    let margin = |s: &SolvedSet| {
        let both = [&s.weighed.worst, &s.weighed.worse];
        let tightest = both.into_iter().flatten().map(|t| t.margin_k);
        match (&s.weighed.failure, tightest.reduce(f64::min)) {
            (None, Some(margin_k)) => margin_k,
            _ => f64::NEG_INFINITY,
        }
    };
    if margin(&b) > margin(&a) { b } else { a }
}
