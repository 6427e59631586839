//! A case of the document in SI, with every name resolved to a place in the network; and a network set to a case.

use super::case_heat::{loads, module_heat};
use crate::design::{CaseRecord, Design};
use crate::fluid::air::Air;
use crate::id::Subject;
use crate::network::case::{Case, TimeSpan};
use crate::network::error::{NetworkError, Rule};
use crate::network::flow::HeatRole;
use crate::network::names::nearest_help;
use crate::network::vehicle::{FanTie, Network};
use crate::place::Place;

/// Resolves one case; refusals are pushed to the list.
pub(super) fn resolve(
    name: &str,
    record: &CaseRecord,
    design: &Design,
    network: &Network,
    errors: &mut Vec<NetworkError>,
) -> Option<Case> {
    let place = Place::root().key("cases").key(name);
    let altitude = record.altitude.map_or(0.0, |a| a.m());
    let air = match Air::at(record.air.k(), altitude) {
        Ok(air) => air,
        Err(e) => {
            errors.push(NetworkError::new(
                Rule::CoolantRange,
                &place.key("air"),
                e.to_string(),
                "",
            ));
            return None;
        }
    };
    for (key, stated) in [
        ("coolant_temperature", record.coolant_temperature),
        ("start_temperature", record.start_temperature),
    ] {
        let Some(t) = stated else { continue };
        for circuit in &network.loops {
            if let Err(e) = circuit.coolant.properties(t.k()) {
                let at = place.key(key);
                errors.push(NetworkError::new(
                    Rule::CoolantRange,
                    &at,
                    format!("{}: {e}", circuit.name),
                    "",
                ));
            }
        }
    }
    let time = time_span(record, &place, errors);
    let mut case = Case {
        name: name.to_owned(),
        air,
        air_temperature_k: record.air.k(),
        bay_temperature_k: record.bay_temperature.unwrap_or(record.air).k(),
        travel_speed_m_s: record.travel_speed.map_or(0.0, |v| v.m_s()),
        coolant_temperature_k: record.coolant_temperature.map(|t| t.k()),
        time,
        findings: Vec::new(),
        module_heat: Vec::new(),
        plate_heat: Vec::new(),
        pump_speed: Vec::new(),
        fan_speed: Vec::new(),
        valve_opening: Vec::new(),
    };
    module_heat(&mut case, record, design, network, errors);
    let mut find = |key: &str, map: &str, kinds: &[&str]| -> Option<(usize, usize)> {
        let at = place.key(map).key(key);
        match find_part(network, key) {
            Some((circuit, element))
                if kinds.contains(&network.loops[circuit].net.elements[element].kind) =>
            {
                Some((circuit, element))
            }
            Some(_) => {
                let text = format!("`{key}` is no {}", kinds.join(" or "));
                let known = known_parts(network, kinds);
                let help = nearest_help(key, known.iter());
                errors.push(NetworkError::new(Rule::UnknownName, &at, text, help));
                None
            }
            None => {
                let known = known_parts(network, kinds);
                let help = nearest_help(key, known.iter());
                errors.push(NetworkError::new(
                    Rule::UnknownName,
                    &at,
                    format!("there is no part `{key}`"),
                    help,
                ));
                None
            }
        }
    };
    for (key, heat) in &record.heat {
        if let Some((circuit, element)) = find(key, "heat", &["plate", "heater"])
            && let HeatRole::Plate(plate) = network.loops[circuit].net.elements[element].heat
        {
            case.plate_heat.push((circuit, plate, heat.w()));
        }
    }
    let mut loaded = Vec::new();
    for (key, load) in &record.load {
        let Some((circuit, element)) = find(key, "load", &["plate"]) else {
            continue;
        };
        if let HeatRole::Plate(plate) = network.loops[circuit].net.elements[element].heat {
            loaded.push((key, circuit, plate, load.0));
        }
    }
    for (key, speed) in &record.pump_speed {
        if let Some((circuit, element)) = find(key, "pump_speed", &["pump"]) {
            case.pump_speed.push((circuit, element, speed.0));
        }
    }
    for (key, opening) in &record.valve_opening {
        if let Some((circuit, element)) = find(key, "valve_opening", &["valve"]) {
            case.valve_opening.push((circuit, element, opening.0));
        }
    }
    fan_speeds(&mut case, record, network, &place, errors);
    loads(&mut case, record, &loaded, network, &place, errors);
    Some(case)
}

/// The length and the start of a case in time: both or neither, and never with a stated coolant temperature.
fn time_span(
    record: &CaseRecord,
    place: &Place,
    errors: &mut Vec<NetworkError>,
) -> Option<TimeSpan> {
    let mut refuse = |key: &str, message: String, help: &str| {
        errors.push(NetworkError::new(
            Rule::BadCase,
            &place.key(key),
            message,
            help,
        ));
        None
    };
    match (record.duration, record.start_temperature) {
        (None, None) => None,
        (Some(duration), None) => refuse(
            "duration",
            format!("a case of {duration} needs the temperature it starts from"),
            "try adding `start_temperature`, such as the air after a night's rest, or take `duration` out for the steady answer",
        ),
        (None, Some(start)) => refuse(
            "start_temperature",
            format!("a case that starts at {start} needs to say how long it lasts"),
            "try adding `duration`, or take `start_temperature` out for the steady answer",
        ),
        (Some(duration), Some(_)) if record.coolant_temperature.is_some() => refuse(
            "duration",
            format!("a case of {duration} cannot hold all coolant at `coolant_temperature`"),
            "try `start_temperature` alone for a march in time, or `coolant_temperature` alone for the flows",
        ),
        (Some(duration), Some(start)) => Some(TimeSpan {
            duration_s: duration.s(),
            start_k: start.k(),
        }),
    }
}

pub(super) fn subject_of(network: &Network, circuit: usize, plate: usize) -> Subject {
    let owner = &network.loops[circuit];
    let element = owner.plates[plate].element;
    Subject::part(&owner.name, owner.net.elements[element].id.as_str())
}

fn fan_speeds(
    case: &mut Case,
    record: &CaseRecord,
    network: &Network,
    place: &Place,
    errors: &mut Vec<NetworkError>,
) {
    for (key, speed) in &record.fan_speed {
        let before = case.fan_speed.len();
        for (a, path) in network.airs.iter().enumerate() {
            for (f, fan) in path.fans.iter().enumerate() {
                let owner = &network.radiators[fan.radiator].name;
                if key == owner || *key == format!("{owner}.{}", fan.name) {
                    case.fan_speed.push((a, f, speed.0));
                }
            }
        }
        if case.fan_speed.len() == before {
            let known: Vec<String> = network
                .airs
                .iter()
                .flat_map(|p| {
                    let owner = |f: &FanTie| &network.radiators[f.radiator].name;
                    let fans = p.fans.iter().map(|f| format!("{}.{}", owner(f), f.name));
                    let owners = p.fans.iter().take(1).map(|f| owner(f).clone());
                    fans.chain(owners).collect::<Vec<_>>()
                })
                .collect();
            errors.push(NetworkError::new(
                Rule::UnknownName,
                &place.key("fan_speed").key(key),
                format!("there is no radiator with fans and no fan `{key}`"),
                nearest_help(key, known.iter()),
            ));
        }
    }
}

/// Loop and element of a part written `loop.part`.
pub(crate) fn find_part(network: &Network, name: &str) -> Option<(usize, usize)> {
    network.loops.iter().enumerate().find_map(|(c, circuit)| {
        let part = name
            .strip_prefix(circuit.name.as_str())?
            .strip_prefix('.')?;
        let element = circuit
            .net
            .elements
            .iter()
            .position(|e| e.id.as_str() == part)?;
        Some((c, element))
    })
}

/// The parts of some kinds, as `loop.part`.
pub(crate) fn known_parts(network: &Network, kinds: &[&str]) -> Vec<String> {
    network
        .loops
        .iter()
        .flat_map(|l| {
            l.net
                .elements
                .iter()
                .filter(|e| kinds.is_empty() || kinds.contains(&e.kind))
                .map(|e| format!("{}.{}", l.name, e.id))
        })
        .collect()
}
