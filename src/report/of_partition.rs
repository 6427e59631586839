//! Every way of cutting a radiator as a builder reads it: one line a cut, the window, the best cut with both loops, or
//! why none fits; and the same as JSON and as comma-separated rows.

mod data;
mod verdict;

pub use data::{partition_csv, partition_json};

use super::block::{Cell, Report, Table, Tone};
use super::of_check::{show, show_margin, tone};
use super::of_solution::{number, temperature, unit};
use crate::quantity::{Kind, UnitFamily, in_unit, significant, unit_symbol};
use crate::study::LimitRow;
use crate::study::partition::{Cut, PartitionAnswer, Tight, Track, Wall, margin_k};
use verdict::conclusion;

/// More cuts than this are shown every second one.
const MOST_LINES: usize = 40;

/// The answer as a report.
pub fn partition_report(title: &str, answer: &PartitionAnswer, family: UnitFamily) -> Report {
    let mut report = Report::default();
    let [a, b] = &answer.cores;
    report.title(format!(
        "{title}: where to cut `{}` between `{a}` and `{b}`",
        answer.radiator
    ));
    if !answer.placeholders.is_empty() {
        let text = format!(
            "Provisional: these rest on placeholders that nobody has measured: {}.",
            answer.placeholders.join(", ")
        );
        report.say(Cell::toned(text, Tone::Warn));
    }
    report.say(opening_line(answer, family));
    report.table(cut_table(answer, family));
    report.say(
        "Margin: the tightest limit of the loop in any case. Temperatures weigh by their kelvin, any other limit as 1 K for each 2 % of the bound (of the value, where that is larger).",
    );
    if !answer.in_time.is_empty() {
        report.say(format!(
            "Cuts are judged on steady answers; the cases in time are not compared: {}.",
            answer.in_time.join(", ")
        ));
    }
    if let Some(best) = answer.best_cut() {
        let word = if best.fits {
            "Best cut"
        } else {
            "The cut that comes nearest"
        };
        cut_blocks(&mut report, answer, best, word, family);
        if let Some(own) = answer.own_cut()
            && own.tubes != best.tubes
        {
            core_blocks(&mut report, own, "The design's own cut", family);
        }
        limit_blocks(&mut report, answer, best, family);
    } else if let Some(own) = answer.own_cut() {
        core_blocks(&mut report, own, "The design's own cut", family);
    }
    report.heading("Answer");
    for cell in conclusion(answer, family) {
        report.say(cell);
    }
    report
}

fn opening_line(answer: &PartitionAnswer, family: UnitFamily) -> String {
    let [a, b] = &answer.cores;
    let mut text = format!(
        "{} tubes, {} from tube to tube; `{a}` (loop {}) lies nearer the first tank end, `{b}` (loop {}) beyond; {} lost behind new tank walls",
        answer.tube_count,
        distance(answer.pitch_m, family),
        answer.owners[0],
        answer.owners[1],
        answer.lost_tubes,
    );
    if answer.spare_tubes > 0 {
        text.push_str(&format!(", {} more in no core", answer.spare_tubes));
    }
    text.push_str(". The cut is measured from that end to the middle of the lost tubes.");
    if answer.keeps_shares {
        text.push_str(
            " Each core keeps its share of face under each shroud; a shroud that stays where it is would cover other shares.",
        );
    }
    text
}

/// A place on the radiator, fine enough to mark out.
fn distance(si: f64, family: UnitFamily) -> String {
    format!(
        "{} {}",
        place(si, family),
        unit_symbol(Kind::Length, family)
    )
}

fn place(si: f64, family: UnitFamily) -> String {
    let decimals = match family {
        UnitFamily::Metric => 1,
        UnitFamily::Us => 2,
    };
    format!("{:.decimals$}", in_unit(Kind::Length, si, family))
}

fn kelvin(si: f64, family: UnitFamily) -> String {
    format!("{:+.2}", in_unit(Kind::TemperatureDifference, si, family))
}

/// The walls between the two cores, middles.
fn middles(answer: &PartitionAnswer, cut: &Cut, family: UnitFamily) -> String {
    let places: Vec<String> = moved_walls(answer, cut)
        .map(|w| place(w.middle_m(), family))
        .collect();
    places.join(" and ")
}

/// The walls that move: those from the first core to the second.
fn moved_walls<'a>(answer: &'a PartitionAnswer, cut: &'a Cut) -> impl Iterator<Item = &'a Wall> {
    let [a, b] = &answer.cores;
    let from = cut.walls.iter().position(|w| w.after == *a).unwrap_or(0);
    let to = cut
        .walls
        .iter()
        .position(|w| w.before == *b)
        .unwrap_or(from);
    cut.walls[from.min(cut.walls.len())..]
        .iter()
        .take(to + 1 - from)
}

/// A limit in few words: without its loop, which the column names.
fn tight_text(tight: &Tight) -> String {
    let subject = tight.subject.split_once('.').map_or("", |(_, rest)| rest);
    let mut text = tight.limit.replace('_', " ");
    if !subject.is_empty() {
        text.push_str(&format!(" {subject}"));
    }
    format!("{text}, {}", tight.case)
}

fn cut_table(answer: &PartitionAnswer, family: UnitFamily) -> Table {
    let [a, b] = &answer.cores;
    let degree = unit(Kind::TemperatureDifference, family);
    let heads = [
        format!(">{a}"),
        format!(">{b}"),
        format!(">cut at {}", unit_symbol(Kind::Length, family)),
        format!(">{} margin {degree}", answer.owners[0]),
        "tightest".to_owned(),
        format!(">{} margin {degree}", answer.owners[1]),
        "tightest".to_owned(),
        String::new(),
    ];
    let mut table = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    let best = answer.best_cut().map(|c| c.tubes[0]);
    let window = answer.window();
    for (index, cut) in answer.cuts.iter().enumerate() {
        let tubes = cut.tubes[0];
        let own = tubes == answer.own_tubes;
        let edge = window.is_some_and(|(first, last)| tubes == first || tubes == last);
        let marked = own || edge || best == Some(tubes);
        if answer.cuts.len() > MOST_LINES && index % 2 == 1 && !marked {
            continue;
        }
        let mut words = Vec::new();
        if cut.fits && cut.worst.is_some() {
            words.push("fits".to_owned());
        }
        if best == Some(tubes) {
            words.push(if cut.fits { "best" } else { "nearest" }.to_owned());
        }
        if own {
            words.push("the design's own".to_owned());
        }
        if let Some((case, error)) = cut.failure() {
            words.push(format!(
                "no answer in {case}: {}",
                error.code().replace('-', " ")
            ));
        }
        let tone = match (best == Some(tubes), cut.fits) {
            (_, false) => Tone::Bad,
            (true, true) => Tone::Good,
            (false, true) => Tone::Plain,
        };
        let mut cells = vec![
            Cell::toned(tubes.to_string(), tone),
            cut.tubes[1].to_string().into(),
            middles(answer, cut, family).into(),
        ];
        for tight in &cut.worst_of {
            match tight {
                Some(t) => {
                    cells.push(kelvin(t.margin_k, family).into());
                    cells.push(tight_text(t).into());
                }
                None => cells.extend(["-".into(), "".into()]),
            }
        }
        cells.push(words.join(", ").into());
        table.row(cells);
    }
    table
}

/// The best cut: where to cut, both cores in every case.
fn cut_blocks(
    report: &mut Report,
    answer: &PartitionAnswer,
    cut: &Cut,
    word: &str,
    family: UnitFamily,
) {
    core_blocks(report, cut, word, family);
    for wall in moved_walls(answer, cut) {
        let text = if wall.lost_tubes == 0 {
            format!(
                "Wall between `{}` and `{}`: {} from the first tank end, no tube lost.",
                wall.after,
                wall.before,
                distance(wall.middle_m(), family)
            )
        } else {
            format!(
                "Walls between `{}` and `{}`: plates at {} and {} from the first tank end, {} lost between them, middle at {}.",
                wall.after,
                wall.before,
                distance(wall.first_plate_m, family),
                distance(wall.second_plate_m, family),
                tubes(wall.lost_tubes),
                distance(wall.middle_m(), family)
            )
        };
        report.say(text);
    }
}

fn tubes(count: u32) -> String {
    if count == 1 {
        "1 tube".to_owned()
    } else {
        format!("{count} tubes")
    }
}

fn core_blocks(report: &mut Report, cut: &Cut, word: &str, family: UnitFamily) {
    report.heading(format!(
        "{word}: {} and {}",
        tubes(cut.tubes[0]),
        tubes(cut.tubes[1])
    ));
    let degree = unit(Kind::Temperature, family);
    let heads = [
        "case".to_owned(),
        "core".to_owned(),
        ">tubes".to_owned(),
        format!(">coolant in {degree}"),
        format!(">out {degree}"),
        format!(">in over air {}", unit(Kind::TemperatureDifference, family)),
        format!(">heat {}", unit(Kind::Power, family)),
        ">W/K".to_owned(),
        format!(">core drop {}", unit(Kind::PressureDifference, family)),
    ];
    let mut table = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    let mut failures = Vec::new();
    for case in &cut.cases {
        let state = match &case.outcome {
            Ok(state) => state,
            Err(error) => {
                failures.push(Cell::toned(
                    format!("{}: no answer: {error}", case.case),
                    Tone::Bad,
                ));
                continue;
            }
        };
        for core in &state.cores {
            table.row(vec![
                case.case.clone().into(),
                core.core.clone().into(),
                core.tubes.to_string().into(),
                temperature(core.coolant_inlet_k, family),
                temperature(core.coolant_outlet_k, family),
                number(
                    Kind::TemperatureDifference,
                    core.coolant_inlet_k - case.air_k,
                    family,
                ),
                number(Kind::Power, core.heat_w, family),
                core.conductance_w_k
                    .map_or("-".to_owned(), |c| significant(c, 3))
                    .into(),
                number(Kind::PressureDifference, core.pressure_drop_pa, family),
            ]);
        }
    }
    report.table(table);
    report.list(failures);
}

/// The row of a limit in a case of a cut.
fn row_of<'a>(cut: &'a Cut, track: &Track) -> Option<&'a LimitRow> {
    let case = cut.cases.iter().find(|c| c.case == track.case)?;
    let rows = &case.outcome.as_ref().ok()?.limits;
    rows.iter()
        .find(|r| r.limit == track.limit && r.subject == track.subject && r.side == track.side)
}

/// All limits, each in its tightest case at the best cut, with the cuts that meet it in every case.
fn limit_blocks(report: &mut Report, answer: &PartitionAnswer, cut: &Cut, family: UnitFamily) {
    report.heading("Limits at that cut, each in its tightest case");
    let meets = format!("met with {} tubes", answer.cores[0]);
    let heads = [
        "verdict", "limit", "of", ">value", ">bound", ">margin", "case", &meets, "",
    ];
    let mut table = Table::new(&heads);
    let mut done: Vec<&Track> = Vec::new();
    let same =
        |x: &Track, y: &Track| x.limit == y.limit && x.subject == y.subject && x.side == y.side;
    for track in &answer.tracks {
        if done.iter().any(|d| same(d, track)) {
            continue;
        }
        done.push(track);
        let group: Vec<&Track> = answer.tracks.iter().filter(|t| same(t, track)).collect();
        let tightest = group
            .iter()
            .filter_map(|t| Some((*t, row_of(cut, t)?)))
            .min_by(|x, y| {
                let m = |r: &LimitRow| margin_k(r).unwrap_or(f64::INFINITY);
                m(x.1).total_cmp(&m(y.1))
            });
        let Some((of, row)) = tightest else { continue };
        let optional = |v: Option<f64>, f: &dyn Fn(f64) -> String| v.map_or("-".to_owned(), f);
        let note = if group.iter().any(|t| t.counts) {
            ""
        } else if group.iter().any(|t| t.is_hopeless()) {
            "no cut mends it: not counted"
        } else {
            "no cut moves it"
        };
        table.row(vec![
            Cell::toned(row.verdict.word(), tone(row.verdict)),
            row.limit.replace('_', " ").into(),
            row.subject.clone().into(),
            optional(row.value, &|v| show(row.measure, v, family)).into(),
            show(row.measure, row.bound, family).into(),
            optional(row.margin, &|m| show_margin(row.measure, m, family)).into(),
            of.case.clone().into(),
            met_in_all(&group).into(),
            note.into(),
        ]);
    }
    report.table(table);
}

/// The cuts that meet a limit in every case where it has a value.
fn met_in_all(group: &[&Track]) -> String {
    let valued: Vec<&&Track> = group.iter().filter(|t| t.range_k.is_some()).collect();
    let mut span: Option<(u32, u32)> = None;
    for track in &valued {
        let Some((first, last)) = track.met else {
            return "none".to_owned();
        };
        let (low, high) = span.unwrap_or((first, last));
        span = Some((low.max(first), high.min(last)));
    }
    match span {
        Some((low, high)) if low < high => format!("{low} to {high}"),
        Some((low, high)) if low == high => low.to_string(),
        Some(_) => "none".to_owned(),
        None => "-".to_owned(),
    }
}
