//! What is refused of radiators before their air is laid: cuts that do not come out, keys on the wrong one of a stack.

use super::air_path::Standing;
use super::lower::Outcome;
use super::stack::placed;
use crate::network::error::{NetworkError, Rule};
use crate::part::{Conduit, CutPlace, Radiator};
use crate::place::Place;

/// What is wrong with the cut of a radiator, with its places.
pub(super) fn cut_errors(standing: &Standing<'_>) -> Vec<NetworkError> {
    (standing.radiator.cut_faults().into_iter())
        .map(|fault| {
            let core = |k: usize| {
                let name = standing.radiator.cores.get_index(k).map_or("", |c| c.0);
                standing.place.key("cores").key(name)
            };
            let at = match fault.place {
                CutPlace::Radiator(key) => standing.place.key(key),
                CutPlace::Core(k) => core(k),
                CutPlace::CoreKey(k, key) => core(k).key(key),
            };
            NetworkError::new(Rule::BadCut, &at, fault.message, fault.help)
        })
        .collect()
}

/// Keys that belong to another radiator of the stack, and faces that do not lie behind one another.
pub(super) fn misplaced(stack: &[Standing<'_>]) -> Vec<NetworkError> {
    let mut errors = Vec::new();
    let (Some(first), Some(rear)) = (stack.first(), stack.last()) else {
        return errors;
    };
    for standing in stack {
        let losses = standing.radiator.air_losses.as_ref();
        let front_keys = [
            (standing.radiator.ram.is_some(), vec!["ram"]),
            (
                losses.is_some_and(|l| l.grille.is_some()),
                vec!["air_losses", "grille"],
            ),
            (
                losses.is_some_and(|l| l.duct.is_some()),
                vec!["air_losses", "duct"],
            ),
        ];
        let rear_keys = [
            (!standing.radiator.fans.is_empty(), vec!["fans"]),
            (
                losses.is_some_and(|l| l.exit.is_some()),
                vec!["air_losses", "exit"],
            ),
        ];
        let mut refuse = |keys: &[&str], owner: &str, end: &str| {
            let at = keys.iter().fold(standing.place.clone(), |p, k| p.key(k));
            let key = keys.last().copied().unwrap_or_default();
            errors.push(NetworkError::new(
                Rule::BadCut,
                &at,
                format!(
                    "radiators one behind another give `{key}` on the {end} one, `{owner}`: got it on `{}`",
                    standing.name
                ),
                format!("try moving `{key}` to `{owner}`"),
            ));
        };
        for (given, keys) in &front_keys {
            if *given && standing.index != first.index {
                refuse(keys, first.name, "front");
            }
        }
        for (given, keys) in &rear_keys {
            if *given && standing.index != rear.index {
                refuse(keys, rear.name, "rear");
            }
        }
    }
    let faces = placed(&stack.iter().map(|s| s.radiator).collect::<Vec<_>>());
    for (pair, standing) in faces.windows(2).zip(stack.windows(2)) {
        if pair[0].shared(pair[1]).is_none() {
            errors.push(NetworkError::new(
                Rule::BadCut,
                &standing[1].place.key("offset"),
                format!(
                    "no part of the face of `{}` lies behind that of `{}`",
                    standing[1].name, standing[0].name
                ),
                "try a smaller `offset`, or leave `behind` out",
            ));
        }
    }
    errors
}

/// The coolant passage of a core; a refusal is placed at the tubes or at the core.
pub(super) fn core_conduit(radiator: &Radiator, core: usize, place: &Place) -> Outcome<Conduit> {
    let (name, cut) = radiator
        .cores
        .get_index(core)
        .ok_or_else(|| NetworkError::new(Rule::UnknownName, place, "there is no such core", ""))?;
    if let Err(e) = radiator.tubes.inside.shape() {
        let at = place.key("tubes").key("inside");
        return Err(NetworkError::new(Rule::BadPart, &at, e.reason, ""));
    }
    let at = place.key("cores").key(name);
    radiator
        .core_conduit(cut)
        .map_err(|e| NetworkError::new(Rule::BadCut, &at, e, ""))
}
