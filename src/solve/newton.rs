//! One Newton method for any system of equations: it knows unknowns, residuals and a sparse matrix, and no hose.
//! Full steps where they decrease the residual, shorter ones where they do not, and eased equations where none does.

use super::converge::{
    CREEP, DOUBLE_AFTER, DOUBLE_GAIN, DOUBLE_PACE, EASED, LEAPS, LEAVE_MOST, LONGEST_LEAP,
    MOST_CREPT, RESIDUAL_ROUND_OFF, SHORTEST_STEP, Verdict, chord, enough, inexact, judge, largest,
    norm,
};
use super::linear::Saddle;

/// A system of equations `r(x) = 0`, scaled so that unknowns and residuals are of order one.
pub trait System {
    /// Number of unknowns and equations.
    fn size(&self) -> usize;
    /// Writes the residual at `x`, and the slopes `dr/dx` where a matrix is given (cleared first by the callee).
    fn evaluate(&mut self, x: &[f64], residual: &mut [f64], slopes: Option<&mut Saddle>);
    /// Size of a step against the unknowns.
    fn relative_size(&self, step: &[f64], x: &[f64]) -> f64;
    /// Eases the equations where they bend sharply, by a share between 0 (as they are) and 1; whether any can be.
    fn ease(&mut self, share: f64) -> bool;
}

/// Effort of an attempt, whether it succeeded or not.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Effort {
    /// Newton steps taken.
    pub steps: usize,
    /// Largest residual before each step and after the last, in scaled units.
    pub history: Vec<f64>,
}

/// Vectors of the size of a system, kept between attempts.
#[derive(Clone, Debug, Default)]
pub struct Room {
    residual: Vec<f64>,
    trial: Vec<f64>,
    step: Vec<f64>,
}

/// Why an attempt ended without a solution.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Halt {
    /// The slopes could not be inverted.
    Singular,
    /// No step length decreases the residual.
    Stalled,
    /// The number of steps ran out.
    OutOfSteps,
}

/// How long an attempt goes on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Patience {
    /// Most steps.
    pub steps: usize,
    /// Shortest step tried, over the full one, before a leap.
    pub shortest: f64,
}

impl Patience {
    /// So many steps, none much shorter than the full one: where those do not do, another start is cheaper.
    pub fn usual(steps: usize) -> Self {
        let shortest = SHORTEST_STEP;
        Self { steps, shortest }
    }

    /// Many steps, as short as it takes (our choice).
    pub const LONG: Self = Self {
        steps: 200,
        shortest: 1.0e-5,
    };
}

/// What the next step is found with.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Factors {
    /// New slopes, which are due to be factorised.
    Due,
    /// The factors of the step before.
    Kept,
}

/// Newton with step control from `x`; on success `x` holds the solution.
///
/// # Errors
/// [`Halt`] with `x` at the last point reached.
pub fn solve(
    system: &mut impl System,
    x: &mut [f64],
    slopes: &mut Saddle,
    patience: Patience,
    effort: &mut Effort,
    room: &mut Room,
) -> Result<(), Halt> {
    let outcome = attempt(system, x, slopes, patience, effort, room);
    if outcome.is_err() {
        system.ease(0.0);
    }
    outcome
}

fn attempt(
    system: &mut impl System,
    x: &mut [f64],
    slopes: &mut Saddle,
    patience: Patience,
    effort: &mut Effort,
    room: &mut Room,
) -> Result<(), Halt> {
    let size = system.size();
    for vector in [&mut room.residual, &mut room.trial, &mut room.step] {
        vector.resize(size, 0.0);
    }
    system.evaluate(x, &mut room.residual, Some(slopes));
    effort.history.push(largest(&room.residual));
    let (mut leaps, mut at_double_pace, mut crept) = (0, 0, 0);
    // How many of the shares of easing were taken; none of them before the first need.
    let mut eased: Option<usize> = None;
    let mut factors = Factors::Due;
    let mut leave = LEAVE_MOST;
    for _ in 0..patience.steps {
        let plain = eased.is_none_or(|k| k >= EASED.len());
        if plain && largest(&room.residual) == 0.0 {
            return Ok(());
        }
        if factors == Factors::Due {
            slopes.factorise().map_err(|_| Halt::Singular)?;
        }
        room.step.copy_from_slice(&room.residual);
        slopes
            .solve(&mut room.step, leave)
            .map_err(|_| Halt::Singular)?;
        effort.steps += 1;
        let full = system.relative_size(&room.step, x);
        let before = norm(&room.residual);
        let longest = if at_double_pace >= DOUBLE_AFTER {
            2.0
        } else {
            1.0
        };
        let found = if crept < MOST_CREPT {
            advance(system, x, room, full, longest, patience.shortest)
        } else {
            crept = 0;
            None
        };
        let taken = match found {
            Some(taken) => taken,
            None if eased.is_none() && system.ease(EASED[0]) => {
                eased = Some(0);
                factors = Factors::Due;
                system.evaluate(x, &mut room.residual, Some(slopes));
                effort.history.push(largest(&room.residual));
                continue;
            }
            None => {
                let leap = LEAPS.get(leaps).ok_or(Halt::Stalled)?;
                leaps += 1;
                let length = leap.min(LONGEST_LEAP / full);
                walk(system, x, room, length);
                if !norm(&room.residual).is_finite() {
                    return Err(Halt::Stalled);
                }
                length
            }
        };
        let pace = norm(&room.residual) / before;
        crept = if taken < SHORTEST_STEP && pace > CREEP {
            crept + 1
        } else {
            0
        };
        at_double_pace = if taken == 1.0 && DOUBLE_PACE.contains(&pace) {
            at_double_pace + 1
        } else {
            0
        };
        x.copy_from_slice(&room.trial);
        let left = largest(&room.residual);
        effort.history.push(left);
        leave = inexact(pace, left);
        if plain && judge(full, taken, left, pace) == Verdict::Done {
            return Ok(());
        }
        if let Some(k) = eased.filter(|_| !plain) {
            system.ease(EASED.get(k + 1).copied().unwrap_or(0.0));
            eased = Some(k + 1);
        }
        let same_factors = plain && taken == 1.0 && slopes.is_exact();
        factors = if same_factors && chord(full, left, pace) {
            Factors::Kept
        } else {
            Factors::Due
        };
        if factors == Factors::Due {
            system.evaluate(x, &mut room.residual, Some(slopes));
        }
    }
    Err(Halt::OutOfSteps)
}

/// Takes the longest step, of those tried, that decreases the residual; its length, or `None` where none does.
fn advance(
    system: &mut impl System,
    x: &[f64],
    room: &mut Room,
    full: f64,
    longest: f64,
    shortest: f64,
) -> Option<f64> {
    let before = norm(&room.residual);
    if longest > 1.0 {
        walk(system, x, room, longest);
        if norm(&room.residual) <= DOUBLE_GAIN * before {
            return Some(longest);
        }
    }
    let mut taken = 1.0;
    while taken >= shortest {
        walk(system, x, room, taken);
        if enough(before, norm(&room.residual), taken) {
            return Some(taken);
        }
        // At round-off no step can decrease the residual any more.
        if taken == 1.0 && largest(&room.residual) <= RESIDUAL_ROUND_OFF && full <= 1e-6 {
            return Some(taken);
        }
        taken *= 0.5;
    }
    None
}

/// Evaluates the residual a share of the step away from `x`.
fn walk(system: &mut impl System, x: &[f64], room: &mut Room, taken: f64) {
    for ((trial, x), step) in room.trial.iter_mut().zip(x).zip(&room.step) {
        *trial = x - taken * step;
    }
    system.evaluate(&room.trial, &mut room.residual, None);
}
