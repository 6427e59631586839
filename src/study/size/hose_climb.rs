//! A first set that meets the limits, where the Pareto set at the design's own flows holds none: from the design's own
//! sizes, one group at a time. A heuristic; what it finds is only a start for the search, which proves.

use super::hose::SolvedSet;
use super::hose_group::Group;
use super::hose_search::{Judging, closer, total};

/// Rounds over all groups and sizes.
const ROUNDS: usize = 4;

/// Climbs from a set until one fits, then goes on to lighter ones that fit; returns every set that was better.
pub(super) fn climb(
    groups: &[Group],
    start: SolvedSet,
    pressure_pa: Option<f64>,
    judge: &mut Judging<'_>,
) -> Vec<SolvedSet> {
    let mut steps = Vec::new();
    let mut now = start;
    for _ in 0..ROUNDS {
        let before = now.set.picks.clone();
        for (k, group) in groups.iter().enumerate() {
            for pick in 0..group.choices.len() {
                let mut picks = now.set.picks.clone();
                picks[k] = pick;
                let set = total(groups, &picks);
                let over = pressure_pa.is_some_and(|most| set.pressure_pa > most);
                let heavier = now.weighed.fits && set.mass_kg >= now.set.mass_kg;
                if picks == now.set.picks || over || heavier {
                    continue;
                }
                let Some((cases, weighed)) = judge(&picks) else {
                    continue;
                };
                let tried = SolvedSet {
                    set,
                    cases,
                    weighed,
                };
                now = match (now.weighed.fits, tried.weighed.fits) {
                    (_, true) => tried,
                    (true, false) => now,
                    (false, false) => closer(now, tried),
                };
            }
        }
        if now.set.picks == before {
            break;
        }
        steps.push(now.clone());
    }
    steps
}
