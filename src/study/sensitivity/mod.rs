//! What moves an answer, and by how much: the slope of every limit, and of any output, over every number of the design,
//! from one linearisation of each solved case; and which single number would have to change to meet a missed limit.

mod remedy;

pub use remedy::{Remedy, RemedySearch};

use super::error::StudyError;
use super::limit_row::{LimitRow, LimitSide, Measure, Verdict};
use super::limits::judge;
use super::readout::{Judging, Readout, Solved};
use crate::design::{Adjustable, Design, Knob, Limits};
use crate::network::{BuildError, Case, Network};
use crate::quantity::Kind;
use crate::solve::{Linearised, NoSlopes, Solution, SolveError, Solver};

/// How far a knob is moved to either side, in steps of one per cent or one kelvin: small enough that the slope is that of
/// the answer itself to 1e-8, large enough that round-off stays below that.
const NUDGE: f64 = 0.01;

/// What to look at.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SensitivityQuestion {
    /// Cases (default: every steady one).
    pub cases: Vec<String>,
    /// Outputs by their paths behind the name of a case (default: every limit that has a value).
    pub outputs: Vec<String>,
    /// Only inputs whose path begins so (default: all).
    pub inputs: Vec<String>,
}

/// What an output is.
#[derive(Clone, Debug, PartialEq)]
pub enum OutputOf {
    /// The value of a limit.
    Limit(Box<LimitRow>),
    /// A number of the answer, by its path.
    Path(String),
}

/// An input and what one step of it does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effect {
    /// The input, by its place in [`SensitivityAnswer::knobs`].
    pub knob: usize,
    /// Change of the output for one step of the input, to first order, in units of the output (SI).
    pub change: f64,
}

/// One output of one case with what moves it, most first.
#[derive(Clone, Debug, PartialEq)]
pub struct OutputSensitivity {
    /// What it is.
    pub output: OutputOf,
    /// Its value, SI.
    pub value: f64,
    /// How near its limit it is: distance over what the limit allows, negative where it is missed; infinite without one.
    pub nearness: f64,
    /// What moves it. Inputs that do not are left out.
    pub effects: Vec<Effect>,
}

/// The answer of one case.
#[derive(Clone, Debug)]
pub struct CaseSensitivity {
    /// The case.
    pub case: String,
    /// Its outputs, those nearest to their limit first, or why it has no slopes.
    pub outputs: Result<Vec<OutputSensitivity>, NoSlopes>,
    /// Largest residual of the coupled equations where the slopes were taken, in scaled units.
    pub residual: f64,
}

/// The answer.
#[derive(Clone, Debug)]
pub struct SensitivityAnswer {
    /// The inputs, in the order of the file.
    pub knobs: Vec<Knob>,
    /// The cases, in the order of the design.
    pub cases: Vec<CaseSensitivity>,
    /// Inputs that could not be moved, with the reason.
    pub unmoved: Vec<UnmovedInput>,
}

/// An input that was not moved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnmovedInput {
    /// Its path.
    pub path: String,
    /// Why.
    pub reason: Unmoved,
}

/// Why an input was not moved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unmoved {
    /// It is a whole number, which has no small step.
    Whole,
    /// The design with the small step is refused, or has no slope.
    Refused(String),
}

impl std::fmt::Display for Unmoved {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Whole => f.write_str("a whole number has no small step"),
            Self::Refused(why) => f.write_str(why),
        }
    }
}

impl SensitivityAnswer {
    /// Whether any case has an answer.
    pub fn is_answered(&self) -> bool {
        self.cases.iter().any(|c| c.outputs.is_ok())
    }
}

/// Takes the slopes.
///
/// # Errors
/// [`StudyError`] where the design makes no network, or a case, an output or an input is not known.
///
/// ```
/// use loopwright::{design::Source, report::Keys, study::sensitivity};
/// let source = Source::read(include_str!("../../../networks/bench-header.json")).unwrap();
/// let question = sensitivity::SensitivityQuestion::default();
/// let answer = sensitivity::run(&source.design, &question, &Keys).unwrap();
/// let outputs = answer.cases[0].outputs.as_ref().unwrap();
/// let most = outputs[0].effects[0];
/// assert!(answer.knobs[most.knob].path.starts_with("loops."));
/// ```
pub fn run(
    design: &Design,
    question: &SensitivityQuestion,
    readout: &dyn Readout,
) -> Result<SensitivityAnswer, StudyError> {
    let network = Network::build(design)?;
    let mut base = adjustable(design)?;
    let limits = design.limits.clone().unwrap_or_default();
    let cases = wanted_cases(&network, &question.cases)?;
    let names: Vec<&str> = cases.iter().map(|c| c.name.as_str()).collect();
    let mut knobs = base.knobs(&|name| names.contains(&name));
    if !question.inputs.is_empty() {
        for wanted in &question.inputs {
            if !knobs.iter().any(|k| k.path.starts_with(wanted.as_str())) {
                let known: Vec<String> = knobs.iter().map(|k| k.path.clone()).collect();
                return Err(StudyError::unknown("input", wanted, known.iter()));
            }
        }
        knobs.retain(|k| {
            question
                .inputs
                .iter()
                .any(|i| k.path.starts_with(i.as_str()))
        });
    }
    let mut solver = Solver::new(&network);
    let solved: Vec<Result<Solution<'_>, SolveError>> = (cases.iter())
        .map(|case| solver.solve_silently(case))
        .collect();
    let mut seats: Vec<Seat<'_>> = Vec::new();
    for (case, solved) in cases.iter().zip(&solved) {
        seats.push(Seat::new(case, solved, &limits, question, readout)?);
    }
    let mut unmoved = Vec::new();
    for (k, knob) in knobs.iter().enumerate() {
        if let Err(reason) = nudge(&mut base, knob, k, &mut seats, &limits, readout) {
            let path = knob.path.clone();
            unmoved.push(UnmovedInput { path, reason });
        }
    }
    Ok(SensitivityAnswer {
        cases: seats.into_iter().map(Seat::answer).collect(),
        knobs,
        unmoved,
    })
}

fn adjustable(design: &Design) -> Result<Adjustable, BuildError> {
    Adjustable::new(design).map_err(|faults| BuildError {
        faults,
        rules: Vec::new(),
    })
}

/// The slopes of every limit in these cases (all steady ones where none is named).
///
/// # Errors
/// As [`run`].
pub fn of_limits(design: &Design, cases: &[String]) -> Result<SensitivityAnswer, StudyError> {
    let question = SensitivityQuestion {
        cases: cases.to_vec(),
        ..SensitivityQuestion::default()
    };
    run(design, &question, &NoPaths)
}

/// Reads nothing by a path: limits alone are wanted.
struct NoPaths;

impl Readout for NoPaths {
    fn numbers(&self, _: &Solved<'_>, paths: &[&str]) -> Vec<Result<Option<f64>, String>> {
        paths.iter().map(|_| Ok(None)).collect()
    }

    fn judged(&self, _: &str) -> Judging {
        Judging::Yes
    }

    fn usual(&self, _: &Solved<'_>) -> Vec<String> {
        Vec::new()
    }

    fn every(&self, _: &Solved<'_>) -> Vec<(String, f64)> {
        Vec::new()
    }

    fn scale(&self, _: &str, magnitude: f64) -> f64 {
        magnitude
    }
}

/// The cases asked for; without a name every steady one.
fn wanted_cases<'n>(network: &'n Network, names: &[String]) -> Result<Vec<&'n Case>, StudyError> {
    let all = network.cases();
    for name in names {
        if !all.iter().any(|c| c.name == *name) {
            let known: Vec<String> = all.iter().map(|c| c.name.clone()).collect();
            return Err(StudyError::unknown("case", name, known.iter()));
        }
    }
    let cases: Vec<&Case> = (all.iter())
        .filter(|c| names.is_empty() || names.contains(&c.name))
        .filter(|c| c.time.is_none())
        .collect();
    if cases.is_empty() {
        let in_time = all.iter().filter(|c| c.time.is_some());
        return Err(StudyError::NoSteadyCase {
            in_time: in_time.map(|c| c.name.clone()).collect(),
        });
    }
    Ok(cases)
}

/// Moves one knob to both sides and writes what it does in every case.
fn nudge(
    base: &mut Adjustable,
    knob: &Knob,
    k: usize,
    seats: &mut [Seat<'_>],
    limits: &Limits,
    readout: &dyn Readout,
) -> Result<(), Unmoved> {
    let mut sides = Vec::with_capacity(2);
    for steps in [-NUDGE, NUDGE] {
        let built = match base.with_knob(knob, steps) {
            Some(design) => Network::build_checked(design)
                .map_err(|error| Unmoved::Refused(first_line(&error.to_string()))),
            None => Err(Unmoved::Whole),
        };
        base.with_knob(knob, 0.0);
        sides.push(built?);
    }
    let mut failed = None;
    for seat in seats {
        let Ok(at) = &mut seat.at else { continue };
        let find = |network: &'_ Network| -> Option<usize> {
            network.cases().iter().position(|c| c.name == seat.case)
        };
        let (Some(less), Some(more)) = (find(&sides[0]), find(&sides[1])) else {
            continue;
        };
        let moved = at.moved(
            (&sides[0], &sides[0].cases()[less]),
            (&sides[1], &sides[1].cases()[more]),
        );
        match moved {
            Ok([less, more]) => {
                let below = read(&less, &seat.outputs, limits, readout);
                let above = read(&more, &seat.outputs, limits, readout);
                for ((output, a), b) in seat.outputs.iter_mut().zip(below).zip(above) {
                    let change = a.zip(b).map(|(a, b)| (b - a) / (2.0 * NUDGE));
                    if let Some(change) =
                        change.filter(|c| c.is_finite() && c.abs() > output.least())
                    {
                        output.effects.push(Effect { knob: k, change });
                    }
                }
            }
            Err(why) => failed = Some(why.to_string()),
        }
    }
    failed.map_or(Ok(()), |why| Err(Unmoved::Refused(why)))
}

fn first_line(text: &str) -> String {
    text.lines().next().unwrap_or_default().to_owned()
}

/// The outputs of a solved case, in the order of `outputs`.
fn read(
    solution: &Solution<'_>,
    outputs: &[OutputSensitivity],
    limits: &Limits,
    readout: &dyn Readout,
) -> Vec<Option<f64>> {
    let wants_limits = outputs
        .iter()
        .any(|o| matches!(o.output, OutputOf::Limit(_)));
    let rows = if wants_limits {
        judge(solution, limits)
    } else {
        Vec::new()
    };
    let paths: Vec<&str> = outputs.iter().filter_map(OutputSensitivity::path).collect();
    let mut numbers = Vec::new();
    if !paths.is_empty() {
        let solved = Solved {
            solution: solution.clone(),
            limits: judge(solution, limits),
            march: None,
        };
        numbers = readout.numbers(&solved, &paths);
    }
    let mut numbers = numbers.into_iter();
    let value = |output: &OutputSensitivity| match &output.output {
        OutputOf::Limit(row) => rows.iter().find(|r| same(r, row)).and_then(|r| r.value),
        OutputOf::Path(_) => numbers.next().and_then(Result::ok).flatten(),
    };
    outputs.iter().map(value).collect()
}

/// Whether two rows judge the same thing.
pub(super) fn same(a: &LimitRow, b: &LimitRow) -> bool {
    a.limit == b.limit && a.subject == b.subject && a.side == b.side
}

impl OutputSensitivity {
    fn path(&self) -> Option<&str> {
        match &self.output {
            OutputOf::Path(path) => Some(path),
            OutputOf::Limit(_) => None,
        }
    }

    /// Change below which an input does nothing: round-off of the differences.
    fn least(&self) -> f64 {
        1e-9 * self.value.abs().max(1e-12)
    }

    /// How many steps of an input bring it to its limit, by its slope; none without a limit.
    pub fn steps_to_limit(&self, effect: &Effect) -> Option<f64> {
        match &self.output {
            OutputOf::Limit(row) => Some((row.bound - self.value) / effect.change),
            OutputOf::Path(_) => None,
        }
    }

    /// Whether it is the value that a row judges.
    pub fn judges(&self, other: &LimitRow) -> bool {
        matches!(&self.output, OutputOf::Limit(row) if same(row, other))
    }

    /// Whether the limit is missed.
    pub fn is_missed(&self) -> bool {
        matches!(&self.output, OutputOf::Limit(row) if row.verdict == Verdict::Missed)
    }
}

/// A case on its way.
struct Seat<'s> {
    case: String,
    at: Result<Linearised<'s>, NoSlopes>,
    residual: f64,
    outputs: Vec<OutputSensitivity>,
}

impl<'s> Seat<'s> {
    fn new(
        case: &Case,
        solved: &'s Result<Solution<'s>, SolveError>,
        limits: &Limits,
        question: &SensitivityQuestion,
        readout: &dyn Readout,
    ) -> Result<Self, StudyError> {
        let (mut at, outputs) = match solved {
            Ok(solution) => (
                Linearised::new(solution),
                outputs_of(solution, limits, question, readout)?,
            ),
            Err(error) => (Err(NoSlopes::Unsolved(error.clone())), Vec::new()),
        };
        let residual = at.as_mut().map_or(f64::NAN, Linearised::residual);
        Ok(Self {
            case: case.name.clone(),
            at,
            residual,
            outputs,
        })
    }

    fn answer(self) -> CaseSensitivity {
        let mut outputs = self.outputs;
        for output in &mut outputs {
            let effects = &mut output.effects;
            effects.sort_by_key(|effect| std::cmp::Reverse(to_six_digits(effect.change)));
        }
        outputs.sort_by(|a, b| a.nearness.total_cmp(&b.nearness));
        CaseSensitivity {
            case: self.case,
            outputs: self.at.map(|_| outputs),
            residual: self.residual,
        }
    }
}

/// The size of a change to about six digits, in an order of its own: beyond them equal ones differ by round-off, and stay in
/// the order of the design.
fn to_six_digits(change: f64) -> u32 {
    (change.abs() as f32).to_bits() >> 3
}

fn outputs_of(
    solution: &Solution<'_>,
    limits: &Limits,
    question: &SensitivityQuestion,
    readout: &dyn Readout,
) -> Result<Vec<OutputSensitivity>, StudyError> {
    let rows = judge(solution, limits);
    if question.outputs.is_empty() {
        let valued = rows.into_iter().filter_map(|row| {
            let value = row.value?;
            Some(OutputSensitivity {
                value,
                nearness: nearness(&row, solution.case().air_temperature_k),
                effects: Vec::new(),
                output: OutputOf::Limit(Box::new(row)),
            })
        });
        return Ok(valued.collect());
    }
    let paths: Vec<&str> = question.outputs.iter().map(String::as_str).collect();
    let solved = Solved {
        solution: solution.clone(),
        limits: rows,
        march: None,
    };
    let numbers = readout.numbers(&solved, &paths);
    let mut outputs = Vec::new();
    for (path, number) in question.outputs.iter().zip(numbers) {
        let number = number.map_err(|reason| StudyError::Value {
            reason: format!("output `{path}`: {reason}"),
        })?;
        if let Some(value) = number {
            outputs.push(OutputSensitivity {
                output: OutputOf::Path(path.clone()),
                value,
                nearness: f64::INFINITY,
                effects: Vec::new(),
            });
        }
    }
    Ok(outputs)
}

/// Distance from a limit over what the limit allows: of a temperature, over the air.
fn nearness(row: &LimitRow, air_k: f64) -> f64 {
    let margin = row.margin.unwrap_or(f64::INFINITY);
    let allowed = match row.measure {
        Measure::Quantity(Kind::Temperature) => row.bound - air_k,
        _ => row.bound,
    };
    margin / allowed.abs().max(1e-3)
}

/// Whether a value is on the good side of a limit.
pub(super) fn meets(row: &LimitRow, value: f64) -> bool {
    match row.side {
        LimitSide::Min => value >= row.bound,
        LimitSide::Max => value <= row.bound,
    }
}
