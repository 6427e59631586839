//! The heat of modules in a case.

use super::lower::bad_row;
use super::resolve_case::subject_of;
use crate::design::{CaseRecord, Design};
use crate::finding::{Finding, FindingKind};
use crate::id::Subject;
use crate::network::case::Case;
use crate::network::error::{NetworkError, Rule};
use crate::network::vehicle::Network;
use crate::part::{HeatTable, Module, ModuleHeat, Part, Reach};
use crate::place::Place;
use crate::quantity::Current;

pub(super) fn module_heat(
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
pub(super) fn table_heat(
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
pub(super) fn outside(reach: Reach, load: String, span: String) -> Option<String> {
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
pub(super) fn loads(
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
