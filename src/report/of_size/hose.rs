//! Hose sizes: each group with each size, pressure against mass, and the lightest set that meets the limits.

use super::pump_data::{judged_json, keys_json};
use super::{MARGIN_WORDS, caution, hopeless, size_of, tight_text, yes};
use crate::quantity::{Kind, UnitFamily, show_si, significant};
use crate::report::block::{Cell, Report, Table, Tone};
use crate::report::csv::{Csv, number as field};
use crate::report::json::{num, opt};
use crate::report::of_solution::{number, unit};
use crate::study::size::hose::{BUBBLE_VELOCITY_M_S, Group, HoseAnswer, HoseSet, SolvedSet};
use serde_json::{Map, Value, json};

/// Sets of the Pareto set that are shown; all are in `--json`.
const MOST_LINES: usize = 14;

/// The answer as a report.
pub fn size_hose_report(title: &str, answer: &HoseAnswer, family: UnitFamily) -> Report {
    let mut report = Report::default();
    report.title(format!("{title}: hoses of loop {}", answer.owner));
    caution(&mut report, &answer.placeholders, &answer.in_time);
    report.say(format!(
        "At the design's own flows; pressure is what the group takes of the pump in {}, where the hoses take most. Velocity at most {}; a falling hose needs {} to carry its bubbles down. Barbs keep their ratio to the hose; tees and ports stay.",
        answer.governing,
        show_si(Kind::Velocity, answer.velocity_m_s, family),
        show_si(Kind::Velocity, BUBBLE_VELOCITY_M_S, family),
    ));
    for group in &answer.groups {
        report.heading(format!(
            "{}: {}, now {}",
            group.name,
            group.parts.join(", "),
            show_si(Kind::Length, group.own_bore_m, family)
        ));
        report.table(sizes(group, answer.velocity_m_s, family));
        let refused: Vec<Cell> = group
            .refused
            .iter()
            .map(|(name, why)| Cell::from(format!("{name} cannot be built: {why}")))
            .collect();
        report.list(refused);
    }
    report.heading("Pressure against mass, no set better in both");
    report.table(front(answer, family));
    report.heading("Answer");
    conclusion(&mut report, answer, family);
    report
}

fn sizes(group: &Group, most_m_s: f64, family: UnitFamily) -> Table {
    let heads = [
        "hose".to_owned(),
        format!(">bore {}", unit(Kind::Length, family)),
        format!(">takes {}", unit(Kind::PressureDifference, family)),
        format!(">velocity {}", unit(Kind::Velocity, family)),
        ">falling".to_owned(),
        format!(">coolant {}", unit(Kind::Volume, family)),
        format!(">mass {}", unit(Kind::Mass, family)),
        "".to_owned(),
    ];
    let mut table = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    for choice in &group.choices {
        let mut words = Vec::new();
        if choice.velocity_m_s > most_m_s {
            words.push("too fast");
        }
        if choice.falling_m_s.is_some_and(|v| v < BUBBLE_VELOCITY_M_S) {
            words.push("keeps bubbles where it falls");
        }
        let tone = if choice.velocity_m_s > most_m_s {
            Tone::Bad
        } else {
            Tone::Plain
        };
        table.row(vec![
            Cell::toned(choice.name.clone(), tone),
            number(Kind::Length, choice.bore_m, family),
            number(Kind::PressureDifference, choice.pressure_pa, family),
            number(Kind::Velocity, choice.velocity_m_s, family),
            choice
                .falling_m_s
                .map_or_else(|| Cell::from("-"), |v| number(Kind::Velocity, v, family)),
            number(Kind::Volume, choice.volume_m3, family),
            number(Kind::Mass, choice.mass_kg, family),
            words.join(", ").into(),
        ]);
    }
    table
}

fn picked(answer: &HoseAnswer, set: &HoseSet) -> Vec<String> {
    let each = answer.groups.iter().zip(&set.picks);
    each.map(|(g, p)| g.choices.get(*p).map_or(String::new(), |c| c.name.clone()))
        .collect()
}

fn front(answer: &HoseAnswer, family: UnitFamily) -> Table {
    let mut heads: Vec<String> = answer.groups.iter().map(|g| g.name.clone()).collect();
    heads.push(format!(">takes {}", unit(Kind::PressureDifference, family)));
    heads.push(format!(">coolant {}", unit(Kind::Volume, family)));
    heads.push(format!(">mass {}", unit(Kind::Mass, family)));
    heads.push("".to_owned());
    let mut table = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    let mut line = |names: Vec<String>, set: &HoseSet, word: &str, tone: Tone| {
        let mut row: Vec<Cell> = names.into_iter().map(|n| Cell::toned(n, tone)).collect();
        row.push(number(Kind::PressureDifference, set.pressure_pa, family));
        row.push(number(Kind::Volume, set.volume_m3, family));
        row.push(number(Kind::Mass, set.mass_kg, family));
        row.push(word.into());
        table.row(row);
    };
    let step = answer.front.len().div_ceil(MOST_LINES).max(1);
    let last = answer.front.len().saturating_sub(1);
    for (k, set) in answer.front.iter().enumerate() {
        if k % step == 0 || k == last {
            line(picked(answer, set), set, "", Tone::Plain);
        }
    }
    let own: Vec<String> = answer
        .groups
        .iter()
        .map(|g| show_si(Kind::Length, g.own_bore_m, family))
        .collect();
    line(own, &answer.own, "the design's own", Tone::Plain);
    if let Some(best) = &answer.best {
        line(
            picked(answer, &best.set),
            &best.set,
            "lightest that meets the limits",
            Tone::Good,
        );
    }
    table
}

fn set_text(answer: &HoseAnswer, solved: &SolvedSet, family: UnitFamily) -> String {
    let names = picked(answer, &solved.set);
    let each: Vec<String> = answer
        .groups
        .iter()
        .zip(names)
        .map(|(g, n)| format!("{} {n}", g.name))
        .collect();
    format!(
        "{}: {} of hose and coolant, {} at the design's own flows",
        each.join(", "),
        show_si(Kind::Mass, solved.set.mass_kg, family),
        show_si(Kind::PressureDifference, solved.set.pressure_pa, family)
    )
}

fn conclusion(report: &mut Report, answer: &HoseAnswer, family: UnitFamily) {
    hopeless(report, &answer.counting, "set");
    if answer.counting.counts.is_empty() {
        report.say(Cell::toned(
            "NOTHING TO CHOOSE BY: no limit of this loop can decide, so the lightest set stands; try `hose_velocity` or `module_flow` under `limits`.",
            Tone::Warn,
        ));
    }
    if let Some(best) = &answer.best {
        let (word, tone) = yes(&answer.placeholders);
        let text = format!("{word}: {}.", set_text(answer, best, family));
        report.say(Cell::toned(text, tone));
        if let Some(worst) = &best.weighed.worst {
            report.say(format!("Tightest there: {}.", tight_text(worst, family)));
            report.say(MARGIN_WORDS);
        }
    } else {
        report.say(Cell::toned(
            "NO: no set that was solved meets every limit that counts and makes none of the others worse.",
            Tone::Bad,
        ));
        if let Some(nearest) = &answer.nearest {
            let weighed = &nearest.weighed;
            let why = match (&weighed.worst, &weighed.worse, &weighed.failure) {
                (_, _, Some((case, error))) => format!("no answer in {case}: {error}"),
                (Some(worst), _, None) if worst.margin_k < 0.0 => tight_text(worst, family),
                (_, Some(worse), None) => format!(
                    "{} of {} in {} gets worse by {}",
                    worse.limit.replace('_', " "),
                    worse.subject,
                    worse.case,
                    size_of(worse, family)
                ),
                _ => String::new(),
            };
            report.say(format!(
                "Nearest: {}; {why}.",
                set_text(answer, nearest, family)
            ));
        }
    }
    report.say(search_text(answer, family));
}

/// How far the answer may be off.
fn search_text(answer: &HoseAnswer, family: UnitFamily) -> String {
    let end = &answer.end;
    let sets = if end.sets < 1e6 {
        format!("{:.0}", end.sets)
    } else {
        significant(end.sets, 3)
    };
    match (&answer.best, end.exact) {
        (Some(_), true) => format!(
            "Exact: sets were taken by rising mass, and each lighter one misses a limit ({} of {sets} solved).",
            end.solved
        ),
        (None, true) => format!("Exact: all {sets} sets were tried."),
        (Some(best), false) => format!(
            "Not proven the lightest: {} of {sets} sets were solved; none lighter than {} meets the limits, so it may be {:.0} % too heavy at most. A shorter list is searched to its end.",
            end.solved,
            show_si(Kind::Mass, end.bound_kg, family),
            100.0 * (best.set.mass_kg / end.bound_kg - 1.0)
        ),
        (None, false) => format!(
            "Not searched to the end: {} of {sets} sets were solved, all up to {}. A shorter list is searched to its end.",
            end.solved,
            show_si(Kind::Mass, end.bound_kg, family)
        ),
    }
}

fn set_json(answer: &HoseAnswer, set: &HoseSet) -> Value {
    let names = picked(answer, set);
    let hoses: Map<String, Value> = answer
        .groups
        .iter()
        .zip(names)
        .map(|(g, n)| (g.name.clone(), Value::String(n)))
        .collect();
    json!({
        "hoses": hoses,
        "pressure_pa": num(set.pressure_pa),
        "mass_kg": num(set.mass_kg),
        "coolant_m3": num(set.volume_m3),
    })
}

fn solved_json(answer: &HoseAnswer, solved: &SolvedSet) -> Value {
    let mut value = set_json(answer, &solved.set);
    let cases: Map<String, Value> = solved
        .cases
        .iter()
        .map(|j| (j.case.clone(), judged_json(j)))
        .collect();
    value["fits"] = json!(solved.weighed.fits);
    value["normalised_margin_k"] = opt(solved.weighed.worst.as_ref().map(|w| w.margin_k));
    value["worse_than_now_k"] = opt(solved.weighed.worse.as_ref().map(|w| w.margin_k));
    value["cases"] = Value::Object(cases);
    value
}

/// Every size of every group, the Pareto set and the answer.
pub fn size_hose_json(title: &str, answer: &HoseAnswer) -> Value {
    let groups: Vec<Value> = answer
        .groups
        .iter()
        .map(|g| {
            let sizes: Vec<Value> = g
                .choices
                .iter()
                .map(|c| {
                    json!({
                        "hose": c.name,
                        "bore_m": num(c.bore_m),
                        "pressure_pa": num(c.pressure_pa),
                        "velocity_m_s": num(c.velocity_m_s),
                        "falling_velocity_m_s": opt(c.falling_m_s),
                        "coolant_m3": num(c.volume_m3),
                        "mass_kg": num(c.mass_kg),
                    })
                })
                .collect();
            json!({ "group": g.name, "parts": g.parts, "own_bore_m": num(g.own_bore_m), "sizes": sizes, "refused": g.refused })
        })
        .collect();
    json!({
        "format": 1,
        "title": title,
        "loop": answer.owner,
        "governing_case": answer.governing,
        "in_time": answer.in_time,
        "placeholders": answer.placeholders,
        "velocity_limit_m_s": num(answer.velocity_m_s),
        "groups": groups,
        "front": answer.front.iter().map(|s| set_json(answer, s)).collect::<Vec<_>>(),
        "best": answer.best.as_ref().map(|s| solved_json(answer, s)),
        "nearest": answer.nearest.as_ref().map(|s| solved_json(answer, s)),
        "search": {
            "sets": num(answer.end.sets),
            "solved": answer.end.solved,
            "exact": answer.end.exact,
            "bound_kg": num(answer.end.bound_kg),
        },
        "limits_counted": keys_json(&answer.counting.counts),
        "limits_not_mended": keys_json(&answer.counting.hopeless),
    })
}

/// One row a group and size.
pub fn size_hose_csv(answer: &HoseAnswer) -> String {
    let mut csv = Csv::new(&[
        "group",
        "hose",
        "bore_m",
        "pressure_pa",
        "velocity_m_s",
        "falling_velocity_m_s",
        "coolant_m3",
        "mass_kg",
        "chosen",
    ]);
    for (g, group) in answer.groups.iter().enumerate() {
        for (k, choice) in group.choices.iter().enumerate() {
            let chosen = answer
                .best
                .as_ref()
                .is_some_and(|b| b.set.picks.get(g) == Some(&k));
            csv.row([
                group.name.clone(),
                choice.name.clone(),
                field(choice.bore_m),
                field(choice.pressure_pa),
                field(choice.velocity_m_s),
                field(choice.falling_m_s),
                field(choice.volume_m3),
                field(choice.mass_kg),
                chosen.to_string(),
            ]);
        }
    }
    csv.finish()
}
