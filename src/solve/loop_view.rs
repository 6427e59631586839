//! One loop of an answer as a view.

use super::case_state::LoopState;
use super::hydraulic::GRAVITY_M_S2;
use super::states::{PartState, PointState, PumpState};
use crate::network::{BranchEnd, HeatRole, NodeKind};
use crate::part::Law;
use std::borrow::Cow;

/// Pressures along the branches of one loop, at its elements.
#[derive(Clone, Debug)]
pub(super) struct Along {
    pub branch_of: Vec<usize>,
    pub inlet_pa: Vec<f64>,
    pub outlet_pa: Vec<f64>,
    pub drop_pa: Vec<f64>,
}

impl Along {
    pub(super) fn new(state: &LoopState) -> Self {
        let net = &state.circuit.net;
        let count = net.elements.len();
        let mut along = Self {
            branch_of: net.branch_of_elements(),
            inlet_pa: vec![0.0; count],
            outlet_pa: vec![0.0; count],
            drop_pa: vec![0.0; count],
        };
        for (j, branch) in net.branches.iter().enumerate() {
            let flow = state.flow.flow_kg_s[j];
            let mut pressure = state.flow.node_pa[branch.from]
                + excess_pa(state, branch.from, j, BranchEnd::Start);
            for e in branch.elements.clone() {
                let fluid = &state.fluid.elements[e];
                let laws = &net.laws[net.elements[e].laws.clone()];
                let drop: f64 = laws.iter().map(|l| l.drop(flow, fluid).drop_pa).sum();
                let weight = fluid.density_kg_m3 * GRAVITY_M_S2;
                pressure -= weight * net.elements[e].lead_m;
                along.inlet_pa[e] = pressure;
                along.drop_pa[e] = drop;
                pressure -= drop + weight * net.elements[e].rise_m;
                along.outlet_pa[e] = pressure;
            }
        }
        along
    }
}

/// Excess pressure of the leg of a tee at which a branch ends, Pa; 0 where there is none.
pub(super) fn excess_pa(state: &LoopState, node: usize, branch: usize, end: BranchEnd) -> f64 {
    let NodeKind::Tee(tee) = &state.circuit.net.nodes[node].kind else {
        return 0.0;
    };
    let leg = tee.legs.iter().position(|l| *l == Some((branch, end)));
    // In the order of the nodes.
    let known = &state.flow.tee_excess_pa;
    let place = known.binary_search_by_key(&node, |(n, _)| *n);
    match (leg, place) {
        (Some(leg), Ok(k)) => known[k].1[leg],
        _ => 0.0,
    }
}

/// A loop with the pressures along its branches.
pub(super) struct LoopView<'a> {
    pub(super) state: &'a LoopState,
    pub(super) ambient_pa: f64,
    pub(super) along: Cow<'a, Along>,
}

impl<'a> LoopView<'a> {
    /// A view of its own, for one look.
    pub fn new(state: &'a LoopState, ambient_pa: f64) -> Self {
        Self {
            state,
            ambient_pa,
            along: Cow::Owned(Along::new(state)),
        }
    }

    /// The branch of each element.
    pub(super) fn branch_of(&self) -> &[usize] {
        &self.along.branch_of
    }

    /// Drop along each element, Pa.
    pub(super) fn drop_pa(&self) -> &[f64] {
        &self.along.drop_pa
    }

    pub(super) fn excess(&self, node: usize, branch: usize, end: BranchEnd) -> f64 {
        excess_pa(self.state, node, branch, end)
    }

    /// What the pressures at the ends of a branch miss of the sum of its drops, Pa.
    pub fn misfit_pa(&self, branch: usize) -> f64 {
        let net = &self.state.circuit.net;
        let b = &net.branches[branch];
        let end = self.state.flow.node_pa[b.to] + self.excess(b.to, branch, BranchEnd::Finish);
        let end = end + self.state.fluid.node_density_kg_m3[b.to] * GRAVITY_M_S2 * b.trail_m;
        match b.elements.clone().last() {
            Some(last) => self.along.outlet_pa[last] - end,
            None => {
                self.state.flow.node_pa[b.from] + self.excess(b.from, branch, BranchEnd::Start)
                    - end
            }
        }
    }

    /// Velocity head of an element, or of the nearest one in its branch that has a passage, Pa.
    fn head_pa(&self, element: usize) -> f64 {
        let net = &self.state.circuit.net;
        let range = net.branches[self.along.branch_of[element]].elements.clone();
        let nearest = range
            .filter(|&e| net.elements[e].passage.is_some())
            .min_by_key(|&e| e.abs_diff(element));
        let Some(passage) = nearest.and_then(|e| net.elements[e].passage) else {
            return 0.0;
        };
        let rho = self.state.fluid.elements[element].density_kg_m3;
        let velocity = self.state.flow.flow_kg_s[self.along.branch_of[element]]
            / (rho * passage.area_m2 * passage.parallel);
        0.5 * rho * velocity * velocity
    }

    pub fn parts(&self) -> Vec<PartState> {
        (0..self.along.inlet_pa.len())
            .filter_map(|e| self.part(e))
            .collect()
    }

    pub fn part(&self, e: usize) -> Option<PartState> {
        let (circuit, heat) = (&self.state.circuit, &self.state.heat);
        let element = circuit.net.elements.get(e)?;
        let flow = self.state.flow.flow_kg_s[self.along.branch_of[e]];
        let fluid = &self.state.fluid.elements[e];
        let (t_in, t_out) = if flow >= 0.0 {
            (heat.upstream_k[e], heat.downstream_k[e])
        } else {
            (heat.downstream_k[e], heat.upstream_k[e])
        };
        let head = self.head_pa(e);
        let reynolds = element
            .passage
            .map(|p| flow.abs() * p.diameter_m / (p.area_m2 * p.parallel * fluid.viscosity_pa_s));
        Some(PartState {
            id: element.id.as_str().to_owned(),
            kind: element.kind,
            origin: element.origin,
            mass_flow_kg_s: flow,
            volume_flow_m3_s: flow / fluid.density_kg_m3,
            pressure_drop_pa: self.along.drop_pa[e],
            inlet_total_pressure_pa: self.along.inlet_pa[e],
            outlet_total_pressure_pa: self.along.outlet_pa[e],
            inlet_static_gauge_pa: self.along.inlet_pa[e] - head - self.ambient_pa,
            outlet_static_gauge_pa: self.along.outlet_pa[e] - head - self.ambient_pa,
            inlet_temperature_k: t_in,
            outlet_temperature_k: t_out,
            heat_w: heat.heat_w[e],
            reynolds,
            velocity_m_s: self.velocity_m_s(e),
            part_temperature_k: self.device_k(e),
            resistance_k_w: self.resistance_k_w(e),
        })
    }

    /// Mean velocity in an element that has a passage, m/s.
    pub(super) fn velocity_m_s(&self, e: usize) -> Option<f64> {
        let flow = self.state.flow.flow_kg_s[self.along.branch_of[e]];
        let passage = self.state.circuit.net.elements[e].passage?;
        let rho = self.state.fluid.elements[e].density_kg_m3;
        Some(flow / (rho * passage.area_m2 * passage.parallel))
    }

    /// Temperature of the module or device of an element: the inlet plus the heat over what the stream can use.
    fn device_k(&self, e: usize) -> Option<f64> {
        let (circuit, heat) = (&self.state.circuit, &self.state.heat);
        match circuit.net.elements[e].heat {
            HeatRole::Circuit(module) => Some(heat.module_k[module]),
            // A heater has no device whose temperature matters.
            HeatRole::Plate(_) if circuit.net.elements[e].kind == "heater" => None,
            HeatRole::Plate(plate) if !heat.plate_k.is_empty() => Some(heat.plate_k[plate]),
            HeatRole::Plate(plate) => {
                let flow = self.state.flow.flow_kg_s[self.along.branch_of[e]].abs();
                let fluid = &self.state.fluid.elements[e];
                let cp = fluid.specific_heat_j_kg_k;
                let node = &circuit.plates[plate];
                let resistance = node.contact.resistance_k_w(flow, fluid);
                let usable = super::exchange::stream_conductance_w_k(flow * cp, resistance);
                Some(
                    heat.upstream_k[e]
                        + if usable > 0.0 {
                            node.heat_w / usable
                        } else {
                            0.0
                        },
                )
            }
            _ => None,
        }
    }

    /// Resistance between an element's part and its coolant at its flow, where it has one.
    fn resistance_k_w(&self, e: usize) -> Option<f64> {
        let circuit = &self.state.circuit;
        let contact = match circuit.net.elements[e].heat {
            HeatRole::Circuit(module) => circuit.modules[module].contact,
            HeatRole::Plate(plate) if circuit.net.elements[e].kind == "plate" => {
                circuit.plates[plate].contact
            }
            _ => return None,
        };
        let flow = self.state.flow.flow_kg_s[self.along.branch_of[e]];
        let resistance = contact.resistance_k_w(flow, &self.state.fluid.elements[e]);
        (resistance > 0.0).then_some(resistance)
    }

    pub fn points(&self) -> Vec<PointState> {
        let net = &self.state.circuit.net;
        let flows = &self.state.flow.flow_kg_s;
        let mut inflow = vec![0.0; net.nodes.len()];
        for (branch, flow) in net.branches.iter().zip(flows) {
            inflow[branch.from] += flow;
            inflow[branch.to] -= flow;
        }
        let thermostats = &self.state.circuit.thermostats;
        let mixes = |n: usize| {
            let mut ways = thermostats.iter().filter_map(|t| t.mixing);
            ways.any(|way| way.node == n)
        };
        net.nodes
            .iter()
            .enumerate()
            .map(|(n, node)| {
                let (kind, legs) = match &node.kind {
                    NodeKind::Fixed { .. } if node.inflow_temperature_k.is_none() => {
                        ("expansion_tank", None)
                    }
                    NodeKind::Fixed { .. } => ("open_end", None),
                    NodeKind::Draw { .. } => ("draw", None),
                    NodeKind::Meeting if mixes(n) => ("mixing_thermostat", None),
                    NodeKind::Meeting => ("joint", None),
                    NodeKind::Tee(tee) => ("tee", Some(tee.flows_in(flows))),
                };
                PointState {
                    id: node.id.as_str().to_owned(),
                    kind,
                    total_pressure_pa: self.state.flow.node_pa[n],
                    temperature_k: self.state.heat.node_k[n],
                    inflow_kg_s: if matches!(kind, "joint" | "tee" | "mixing_thermostat") {
                        0.0
                    } else {
                        inflow[n]
                    },
                    leg_flow_kg_s: legs,
                }
            })
            .collect()
    }

    pub fn pumps(&self) -> Vec<PumpState> {
        let circuit = &self.state.circuit;
        circuit
            .machines
            .iter()
            .filter_map(|m| {
                let part = self.part(m.element)?;
                let laws = &circuit.net.laws[circuit.net.elements[m.element].laws.clone()];
                let Some(Law::Machine(machine)) = laws.first() else {
                    return None;
                };
                let rho = self.state.fluid.elements[m.element].density_kg_m3;
                let free = machine.free_flow_m3_s();
                let rise = -part.pressure_drop_pa;
                let vapour = circuit.coolant.vapour_pressure_pa(part.inlet_temperature_k);
                Some(PumpState {
                    id: part.id,
                    volume_flow_m3_s: part.volume_flow_m3_s,
                    pressure_rise_pa: rise,
                    shut_off_rise_pa: machine.shut_off_rise_pa(rho),
                    share_of_free_flow: (free > 0.0).then(|| part.volume_flow_m3_s / free),
                    hydraulic_w: rise * part.volume_flow_m3_s,
                    speed: machine.speed,
                    region: machine.region(part.mass_flow_kg_s, rho),
                    inlet_margin_over_boiling_pa: part.inlet_static_gauge_pa + self.ambient_pa
                        - vapour,
                })
            })
            .collect()
    }
}
