//! Two designs side by side, as text, JSON and CSV.

use super::block::{Cell, Report, Table, Tone};
use super::csv::{Csv, number};
use super::json::opt;
use super::keys::Keys;
use crate::quantity::{Kind, UnitFamily, show_si, significant};
use crate::study::compare::{CompareAnswer, ComparedCase, Flip, LimitPair, Moved};
use crate::study::{LimitRow, Measure, Verdict};
use serde_json::{Map, Value, json};

/// Outputs of a case that are told, unless all are asked for.
const MOST_TOLD: usize = 15;

/// How many of the outputs that moved are told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Told {
    /// Those that moved most.
    Most,
    /// Every one.
    All,
}

fn shown(kind: Option<Kind>, value: Option<f64>, family: UnitFamily) -> String {
    match (value, kind) {
        (None, _) => "-".to_owned(),
        (Some(value), Some(kind)) => show_si(kind, value, family),
        (Some(value), None) => significant(value, 3),
    }
}

fn percent(share: f64) -> String {
    if share.is_finite() {
        format!("{} %", significant(100.0 * share, 3))
    } else {
        "-".to_owned()
    }
}

/// The comparison as a report.
pub fn compare_report(answer: &CompareAnswer, told: Told, family: UnitFamily) -> Report {
    let mut report = Report::default();
    let (first, second) = &answer.titles;
    if first == second {
        report.title(format!("{first}: what changed"));
    } else {
        report.title(format!("{first}, and {second}"));
    }
    if answer.is_same() {
        report.say("Nothing differs.");
        return report;
    }
    report.heading("Inputs that differ");
    let mut table = Table::new(&["path", "before", "after"]);
    for input in &answer.inputs {
        let word = |text: &Option<String>| cut(text.as_deref().unwrap_or("-"));
        table.row(vec![
            input.place.to_string().into(),
            word(&input.before).into(),
            word(&input.after).into(),
        ]);
    }
    if table.rows.is_empty() {
        report.say("None.");
    }
    report.table(table);
    flips(answer, family, &mut report);
    for case in &answer.cases {
        of_case(case, answer.threshold, told, family, &mut report);
    }
    report
}

fn flips(answer: &CompareAnswer, family: UnitFamily, report: &mut Report) {
    report.heading("Limits that flipped");
    let heads = [
        "case",
        "limit",
        "of",
        "before",
        "after",
        ">margin before",
        ">margin after",
    ];
    let mut table = Table::new(&heads);
    for (case, pair, flip) in answer.flips() {
        let Some(row) = pair.row() else { continue };
        let tone = match flip {
            Flip::ToMissed => Tone::Bad,
            Flip::FromMissed => Tone::Good,
            Flip::Other => Tone::Warn,
        };
        let word = |row: &Option<LimitRow>| row.as_ref().map_or("-", |r| r.verdict.word());
        let margin = |row: &Option<LimitRow>| {
            let kind = row.as_ref().and_then(|r| margin_kind(r.measure));
            shown(kind, row.as_ref().and_then(|r| r.margin), family)
        };
        table.row(vec![
            case.into(),
            row.limit.replace('_', " ").into(),
            row.subject.clone().into(),
            word(&pair.before).into(),
            Cell::toned(word(&pair.after), tone),
            margin(&pair.before).into(),
            margin(&pair.after).into(),
        ]);
    }
    if table.rows.is_empty() {
        report.say("None.");
    }
    report.table(table);
}

fn margin_kind(measure: Measure) -> Option<Kind> {
    match measure {
        Measure::Quantity(Kind::Temperature) => Some(Kind::TemperatureDifference),
        Measure::Quantity(Kind::GaugePressure | Kind::AbsolutePressure | Kind::Pressure) => {
            Some(Kind::PressureDifference)
        }
        Measure::Quantity(kind) => Some(kind),
        Measure::Ratio => None,
    }
}

fn of_case(
    case: &ComparedCase,
    threshold: f64,
    told: Told,
    family: UnitFamily,
    report: &mut Report,
) {
    report.heading(format!("Outputs of {}", case.case));
    for (which, failure) in [
        ("first", &case.first_failure),
        ("second", &case.second_failure),
    ] {
        if let Some(why) = failure {
            let text = format!("The {which} design has no answer: {why}");
            report.say(Cell::toned(text, Tone::Bad));
        }
    }
    if case.first_failure.is_some() || case.second_failure.is_some() {
        return;
    }
    let mut moved: Vec<&Moved> = case.moved.iter().collect();
    if told == Told::Most {
        // What only one design has is counted below.
        moved.retain(|m| m.share.is_finite() && is_of_the_whole(&m.path));
        moved.sort_by(|a, b| b.share.total_cmp(&a.share));
        moved.truncate(MOST_TOLD);
    }
    let mut table = Table::new(&["output", ">before", ">after", ">moved by"]);
    for m in &moved {
        let kind = Keys::kind(&m.path);
        table.row(vec![
            m.path.clone().into(),
            shown(kind, m.before, family).into(),
            shown(kind, m.after, family).into(),
            percent(m.share).into(),
        ]);
    }
    report.table(table);
    let alone = case.moved.iter().filter(|m| !m.share.is_finite()).count();
    let mut text = format!(
        "{} of {} outputs moved by more than {}",
        case.moved.len() - alone,
        case.compared,
        percent(threshold)
    );
    if alone > 0 {
        text.push_str(&format!("; {alone} stand in one design only"));
    }
    if moved.len() < case.moved.len() {
        text.push_str(&format!(
            "; {} are shown, without parts inside banks, entries of lists and Reynolds numbers; `--all` shows every one",
            moved.len()
        ));
    }
    report.say(text + ".");
}

/// Whether an output says something of a part, bank or loop as a whole: parts inside banks follow their bank.
fn is_of_the_whole(path: &str) -> bool {
    !path.contains(['"', '[']) && !path.ends_with(".reynolds")
}

/// A value short enough for a table.
fn cut(text: &str) -> String {
    const LONGEST: usize = 60;
    if text.chars().count() <= LONGEST {
        return text.to_owned();
    }
    let short: String = text.chars().take(LONGEST - 3).collect();
    short + "..."
}

/// The comparison as JSON.
pub fn compare_json(answer: &CompareAnswer) -> Value {
    let inputs: Vec<Value> = answer
        .inputs
        .iter()
        .map(|d| json!({ "path": d.place.to_string(), "before": d.before, "after": d.after }))
        .collect();
    let flips: Vec<Value> = answer
        .flips()
        .map(|(case, pair, flip)| {
            let mut value = pair_json(pair);
            value["case"] = case.into();
            value["flip"] = flip_code(flip).into();
            value
        })
        .collect();
    let cases: Map<String, Value> = answer
        .cases
        .iter()
        .map(|case| (case.case.clone(), case_json(case)))
        .collect();
    json!({
        "format": 1,
        "titles": [answer.titles.0, answer.titles.1],
        "same": answer.is_same(),
        "threshold": answer.threshold,
        "inputs": inputs,
        "flipped": flips,
        "cases": cases,
    })
}

fn flip_code(flip: Flip) -> &'static str {
    match flip {
        Flip::ToMissed => "to_missed",
        Flip::FromMissed => "from_missed",
        Flip::Other => "other",
    }
}

fn pair_json(pair: &LimitPair) -> Value {
    let side = |row: &Option<LimitRow>| {
        row.as_ref().map(|row| {
            json!({ "value": opt(row.value), "bound": row.bound, "margin": opt(row.margin), "verdict": row.verdict.code() })
        })
    };
    json!({
        "limit": pair.row().map(|r| r.limit),
        "subject": pair.row().map(|r| r.subject.clone()),
        "before": side(&pair.before),
        "after": side(&pair.after),
    })
}

fn case_json(case: &ComparedCase) -> Value {
    let moved: Vec<Value> = case
        .moved
        .iter()
        .map(|m| {
            json!({ "path": m.path, "before": opt(m.before), "after": opt(m.after), "share": opt(Some(m.share)) })
        })
        .collect();
    json!({
        "first_failure": case.first_failure,
        "second_failure": case.second_failure,
        "compared": case.compared,
        "moved": moved,
        "limits": case.limits.iter().map(pair_json).collect::<Vec<Value>>(),
    })
}

/// The comparison as CSV: one row an input that differs, a limit, an output that moved.
pub fn compare_csv(answer: &CompareAnswer) -> String {
    let mut csv = Csv::new(&[
        "sort",
        "case",
        "path",
        "before",
        "after",
        "share",
        "verdict before",
        "verdict after",
    ]);
    let none = String::new;
    for d in &answer.inputs {
        let word = |text: &Option<String>| text.clone().unwrap_or_default();
        csv.row([
            "input".to_owned(),
            none(),
            d.place.to_string(),
            word(&d.before),
            word(&d.after),
            none(),
            none(),
            none(),
        ]);
    }
    for case in &answer.cases {
        for pair in &case.limits {
            let Some(row) = pair.row() else { continue };
            let value = |row: &Option<LimitRow>| number(row.as_ref().and_then(|r| r.value));
            let verdict = |row: &Option<LimitRow>| {
                row.as_ref()
                    .map_or("", |r| Verdict::code(r.verdict))
                    .to_owned()
            };
            csv.row([
                "limit".to_owned(),
                case.case.clone(),
                format!("{} of {}", row.limit, row.subject),
                value(&pair.before),
                value(&pair.after),
                none(),
                verdict(&pair.before),
                verdict(&pair.after),
            ]);
        }
        for m in &case.moved {
            csv.row([
                "output".to_owned(),
                case.case.clone(),
                m.path.clone(),
                number(m.before),
                number(m.after),
                number(m.share),
                none(),
                none(),
            ]);
        }
    }
    csv.finish()
}
