//! Limits as a builder reads them: one line each, with value, bound, margin, what limits it and what would help.

use super::block::{Cell, Report, Table, Tone};
use super::of_sensitivity::remedy_words;
use super::of_solution::findings;
use super::of_time::limit_times;
use crate::quantity::{Kind, UnitFamily, in_unit, show_si, significant, unit_symbol};
use crate::study::check::{CheckAnswer, RowRemedy};
use crate::study::{LimitRow, LimitSide, Measure, Verdict};

pub(super) fn show(measure: Measure, si: f64, family: UnitFamily) -> String {
    match measure {
        Measure::Quantity(kind) => show_si(kind, si, family),
        Measure::Ratio => significant(si, 3),
    }
}

/// A margin is a difference, also of temperatures and gauge pressures.
pub(super) fn show_margin(measure: Measure, si: f64, family: UnitFamily) -> String {
    match measure {
        Measure::Quantity(Kind::Temperature) => show_si(Kind::TemperatureDifference, si, family),
        Measure::Quantity(Kind::GaugePressure) => show_si(Kind::PressureDifference, si, family),
        other => show(other, si, family),
    }
}

/// The same in the unit of a column, however small: what stands below one another is compared.
pub(super) fn show_margin_in_column(measure: Measure, si: f64, family: UnitFamily) -> String {
    let kind = match measure {
        Measure::Quantity(Kind::Temperature) => Kind::TemperatureDifference,
        Measure::Quantity(Kind::GaugePressure) => Kind::PressureDifference,
        Measure::Quantity(kind) => kind,
        Measure::Ratio => return show(measure, si, family),
    };
    let number = significant(in_unit(kind, si, family), 3);
    format!("{number} {}", unit_symbol(kind, family))
}

pub(super) fn tone(verdict: Verdict) -> Tone {
    match verdict {
        Verdict::Met => Tone::Good,
        Verdict::Provisional | Verdict::NoValue => Tone::Warn,
        Verdict::Missed => Tone::Bad,
    }
}

/// The table of limits, with the advice for missed ones after it.
pub(super) fn limit_table(report: &mut Report, rows: &[LimitRow], family: UnitFamily) {
    let mut table = Table::new(&[
        "verdict",
        "limit",
        "of",
        ">value",
        "",
        ">bound",
        ">margin",
        "limited by",
    ]);
    for row in rows {
        let sign = match row.side {
            LimitSide::Min => ">=",
            LimitSide::Max => "<=",
        };
        let optional = |v: Option<f64>, f: &dyn Fn(f64) -> String| v.map_or("-".to_owned(), f);
        table.row(vec![
            Cell::toned(row.verdict.word(), tone(row.verdict)),
            row.limit.replace('_', " ").into(),
            row.subject.clone().into(),
            optional(row.value, &|v| show(row.measure, v, family)).into(),
            sign.into(),
            show(row.measure, row.bound, family).into(),
            optional(row.margin, &|m| show_margin(row.measure, m, family)).into(),
            row.limited_by.clone().into(),
        ]);
    }
    report.table(table);
    let advice = rows
        .iter()
        .filter(|r| !r.advice.is_empty())
        .map(|r| {
            Cell::from(format!(
                "{} of {}: {}",
                r.limit.replace('_', " "),
                r.subject,
                r.advice
            ))
        })
        .collect();
    report.list(advice);
    let bands = rows
        .iter()
        .filter_map(|r| r.band.map(|b| (r, b)))
        .map(|(r, (low, high))| {
            Cell::from(format!(
                "{} of {}: between {} and {}, since a part has one measured point only",
                r.limit.replace('_', " "),
                r.subject,
                show(r.measure, low, family),
                show(r.measure, high, family)
            ))
        })
        .collect();
    report.list(bands);
}

/// The answer of a check.
pub fn check_report(title: &str, answer: &CheckAnswer, family: UnitFamily) -> Report {
    let mut report = Report::default();
    report.title(title);
    if !answer.placeholders.is_empty() {
        let text = format!(
            "Provisional: these rest on placeholders that nobody has measured: {}.",
            answer.placeholders.join(", ")
        );
        report.say(Cell::toned(text, Tone::Warn));
    }
    report.list(findings(&answer.findings));
    for case in &answer.cases {
        report.heading(&case.case);
        match &case.limits {
            Ok(rows) if rows.is_empty() => {
                report.say("no limit is stated; try adding a `limits` section")
            }
            Ok(rows) => {
                limit_table(&mut report, rows, family);
                report.list(limit_times(rows, &case.in_time));
                tell_remedies(&mut report, rows, &case.remedies, family);
            }
            Err(error) => report.say(Cell::toned(format!("no answer: {error}"), Tone::Bad)),
        }
    }
    report.say(conclusion(answer));
    report
}

fn tell_remedies(
    report: &mut Report,
    rows: &[LimitRow],
    remedies: &[RowRemedy],
    family: UnitFamily,
) {
    if remedies.is_empty() {
        return;
    }
    report.say("One change alone that would meet a missed limit, solved again:");
    let sentences = remedies.iter().map(|found| {
        let row = &rows[found.row];
        let words = remedy_words(&found.knob, &found.remedy, row.measure, family);
        Cell::from(format!(
            "{} of {}: {words}",
            row.limit.replace('_', " "),
            row.subject
        ))
    });
    report.list(sentences.collect());
}

fn conclusion(answer: &CheckAnswer) -> Cell {
    let (mut rows, mut missed, mut provisional, mut unanswered) = (0, 0, 0, 0);
    for case in &answer.cases {
        match &case.limits {
            Ok(list) => {
                rows += list.len();
                missed += list.iter().filter(|r| r.verdict == Verdict::Missed).count();
                provisional += list
                    .iter()
                    .filter(|r| r.verdict == Verdict::Provisional)
                    .count();
            }
            Err(_) => unanswered += 1,
        }
    }
    if unanswered > 0 {
        return Cell::toned(
            format!(
                "NO ANSWER: {unanswered} of {} cases have no solution.",
                answer.cases.len()
            ),
            Tone::Bad,
        );
    }
    if missed > 0 {
        return Cell::toned(
            format!(
                "NO: {missed} of {rows} limits {} missed.",
                if missed == 1 { "is" } else { "are" }
            ),
            Tone::Bad,
        );
    }
    if provisional > 0 {
        let text = format!(
            "PROVISIONAL: all {rows} limits are met, but {provisional} rest on numbers that nobody has measured well enough."
        );
        return Cell::toned(text, Tone::Warn);
    }
    if rows == 0 {
        return Cell::toned("NOTHING CHECKED: the design states no limits.", Tone::Warn);
    }
    Cell::toned(format!("YES: all {rows} limits are met."), Tone::Good)
}
