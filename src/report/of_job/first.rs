//! The first page: verdicts, the loops, what limits most and what helps, cautions, where the numbers come from.

use super::{Pack, Sink, plan};
use crate::quantity::Kind;
use crate::report::CAUTIONS;
use crate::report::page::{Field, Figure, Form, Line, Sheet, pointer};
use crate::study::limiting::Limiting;
use crate::study::{LimitRow, LimitSide, Measure, Verdict};

/// How the value of a limit is written.
pub(super) fn form_of(measure: Measure) -> Form {
    match measure {
        Measure::Quantity(kind) => Form::Show(kind),
        Measure::Ratio => Form::Ratio,
    }
}

/// A margin is a difference, also of temperatures and gauge pressures.
pub(super) fn margin_form(measure: Measure) -> Form {
    match measure {
        Measure::Quantity(Kind::Temperature) => Form::Show(Kind::TemperatureDifference),
        Measure::Quantity(Kind::GaugePressure) => Form::Show(Kind::PressureDifference),
        other => form_of(other),
    }
}

pub(super) fn write(pack: &Pack<'_, '_>, sink: &mut Sink<'_>) {
    sink.html.raw("<header>");
    sink.html.heading(1, pack.job.network.title());
    let date = pack
        .stamp
        .date
        .as_deref()
        .map_or("date: ____________".into(), |d| format!("date: {d}"));
    let meta = format!(
        "Job pack for the builder, the helper at the bench and the inspector. {date}. Design file {}. loopwright {}.",
        pack.stamp.file, pack.stamp.version
    );
    sink.html.raw(&format!(
        "<p class=\"meta\">{}</p></header>\n",
        crate::report::svg::escape(&meta)
    ));
    verdicts(pack, sink);
    drawing(pack, sink);
    limiting(pack, sink);
    sink.html.raw("<section class=\"cautions\">");
    sink.html.heading(2, "Cautions");
    sink.html.list(&CAUTIONS.map(str::to_owned));
    sink.html.raw("</section>\n");
    origins(pack, sink);
}

/// The worst verdict of a list of limits; met where there is none.
fn worst(rows: &[LimitRow]) -> Verdict {
    rows.iter().map(|r| r.verdict).max().unwrap_or(Verdict::Met)
}

fn verdicts(pack: &Pack<'_, '_>, sink: &mut Sink<'_>) {
    sink.html.heading(2, "Does it meet its limits?");
    let mut sheet = Sheet::new("verdicts", "Verdict of each case")
        .words("case", "case")
        .words("verdict", "verdict")
        .numbers("missed", "limits_missed", Form::Count)
        .numbers("of limits", "limits", Form::Count)
        .words("tightest", "tightest");
    for case in &pack.job.check.cases {
        let base = pointer(&["job", "verdicts", &case.case]);
        let count = |key: &str| -> Field { pack.facts.under(&base, key, Form::Count).into() };
        let (verdict, tightest) = match &case.limits {
            Ok(rows) if rows.is_empty() => (
                Field::Verdict(Some(Verdict::NoValue), "no limit stated".into()),
                Field::Nothing,
            ),
            Ok(rows) => {
                let verdict = worst(rows);
                let words = match verdict {
                    Verdict::Met => "YES, all met",
                    Verdict::Provisional => "PROVISIONAL",
                    Verdict::NoValue => "PARTLY UNKNOWN",
                    Verdict::Missed => "NO, missed",
                };
                let tight = tightest(rows).map_or(Field::Nothing, |r| {
                    format!("{} of {}", r.limit.replace('_', " "), r.subject).into()
                });
                (Field::Verdict(Some(verdict), words.into()), tight)
            }
            Err(error) => (
                Field::Verdict(None, "NO ANSWER".into()),
                error.to_string().into(),
            ),
        };
        sheet.row(vec![
            case.case.clone().into(),
            verdict,
            count("missed"),
            count("limits"),
            tightest,
        ]);
    }
    sink.sheet(&sheet);
    let placeholders = pack.job.network.placeholders();
    if !placeholders.is_empty() {
        let count = placeholders.len();
        let text = format!(
            "Provisional: {count} placeholder{} stand{} in place of numbers that nobody has measured: {}.",
            if count == 1 { "" } else { "s" },
            if count == 1 { "s" } else { "" },
            placeholders.join(", ")
        );
        sink.html.say(&text);
    }
}

fn tightest(rows: &[LimitRow]) -> Option<&LimitRow> {
    let known = rows
        .iter()
        .filter_map(|r| Some((crate::study::partition::margin_k(r)?, r)));
    known.min_by(|a, b| a.0.total_cmp(&b.0)).map(|t| t.1)
}

fn drawing(pack: &Pack<'_, '_>, sink: &mut Sink<'_>) {
    sink.html.heading(2, "The loops");
    let Some(svg) = plan::draw(pack) else {
        sink.html
            .say("No case has an answer, so there is nothing to draw.");
        return;
    };
    let case = &pack.job.cases[pack.job.drawn].case.name;
    let caption = format!(
        "Case {case}. Lines are hoses and pipes: the wider, the more flow; chevrons show where it runs. In a bank each box is a module, filled by its flow, the dashed line is the mean. Drawn from what is joined to what, not to scale; radiator faces are in proportion."
    );
    sink.html.figure("plan", &svg, &caption);
}

fn limiting(pack: &Pack<'_, '_>, sink: &mut Sink<'_>) {
    if pack.job.limiting.is_empty() {
        return;
    }
    sink.html.heading(2, "What limits it most, and what helps");
    sink.html.raw("<ol class=\"limits-most\">");
    for (k, limiting) in pack.job.limiting.iter().enumerate() {
        sink.html.raw("<li>");
        let words = format!(
            "{} of {}",
            limiting.row.limit.replace('_', " "),
            limiting.row.subject
        );
        sink.html.verdict(Some(limiting.row.verdict), &words);
        let line = limiting_line(pack, k, limiting);
        sink.html.raw(&line.markup("data", pack.facts.units));
        sink.html.raw("</li>");
    }
    sink.html.raw("</ol>\n");
    sink.html.say(
        "Each change was made alone in the design, the case solved again and the same limit read again; its effect on other limits is not told here.",
    );
}

fn limiting_line(pack: &Pack<'_, '_>, k: usize, limiting: &Limiting) -> Line {
    let base = format!("/job/limiting/{k}");
    let form = form_of(limiting.row.measure);
    let side = match limiting.row.side {
        LimitSide::Min => "at least",
        LimitSide::Max => "at most",
    };
    let figure = |key: &str| -> Option<Figure> { pack.facts.under(&base, key, form) };
    let mut line = Line::words(format!(" in {}: ", limiting.case))
        .fig(figure("value"))
        .and(format!(", wanted {side} "))
        .fig(figure("bound"));
    if !limiting.row.limited_by.is_empty() {
        line = line.and(format!(" (limited by {})", limiting.row.limited_by));
    }
    line = line.and(". ");
    match &limiting.best {
        Some(best) => {
            let change = format!("{base}/best_change");
            line = line
                .and(format!(
                    "Of {} changes tried, most helps: {}; then ",
                    limiting.tried, best.words
                ))
                .fig(pack.facts.under(&change, "value", form))
                .and(", margin ")
                .fig(
                    pack.facts
                        .under(&change, "margin", margin_form(limiting.row.measure)),
                );
            line = line.and(if best.margin >= 0.0 {
                ", which meets it."
            } else {
                ", which does not meet it alone."
            });
        }
        None if limiting.tried > 0 => {
            line = line.and(format!(
                "None of {} changes tried helps by much.",
                limiting.tried
            ));
        }
        None => {}
    }
    if !limiting.row.advice.is_empty() {
        line = line.and(format!(" Also: {}.", limiting.row.advice));
    }
    line
}

fn origins(pack: &Pack<'_, '_>, sink: &mut Sink<'_>) {
    sink.html.heading(2, "Where the numbers come from");
    let mut sheet = Sheet::new(
        "origins",
        "Origin of the numbers of parts, modules and radiators",
    )
    .words("origin", "origin")
    .numbers("count", "count", Form::Count)
    .words("of", "subjects");
    for origin in &pack.job.origins {
        let word = origin.origin.map_or("not said", |o| o.word());
        let key = word.replace(' ', "_");
        sheet.row(vec![
            word.into(),
            pack.facts
                .figure(&pointer(&["job", "origins", &key, "count"]), Form::Count)
                .into(),
            origin.subjects.join(", ").into(),
        ]);
    }
    sink.sheet(&sheet);
}
