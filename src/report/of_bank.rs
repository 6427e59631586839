//! A bank as a builder reads it: how even, why, how sure, and one row a module.

use super::block::{Cell, Report, Table, Tone};
use super::of_solution::{number, temperature, unit};
use crate::quantity::{Kind, UnitFamily, in_unit, show_si, significant};
use crate::solve::{BankState, Carried, HotCause, HottestModule, PartState, Solution, WorstBranch};
use crate::study::band::Band;

/// Reynolds numbers below and above which flow is called laminar and turbulent.
const REGIMES: (f64, f64) = (2000.0, 4000.0);
/// Shares off the mean from which a module is marked for a look, and as wrong (proposed bands: common practice).
const MARKS: (f64, f64) = (0.1, 0.2);

/// Everything about one bank.
pub(super) fn bank_blocks(
    report: &mut Report,
    solution: &Solution<'_>,
    name: &str,
    bank: &BankState,
    bands: &[Band],
    family: UnitFamily,
) {
    let solved = solution.carried(name) == Some(Carried::Solved);
    report.say(bank_line(bank, solved, family));
    if let Some(worst) = &bank.worst {
        report.say(worst_line(worst, family));
    }
    if solved && let Some(hottest) = solution.hottest_of_bank(name, &bank.id) {
        report.say(hottest_line(&hottest, "the mean of the bank", family));
    }
    if let Some(band) = bands.iter().find(|b| b.owner == name && b.bank == bank.id) {
        report.say(band_line(band));
    }
    report.table(module_table(solution, name, bank, solved, family));
}

fn module_table(
    solution: &Solution<'_>,
    name: &str,
    bank: &BankState,
    solved: bool,
    family: UnitFamily,
) -> Table {
    let degree = unit(Kind::Temperature, family);
    let mut heads = vec![
        "module".to_owned(),
        format!(">{}", unit(Kind::VolumeFlow, family)),
        ">of mean".to_owned(),
        "regime".to_owned(),
        format!(">supply {}", unit(Kind::GaugePressure, family)),
        ">return".to_owned(),
    ];
    if solved {
        heads.extend([
            format!(">in {degree}"),
            format!(">out {degree}"),
            format!(">module {degree}"),
        ]);
    }
    let mut table = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    let Some(state) = solution.loop_state(name) else {
        return table;
    };
    let Some(map) = state.circuit.banks.iter().find(|b| b.name == bank.id) else {
        return table;
    };
    let parts = solution.parts(name);
    for (k, module) in state.circuit.modules[map.modules.clone()]
        .iter()
        .enumerate()
    {
        let circuits: Vec<&PartState> = module.circuits.iter().map(|&e| &parts[e]).collect();
        let mut row: Vec<Cell> = vec![format!("{}", k + 1).into()];
        if circuits.is_empty() {
            row.extend(["-".into(), "-".into(), "missing".into()]);
            row.resize(table.columns.len(), "-".into());
            table.row(row);
            continue;
        }
        let flow: f64 = circuits.iter().map(|c| c.volume_flow_m3_s).sum();
        let mass: f64 = circuits.iter().map(|c| c.mass_flow_kg_s).sum();
        let mixed = |of: fn(&PartState) -> f64| {
            if mass == 0.0 {
                return of(circuits[0]);
            }
            circuits
                .iter()
                .map(|c| of(c) * c.mass_flow_kg_s)
                .sum::<f64>()
                / mass
        };
        let over = bank.branch_flow_over_mean[k];
        let off = (over - 1.0).abs();
        let tone = if off > MARKS.1 {
            Tone::Bad
        } else if off > MARKS.0 {
            Tone::Warn
        } else {
            Tone::Plain
        };
        row.push(number(Kind::VolumeFlow, flow, family));
        row.push(Cell::toned(format!("{:.1} %", 100.0 * over), tone));
        row.push(regime(parts, &bank.id, k, circuits.len()).into());
        let at = |list: &[f64]| {
            let pa = bank.module_port[k].and_then(|p| list.get(p));
            pa.map_or("-".into(), |pa| number(Kind::GaugePressure, *pa, family))
        };
        row.push(at(&bank.supply_static_gauge_pa));
        row.push(at(&bank.return_static_gauge_pa));
        if solved {
            row.push(temperature(mixed(|c| c.inlet_temperature_k), family));
            row.push(temperature(mixed(|c| c.outlet_temperature_k), family));
            row.push(temperature(bank.module_temperature_k[k], family));
        }
        table.row(row);
    }
    table
}

fn bank_line(bank: &BankState, solved: bool, family: UnitFamily) -> String {
    let ratio = bank
        .max_over_min
        .map_or("-".to_owned(), |r| significant(r, 3));
    let share = |pa: f64| {
        if bank.branch_loss_pa > 0.0 {
            significant(pa / bank.branch_loss_pa, 2)
        } else {
            "-".to_owned()
        }
    };
    let mut text = format!(
        "Bank `{}` loses {}: worst circuit {:.0} % off the mean, largest over smallest {ratio}",
        bank.id,
        show_si(Kind::PressureDifference, bank.drop_pa, family),
        100.0 * bank.deviation,
    );
    if solved {
        text.push_str(&format!(
            ", modules {} apart",
            show_si(
                Kind::TemperatureDifference,
                bank.module_temperature_spread_k,
                family
            )
        ));
    }
    text.push_str(&format!(
        ". Header area {} times the ports'; its velocity head {} and its friction {} of a branch's loss.",
        significant(bank.area_ratio, 2),
        share(bank.header_head_pa),
        share(bank.header_friction_pa),
    ));
    text
}

fn worst_line(worst: &WorstBranch, family: UnitFamily) -> String {
    let signed = |pa: f64| {
        let sign = if pa < 0.0 { "-" } else { "+" };
        format!(
            "{sign}{}",
            show_si(Kind::PressureDifference, pa.abs(), family)
        )
    };
    format!(
        "`{}` gets {:.0} % of the mean because of {}: against the mean of the branches, friction gives it {} and the tees {}.",
        worst.id,
        100.0 * worst.over_mean,
        worst.cause.words(),
        signed(worst.friction_pa),
        signed(worst.momentum_pa)
    )
}

/// The hottest module and what makes it so.
pub(super) fn hottest_line(hottest: &HottestModule, mean: &str, family: UnitFamily) -> String {
    let kelvin = |k: f64| {
        let shown = in_unit(Kind::TemperatureDifference, k, family);
        let shown = format!("{shown:+.2}");
        // What rounds to nothing has no sign.
        match shown.as_str() {
            "+0.00" | "-0.00" => "0.00".to_owned(),
            _ => shown,
        }
    };
    let at = show_si(Kind::Temperature, hottest.temperature_k, family);
    let excess = show_si(Kind::TemperatureDifference, hottest.excess_k, family);
    let start = format!(
        "`{}` is the hottest, {at}, {excess} above {mean}",
        hottest.id
    );
    let flow = format!("{:.0} %", 100.0 * hottest.flow_over_mean);
    let why = match hottest.cause {
        HotCause::NoFlow => return format!("{start}, because no coolant flows through it."),
        HotCause::Even => return format!("{start}: the modules are alike."),
        HotCause::LessFlow => {
            format!("mostly because it gets {flow} of the mean flow, which warms more on its way")
        }
        HotCause::WarmerInlet => "mostly because its coolant comes in warmer".to_owned(),
        HotCause::MoreHeat => "mostly because it gives more heat than the others".to_owned(),
        HotCause::WeakerFilm => {
            "mostly because heat passes less well from it into its coolant".to_owned()
        }
    };
    format!(
        "{start}: {why}. Of that, in {}: less flow {}, warmer inlet {}, more heat {}, weaker film {}, the rest {}. Its coolant warms by {}.",
        unit(Kind::TemperatureDifference, family),
        kelvin(hottest.less_flow_k),
        kelvin(hottest.warmer_inlet_k),
        kelvin(hottest.more_heat_k),
        kelvin(hottest.weaker_film_k),
        kelvin(hottest.rest_k),
        show_si(Kind::TemperatureDifference, hottest.coolant_rise_k, family)
    )
}

fn band_line(band: &Band) -> String {
    let (low, high) = band.deviation();
    let others: Vec<String> = band
        .readings
        .iter()
        .skip(1)
        .map(|r| format!("{} {:.0} %", r.label, 100.0 * r.deviation))
        .collect();
    format!(
        "How sure: {:.0} to {:.0} % off the mean ({}).",
        100.0 * low,
        100.0 * high,
        others.join(", ")
    )
}

/// The regime in the tails of a module.
fn regime(parts: &[PartState], bank: &str, module: usize, circuits: usize) -> String {
    let tails = (1..=circuits).filter_map(|c| {
        let id = format!("{bank}.module {}.circuit {c}.supply tail", module + 1);
        parts.iter().find(|p| p.id == id)?.reynolds
    });
    let Some(worst) = tails.reduce(f64::max) else {
        return String::new();
    };
    let word = if worst < REGIMES.0 {
        "laminar"
    } else if worst > REGIMES.1 {
        "turbulent"
    } else {
        "between"
    };
    format!("{word}, Re {}", significant(worst, 2))
}
