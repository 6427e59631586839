//! The exact holes. Unknown are the drops of the discs at their target flows, with one branch left open; the flows they
//! give are brought to the target by Newton steps over differences, so that box against box converges too.

use super::bench::Bench;
use super::bore::{Bore, SMALLEST_RATIO, bore_for};
use crate::network::Case;
use crate::part::TwoTerm;
use crate::solve::SolveError;

/// Steps from header pressures held, which bring any start near.
const FIXED_STEPS: usize = 3;
/// Most Newton steps.
const MOST_STEPS: usize = 14;
/// Halvings of a step that does not help.
const HALVINGS: usize = 6;
/// Flows are at the target within this share.
const REACHED: f64 = 1e-9;

/// Where the search ended.
pub(super) struct Settled {
    /// Drop of each disc at its target flow, Pa.
    pub(super) drop_pa: Vec<f64>,
    /// The hole of each; none where the branch is open.
    pub(super) bore_m: Vec<Option<f64>>,
    /// Largest distance from the target with these holes.
    pub(super) deviation: f64,
    pub(super) steps: usize,
}

/// The largest of `|flow / target - 1|`.
pub(super) fn deviation(flows: &[f64], shares: &[f64]) -> f64 {
    over_target(flows, shares)
        .into_iter()
        .map(|r| (r - 1.0).abs())
        .fold(0.0, f64::max)
}

/// Flow over target of each branch.
pub(super) fn over_target(flows: &[f64], shares: &[f64]) -> Vec<f64> {
    let sum: f64 = flows.iter().sum();
    flows
        .iter()
        .zip(shares)
        .map(|(q, share)| q / (share * sum))
        .collect()
}

struct Search<'a> {
    bench: &'a mut Bench,
    case: &'a Case,
    shares: &'a [f64],
}

impl Search<'_> {
    /// The holes that take these drops at the target flows; a hole too small to be is made as small as is looked for.
    fn holes(&self, drops: &[f64], whole_kg_s: f64) -> Vec<Option<f64>> {
        let fluid = self.fluid();
        drops
            .iter()
            .enumerate()
            .map(|(k, drop_pa)| {
                let target = self.shares[k] * whole_kg_s;
                let pipe = self.bench.branches[k].pipe_bore_m;
                match bore_for(*drop_pa, target, &fluid, pipe, self.bench.thickness_m) {
                    Bore::Open => None,
                    Bore::Hole(bore_m) => Some(bore_m),
                    Bore::TooSmall => Some(SMALLEST_RATIO * pipe),
                }
            })
            .collect()
    }

    fn fluid(&self) -> crate::fluid::Properties {
        let coolant = &self.bench.network.loops()[self.bench.circuit].coolant;
        coolant.properties_extended(self.case.coolant_temperature_k.unwrap_or(293.15))
    }

    /// Flows with turbulent-scaled discs: laws that take exactly these drops at the target of a whole flow.
    fn flows(&mut self, drops: &[f64], whole_kg_s: f64) -> Result<Vec<f64>, SolveError> {
        let fluid = self.fluid();
        let laws: Vec<TwoTerm> = drops
            .iter()
            .zip(self.shares)
            .map(|(drop_pa, share)| {
                let target = share * whole_kg_s;
                TwoTerm::symmetric(
                    0.0,
                    drop_pa.max(0.0) * fluid.density_kg_m3 / (target * target),
                )
            })
            .collect();
        self.bench.flows(&laws, self.case)
    }
}

/// Finds the drops and holes.
pub(super) fn settle(
    bench: &mut Bench,
    case: &Case,
    shares: &[f64],
) -> Result<Settled, SolveError> {
    let count = shares.len();
    let mut search = Search {
        bench,
        case,
        shares,
    };
    let mut drops: Vec<f64> = vec![0.0; count];
    let mut flows = search.bench.flows(&vec![TwoTerm::default(); count], case)?;
    let mut whole: f64 = flows.iter().sum();
    let fluid = search.fluid();
    // With the pressures between the headers held, each branch wants what its bare drop leaves at the target flow.
    for _ in 0..FIXED_STEPS {
        let sum: f64 = flows.iter().sum();
        let now: Vec<f64> = (0..count)
            .map(|k| {
                let target = shares[k] * whole;
                let had = drops[k].max(0.0) * (flows[k] / target) * (flows[k] / target).abs();
                let between = search.bench.bare_drop_pa(k, flows[k], &fluid) + had;
                between - search.bench.bare_drop_pa(k, shares[k] * sum, &fluid)
            })
            .collect();
        drops = lowered(now);
        whole = sum;
        flows = search.flows(&drops, whole)?;
    }
    let mut steps = 0;
    let mut off: f64 = deviation(&flows, shares);
    while off > REACHED && steps < MOST_STEPS {
        steps += 1;
        whole = flows.iter().sum();
        let base = search.flows(&drops, whole)?;
        off = deviation(&base, shares);
        flows.clone_from(&base);
        if off <= REACHED {
            break;
        }
        let base_over = over_target(&base, shares);
        // The branch with the least drop stays as it is.
        let open = least(&drops);
        let free: Vec<usize> = (0..count).filter(|k| *k != open).collect();
        let mut matrix = vec![vec![0.0; free.len()]; free.len()];
        for (column, k) in free.iter().enumerate() {
            let step = 1.0
                + 1e-4
                    * search
                        .bench
                        .bare_drop_pa(*k, shares[*k] * whole, &fluid)
                        .abs();
            let mut moved = drops.clone();
            moved[*k] += step;
            let over = over_target(&search.flows(&moved, whole)?, shares);
            for (row, j) in free.iter().enumerate() {
                let slope = (over[*j] - over[open]) - (base_over[*j] - base_over[open]);
                matrix[row][column] = slope / step;
            }
        }
        let right: Vec<f64> = free
            .iter()
            .map(|j| -(base_over[*j] - base_over[open]))
            .collect();
        let Some(change) = eliminated(matrix, right) else {
            break;
        };
        let mut share: f64 = 1.0;
        let mut better = None;
        for _ in 0..HALVINGS {
            let mut tried = drops.clone();
            for (k, by) in free.iter().zip(&change) {
                tried[*k] += share * by;
            }
            let tried = lowered(tried);
            let got = search.flows(&tried, whole)?;
            let now = deviation(&got, shares);
            if now < off {
                better = Some((tried, got, now));
                break;
            }
            share *= 0.5;
        }
        match better {
            Some((tried, got, now)) => (drops, flows, off) = (tried, got, now),
            None => break,
        }
    }
    // The drops hold at the target of `whole`; told and drilled at the flow that they give.
    let sum: f64 = flows.iter().sum();
    let scale = (sum / whole) * (sum / whole);
    for drop in &mut drops {
        *drop *= scale;
    }
    let bore_m = search.holes(&drops, sum);
    let laws: Vec<TwoTerm> = (0..count).map(|k| search.bench.law(k, bore_m[k])).collect();
    let flows = search.bench.flows(&laws, case)?;
    Ok(Settled {
        drop_pa: drops,
        bore_m,
        deviation: deviation(&flows, shares),
        steps,
    })
}

/// The same differences with the least drop at zero: one branch is open.
fn lowered(mut drops: Vec<f64>) -> Vec<f64> {
    let least = drops.iter().copied().fold(f64::INFINITY, f64::min);
    for drop in &mut drops {
        *drop -= least;
    }
    drops
}

fn least(drops: &[f64]) -> usize {
    let order = (0..drops.len()).min_by(|a, b| drops[*a].total_cmp(&drops[*b]));
    order.unwrap_or(0)
}

/// Solves a small dense system by elimination with row pivots; none where it is singular.
fn eliminated(mut a: Vec<Vec<f64>>, mut b: Vec<f64>) -> Option<Vec<f64>> {
    let n = b.len();
    for k in 0..n {
        let pivot = (k..n).max_by(|i, j| a[*i][k].abs().total_cmp(&a[*j][k].abs()))?;
        if a[pivot][k] == 0.0 || !a[pivot][k].is_finite() {
            return None;
        }
        a.swap(k, pivot);
        b.swap(k, pivot);
        let (above, below) = a.split_at_mut(k + 1);
        let top = &above[k];
        for (i, row) in below.iter_mut().enumerate() {
            let factor = row[k] / top[k];
            for (to, from) in row[k..].iter_mut().zip(&top[k..]) {
                *to -= factor * from;
            }
            b[k + 1 + i] -= factor * b[k];
        }
    }
    for k in (0..n).rev() {
        let sum: f64 = (k + 1..n).map(|j| a[k][j] * b[j]).sum();
        b[k] = (b[k] - sum) / a[k][k];
    }
    Some(b)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::eliminated;

    #[test]
    fn a_small_system_is_solved_with_pivots() {
        let x = eliminated(vec![vec![0.0, 2.0], vec![3.0, 1.0]], vec![4.0, 5.0]).unwrap();
        assert!((x[0] - 1.0).abs() < 1e-14 && (x[1] - 2.0).abs() < 1e-14);
        assert!(eliminated(vec![vec![0.0, 0.0], vec![0.0, 1.0]], vec![1.0, 1.0]).is_none());
    }
}
