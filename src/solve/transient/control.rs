//! How far each step goes: an absolute tolerance in kelvin, stops that are met exactly, and a cap on the number of steps.

use super::step::{Storing, Through, step};

/// Error of one step that is allowed by default, K. Errors of steps damp out with the temperatures themselves; on the
/// sample designs peaks stay within about ten times this of a march with a tolerance a hundred times tighter.
const TOLERANCE_K: f64 = 1.0e-3;
/// Steps allowed by default.
const MOST_STEPS: usize = 20_000;
/// Stops of a march by default, as many as a printed strip has rows, so that no peak hides in a long step; few enough that
/// the error decides on most steps.
const STOPS: usize = 12;
/// First step over the duration, and its upper end in s: heat that is switched on at the start.
const FIRST_SHARE: f64 = 1.0e-4;
const FIRST_MOST_S: f64 = 0.5;
/// Safety factor and bounds of the change of a step. Common practice, no source.
const SAFETY: f64 = 0.9;
const LEAST_CHANGE: f64 = 0.2;
const MOST_CHANGE: f64 = 4.0;
/// Shortest step over the duration.
const SHORTEST_SHARE: f64 = 1.0e-9;

/// How steps are chosen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum StepChoice {
    /// By the estimate of error.
    Controlled,
    /// All of this length, s, up to the stops.
    Fixed(f64),
}

/// Choices of one march.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TimeOptions {
    /// Error allowed in one step, K.
    pub tolerance_k: f64,
    /// Most steps, rejected ones included.
    pub most_steps: usize,
    /// Equal parts of the duration at whose ends a step ends.
    pub stops: usize,
    /// How steps are chosen.
    pub step: StepChoice,
}

impl Default for TimeOptions {
    fn default() -> Self {
        Self {
            tolerance_k: TOLERANCE_K,
            most_steps: MOST_STEPS,
            stops: STOPS,
            step: StepChoice::Controlled,
        }
    }
}

/// What a march cost and what went through it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct MarchEffort {
    /// Steps kept.
    pub steps: usize,
    /// Steps thrown away.
    pub rejected: usize,
    /// Heat that came in and went out, J.
    pub through_j: Through,
    /// Change of stored heat, J.
    pub stored_j: f64,
}

impl MarchEffort {
    /// What came in less what went out less what is stored, over all that went through: 0 but for the solver's own errors.
    pub fn imbalance(&self) -> f64 {
        let Through { gained, lost } = self.through_j;
        (gained - lost - self.stored_j) / (gained + lost).max(1e-9)
    }
}

/// Why a march ended early.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum MarchError<E> {
    /// A stage had no answer however short the step, or a state is none.
    Stage(E),
    /// The number of steps ran out at this time, s.
    TooManySteps(f64),
}

/// Whether a state is one of the stops.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Moment {
    /// The beginning.
    Start,
    /// Between stops.
    Between,
    /// A stop; the last one is the end.
    Stop,
}

/// Marches from `y` over a duration and hands every kept state to `each`; at the end `y` is the last of them.
///
/// # Errors
/// [`MarchError`] with what stopped it.
#[allow(clippy::type_complexity)]
pub fn march<P: Storing>(
    problem: &mut P,
    y: &mut Vec<f64>,
    duration_s: f64,
    options: &TimeOptions,
    each: &mut dyn FnMut(&P, f64, &[f64], Moment),
) -> Result<MarchEffort, MarchError<P::Error>> {
    let stage = MarchError::Stage;
    let mut effort = MarchEffort::default();
    let begun: f64 = problem.stored_j(y).iter().sum();
    let mut rate = problem.start(0.0, y).map_err(stage)?;
    let mut slope = vec![0.0; y.len()];
    problem.keep(0.0).map_err(stage)?;
    each(problem, 0.0, y, Moment::Start);
    let mut wanted = match options.step {
        StepChoice::Controlled => (FIRST_SHARE * duration_s).min(FIRST_MOST_S),
        StepChoice::Fixed(h) => h,
    };
    let stops = options.stops.max(1);
    let mut time = 0.0;
    for stop in 1..=stops {
        let end = duration_s * stop as f64 / stops as f64;
        while time < end {
            if effort.steps + effort.rejected >= options.most_steps {
                return Err(MarchError::TooManySteps(time));
            }
            let left = end - time;
            // The last two steps before a stop share what is left.
            let (h, last) = if wanted >= left * (1.0 - 1e-9) {
                (left, true)
            } else {
                (wanted.min((0.5 * left).max(0.5 * wanted)), false)
            };
            let stepped = match step(problem, time, h, y, (&rate, &slope)) {
                Ok(stepped) => stepped,
                Err(error) => {
                    effort.rejected += 1;
                    wanted = LEAST_CHANGE * h;
                    let fixed = matches!(options.step, StepChoice::Fixed(_));
                    if fixed || wanted < SHORTEST_SHARE * duration_s {
                        return Err(stage(error));
                    }
                    continue;
                }
            };
            if options.step == StepChoice::Controlled {
                let share = stepped.error_k / options.tolerance_k;
                let change =
                    (SAFETY * share.max(1e-9).powf(-1.0 / 3.0)).clamp(LEAST_CHANGE, MOST_CHANGE);
                if share > 1.0 && h > SHORTEST_SHARE * duration_s {
                    effort.rejected += 1;
                    wanted = change.min(SAFETY) * h;
                    continue;
                }
                // A step cut short by a stop says little about a longer one.
                wanted = if h < wanted {
                    wanted.max(change * h)
                } else {
                    change * h
                };
            }
            *y = stepped.y;
            rate = stepped.rate_w;
            slope = stepped.slope_k_s;
            time = if last { end } else { time + h };
            effort.steps += 1;
            effort.through_j.gained += stepped.through_j.gained;
            effort.through_j.lost += stepped.through_j.lost;
            problem.keep(time).map_err(stage)?;
            let moment = if last { Moment::Stop } else { Moment::Between };
            each(problem, time, y, moment);
        }
    }
    effort.stored_j = problem.stored_j(y).iter().sum::<f64>() - begun;
    Ok(effort)
}
