//! A case of the document in SI, with every name resolved to a place in the network; and a network set to a case.

use super::lower::bad_row;
use crate::design::{CaseRecord, Design};
use crate::finding::{Finding, FindingKind};
use crate::fluid::air::Air;
use crate::id::Subject;
use crate::network::case::{Case, TimeSpan};
use crate::network::error::{NetworkError, Rule};
use crate::network::flow::{FlowNet, HeatRole, NodeKind, Passage};
use crate::network::names::nearest_help;
use crate::network::vehicle::{FanTie, Loop, Network};
use crate::part::{HeatTable, Law, Module, ModuleHeat, Part, Reach, valve_law};
use crate::place::Place;
use crate::quantity::Current;

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

fn module_heat(
    case: &mut Case,
    record: &CaseRecord,
    design: &Design,
    network: &Network,
    errors: &mut Vec<NetworkError>,
) {
    for (c, circuit) in network.loops.iter().enumerate() {
        for (m, node) in circuit.modules.iter().enumerate() {
            let bank = &circuit.banks[node.bank];
            let Some(Part::Bank(bank)) = design
                .loops
                .get(&circuit.name)
                .and_then(|l| l.parts.get(&bank.name))
            else {
                continue;
            };
            let Some(module) = design.modules.get(&node.record) else {
                continue;
            };
            if node.circuits.is_empty() {
                continue;
            }
            let current = bank.current.or(record.module_current);
            match table_heat(module, &node.record, current) {
                Ok(None) => {}
                Ok(Some((heat_w, outside))) => {
                    case.module_heat.push((c, m, ModuleHeat::Stated(heat_w)));
                    let told = |f: &Finding| f.subject == Subject::whole(&node.record);
                    if let Some(text) = outside
                        && !case.findings.iter().any(told)
                    {
                        let subject = Subject::whole(&node.record);
                        case.findings
                            .push(Finding::new(FindingKind::OutsideTable, subject, text));
                    }
                    continue;
                }
                Err(error) => {
                    if !errors.contains(&error) {
                        errors.push(error);
                    }
                    continue;
                }
            }
            match module.heat(current) {
                Ok(Some(heat)) => case.module_heat.push((c, m, heat)),
                Ok(None) => {}
                Err(_) => {
                    let at = Place::root()
                        .key("modules")
                        .key(&node.record)
                        .key("resistance");
                    let error = NetworkError::new(
                        Rule::BadCurve,
                        &at,
                        "the temperatures of a resistance table must rise from row to row",
                        "try writing the rows in rising order of temperature",
                    );
                    if !errors.contains(&error) {
                        errors.push(error);
                    }
                }
            }
        }
    }
}

/// Heat of a module from its table over current, with a sentence where the table does not reach; none without a table.
fn table_heat(
    module: &Module,
    name: &str,
    current: Option<Current>,
) -> Result<Option<(f64, Option<String>)>, NetworkError> {
    let Some(rows) = &module.heat_over_current else {
        return Ok(None);
    };
    let place = Place::root().key("modules").key(name);
    let at = place.key("heat_over_current");
    if let Some(other) = [
        ("heat", module.heat.is_some()),
        ("resistance", module.resistance.is_some()),
    ]
    .iter()
    .find(|w| w.1)
    {
        return Err(NetworkError::new(
            Rule::BadPart,
            &at,
            format!(
                "cannot tell the heat because both `{}` and `heat_over_current` are given",
                other.0
            ),
            "try keeping one",
        ));
    }
    let table = HeatTable::of(rows).map_err(|row| bad_row(&at, row))?;
    let current_a = current.map_or(0.0, |i| i.a());
    let reading = table.at(current_a);
    let (first, last) = table.span();
    let text = outside(
        reading.reach,
        format!("{current_a} A"),
        format!("{first} to {last} A"),
    );
    Ok(Some((reading.heat_w, text)))
}

/// What to say where a table does not reach.
fn outside(reach: Reach, load: String, span: String) -> Option<String> {
    match reach {
        Reach::Inside => None,
        Reach::Below => Some(format!(
            "its load of {load} lies below its table of heat, {span}, and the heat of the first row is taken; add a row at a smaller load"
        )),
        Reach::Above => Some(format!(
            "its load of {load} lies beyond its table of heat, {span}, and the heat is a straight guess from the last row on; add a row at a larger load"
        )),
    }
}

/// Heat of plates from their tables: at the load of the case, or off where it gives none.
fn loads(
    case: &mut Case,
    record: &CaseRecord,
    loaded: &[(&String, usize, usize, f64)],
    network: &Network,
    place: &Place,
    errors: &mut Vec<NetworkError>,
) {
    for (key, circuit, plate, load) in loaded {
        let at = place.key("load").key(key);
        let Some(table) = &network.loops[*circuit].plates[*plate].heat_table else {
            errors.push(NetworkError::new(
                Rule::BadCase,
                &at,
                format!("`{key}` has no table of heat over load to read at {load}"),
                "try `heat_over_load` in the part, or its heat under `heat` of the case",
            ));
            continue;
        };
        if record.heat.contains_key(*key) {
            errors.push(NetworkError::new(
                Rule::BadCase,
                &at,
                format!("cannot tell the heat of `{key}` because the case gives its `load` and its `heat`"),
                "try keeping one",
            ));
            continue;
        }
        let reading = table.at(*load);
        case.plate_heat.push((*circuit, *plate, reading.heat_w));
        let (first, last) = table.span();
        if let Some(text) = outside(
            reading.reach,
            load.to_string(),
            format!("{first} to {last}"),
        ) {
            case.findings.push(Finding::new(
                FindingKind::OutsideTable,
                subject_of(network, *circuit, *plate),
                text,
            ));
        }
    }
    for (c, circuit) in network.loops.iter().enumerate() {
        for (p, plate) in circuit.plates.iter().enumerate() {
            let told = case.plate_heat.iter().any(|(a, b, _)| (*a, *b) == (c, p));
            if plate.heat_table.is_some() && !told && case.coolant_temperature_k.is_none() {
                case.findings.push(Finding::new(
                    FindingKind::Default,
                    subject_of(network, c, p),
                    "the case gives no `load` for it, so it is taken as switched off and gives no heat; add it under `load` of the case if it runs",
                ));
            }
        }
    }
}

fn subject_of(network: &Network, circuit: usize, plate: usize) -> Subject {
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

impl Loop {
    /// This loop set to a case: heats, speeds, openings, inflow temperatures.
    pub(crate) fn set_to(&self, index: usize, case: &Case) -> Self {
        let mut set = self.clone();
        let heat_on = case.coolant_temperature_k.is_none();
        for (c, module, heat) in &case.module_heat {
            if *c == index && heat_on {
                set.modules[*module].heat = Some(heat.clone());
            }
        }
        for (c, plate, heat_w) in &case.plate_heat {
            if *c == index {
                set.plates[*plate].heat_w = *heat_w;
            }
        }
        if !heat_on {
            set.plates.iter_mut().for_each(|p| p.heat_w = 0.0);
        }
        for (c, element, speed) in &case.pump_speed {
            if *c == index {
                set_speed(&mut set.net, *element, *speed);
            }
        }
        for (c, element, opening) in &case.valve_opening {
            if *c == index {
                set_opening(&mut set.net, *element, *opening);
            }
        }
        for hose in &mut set.hoses {
            hose.surroundings_k = case.bay_temperature_k;
        }
        for node in &mut set.net.nodes {
            if node.inflow_temperature_k.is_some_and(f64::is_nan) {
                node.inflow_temperature_k = Some(case.air_temperature_k);
            }
        }
        set
    }
}

impl crate::network::vehicle::AirPath {
    /// This air path set to a case: fan speeds and ram pressure.
    pub(crate) fn set_to(&self, index: usize, case: &Case) -> Self {
        let mut set = self.clone();
        for (a, fan, speed) in &case.fan_speed {
            if *a == index {
                set_speed(&mut set.net, set.fans[*fan].element, *speed);
            }
        }
        let ram_pa = self.ram_coefficient
            * 0.5
            * case.air.properties().density_kg_m3
            * case.travel_speed_m_s
            * case.travel_speed_m_s;
        if let NodeKind::Fixed { pressure } = &mut set.net.nodes[set.front].kind {
            *pressure =
                crate::quantity::Pressure::Gauge(crate::quantity::GaugePressure::from_pa(ram_pa));
        }
        set
    }
}

fn set_speed(net: &mut FlowNet, element: usize, speed: f64) {
    for law in net.elements[element].laws.clone() {
        if let Law::Machine(machine) = &mut net.laws[law] {
            machine.speed = speed;
        }
    }
}

fn set_opening(net: &mut FlowNet, element: usize, opening: f64) {
    for law in net.elements[element].laws.clone() {
        if let Law::TwoTerm(two) = &mut net.laws[law]
            && opening > 0.0
        {
            *two = valve_law(two.b / (opening * opening));
        }
    }
    if opening <= 0.0 {
        for branch in &mut net.branches {
            if branch.elements.contains(&element) {
                branch.passage = Passage::Shut;
            }
        }
    }
}
