//! Pumps of a stock list, ranked, with the reason why each loser loses, and the duty any pump must do.

use super::{MARGIN_WORDS, caution, hopeless, tight_text, yes};
use crate::part::MachineRegion;
use crate::quantity::{Kind, UnitFamily, show_si, significant};
use crate::report::block::{Cell, Report, Table, Tone};
use crate::report::of_solution::{number, unit};
use crate::study::size::pump::{DutyPoint, PumpAnswer, PumpRun, PumpTrial};

/// Losers shown in the table; the rest is in `--json`.
const MOST_LINES: usize = 24;

/// The answer as a report.
pub fn size_pump_report(title: &str, answer: &PumpAnswer, family: UnitFamily) -> Report {
    let mut report = Report::default();
    report.title(format!(
        "{title}: a pump for `{}.{}`",
        answer.owner, answer.pump
    ));
    caution(&mut report, &answer.placeholders, &answer.in_time);
    let supplies: Vec<String> = answer
        .supplies_v
        .iter()
        .map(|v| show_si(Kind::Voltage, *v, family))
        .collect();
    report.say(format!(
        "{} arrangements in {} at {}: one, two in series (twice the rise), two in parallel (twice the flow); speed follows voltage, flow the speed, rise its square, power its cube.",
        answer.trials.len(),
        cases(answer.cases.len()),
        supplies.join(", ")
    ));
    report.table(ranked(answer, family));
    report.say(MARGIN_WORDS);
    if let Some(first) = answer.trials.first() {
        report.heading(format!(
            "{}: {}",
            if first.fits { "Best" } else { "Nearest" },
            name(first)
        ));
        report.table(points(first, family));
    }
    report.heading("What the loop asks of any pump");
    duty(&mut report, answer, family);
    report.heading("Answer");
    conclusion(&mut report, answer, family);
    report
}

fn cases(count: usize) -> String {
    if count == 1 {
        "1 case".to_owned()
    } else {
        format!("{count} cases")
    }
}

fn name(trial: &PumpTrial) -> String {
    format!("`{}`, {}", trial.name, trial.arrangement.words())
}

fn volts(run: &PumpRun, family: UnitFamily) -> String {
    run.supply_v
        .map_or("any".to_owned(), |v| show_si(Kind::Voltage, v, family))
}

fn ranked(answer: &PumpAnswer, family: UnitFamily) -> Table {
    let heads = [
        "pump".to_owned(),
        "".to_owned(),
        format!(">{}", unit(Kind::VolumeFlow, family)),
        format!(">rise {}", unit(Kind::PressureDifference, family)),
        ">of free flow".to_owned(),
        ">W electric".to_owned(),
        "fits at".to_owned(),
        "why".to_owned(),
    ];
    let mut table = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    let best = answer.best();
    for trial in answer.trials.iter().take(MOST_LINES) {
        let points: Vec<_> = trial.runs.iter().flat_map(|r| &r.points).collect();
        let range = |kind: Kind, value: &dyn Fn(usize) -> f64| {
            let all = (0..points.len()).map(value);
            let low = all.clone().fold(f64::INFINITY, f64::min);
            let high = all.fold(f64::NEG_INFINITY, f64::max);
            span(
                &number(kind, low, family).text,
                &number(kind, high, family).text,
            )
        };
        let shares: Vec<f64> = points.iter().filter_map(|p| p.share_of_free_flow).collect();
        let share = if shares.is_empty() {
            "-".to_owned()
        } else {
            let low = shares.iter().copied().fold(f64::INFINITY, f64::min);
            let high = shares.iter().copied().fold(0.0, f64::max);
            let percent = |v: f64| format!("{:.0}", 100.0 * v);
            format!("{} %", span(&percent(low), &percent(high)))
        };
        let fits: Vec<String> = trial
            .runs
            .iter()
            .filter(|r| r.fits)
            .map(|r| volts(r, family))
            .collect();
        let tone = match (trial.fits, best.is_some_and(|b| std::ptr::eq(b, trial))) {
            (true, true) => Tone::Good,
            (true, false) => Tone::Plain,
            (false, _) => Tone::Bad,
        };
        table.row(vec![
            Cell::toned(trial.name.clone(), tone),
            trial.arrangement.words().into(),
            range(Kind::VolumeFlow, &|k| points[k].flow_m3_s).into(),
            range(Kind::PressureDifference, &|k| points[k].rise_pa).into(),
            share.into(),
            trial
                .electrical_w()
                .map_or("-".to_owned(), |w| significant(w, 3))
                .into(),
            if fits.is_empty() {
                "-".to_owned()
            } else if trial.fits {
                "all".to_owned()
            } else {
                fits.join(", ")
            }
            .into(),
            why(trial, best, family).into(),
        ]);
    }
    table
}

fn span(low: &str, high: &str) -> String {
    if low == high {
        low.to_owned()
    } else {
        format!("{low} to {high}")
    }
}

/// Why a trial stands where it stands.
pub(super) fn why(trial: &PumpTrial, best: Option<&PumpTrial>, family: UnitFamily) -> String {
    if best.is_some_and(|b| std::ptr::eq(b, trial)) {
        return match trial.electrical_w() {
            Some(_) => "fits with the least electrical power".to_owned(),
            None => "fits".to_owned(),
        };
    }
    if trial.fits {
        let more = best
            .and_then(|b| b.electrical_w())
            .zip(trial.electrical_w());
        return match more {
            Some((least, own)) if own - least < 0.5 => {
                "fits with as much electrical power and less margin".to_owned()
            }
            Some((least, own)) => {
                format!(
                    "fits, but takes {} W more than the best",
                    significant(own - least, 2)
                )
            }
            None => "fits, but its electrical power is not known".to_owned(),
        };
    }
    let Some(run) = trial.worst_run() else {
        return String::new();
    };
    let at = run.supply_v.map_or(String::new(), |v| {
        format!("at {}: ", show_si(Kind::Voltage, v, family))
    });
    if let Some((case, Err(error))) = run
        .cases
        .iter()
        .map(|c| (&c.case, &c.outcome))
        .find(|(_, o)| o.is_err())
    {
        return format!(
            "{at}no answer in {case}: {}",
            error.code().replace('-', " ")
        );
    }
    run.worst
        .as_ref()
        .map_or(String::new(), |t| format!("{at}{}", tight_text(t, family)))
}

fn points(trial: &PumpTrial, family: UnitFamily) -> Table {
    let heads = [
        "supply".to_owned(),
        "case".to_owned(),
        format!(">{}", unit(Kind::VolumeFlow, family)),
        format!(">rise {}", unit(Kind::PressureDifference, family)),
        format!(">shut-off {}", unit(Kind::PressureDifference, family)),
        ">of free flow".to_owned(),
        ">W electric".to_owned(),
        ">efficiency".to_owned(),
        "".to_owned(),
    ];
    let mut table = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    let percent = |v: Option<f64>| v.map_or("-".to_owned(), |v| format!("{:.0} %", 100.0 * v));
    for run in &trial.runs {
        for point in &run.points {
            table.row(vec![
                volts(run, family).into(),
                point.case.clone().into(),
                number(Kind::VolumeFlow, point.flow_m3_s, family),
                number(Kind::PressureDifference, point.rise_pa, family),
                number(Kind::PressureDifference, point.shut_off_rise_pa, family),
                percent(point.share_of_free_flow).into(),
                point
                    .electrical_w
                    .map_or("-".to_owned(), |w| significant(w, 3))
                    .into(),
                percent(point.efficiency).into(),
                match point.region {
                    MachineRegion::OnCurve => "",
                    MachineRegion::Backwards => "flow runs backwards",
                    MachineRegion::BeyondLastPoint => "beyond its curve",
                    MachineRegion::Stopped => "stands still",
                }
                .into(),
            ]);
        }
    }
    table
}

fn duty_text(points: &[DutyPoint], family: UnitFamily) -> String {
    let each: Vec<String> = points
        .iter()
        .map(|p| {
            format!(
                "{} at {} ({})",
                show_si(Kind::VolumeFlow, p.flow_m3_s, family),
                show_si(Kind::PressureDifference, p.rise_pa, family),
                p.case
            )
        })
        .collect();
    each.join("; ")
}

fn duty(report: &mut Report, answer: &PumpAnswer, family: UnitFamily) {
    let demand = &answer.demand;
    if demand.least.is_empty() {
        report.say(Cell::toned(
            "No flow at all meets every limit that counts in every case: no pump can.",
            Tone::Bad,
        ));
        if let Some(worst) = &demand.nearest_worst {
            report.say(format!(
                "Closest: {}; {}.",
                duty_text(&demand.nearest, family),
                tight_text(worst, family)
            ));
        }
        return;
    }
    report.say(format!("At least {}.", duty_text(&demand.least, family)));
    if !demand.most.is_empty() {
        report.say(format!("At most {}.", duty_text(&demand.most, family)));
    }
    report.say("Pressures at shut-off depend on the pump and are judged for each pump above.");
}

fn conclusion(report: &mut Report, answer: &PumpAnswer, family: UnitFamily) {
    hopeless(report, &answer.counting, "pump");
    if answer.counting.counts.is_empty() {
        report.say(Cell::toned(
            "NOTHING TO CHOOSE BY: no limit of this loop can decide; try `module_temperature`, `module_flow` or `coolant_inlet` under `limits`.",
            Tone::Warn,
        ));
    }
    if let Some(best) = answer.best() {
        let (word, tone) = yes(&answer.placeholders);
        let text = format!(
            "{word}: {} meets every limit that a pump can meet, at every supply.",
            name(best)
        );
        report.say(Cell::toned(text, tone));
        return;
    }
    if !answer.is_answered() {
        report.say(Cell::toned(
            "NO ANSWER: no pump has a solution in every case.",
            Tone::Bad,
        ));
        return;
    }
    report.say(Cell::toned(
        "NO: no pump of the list meets every limit that counts at every supply.",
        Tone::Bad,
    ));
    let some = answer.trials.iter().find(|t| t.fits_at() > 0);
    if let Some(trial) = some {
        let fits = trial.runs.iter().filter(|r| r.fits);
        let at: Vec<String> = fits.map(|r| volts(r, family)).collect();
        report.say(format!("{} would at {}.", name(trial), at.join(", ")));
    }
}
