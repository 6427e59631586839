//! Which single number of a design would have to change, and to what, so that a missed limit is met: picked by slope,
//! then solved again until the limit is met or the change is out of reason.

use super::{OutputOf, OutputSensitivity, SensitivityAnswer, adjustable, meets, same};
use crate::design::{Adjustable, Design, Knob, KnobStep, Limits};
use crate::network::{BuildError, Network};
use crate::solve::Solver;
use crate::study::limit_row::{LimitRow, Verdict};
use crate::study::limits::judge;

/// Least and most that a value is changed, in per cent: half as much to twice as much (our choice, no source).
const REACH: (f64, f64) = (-50.0, 100.0);
/// Secants for one input.
const MOST_SECANTS: usize = 4;
/// Inputs that are tried, for each that is wanted.
const TRIED_FOR_EACH: usize = 3;
/// Keys of what a builder is given and cannot cut, buy or set otherwise.
const GIVEN: [&str; 9] = [
    "pressure_drop",
    "thermal_resistance",
    "resistance",
    "specific_heat",
    "mass",
    "efficiency",
    "roughness",
    "exit_loss",
    "pressure_coefficient",
];

/// One change that meets a limit.
#[derive(Clone, Debug, PartialEq)]
pub struct Remedy {
    /// The input, by its place in [`SensitivityAnswer::knobs`].
    pub knob: usize,
    /// How far it goes, in its steps.
    pub steps: f64,
    /// Its value then, as it would stand in a file; none of a column.
    pub text: Option<String>,
    /// The value of the limit, solved with that change, SI.
    pub value: f64,
    /// Limits of any steady case that are missed then and were met before, as `case: limit of subject`.
    pub also_missed: Vec<String>,
}

/// A search for single changes that meet missed limits of one design: what holds before any change is found once.
pub struct RemedySearch {
    base: Adjustable,
    limits: Limits,
    before: Vec<String>,
}

impl RemedySearch {
    /// A search in a design.
    ///
    /// # Errors
    /// [`BuildError`] where the design makes no network.
    pub fn new(design: &Design) -> Result<Self, BuildError> {
        let limits = design.limits.clone().unwrap_or_default();
        let base = adjustable(design)?;
        let network = Network::build_checked(base.design())?;
        Ok(Self {
            before: missed(&network, &limits),
            base,
            limits,
        })
    }

    /// Changes that meet a missed limit of a case, smallest first; at most `most` of them. Only what a builder can buy, cut
    /// or set is changed: no duty, no weather, no measured property of a module or device.
    pub fn find(
        &mut self,
        answer: &SensitivityAnswer,
        case: &str,
        output: &OutputSensitivity,
        most: usize,
    ) -> Vec<Remedy> {
        let OutputOf::Limit(row) = &output.output else {
            return Vec::new();
        };
        let mut wanted: Vec<(f64, usize)> = (output.effects.iter())
            .filter(|e| is_a_builders(&answer.knobs[e.knob]))
            .filter_map(|e| output.steps_to_limit(e).map(|steps| (steps, e.knob)))
            .filter(|(steps, _)| within(*steps))
            .collect();
        wanted.sort_by(|a, b| a.0.abs().total_cmp(&b.0.abs()));
        let mut found = Vec::new();
        for (first, k) in wanted.into_iter().take(most * TRIED_FOR_EACH) {
            if found.len() == most {
                break;
            }
            let knob = &answer.knobs[k];
            let sought = Sought { case, row, knob };
            if let Some(met) = self.search(&sought, first, output.value) {
                found.push(Remedy {
                    knob: k,
                    steps: met.steps,
                    text: knob.text_after(met.steps),
                    value: met.value,
                    also_missed: met.also_missed,
                });
            }
        }
        found.sort_by(|a, b| a.steps.abs().total_cmp(&b.steps.abs()));
        found
    }

    /// A change of one knob that meets the limit, where one is found.
    fn search(&mut self, sought: &Sought<'_>, first: f64, value: f64) -> Option<Met> {
        let mut tried = self.solved(sought, sought.knob.rounded(first))?;
        if meets(sought.row, tried.value) {
            return Some(tried);
        }
        // A worst of several may turn round before the slope says so: then less does what more does not.
        for share in [0.8, 0.6] {
            let less = self.solved(sought, sought.knob.rounded(share * first))?;
            if meets(sought.row, less.value) {
                return Some(less);
            }
        }
        // Secants, each a little beyond; a change that does not lead towards the limit is given up.
        let mut here = (0.0, value);
        for _ in 0..MOST_SECANTS {
            let slope = (tried.value - here.1) / (tried.steps - here.0);
            let next = tried.steps + 1.02 * (sought.row.bound - tried.value) / slope;
            let onwards = next.signum() == tried.steps.signum() && next.abs() > tried.steps.abs();
            if !next.is_finite() || !onwards {
                return None;
            }
            here = (tried.steps, tried.value);
            tried = self.solved(sought, sought.knob.rounded(next))?;
            if meets(sought.row, tried.value) {
                return Some(tried);
            }
        }
        None
    }

    /// Solves the design with one knob moved; none out of reach, or without an answer.
    fn solved(&mut self, sought: &Sought<'_>, steps: f64) -> Option<Met> {
        let Sought { case, row, knob } = *sought;
        if !within(steps) {
            return None;
        }
        let network = match self.base.with_knob(knob, steps) {
            Some(design) => Network::build_checked(design).ok(),
            None => None,
        };
        self.base.with_knob(knob, 0.0);
        let network = network?;
        let case = network.cases().iter().find(|c| c.name == case)?;
        let solution = Solver::new(&network).solve_silently(case).ok()?;
        let rows = judge(&solution, &self.limits);
        let value = rows.iter().find(|r| same(r, row))?.value?;
        let mut also_missed = Vec::new();
        if meets(row, value) {
            also_missed = missed(&network, &self.limits);
            also_missed.retain(|name| !self.before.contains(name));
        }
        Some(Met {
            steps,
            value,
            also_missed,
        })
    }
}

/// What is to be met, and by which knob.
struct Sought<'s> {
    case: &'s str,
    row: &'s LimitRow,
    knob: &'s Knob,
}

/// A change as solved.
struct Met {
    steps: f64,
    value: f64,
    also_missed: Vec<String>,
}

fn within(steps: f64) -> bool {
    (REACH.0..=REACH.1).contains(&steps)
}

fn is_a_builders(knob: &Knob) -> bool {
    let of_the_vehicle = ["loops.", "radiators.", "coolants."];
    of_the_vehicle.iter().any(|p| knob.path.starts_with(p))
        && knob.step == KnobStep::Percent
        && !GIVEN
            .iter()
            .any(|key| knob.path.split(['.', '[']).any(|step| step == *key))
}

/// Names of what is missed in the steady cases of a network.
fn missed(network: &Network, limits: &Limits) -> Vec<String> {
    let mut solver = Solver::new(network);
    let mut names = Vec::new();
    for case in network.cases().iter().filter(|c| c.time.is_none()) {
        match solver.solve_silently(case) {
            Ok(solution) => {
                let rows = judge(&solution, limits);
                let missed = rows.iter().filter(|r| r.verdict == Verdict::Missed);
                names
                    .extend(missed.map(|r| format!("{}: {} of {}", case.name, r.limit, r.subject)));
            }
            Err(error) => names.push(format!("{}: no answer ({})", case.name, error.code())),
        }
    }
    names
}
