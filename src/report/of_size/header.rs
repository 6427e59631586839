//! Header tubes of a stock list with every layout and port bore, the smallest that holds the limits first.

use super::{caution, yes};
use crate::quantity::{Kind, UnitFamily, show_si};
use crate::report::block::{Cell, Report, Table, Tone};
use crate::report::csv::{Csv, number as field};
use crate::report::json::{num, opt};
use crate::report::of_solution::{number, unit};
use crate::study::layout::layout_name;
use crate::study::size::header::{HeaderAnswer, HeaderFigures, HeaderTrial};
use serde_json::{Value, json};

/// Headers that are shown; all are in `--json`.
const MOST_LINES: usize = 20;

/// The answer as a report.
pub fn size_header_report(title: &str, answer: &HeaderAnswer, family: UnitFamily) -> Report {
    let mut report = Report::default();
    report.title(format!(
        "{title}: headers of `{}.{}`",
        answer.owner, answer.bank
    ));
    caution(&mut report, &answer.placeholders, &answer.in_time);
    let (most, stated) = answer.deviation;
    report.say(format!(
        "No branch may be more than {:.0} % off the mean ({}), with all coolant at {} and at {}{}. Both headers are alike; mass is of both tubes with their coolant.",
        100.0 * most,
        if stated { "the design's limit" } else { "common practice, since the design states none" },
        show_si(Kind::Temperature, answer.range_k.0, family),
        show_si(Kind::Temperature, answer.range_k.1, family),
        answer.spread_k.map_or(String::new(), |s| format!(
            ", and the modules no more than {} apart in any case",
            show_si(Kind::TemperatureDifference, s, family)
        )),
    ));
    report.table(table(answer, family));
    let built = answer.trials.iter().filter(|t| t.outcome.is_ok()).count();
    let refused: Vec<Cell> = answer
        .trials
        .iter()
        .filter_map(|t| {
            let why = t.outcome.as_ref().err()?;
            Some(Cell::from(format!("{}: {why}", name(t, family))))
        })
        .take(6)
        .collect();
    if !refused.is_empty() {
        report.say(format!(
            "{} of {} cannot be built or solved, among them:",
            answer.trials.len() - built,
            answer.trials.len()
        ));
    }
    report.list(refused);
    report.heading("Answer");
    conclusion(&mut report, answer, family);
    report
}

fn name(trial: &HeaderTrial, family: UnitFamily) -> String {
    format!(
        "{}, {}, ports of {}",
        trial.name,
        layout_name(trial.layout).replace('_', " "),
        show_si(Kind::Length, trial.port_bore_m, family)
    )
}

fn table(answer: &HeaderAnswer, family: UnitFamily) -> Table {
    let heads = [
        "header".to_owned(),
        "layout".to_owned(),
        format!(">port {}", unit(Kind::Length, family)),
        ">off cold".to_owned(),
        ">off warm".to_owned(),
        format!(">apart {}", unit(Kind::TemperatureDifference, family)),
        format!(">loses cold {}", unit(Kind::PressureDifference, family)),
        ">warm".to_owned(),
        format!(">coolant {}", unit(Kind::Volume, family)),
        format!(">mass {}", unit(Kind::Mass, family)),
        "".to_owned(),
    ];
    let mut table = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    let figures = |f: &HeaderFigures| -> Vec<Cell> {
        let percent = |v: f64| Cell::from(format!("{:.1} %", 100.0 * v));
        vec![
            percent(f.cold_deviation),
            percent(f.warm_deviation),
            f.spread_k.map_or_else(
                || Cell::from("-"),
                |s| number(Kind::TemperatureDifference, s, family),
            ),
            number(Kind::PressureDifference, f.cold_drop_pa, family),
            number(Kind::PressureDifference, f.warm_drop_pa, family),
            number(Kind::Volume, f.volume_m3, family),
        ]
    };
    for trial in answer.trials.iter().take(MOST_LINES) {
        let Ok(f) = &trial.outcome else { continue };
        let tone = match trial.fits {
            true => Tone::Good,
            false => Tone::Plain,
        };
        let mut row = vec![
            Cell::toned(trial.name.clone(), tone),
            layout_name(trial.layout).replace('_', " ").into(),
            number(Kind::Length, trial.port_bore_m, family),
        ];
        row.extend(figures(f));
        row.push(number(Kind::Mass, f.mass_kg, family));
        row.push(if trial.fits { "holds" } else { "" }.into());
        table.row(row);
    }
    if let Some(own) = &answer.own {
        let mut row = vec!["the design's own".into(), "".into(), "".into()];
        row.extend(figures(own));
        row.push("-".into());
        row.push("".into());
        table.row(row);
    }
    table
}

fn conclusion(report: &mut Report, answer: &HeaderAnswer, family: UnitFamily) {
    if let Some(best) = answer.best() {
        let (word, tone) = yes(&answer.placeholders);
        let text = format!(
            "{word}: {}; the lightest of the list that holds the limits, since all were tried.",
            name(best, family)
        );
        report.say(Cell::toned(text, tone));
        return;
    }
    let text = if answer.is_answered() {
        "NO: no header of the list holds the limits."
    } else {
        "NO ANSWER: no header of the list can be built and solved."
    };
    report.say(Cell::toned(text, Tone::Bad));
    if let Some((trial, f)) = answer
        .trials
        .first()
        .and_then(|t| Some((t, t.outcome.as_ref().ok()?)))
    {
        report.say(format!(
            "Nearest: {}, {:.1} % off the mean; smaller ports, restrictors (`loopwright balance`) or two banks would help.",
            name(trial, family),
            100.0 * f.cold_deviation.max(f.warm_deviation)
        ));
    }
}

/// Every trial.
pub fn size_header_json(title: &str, answer: &HeaderAnswer) -> Value {
    let figures = |f: &HeaderFigures| {
        json!({
            "cold_deviation": num(f.cold_deviation),
            "warm_deviation": num(f.warm_deviation),
            "cold_drop_pa": num(f.cold_drop_pa),
            "warm_drop_pa": num(f.warm_drop_pa),
            "module_temperature_spread_k": opt(f.spread_k),
            "coolant_m3": num(f.volume_m3),
            "mass_kg": num(f.mass_kg),
        })
    };
    let trials: Vec<Value> = answer
        .trials
        .iter()
        .map(|t| {
            json!({
                "header": t.name,
                "layout": layout_name(t.layout),
                "port_bore_m": num(t.port_bore_m),
                "fits": t.fits,
                "figures": t.outcome.as_ref().ok().map(figures),
                "refused": t.outcome.as_ref().err(),
            })
        })
        .collect();
    json!({
        "format": 1,
        "title": title,
        "loop": answer.owner,
        "bank": answer.bank,
        "cold_temperature_k": num(answer.range_k.0),
        "warm_temperature_k": num(answer.range_k.1),
        "deviation_limit": num(answer.deviation.0),
        "spread_limit_k": opt(answer.spread_k),
        "in_time": answer.in_time,
        "placeholders": answer.placeholders,
        "own": answer.own.as_ref().map(figures),
        "best": answer.best().map(|t| json!({
            "header": t.name, "layout": layout_name(t.layout), "port_bore_m": num(t.port_bore_m),
        })),
        "trials": trials,
    })
}

/// One row a trial.
pub fn size_header_csv(answer: &HeaderAnswer) -> String {
    let mut csv = Csv::new(&[
        "header",
        "layout",
        "port_bore_m",
        "fits",
        "cold_deviation",
        "warm_deviation",
        "cold_drop_pa",
        "warm_drop_pa",
        "module_temperature_spread_k",
        "coolant_m3",
        "mass_kg",
    ]);
    for trial in &answer.trials {
        let f = trial.outcome.as_ref().ok();
        let value = |pick: &dyn Fn(&HeaderFigures) -> f64| field(f.map(pick));
        csv.row([
            trial.name.clone(),
            layout_name(trial.layout).to_owned(),
            field(trial.port_bore_m),
            trial.fits.to_string(),
            value(&|f| f.cold_deviation),
            value(&|f| f.warm_deviation),
            value(&|f| f.cold_drop_pa),
            value(&|f| f.warm_drop_pa),
            field(f.and_then(|f| f.spread_k)),
            value(&|f| f.volume_m3),
            value(&|f| f.mass_kg),
        ]);
    }
    csv.finish()
}
