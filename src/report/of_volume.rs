//! What to buy and fill: litres by kind of part, glycol and water, growth, and the tank against it.

use super::block::{Report, Table};
use super::of_solution::{findings, number, unit};
use crate::quantity::{Kind, UnitFamily, show_si};
use crate::study::volume::{FILL_K, LoopVolume, TankCheck};

/// The coolant of every loop.
pub fn volume_report(volumes: &[LoopVolume], family: UnitFamily) -> Report {
    let mut report = Report::default();
    report.heading("Coolant");
    for volume in volumes {
        let head = format!(">{}", unit(Kind::Volume, family));
        let mut table = Table::new(&[&format!("coolant in {}", volume.owner), &head]);
        for (kind, m3) in &volume.kinds {
            table.row(vec![(*kind).into(), number(Kind::Volume, *m3, family)]);
        }
        let total = number(Kind::Volume, volume.total_m3, family);
        table.row(vec!["without the tank".into(), total]);
        report.table(table);
        report.say(fill_line(volume, family));
        if let Some(tank) = &volume.tank {
            report.say(tank_line(tank, family));
        }
        report.list(findings(&volume.findings));
    }
    report.say(format!(
        "Pumps, valves, tees and the end tanks of radiators are not counted; hoses are taken as stiff. Fill at {}.",
        show_si(Kind::Temperature, FILL_K, family)
    ));
    report
}

fn fill_line(volume: &LoopVolume, family: UnitFamily) -> String {
    let litres = |m3| show_si(Kind::Volume, m3, family);
    let degree = |k| show_si(Kind::Temperature, k, family);
    let mut text = format!(
        "{} weigh {}",
        litres(volume.total_m3),
        show_si(Kind::Mass, volume.mass_kg, family)
    );
    if let Some(buy) = volume.purchase {
        text.push_str(&format!(
            ": {} of {} and {} of water, and what the tank holds besides",
            litres(buy.glycol_m3),
            buy.glycol,
            litres(buy.water_m3)
        ));
    }
    text.push_str(&format!(
        ". They grow by {} from the fill to {}, by {} from {}.",
        litres(volume.growth_from_fill_m3),
        degree(volume.hottest_k),
        litres(volume.growth_from_cold_m3),
        degree(volume.coldest_k)
    ));
    text
}

fn tank_line(tank: &TankCheck, family: UnitFamily) -> String {
    let has = tank.volume_m3.map_or("volume not given".to_owned(), |v| {
        format!("has {}", show_si(Kind::Volume, v, family))
    });
    let gauge = |pa| show_si(Kind::GaugePressure, pa, family);
    let cap = tank.cap_pa.map_or("no cap pressure given".to_owned(), |p| {
        format!("cap {}", gauge(p))
    });
    format!(
        "`{}`: at least {} (growth, a tenth more, as much air; common practice), {has}; air at {}, {cap}.",
        tank.id,
        show_si(Kind::Volume, tank.minimum_m3, family),
        gauge(tank.gauge_pa)
    )
}
