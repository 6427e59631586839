//! When Newton stops, and how far it steps. Numbers only; no domain word.

/// A full step this small against the unknowns ends the iteration: convergence is quadratic, so the next would be
/// below round-off.
pub const STEP_DONE: f64 = 1.0e-9;
/// A full step this small ends it when the residual is small too.
/// It may be no larger: where a flow comes to rest in a tee the root is double, and steps only halve.
pub const STEP_NEAR: f64 = 1.0e-7;
/// Residual, in scaled units, that goes with [`STEP_NEAR`].
pub const RESIDUAL_NEAR: f64 = 1.0e-12;
/// A next step foretold this small against the unknowns ends the iteration when the residual is small too: a hundredth of
/// [`STEP_DONE`], since it is foretold and not seen.
pub const STEP_FORETOLD: f64 = 1.0e-11;
/// Residual, in scaled units, that goes with [`STEP_FORETOLD`]: a hundredth of the closure of pressure that is owed.
pub const RESIDUAL_FORETOLD: f64 = 1.0e-11;
/// Residual that a step with the factors of the one before must be foretold to leave: what it did leave was up to twice that
/// (seen on the matrix of `tests/laws`), which [`RESIDUAL_FORETOLD`] must hold.
pub const CHORD_NEAR: f64 = 4.0e-12;
/// Residual, in scaled units, that needs no step at all.
pub const RESIDUAL_DONE: f64 = 1.0e-15;
/// Share of the predicted decrease that a step must bring.
pub const DECREASE: f64 = 1.0e-4;
/// Shortest step tried before the next leap.
pub const SHORTEST_STEP: f64 = 1.0 / 16.0;
/// Pace of a step shorter than that which leads nowhere: seventy of them halve the residual (our choice).
pub const CREEP: f64 = 0.99;
/// How many steps at that pace in a row end in a leap (our choice; set on ten thousand of the networks of
/// `tests/laws/wild.rs`).
pub const MOST_CREPT: usize = 5;
/// Steps taken whatever they do to the residual, one each time that no shorter step decreases it: where a loss falls
/// with flow (a tee between two patterns) the residual has a dip that is no solution, and a step over its rim leads on.
/// The lengths differ so that no two leaps go back and forth.
pub const LEAPS: [f64; 8] = [1.0, 1.0, 0.5, 1.0, 0.5, 0.25, 1.0, 0.5];
/// Longest leap, as a size against the unknowns: where slopes nearly cancel, a full step would fly off.
pub const LONGEST_LEAP: f64 = 0.3;
/// Shares by which the equations are eased, step by step, the first time that no step decreases the residual. Set on
/// the first 200 designs of `tests/laws/matrix.rs`.
pub const EASED: [f64; 4] = [0.5, 0.15, 0.045, 0.0135];
/// Residual after a full step over that before where a root is double: the error halves, its square falls by four.
pub const DOUBLE_PACE: std::ops::Range<f64> = 0.2..0.3;
/// Full steps at that pace after which a step of twice the length is tried.
pub const DOUBLE_AFTER: usize = 2;
/// Residual after the step of twice the length over that before with which it is kept.
pub const DOUBLE_GAIN: f64 = 0.1;
/// Residual, in scaled units, with which flows that stand still are a solution: the finish in the solution's own scales does
/// the rest.
const RESIDUAL_STILL: f64 = 1.0e-8;
/// Residual, in scaled units, with which an attempt may end that can no longer decrease it: round-off of sums.
pub const RESIDUAL_ROUND_OFF: f64 = 1.0e-10;

/// Most of a right-hand side that a step may leave (our choice).
pub const LEAVE_MOST: f64 = 1.0e-2;
/// Least of it that is asked for: what Newton itself leaves, or the end, is near it then.
const LEAVE_LEAST: f64 = 1.0e-6;

/// Share of a residual that the linear solution of the next step may leave, after a step that left `residual`, `pace` of that
/// before in norm: a part of what Newton will leave, which is that pace squared, and no closer than its end asks.
/// Eisenstat and Walker, SIAM J. Sci. Comput. 17 (1996), their second choice, with a factor of our own.
pub fn inexact(pace: f64, residual: f64) -> f64 {
    let newton = (0.3 * pace * pace).clamp(LEAVE_LEAST, LEAVE_MOST);
    let end = 0.1 * RESIDUAL_FORETOLD / residual;
    newton.max(end.min(LEAVE_MOST))
}

/// What to do after a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// The unknowns are as good as round-off allows.
    Done,
    /// Another step.
    Go,
}

/// Judges a step of relative size `step` (of the full Newton step), taken with length `taken`, and the residual after, of
/// which `pace` is the norm over that before. The next step is foretold by the pace: a quadratic root brings its square, a
/// double root a quarter.
pub fn judge(step: f64, taken: f64, residual: f64, pace: f64) -> Verdict {
    let full = taken == 1.0;
    // On the edge of a one-way branch slopes differ either side, and round-off may let no full step decrease.
    let edge = step <= STEP_DONE && residual <= RESIDUAL_ROUND_OFF;
    // Steps are measured by their flows; behind a closed one-way branch pressures may still be on their way.
    let still = step <= STEP_DONE && residual <= RESIDUAL_STILL;
    let near = step <= STEP_NEAR && residual <= RESIDUAL_NEAR;
    let foretold = step * pace <= STEP_FORETOLD && residual <= RESIDUAL_FORETOLD;
    let small = still || near || foretold;
    let done = (full && small) || edge;
    if done || residual <= RESIDUAL_DONE {
        Verdict::Done
    } else {
        Verdict::Go
    }
}

/// Whether the step after a full one of relative size `step`, which left `residual`, `pace` of that before in norm, may be
/// taken with the same factors. Slopes have changed by as much as Newton's own error tells, so that it leaves that pace again.
pub fn chord(step: f64, residual: f64, pace: f64) -> bool {
    residual * pace <= CHORD_NEAR && step * pace * pace <= STEP_FORETOLD
}

/// Whether a step brings enough: the norm after it against the norm before.
pub fn enough(before: f64, after: f64, taken: f64) -> bool {
    after.is_finite() && after <= before * (1.0 - DECREASE * taken)
}

/// The largest absolute entry of those that are numbers.
pub fn largest(values: &[f64]) -> f64 {
    let lanes = in_lanes(
        values,
        |most, v| if v.abs() > most { v.abs() } else { most },
    );
    lanes.into_iter().fold(0.0, f64::max)
}

/// The Euclidean norm.
pub fn norm(values: &[f64]) -> f64 {
    in_lanes(values, |sum, v| sum + v * v)
        .iter()
        .sum::<f64>()
        .sqrt()
}

/// Folds every fourth entry into a lane of its own, so that no entry waits for the one before it.
pub fn in_lanes(values: &[f64], fold: impl Fn(f64, f64) -> f64) -> [f64; 4] {
    let mut lanes = [0.0; 4];
    let (fours, rest) = values.as_chunks::<4>();
    for four in fours {
        for (lane, v) in lanes.iter_mut().zip(four) {
            *lane = fold(*lane, *v);
        }
    }
    for (lane, v) in lanes.iter_mut().zip(rest) {
        *lane = fold(*lane, *v);
    }
    lanes
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Newton on `x^2 = a` from 2: quadratic for `a` of 1, a double root for `a` of 0, whose error after the last step must
    /// be as small as was foretold, or not be taken for the end.
    #[test]
    fn a_step_that_is_foretold_is_not_missed_and_a_double_root_is_not_taken_for_the_end() {
        for (a, most) in [(1.0, 5), (0.0, 60)] {
            let (mut x, mut steps) = (2.0_f64, 0);
            let error = loop {
                let before = x * x - a;
                let step = before / (2.0 * x);
                x -= step;
                steps += 1;
                let after = x * x - a;
                let pace = (after / before).abs();
                if judge(step.abs(), 1.0, after.abs(), pace) == Verdict::Done {
                    break (x - f64::sqrt(a)).abs();
                }
            };
            assert!(steps <= most && error <= STEP_NEAR, "{a}: {steps} {error}");
            assert!(a == 0.0 || error <= STEP_FORETOLD, "{error}");
        }
        assert!(chord(1e-4, 1e-8, 2e-5) && !chord(1e-4, 1e-8, 0.25));
        assert!(!chord(1e-2, 1e-5, 1e-3));
    }

    /// Newton on `x^2 = 1` from 2 with steps that are off by all that they may leave: no more of them than exact ones.
    #[test]
    fn steps_that_leave_what_they_may_are_as_few_as_exact_ones() {
        let steps = |share: f64| {
            let (mut x, mut steps, mut leave) = (2.0_f64, 0, LEAVE_MOST);
            loop {
                let before = x * x - 1.0;
                let step = before * (1.0 + share * leave) / (2.0 * x);
                x -= step;
                steps += 1;
                let after = x * x - 1.0;
                let pace = (after / before).abs();
                if judge(step.abs(), 1.0, after.abs(), pace) == Verdict::Done {
                    return (steps, (x - 1.0).abs());
                }
                leave = inexact(pace, after.abs());
                assert!((LEAVE_LEAST..=LEAVE_MOST).contains(&leave));
            }
        };
        let (exact, _) = steps(0.0);
        for share in [-1.0, 1.0] {
            let (inexact, error) = steps(share);
            assert!(
                inexact <= exact && error <= STEP_FORETOLD,
                "{inexact} {exact} {error}"
            );
        }
    }

    #[test]
    fn sums_in_lanes_are_those_of_all_entries() {
        for count in 0..11 {
            let values: Vec<f64> = (0..count).map(|k| f64::from(k) - 4.5).collect();
            let plain: f64 = values.iter().map(|v| v * v).sum();
            assert!((norm(&values) - plain.sqrt()).abs() < 1e-14, "{count}");
            let most = values.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
            assert_eq!(largest(&values), most, "{count}");
        }
        assert_eq!(largest(&[1.0, f64::NAN, -3.0]), 3.0);
    }
}
