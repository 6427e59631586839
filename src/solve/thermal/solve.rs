//! Temperatures of one loop at known flows: enthalpy carried along branches, mixed at nodes, exchanged with parts.
//!
//! Unknowns: temperature of every node and of every module (in time also of every device on a plate). Newton on the balance of enthalpy; a branch carries the
//! stream `w(|m|)` from its upstream end through its parts, and the tiny counter-stream `w(-|m|)` without them, with
//! `w(m) = (m + sqrt(m^2 + e^2))/2`: mixing weights that stay smooth where a flow reverses and add up to `m`.

use super::super::linear::StrongSystem;
use super::part::HeatInput;
use super::rows::{Rows, balance};
use super::state::HeatState;

/// Newton steps of one thermal solve.
const MOST_STEPS: usize = 60;
/// Change of temperature at which a thermal solve is done, K.
const DONE_K: f64 = 1.0e-10;
/// Share of the change of a pass to which its temperatures are solved.
const PASS_SHARE: f64 = 1.0e-6;
/// Most that any temperature moves in one step, K.
const LARGEST_MOVE_K: f64 = 60.0;

/// What stays between thermal solves of one loop: the balance's room and the analysis of its matrix.
#[derive(Default)]
pub struct HeatRoom {
    rows: Rows,
    system: StrongSystem,
    step: Vec<f64>,
}

/// How exactly temperatures are wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wanted {
    /// To the last of what is owed.
    Exact,
    /// As one of several passes, whose flows move them again: to a small share of their own change.
    Pass,
}

impl Wanted {
    fn share(self) -> f64 {
        match self {
            Self::Exact => 0.0,
            Self::Pass => PASS_SHARE,
        }
    }
}

/// What is left of a change that shrinks by the same share from step to step, given the change of the step before. A
/// first step, or one that hardly shrank, foretells nothing.
pub fn left_after(change: f64, before: f64) -> f64 {
    let share = change / before;
    if before.is_finite() && share < 0.1 {
        change * share / (1.0 - share)
    } else {
        change
    }
}

/// Solves the temperatures; returns the new state and whether it settled.
///
/// # Errors
/// `Err(())` where the balance has no unique solution at these flows.
pub fn solve_heat(
    input: &HeatInput<'_>,
    from: &HeatState,
    room: &mut HeatRoom,
    wanted: Wanted,
) -> Result<(HeatState, bool), ()> {
    let circuit = input.circuit;
    let nodes = circuit.net.nodes.len();
    let size = nodes + circuit.modules.len();
    let mut state = from.clone();
    let HeatRoom { rows, system, step } = room;
    let (mut before, mut moved) = (f64::INFINITY, 0.0);
    for _ in 0..MOST_STEPS {
        rows.begin(size);
        balance(input, &mut state, rows);
        system.set(size, &rows.positions, &rows.values);
        step.clone_from(&rows.residual);
        system.factorise().map_err(|_| ())?;
        system.solve(step).map_err(|_| ())?;
        let largest = step.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
        let shorten = if largest > LARGEST_MOVE_K {
            LARGEST_MOVE_K / largest
        } else {
            1.0
        };
        for (t, s) in state
            .node_k
            .iter_mut()
            .chain(&mut state.module_k)
            .zip(step.iter())
        {
            *t -= shorten * s;
        }
        moved += largest;
        let left = match wanted {
            Wanted::Exact => largest,
            Wanted::Pass => left_after(largest, before),
        };
        before = largest;
        if left < DONE_K.max(wanted.share() * moved) {
            rows.begin(size);
            balance(input, &mut state, rows);
            return Ok((state, true));
        }
    }
    Ok((state, false))
}
