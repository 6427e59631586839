//! The answer in words: which cuts fit and which is best, or what would have to change.

use super::middles;
use crate::quantity::{Kind, UnitFamily, show_si, unit_symbol};
use crate::report::block::{Cell, Tone};
use crate::study::partition::{Cut, CutCore, Need, PartitionAnswer, Remedy};

/// The answer, a paragraph a thought.
pub(super) fn conclusion(answer: &PartitionAnswer, family: UnitFamily) -> Vec<Cell> {
    let [a, b] = &answer.cores;
    let mut cells = Vec::new();
    match (answer.window(), answer.best_cut()) {
        (Some((first, last)), Some(best)) => {
            let (low, high) = (cut_with(answer, first), cut_with(answer, last));
            let places = low
                .zip(high)
                .map(|(l, h)| {
                    let (l, h) = (middles(answer, l, family), middles(answer, h, family));
                    let symbol = unit_symbol(Kind::Length, family);
                    if l == h {
                        format!("cut at {l} {symbol}")
                    } else {
                        format!("cut between {l} and {h} {symbol}")
                    }
                })
                .unwrap_or_default();
            let holes = if answer.window_is_whole() {
                ""
            } else {
                " (not every cut between them)"
            };
            let range = if first == last {
                first.to_string()
            } else {
                format!("{first} to {last}")
            };
            let mut text = format!(
                "YES: every limit that a cut can move is met in every case with {range} tubes for `{a}`{holes}: {places}. Best: {} for `{a}` and {} for `{b}`, cut at {}",
                best.tubes[0],
                best.tubes[1],
                middles(answer, best, family),
            );
            text.push_str(&format!(" {}", unit_symbol(Kind::Length, family)));
            if let Some(worst) = &best.worst {
                text.push_str(&format!(
                    ", smallest margin {} ({} of {}, {})",
                    show_si(Kind::TemperatureDifference, worst.margin_k, family),
                    worst.limit.replace('_', " "),
                    worst.subject,
                    worst.case
                ));
            }
            text.push('.');
            let tone = if answer.placeholders.is_empty() {
                Tone::Good
            } else {
                text = text.replacen("YES", "PROVISIONAL", 1);
                Tone::Warn
            };
            cells.push(Cell::toned(text, tone));
            cells.extend(lesson(best, family));
        }
        (Some(_), None) => cells.push(Cell::toned(
            "NOTHING TO CHOOSE BY: no limit is stated that a cut can move; try `module_temperature` or `coolant_inlet` under `limits`.",
            Tone::Warn,
        )),
        (None, Some(_)) => {
            cells.push(Cell::toned(
                "NO: no whole-tube cut meets every limit in every case.",
                Tone::Bad,
            ));
            cells.extend(answer.needs.iter().map(|n| need_text(n, answer, family).into()));
            cells.extend(together(answer));
        }
        (None, None) => cells.push(Cell::toned(
            "NO ANSWER: no cut has a solution in every case that can be judged.",
            Tone::Bad,
        )),
    }
    if let Some(own) = answer.own_cut() {
        let word = match (own.fits, own.failure()) {
            (true, _) => "fits".to_owned(),
            (false, Some((case, _))) => format!("has no answer in {case}"),
            (false, None) => own.worst.as_ref().map_or_else(
                || "does not fit".to_owned(),
                |w| {
                    format!(
                        "misses {} of {} by {} in {}",
                        w.limit.replace('_', " "),
                        w.subject,
                        show_si(Kind::TemperatureDifference, -w.margin_k, family),
                        w.case
                    )
                },
            ),
        };
        if answer.best.is_some() {
            cells.push(
                format!(
                    "The design's own cut, {} and {}, {word}.",
                    own.tubes[0], own.tubes[1]
                )
                .into(),
            );
        }
    }
    let hopeless: Vec<String> = answer
        .tracks
        .iter()
        .filter(|t| !t.counts && t.is_hopeless())
        .map(|t| format!("{} of {}", t.limit.replace('_', " "), t.subject))
        .fold(Vec::new(), |mut list, name| {
            if !list.contains(&name) {
                list.push(name);
            }
            list
        });
    if !hopeless.is_empty() {
        let text = format!(
            "Missed at every cut, so not a matter of the cut and not counted here: {}; `loopwright check` says what would help.",
            hopeless.join(", ")
        );
        cells.push(Cell::toned(text, Tone::Warn));
    }
    cells
}

fn cut_with(answer: &PartitionAnswer, tubes: u32) -> Option<&Cut> {
    answer.cuts.iter().find(|c| c.tubes[0] == tubes)
}

/// Where the loop with less heat gets the larger core, says why.
fn lesson(cut: &Cut, family: UnitFamily) -> Option<Cell> {
    let case = &cut.worst.as_ref()?.case;
    let case = cut.cases.iter().find(|c| c.case == *case)?;
    let [a, b] = &case.outcome.as_ref().ok()?.cores;
    let (large, small) = if a.tubes > b.tubes { (a, b) } else { (b, a) };
    if large.tubes == small.tubes || large.heat_w >= small.heat_w {
        return None;
    }
    let line = |core: &CutCore| {
        format!(
            "{} at {} over the air is {:.0} W/K",
            show_si(Kind::Power, core.heat_w, family),
            show_si(
                Kind::TemperatureDifference,
                core.coolant_inlet_k - case.air_k,
                family
            ),
            core.conductance_w_k.unwrap_or_default()
        )
    };
    let text = format!(
        "Heat per kelvin decides, not heat: `{}` gives off less and has the larger core, since in {} its {}, while `{}` with its {}.",
        large.core,
        case.case,
        line(large),
        small.core,
        line(small)
    );
    Some(text.into())
}

fn need_text(need: &Need, answer: &PartitionAnswer, family: UnitFamily) -> String {
    let head = format!(
        "With {} and {} tubes, {} of {} in {}",
        need.tubes[0],
        need.tubes[1],
        need.limit.replace('_', " "),
        need.subject,
        need.case
    );
    let missed = show_si(Kind::TemperatureDifference, need.missed_by_k.abs(), family);
    let core = if need.owner == answer.owners[0] {
        &answer.cores[0]
    } else {
        &answer.cores[1]
    };
    match need.remedy {
        Remedy::HeatPerKelvin(factor) if need.missed_by_k > 0.0 => format!(
            "{head} is missed by {missed}: `{core}` would need about {:.0} % more heat per kelvin ({:.0} W/K in place of {:.0} W/K){}.",
            100.0 * (factor - 1.0),
            need.conductance_w_k * factor,
            need.conductance_w_k,
            need.heat_share.map_or(String::new(), |share| format!(
                ", or its loop about {:.0} % less heat",
                100.0 * (1.0 - share)
            ))
        ),
        Remedy::HeatPerKelvin(_) => format!("{head} is met by {missed}."),
        Remedy::Flow => format!(
            "{head} is missed by {missed}, more than any core could mend at this flow: more coolant flow, less heat, or a better path from the part to the coolant."
        ),
        Remedy::Chiller => format!(
            "{head} cannot be met by any radiator: the air is as hot as the limit, and a radiator cannot cool below its air; a chiller, or thermal mass for a short time, could."
        ),
    }
}

/// What would help both loops at once, where heat per kelvin is what is missing.
fn together(answer: &PartitionAnswer) -> Option<Cell> {
    let mut most: f64 = 1.0;
    for need in &answer.needs {
        match need.remedy {
            Remedy::HeatPerKelvin(factor) => most = most.max(factor),
            _ => return None,
        }
    }
    let need = answer.needs.first()?;
    let shares = answer.needs.iter().filter_map(|n| n.heat_share);
    let share = shares.fold(1.0, f64::min);
    (most > 1.0).then(|| {
        format!(
            "So no division of this radiator will do. One with about {:.0} % more heat per kelvin in both cores (more face, or more air through it), or about {:.0} % less heat in both loops, would with {} and {} tubes; else a chiller for the cooler loop.",
            100.0 * (most - 1.0),
            100.0 * (1.0 - share),
            need.tubes[0],
            need.tubes[1]
        )
        .into()
    })
}
