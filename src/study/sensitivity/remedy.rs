//! Which single number of a design would have to change, and to what, so that a missed limit is met: picked by slope,
//! then solved again until the limit is met or the change is out of reason.

use super::{OutputOf, OutputSensitivity, SensitivityAnswer, adjustable, meets, same};
use crate::design::{Adjustable, Design, Knob, KnobStep, Limits};
use crate::network::{BuildError, Network};
use crate::solve::Solver;
use crate::study::limits::{LimitRow, Verdict, judge};

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

/// Looks for single changes that meet a missed limit of a case, smallest change first; at most `most` of them. Only what a
/// builder can buy, cut or set is changed: no duty, no weather, no measured property of a module or device.
///
/// # Errors
/// [`BuildError`] where the design makes no network.
pub fn remedies(
    design: &Design,
    answer: &SensitivityAnswer,
    case: &str,
    output: &OutputSensitivity,
    most: usize,
) -> Result<Vec<Remedy>, BuildError> {
    let OutputOf::Limit(row) = &output.output else {
        return Ok(Vec::new());
    };
    let limits = design.limits.clone().unwrap_or_default();
    let mut base = adjustable(design)?;
    let network = Network::build_checked(base.design())?;
    let before = missed(&network, &limits);
    let mut wanted: Vec<(f64, usize)> = (output.effects.iter())
        .filter(|e| is_a_builders(&answer.knobs[e.knob]))
        .map(|e| ((row.bound - output.value) / e.change, e.knob))
        .filter(|(steps, _)| (REACH.0..=REACH.1).contains(steps))
        .collect();
    wanted.sort_by(|a, b| a.0.abs().total_cmp(&b.0.abs()));
    let mut found = Vec::new();
    for (steps, k) in wanted.into_iter().take(most * TRIED_FOR_EACH) {
        if found.len() == most {
            break;
        }
        let knob = &answer.knobs[k];
        let mut tried = Tried {
            base: &mut base,
            limits: &limits,
            case,
            row,
            before: &before,
        };
        if let Some((steps, value, also_missed)) = tried.search(knob, steps, output.value) {
            found.push(Remedy {
                knob: k,
                steps,
                text: knob.text_after(steps),
                value,
                also_missed,
            });
        }
    }
    found.sort_by(|a, b| a.steps.abs().total_cmp(&b.steps.abs()));
    Ok(found)
}

fn is_a_builders(knob: &Knob) -> bool {
    let of_the_vehicle = ["loops.", "radiators.", "coolants."];
    of_the_vehicle.iter().any(|p| knob.path.starts_with(p))
        && knob.step == KnobStep::Percent
        && !GIVEN
            .iter()
            .any(|key| knob.path.split(['.', '[']).any(|step| step == *key))
}

struct Tried<'t> {
    base: &'t mut Adjustable,
    limits: &'t Limits,
    case: &'t str,
    row: &'t LimitRow,
    before: &'t [String],
}

impl Tried<'_> {
    /// Steps, value and limits newly missed of a change that meets the limit.
    fn search(&mut self, knob: &Knob, first: f64, value: f64) -> Option<(f64, f64, Vec<String>)> {
        let within = |steps: &f64| (REACH.0..=REACH.1).contains(steps);
        // A worst of several may turn round before the slope says so: then less does what more does not.
        for share in [1.0, 0.8, 0.6] {
            let at = knob.rounded(share * first);
            if !within(&at) {
                continue;
            }
            let (value, also_missed) = self.solved(knob, at)?;
            if meets(self.row, value) {
                return Some((at, value, also_missed));
            }
        }
        // Secants, each a little beyond; a change that does not lead towards the limit is given up.
        let (mut here, mut at) = ((0.0, value), knob.rounded(first));
        for _ in 0..MOST_SECANTS {
            let (value, also_missed) = self.solved(knob, at).filter(|_| within(&at))?;
            if meets(self.row, value) {
                return Some((at, value, also_missed));
            }
            let slope = (value - here.1) / (at - here.0);
            let next = at + 1.02 * (self.row.bound - value) / slope;
            if !next.is_finite() || next.signum() != at.signum() || next.abs() <= at.abs() {
                return None;
            }
            (here, at) = ((at, value), knob.rounded(next));
        }
        None
    }

    /// Solves the design with one knob moved.
    fn solved(&mut self, knob: &Knob, steps: f64) -> Option<(f64, Vec<String>)> {
        let network = match self.base.with_knob(knob, steps) {
            Some(design) => Network::build_checked(design).ok(),
            None => None,
        };
        self.base.with_knob(knob, 0.0);
        let network = network?;
        let case = network.cases().iter().find(|c| c.name == self.case)?;
        let solution = Solver::new(&network).solve_silently(case).ok()?;
        let rows = judge(&solution, self.limits);
        let value = rows.iter().find(|r| same(r, self.row))?.value?;
        let mut new = Vec::new();
        if meets(self.row, value) {
            new = missed(&network, self.limits);
            new.retain(|name| !self.before.contains(name));
        }
        Some((value, new))
    }
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
            Err(error) => names.push(format!("{}: {error}", case.name)),
        }
    }
    names
}
