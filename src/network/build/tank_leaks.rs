//! Plates between neighbouring tanks: names resolved, neighbours checked, cores of loops found.

use crate::network::error::{NetworkError, Rule};
use crate::network::names::nearest_help;
use crate::network::vehicle::{Network, TankPlate};
use crate::part::Radiator;
use crate::place::Place;
use indexmap::IndexMap;

/// The plates of all radiators, once every core is tied to its loop.
pub(super) fn plates(
    radiators: &IndexMap<String, Radiator>,
    network: &Network,
    errors: &mut Vec<NetworkError>,
) -> Vec<TankPlate> {
    let mut plates: Vec<TankPlate> = Vec::new();
    for (r, (name, radiator)) in radiators.iter().enumerate() {
        let place = Place::root().key("radiators").key(name).key("tank_leaks");
        for (index, leak) in radiator.tank_leaks.iter().enumerate() {
            let at = place.index(index).key("between");
            let mut refuse = |at: &Place, rule: Rule, message: String, help: String| {
                errors.push(NetworkError::new(rule, at, message, help));
            };
            let (a, b) = &leak.between;
            let mut found = Vec::new();
            for (end, core) in [a, b].into_iter().enumerate() {
                match radiator.cores.get_index_of(core) {
                    Some(k) => found.push(k),
                    None => refuse(
                        &at.index(end),
                        Rule::UnknownName,
                        format!("the radiator has no core `{core}`"),
                        nearest_help(core, radiator.cores.keys()),
                    ),
                }
            }
            let [one, other] = found[..] else { continue };
            if one == other {
                refuse(
                    &at,
                    Rule::BadCut,
                    format!("the core `{a}` has no plate to itself"),
                    "try the names of two neighbours".into(),
                );
                continue;
            }
            if !radiator.is_cut_by_face() && one.abs_diff(other) != 1 {
                refuse(
                    &at,
                    Rule::BadCut,
                    format!(
                        "the cores `{a}` and `{b}` are no neighbours, so their tanks share no plate"
                    ),
                    "try two cores that follow one another under `cores`".into(),
                );
                continue;
            }
            let tied = |k: usize| {
                let core = radiator.cores.get_index(k)?.0;
                (network.cores.iter()).position(|c| c.radiator == r && c.core == *core)
            };
            let (Some(one), Some(other)) = (tied(one), tied(other)) else {
                continue;
            };
            let cores = [one.min(other), one.max(other)];
            if plates.iter().any(|p| p.cores == cores) {
                refuse(
                    &at,
                    Rule::BadCut,
                    format!("the leak between `{a}` and `{b}` is given twice"),
                    "try one leak with the conductance of both plates together".into(),
                );
                continue;
            }
            plates.push(TankPlate {
                cores,
                conductance_w_k: leak.conductance.w_k(),
            });
        }
    }
    plates.retain(|p| p.conductance_w_k > 0.0);
    plates
}
