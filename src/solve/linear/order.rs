//! In which order a small sparse matrix is eliminated: least degree first, by the graph of what is left. Of equal ones the one
//! touched last, so that a ladder is taken down rung by rung from an end and not everywhere at once, which fills in twice as
//! much; then the one with the highest number.
//!
//! Rows whose diagonal is empty at first, or may be, wait until a neighbour has filled it. A node also waits for all its
//! kept branches with a loss of their own: then no set of nodes is ever eliminated without a branch that leads out of it,
//! and its pivot is no accident of rounding.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// What an unknown has on its diagonal before elimination begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Diagonal {
    /// The pressure of a node where a branch with a loss was eliminated before.
    Node,
    /// The pressure of a node without any such branch.
    EmptyNode,
    /// The flow of a kept branch with a loss.
    Loss,
    /// The flow of a kept branch whose slope may be nothing.
    Weak,
}

/// An order of elimination with what each pivot meets.
pub struct Order {
    /// The unknown that is eliminated at each place.
    pub order: Vec<u32>,
    /// For each place: the unknowns it meets that come later, sorted by number.
    pub rows: Vec<Vec<u32>>,
}

/// Least-degree order of a symmetric pattern, or `None` where elimination takes more than `most` multiplications.
/// `neighbours` are sorted and hold neither doubles nor the unknown itself.
pub fn order(mut neighbours: Vec<Vec<u32>>, diagonals: &[Diagonal], most: usize) -> Option<Order> {
    let size = diagonals.len();
    let is_node = |d: Diagonal| matches!(d, Diagonal::Node | Diagonal::EmptyNode);
    let mut filled: Vec<bool> = diagonals
        .iter()
        .map(|d| matches!(d, Diagonal::Node | Diagonal::Loss))
        .collect();
    let own: Vec<Vec<u32>> = diagonals
        .iter()
        .zip(&neighbours)
        .map(|(d, met)| {
            if *d == Diagonal::Loss {
                let nodes = met.iter().copied();
                nodes.filter(|&n| is_node(diagonals[n as usize])).collect()
            } else {
                Vec::new()
            }
        })
        .collect();
    let mut waits = vec![0_u32; size];
    for &node in own.iter().flatten() {
        waits[node as usize] += 1;
    }
    let mut heap = BinaryHeap::new();
    for k in 0..size {
        if filled[k] && waits[k] == 0 {
            heap.push((Reverse(neighbours[k].len()), 0_u32, k as u32));
        }
    }
    let mut gone = vec![false; size];
    let (mut order, mut rows) = (Vec::with_capacity(size), Vec::with_capacity(size));
    let mut cost = 0_usize;
    let mut merged: Vec<u32> = Vec::new();
    while order.len() < size {
        let next = match heap.pop() {
            Some((Reverse(degree), _, k)) => {
                let k = k as usize;
                let ready = filled[k] && waits[k] == 0;
                if gone[k] || !ready || degree != neighbours[k].len() {
                    continue;
                }
                k
            }
            // Nothing is ready: the guard of the factorisation judges what comes of it.
            None => (0..size)
                .filter(|&k| !gone[k])
                .min_by_key(|&k| neighbours[k].len())?,
        };
        gone[next] = true;
        let clique = std::mem::take(&mut neighbours[next]);
        cost += clique.len() * clique.len();
        if cost > most {
            return None;
        }
        for &node in &own[next] {
            waits[node as usize] -= 1;
        }
        for &met in &clique {
            merged.clear();
            merge(&neighbours[met as usize], &clique, &mut merged);
            merged.retain(|&k| k != met && k as usize != next);
            std::mem::swap(&mut neighbours[met as usize], &mut merged);
            filled[met as usize] = true;
        }
        for &met in &clique {
            let k = met as usize;
            if waits[k] == 0 {
                let touched = order.len() as u32;
                heap.push((Reverse(neighbours[k].len()), touched, met));
            }
        }
        order.push(next as u32);
        rows.push(clique);
    }
    Some(Order { order, rows })
}

/// The union of two sorted lists.
fn merge(a: &[u32], b: &[u32], into: &mut Vec<u32>) {
    let (mut i, mut j) = (0, 0);
    while i < a.len() && j < b.len() {
        let least = a[i].min(b[j]);
        into.push(least);
        i += usize::from(a[i] == least);
        j += usize::from(b[j] == least);
    }
    into.extend_from_slice(&a[i..]);
    into.extend_from_slice(&b[j..]);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chain_is_eliminated_without_fill() {
        let chain = vec![vec![1], vec![0, 2], vec![1, 3], vec![2]];
        let found = order(chain, &[Diagonal::Node; 4], 1000).map(|o| o.rows);
        let entries = found.map(|rows| rows.iter().map(Vec::len).sum::<usize>());
        assert_eq!(entries, Some(3));
    }

    #[test]
    fn an_empty_diagonal_waits_for_what_fills_it() {
        // Branch 0 joins nodes 1 and 2; nothing else leads to node 1.
        let pattern = vec![vec![1, 2], vec![0], vec![0]];
        let kinds = [Diagonal::Loss, Diagonal::EmptyNode, Diagonal::EmptyNode];
        let found = order(pattern.clone(), &kinds, 1000).map(|o| o.order[0]);
        assert_eq!(found, Some(0));
        let kinds = [Diagonal::Weak, Diagonal::EmptyNode, Diagonal::Node];
        let found = order(pattern, &kinds, 1000).map(|o| o.order);
        assert_eq!(found, Some(vec![2, 0, 1]));
    }

    /// Two headers with a tee and a rung at each port: a node, a segment and a rung tied at each tee.
    fn ladder(rungs: usize) -> (Vec<Vec<u32>>, Vec<Diagonal>) {
        // Nodes of both headers, then their segments, then the rungs.
        let (nodes, segments) = (2 * rungs, 2 * (rungs - 1));
        let size = nodes + segments + rungs;
        let mut met = vec![Vec::new(); nodes];
        for header in 0..2 {
            for k in 0..rungs {
                let node = header * rungs + k;
                met[node].push(nodes + segments + k);
                if k + 1 < rungs {
                    let segment = nodes + header * (rungs - 1) + k;
                    met[node].push(segment);
                    met[node + 1].push(segment);
                }
            }
        }
        let mut neighbours = vec![Vec::new(); size];
        for (node, branches) in met.iter().enumerate() {
            for &a in branches {
                neighbours[node].push(a as u32);
                neighbours[a].push(node as u32);
                let ties = branches.iter().filter(|&&b| b != a);
                neighbours[a].extend(ties.map(|&b| b as u32));
            }
        }
        for list in &mut neighbours {
            list.sort_unstable();
            list.dedup();
        }
        let mut diagonals = vec![Diagonal::EmptyNode; nodes];
        diagonals.resize(size, Diagonal::Loss);
        (neighbours, diagonals)
    }

    #[test]
    fn a_ladder_of_tees_is_taken_down_from_its_ends() {
        for rungs in [8, 32, 128] {
            let (neighbours, diagonals) = ladder(rungs);
            let found = order(neighbours, &diagonals, usize::MAX).map(|o| o.rows);
            let rows = found.unwrap_or_default();
            let work: usize = rows.iter().map(|r| r.len() * r.len()).sum();
            assert!(work > 0 && work < 150 * rungs, "{rungs}: {work}");
        }
    }

    #[test]
    fn too_much_work_is_refused() {
        let full: Vec<Vec<u32>> = (0..20_u32)
            .map(|k| (0..20).filter(|&j| j != k).collect())
            .collect();
        assert!(order(full.clone(), &[Diagonal::Node; 20], 100).is_none());
        assert!(order(full, &[Diagonal::Node; 20], 10_000).is_some());
    }
}
