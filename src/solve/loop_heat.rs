//! Heat and temperatures of one loop between its passes: where it begins, what its pumps give, whether heat can be carried.

use super::error::SolveError;
use super::flow::FlowState;
use super::hydraulic::FluidState;
use super::thermal::{HeatState, RESTING_SHARE};
use crate::fluid::Properties;
use crate::id::Subject;
use crate::network::{Case, HeatRole, Loop, MachineHeat};
use crate::part::Law;

pub(super) fn fluid_at(circuit: &Loop, heat: &HeatState) -> FluidState {
    let at = |k: f64| circuit.coolant.properties_extended(k);
    FluidState {
        elements: (0..circuit.net.elements.len())
            .map(|e| at(heat.mean_k(e)))
            .collect(),
        node_density_kg_m3: heat.node_k.iter().map(|k| at(*k).density_kg_m3).collect(),
    }
}

/// Mean temperature of what takes heat out of a loop: the streams of its exchangers and the air of its cores.
pub(super) fn sink_temperature_k(circuit: &Loop, air_k: f64) -> f64 {
    let cores = circuit
        .net
        .elements
        .iter()
        .filter(|e| matches!(e.heat, HeatRole::Core(_)))
        .count() as f64;
    let streams: f64 = circuit
        .exchangers
        .iter()
        .map(|x| x.stream_temperature_k)
        .sum();
    let count = cores + circuit.exchangers.len() as f64;
    let hoses: f64 = circuit.hoses.iter().map(|h| h.surroundings_k).sum();
    if count > 0.0 {
        (streams + cores * air_k) / count
    } else if !circuit.hoses.is_empty() {
        hoses / circuit.hoses.len() as f64
    } else {
        air_k
    }
}

pub(super) fn largest_change(a: &HeatState, b: &HeatState) -> f64 {
    let pairs = (a.node_k.iter().zip(&b.node_k))
        .chain(a.module_k.iter().zip(&b.module_k))
        .chain(a.upstream_k.iter().zip(&b.upstream_k))
        .chain(a.downstream_k.iter().zip(&b.downstream_k));
    pairs.fold(0.0, |m: f64, (x, y)| m.max((x - y).abs()))
}

/// A pump gives all its coolant power at the pump: shaft power where an efficiency is given, electrical power where
/// that is given, else hydraulic power alone.
pub(super) fn pump_heat(circuit: &Loop, flow: &FlowState, fluid: &FluidState) -> Vec<f64> {
    let most = flow.flow_kg_s.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
    let machines = circuit.machines.iter();
    machines
        .map(|machine| {
            let e = machine.element;
            machine_heat(
                circuit,
                machine,
                flow.flow_kg_s[circuit.net.branch_of(e)],
                most,
                &fluid.elements[e],
            )
        })
        .collect()
}

/// Heat of one pump at its flow, W; `most_kg_s` is the largest flow of the loop.
pub(super) fn machine_heat(
    circuit: &Loop,
    machine: &MachineHeat,
    flow_kg_s: f64,
    most_kg_s: f64,
    properties: &Properties,
) -> f64 {
    let laws = &circuit.net.laws[circuit.net.elements[machine.element].laws.clone()];
    let turning = laws
        .iter()
        .any(|l| matches!(l, Law::Machine(machine) if machine.speed > 0.0));
    if flow_kg_s.abs() <= RESTING_SHARE * most_kg_s || most_kg_s == 0.0 || !turning {
        return 0.0;
    }
    if let Some(w) = machine.electrical_w {
        return w;
    }
    let drops = laws.iter().map(|l| -l.drop(flow_kg_s, properties).drop_pa);
    let rise: f64 = drops.sum();
    let hydraulic = (rise * flow_kg_s / properties.density_kg_m3).max(0.0);
    hydraulic / machine.efficiency.unwrap_or(1.0)
}

/// Temperature from which the passes of a loop begin, and at which a loop that carries no heat stays, K.
pub(super) fn start_temperature_k(circuit: &Loop, case: &Case, chosen_k: Option<f64>) -> f64 {
    let (low, high) = circuit.coolant.range_k();
    case.coolant_temperature_k
        .or(chosen_k)
        .unwrap_or_else(|| sink_temperature_k(circuit, case.air_temperature_k))
        .clamp(low, high)
}

/// Heat on a part through which nothing flows has no steady state.
pub(super) fn heat_needs_flow(circuit: &Loop, flow_kg_s: &[f64]) -> Result<(), SolveError> {
    let owner = circuit.net.branch_of_elements();
    let most = flow_kg_s.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
    let rests = |e: usize| most <= 1e-12 || flow_kg_s[owner[e]].abs() <= RESTING_SHARE * most;
    for plate in circuit.plates.iter().filter(|p| p.heat_w != 0.0) {
        if rests(plate.element) {
            return Err(SolveError::HeatWithoutFlow {
                subject: Subject::part(
                    &circuit.name,
                    circuit.net.elements[plate.element].id.as_str(),
                ),
                heat_w: plate.heat_w,
            });
        }
    }
    for module in &circuit.modules {
        let heat_w = module.heat.as_ref().map_or(0.0, |h| h.at(298.15).value);
        if heat_w > 0.0 && module.circuits.iter().all(|&e| rests(e)) {
            return Err(SolveError::HeatWithoutFlow {
                subject: Subject::part(&circuit.name, &module.name),
                heat_w,
            });
        }
    }
    Ok(())
}

/// Coolant temperatures outside the liquid range are no answer.
pub(super) fn within_range(circuit: &Loop, heat: &HeatState) -> Result<(), SolveError> {
    let (low, high) = circuit.coolant.range_k();
    let refuse = |name: &str, k: f64| {
        Err(SolveError::BeyondCoolantRange {
            subject: Subject::part(&circuit.name, name),
            temperature_k: k,
            range_k: (low, high),
        })
    };
    let beyond = |k: f64| !(low - 1e-6..=high + 1e-6).contains(&k);
    let worst = |values: &[f64]| {
        (0..values.len())
            .filter(|&i| beyond(values[i]))
            .max_by(|&a, &b| (values[a] - low).abs().total_cmp(&(values[b] - low).abs()))
    };
    if let Some(e) = worst(&heat.downstream_k) {
        return refuse(circuit.net.elements[e].id.as_str(), heat.downstream_k[e]);
    }
    if let Some(n) = worst(&heat.node_k) {
        return refuse(circuit.net.nodes[n].id.as_str(), heat.node_k[n]);
    }
    Ok(())
}
