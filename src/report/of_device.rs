//! Devices, exchangers and cores of a solved case.

use super::block::{Report, Table};
use super::of_core::core_sides_table;
use super::of_solution::{number, temperature, unit};
use crate::quantity::{Kind, UnitFamily, show_si, significant};
use crate::solve::{Carried, PartState, Solution};

pub(super) fn device_table(solution: &Solution<'_>, name: &str, family: UnitFamily) -> Table {
    let degree = unit(Kind::Temperature, family);
    let heads = [
        "device".to_owned(),
        format!(">heat {}", unit(Kind::Power, family)),
        format!(">in {degree}"),
        format!(">out {degree}"),
        format!(">rise {}", unit(Kind::TemperatureDifference, family)),
        format!(">device {degree}"),
    ];
    let mut table = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    if solution.carried(name) != Some(Carried::Solved) {
        return table;
    }
    let parts = solution.parts(name);
    let heated = |p: &&PartState| matches!(p.kind, "plate" | "heater");
    for part in parts.iter().filter(heated) {
        table.row(vec![
            part.id.clone().into(),
            number(Kind::Power, part.heat_w, family),
            temperature(part.inlet_temperature_k, family),
            temperature(part.outlet_temperature_k, family),
            number(
                Kind::TemperatureDifference,
                part.outlet_temperature_k - part.inlet_temperature_k,
                family,
            ),
            part.part_temperature_k
                .map_or("-".into(), |k| temperature(k, family)),
        ]);
    }
    table
}

pub(super) fn exchanger_table(solution: &Solution<'_>, name: &str, family: UnitFamily) -> Table {
    let degree = unit(Kind::Temperature, family);
    let heads = [
        "exchanger".to_owned(),
        format!(">heat out {}", unit(Kind::Power, family)),
        format!(">limit {}", unit(Kind::Power, family)),
        format!(">in {degree}"),
        format!(">out {degree}"),
        format!(">stream {degree}"),
        ">effectiveness".to_owned(),
    ];
    let mut table = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    if solution.carried(name) != Some(Carried::Solved) {
        return table;
    }
    let parts = solution.parts(name);
    for exchanger in solution.exchangers(name) {
        let Some(part) = parts.iter().find(|p| p.id == exchanger.id) else {
            continue;
        };
        table.row(vec![
            part.id.clone().into(),
            number(Kind::Power, -part.heat_w, family),
            exchanger
                .limit_w
                .map_or("-".into(), |w| number(Kind::Power, w, family)),
            temperature(part.inlet_temperature_k, family),
            temperature(part.outlet_temperature_k, family),
            temperature(exchanger.stream_temperature_k, family),
            exchanger
                .effectiveness
                .map_or("-".into(), |e| format!("{:.0} %", 100.0 * e).into()),
        ]);
    }
    table
}

pub(super) fn radiator_blocks(
    report: &mut Report,
    solution: &Solution<'_>,
    radiator: &str,
    family: UnitFamily,
) {
    let cores = solution.cores(radiator);
    if cores.is_empty() {
        return;
    }
    let radiators = solution.network().radiators();
    let front = (radiators.iter().find(|r| r.name == radiator))
        .and_then(|r| r.behind)
        .map(|front| format!(", behind {}", radiators[front].name));
    report.heading(format!("Radiator {radiator}{}", front.unwrap_or_default()));
    for fan in solution.fans(radiator) {
        let share = fan.share_of_free_flow.map_or("standing".to_owned(), |s| {
            format!("{:.0} % of its free flow", 100.0 * s)
        });
        report.say(format!(
            "`{}` moves {} at {}: {share}.",
            fan.name,
            show_air(fan.volume_flow_m3_s, family),
            show_air_pressure(fan.pressure_rise_pa, family),
        ));
    }
    let degree = unit(Kind::Temperature, family);
    let heads = [
        "core".to_owned(),
        "loop".to_owned(),
        format!(">heat out {}", unit(Kind::Power, family)),
        ">W/K".to_owned(),
        format!(">coolant in {degree}"),
        format!(">out {degree}"),
        format!(">air in {degree}"),
        format!(">out {degree}"),
        format!(">face {}", unit(Kind::Velocity, family)),
        ">effectiveness".to_owned(),
    ];
    let mut table = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    for core in &cores {
        let air_k = (core.air_inlet_temperature_k).unwrap_or(solution.case().air_temperature_k);
        let difference = core.inlet_temperature_k - air_k;
        let per_kelvin = if difference.abs() > 1e-6 {
            significant(core.heat_rejected_w / difference, 3)
        } else {
            "-".into()
        };
        table.row(vec![
            core.core.clone().into(),
            core.owner.clone().into(),
            number(Kind::Power, core.heat_rejected_w, family),
            per_kelvin.into(),
            temperature(core.inlet_temperature_k, family),
            temperature(core.outlet_temperature_k, family),
            core.air_inlet_temperature_k
                .map_or("-".into(), |k| temperature(k, family)),
            core.air_outlet_temperature_k
                .map_or("-".into(), |k| temperature(k, family)),
            number(Kind::Velocity, core.face_velocity_m_s, family),
            core.effectiveness
                .map_or("-".into(), |e| format!("{:.0} %", 100.0 * e).into()),
        ]);
    }
    report.table(table);
    report.table(core_sides_table(&cores, family));
    for core in &cores {
        for leak in core.tank_leaks.iter().filter(|l| l.heat_w > 0.0) {
            report.say(format!(
                "Through the tank plates {} leak from `{}` to `{}`.",
                show_si(Kind::Power, leak.heat_w, family),
                leak.from,
                core.core
            ));
        }
    }
}

/// Speed of travel: km/h or mph.
pub(super) fn show_travel(speed_m_s: f64, family: UnitFamily) -> String {
    match family {
        UnitFamily::Metric => format!("{} km/h", significant(speed_m_s * 3.6, 3)),
        // 1 mile = 1609.344 m, exact.
        UnitFamily::Us => format!("{} mph", significant(speed_m_s * 3600.0 / 1609.344, 3)),
    }
}

/// Air flow as fans are sold: m3/h or cubic feet per minute.
pub(super) fn show_air(flow_m3_s: f64, family: UnitFamily) -> String {
    match family {
        UnitFamily::Metric => format!("{} m3/h", significant(flow_m3_s * 3600.0, 3)),
        // 1 ft3 = 0.3048^3 m3, exact.
        UnitFamily::Us => format!(
            "{} cfm",
            significant(flow_m3_s * 60.0 / 0.3048_f64.powi(3), 3)
        ),
    }
}

/// Air pressure as fans are sold: Pa or inches of water.
pub(super) fn show_air_pressure(pa: f64, family: UnitFamily) -> String {
    match family {
        UnitFamily::Metric => format!("{} Pa", significant(pa, 3)),
        UnitFamily::Us => format!("{} inH2O", significant(pa / 249.088_91, 3)),
    }
}
