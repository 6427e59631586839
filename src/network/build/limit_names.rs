//! The names under `limits` must name something, and a bound must be able to hold.

use super::resolve_case::{find_part, known_parts};
use crate::design::{Bound, Limits};
use crate::network::error::{NetworkError, Rule};
use crate::network::names::nearest_help;
use crate::network::vehicle::Network;
use crate::place::Place;
use indexmap::IndexMap;
use std::fmt::Display;

/// Checks every name and every bound.
pub(super) fn check(limits: &Limits, network: &Network, errors: &mut Vec<NetworkError>) {
    let place = Place::root().key("limits");
    bound(
        &limits.module_temperature,
        &place.key("module_temperature"),
        errors,
    );
    bound(
        &limits.module_temperature_spread,
        &place.key("module_temperature_spread"),
        errors,
    );
    bound(
        &limits.module_flow_deviation,
        &place.key("module_flow_deviation"),
        errors,
    );
    bound(&limits.module_flow, &place.key("module_flow"), errors);
    bound(&limits.hose_velocity, &place.key("hose_velocity"), errors);
    bound(
        &limits.pump_inlet_margin_over_boiling,
        &place.key("pump_inlet_margin_over_boiling"),
        errors,
    );
    bound(
        &limits.freezing_margin,
        &place.key("freezing_margin"),
        errors,
    );
    bound(&limits.boiling_margin, &place.key("boiling_margin"), errors);
    map(&limits.part_pressure, "part_pressure", &[], network, errors);
    map(
        &limits.part_pressure_drop,
        "part_pressure_drop",
        &[],
        network,
        errors,
    );
    map(&limits.part_flow, "part_flow", &[], network, errors);
    map(&limits.coolant_inlet, "coolant_inlet", &[], network, errors);
    map(
        &limits.coolant_outlet,
        "coolant_outlet",
        &[],
        network,
        errors,
    );
    map(
        &limits.device_temperature,
        "device_temperature",
        &["plate"],
        network,
        errors,
    );
}

fn bound<T: PartialOrd + Copy + Display>(
    bound: &Option<Bound<T>>,
    place: &Place,
    errors: &mut Vec<NetworkError>,
) {
    let Some(bound) = bound else { return };
    match (bound.min, bound.max) {
        (None, None) => errors.push(NetworkError::new(
            Rule::BadBound,
            place,
            "this limit bounds nothing",
            "try giving `min`, `max` or both",
        )),
        (Some(min), Some(max)) if min > max => errors.push(NetworkError::new(
            Rule::BadBound,
            place,
            format!("nothing can be at least {min} and at most {max} at once"),
            "try swapping `min` and `max`",
        )),
        _ => {}
    }
}

fn map<T: PartialOrd + Copy + Display>(
    bounds: &IndexMap<String, Bound<T>>,
    key: &str,
    kinds: &[&str],
    network: &Network,
    errors: &mut Vec<NetworkError>,
) {
    for (name, one) in bounds {
        let at = Place::root().key("limits").key(key).key(name);
        bound(&Some(*one), &at, errors);
        let found = find_part(network, name);
        let right_kind = found.is_some_and(|(c, e)| {
            kinds.is_empty() || kinds.contains(&network.loops[c].net.elements[e].kind)
        });
        if !right_kind {
            let message = match found {
                Some(_) => format!("`{name}` is no {}", kinds.join(" or ")),
                None => format!("there is no part `{name}`"),
            };
            let known = known_parts(network, kinds);
            errors.push(NetworkError::new(
                Rule::UnknownName,
                &at,
                message,
                nearest_help(name, known.iter()),
            ));
        }
    }
}
