//! A case in time: how hot everything gets, when, and when each limit is first reached; and what the same duty would lead
//! to if it went on for ever, so that what only thermal mass carries is told apart.

use super::limits::{LimitRow, Verdict, judge};
use crate::design::Limits;
use crate::network::{Case, HeatRole};
use crate::quantity::show_both;
use crate::solve::transient::{MarchEffort, Moment, TimeOptions};
use crate::solve::{Solution, SolveError, Solver};

/// What a line of values over time is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trace {
    /// A module.
    Module,
    /// The device of a plate.
    Device,
    /// Coolant at the inlet of a device or core.
    CoolantInlet,
    /// Coolant at its outlet.
    CoolantOutlet,
}

impl Trace {
    /// The stable code.
    pub fn code(self) -> &'static str {
        match self {
            Self::Module => "module",
            Self::Device => "device",
            Self::CoolantInlet => "coolant_inlet",
            Self::CoolantOutlet => "coolant_outlet",
        }
    }
}

/// A temperature over time, at the times of its strip.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// What it is of.
    pub trace: Trace,
    /// Its loop.
    pub owner: String,
    /// The module or part in that loop.
    pub part: String,
    /// Whether it is the coolant of a radiator's core.
    pub of_core: bool,
    /// Values, K.
    pub values_k: Vec<f64>,
    /// Highest value of all steps, K.
    pub peak_k: f64,
    /// When, s.
    pub peak_s: f64,
}

/// A limit in time: the companion of the row with the same number.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitInTime {
    /// When the worst value is met, s.
    pub worst_s: f64,
    /// When the limit is first reached, s; none where it is not within the case.
    pub reached_s: Option<f64>,
    /// The same limit where the duty goes on for ever; none where that has no answer.
    pub steady: Option<LimitRow>,
    last: (f64, f64),
}

/// The answer in time.
#[derive(Clone, Debug)]
pub struct TimeAnswer<'n> {
    /// The state at the end.
    pub end: Solution<'n>,
    /// Limits, judged on the worst value of all steps.
    pub limits: Vec<LimitRow>,
    /// When each of them is worst and first reached.
    pub in_time: Vec<LimitInTime>,
    /// Times of the strip, s.
    pub time_s: Vec<f64>,
    /// Temperatures over time.
    pub lines: Vec<Line>,
    /// Why the same duty has no steady answer.
    pub no_steady: Option<SolveError>,
    /// The answer of the same duty without end, where it has one.
    pub steady: Option<Solution<'n>>,
    /// Effort and what went through.
    pub effort: MarchEffort,
    /// The choices of the march.
    pub options: TimeOptions,
}

/// Marches a case with a duration; `None` for one without.
///
/// # Errors
/// As [`Solver::march`].
pub fn run<'n>(
    solver: &mut Solver<'n>,
    case: &Case,
    limits: &Limits,
) -> Result<Option<TimeAnswer<'n>>, SolveError> {
    let Some(marched) = march(solver, case, limits)? else {
        return Ok(None);
    };
    let endless = for_ever(solver, case, limits);
    Ok(Some(marched.join(endless)))
}

/// A march, before it is held against the same duty without end.
pub(super) struct Marched<'n> {
    end: Solution<'n>,
    rows: Vec<LimitRow>,
    in_time: Vec<LimitInTime>,
    time_s: Vec<f64>,
    lines: Vec<Line>,
    effort: MarchEffort,
    options: TimeOptions,
}

/// The march of a case with a duration; `None` for one without.
pub(super) fn march<'n>(
    solver: &mut Solver<'n>,
    case: &Case,
    limits: &Limits,
) -> Result<Option<Marched<'n>>, SolveError> {
    if case.time.is_none() {
        return Ok(None);
    }
    let options = TimeOptions::default();
    let mut rows: Vec<LimitRow> = Vec::new();
    let mut in_time: Vec<LimitInTime> = Vec::new();
    let mut time_s = Vec::new();
    let mut lines: Vec<Line> = Vec::new();
    let mut each = |now_s: f64, solution: &Solution<'n>, moment: Moment| {
        let judged = judge(solution, limits);
        if moment == Moment::Start {
            in_time = judged.iter().map(begin).collect();
            rows.clone_from(&judged);
        } else {
            for ((worst, seen), row) in rows.iter_mut().zip(&mut in_time).zip(judged) {
                follow(worst, seen, row, now_s);
            }
        }
        let kept = moment != Moment::Between;
        if kept {
            time_s.push(now_s);
        }
        watch(&mut lines, solution, now_s, kept);
    };
    let Some((end, effort)) = solver.march(case, &options, &mut each)? else {
        return Ok(None);
    };
    Ok(Some(Marched {
        end,
        rows,
        in_time,
        time_s,
        lines,
        effort,
        options,
    }))
}

impl<'n> Marched<'n> {
    /// The whole answer.
    pub(super) fn join(self, endless: Endless<'n>) -> TimeAnswer<'n> {
        let (mut rows, mut in_time) = (self.rows, self.in_time);
        for ((row, seen), steady) in rows.iter_mut().zip(&mut in_time).zip(endless.rows) {
            if let Some(steady) = &steady
                && row.verdict < Verdict::NoValue
                && steady.verdict == Verdict::Missed
            {
                row.advice = carried(steady);
            }
            seen.steady = steady;
        }
        TimeAnswer {
            end: self.end,
            limits: rows,
            in_time,
            time_s: self.time_s,
            lines: self.lines,
            no_steady: endless.first,
            steady: endless.whole,
            effort: self.effort,
            options: self.options,
        }
    }
}

/// The same duty without end.
pub(super) struct Endless<'n> {
    /// Its limits; none for those of a loop without an answer.
    rows: Vec<Option<LimitRow>>,
    /// Why a loop has no answer.
    first: Option<SolveError>,
    /// The answer, where every loop has one.
    pub(super) whole: Option<Solution<'n>>,
}

/// The limits of the same duty without end. No loop moves another, so a loop without a steady answer is solved without
/// its heat for the sake of the others, and its own rows are none.
pub(super) fn for_ever<'n>(solver: &mut Solver<'n>, case: &Case, limits: &Limits) -> Endless<'n> {
    let loops = solver.network().loops();
    let mut case = case.clone();
    let mut without: Vec<String> = Vec::new();
    let mut first = None;
    for _ in 0..=loops.len() {
        let error = match solver.solve(&case) {
            Ok(solution) => {
                let of = |row: &LimitRow, name: &str| {
                    let rest = row.subject.strip_prefix(name);
                    rest.is_some_and(|r| r.is_empty() || r.starts_with('.'))
                };
                let rows = judge(&solution, limits).into_iter();
                let rows = rows.map(|row| (!without.iter().any(|n| of(&row, n))).then_some(row));
                let rows = rows.collect();
                return Endless {
                    rows,
                    whole: first.is_none().then_some(solution),
                    first,
                };
            }
            Err(error) => error,
        };
        let owner = error.subject().owner;
        first.get_or_insert(error);
        let Some(index) = loops.iter().position(|l| l.name == owner) else {
            break;
        };
        case.module_heat.retain(|(l, _, _)| *l != index);
        case.plate_heat.retain(|(l, _, _)| *l != index);
        let plates = 0..loops[index].plates.len();
        case.plate_heat.extend(plates.map(|p| (index, p, 0.0)));
        without.push(owner);
    }
    Endless {
        rows: Vec::new(),
        first,
        whole: None,
    }
}

/// What thermal mass carries, said of a limit that is met in time and missed for ever.
fn carried(steady: &LimitRow) -> String {
    let reach = match (steady.measure, steady.value) {
        (super::Measure::Quantity(kind), Some(v)) => show_both(kind, v),
        (super::Measure::Ratio, Some(v)) => format!("{v:.3}"),
        (_, None) => "no value".into(),
    };
    format!(
        "passes for this duration; steady it would reach {reach}: that is what thermal mass is for"
    )
}

fn begin(row: &LimitRow) -> LimitInTime {
    let margin = row.margin.unwrap_or(f64::INFINITY);
    LimitInTime {
        worst_s: 0.0,
        reached_s: (margin < 0.0).then_some(0.0),
        steady: None,
        last: (0.0, margin),
    }
}

/// Takes the state of a further step into a row: the worse value counts, the first crossing is read between the steps.
fn follow(worst: &mut LimitRow, seen: &mut LimitInTime, row: LimitRow, now_s: f64) {
    let margin = row.margin.unwrap_or(f64::INFINITY);
    let (before_s, before) = seen.last;
    if seen.reached_s.is_none() && margin < 0.0 {
        let share = if before.is_finite() {
            before / (before - margin)
        } else {
            1.0
        };
        seen.reached_s = Some(before_s + share * (now_s - before_s));
    }
    seen.last = (now_s, margin);
    if margin < worst.margin.unwrap_or(f64::INFINITY) {
        *worst = row;
        seen.worst_s = now_s;
    }
}

/// Takes the temperatures of a step into the lines, in the same order at every step.
fn watch(lines: &mut Vec<Line>, solution: &Solution<'_>, now_s: f64, kept: bool) {
    let mut place = 0;
    let mut see = |trace: Trace, owner: &str, part: &str, of_core: bool, k: f64| {
        if place == lines.len() {
            lines.push(Line {
                trace,
                owner: owner.to_owned(),
                part: part.to_owned(),
                of_core,
                values_k: Vec::new(),
                peak_k: f64::NEG_INFINITY,
                peak_s: now_s,
            });
        }
        let line = &mut lines[place];
        if k > line.peak_k {
            (line.peak_k, line.peak_s) = (k, now_s);
        }
        if kept {
            line.values_k.push(k);
        }
        place += 1;
    };
    for name in solution.loop_names() {
        let Some(state) = solution.loop_state(name) else {
            continue;
        };
        for (module, k) in state.circuit.modules.iter().zip(&state.heat.module_k) {
            if !module.circuits.is_empty() {
                see(Trace::Module, name, &module.name, false, *k);
            }
        }
        for (e, element) in state.circuit.net.elements.iter().enumerate() {
            let id = element.id.as_str();
            let of_core = matches!(element.heat, HeatRole::Core(_));
            if let HeatRole::Plate(p) = element.heat
                && let Some(k) = state.heat.plate_k.get(p)
            {
                see(Trace::Device, name, id, false, *k);
            }
            if of_core || matches!(element.heat, HeatRole::Plate(_) | HeatRole::Exchanger(_)) {
                see(
                    Trace::CoolantInlet,
                    name,
                    id,
                    of_core,
                    state.heat.upstream_k[e],
                );
                see(
                    Trace::CoolantOutlet,
                    name,
                    id,
                    of_core,
                    state.heat.downstream_k[e],
                );
            }
        }
    }
}

impl TimeAnswer<'_> {
    /// The module of each loop that gets hottest.
    pub fn hottest_modules(&self) -> Vec<&Line> {
        let mut found: Vec<&Line> = Vec::new();
        for line in self.lines.iter().filter(|l| l.trace == Trace::Module) {
            match found.iter_mut().find(|f| f.owner == line.owner) {
                Some(best) if line.peak_k > best.peak_k => *best = line,
                Some(_) => {}
                None => found.push(line),
            }
        }
        found
    }

    /// The lines of the strip: hottest module of each loop, every device, coolant at every core's inlet.
    pub fn strip(&self) -> Vec<&Line> {
        let mut strip = self.hottest_modules();
        strip.extend(self.lines.iter().filter(|l| l.trace == Trace::Device));
        let inlets = self.lines.iter();
        strip.extend(inlets.filter(|l| l.of_core && l.trace == Trace::CoolantInlet));
        strip
    }
}
