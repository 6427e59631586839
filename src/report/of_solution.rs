//! What a solved case means to a builder at the bench: pumps, what eats the pressure, modules, devices, cores.

use super::advice::CAUTIONS;
use super::block::{Cell, Report, Table, Tone};
use super::of_bank::{bank_blocks, hottest_line};
use super::of_check::limit_table;
use super::of_device::{device_table, exchanger_table, radiator_blocks, show_travel};
use super::of_shut_off::shut_off_table;
use super::of_time::span_line;
use crate::finding::Finding;
use crate::network::{Case, Network};
use crate::quantity::{Kind, UnitFamily, in_unit, show_si, significant, unit_symbol};
use crate::solve::{Carried, PumpState, Solution, SolveError, ThermostatState};
use crate::study::LimitRow;
use crate::study::band::Band;

/// How a case is headed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Heading {
    /// With its weather and duty.
    Full,
    /// By its name alone.
    Short,
}

pub(super) fn number(kind: Kind, si: f64, family: UnitFamily) -> Cell {
    significant(in_unit(kind, si, family), 3).into()
}

pub(super) fn temperature(si: f64, family: UnitFamily) -> Cell {
    format!("{:.1}", in_unit(Kind::Temperature, si, family)).into()
}

pub(super) fn unit(kind: Kind, family: UnitFamily) -> &'static str {
    unit_symbol(kind, family)
}

/// The first lines of a report: title and what is known before anything is solved.
pub fn opening(network: &Network) -> Report {
    let mut report = Report::default();
    report.title(network.title());
    if !network.placeholders().is_empty() {
        let text = format!(
            "Provisional: these rest on placeholders that nobody has measured: {}.",
            network.placeholders().join(", ")
        );
        report.say(Cell::toned(text, Tone::Warn));
    }
    report.list(findings(network.findings()));
    report
}

/// The last lines of a report: cautions.
pub fn closing() -> Report {
    let mut report = Report::default();
    report.heading("Cautions");
    report.list(CAUTIONS.iter().map(|c| (*c).into()).collect());
    report
}

/// Findings as a list.
pub(super) fn findings(found: &[Finding]) -> Vec<Cell> {
    found
        .iter()
        .map(|f| Cell::toned(format!("{}: {}", f.subject, f.text), Tone::Warn))
        .collect()
}

/// The weather and duty of a case in one line.
pub(super) fn case_line(case: &Case, family: UnitFamily) -> String {
    let mut text = format!(
        "air {}",
        show_si(Kind::Temperature, case.air_temperature_k, family)
    );
    if case.travel_speed_m_s > 0.0 {
        text.push_str(&format!(", {}", show_travel(case.travel_speed_m_s, family)));
    } else {
        text.push_str(", standing");
    }
    if let Some(span) = case.time {
        text.push_str(&span_line(span.duration_s, span.start_k, family));
    }
    if let Some(k) = case.coolant_temperature_k {
        text.push_str(&format!(
            "; flows alone, all coolant at {}",
            show_si(Kind::Temperature, k, family)
        ));
    }
    text
}

/// A case that has no answer.
pub fn failure_report(case: &Case, error: &SolveError, family: UnitFamily) -> Report {
    let mut report = Report::default();
    report.title(format!("{}: {}", case.name, case_line(case, family)));
    report.say(Cell::toned(format!("no answer: {error}"), Tone::Bad));
    report
}

/// A solved case with its limits.
pub fn case_report(
    solution: &Solution<'_>,
    limits: &[LimitRow],
    bands: &[Band],
    family: UnitFamily,
) -> Report {
    let mut report = Report::default();
    report.title(format!(
        "{}: {}",
        solution.case().name,
        case_line(solution.case(), family)
    ));
    let names: Vec<String> = solution.loop_names().map(str::to_owned).collect();
    for name in &names {
        loop_blocks(&mut report, solution, name, bands, family);
        report.table(shut_off_table(solution, name, limits, family));
    }
    for radiator in solution.network().radiators() {
        radiator_blocks(&mut report, solution, &radiator.name, family);
    }
    if !limits.is_empty() {
        report.heading("Limits");
        limit_table(&mut report, limits, family);
    }
    let found = findings(solution.findings());
    if !found.is_empty() {
        report.heading("Findings");
        report.list(found);
    }
    report.say(effort_line(solution, &names));
    report
}

fn effort_line(solution: &Solution<'_>, names: &[String]) -> String {
    let effort = solution.effort();
    let closures: Vec<_> = names.iter().filter_map(|n| solution.closure(n)).collect();
    let mass = closures.iter().map(|c| c.mass_kg_s).fold(0.0, f64::max);
    let energy = closures.iter().map(|c| c.energy_w).fold(0.0, f64::max);
    format!(
        "Closures, recomputed: mass within {mass:.0e} kg/s, energy within {energy:.0e} W. Effort: {} Newton steps at most, {} passes.",
        effort.newton_iterations_max, effort.passes
    )
}

fn loop_blocks(
    report: &mut Report,
    solution: &Solution<'_>,
    name: &str,
    bands: &[Band],
    family: UnitFamily,
) {
    let Some(state) = solution.loop_state(name) else {
        return;
    };
    report.heading(format!("Loop {name}: {}", state.circuit.coolant.describe()));
    for pump in solution.pumps(name) {
        let heat_w = solution.part(name, &pump.id).map_or(0.0, |p| p.heat_w);
        report.say(pump_line(&pump, heat_w, family));
    }
    for thermostat in solution.thermostats(name) {
        report.say(thermostat_line(&thermostat, family));
    }
    report.table(pressure_table(solution, name, family));
    for bank in solution.banks(name) {
        bank_blocks(report, solution, name, bank, bands, family);
    }
    if solution.banks(name).len() > 1
        && solution.carried(name) == Some(Carried::Solved)
        && let Some(hottest) = solution.hottest_of_loop(name)
    {
        report.say(hottest_line(&hottest, "the mean of the loop", family));
    }
    report.table(device_table(solution, name, family));
    report.table(exchanger_table(solution, name, family));
}

fn pump_line(pump: &PumpState, heat_w: f64, family: UnitFamily) -> Cell {
    let flow = show_si(Kind::VolumeFlow, pump.volume_flow_m3_s, family);
    let rise = show_si(Kind::PressureDifference, pump.pressure_rise_pa, family);
    let share = pump.share_of_free_flow.map_or("standing".to_owned(), |s| {
        format!("{:.0} % of its free flow", 100.0 * s)
    });
    let warms = if heat_w > 0.0 {
        format!(
            "; warms the coolant with {}",
            show_si(Kind::Power, heat_w, family)
        )
    } else {
        String::new()
    };
    format!(
        "`{}` moves {flow} at {rise}: {share}; shut-off {}; inlet {} above boiling{warms}.",
        pump.id,
        show_si(Kind::PressureDifference, pump.shut_off_rise_pa, family),
        show_si(
            Kind::PressureDifference,
            pump.inlet_margin_over_boiling_pa,
            family
        )
    )
    .into()
}

fn thermostat_line(thermostat: &ThermostatState, family: UnitFamily) -> Cell {
    let show = |k| show_si(Kind::Temperature, k, family);
    if let Some(bypass) = thermostat.bypass_opening {
        return format!(
            "`{}` has the radiator's way {:.0} % open and the bypass {:.0} %, with {} mixed (opens at {}, fully open at {}); hysteresis and lag are not modelled.",
            thermostat.id,
            100.0 * thermostat.opening,
            100.0 * bypass,
            show(thermostat.inlet_temperature_k),
            show(thermostat.opens_k),
            show(thermostat.fully_open_k)
        )
        .into();
    }
    format!(
        "`{}` is {:.0} % open with {} at its inlet (opens at {}, fully open at {}); hysteresis and lag are not modelled.",
        thermostat.id,
        100.0 * thermostat.opening,
        show(thermostat.inlet_temperature_k),
        show(thermostat.opens_k),
        show(thermostat.fully_open_k)
    )
    .into()
}

/// One line of "what eats the pressure".
pub(super) struct Eater {
    pub id: String,
    pub kind: &'static str,
    flow_m3_s: f64,
    drop_pa: Option<f64>,
    pub power_w: f64,
    /// Power over that of all together.
    pub share: f64,
}

/// Parts ranked by the pump power they use up; a bank counts as one part, a tee with its legs.
pub(super) fn eaters(solution: &Solution<'_>, name: &str) -> Vec<Eater> {
    let mut list: Vec<Eater> = Vec::new();
    let parts = solution.parts(name);
    let banks = solution.banks(name);
    let bank_of = |id: &str| {
        banks.iter().find(|b| {
            id.strip_prefix(b.id.as_str())
                .is_some_and(|r| r.starts_with('.'))
        })
    };
    for part in parts.iter().filter(|p| p.kind != "pump") {
        let power_w = part.pressure_drop_pa * part.volume_flow_m3_s;
        if let Some(bank) = bank_of(&part.id) {
            match list.iter_mut().find(|e| e.id == bank.id) {
                Some(eater) => eater.power_w += power_w,
                None => list.push(Eater {
                    id: bank.id.clone(),
                    kind: "bank",
                    flow_m3_s: bank.volume_flow_m3_s,
                    drop_pa: Some(bank.drop_pa),
                    power_w,
                    share: 0.0,
                }),
            }
            continue;
        }
        list.push(Eater {
            id: part.id.clone(),
            kind: part.kind,
            flow_m3_s: part.volume_flow_m3_s,
            drop_pa: Some(part.pressure_drop_pa),
            power_w,
            share: 0.0,
        });
    }
    for (id, power_w) in solution.tee_power_w(name) {
        match bank_of(&id).and_then(|b| list.iter_mut().find(|e| e.id == b.id)) {
            Some(eater) => eater.power_w += power_w,
            None => list.push(Eater {
                id,
                kind: "tee",
                flow_m3_s: f64::NAN,
                drop_pa: None,
                power_w,
                share: 0.0,
            }),
        }
    }
    list.sort_by(|a, b| b.power_w.total_cmp(&a.power_w));
    let total: f64 = list.iter().map(|e| e.power_w).sum();
    if total > 0.0 {
        for eater in &mut list {
            eater.share = eater.power_w / total;
        }
    }
    list
}

fn pressure_table(solution: &Solution<'_>, name: &str, family: UnitFamily) -> Table {
    let flow_head = format!(">{}", unit(Kind::VolumeFlow, family));
    let drop_head = format!(">drop {}", unit(Kind::PressureDifference, family));
    let mut table = Table::new(&[
        "what eats the pressure",
        "",
        &flow_head,
        &drop_head,
        ">of pump power",
        "",
    ]);
    let list = eaters(solution, name);
    for eater in &list {
        let share = eater.share;
        let flow = if eater.flow_m3_s.is_nan() {
            "".into()
        } else {
            number(Kind::VolumeFlow, eater.flow_m3_s, family)
        };
        let drop = eater
            .drop_pa
            .map_or("".into(), |d| number(Kind::PressureDifference, d, family));
        table.row(vec![
            eater.id.clone().into(),
            eater.kind.replace('_', " ").into(),
            flow,
            drop,
            format!("{:.0} %", 100.0 * share).into(),
            "#".repeat((20.0 * share).round().max(0.0) as usize).into(),
        ]);
    }
    table
}
