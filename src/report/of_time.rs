//! A case in time as a builder reads it: a strip of temperatures, peaks with their times, minutes to each limit.

use super::block::{Cell, Report, Table, Tone};
use super::json::{num, nums, opt};
use super::of_solution::{case_report, temperature, unit};
use crate::quantity::{Kind, UnitFamily, show_si};
use crate::study::band::Band;
use crate::study::time::{LimitInTime, Line, TimeAnswer, Trace};
use crate::study::{LimitRow, Verdict};
use serde_json::{Map, Value, json};

/// Rows of the printed strip.
const STRIP_ROWS: usize = 12;

fn minutes(s: f64) -> String {
    format!("{:.1}", s / 60.0)
}

/// A case in time: the march, then the state at its end.
pub fn time_report(answer: &TimeAnswer<'_>, bands: &[Band], family: UnitFamily) -> Report {
    let end = case_report(&answer.end, &answer.limits, bands, family);
    let mut march = Report::default();
    blocks(&mut march, answer, family);
    let mut report = end;
    let after_title = report.blocks.len().min(1);
    report.blocks.splice(after_title..after_title, march.blocks);
    report
}

fn blocks(report: &mut Report, answer: &TimeAnswer<'_>, family: UnitFamily) {
    report.heading("In time");
    report.table(strip_table(answer, family));
    report.table(peak_table(answer, family));
    report.list(limit_times(&answer.limits, &answer.in_time));
    if let Some(error) = &answer.no_steady {
        let text = format!("The same duty without end has no steady answer: {error}");
        report.say(Cell::toned(text, Tone::Warn));
    }
    report.say(format!(
        "Marched in {} steps ({} thrown away), each within {}; heat in less heat out is what is stored within {:.0e} of all that went through. Device mass and coolant of hoses, headers, tails and core tubes are counted; the tank's coolant, hose walls and radiator metal are not, which is the safe side. Tables below: the state at the end; limits: the worst of all times.",
        answer.effort.steps,
        answer.effort.rejected,
        show_si(
            Kind::TemperatureDifference,
            answer.options.tolerance_k,
            family
        ),
        answer.effort.imbalance().abs(),
    ));
}

fn strip_table(answer: &TimeAnswer<'_>, family: UnitFamily) -> Table {
    let lines = answer.strip();
    let mut heads = vec![">min".to_owned()];
    heads.extend(lines.iter().map(|l| match l.trace {
        Trace::CoolantInlet => format!(">{} in", l.part),
        _ => format!(">{}", l.part),
    }));
    if let Some(first) = heads.get_mut(1) {
        first.push_str(&format!(" {}", unit(Kind::Temperature, family)));
    }
    let mut table = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    let last = answer.time_s.len().saturating_sub(1);
    let stride = last.div_ceil(STRIP_ROWS).max(1);
    for k in (0..=last).filter(|k| k % stride == 0 || *k == last) {
        let mut row: Vec<Cell> = vec![minutes(answer.time_s[k]).into()];
        row.extend(lines.iter().map(|l| temperature(l.values_k[k], family)));
        table.row(row);
    }
    table
}

fn peak_table(answer: &TimeAnswer<'_>, family: UnitFamily) -> Table {
    let degree = format!(">{}", unit(Kind::Temperature, family));
    let mut table = Table::new(&["highest", "of", &degree, ">after min"]);
    let hottest = answer.hottest_modules();
    let others = answer.lines.iter().filter(|l| l.trace != Trace::Module);
    for line in hottest.into_iter().chain(others) {
        table.row(vec![
            line.trace.code().replace('_', " ").into(),
            format!("{}.{}", line.owner, line.part).into(),
            temperature(line.peak_k, family),
            minutes(line.peak_s).into(),
        ]);
    }
    table
}

/// Minutes until each limit is first reached, a sentence each.
pub(super) fn limit_times(rows: &[LimitRow], in_time: &[LimitInTime]) -> Vec<Cell> {
    rows.iter()
        .zip(in_time)
        .filter(|(row, _)| row.verdict != Verdict::NoValue)
        .map(|(row, seen)| {
            let (when, tone) = match seen.reached_s {
                Some(s) if s <= 0.0 => ("missed from the start".into(), Tone::Bad),
                Some(s) => (format!("reached after {} min", minutes(s)), Tone::Bad),
                None => ("not reached within the case".to_owned(), Tone::Plain),
            };
            let text = format!("{} of {}: {when}", row.limit.replace('_', " "), row.subject);
            Cell::toned(text, tone)
        })
        .collect()
}

/// The march as JSON: the `time` object of its case.
pub fn time_json(answer: &TimeAnswer<'_>) -> Value {
    let span = answer.end.case().time;
    let by_part = |lines: Vec<&Line>| -> Value {
        let mut map = Map::new();
        for line in lines {
            map.insert(
                format!("{}.{}", line.owner, line.part),
                nums(&line.values_k),
            );
        }
        Value::Object(map)
    };
    let of = |trace: Trace, cores: bool| -> Vec<&Line> {
        let all = answer.lines.iter();
        all.filter(|l| l.trace == trace && (l.of_core || !cores))
            .collect()
    };
    let peaks: Vec<Value> = answer
        .lines
        .iter()
        .map(|l| {
            json!({ "of": l.trace.code(), "subject": format!("{}.{}", l.owner, l.part),
                    "temperature_k": num(l.peak_k), "time_s": num(l.peak_s) })
        })
        .collect();
    let through = answer.effort.through_j;
    json!({
        "duration_s": opt(span.map(|s| s.duration_s)),
        "start_temperature_k": opt(span.map(|s| s.start_k)),
        "time_s": nums(&answer.time_s),
        "hottest_module_k": by_part(answer.hottest_modules()),
        "device_k": by_part(of(Trace::Device, false)),
        "core_inlet_k": by_part(of(Trace::CoolantInlet, true)),
        "peaks": peaks,
        "limits": limit_times_json(&answer.limits, &answer.in_time),
        "no_steady_answer": answer.no_steady.as_ref().map(ToString::to_string),
        "energy": { "gained_j": num(through.gained), "lost_j": num(through.lost), "stored_j": num(answer.effort.stored_j),
                    "imbalance": num(answer.effort.imbalance()) },
        "effort": { "steps": answer.effort.steps, "rejected": answer.effort.rejected,
                    "tolerance_k": num(answer.options.tolerance_k) },
    })
}

/// When each limit is worst and first reached, and what it would be without end.
pub(super) fn limit_times_json(rows: &[LimitRow], in_time: &[LimitInTime]) -> Value {
    rows.iter()
        .zip(in_time)
        .map(|(row, seen)| {
            json!({
                "limit": row.limit,
                "subject": row.subject,
                "worst_time_s": num(seen.worst_s),
                "first_reached_s": opt(seen.reached_s),
                "steady_value": opt(seen.steady.as_ref().and_then(|s| s.value)),
                "steady_verdict": seen.steady.as_ref().map(|s| s.verdict.code()),
            })
        })
        .collect()
}

/// The length and start of a case in one clause.
pub(super) fn span_line(duration_s: f64, start_k: f64, family: UnitFamily) -> String {
    format!(
        "; for {} min from {}",
        minutes(duration_s),
        show_si(Kind::Temperature, start_k, family)
    )
}
