//! The plan of a design: names of parts resolved, before anything is built.

use crate::design::{Design, LoopRecord};
use crate::network::error::{NetworkError, Rule};
use crate::network::names::nearest_help;
use crate::network::plan::{Link, Plan, PlanCore, PlanLoop, PlanPart, Sort, Target};
use crate::part::Part;
use crate::place::Place;
use std::collections::HashMap;

/// Parts of a loop up to which a wrong name is held against all of theirs: beyond, each wrong name would take long.
const MOST_NEAR: usize = 5_000;

/// The plan of a design; wrong names are pushed to the list.
pub(super) fn plan(design: &Design, errors: &mut Vec<NetworkError>) -> Plan {
    let radiators = Place::root().key("radiators");
    let mut cores = Vec::new();
    for (r, (name, radiator)) in design.radiators.iter().enumerate() {
        for (c, core) in radiator.cores.keys().enumerate() {
            cores.push(PlanCore {
                name: format!("{name}.{core}"),
                place: radiators.key(name).key("cores").key(core),
                target: (r, c),
            });
        }
    }
    let loops = design
        .loops
        .iter()
        .map(|(name, record)| plan_loop(design, name, record, errors))
        .collect();
    Plan {
        loops,
        cores,
        radiators: design
            .radiators
            .keys()
            .map(|name| (name.clone(), radiators.key(name)))
            .collect(),
    }
}

pub(super) fn plan_loop(
    design: &Design,
    name: &str,
    record: &LoopRecord,
    errors: &mut Vec<NetworkError>,
) -> PlanLoop {
    let place = Place::root().key("loops").key(name);
    if !design.coolants.contains_key(&record.coolant) {
        errors.push(NetworkError::new(
            Rule::UnknownName,
            &place.key("coolant"),
            format!("there is no coolant `{}`", record.coolant),
            nearest_help(&record.coolant, design.coolants.keys()),
        ));
    }
    let parts: Vec<PlanPart> = record
        .parts
        .iter()
        .map(|(part, record)| PlanPart {
            name: part.clone(),
            sort: match record {
                Part::ExpansionTank(_) => Sort::Tank,
                Part::OpenEnd(_) => Sort::OpenEnd,
                Part::Joint(_) | Part::Draw(_) => Sort::Meeting,
                Part::Tee(_) => Sort::Tee,
                Part::MixingThermostat(_) => Sort::Mixing,
                _ => Sort::TwoEnd,
            },
            place: place.key("parts").key(part),
        })
        .collect();
    let names: HashMap<&str, usize> = (parts.iter().enumerate())
        .map(|(k, part)| (part.name.as_str(), k))
        .collect();
    let runs = record
        .runs
        .iter()
        .enumerate()
        .map(|(r, run)| {
            run.iter()
                .enumerate()
                .map(|(k, text)| {
                    let at = place.key("runs").index(r).index(k);
                    let target =
                        resolve(design, (&parts, &names), text, &at).unwrap_or_else(|error| {
                            errors.push(error);
                            Target::Nothing
                        });
                    Link {
                        text: text.clone(),
                        target,
                        place: at,
                    }
                })
                .collect()
        })
        .collect();
    PlanLoop {
        name: name.to_owned(),
        place,
        parts,
        runs,
    }
}

/// What a name in a run means.
pub(super) fn resolve(
    design: &Design,
    (parts, names): (&[PlanPart], &HashMap<&str, usize>),
    text: &str,
    at: &Place,
) -> Result<Target, NetworkError> {
    let find = |name: &str| names.get(name).copied();
    let wrong =
        |message: String, help: &str| Err(NetworkError::new(Rule::WrongEnd, at, message, help));
    let known = || {
        if parts.len() > MOST_NEAR {
            return Vec::new();
        }
        let plain = parts.iter().flat_map(|p| match p.sort.ends() {
            Some(ends) => ends.iter().map(|e| format!("{}.{e}", p.name)).collect(),
            None => vec![p.name.clone()],
        });
        let cores = design
            .radiators
            .iter()
            .flat_map(|(r, rad)| rad.cores.keys().map(move |c| format!("{r}.{c}")));
        plain.chain(cores).collect::<Vec<String>>()
    };
    let Some((owner, end)) = text.split_once('.') else {
        return match find(text) {
            Some(p) => match parts[p].sort.ends() {
                Some([a, b, c]) => wrong(
                    format!("`{text}` is a {} and has three ends", parts[p].sort.noun()),
                    &format!("try `{text}.{a}`, `{text}.{b}` or `{text}.{c}`"),
                ),
                None => Ok(Target::Part(p)),
            },
            None => Err(NetworkError::new(
                Rule::UnknownName,
                at,
                format!("there is no part `{text}` in this loop"),
                nearest_help(text, known().iter()),
            )),
        };
    };
    if let Some(p) = find(owner) {
        let Some(ends) = parts[p].sort.ends() else {
            return wrong(
                format!("`{owner}` is no tee, so it has no end `{end}`"),
                &format!("try `{owner}` alone"),
            );
        };
        return match ends.iter().position(|e| *e == end) {
            Some(leg) => Ok(Target::TeeEnd(p, leg)),
            None => wrong(
                format!("a {} has no end `{end}`", parts[p].sort.noun()),
                &format!(
                    "try `{owner}.{}`, `{owner}.{}` or `{owner}.{}`",
                    ends[0], ends[1], ends[2]
                ),
            ),
        };
    }
    if let Some(r) = design.radiators.get_index_of(owner)
        && let Some(c) = design.radiators[r].cores.get_index_of(end)
    {
        return Ok(Target::Core(r, c));
    }
    Err(NetworkError::new(
        Rule::UnknownName,
        at,
        format!("there is no part end and no core `{text}`"),
        nearest_help(text, known().iter()),
    ))
}
