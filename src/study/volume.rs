//! How much coolant a loop holds, what to buy for it, how much it grows, and whether the tank has room for that.

use super::shut_off::coldest_k;
use crate::finding::{Finding, FindingKind};
use crate::fluid::Glycol;
use crate::id::Subject;
use crate::network::{Element, Loop, Network};
use crate::solve::Solution;

/// Temperature at which a loop is filled and coolant is bought, K.
pub const FILL_K: f64 = 293.15;
/// Coolant that a tank holds beyond the growth, as a share of it (common practice, no source).
const RESERVE: f64 = 0.10;
/// Whole tank over its greatest coolant: as much air again (common practice, no source).
const AIR_SPACE: f64 = 2.0;

/// Glycol and water of a mix, before mixing, at 20 degC.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Purchase {
    /// Which glycol.
    pub glycol: Glycol,
    /// Pure glycol, m3.
    pub glycol_m3: f64,
    /// Water, m3.
    pub water_m3: f64,
}

/// The tank of a loop against what its coolant does.
#[derive(Clone, Debug, PartialEq)]
pub struct TankCheck {
    /// The tank.
    pub id: String,
    /// Least whole volume by the rule: growth from the coldest air, a tenth more, and as much air again, m3.
    pub minimum_m3: f64,
    /// Its whole volume, where given, m3.
    pub volume_m3: Option<f64>,
    /// Gauge pressure of its air, Pa.
    pub gauge_pa: f64,
    /// Gauge pressure at which its cap opens, where given, Pa.
    pub cap_pa: Option<f64>,
}

/// The coolant of one loop.
#[derive(Clone, Debug, PartialEq)]
pub struct LoopVolume {
    /// The loop.
    pub owner: String,
    /// Litres by kind of part, in m3; only kinds that occur.
    pub kinds: Vec<(&'static str, f64)>,
    /// Parts whose coolant nobody stated; all figures are without them.
    pub unknown: Vec<String>,
    /// Sum over the kinds, without the tank, m3.
    pub total_m3: f64,
    /// Its mass when filled at 20 degC, kg.
    pub mass_kg: f64,
    /// What to buy, for a mix.
    pub purchase: Option<Purchase>,
    /// Coldest coolant, K.
    pub coldest_k: f64,
    /// Hottest coolant of the solved cases, K.
    pub hottest_k: f64,
    /// Growth from the fill to the hottest coolant, m3.
    pub growth_from_fill_m3: f64,
    /// Growth from the coldest to the hottest coolant, m3.
    pub growth_from_cold_m3: f64,
    /// The tank, where the loop has one.
    pub tank: Option<TankCheck>,
    /// What the builder should know.
    pub findings: Vec<Finding>,
}

/// The volumes of all loops, with the hottest coolant of these solutions.
///
/// Mass is kept: `V(T) = V_fill rho(T_fill) / rho(T)`, so a loop of `V` litres grows by `V (rho_fill/rho_hot - 1)` from the
/// fill and by `V rho_fill (1/rho_hot - 1/rho_cold)` from the coldest air. Hoses and tubes are taken as stiff. Pumps,
/// valves, tees, and the end tanks of a radiator are not counted; the tank is not part of the total.
pub fn run(network: &Network, solutions: &[&Solution<'_>]) -> Vec<LoopVolume> {
    network
        .loops()
        .iter()
        .map(|circuit| {
            let hottest = solutions
                .iter()
                .filter_map(|s| s.hottest_k(&circuit.name))
                .fold(FILL_K, f64::max);
            of(network, circuit, hottest)
        })
        .collect()
}

fn kind_of(element: &Element) -> Option<&'static str> {
    match element.kind {
        // Tails and links belong to an expanded bank.
        "hose" if element.id.as_str().contains(".module ") => Some("tails"),
        "hose" => Some("hoses"),
        "header" => Some("headers"),
        "circuit" => Some("modules"),
        "core" => Some("cores"),
        "plate" => Some("plates"),
        "heater" => Some("heaters"),
        "exchanger" => Some("exchangers"),
        _ => None,
    }
}

fn of(network: &Network, circuit: &Loop, hottest_k: f64) -> LoopVolume {
    let mut kinds: Vec<(&'static str, f64)> = Vec::new();
    let mut unknown: Vec<String> = Vec::new();
    for element in &circuit.net.elements {
        let Some(kind) = kind_of(element) else {
            continue;
        };
        let Some(volume) = element.volume_m3 else {
            let name = element.id.as_str();
            // All circuits of a bank share the records of its modules: its name is enough.
            let name = name.split(".module ").next().unwrap_or(name).to_owned();
            if !unknown.contains(&name) {
                unknown.push(name);
            }
            continue;
        };
        match kinds.iter_mut().find(|k| k.0 == kind) {
            Some(known) => known.1 += volume,
            None => kinds.push((kind, volume)),
        }
    }
    let total_m3: f64 = kinds.iter().map(|k| k.1).sum();
    let density = |k: f64| circuit.coolant.properties_extended(k).density_kg_m3;
    let cold_k = coldest_k(network, &circuit.coolant);
    let mass_kg = total_m3 * density(FILL_K);
    let hot_m3 = mass_kg / density(hottest_k);
    let growth_from_cold_m3 = (hot_m3 - mass_kg / density(cold_k)).max(0.0);
    let purchase = circuit.coolant.glycol_by_mass().map(|(glycol, share)| {
        let glycol_m3 = mass_kg * share / glycol.density_at_20_c_kg_m3();
        Purchase {
            glycol,
            glycol_m3,
            water_m3: mass_kg * (1.0 - share)
                / crate::fluid::Coolant::water()
                    .properties_extended(FILL_K)
                    .density_kg_m3,
        }
    });
    let tank = circuit.tanks.first().map(|tank| TankCheck {
        id: circuit.net.nodes[tank.node].id.to_string(),
        minimum_m3: growth_from_cold_m3 * (1.0 + RESERVE) * AIR_SPACE,
        volume_m3: tank.volume_m3,
        gauge_pa: tank.gauge_pa,
        cap_pa: tank.cap_pa,
    });
    let findings = findings(&circuit.name, &unknown, tank.as_ref());
    LoopVolume {
        owner: circuit.name.clone(),
        kinds,
        unknown,
        total_m3,
        mass_kg,
        purchase,
        coldest_k: cold_k,
        hottest_k,
        growth_from_fill_m3: hot_m3 - total_m3,
        growth_from_cold_m3,
        tank,
        findings,
    }
}

fn findings(owner: &str, unknown: &[String], tank: Option<&TankCheck>) -> Vec<Finding> {
    let mut found = Vec::new();
    if !unknown.is_empty() {
        let names: Vec<String> = unknown.iter().map(|n| format!("`{n}`")).collect();
        found.push(Finding::new(
            FindingKind::UnknownVolume,
            Subject::whole(owner),
            format!(
                "volume not known of {}, so the loop holds and grows more than is told; give `coolant_volume`",
                names.join(", ")
            ),
        ));
    }
    let Some(tank) = tank else { return found };
    let subject = Subject::part(owner, &tank.id);
    if let Some(volume) = tank.volume_m3
        && volume < tank.minimum_m3
    {
        found.push(Finding::new(
            FindingKind::SmallTank,
            subject.clone(),
            format!(
                "the tank holds {:.2} L, but the growth of the coolant, a tenth more and as much air again come to {:.2} L; take a larger tank",
                1e3 * volume,
                1e3 * tank.minimum_m3
            ),
        ));
    }
    if let Some(cap) = tank.cap_pa
        && tank.gauge_pa > cap
    {
        found.push(Finding::new(
            FindingKind::CapOpens,
            subject,
            format!(
                "the tank is stated at {:.1} kPa, but its cap opens at {:.1} kPa and would blow coolant off; take a cap for more, or state less",
                1e-3 * tank.gauge_pa,
                1e-3 * cap
            ),
        ));
    }
    found
}

#[cfg(test)]
#[path = "volume_tests.rs"]
mod tests;
