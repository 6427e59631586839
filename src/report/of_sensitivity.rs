//! What moves an answer, as text, JSON and rows.

use super::block::{Cell, Report, Table, Tone};
use super::csv::{Csv, number};
use super::keys::Keys;
use super::of_check::{show, show_margin, show_margin_in_column};
use crate::design::{Knob, KnobStep};
use crate::quantity::{UnitFamily, show_si};
use crate::study::sensitivity::{
    CaseSensitivity, Effect, OutputOf, OutputSensitivity, Remedy, SensitivityAnswer, Unmoved,
};
use crate::study::{LimitSide, Measure};
use serde_json::{Map, Value, json};

/// How much of the answer is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SensitivityTold {
    /// Inputs of each output.
    pub inputs: usize,
    /// Every limit, or only the one nearest to being missed in each case. Outputs that were asked for are all told.
    pub every_limit: bool,
}

/// Single changes that meet the missed limit told first in a case, by the name of the case.
pub type Remedies = Vec<(String, Vec<Remedy>)>;

/// Steps of one per cent between which the place where a limit is reached is told: beyond, a slope says little.
const TOLD_PERCENT: (f64, f64) = (-50.0, 100.0);
/// The same for steps of one kelvin.
const TOLD_KELVIN: f64 = 40.0;

impl OutputSensitivity {
    fn measure(&self) -> Measure {
        match &self.output {
            OutputOf::Limit(row) => row.measure,
            OutputOf::Path(path) => Keys::kind(path).map_or(Measure::Ratio, Measure::Quantity),
        }
    }

    fn name(&self) -> String {
        match &self.output {
            OutputOf::Limit(row) => format!("{} of {}", row.limit.replace('_', " "), row.subject),
            OutputOf::Path(path) => path.clone(),
        }
    }
}

/// The answer as a report.
pub fn sensitivity_report(
    title: &str,
    answer: &SensitivityAnswer,
    remedies: &Remedies,
    told: SensitivityTold,
    family: UnitFamily,
) -> Report {
    let mut report = Report::default();
    report.title(format!("{title}: what moves the answers"));
    for case in &answer.cases {
        report.heading(&case.case);
        match &case.outputs {
            Err(why) => report.say(Cell::toned(format!("no slopes: {why}"), Tone::Bad)),
            Ok(outputs) if outputs.is_empty() => {
                report.say("no limit has a value here; name a number with `--output PATH`");
            }
            Ok(outputs) => {
                let shown = outputs.iter().enumerate().filter(|(k, output)| {
                    let asked = matches!(output.output, OutputOf::Path(_));
                    *k == 0 || told.every_limit || asked
                });
                for (k, output) in shown {
                    report.say(state(output, family));
                    report.table(table(answer, output, told.inputs, family));
                    if k == 0 {
                        tell_remedies(&mut report, answer, case, output, remedies, family);
                    }
                }
            }
        }
    }
    report.say(
        "Each line moves one number of the design alone, by the slope of the whole coupled answer: flow, heat, coolant and air. \
         A slope says what a small step does; what stands under \"limit reached at\" is read off it and not solved.",
    );
    let whole = answer
        .unmoved
        .iter()
        .filter(|u| u.reason == Unmoved::Whole)
        .count();
    if whole > 0 {
        report.say(format!(
            "{whole} whole numbers (counts, tubes, passes) have no small step and were not moved: `compare --set` and `sweep` try others."
        ));
    }
    let others = answer
        .unmoved
        .iter()
        .filter_map(|unmoved| match &unmoved.reason {
            Unmoved::Whole => None,
            Unmoved::Refused(why) => Some(format!("`{}` ({why})", unmoved.path)),
        });
    let others: Vec<String> = others.collect();
    if !others.is_empty() {
        report.say(format!("Not moved: {}.", others.join(", ")));
    }
    report
}

fn state(output: &OutputSensitivity, family: UnitFamily) -> Cell {
    let measure = output.measure();
    let value = show(measure, output.value, family);
    match &output.output {
        OutputOf::Path(path) => format!("{path}: {value}").into(),
        OutputOf::Limit(row) => {
            let side = match row.side {
                LimitSide::Min => "at least",
                LimitSide::Max => "at most",
            };
            let bound = show(measure, row.bound, family);
            let margin = show_margin(measure, row.margin.unwrap_or(0.0).abs(), family);
            let (word, tone) = if output.is_missed() {
                ("MISSED by", Tone::Bad)
            } else {
                ("met by", Tone::Plain)
            };
            let name = output.name();
            Cell::toned(
                format!("{name}: {value}, {side} {bound}, {word} {margin}"),
                tone,
            )
        }
    }
}

fn table(
    answer: &SensitivityAnswer,
    output: &OutputSensitivity,
    inputs: usize,
    family: UnitFamily,
) -> Table {
    let limited = matches!(output.output, OutputOf::Limit(_));
    let mut heads = vec!["input", ">now", ">step", ">moves it by"];
    if limited {
        heads.push(">limit reached at");
    }
    let mut table = Table::new(&heads);
    for effect in output.effects.iter().take(inputs) {
        let knob = &answer.knobs[effect.knob];
        let moved = show_margin_in_column(output.measure(), effect.change, family);
        let signed = if effect.change > 0.0 {
            format!("+{moved}")
        } else {
            moved
        };
        let mut row: Vec<Cell> = vec![
            knob.path.clone().into(),
            told(knob, &knob.text, family).into(),
            step(knob, family).into(),
            signed.into(),
        ];
        if limited {
            row.push(reached(knob, output, effect, family).into());
        }
        table.row(row);
    }
    table
}

/// The step of an input.
fn step(knob: &Knob, family: UnitFamily) -> &'static str {
    match (knob.step, family) {
        (KnobStep::Kelvin, UnitFamily::Us) => "+1.8 F",
        (step, _) => step.text(),
    }
}

/// A value of an input as the builder's family of units writes it. A short metric text stays as it is.
fn told(knob: &Knob, text: &str, family: UnitFamily) -> String {
    let short = text.chars().filter(char::is_ascii_digit).count() <= 6;
    let si = knob.kind.and_then(|kind| kind.parse(text).ok());
    match (knob.kind, si) {
        (Some(kind), Some(si)) if !short || family == UnitFamily::Us => show_si(kind, si, family),
        _ => text.to_owned(),
    }
}

/// Where an input alone would bring the output to its limit.
fn reached(knob: &Knob, output: &OutputSensitivity, effect: &Effect, family: UnitFamily) -> String {
    let steps = output.steps_to_limit(effect);
    let within = |steps: &f64| match knob.step {
        KnobStep::Percent => (TOLD_PERCENT.0..=TOLD_PERCENT.1).contains(steps),
        KnobStep::Kelvin => steps.abs() <= TOLD_KELVIN,
    };
    steps
        .filter(within)
        .map_or("-".to_owned(), |steps| change(knob, steps, family))
}

/// A change in words: the value after it, or how far a column goes.
fn change(knob: &Knob, steps: f64, family: UnitFamily) -> String {
    let rounded = knob.rounded(steps);
    match knob.text_after(rounded) {
        Some(text) => told(knob, &text, family),
        None => format!("{rounded:+.0} %"),
    }
}

fn tell_remedies(
    report: &mut Report,
    answer: &SensitivityAnswer,
    case: &CaseSensitivity,
    output: &OutputSensitivity,
    remedies: &Remedies,
    family: UnitFamily,
) {
    let Some((_, found)) = remedies.iter().find(|(name, _)| *name == case.case) else {
        return;
    };
    if found.is_empty() {
        report.say(
            "No single number that a builder sets meets this limit between half and twice of what it is: two things must change, or the layout, or how many there are.",
        );
        return;
    }
    report.say("One change alone that meets it, solved again:");
    let sentences = found.iter().map(|remedy| {
        Cell::from(remedy_words(
            &answer.knobs[remedy.knob],
            remedy,
            output.measure(),
            family,
        ))
    });
    report.list(sentences.collect());
}

/// A remedy as a sentence.
pub(super) fn remedy_words(
    knob: &Knob,
    remedy: &Remedy,
    measure: Measure,
    family: UnitFamily,
) -> String {
    let value = show(measure, remedy.value, family);
    let change = match &remedy.text {
        Some(text) => format!(
            "`{}` from {} to {}",
            knob.path,
            told(knob, &knob.text, family),
            told(knob, text, family)
        ),
        None => format!("`{}` {:+.0} %", knob.path, remedy.steps),
    };
    let price = if remedy.also_missed.is_empty() {
        "nothing else is missed by it".to_owned()
    } else {
        format!("but then missed: {}", remedy.also_missed.join("; "))
    };
    format!("{change} gives {value}; {price}")
}

/// A remedy as JSON.
pub(super) fn remedy_json(knob: &Knob, remedy: &Remedy) -> Value {
    json!({
        "input": knob.path,
        "from": knob.text,
        "to": remedy.text,
        "steps": remedy.steps,
        "step": step_code(knob.step),
        "value": remedy.value,
        "also_missed": remedy.also_missed,
    })
}

fn step_code(step: KnobStep) -> &'static str {
    match step {
        KnobStep::Percent => "percent",
        KnobStep::Kelvin => "kelvin",
    }
}

/// The answer as JSON, every input of every output.
pub fn sensitivity_json(title: &str, answer: &SensitivityAnswer, remedies: &Remedies) -> Value {
    let mut cases = Map::new();
    for case in &answer.cases {
        let value = match &case.outputs {
            Err(why) => json!({ "error": why.to_string() }),
            Ok(outputs) => {
                let found = remedies.iter().find(|(name, _)| *name == case.case);
                let found = found.map(|(_, found)| found.as_slice()).unwrap_or_default();
                let found = found.iter();
                json!({
                    "residual": case.residual,
                    "outputs": outputs.iter().map(|o| output_json(answer, o)).collect::<Vec<_>>(),
                    "remedies": found.map(|r| remedy_json(&answer.knobs[r.knob], r)).collect::<Vec<_>>(),
                })
            }
        };
        cases.insert(case.case.clone(), value);
    }
    let unmoved = answer.unmoved.iter();
    json!({
        "format": 1,
        "title": title,
        "cases": cases,
        "unmoved": unmoved.map(|u| json!({ "input": u.path, "reason": u.reason.to_string() })).collect::<Vec<_>>(),
    })
}

fn output_json(answer: &SensitivityAnswer, output: &OutputSensitivity) -> Value {
    let effects = output.effects.iter().map(|effect| {
        let knob = &answer.knobs[effect.knob];
        json!({
            "input": knob.path,
            "now": knob.text,
            "step": step_code(knob.step),
            "change": effect.change,
            "steps_to_limit": output.steps_to_limit(effect),
        })
    });
    let effects: Vec<Value> = effects.collect();
    match &output.output {
        OutputOf::Path(path) => {
            json!({ "path": path, "value": output.value, "effects": effects })
        }
        OutputOf::Limit(row) => json!({
            "limit": row.limit,
            "subject": row.subject,
            "value": output.value,
            "bound": row.bound,
            "margin": row.margin,
            "verdict": row.verdict.code(),
            "effects": effects,
        }),
    }
}

/// One row an effect: case, output, value, bound, input, its value, step, change of the output, SI.
pub fn sensitivity_csv(answer: &SensitivityAnswer) -> String {
    let mut csv = Csv::new(&[
        "case", "output", "subject", "value", "bound", "input", "now", "step", "change",
    ]);
    for case in &answer.cases {
        for output in case.outputs.iter().flatten() {
            let (name, subject, bound) = match &output.output {
                OutputOf::Limit(row) => {
                    (row.limit.to_owned(), row.subject.clone(), Some(row.bound))
                }
                OutputOf::Path(path) => (path.clone(), String::new(), None),
            };
            for effect in &output.effects {
                let knob = &answer.knobs[effect.knob];
                csv.row([
                    case.case.clone(),
                    name.clone(),
                    subject.clone(),
                    number(output.value),
                    number(bound),
                    knob.path.clone(),
                    knob.text.clone(),
                    step_code(knob.step).to_owned(),
                    number(effect.change),
                ]);
            }
        }
    }
    csv.finish()
}

#[cfg(test)]
mod tests {
    use super::super::{Paint, render};
    use super::*;
    use crate::design::Source;
    use crate::study::sensitivity::{SensitivityQuestion, run};

    /// The rows of the first table, split where two blanks stand.
    fn rows(family: UnitFamily) -> Vec<Vec<String>> {
        let text = include_str!("../../networks/camper-heater.json");
        let source = Source::read(text).unwrap_or_else(|e| panic!("{e:?}"));
        let question = SensitivityQuestion {
            cases: vec!["hill".to_owned()],
            ..SensitivityQuestion::default()
        };
        let answer = run(&source.design, &question, &Keys).unwrap_or_else(|e| panic!("{e}"));
        let told = SensitivityTold {
            inputs: 200,
            every_limit: true,
        };
        let report = sensitivity_report("camper", &answer, &Remedies::new(), told, family);
        let text = render(&report, Paint::Plain);
        let lines = text.lines().skip_while(|l| !l.contains("moves it by"));
        let lines = lines.skip(1).take_while(|l| !l.trim().is_empty());
        let cells = lines.map(|l| l.split("  ").map(str::trim).filter(|c| !c.is_empty()));
        cells.map(|c| c.map(str::to_owned).collect()).collect()
    }

    #[test]
    fn effects_on_one_output_are_told_in_one_unit_largest_first() {
        for (family, unit) in [(UnitFamily::Metric, "kPa"), (UnitFamily::Us, "psi")] {
            let rows = rows(family);
            assert!(rows.len() > 4, "{rows:?}");
            let moved = rows.iter().map(|row| {
                let (number, found) = row[3].split_once(' ').unwrap_or_default();
                assert_eq!(found, unit, "{row:?}");
                number.parse::<f64>().map_or(f64::NAN, f64::abs)
            });
            let moved: Vec<f64> = moved.collect();
            assert!(moved.is_sorted_by(|a, b| a >= b), "{moved:?}");
        }
    }

    #[test]
    fn a_step_of_temperature_is_told_in_the_units_asked_for() {
        for (family, step) in [(UnitFamily::Metric, "+1 K"), (UnitFamily::Us, "+1.8 F")] {
            let steps = rows(family).into_iter().map(|row| row[2].clone());
            let mut steps: Vec<String> = steps.collect();
            steps.retain(|s| s != "+1 %");
            assert!(
                !steps.is_empty() && steps.iter().all(|s| s == step),
                "{steps:?}"
            );
        }
    }
}
