//! The rules that only the finished graph can show: pressure references, tanks, lossless joins, drivers.

use super::error::{NetworkError, Rule};
use super::flow::{FlowNet, NodeKind, Passage};
use super::plan::PlanLoop;
use super::vehicle::Loop;
use crate::correlation::tees::TeeModel;
use crate::finding::{Finding, FindingKind};
use crate::id::Subject;
use crate::part::Law;
use crate::quantity::Pressure;
use petgraph::unionfind::UnionFind;
use std::collections::HashMap;

/// Standard air pressure, with which gauge and absolute pressures are compared here, Pa.
const STANDARD_PRESSURE_PA: f64 = 101_325.0;
/// Pressures nearer than this count as equal, Pa.
const SAME_PRESSURE_PA: f64 = 1e-3;
/// Weight of water that turns a height into a pressure for this comparison, Pa/m.
const WATER_PA_M: f64 = 9_806.65;

/// Runs every structural rule over a loop.
pub(super) fn check(
    circuit: &Loop,
    plan: &PlanLoop,
    errors: &mut Vec<NetworkError>,
    findings: &mut Vec<Finding>,
) {
    let pieces = circuit.net.pieces();
    let count = pieces.iter().copied().max().map_or(0, |m| m + 1);
    let mut nodes_of: Vec<Vec<usize>> = vec![Vec::new(); count];
    for (node, &piece) in pieces.iter().enumerate() {
        nodes_of[piece].push(node);
    }
    for nodes in &nodes_of {
        pressure_reference(&circuit.net, plan, nodes, errors);
        tanks(&circuit.net, plan, nodes, errors);
    }
    lossless_joins(&circuit.net, plan, errors);
    driver(circuit, findings);
}

fn place_of(plan: &PlanLoop, name: &str) -> crate::place::Place {
    plan.parts
        .iter()
        .find(|p| p.name == name)
        .map_or_else(|| plan.place.key("runs"), |p| p.place.clone())
}

/// Every connected piece has a stated pressure somewhere.
fn pressure_reference(
    net: &FlowNet,
    plan: &PlanLoop,
    nodes: &[usize],
    errors: &mut Vec<NetworkError>,
) {
    if nodes
        .iter()
        .any(|&n| matches!(net.nodes[n].kind, NodeKind::Fixed { .. }))
    {
        return;
    }
    if let Some(&first) = nodes.first() {
        let name = net.nodes[first].id.as_str();
        errors.push(NetworkError::new(
            Rule::NoPressureReference,
            &place_of(plan, name),
            format!("the piece of the loop around `{name}` has no pressure reference"),
            "try an `expansion_tank` in a closed loop, or an `open_end`",
        ));
    }
}

/// One expansion tank in a connected piece.
fn tanks(net: &FlowNet, plan: &PlanLoop, nodes: &[usize], errors: &mut Vec<NetworkError>) {
    let mut tanks = nodes.iter().filter(|&&n| {
        matches!(net.nodes[n].kind, NodeKind::Fixed { .. })
            && net.nodes[n].inflow_temperature_k.is_none()
    });
    if let (Some(&first), Some(&second)) = (tanks.next(), tanks.next()) {
        errors.push(NetworkError::new(
            Rule::SecondTank,
            &place_of(plan, net.nodes[second].id.as_str()),
            format!(
                "`{}` is a second expansion tank in the loop of `{}`; two tanks cannot both set its pressure",
                net.nodes[second].id, net.nodes[first].id
            ),
            "try a `joint` in place of one of them",
        ));
    }
}

/// Whether a node is a tee that costs something.
fn loses(kind: &NodeKind) -> bool {
    matches!(kind, NodeKind::Tee(tee) if tee.model != TeeModel::Lossless)
}

/// No two stated pressures, and no ring, without any resistance between.
fn lossless_joins(net: &FlowNet, plan: &PlanLoop, errors: &mut Vec<NetworkError>) {
    let mut sets = UnionFind::<usize>::new(net.nodes.len());
    let lossless = |b: &&super::flow::Branch| {
        b.elements.is_empty()
            && b.passage == Passage::Open
            && !loses(&net.nodes[b.from].kind)
            && !loses(&net.nodes[b.to].kind)
    };
    for branch in net.branches.iter().filter(lossless) {
        if !sets.union(branch.from, branch.to) {
            let name = net.nodes[branch.to].id.as_str();
            errors.push(NetworkError::new(
                Rule::LosslessJoin,
                &place_of(plan, name),
                format!("`{name}` closes a ring of runs without any part in them, so its flow cannot be told"),
                "try taking one of the runs out, or put a hose in it",
            ));
        }
    }
    let level = |n: usize| match net.nodes[n].kind {
        NodeKind::Fixed { pressure } => {
            let absolute = match pressure {
                Pressure::Gauge(p) => STANDARD_PRESSURE_PA + p.pa(),
                Pressure::Absolute(p) => p.pa(),
            };
            Some(absolute + WATER_PA_M * net.nodes[n].elevation_m)
        }
        _ => None,
    };
    let fixed: Vec<usize> = (0..net.nodes.len())
        .filter(|&n| level(n).is_some())
        .collect();
    let mut first_of: HashMap<usize, usize> = HashMap::new();
    for &second in &fixed {
        let first = *first_of.entry(sets.find(second)).or_insert(second);
        if first == second {
            continue;
        }
        let (a, b) = (level(first).unwrap_or(0.0), level(second).unwrap_or(0.0));
        let (name, other) = (&net.nodes[second].id, &net.nodes[first].id);
        let message = if (a - b).abs() > SAME_PRESSURE_PA {
            format!(
                "`{name}` and `{other}` are joined without any loss, but their pressures differ by {} kPa",
                ((a - b).abs().round()) / 1e3
            )
        } else {
            format!(
                "`{name}` and `{other}` are joined without any loss, so the flow between them cannot be told"
            )
        };
        errors.push(NetworkError::new(
            Rule::LosslessJoin,
            &place_of(plan, name.as_str()),
            message,
            "try a hose or another part with a loss between them",
        ));
    }
}

/// Something should move the coolant.
fn driver(circuit: &Loop, findings: &mut Vec<Finding>) {
    let pumps = circuit
        .net
        .laws
        .iter()
        .any(|l| matches!(l, Law::Machine(_)));
    let ends = circuit
        .net
        .nodes
        .iter()
        .filter(|n| matches!(n.kind, NodeKind::Fixed { .. } | NodeKind::Draw { .. }))
        .count();
    if !pumps && ends < 2 {
        findings.push(Finding::new(
            FindingKind::NoDriver,
            Subject::whole(&circuit.name),
            "nothing moves the coolant: the loop has no pump, and no two ends of different pressure; only warm coolant rising can make it flow",
        ));
    }
}
