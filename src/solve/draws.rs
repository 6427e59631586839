//! Whether stated inflows and outflows have ways through a network: found before Newton begins, from passages alone.
//! It knows no pressures; any flow may pass an open branch, and any flow forward a one-way branch.

use super::error::SolveError;
use crate::id::Subject;
use crate::network::{FlowNet, NodeKind, Passage};
use std::collections::VecDeque;

/// Share of a stated flow that may be left over by round-off of sums.
const LEFT_OVER: f64 = 1.0e-9;

/// Looks for ways of all draws where a branch lets through less than everything.
///
/// # Errors
/// [`SolveError::DrawWithoutWay`] names a draw that cannot be met.
pub fn draws_have_ways(
    net: &FlowNet,
    owner: &str,
    density_kg_m3: &[f64],
) -> Result<(), SolveError> {
    let stated = |n: usize| match net.nodes[n].kind {
        NodeKind::Draw { inflow_m3_s } => inflow_m3_s * density_kg_m3[n],
        _ => 0.0,
    };
    let draws: Vec<usize> = (0..net.nodes.len()).filter(|&n| stated(n) != 0.0).collect();
    if draws.is_empty() || net.branches.iter().all(|b| b.passage == Passage::Open) {
        return Ok(());
    }
    let mut left: Vec<f64> = (0..net.nodes.len()).map(stated).collect();
    let ways = Ways::new(net);
    // What one-way branches carry may be taken back again.
    let mut carried = vec![0.0; net.branches.len()];
    for &draw in &draws {
        let owed = LEFT_OVER * stated(draw).abs();
        while left[draw].abs() > owed {
            if !ways.carry(net, draw, &mut left, &mut carried) {
                let NodeKind::Draw { inflow_m3_s } = net.nodes[draw].kind else {
                    return Ok(());
                };
                return Err(SolveError::DrawWithoutWay {
                    subject: Subject::part(owner, net.nodes[draw].id.as_str()),
                    inflow_m3_s,
                });
            }
        }
        left[draw] = 0.0;
    }
    Ok(())
}

/// Branches at each node.
struct Ways {
    at: Vec<Vec<usize>>,
}

impl Ways {
    fn new(net: &FlowNet) -> Self {
        let mut at = vec![Vec::new(); net.nodes.len()];
        for (j, branch) in net.branches.iter().enumerate() {
            if branch.passage != Passage::Shut {
                at[branch.from].push(j);
                at[branch.to].push(j);
            }
        }
        Self { at }
    }

    /// Carries what a draw has left along a shortest way to a stated pressure or a draw that wants it; whether any way
    /// is left (Edmonds and Karp, 1972).
    fn carry(&self, net: &FlowNet, draw: usize, left: &mut [f64], carried: &mut [f64]) -> bool {
        // An outflow is met from the other end of each way.
        let out = left[draw] > 0.0;
        let mut came: Vec<Option<usize>> = vec![None; net.nodes.len()];
        let mut next = VecDeque::from([draw]);
        let mut end = None;
        while let Some(node) = next.pop_front() {
            let fixed = matches!(net.nodes[node].kind, NodeKind::Fixed { .. });
            if node != draw && (fixed || left[node] * left[draw] < 0.0) {
                end = Some((node, fixed));
                break;
            }
            for &j in &self.at[node] {
                let branch = &net.branches[j];
                let other = branch.from + branch.to - node;
                let forward = (branch.from == node) == out;
                let open = branch.passage == Passage::Open || forward || carried[j] > 0.0;
                if open && other != draw && came[other].is_none() {
                    came[other] = Some(j);
                    next.push_back(other);
                }
            }
        }
        let Some((end, fixed)) = end else {
            return false;
        };
        let mut amount = left[draw].abs();
        if !fixed {
            amount = amount.min(left[end].abs());
        }
        let mut way = Vec::new();
        let mut node = end;
        while let Some(j) = came[node] {
            let branch = &net.branches[j];
            let before = branch.from + branch.to - node;
            let forward = (branch.from == before) == out;
            if branch.passage != Passage::Open && !forward {
                amount = amount.min(carried[j]);
            }
            way.push((j, forward));
            node = before;
        }
        for (j, forward) in way {
            carried[j] += if forward { amount } else { -amount };
        }
        left[draw] -= amount * left[draw].signum();
        if !fixed {
            left[end] -= amount * left[end].signum();
        }
        true
    }
}
