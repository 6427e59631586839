//! The charts of one bank: flow of each module with its band, pressure along both headers, temperatures.

use super::family;
use crate::quantity::{Kind, Quantity, in_unit, unit_symbol};
use crate::report::of_job::{Pack, Sink};
use crate::report::page::Form;
use crate::report::svg::{ColumnChart, ColumnSeries, Joined, Look, Threshold};
use crate::solve::{BankState, Carried, Solution};
use crate::study::band::Band;

pub(super) fn bank_charts(
    pack: &Pack<'_, '_>,
    sink: &mut Sink<'_>,
    solution: &Solution<'_>,
    owner: &str,
    bank: &BankState,
    id: &str,
) {
    let family = family(pack);
    let limits = pack.design.limits.clone().unwrap_or_default();
    let mut thresholds = Vec::new();
    if let Some(most) = limits.module_flow_deviation.and_then(|b| b.max) {
        thresholds.push(Threshold {
            label: format!("limit, {:.0} % above", 100.0 * most),
            value: 100.0 * (1.0 + most),
        });
        thresholds.push(Threshold {
            label: format!("limit, {:.0} % below", 100.0 * most),
            value: 100.0 * (1.0 - most),
        });
    }
    let band = pack
        .job
        .drawn_bands()
        .iter()
        .find(|b| b.owner == owner && b.bank == bank.id);
    let values: Vec<f64> = bank
        .branch_flow_over_mean
        .iter()
        .map(|v| 100.0 * v)
        .collect();
    let bands = band.map_or(Vec::new(), |b| band_of(b, &bank.branch_flow_over_mean));
    let svg = ColumnChart {
        id: &format!("flow-{id}"),
        title: &format!("Flow of each module of {}", bank.id),
        description: "Flow over the mean of the bank, in per cent.",
        x_title: "module, counted from the near end",
        y_title: "flow, % of mean",
        series: vec![ColumnSeries {
            label: "flow".into(),
            look: Look(0),
            values,
            bands,
            joined: Joined::Columns,
        }],
        thresholds,
        band_label: "band of other tee models and branch losses",
        base: Some(0.0),
    }
    .draw();
    sink.html.figure(
        "chart",
        &svg,
        &format!("Flow of each module of {}.", bank.id),
    );
    let gauge = |list: &[f64]| {
        list.iter()
            .map(|p| in_unit(Kind::GaugePressure, *p, family))
            .collect()
    };
    let column = |label: &str, look: usize, values: Vec<f64>| ColumnSeries {
        label: label.into(),
        look: Look(look),
        values,
        bands: Vec::new(),
        joined: Joined::Line,
    };
    let svg = ColumnChart {
        id: &format!("header-{id}"),
        title: &format!("Static pressure along the headers of {}", bank.id),
        description: "Static pressure at each port of the supply and of the return header.",
        x_title: "port, counted from the near end",
        y_title: &format!(
            "static pressure, {}",
            unit_symbol(Kind::GaugePressure, family)
        ),
        series: vec![
            column("supply header", 0, gauge(&bank.supply_static_gauge_pa)),
            column("return header", 1, gauge(&bank.return_static_gauge_pa)),
        ],
        thresholds: Vec::new(),
        band_label: "",
        base: None,
    }
    .draw();
    sink.html.figure(
        "chart",
        &svg,
        &format!(
            "Static pressure along both headers of {}: their distance drives each branch.",
            bank.id
        ),
    );
    if solution.carried(owner) != Some(Carried::Solved) {
        return;
    }
    let degrees = |k: f64| in_unit(Kind::Temperature, k, family);
    let thresholds = limits.module_temperature.and_then(|b| b.max).map(|t| {
        let k = t.si();
        Threshold {
            label: format!("limit, {}", Form::Show(Kind::Temperature).text(k, family)),
            value: degrees(k),
        }
    });
    let svg = ColumnChart {
        id: &format!("heat-{id}"),
        title: &format!("Temperature of each module of {}", bank.id),
        description: "Module temperature, with the limit where one is stated.",
        x_title: "module, counted from the near end",
        y_title: &format!("temperature, {}", unit_symbol(Kind::Temperature, family)),
        series: vec![column(
            "module",
            2,
            bank.module_temperature_k
                .iter()
                .map(|k| degrees(*k))
                .collect(),
        )],
        thresholds: thresholds.into_iter().collect(),
        band_label: "",
        base: None,
    }
    .draw();
    sink.html.figure(
        "chart",
        &svg,
        &format!("Temperature of each module of {}.", bank.id),
    );
}

/// How far each module may be off where every reading of the bank scales the whole pattern: the least and the most of
/// the readings, over the design's own.
fn band_of(band: &Band, over_mean: &[f64]) -> Vec<(f64, f64)> {
    let Some(own) = band
        .readings
        .first()
        .map(|r| r.deviation)
        .filter(|d| *d > 1e-6)
    else {
        return Vec::new();
    };
    let (low, high) = band.deviation();
    over_mean
        .iter()
        .map(|v| {
            let (a, b) = (1.0 + (v - 1.0) * low / own, 1.0 + (v - 1.0) * high / own);
            (100.0 * a.min(b), 100.0 * a.max(b))
        })
        .collect()
}
