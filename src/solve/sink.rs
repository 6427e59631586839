//! Whether heat can leave: from every part that brings heat the stream must lead to something that takes it.
//! It looks at flows and directions alone; how hot things get is for the balance.

use super::error::SolveError;
use super::thermal::{HeatInput, RESTING_SHARE};
use crate::id::Subject;
use crate::network::{Element, HeatRole, Loop, Node, NodeKind};

/// Whether every stream that is heated leads to a core, an exchanger or a hose that takes heat, or out of the loop.
pub fn heat_can_leave(input: &HeatInput<'_>) -> bool {
    stuck_branch(input).is_none()
}

/// The first heated branch whose stream leads to nothing that takes heat.
fn stuck_branch(input: &HeatInput<'_>) -> Option<usize> {
    let circuit = input.circuit;
    let net = &circuit.net;
    let most = input.flow_kg_s.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
    let rest = RESTING_SHARE * most;
    let mut sum = vec![0.0; net.nodes.len()];
    for (branch, flow) in net.branches.iter().zip(input.flow_kg_s) {
        sum[branch.to] += flow;
        sum[branch.from] -= flow;
    }
    // Nodes from which heat leaves, worked out against the stream from where it does.
    let mut leaves: Vec<bool> = (0..net.nodes.len())
        .map(|n| {
            let node = &net.nodes[n];
            let outside = matches!(node.kind, NodeKind::Fixed { .. } | NodeKind::Draw { .. });
            outside && node.inflow_temperature_k.is_some() && sum[n] > rest
        })
        .collect();
    let takes = |j: usize| {
        let takes_heat = |e: usize| match net.elements[e].heat {
            HeatRole::Core(core) => {
                let properties = circuit.coolant.properties_extended(CORE_TRIAL_K);
                let sides = (input.sides)(core, input.flow_kg_s[j], &properties);
                sides.strips.iter().any(|s| s.exchange_w_k > 0.0)
            }
            HeatRole::Exchanger(_) | HeatRole::Hose(_) => true,
            _ => false,
        };
        net.branches[j].elements.clone().any(takes_heat)
    };
    let flowing: Vec<usize> = (0..net.branches.len())
        .filter(|&j| input.flow_kg_s[j].abs() > rest)
        .collect();
    let cooled: Vec<bool> = (0..net.branches.len()).map(takes).collect();
    let ends = |j: usize| {
        let branch = &net.branches[j];
        if input.flow_kg_s[j] >= 0.0 {
            (branch.from, branch.to)
        } else {
            (branch.to, branch.from)
        }
    };
    let mut changed = true;
    while changed {
        changed = false;
        for &j in &flowing {
            let (up, down) = ends(j);
            if !leaves[up] && (cooled[j] || leaves[down]) {
                leaves[up] = true;
                changed = true;
            }
        }
    }
    let stuck = |j: &usize| brings_heat(input, *j) && !cooled[*j] && !leaves[ends(*j).1];
    flowing.into_iter().find(stuck)
}

/// The refusal where heat, W, is more than the exchangers of a loop may take and nothing else takes any.
fn beyond_limits(circuit: &Loop, heat_w: f64) -> Option<SolveError> {
    let net = &circuit.net;
    let takes = |e: &Element| matches!(e.heat, HeatRole::Core(_) | HeatRole::Hose(_));
    let opens =
        |n: &Node| matches!(n.kind, NodeKind::Draw { .. }) || n.inflow_temperature_k.is_some();
    if net.elements.iter().any(takes) || net.nodes.iter().any(opens) {
        return None;
    }
    let limit_w: f64 = circuit.exchangers.iter().map(|x| x.limit_w).sum();
    let largest = circuit
        .exchangers
        .iter()
        .max_by(|a, b| a.limit_w.total_cmp(&b.limit_w))?;
    (heat_w >= limit_w).then(|| SolveError::BeyondHeatLimit {
        subject: Subject::part(&circuit.name, net.elements[largest.element].id.as_str()),
        heat_w,
        limit_w,
    })
}

/// Whether exchangers with a limit are asked for more than they may take, at the least heat that modules may give: at the
/// hottest that the coolant allows.
///
/// # Errors
/// [`SolveError::BeyondHeatLimit`].
pub(super) fn within_limits(circuit: &Loop, pump_w: &[f64]) -> Result<(), SolveError> {
    let (_, hottest_k) = circuit.coolant.range_k();
    let plates: f64 = circuit.plates.iter().map(|p| p.heat_w).sum();
    let pumps: f64 = pump_w.iter().sum();
    let modules = circuit.modules.iter().filter_map(|m| m.heat.as_ref());
    let modules: f64 = modules.map(|h| h.at(hottest_k).value).sum();
    match beyond_limits(circuit, plates + pumps + modules) {
        Some(error) => Err(error),
        None => Ok(()),
    }
}

/// Why there is no steady state, with the part whose heat has no way out: that of a stream that leads nowhere, or else the
/// part that brings most. Where exchangers take what they can and it is not enough, that is said in place of it.
pub(super) fn no_way_out(circuit: &Loop, stuck: Option<&HeatInput<'_>>, air_k: f64) -> SolveError {
    let branch = stuck.and_then(stuck_branch);
    let mut most: Option<(String, f64)> = None;
    let mut total_w = 0.0;
    let mut offer = |id: &str, heat_w: f64| {
        total_w += heat_w;
        if heat_w != 0.0 && most.as_ref().is_none_or(|(_, w)| heat_w > *w) {
            most = Some((id.to_owned(), heat_w));
        }
    };
    let inside = |e: usize| branch.is_none_or(|j| circuit.net.branches[j].elements.contains(&e));
    for plate in circuit.plates.iter().filter(|p| inside(p.element)) {
        offer(
            circuit.net.elements[plate.element].id.as_str(),
            plate.heat_w,
        );
    }
    for module in circuit
        .modules
        .iter()
        .filter(|m| m.circuits.iter().any(|&e| inside(e)))
    {
        let heat_w = module.heat.as_ref().map_or(0.0, |h| h.at(air_k).value);
        offer(&module.name, heat_w);
    }
    if branch.is_none()
        && let Some(error) = beyond_limits(circuit, total_w)
    {
        return error;
    }
    SolveError::NoHeatSink {
        subject: match most {
            Some((id, _)) => Subject::part(&circuit.name, id),
            None => Subject::whole(&circuit.name),
        },
        heat_w: total_w,
    }
}

/// Temperature at which a core is tried, K; whether it takes any heat does not depend on it.
const CORE_TRIAL_K: f64 = 300.0;

fn brings_heat(input: &HeatInput<'_>, branch: usize) -> bool {
    let circuit = input.circuit;
    let brings = |e: usize| match circuit.net.elements[e].heat {
        HeatRole::Plate(p) => circuit.plates[p].heat_w != 0.0,
        HeatRole::Machine(m) => input.pump_w[m] != 0.0,
        HeatRole::Circuit(m) => circuit.modules[m]
            .heat
            .as_ref()
            .is_some_and(|h| h.at(CORE_TRIAL_K).value > 0.0),
        _ => false,
    };
    circuit.net.branches[branch].elements.clone().any(brings)
}
