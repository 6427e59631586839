//! The sheets for bench and vehicle: what to cut and buy, fill and bleed, bucket test, pressure test, commissioning.

use super::{Pack, Sink};
use crate::quantity::Kind;
use crate::report::page::{Field, Form, Line, Sheet, pointer};
use crate::study::fill::{CARRIES_M_S, FillSheet};

pub(super) fn write(pack: &Pack<'_, '_>, sink: &mut Sink<'_>) {
    sink.html.raw("<section class=\"sheet\">");
    cut_list(pack, sink);
    sink.html.raw("</section><section class=\"sheet\">");
    coolant(pack, sink);
    fill(pack, sink);
    sink.html.raw("</section><section class=\"sheet\">");
    bucket(pack, sink);
    sink.html.raw("</section><section class=\"sheet\">");
    pressure_test(pack, sink);
    record(sink);
    sink.html.raw("</section>");
}

fn cut_list(pack: &Pack<'_, '_>, sink: &mut Sink<'_>) {
    let facts = &pack.facts;
    let length = Form::Column(Kind::Length);
    sink.html.heading(2, "Cut list");
    let mut sheet = Sheet::new("cut_hoses", "Hoses, tubes and tails")
        .words("hose", "id")
        .words("loop", "loop")
        .numbers("count", "count", Form::Count)
        .numbers("bore", "bore_m", length)
        .numbers("length of one", "length_m", length);
    for (k, hose) in pack.job.cut_list.hoses.iter().enumerate() {
        let base = format!("/job/cut_list/hoses/{k}");
        sheet.row(vec![
            hose.id.clone().into(),
            hose.owner.clone().into(),
            facts.under(&base, "count", Form::Count).into(),
            facts.under(&base, "bore_m", length).into(),
            facts.under(&base, "length_m", length).into(),
        ]);
    }
    sink.sheet(&sheet);
    let mut sheet = Sheet::new("buy_hose", "Hose and clamps to buy")
        .words("bore", "bore")
        .numbers("bore", "bore_m", length)
        .numbers("length in all", "length_m", Form::Show(Kind::Length))
        .numbers("pieces", "pieces", Form::Count)
        .numbers("clamps", "clamps", Form::Count);
    for (k, _) in pack.job.cut_list.stock.iter().enumerate() {
        let base = format!("/job/cut_list/hose_stock/{k}");
        sheet.row(vec![
            format!("size {}", k + 1).into(),
            facts.under(&base, "bore_m", length).into(),
            facts
                .under(&base, "length_m", Form::Show(Kind::Length))
                .into(),
            facts.under(&base, "pieces", Form::Count).into(),
            facts.under(&base, "clamps", Form::Count).into(),
        ]);
    }
    sink.sheet(&sheet);
    sink.html.say(
        "Lengths are those of the design, along the middle: add what is pushed onto a spigot at each end. Clamps: two on each end of each piece (common practice, no source). Tubes that are soldered or threaded need none.",
    );
    let mut sheet = Sheet::new("cut_fittings", "Fittings by size")
        .words("fitting", "kind")
        .numbers("on bore", "hose_bore_m", length)
        .numbers("own bore", "bore_m", length)
        .numbers("count", "count", Form::Count);
    for (k, fitting) in pack.job.cut_list.fittings.iter().enumerate() {
        let base = format!("/job/cut_list/fittings/{k}");
        sheet.row(vec![
            fitting.kind.into(),
            facts.under(&base, "hose_bore_m", length).into(),
            facts.under(&base, "bore_m", length).into(),
            facts.under(&base, "count", Form::Count).into(),
        ]);
    }
    sink.sheet(&sheet);
    headers(pack, sink);
}

fn headers(pack: &Pack<'_, '_>, sink: &mut Sink<'_>) {
    let facts = &pack.facts;
    let length = Form::Column(Kind::Length);
    let list = &pack.job.cut_list.headers;
    let name = |h: &crate::study::cut_list::HeaderCut| {
        format!("{}.{}, {}", h.owner, h.bank, h.side.word())
    };
    let mut sheet = Sheet::new("cut_headers", "Header tubes")
        .words("header", "header")
        .numbers("inside wide", "inside_width_m", length)
        .numbers("inside high", "inside_height_m", length)
        .numbers("inside length", "length_m", Form::Place)
        .numbers("spigots", "spigots", Form::Count)
        .numbers("spigot bore", "port_bore_m", length)
        .numbers("hole", "hole_m", length)
        .numbers("drill", "drill_m", length)
        .words("or", "drill_64ths_in");
    for (k, header) in list.iter().enumerate() {
        let base = format!("/job/cut_list/headers/{k}");
        let drill = fraction(header.drill_64ths);
        let at = |key: &str, form: Form| -> Field { facts.under(&base, key, form).into() };
        sheet.row(vec![
            name(header).into(),
            at("inside_width_m", length),
            at("inside_height_m", length),
            at("length_m", Form::Place),
            at("spigots", Form::Count),
            at("port_bore_m", length),
            at("hole_m", length),
            at("drill_m", length),
            drill.into(),
        ]);
    }
    sink.sheet(&sheet);
    if list.iter().any(|h| !h.hole_is_stated) {
        sink.html.say(
            "Where no outside diameter of the spigots was stated (`port_outside`), the hole is their bore and 3 mm (common practice, no source): measure the spigots before drilling.",
        );
    }
    // A header pair that is drilled alike is written once.
    let mut written: Vec<(&[f64], String)> = Vec::new();
    for (k, header) in list.iter().enumerate() {
        if let Some(known) = written
            .iter_mut()
            .find(|w| w.0 == header.ports_m.as_slice())
        {
            known.1.push_str(&format!(" and {}", name(header)));
            continue;
        }
        written.push((&header.ports_m, format!("{k}\u{0}{}", name(header))));
    }
    for (ports, names) in &written {
        let (index, names) = names.split_once('\u{0}').unwrap_or(("0", names.as_str()));
        let mut line = Line::words(format!(
            "Spigots of {names}, from the near end to their middle: "
        ));
        for port in 0..ports.len() {
            let at = format!("/job/cut_list/headers/{index}/spigots_at_m/{port}");
            if port > 0 {
                line = line.and(", ");
            }
            line = line.fig(facts.figure(&at, Form::Place));
        }
        let unit = crate::quantity::unit_symbol(Kind::Length, facts.units.first());
        sink.html.line(&line.and(format!(" {unit}.")), facts);
    }
}

/// 28 as `7/16 in`, 80 as `1 1/4 in`.
fn fraction(sixty_fourths: u32) -> String {
    let (whole, mut top, mut bottom) = (sixty_fourths / 64, sixty_fourths % 64, 64);
    while top > 0 && top % 2 == 0 {
        top /= 2;
        bottom /= 2;
    }
    match (whole, top) {
        (0, 0) => "-".into(),
        (w, 0) => format!("{w} in"),
        (0, t) => format!("{t}/{bottom} in"),
        (w, t) => format!("{w} {t}/{bottom} in"),
    }
}

fn coolant(pack: &Pack<'_, '_>, sink: &mut Sink<'_>) {
    let facts = &pack.facts;
    sink.html.heading(2, "Coolant");
    let litres = Form::Column(Kind::Volume);
    let mut sheet = Sheet::new("coolant", "Coolant to buy and fill")
        .words("loop", "loop")
        .numbers("in the loop", "total_m3", litres)
        .numbers("glycol", "glycol_m3", litres)
        .numbers("water", "water_m3", litres)
        .numbers("mass", "mass_kg", Form::Column(Kind::Mass))
        .numbers("grows from fill", "growth_from_fill_m3", litres)
        .numbers("from cold", "growth_from_coldest_m3", litres)
        .numbers("tank at least", "minimum_m3", litres)
        .numbers("tank has", "volume_m3", litres);
    for volume in &pack.job.volumes {
        let base = pointer(&["volumes", &volume.owner]);
        let at = |key: &str, form: Form| -> Field { facts.under(&base, key, form).into() };
        sheet.row(vec![
            volume.owner.clone().into(),
            at("total_m3", litres),
            at("purchase/glycol_m3", litres),
            at("purchase/water_m3", litres),
            at("mass_kg", Form::Column(Kind::Mass)),
            at("growth_from_fill_m3", litres),
            at("growth_from_coldest_m3", litres),
            at("tank/minimum_m3", litres),
            at("tank/volume_m3", litres),
        ]);
    }
    sink.sheet(&sheet);
    let found = pack.job.volumes.iter().flat_map(|v| &v.findings);
    let found: Vec<String> = found
        .map(|f| format!("{}: {}", f.subject, f.text))
        .collect();
    sink.html.list(&found);
    sink.html.say(
        "Without what the tank holds. The tank: growth from the coldest air, a tenth more, and as much air again (common practice, no source). Glycol and water are measured before mixing at 20 degC (68 degF); use demineralised water.",
    );
}

fn fill(pack: &Pack<'_, '_>, sink: &mut Sink<'_>) {
    sink.html.heading(2, "Fill and bleed");
    for sheet in pack.job.loops.iter().filter_map(|l| l.fill.as_ref()) {
        sink.html.heading(3, &format!("Loop {}", sheet.owner));
        if !sheet.has_heights {
            sink.html.say("No two heights of this loop differ in the design, so the order of bleeding and the falling legs cannot be told; give parts an `elevation`.");
            continue;
        }
        fill_tables(pack, sink, sheet);
    }
    sink.html.say(&format!(
        "Fill from the lowest part up, pump standing, until coolant without bubbles comes out of each high point in the order of the table; run the pump slowly, top up, bleed again warm. A falling leg slower than {CARRIES_M_S} m/s (2 ft/s) keeps its bubble (common practice, no source): run the pump faster while bleeding, pinch the other branches one after another, or fill under vacuum. Tails of modules seldom reach that: feed modules upwards."
    ));
}

fn fill_tables(pack: &Pack<'_, '_>, sink: &mut Sink<'_>, fill: &FillSheet) {
    let facts = &pack.facts;
    let base = pointer(&["job", "loops", &fill.owner, "fill"]);
    let height = Form::Show(Kind::Length);
    let mut sheet = Sheet::new(
        format!("bleed_{}", fill.owner),
        "High points from below: where air gathers",
    )
    .words("at", "parts")
    .numbers("height", "height_m", height)
    .words("how it leaves", "vents")
    .words("done", "done");
    for (k, point) in fill.high_points.iter().enumerate() {
        let at = format!("{base}/high_points/{k}");
        let how = if point.vents {
            "vents by itself"
        } else {
            "needs a bleed valve or a loosened hose"
        };
        let mut parts = point.parts.clone();
        if parts.len() > 8 {
            let more = parts.len() - 8;
            parts.truncate(8);
            parts.push(format!("and {more} more"));
        }
        sheet.row(vec![
            parts.join(", ").into(),
            facts.under(&at, "height_m", height).into(),
            how.into(),
            Field::Open,
        ]);
    }
    sink.sheet(&sheet);
    let mut sheet = Sheet::new(
        format!("falling_{}", fill.owner),
        "Legs in which coolant runs down",
    )
    .words("leg", "id")
    .numbers("falls", "fall_m", height)
    .numbers("velocity", "velocity_m_s", Form::Column(Kind::Velocity))
    .words("bubbles", "carries_bubbles");
    for (k, leg) in fill.falling.iter().enumerate() {
        let at = format!("{base}/falling_legs/{k}");
        let words = if leg.carries {
            "carried down"
        } else {
            "STAY: bleed here"
        };
        sheet.row(vec![
            leg.id.clone().into(),
            facts.under(&at, "fall_m", height).into(),
            facts
                .under(&at, "velocity_m_s", Form::Column(Kind::Velocity))
                .into(),
            words.into(),
        ]);
    }
    sink.sheet(&sheet);
    let mut sheet = Sheet::new(
        format!("heights_{}", fill.owner),
        "Parts from the lowest up",
    )
    .words("part", "id")
    .numbers("lowest", "lowest_m", height)
    .numbers("highest", "highest_m", height);
    for (k, part) in fill.order.iter().enumerate() {
        let at = format!("{base}/from_below/{k}");
        sheet.row(vec![
            part.id.clone().into(),
            facts.under(&at, "lowest_m", height).into(),
            facts.under(&at, "highest_m", height).into(),
        ]);
    }
    sink.sheet(&sheet);
}

fn bucket(pack: &Pack<'_, '_>, sink: &mut Sink<'_>) {
    let facts = &pack.facts;
    sink.html.heading(2, "Bucket test");
    let sheets = match &pack.job.bucket.sheets {
        Ok(sheets) => sheets,
        Err(error) => {
            sink.html
                .say(&format!("There is no forecast for water: {error}"));
            return;
        }
    };
    if sheets.is_empty() {
        sink.html
            .say("The design has no bank whose branches could be measured.");
        return;
    }
    let water = facts.figure(
        "/job/bucket/water_temperature_k",
        Form::Show(Kind::Temperature),
    );
    sink.html.line(
        &Line::words("Seconds for one litre (0.264 US gal) from each branch with plain water at ")
            .fig(water)
            .and(", loop closed, pumps as the design sets them. An open bucket changes the head of the pump: compare branches with one another. The tolerance is half a second of the watch and 10 mL of the jug; beyond twice that, look for a kink, a burr or air."),
        facts,
    );
    for (k, bank) in sheets.iter().enumerate() {
        let base = format!("/job/bucket/banks/{k}");
        let whole = facts.under(&base, "volume_flow_m3_s", Form::Show(Kind::VolumeFlow));
        let ten = facts.under(&base, "seconds_per_ten_litres", Form::Seconds);
        sink.html
            .heading(3, &format!("Bank {}.{}", bank.owner, bank.bank));
        sink.html.line(
            &Line::words("Whole bank: ")
                .fig(whole)
                .and(", ten litres in ")
                .fig(ten)
                .and(" s."),
            facts,
        );
        let mut sheet = Sheet::new(
            format!("bucket_{}_{}", bank.owner, bank.bank),
            format!("Branches of {}", bank.bank),
        )
        .words("branch", "branch")
        .numbers("port", "port", Form::Count)
        .numbers("one litre", "seconds_per_litre", Form::Seconds)
        .numbers("give or take", "tolerance_s", Form::Seconds)
        .numbers("of mean", "flow_over_mean", Form::Percent1)
        .words("measured, s", "measured_s");
        for (b, branch) in bank.branches.iter().enumerate() {
            let at = format!("{base}/branches/{b}");
            sheet.row(vec![
                branch.id.clone().into(),
                facts.under(&at, "port", Form::Count).into(),
                facts.under(&at, "seconds_per_litre", Form::Seconds).into(),
                facts.under(&at, "tolerance_s", Form::Seconds).into(),
                facts.under(&at, "flow_over_mean", Form::Percent1).into(),
                Field::Open,
            ]);
        }
        sink.sheet(&sheet);
    }
}

fn pressure_test(pack: &Pack<'_, '_>, sink: &mut Sink<'_>) {
    let facts = &pack.facts;
    sink.html.heading(2, "Pressure test");
    sink.html.say(
        "With water, not air; live parts switched off, locked and proven dead; people clear. Raise the pressure slowly, shut the pump of the tester, and look at every joint. What the loop must bear is its highest pressure with the flow shut off; test at 1.5 times that (common practice, no source), never above the rating of any part: take rated parts out first where it would be.",
    );
    let gauge = Form::Column(Kind::GaugePressure);
    let mut sheet = Sheet::new("pressure_test", "Pressure test")
        .words("loop", "loop")
        .numbers(
            "highest of all parts, shut off",
            "shut_off_static_gauge_pressure_pa",
            gauge,
        )
        .words("tested at", "tested_at")
        .words("held for", "held_for")
        .words("fell by", "fell_by")
        .words("leaks found", "leaks");
    for pages in &pack.job.loops {
        let highest = pages
            .ledger
            .iter()
            .enumerate()
            .filter_map(|(k, s)| Some((k, s.shut_off_gauge_pa?)))
            .max_by(|a, b| a.1.total_cmp(&b.1));
        let base = pointer(&["job", "loops", &pages.owner, "pressure_along"]);
        let figure = highest.and_then(|(k, _)| {
            facts.figure(
                &format!("{base}/{k}/shut_off_static_gauge_pressure_pa"),
                gauge,
            )
        });
        sheet.row(vec![
            pages.owner.clone().into(),
            figure.into(),
            Field::Open,
            Field::Open,
            Field::Open,
            Field::Open,
        ]);
    }
    sink.sheet(&sheet);
}

fn record(sink: &mut Sink<'_>) {
    sink.html.heading(2, "Commissioning record");
    let mut sheet = Sheet::new("commissioning", "Done and seen")
        .words("step", "step")
        .words("result", "result")
        .words("date", "date")
        .words("initials", "initials");
    for step in [
        "Live parts switched off, locked, proven dead",
        "Hoses cut and clamped as in the cut list",
        "Headers drilled, burrs removed, flushed",
        "Pressure test passed",
        "Bucket test of every branch within tolerance",
        "Filled and bled, topped up warm",
        "Glycol share measured (refractometer)",
        "Cap and tank as in the design",
        "Pump and fan turn the right way, current measured",
        "Temperatures under load compared with this page",
        "No leak and no drip on live parts after the first drive",
    ] {
        sheet.row(vec![step.into(), Field::Open, Field::Open, Field::Open]);
    }
    sink.sheet(&sheet);
    sink.html.say(
        "This page is an estimate from the numbers given, not a certificate. Local codes and licensed practice decide.",
    );
    sink.html.raw("<div class=\"sign\">");
    for who in [
        "Builder, date",
        "Helper at the bench, date",
        "Inspector, date",
    ] {
        sink.html.raw(&format!("<div>{who}</div>"));
    }
    sink.html.raw("</div>\n");
}

#[cfg(test)]
mod tests {
    use super::fraction;

    #[test]
    fn drills_are_written_as_the_shop_says_them() {
        assert_eq!(fraction(28), "7/16 in");
        assert_eq!(fraction(80), "1 1/4 in");
        assert_eq!(fraction(64), "1 in");
        assert_eq!(fraction(27), "27/64 in");
    }
}
