//! One Newton method for any system of equations: it knows unknowns, residuals and a sparse matrix, and no hose.
//! Full steps where they decrease the residual, shorter ones where they do not, and a damped march as the last resort.

use super::converge::{
    LEAPS, RESIDUAL_ROUND_OFF, SHORTEST_STEP, Verdict, enough, judge, largest, norm,
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
    /// Adds damping to the slopes: `weight` times a positive measure of each equation's stiffness.
    fn damp(&self, weight: f64, slopes: &mut Saddle);
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

/// Newton with step control from `x`; on success `x` holds the solution.
///
/// # Errors
/// [`Halt`] with `x` at the last point reached.
pub fn solve(
    system: &mut impl System,
    x: &mut [f64],
    slopes: &mut Saddle,
    most_steps: usize,
    effort: &mut Effort,
    room: &mut Room,
) -> Result<(), Halt> {
    let size = system.size();
    let Room {
        residual,
        trial,
        step,
    } = room;
    for vector in [&mut *residual, &mut *trial, &mut *step] {
        vector.resize(size, 0.0);
    }
    system.evaluate(x, residual, Some(slopes));
    effort.history.push(largest(residual));
    let mut leaps = 0;
    for _ in 0..most_steps {
        if largest(residual) == 0.0 {
            return Ok(());
        }
        slopes.factorise().map_err(|_| Halt::Singular)?;
        step.copy_from_slice(residual);
        slopes.solve(step).map_err(|_| Halt::Singular)?;
        effort.steps += 1;
        let before = norm(residual);
        let full = system.relative_size(step, x);
        let mut taken = 1.0;
        loop {
            for k in 0..size {
                trial[k] = x[k] - taken * step[k];
            }
            system.evaluate(trial, residual, None);
            if enough(before, norm(residual), taken) {
                break;
            }
            // At round-off no step can decrease the residual any more.
            if taken == 1.0 && largest(residual) <= RESIDUAL_ROUND_OFF && full <= 1e-6 {
                break;
            }
            taken *= 0.5;
            if taken < SHORTEST_STEP {
                if leaps == LEAPS.len() {
                    return Err(Halt::Stalled);
                }
                taken = LEAPS[leaps];
                leaps += 1;
                for k in 0..size {
                    trial[k] = x[k] - taken * step[k];
                }
                system.evaluate(trial, residual, None);
                if !norm(residual).is_finite() {
                    return Err(Halt::Stalled);
                }
                break;
            }
        }
        x.copy_from_slice(trial);
        let left = largest(residual);
        effort.history.push(left);
        if judge(full, taken, left) == Verdict::Done {
            return Ok(());
        }
        system.evaluate(x, residual, Some(slopes));
    }
    Err(Halt::OutOfSteps)
}

/// A damped march towards the solution: every step is Newton's with the slopes stiffened, less and less as the
/// residual falls. Slow and hard to stop; it hands over to [`solve`] near the end.
///
/// # Errors
/// [`Halt`] with `x` at the last point reached.
pub fn march(
    system: &mut impl System,
    x: &mut [f64],
    slopes: &mut Saddle,
    most_steps: usize,
    effort: &mut Effort,
    room: &mut Room,
) -> Result<(), Halt> {
    let size = system.size();
    let mut residual = vec![0.0; size];
    let mut weight = 1.0;
    system.evaluate(x, &mut residual, Some(slopes));
    for _ in 0..most_steps {
        let before = norm(&residual);
        system.damp(weight, slopes);
        slopes.factorise().map_err(|_| Halt::Singular)?;
        let mut step = residual.clone();
        slopes.solve(&mut step).map_err(|_| Halt::Singular)?;
        effort.steps += 1;
        for k in 0..size {
            x[k] -= step[k];
        }
        system.evaluate(x, &mut residual, Some(slopes));
        let after = norm(&residual);
        effort.history.push(largest(&residual));
        if !after.is_finite() {
            return Err(Halt::Stalled);
        }
        if after <= 1e-6 {
            return solve(system, x, slopes, most_steps, effort, room);
        }
        weight *= (after / before).clamp(0.2, 2.0);
    }
    Err(Halt::OutOfSteps)
}
