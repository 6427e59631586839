//! Whether heat can leave: from every part that brings heat the stream must lead to something that takes it.
//! It looks at flows and directions alone; how hot things get is for the balance.

use super::thermal::{HeatInput, RESTING_SHARE};
use crate::network::{HeatRole, NodeKind};

/// Whether every stream that is heated leads to a core, an exchanger or a hose that takes heat, or out of the loop.
pub fn heat_can_leave(input: &HeatInput<'_>) -> bool {
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
                let strips = (input.strips)(core, input.flow_kg_s[j], &properties);
                strips.iter().any(|s| s.exchange_w_k > 0.0)
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
    flowing
        .iter()
        .all(|&j| !brings_heat(input, j) || cooled[j] || leaves[ends(j).1])
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
