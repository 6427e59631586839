//! A balance as a builder reads it: which drill at which port, what it does warm and cold, and what a slip of the drill
//! costs; and the same as JSON and comma-separated rows.

mod data;

pub use data::{balance_csv, balance_json};

use super::block::{Cell, Report, Table, Tone};
use super::of_solution::{number, unit};
use crate::quantity::{Kind, UnitFamily, in_unit, show_si};
use crate::study::balance::{BalanceAnswer, Disc, Reached, STRAINER_BORE_M, Target};

/// The answer as a report.
pub fn balance_report(title: &str, answer: &BalanceAnswer, family: UnitFamily) -> Report {
    let mut report = Report::default();
    report.title(format!(
        "{title}: restrictors for {} of loop {}",
        answer.banks.join(", "),
        answer.owner
    ));
    if !answer.placeholders.is_empty() {
        let text = format!(
            "Provisional: these rest on placeholders that nobody has measured: {}.",
            answer.placeholders.join(", ")
        );
        report.say(Cell::toned(text, Tone::Warn));
    }
    report.say(opening(answer, family));
    report.table(discs(answer, family));
    report.heading("Before and after");
    report.table(states(answer, family));
    report.heading("Answer");
    conclusion(&mut report, answer, family);
    report
}

fn opening(answer: &BalanceAnswer, family: UnitFamily) -> String {
    let target = match (answer.target, &answer.heat_case) {
        (Target::Heat, Some(case)) => format!("in proportion to the heat of each branch in {case}"),
        _ => "equal in all branches".to_owned(),
    };
    format!(
        "Flow {target}; drilled discs {} thick where the branches leave the supply header, sized with all coolant at {} and solved again at {}. The branch with the least to spare is left open.",
        show_si(Kind::Length, answer.thickness_m, family),
        show_si(Kind::Temperature, answer.range_k.1, family),
        show_si(Kind::Temperature, answer.range_k.0, family),
    )
}

/// A hole, to the hundredth of a millimetre or the thousandth of an inch.
fn hole(si: f64, family: UnitFamily) -> String {
    let decimals = match family {
        UnitFamily::Metric => 2,
        UnitFamily::Us => 4,
    };
    format!("{:.decimals$}", in_unit(Kind::Length, si, family))
}

fn discs(answer: &BalanceAnswer, family: UnitFamily) -> Table {
    let tenth = show_si(Kind::Length, 1e-4, family);
    let heads = [
        "branch".to_owned(),
        ">port".to_owned(),
        ">before".to_owned(),
        ">cold".to_owned(),
        format!(">hole {}", unit(Kind::Length, family)),
        "drill".to_owned(),
        "fraction, number, letter".to_owned(),
        format!(">takes {}", unit(Kind::PressureDifference, family)),
        ">after".to_owned(),
        ">cold".to_owned(),
        format!(">{}", unit(Kind::VolumeFlow, family)),
        format!(">flow for -/+ {tenth}"),
    ];
    let mut table = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    let percent = |v: f64| Cell::from(format!("{:.1} %", 100.0 * v));
    for disc in &answer.discs {
        let tone = if disc.wants_strainer() {
            Tone::Warn
        } else {
            Tone::Plain
        };
        let slip = match (disc.tolerance.smaller, disc.tolerance.larger) {
            (Some(a), Some(b)) => format!("{:+.1} / {:+.1} %", 100.0 * a, 100.0 * b),
            _ => "-".to_owned(),
        };
        table.row(vec![
            disc.circuit.clone().into(),
            disc.port.to_string().into(),
            percent(disc.before.0),
            percent(disc.before.1),
            disc.exact_m
                .map_or("-".to_owned(), |b| hole(b, family))
                .into(),
            Cell::toned(
                disc.drill
                    .as_ref()
                    .map_or("open".to_owned(), |d| d.name.clone()),
                tone,
            ),
            names(disc).into(),
            if disc.drill.is_some() {
                number(Kind::PressureDifference, disc.drop_pa, family)
            } else {
                "-".into()
            },
            percent(disc.after.0),
            percent(disc.after.1),
            number(Kind::VolumeFlow, disc.flow_m3_s, family),
            slip.into(),
        ]);
    }
    table
}

fn names(disc: &Disc) -> String {
    let Some(named) = disc.named.as_ref().filter(|_| disc.drill.is_some()) else {
        return "-".to_owned();
    };
    let mut names = vec![named.fraction.name.clone()];
    names.extend(named.number.as_ref().map(|d| d.name.clone()));
    names.extend(named.letter.as_ref().map(|d| d.name.clone()));
    names.join(", ")
}

fn states(answer: &BalanceAnswer, family: UnitFamily) -> Table {
    let mut table = Table::new(&["", ">before", ">after"]);
    let (before, after) = (&answer.before, &answer.after);
    let percent = |v: f64| Cell::from(format!("{:.1} %", 100.0 * v));
    let at = |k: f64| show_si(Kind::Temperature, k, family);
    let (cold, warm) = (at(answer.range_k.0), at(answer.range_k.1));
    table.row(vec![
        format!("farthest off target, {warm}").into(),
        percent(before.warm_deviation),
        percent(after.warm_deviation),
    ]);
    table.row(vec![
        format!("farthest off target, {cold}").into(),
        percent(before.cold_deviation),
        percent(after.cold_deviation),
    ]);
    let flow = |v: f64| Cell::from(show_si(Kind::VolumeFlow, v, family));
    table.row(vec![
        format!("flow of all branches, {warm}").into(),
        flow(before.warm_flow_m3_s),
        flow(after.warm_flow_m3_s),
    ]);
    table.row(vec![
        format!("flow of all branches, {cold}").into(),
        flow(before.cold_flow_m3_s),
        flow(after.cold_flow_m3_s),
    ]);
    for (bank, drop) in &before.bank_drop_pa {
        let then = after.bank_drop_pa.iter().find(|(b, _)| b == bank);
        let show = |v: f64| Cell::from(show_si(Kind::PressureDifference, v, family));
        table.row(vec![
            format!("{bank} loses, {warm}").into(),
            show(*drop),
            then.map_or_else(|| Cell::from("-"), |(_, p)| show(*p)),
        ]);
    }
    for (case, spread) in &before.spread_k {
        let then = after.spread_k.iter().find(|(c, _)| c == case);
        let show = |v: f64| Cell::from(show_si(Kind::TemperatureDifference, v, family));
        table.row(vec![
            format!("modules apart, {case}").into(),
            show(*spread),
            then.map_or_else(|| Cell::from("-"), |(_, s)| show(*s)),
        ]);
    }
    table
}

fn conclusion(report: &mut Report, answer: &BalanceAnswer, family: UnitFamily) {
    let within = format!(
        "{:.0} % ({})",
        100.0 * answer.within.0,
        if answer.within.1 {
            "as stated"
        } else {
            "common practice"
        }
    );
    let warm = 100.0 * answer.after.warm_deviation;
    let cold = 100.0 * answer.after.cold_deviation;
    let (text, tone) = match answer.reached {
        Reached::Yes => {
            let (word, tone) = if answer.placeholders.is_empty() {
                ("YES", Tone::Good)
            } else {
                ("PROVISIONAL", Tone::Warn)
            };
            (
                format!(
                    "{word}: with these drills no branch is more than {within} off its target: {warm:.1} % warm, {cold:.1} % cold."
                ),
                tone,
            )
        }
        Reached::WarmOnly => (
            format!(
                "NO: within {within} warm ({warm:.1} %), but not cold ({cold:.1} %): laminar branches divide cold coolant otherwise, and a hole cannot know the season. Sizing at a temperature between (`--warm`) shares the error out."
            ),
            Tone::Bad,
        ),
        Reached::NotWithDrills => (
            format!(
                "NO: exact holes would come within {:.1} %, these drills leave {warm:.1} % and {within} is asked; try the other drills (`--drills`) or thicker discs.",
                100.0 * answer.exact_deviation
            ),
            Tone::Bad,
        ),
        Reached::TooLittleFlow => (
            format!(
                "NO: the flows are even, but each branch gets {} at least and {} is asked. The discs add the least that they can; a stronger pump or wider hoses must give the rest.",
                show_si(Kind::VolumeFlow, answer.smallest_flow_m3_s(), family),
                show_si(
                    Kind::VolumeFlow,
                    answer.least_flow_m3_s.unwrap_or_default(),
                    family
                )
            ),
            Tone::Bad,
        ),
        Reached::No => (
            format!(
                "NO: no holes bring every branch within {within} of its target; the closest leave {:.1} %.",
                100.0 * answer.exact_deviation
            ),
            Tone::Bad,
        ),
    };
    report.say(Cell::toned(text, tone));
    let small: Vec<String> = answer
        .banks
        .iter()
        .filter_map(|bank| {
            let own = answer.discs.iter().filter(|d| d.bank == *bank);
            let count = own.filter(|d| d.wants_strainer()).count();
            (count > 0).then(|| format!("{count} in {bank}"))
        })
        .collect();
    if !small.is_empty() {
        let text = format!(
            "Holes below {} clog: fit a strainer before the banks. Such holes: {}.",
            show_si(Kind::Length, STRAINER_BORE_M, family),
            small.join(", ")
        );
        report.say(Cell::toned(text, Tone::Warn));
    }
    for (case, error) in &answer.after.failures {
        report.say(Cell::toned(
            format!("{case} with the drills: no answer: {error}"),
            Tone::Bad,
        ));
    }
    if !answer.in_time.is_empty() {
        report.say(format!(
            "Judged on steady answers; the cases in time are not compared: {}.",
            answer.in_time.join(", ")
        ));
    }
    report.say("Number and letter drills after ASME B94.11M, from memory: measure the drill. `--json` has the discs as `restrictors` for the design file.");
}
