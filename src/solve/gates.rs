//! The first guess through one-way branches: which of them stand shut. Linear throughout; what Newton solves of them
//! stands in `hydraulic.rs`.

use super::hydraulic::SHUT_LEAK;
use super::layout::Layout;
use super::linear::{EXACT, NO_PLACE, Saddle};
use crate::network::Passage;

/// Most times that branches are shut or opened before the guess is taken as it is.
const ROUNDS: usize = 4;

/// A one-way branch of a guess.
struct Gate {
    branch: usize,
    open_side: f64,
    shut_side: f64,
    shut: bool,
}

/// Solves a linear guess, in Pa and kg/s, whose right-hand side is in `x`: branches `-stiffness m + dp = x`. One-way
/// branches that would flow backwards are shut, those that would be pushed open are opened, and the guess is solved
/// again. Whether there is a guess.
///
/// Newton from a guess with every one-way branch open needs twice as many steps: a flow that is held back comes to rest
/// by halves.
pub fn solve_with_gates(
    layout: &Layout,
    special: &[(u32, Passage)],
    stiffness: &[f64],
    offset: &[f64],
    matrix: &mut Saddle,
    x: &mut [f64],
) -> bool {
    let one_way = special.iter();
    let one_way = one_way.filter(|(_, passage)| matches!(passage, Passage::OneWay { .. }));
    let mut gates: Vec<Gate> = one_way
        .map(|&(j, _)| {
            let branch = j as usize;
            Gate {
                branch,
                open_side: x[branch],
                shut_side: SHUT_LEAK * (offset[branch] - x[branch]),
                shut: false,
            }
        })
        .collect();
    let mut wanted = if gates.is_empty() {
        Vec::new()
    } else {
        x.to_vec()
    };
    for round in 0..=ROUNDS {
        if round > 0 {
            x.copy_from_slice(&wanted);
        }
        if matrix.factorise().is_err() || matrix.solve(x, EXACT).is_err() {
            return false;
        }
        let mut turned = false;
        for gate in &mut gates {
            if gate.turns(layout, x) {
                turned = true;
                gate.shut = !gate.shut;
                let j = gate.branch;
                if gate.shut {
                    matrix.set_branch(j, 1.0, -SHUT_LEAK);
                    wanted[j] = gate.shut_side;
                } else {
                    matrix.set_branch(j, -stiffness[j], 1.0);
                    wanted[j] = gate.open_side;
                }
            }
        }
        if !turned {
            break;
        }
    }
    for gate in &gates {
        // A leak is no flow: it may not set the scale of flows.
        x[gate.branch] = if gate.shut {
            0.0
        } else {
            x[gate.branch].max(0.0)
        };
    }
    true
}

impl Gate {
    /// Whether it is open and flows backwards, or shut and pushed open.
    fn turns(&self, layout: &Layout, x: &[f64]) -> bool {
        if !self.shut {
            return x[self.branch] < 0.0;
        }
        let [from, to] = layout.ends[self.branch].map(|node| match layout.places[node as usize] {
            NO_PLACE => 0.0,
            place => x[layout.ends.len() + place as usize],
        });
        from - to > self.open_side
    }
}
