//! The charts of the drawn case, loop by loop: pumps, pressures, banks; then the radiators.

mod banks;
mod machines;

use super::{Pack, Sink};
use crate::quantity::{Kind, UnitFamily, in_unit, unit_symbol};
use crate::report::page::{Form, Line, Sheet, pointer};
use crate::report::svg::{Bar, BarChart, FromZero, LineChart, Look, Marker, Series};
use crate::study::job::LoopPages;
use banks::bank_charts;
use machines::{Machine, machine, window};

pub(super) fn write(pack: &Pack<'_, '_>, sink: &mut Sink<'_>) {
    let Some(solution) = pack.job.drawn_solution() else {
        return;
    };
    sink.html
        .heading(2, &format!("Charts of case {}", solution.case().name));
    for (k, pages) in pack.job.loops.iter().enumerate() {
        sink.html.heading(3, &format!("Loop {}", pages.owner));
        sink.html.raw("<div class=\"charts\">");
        for (p, pump) in pages.pumps.iter().enumerate() {
            machine(pack, sink, pump, &format!("pump-{k}-{p}"), Machine::Pump);
        }
        ledger(pack, sink, pages, k);
        eaten(pack, sink, pages, k);
        for (b, bank) in solution.banks(&pages.owner).iter().enumerate() {
            bank_charts(
                pack,
                sink,
                solution,
                &pages.owner,
                bank,
                &format!("{k}-{b}"),
            );
        }
        sink.html.raw("</div>\n");
    }
    if pack.job.partition.is_some() || !pack.job.fans.is_empty() {
        sink.html.heading(3, "Radiators");
        sink.html.raw("<div class=\"charts\">");
        if let Some(answer) = &pack.job.partition {
            window(pack, sink, answer);
        }
        for (k, fan) in pack.job.fans.iter().enumerate() {
            machine(pack, sink, fan, &format!("fan-{k}"), Machine::Fan);
        }
        sink.html.raw("</div>\n");
    }
}

fn family(pack: &Pack<'_, '_>) -> UnitFamily {
    pack.facts.units.first()
}

fn ledger(pack: &Pack<'_, '_>, sink: &mut Sink<'_>, pages: &LoopPages, k: usize) {
    if pages.ledger.is_empty() {
        return;
    }
    let family = family(pack);
    let gauge = |pa: f64| in_unit(Kind::GaugePressure, pa, family);
    let mut running = Vec::new();
    let mut rest = Vec::new();
    for (n, step) in pages.ledger.iter().enumerate() {
        let n = n as f64;
        running.push((n + 0.6, gauge(step.inlet_gauge_pa)));
        running.push((n + 1.4, gauge(step.outlet_gauge_pa)));
        if let Some(pa) = step.shut_off_gauge_pa {
            rest.push((n + 0.6, gauge(pa)));
            rest.push((n + 1.4, gauge(pa)));
        }
    }
    let mut series = vec![Series {
        label: "running".into(),
        look: Look(0),
        points: running,
        marked: Marker::None,
    }];
    if !rest.is_empty() {
        series.push(Series {
            label: "highest with the flow shut off".into(),
            look: Look(1),
            points: rest,
            marked: Marker::None,
        });
    }
    let svg = LineChart {
        id: &format!("ledger-{k}"),
        title: &format!("Pressure along loop {}", pages.owner),
        description: "Static pressure before and behind each part, numbered as in the table below the chart.",
        x_title: "part, by its number in the table",
        y_title: &format!("static pressure, {}", unit_symbol(Kind::GaugePressure, family)),
        series,
        thresholds: Vec::new(),
        spans: Vec::new(),
        from_zero: FromZero::No,
    }
    .draw();
    sink.html.raw("<section>");
    sink.html.figure(
        "chart",
        &svg,
        &format!(
            "What a gauge reads along loop {}, from the tank round.",
            pages.owner
        ),
    );
    let mut sheet = Sheet::new(
        format!("pressure_along_{}", pages.owner),
        format!("Pressure along loop {}", pages.owner),
    )
    .words("part", "part")
    .words("no.", "number")
    .numbers(
        "in",
        "inlet_static_gauge_pressure_pa",
        Form::Column(Kind::GaugePressure),
    )
    .numbers(
        "out",
        "outlet_static_gauge_pressure_pa",
        Form::Column(Kind::GaugePressure),
    )
    .numbers(
        "shut off",
        "shut_off_static_gauge_pressure_pa",
        Form::Column(Kind::GaugePressure),
    );
    for (n, step) in pages.ledger.iter().enumerate() {
        let base = format!(
            "{}/{n}",
            pointer(&["job", "loops", &pages.owner, "pressure_along"])
        );
        let at = |key: &str| {
            pack.facts
                .under(&base, key, Form::Column(Kind::GaugePressure))
        };
        sheet.row(vec![
            step.id.clone().into(),
            format!("{}", n + 1).into(),
            at("inlet_static_gauge_pressure_pa").into(),
            at("outlet_static_gauge_pressure_pa").into(),
            at("shut_off_static_gauge_pressure_pa").into(),
        ]);
    }
    sink.sheet(&sheet);
    sink.html.raw("</section>");
}

fn eaten(pack: &Pack<'_, '_>, sink: &mut Sink<'_>, pages: &LoopPages, k: usize) {
    let base = pointer(&["job", "loops", &pages.owner, "pressure_eaters"]);
    let Some(list) = pack.facts.root.pointer(&base).and_then(|v| v.as_array()) else {
        return;
    };
    let bars: Vec<Bar> = list
        .iter()
        .enumerate()
        .filter_map(|(n, eater)| {
            let figure = pack
                .facts
                .figure(&format!("{base}/{n}/share"), Form::Percent1)?;
            let id = eater["id"].as_str()?;
            let kind = eater["kind"].as_str()?.replace('_', " ");
            let label = if kind == "hose" || kind == "bank" {
                format!("{id} ({kind})")
            } else {
                id.to_owned()
            };
            let line = Line::default().fig(Some(figure.clone()));
            let label_text = line.label(pack.facts.units);
            Some(Bar {
                label,
                share: figure.si,
                plain: label_text.plain,
                markup: label_text.markup,
            })
        })
        .take(24)
        .collect();
    if bars.is_empty() {
        return;
    }
    let most = bars.iter().map(|b| b.share).fold(1e-9, f64::max);
    let bars = bars
        .into_iter()
        .map(|b| Bar {
            share: b.share / most,
            ..b
        })
        .collect();
    let svg = BarChart {
        id: &format!("eaten-{k}"),
        title: &format!("What eats the pressure of loop {}", pages.owner),
        description: "Share of the pump's power that each part uses up, largest first.",
        bars,
    }
    .draw();
    sink.html.figure(
        "chart",
        &svg,
        &format!(
            "What eats the pressure of loop {}: share of the power given to the coolant.",
            pages.owner
        ),
    );
}
