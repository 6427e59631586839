//! The layouts of each bank side by side, as text and as JSON.

use super::block::{Cell, Report, Table, Tone};
use crate::part::Layout;
use crate::quantity::{Kind, UnitFamily, show_si};
use crate::study::layout::{BankLayouts, layout_name};
use serde_json::{Value, json};

/// The comparison as a report.
pub fn layout_report(
    title: &str,
    case: &str,
    answers: &[BankLayouts],
    family: UnitFamily,
) -> Report {
    let mut report = Report::default();
    report.title(format!("{title}: where to draw the headers off"));
    for answer in answers {
        let at = |k: f64| show_si(Kind::Temperature, k, family);
        report.heading(format!("Bank {}.{}", answer.owner, answer.bank));
        let heads = [
            "layout".to_owned(),
            format!(">off the mean, {}", at(answer.range_k.0)),
            format!(">{}", at(answer.range_k.1)),
            ">modules apart".to_owned(),
            ">bank loses".to_owned(),
            String::new(),
        ];
        let mut table = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
        let best = answer.best();
        for row in &answer.rows {
            let percent =
                |v: Option<f64>| v.map_or("-".to_owned(), |d| format!("{:.1} %", 100.0 * d));
            let note = match (best == Some(row.layout), row.present) {
                (true, true) => "most even, and the design's own",
                (true, false) => "most even",
                (false, true) => "the design's own",
                (false, false) => "",
            };
            let tone = if best == Some(row.layout) {
                Tone::Good
            } else {
                Tone::Plain
            };
            table.row(vec![
                Cell::toned(layout_name(row.layout).replace('_', " "), tone),
                percent(row.cold_deviation).into(),
                percent(row.warm_deviation).into(),
                row.spread_k
                    .map_or("-".to_owned(), |k| {
                        show_si(Kind::TemperatureDifference, k, family)
                    })
                    .into(),
                row.warm_drop_pa
                    .map_or("-".to_owned(), |p| {
                        show_si(Kind::PressureDifference, p, family)
                    })
                    .into(),
                note.into(),
            ]);
        }
        report.table(table);
        let told = |list: &[(f64, Layout, Layout)]| -> Vec<Cell> {
            list.iter()
                .map(|(k, below, above)| {
                    format!(
                        "at {} the more even layout changes from {} (colder) to {} (warmer)",
                        at(*k),
                        layout_name(*below).replace('_', " "),
                        layout_name(*above).replace('_', " ")
                    )
                    .into()
                })
                .collect()
        };
        if let Some(error) = &answer.unsolved {
            report.say(format!("Not every flow was found: {error}."));
        } else if answer.changes.is_empty() {
            report.say("The most even layout is the same from cold to warm.");
        }
        report.list(told(&answer.changes));
        if !answer.end_changes.is_empty() {
            report.say("Between same end and opposite end alone:");
            report.list(told(&answer.end_changes));
        }
    }
    if answers.is_empty() {
        report.say("The design has no bank.");
    }
    let without_end = if answers.iter().any(|a| a.endless) {
        ", without end"
    } else {
        ""
    };
    report.say(format!(
        "Flows with all coolant at one temperature; modules apart, and everything else, as in the case `{case}`{without_end}. Deviation is of the worst circuit."
    ));
    if let Some(error) = answers.iter().find_map(|a| a.unsteady.as_ref()) {
        report.say(format!(
            "That case has no steady answer, so modules have no temperature: {error}."
        ));
    }
    report
}

/// The comparison as JSON.
pub fn layout_json(title: &str, case: &str, answers: &[BankLayouts]) -> Value {
    let banks: Vec<Value> = answers
        .iter()
        .map(|a| {
            let rows: Vec<Value> = a
                .rows
                .iter()
                .map(|r| {
                    json!({
                        "layout": layout_name(r.layout),
                        "present": r.present,
                        "cold_deviation": r.cold_deviation,
                        "warm_deviation": r.warm_deviation,
                        "warm_pressure_drop_pa": r.warm_drop_pa,
                        "module_temperature_spread_k": r.spread_k,
                    })
                })
                .collect();
            let told = |list: &[(f64, Layout, Layout)]| -> Vec<Value> {
                list.iter()
                .map(|(k, below, above)| {
                    json!({ "temperature_k": k, "colder": layout_name(*below), "warmer": layout_name(*above) })
                })
                .collect()
            };
            json!({
                "loop": a.owner,
                "bank": a.bank,
                "cold_k": a.range_k.0,
                "warm_k": a.range_k.1,
                "most_even": a.best().map(layout_name),
                "layouts": rows,
                "changes": told(&a.changes),
                "changes_between_ends": told(&a.end_changes),
            })
        })
        .collect();
    json!({ "format": 1, "title": title, "case": case, "banks": banks })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::id::Subject;
    use crate::report::{Paint, render};
    use crate::solve::SolveError;

    fn text(unsolved: Option<SolveError>, endless: bool) -> String {
        let answer = BankLayouts {
            owner: "loop".into(),
            bank: "bank".into(),
            range_k: (253.15, 323.15),
            rows: Vec::new(),
            changes: Vec::new(),
            end_changes: Vec::new(),
            unsolved,
            unsteady: None,
            endless,
        };
        let report = layout_report("Sample", "duty", &[answer], UnitFamily::Metric);
        render(&report, Paint::Plain).replace('\n', " ")
    }

    #[test]
    fn layouts_without_flows_are_not_called_the_same() {
        let error = SolveError::FlowsUnsettled {
            subject: Subject::part("loop", "hose".to_owned()),
            steps: 40,
            residual: 1.0,
        };
        let (met, missed) = (text(None, false), text(Some(error), true));
        assert!(met.contains("is the same from cold to warm") && !met.contains("without end"));
        assert!(!missed.contains("is the same") && missed.contains("Not every flow was found"));
        assert!(missed.contains("`duty`, without end."));
    }
}
