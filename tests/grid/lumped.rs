//! What a vehicle's steady temperatures can be, reckoned from its design file alone: bounds on the air through the face,
//! on what a core can pass, on the heat of a loop. No network, no Newton: one balance a loop, by bisection.
//!
//! A loop with heat `Q` and one core that passes `E` watts a kelvin of inlet difference has `T_in = T_air + Q / E` where it
//! enters the core and `T_out = T_in - Q / (m cp)` where it leaves. `E` lies between that at half and at all of the pump's free
//! flow; `Q` between what is certain and that plus the pump's.

use loopwright::network::Network;
use loopwright::quantity::{
    Current, Duration, ElectricalResistance, HeatTransferCoefficient, Length, LinearResistance,
    Mass, Power, PressureDifference, QuadraticResistance, Quantity, SpecificHeat, Temperature,
    Velocity, VolumeFlow,
};
use serde_json::{Map, Value};
use std::str::FromStr;

/// What a cell must come to.
#[derive(Clone, Debug, PartialEq)]
pub enum Expected {
    /// An answer, closures met.
    Solved,
    /// A refusal with this code.
    Refused(&'static str),
    /// The bounds enclose an end of the coolant's range: an answer, or a refusal at a temperature inside them.
    Open {
        /// Loop, lowest and highest temperature, K.
        ranges_k: Vec<(String, f64, f64)>,
    },
}

/// How far the true air through the face may be from ours, which knows no blend and no backflow.
const AIR_SPREAD: f64 = 1.05;
/// Coolant flow over the pump's free flow that is least where all coolant is above [`WARM_K`]. A premise on designs, no
/// source: the test holds it against every cell that is solved.
pub const LEAST_FLOW: f64 = 0.5;
/// Temperature from which [`LEAST_FLOW`] is taken to hold, K.
pub const WARM_K: f64 = 303.15;
/// Least heat capacity of a glycol mix in this range, J/(m3 K): 3.5e6 for half glycol, more for less.
const CAPACITY_J_M3_K: f64 = 3.4e6;
/// The most: water.
const MOST_CAPACITY_J_M3_K: f64 = 4.2e6;
/// Least Nusselt number of a flat tube with an aspect of 8 or more (5.6 to 7.54 between aspects of 8 and endless, Shah and
/// London, 1978, table 42, from memory), and least conductivity of a mix, W/(m K).
const LEAST_NUSSELT: f64 = 5.6;
const LEAST_CONDUCTIVITY_W_M_K: f64 = 0.35;
/// The most of both: laminar with its entrance, or just turbulent; a mix of 40 % or more.
const MOST_NUSSELT: f64 = 15.0;
const MOST_CONDUCTIVITY_W_M_K: f64 = 0.5;
/// How far the closed form of crossflow may be from its series (Incropera et al., Fundamentals of Heat and Mass Transfer, eq. 11.32
/// and its remark, from memory).
const CROSSFLOW_SPREAD: f64 = 1.03;
/// Gas constant of dry air, J/(kg K), pressure at sea level, Pa, and specific heat, J/(kg K) (ISO 2533:1975).
const GAS_J_KG_K: f64 = 287.053;
const SEA_LEVEL_PA: f64 = 101_325.0;
const AIR_J_KG_K: f64 = 1006.0;
/// The state for which losses of cores and curves of fans are given, K.
const REFERENCE_K: f64 = 293.15;

fn si<Q: Quantity + FromStr>(value: &Value) -> Option<f64> {
    value
        .as_str()
        .and_then(|t| t.parse::<Q>().ok())
        .map(|q| q.si())
}

/// Bounds of one loop: temperatures of its coolant, K, and whether heat can leave and coolant flow.
#[derive(Debug)]
struct Bounds {
    heat_w: (f64, f64),
    core_w_k: (f64, f64),
    coldest_k: (f64, f64),
    hottest_k: (f64, f64),
    flows: bool,
    /// Whether the balance is one of a single core, and its numbers known.
    lumped: bool,
}

/// What a case of a document must come to.
pub fn expected(document: &Value, case: &Value, network: &Network) -> Expected {
    if case.get("coolant_temperature").is_some() {
        return Expected::Solved;
    }
    let timed = case.get("duration").is_some();
    let mut ranges_k = Vec::new();
    for circuit in network.loops() {
        let (low, high) = circuit.coolant.range_k();
        let b = bounds(document, case, &circuit.name);
        if b.heat_w.0 > 0.0 && !b.flows && !timed {
            return Expected::Refused("heat-without-flow");
        }
        if b.heat_w.0 > 0.0 && b.lumped && b.core_w_k.1 == 0.0 && !timed {
            return Expected::Refused("no-heat-sink");
        }
        if b.heat_w.1 == 0.0 {
            continue;
        }
        if !timed && (b.hottest_k.0 > high || b.coldest_k.1 < low) {
            return Expected::Refused("beyond-coolant-range");
        }
        if b.hottest_k.1 > high || b.coldest_k.0 < low {
            let start = si::<Temperature>(&case["start_temperature"]);
            let coldest = start.map_or(b.coldest_k.0, |k| k.min(b.coldest_k.0));
            ranges_k.push((circuit.name.clone(), coldest, b.hottest_k.1.max(low)));
        }
    }
    if ranges_k.is_empty() {
        Expected::Solved
    } else {
        Expected::Open { ranges_k }
    }
}

fn bounds(document: &Value, case: &Value, name: &str) -> Bounds {
    let circuit = &document["loops"][name];
    let parts = circuit["parts"].as_object().expect("parts");
    let air_k = si::<Temperature>(&case["air"]).expect("air");
    let mut heat_w = (0.0, 0.0);
    let (mut free_m3_s, mut flows, mut others) = (0.0_f64, true, false);
    for (id, part) in parts {
        let (kind, record) = part
            .as_object()
            .and_then(|p| p.iter().next())
            .expect("a kind");
        match kind.as_str() {
            "plate" | "heater" => {
                let stated = si::<Power>(&case["heat"][format!("{name}.{id}")]);
                let w = stated.or(si::<Power>(&record["heat"])).unwrap_or(0.0);
                heat_w.0 += w;
                heat_w.1 += w;
            }
            "bank" => {
                let (low, high) = bank_heat_w(document, case, record, air_k);
                heat_w.0 += low;
                heat_w.1 += high;
            }
            "pump" => {
                let speed = case["pump_speed"][format!("{name}.{id}")].as_f64();
                let speed = speed.or(record["speed"].as_f64()).unwrap_or(1.0);
                let curve = curve::<VolumeFlow>(&record["curve"]);
                free_m3_s += speed * curve.last().expect("a point").0;
                flows = speed > 0.0;
                // The most of rise times flow between two points, over the efficiency; a mix weighs up to a tenth more.
                let steps = curve.windows(2).map(|w| w[0].1 * w[1].0);
                let most = steps.fold(0.0, f64::max) * speed.powi(3) * 1.1;
                let shaft = most / record["efficiency"].as_f64().unwrap_or(1.0);
                heat_w.1 += si::<Power>(&record["electrical_power"]).unwrap_or(shaft);
            }
            "exchanger" | "draw" | "open_end" | "thermostat" => others = true,
            "hose" if record.get("conductance_per_length").is_some() => others = true,
            _ => {}
        }
    }
    let cores: Vec<(&Value, &str)> = cores(document, circuit);
    let mut radiators = document["radiators"].as_object().into_iter().flatten();
    let stacked = radiators.any(|(_, r)| r.get("behind").is_some());
    let core = match cores[..] {
        [(radiator, core)] if !others => core_w_k(radiator, core, case, air_k, free_m3_s, stacked),
        _ => None,
    };
    let Some(core_w_k) = core else {
        // Not a loop of one core whose numbers are known: it must be solved, but where air alone cools it and is colder
        // than the coolant may be. Coolant that is warmed is never colder than its air.
        let by_air = !others && !cores.is_empty();
        return Bounds {
            heat_w,
            core_w_k: (0.0, f64::INFINITY),
            coldest_k: (if by_air { air_k } else { f64::INFINITY }, f64::INFINITY),
            hottest_k: (0.0, 0.0),
            flows,
            lumped: false,
        };
    };
    // Where a loop divides, coolant in one branch may warm more than all of it does: as much again.
    let divides = parts
        .values()
        .any(|p| p.get("bank").is_some() || p.get("tee").is_some());
    let whole_k = heat_w.1 / (LEAST_FLOW * free_m3_s * CAPACITY_J_M3_K);
    let extra_k = if divides { whole_k } else { 0.0 };
    let hottest_k = air_k + heat_w.1 / core_w_k.0;
    let hottest_k = in_time(case, parts, hottest_k, core_w_k.0) + extra_k;
    Bounds {
        heat_w,
        core_w_k: (core_w_k.0, core_w_k.2),
        // Coolant that leaves the core, at most as warm as where coolant is endless.
        coldest_k: (air_k, air_k + heat_w.1 / core_w_k.1),
        hottest_k: (air_k + heat_w.0 / core_w_k.2, hottest_k),
        flows,
        lumped: true,
    }
}

/// How far a case of limited length gets towards its steady temperature, were all its devices and the coolant one body: the
/// coolant is not warmer than the devices that warm it.
fn in_time(case: &Value, parts: &Map<String, Value>, steady_k: f64, core_w_k: f64) -> f64 {
    let (Some(start_k), Some(duration_s)) = (
        si::<Temperature>(&case["start_temperature"]),
        si::<Duration>(&case["duration"]),
    ) else {
        return steady_k;
    };
    let capacity: f64 = parts
        .values()
        .filter_map(|p| {
            let plate = p.get("plate")?;
            Some(si::<Mass>(&plate["mass"])? * si::<SpecificHeat>(&plate["specific_heat"])?)
        })
        .sum();
    if capacity == 0.0 {
        return steady_k.max(start_k);
    }
    let left = (-duration_s * core_w_k / capacity).exp();
    start_k.max(steady_k - (steady_k - start_k) * left)
}

/// Cores that stand in the runs of a loop, with their radiators.
fn cores<'a>(document: &'a Value, circuit: &'a Value) -> Vec<(&'a Value, &'a str)> {
    let runs = circuit["runs"].as_array().expect("runs");
    let names = runs.iter().flat_map(|run| run.as_array().expect("a run"));
    names
        .filter_map(|name| name.as_str()?.split_once('.'))
        .filter_map(|(radiator, core)| Some((document["radiators"].get(radiator)?, core)))
        .collect()
}

/// Least and most heat of a bank whose modules are no colder than the air.
fn bank_heat_w(document: &Value, case: &Value, bank: &Value, air_k: f64) -> (f64, f64) {
    let module = &document["modules"][bank["module"].as_str().expect("a module")];
    let count = bank["count"].as_f64().expect("a count");
    let current = si::<Current>(&bank["current"]).or(si::<Current>(&case["module_current"]));
    let square = current.unwrap_or(0.0).powi(2);
    let (low, high) = if let Some(w) = si::<Power>(&module["heat"]) {
        (w, w)
    } else if let Some(ohm) = si::<ElectricalResistance>(&module["resistance"]) {
        (square * ohm, square * ohm)
    } else if module["resistance"].is_array() {
        let table = curve::<Temperature>(&module["resistance"]);
        let least = table.iter().map(|p| p.1).fold(f64::INFINITY, f64::min);
        (square * least, square * between(&table, air_k))
    } else {
        (0.0, 0.0)
    };
    // Modules that are blocked, missing or unlike the rest make less, or nothing.
    let whole = bank["exceptions"].as_array().is_none_or(Vec::is_empty);
    (if whole { count * low } else { 0.0 }, count * high)
}

/// Points of a curve in SI; the ordinate is a pressure or a resistance.
fn curve<Q: Quantity + FromStr>(points: &Value) -> Vec<(f64, f64)> {
    let points = points.as_array().expect("points");
    points
        .iter()
        .map(|p| {
            let y = si::<PressureDifference>(&p[1]).or(si::<ElectricalResistance>(&p[1]));
            (
                si::<Q>(&p[0]).expect("an abscissa"),
                y.expect("an ordinate"),
            )
        })
        .collect()
}

/// A curve read straight between its points, held at its ends.
fn between(curve: &[(f64, f64)], x: f64) -> f64 {
    let (first, last) = (curve[0], curve[curve.len() - 1]);
    if x <= first.0 {
        return first.1;
    }
    curve.windows(2).find(|w| x <= w[1].0).map_or(last.1, |w| {
        w[0].1 + (w[1].1 - w[0].1) * (x - w[0].0) / (w[1].0 - w[0].0)
    })
}

/// What a core passes a kelvin: with little coolant and little air, with endless coolant and little air, with the pump's free
/// flow and much air. Several passes count as parallel streams, the least of all, and as endless coolant. `None` where the air
/// side is given in a way that is not reckoned here: fins, a rating, a stack, losses of grille and duct, tank plates.
fn core_w_k(
    radiator: &Value,
    core: &str,
    case: &Value,
    air_k: f64,
    free_m3_s: f64,
    stacked: bool,
) -> Option<(f64, f64, f64)> {
    let unreckoned = ["air_losses", "tank_leaks", "arrangement"];
    if stacked || unreckoned.iter().any(|key| radiator.get(*key).is_some()) {
        return None;
    }
    let law = radiator["air_side"].get("conductance_per_face_area")?;
    let tubes = radiator["cores"][core]["tubes"].as_f64()?;
    let count = radiator["tubes"]["count"].as_f64()?;
    let area = si::<Length>(&radiator["face_width"])? * si::<Length>(&radiator["face_height"])?;
    let face = area * tubes / count;
    let strips = strips(radiator, core, case, air_k)?;
    let at_1 = si::<HeatTransferCoefficient>(&law["at_1_m_s"])?;
    let exponent = law["exponent"].as_f64()?;
    let flat = &radiator["tubes"]["inside"]["flat"];
    let (width, height) = (
        si::<Length>(&flat["width"])?,
        si::<Length>(&flat["height"])?,
    );
    let wet = 2.0 * (width + height) * si::<Length>(&radiator["tubes"]["length"])? * tubes;
    let diameter = 2.0 * width * height / (width + height);
    let inside = wet / diameter;
    let capacity = SEA_LEVEL_PA / (GAS_J_KG_K * air_k) * AIR_J_KG_K;
    let single = radiator["cores"][core]["passes"].as_f64().unwrap_or(1.0) == 1.0;
    let (mut least, mut endless, mut most) = (0.0, 0.0, 0.0);
    for (share, face_m_s) in strips.into_iter().filter(|s| s.1 > 0.0) {
        let stream = |u: f64, film: f64| {
            let outside = at_1 * u.powf(exponent) * face * share;
            let ua = 1.0 / (1.0 / outside + 1.0 / (film * inside * share));
            (ua, capacity * u * face * share)
        };
        let (ua, air) = stream(
            face_m_s / AIR_SPREAD,
            LEAST_NUSSELT * LEAST_CONDUCTIVITY_W_M_K,
        );
        let coolant = LEAST_FLOW * free_m3_s * CAPACITY_J_M3_K * share;
        least += if single {
            crossflow_w_k(ua, air, coolant) / CROSSFLOW_SPREAD
        } else {
            let inverse = 1.0 / air + 1.0 / coolant;
            -(-ua * inverse).exp_m1() / inverse
        };
        endless += air * -(-ua / air).exp_m1();
        let (ua, air) = stream(
            face_m_s * AIR_SPREAD,
            MOST_NUSSELT * MOST_CONDUCTIVITY_W_M_K,
        );
        let coolant = free_m3_s * MOST_CAPACITY_J_M3_K * share;
        most += if single {
            crossflow_w_k(ua, air, coolant) * CROSSFLOW_SPREAD
        } else {
            air * -(-ua / air).exp_m1()
        };
    }
    Some((least, endless, most))
}

/// Heat a kelvin of two streams that cross, neither mixed: `e = 1 - exp(N^0.22 (exp(-C N^0.78) - 1) / C)`.
fn crossflow_w_k(ua: f64, one: f64, other: f64) -> f64 {
    let (low, high) = (one.min(other), one.max(other));
    let (n, c) = (ua / low, low / high);
    low * -((-c * n.powf(0.78)).exp_m1() * n.powf(0.22) / c).exp_m1()
}

/// Share and face velocity of the strips of a core: under each fan, and beside them.
fn strips(radiator: &Value, core: &str, case: &Value, air_k: f64) -> Option<Vec<(f64, f64)>> {
    let density = SEA_LEVEL_PA / (GAS_J_KG_K * air_k);
    let speed = si::<Velocity>(&case["travel_speed"]).unwrap_or(0.0);
    let ram = &radiator["ram"];
    let ram_pa =
        ram["pressure_coefficient"].as_f64().unwrap_or(0.0) * 0.5 * density * speed * speed;
    let exit = ram["exit_loss"].as_f64().unwrap_or(0.0) * 0.5 * density;
    let drop = &radiator["air_side"]["pressure_drop"];
    // Scaled by viscosity (Sutherland, U.S. Standard Atmosphere 1976, eq. 51) and by density.
    let viscosity = |k: f64| k.powf(1.5) / (k + 110.4);
    let thicker = viscosity(air_k) / viscosity(REFERENCE_K);
    let linear = si::<LinearResistance>(&drop["linear"])? * thicker;
    let square = si::<QuadraticResistance>(&drop["quadratic"])? * REFERENCE_K / air_k;
    // Face velocity at which what drives meets what it costs.
    let face_m_s = |rise_pa: &dyn Fn(f64) -> f64| {
        let (mut low, mut high) = (0.0_f64, 100.0_f64);
        for _ in 0..60 {
            let u = 0.5 * (low + high);
            if ram_pa + rise_pa(u) > linear * u + (square + exit) * u * u {
                low = u;
            } else {
                high = u;
            }
        }
        if high < 1e-6 { 0.0 } else { low }
    };
    let area = si::<Length>(&radiator["face_width"])? * si::<Length>(&radiator["face_height"])?;
    let count = radiator["tubes"]["count"].as_f64()?;
    let (mut strips, mut left) = (Vec::new(), 1.0);
    for fan in radiator["fans"].as_array().into_iter().flatten() {
        let covered = fan["face_share_covered"].as_object()?;
        let face: f64 = covered
            .iter()
            .map(|(name, share)| {
                let tubes = radiator["cores"][name]["tubes"].as_f64().unwrap_or(0.0);
                share.as_f64().unwrap_or(0.0) * area * tubes / count
            })
            .sum();
        let here = covered.get(core).and_then(Value::as_f64).unwrap_or(0.0);
        // A fan speed in the case would need the radiator's name: no sample gives one.
        if case.get("fan_speed").is_some() {
            return None;
        }
        let speed = fan["speed"].as_f64().unwrap_or(1.0);
        let number = fan["count"].as_f64().unwrap_or(1.0);
        let curve = curve::<VolumeFlow>(&fan["curve"]);
        let last = curve.last()?.0;
        let rise = |u: f64| {
            let q = u * face / number;
            if speed == 0.0 {
                return 0.0;
            }
            // Beyond its free flow a fan costs its shut-off rise at the free flow, by the square (physics page).
            let over = (q / speed - last).max(0.0) / last;
            REFERENCE_K / air_k
                * (speed * speed * between(&curve, q / speed) - curve[0].1 * over * over)
        };
        strips.push((here, face_m_s(&rise)));
        left -= here;
    }
    strips.push((left, face_m_s(&|_| 0.0)));
    Some(strips.into_iter().filter(|s| s.0 > 0.0).collect())
}
