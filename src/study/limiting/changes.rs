//! The changes that are tried: a design with one thing made otherwise, each with the words for it.

use crate::correlation::SectionShape;
use crate::design::Design;
use crate::network::Network;
use crate::part::{Fitting, InsideSizes, Layout, Part, RoundSection};
use crate::quantity::{GaugePressure, Length, Quantity};
use crate::solve::Solver;
use crate::study::LimitRow;

/// Hoses tried, those that lose most.
const HOSES: usize = 4;

/// Designs with one thing changed, in the loop that the limit is about and the radiator it shares.
pub(super) fn changes(
    design: &Design,
    network: &Network,
    row: &LimitRow,
    case: &str,
) -> Vec<(String, Design)> {
    let of = |name: &str| {
        row.subject == name
            || row
                .subject
                .strip_prefix(name)
                .is_some_and(|r| r.starts_with('.'))
    };
    let Some(owner) = design.loops.keys().find(|n| of(n)).cloned() else {
        return Vec::new();
    };
    let mut list = Vec::new();
    let heavy = heaviest_hoses(network, &owner, case);
    let names: Vec<String> = design.loops[&owner].parts.keys().cloned().collect();
    for name in names {
        let mut vary = |words: String, change: &dyn Fn(&mut Part) -> bool| {
            let mut changed = design.clone();
            let part = changed
                .loops
                .get_mut(&owner)
                .and_then(|l| l.parts.get_mut(&name));
            if part.is_some_and(change) {
                list.push((words, changed));
            }
        };
        match &design.loops[&owner].parts[&name] {
            Part::Pump(_) => {
                vary(
                    format!("a pump that turns a seventh faster in place of `{name}`"),
                    &|p| turn(p, 1.15),
                );
                vary(
                    format!("a pump that turns a seventh slower in place of `{name}`"),
                    &|p| turn(p, 0.87),
                );
            }
            Part::Hose(_) if heavy.contains(&name) => {
                vary(
                    format!("a fifth more bore for `{name}` and its fittings"),
                    &|p| widen(p, 1.2),
                );
            }
            Part::Bank(_) => {
                vary(
                    format!("headers of `{name}` a quarter wider inside"),
                    &|p| widen_headers(p, 1.25),
                );
                vary(
                    format!("tails of `{name}` with a seventh more bore"),
                    &|p| bore_tails(p, 1.15),
                );
                vary(format!("tails of `{name}` with a tenth less bore"), &|p| {
                    bore_tails(p, 0.9)
                });
                vary(
                    format!("`{name}` fed and drawn off at opposite ends"),
                    &|p| lay(p, Layout::OppositeEnd),
                );
                vary(format!("`{name}` fed and drawn off at the centre"), &|p| {
                    lay(p, Layout::Centre)
                });
            }
            Part::ExpansionTank(_) => {
                vary(format!("`{name}` 0.3 m (1 ft) higher"), &|p| raise(p, 0.3));
                vary(format!("20 kPa (3 psi) more in `{name}`"), &|p| {
                    press(p, 20e3)
                });
                vary(
                    format!("a cap on `{name}` that opens 10 kPa (1.5 psi) earlier"),
                    &|p| ease(p, 10e3),
                );
            }
            _ => {}
        }
    }
    list.extend(radiator_changes(design, network, &owner));
    list
}

/// Names of the hoses of a loop that lose most.
fn heaviest_hoses(network: &Network, owner: &str, case: &str) -> Vec<String> {
    let Some(case) = network.cases().iter().find(|c| c.name == case) else {
        return Vec::new();
    };
    let mut case = case.clone();
    case.time = None;
    let mut solver = Solver::new(network);
    let Ok(solution) = solver.solve(&case) else {
        return Vec::new();
    };
    let parts = solution.parts(owner).iter();
    let mut hoses: Vec<_> = parts
        .filter(|p| p.kind == "hose" && !p.id.contains(".module "))
        .collect();
    hoses.sort_by(|a, b| {
        b.pressure_drop_pa
            .abs()
            .total_cmp(&a.pressure_drop_pa.abs())
    });
    hoses
        .into_iter()
        .take(HOSES)
        .map(|p| p.id.clone())
        .collect()
}

fn turn(part: &mut Part, factor: f64) -> bool {
    let Part::Pump(pump) = part else { return false };
    // A pump that turns faster: rise with the square, flow with the speed, also where a case sets the speed.
    for point in &mut pump.curve {
        point.0 = Quantity::from_si(point.0.si() * factor);
        point.1 = Quantity::from_si(point.1.si() * factor * factor);
    }
    true
}

fn times(length: &mut Length, factor: f64) {
    *length = Length::from_m(length.m() * factor);
}

fn widen_fittings(fittings: &mut [Fitting], factor: f64) {
    for fitting in fittings {
        if let Fitting::Barb(barb) = fitting {
            times(&mut barb.bore, factor);
        }
    }
}

fn widen(part: &mut Part, factor: f64) -> bool {
    let Part::Hose(hose) = part else { return false };
    let Some(bore) = &mut hose.bore else {
        return false;
    };
    times(bore, factor);
    widen_fittings(&mut hose.fittings, factor);
    true
}

fn widen_headers(part: &mut Part, factor: f64) -> bool {
    let Part::Bank(bank) = part else { return false };
    let headers = [
        &mut bank.header,
        &mut bank.supply_header,
        &mut bank.return_header,
    ];
    let mut any = false;
    for header in headers.into_iter().flatten() {
        if header.taper_to.is_some() || !header.steps.is_empty() {
            return false;
        }
        let Ok(shape) = header.shape_at(0, 0.0) else {
            return false;
        };
        match shape {
            SectionShape::Round { bore_m } => {
                header.round = Some(RoundSection {
                    bore: Some(Length::from_m(bore_m * factor)),
                    ..Default::default()
                });
            }
            SectionShape::Rectangle { width_m, height_m } => {
                header.square = None;
                header.rectangle = Some(InsideSizes {
                    width: Length::from_m(width_m * factor),
                    height: Length::from_m(height_m * factor),
                });
            }
            _ => return false,
        }
        any = true;
    }
    any
}

fn bore_tails(part: &mut Part, factor: f64) -> bool {
    let Part::Bank(bank) = part else { return false };
    let mut any = false;
    for tail in [&mut bank.tail, &mut bank.supply_tail, &mut bank.return_tail]
        .into_iter()
        .flatten()
    {
        times(&mut tail.bore, factor);
        widen_fittings(&mut tail.fittings, factor);
        any = true;
    }
    any
}

fn lay(part: &mut Part, layout: Layout) -> bool {
    let Part::Bank(bank) = part else { return false };
    if bank.feed.is_some() || bank.draw_off.is_some() || bank.layout.unwrap_or_default() == layout {
        return false;
    }
    bank.layout = Some(layout);
    true
}

fn raise(part: &mut Part, by_m: f64) -> bool {
    let Part::ExpansionTank(tank) = part else {
        return false;
    };
    let Some(height) = tank.elevation else {
        return false;
    };
    tank.elevation = Some(Length::from_m(height.m() + by_m));
    true
}

fn press(part: &mut Part, by_pa: f64) -> bool {
    let Part::ExpansionTank(tank) = part else {
        return false;
    };
    let now = tank.gauge_pressure.map_or(0.0, |p| p.si());
    tank.gauge_pressure = Some(GaugePressure::from_si(now + by_pa));
    true
}

fn ease(part: &mut Part, by_pa: f64) -> bool {
    let Part::ExpansionTank(tank) = part else {
        return false;
    };
    match tank.cap_pressure.map(|p| p.si() - by_pa) {
        Some(left) if left > 0.0 => {
            tank.cap_pressure = Some(GaugePressure::from_si(left));
            true
        }
        _ => false,
    }
}

/// Faster fans, and tubes moved to the loop's core from its neighbour.
fn radiator_changes(design: &Design, network: &Network, owner: &str) -> Vec<(String, Design)> {
    let mut list = Vec::new();
    for tie in network
        .cores()
        .iter()
        .filter(|t| network.loops()[t.circuit].name == owner)
    {
        let name = &network.radiators()[tie.radiator].name;
        let mut faster = design.clone();
        if let Some(radiator) = faster.radiators.get_mut(name)
            && !radiator.fans.is_empty()
        {
            for point in radiator.fans.iter_mut().flat_map(|f| &mut f.curve) {
                point.0 = Quantity::from_si(point.0.si() * 1.2);
                point.1 = Quantity::from_si(point.1.si() * 1.44);
            }
            list.push((format!("fans of `{name}` that turn a fifth faster"), faster));
        }
        for more in [2, 5] {
            let mut moved = design.clone();
            let Some(radiator) = moved.radiators.get_mut(name) else {
                continue;
            };
            let Some(mine) = radiator.cores.get_index_of(&tie.core) else {
                continue;
            };
            let other = if mine == 0 { 1 } else { mine - 1 };
            let Some((_, donor)) = radiator.cores.get_index(other) else {
                continue;
            };
            // A core cut by its face states no tubes, and none can be moved.
            let (Some(own), Some(spare)) = (radiator.cores[mine].tubes, donor.tubes) else {
                continue;
            };
            if spare <= more {
                continue;
            }
            radiator.cores[mine].tubes = Some(own + more);
            radiator.cores[other].tubes = Some(spare - more);
            let from = radiator.cores.get_index(other).map_or("", |c| c.0.as_str());
            list.push((
                format!(
                    "{more} tubes more for `{name}.{}`, taken from `{name}.{from}`",
                    tie.core
                ),
                moved.clone(),
            ));
        }
    }
    list
}
