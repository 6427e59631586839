//! A case in time: how hot everything gets, when, and when each limit is first reached; and what the same duty would lead
//! to if it went on for ever, so that what only thermal mass carries is told apart.

use super::limit_row::{LimitRow, Verdict};
use super::limits::judge;
use crate::design::Limits;
use crate::network::{Case, HeatRole};
use crate::part::Curve;
use crate::quantity::show_both;
use crate::solve::transient::{MarchEffort, Moment, TimeOptions};
use crate::solve::{Solution, SolveError, Solver};

/// Equal parts of the duration at whose ends a strip has values: each stop of a march and a time between.
const STRIP: usize = 24;
/// Steps either side from which the curve through a crossing is made: its slopes look at the next two.
const AROUND: usize = 3;
/// Halvings of a step by which a crossing in it is found, to 1e-9 of the step.
const HALVINGS: usize = 30;

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
    let mut worst_s: Vec<f64> = Vec::new();
    let mut margins: Vec<Vec<f64>> = Vec::new();
    let mut steps_s = Vec::new();
    let mut lines: Vec<Line> = Vec::new();
    let mut each = |now_s: f64, solution: &Solution<'n>, moment: Moment| {
        let judged = judge(solution, limits);
        if moment == Moment::Start {
            worst_s = vec![now_s; judged.len()];
            margins = judged.iter().map(|row| vec![margin(row)]).collect();
            rows = judged;
        } else {
            for (k, row) in judged.into_iter().enumerate().take(rows.len()) {
                margins[k].push(margin(&row));
                if margin(&row) < margin(&rows[k]) {
                    (rows[k], worst_s[k]) = (row, now_s);
                }
            }
        }
        steps_s.push(now_s);
        watch(&mut lines, solution, now_s);
    };
    let Some((end, effort)) = solver.march(case, &options, &mut each)? else {
        return Ok(None);
    };
    let in_time = (margins.iter().zip(worst_s)).map(|(margins, worst_s)| LimitInTime {
        worst_s,
        reached_s: reached_s(&steps_s, margins),
        steady: None,
    });
    let in_time = in_time.collect();
    let time_s = strip_s(&steps_s);
    for line in &mut lines {
        line.values_k = read_at(&steps_s, &line.values_k, &time_s);
    }
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

/// Distance of a row to its bound; without end where there is no value.
fn margin(row: &LimitRow) -> f64 {
    row.margin.unwrap_or(f64::INFINITY)
}

/// When a margin is first gone, s: read off the curve through the steps around it.
fn reached_s(steps_s: &[f64], margins: &[f64]) -> Option<f64> {
    let k = margins.iter().position(|m| *m < 0.0)?;
    if k == 0 || !margins[k - 1].is_finite() {
        return Some(steps_s[k]);
    }
    let around = k.saturating_sub(AROUND)..(k + AROUND).min(margins.len());
    let points = steps_s[around.clone()].iter().zip(&margins[around]);
    let points: Vec<(f64, f64)> = points
        .filter(|(_, m)| m.is_finite())
        .map(|(s, m)| (*s, *m))
        .collect();
    let (mut low, mut high) = (steps_s[k - 1], steps_s[k]);
    let Ok(curve) = Curve::through(&points) else {
        return Some(high);
    };
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if curve.at(middle).value < 0.0 {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high)
}

/// The times of a strip, s.
fn strip_s(steps_s: &[f64]) -> Vec<f64> {
    let end = steps_s.last().copied().unwrap_or(0.0);
    let share = |k: usize| k as f64 / STRIP as f64;
    (0..=STRIP).map(|k| end * share(k)).collect()
}

/// The values of a line at other times, read off the curve through its steps.
fn read_at(steps_s: &[f64], values: &[f64], times_s: &[f64]) -> Vec<f64> {
    let points: Vec<(f64, f64)> = steps_s
        .iter()
        .copied()
        .zip(values.iter().copied())
        .collect();
    match Curve::through(&points) {
        Ok(curve) => times_s.iter().map(|s| curve.at(*s).value).collect(),
        // A single step, or values that are no numbers.
        Err(_) => vec![values.last().copied().unwrap_or(f64::NAN); times_s.len()],
    }
}

/// Takes the temperatures of a step into the lines, in the same order at every step.
fn watch(lines: &mut Vec<Line>, solution: &Solution<'_>, now_s: f64) {
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
        line.values_k.push(k);
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Steps that grow as those of a march do, and what cools down with a time constant of 100 s.
    fn cooling() -> (Vec<f64>, Vec<f64>) {
        let steps = [
            0.0, 1.0, 4.0, 12.0, 30.0, 50.0, 75.0, 100.0, 150.0, 200.0, 250.0, 300.0,
        ];
        let values = steps.iter().map(|t: &f64| (-t / 100.0).exp());
        (steps.to_vec(), values.collect())
    }

    #[test]
    fn a_strip_is_read_off_a_curve_through_the_steps() {
        let (steps, values) = cooling();
        let times = strip_s(&steps);
        assert_eq!(times.len(), STRIP + 1);
        let read = read_at(&steps, &values, &times);
        let straight = |t: f64| {
            let k = steps.partition_point(|s| *s <= t).clamp(1, steps.len() - 1);
            let share = (t - steps[k - 1]) / (steps[k] - steps[k - 1]);
            values[k - 1] + share * (values[k] - values[k - 1])
        };
        let (mut curved, mut chords) = (0.0_f64, 0.0_f64);
        for (t, value) in times.iter().zip(&read) {
            let exact = (-t / 100.0).exp();
            curved = curved.max((value - exact).abs());
            chords = chords.max((straight(*t) - exact).abs());
        }
        assert!(curved < 2e-3 && curved < 0.2 * chords, "{curved} {chords}");
        assert_eq!(read_at(&[0.0], &[3.0], &[0.0, 1.0]), [3.0, 3.0]);
    }

    #[test]
    fn a_limit_is_reached_where_the_curve_through_its_margins_crosses() {
        let (steps, values) = cooling();
        let margins: Vec<f64> = values.iter().map(|v| v - 0.3).collect();
        let reached = reached_s(&steps, &margins).unwrap_or_default();
        // A straight line between the steps at 100 s and 150 s would be 3 s off.
        assert!((reached + 100.0 * f64::ln(0.3)).abs() < 0.5, "{reached}");
        assert_eq!(reached_s(&steps, &values), None);
        let missed: Vec<f64> = values.iter().map(|v| v - 2.0).collect();
        assert_eq!(reached_s(&steps, &missed), Some(0.0));
        // A value that was none before.
        assert_eq!(reached_s(&[0.0, 5.0], &[f64::INFINITY, -1.0]), Some(5.0));
    }
}
