//! What was solved of cores, fans and their air, as views on the raw numbers, and the closure of the air.

use super::case_state::{Carried, LoopState};
use super::closure::{Closure, air_flow_closure};
use super::couple::solved_sides;
use super::exchange::StripHeat;
use super::solution::Solution;
use super::states::{CoreSides, CoreState, FanState, LeakState, PartState};
use crate::network::CoreTie;
use crate::part::{Law, Regime};

impl Solution<'_> {
    /// Cores of a radiator.
    pub fn cores(&self, radiator: &str) -> Vec<CoreState> {
        let radiators = self.network.radiators();
        self.network
            .cores()
            .iter()
            .enumerate()
            .filter(|(_, c)| radiators[c.radiator].name == radiator)
            .filter_map(|(index, _)| self.core(index))
            .collect()
    }

    fn core(&self, index: usize) -> Option<CoreState> {
        let tie = &self.network.cores()[index];
        let owner = &self.state.loops[tie.circuit];
        let part = self.view(tie.circuit).part(tie.element)?;
        let met = solved_sides(self.network, &self.case, &self.state, index);
        let strips = &met.strips;
        let air = self.case.air.properties();
        let air_mass: f64 = strips.iter().map(|s| s.air_kg_s.abs()).sum();
        let face: f64 = tie.strips.iter().map(|s| s.face_m2).sum();
        let (inlet, outlet) = if part.mass_flow_kg_s >= 0.0 {
            (part.inlet_temperature_k, part.outlet_temperature_k)
        } else {
            (part.outlet_temperature_k, part.inlet_temperature_k)
        };
        let tanks = self.state.meeting.tanks(index);
        let meets_air_k = tanks.map_or(inlet, |t| t.inlet_k);
        let carried_in: f64 = (strips.iter())
            .map(|s| s.air_kg_s.abs() * s.air_inlet_k)
            .sum();
        let gained: f64 = strips
            .iter()
            .map(|s| {
                let q = s.exchange_w_k * (meets_air_k - s.air_inlet_k);
                s.air_kg_s.abs() * air.specific_heat_j_kg_k * s.air_inlet_k + q
            })
            .sum();
        let most = best_possible(
            strips,
            part.mass_flow_kg_s,
            owner,
            tie.element,
            air.specific_heat_j_kg_k,
        );
        let exchange: f64 = strips.iter().map(|s| s.exchange_w_k).sum();
        let ntu: f64 = strips.iter().map(|s| s.ntu * s.exchange_w_k).sum();
        Some(CoreState {
            core: tie.core.clone(),
            owner: owner.circuit.name.clone(),
            heat_rejected_w: if owner.carried == Carried::Solved {
                -part.heat_w
            } else {
                0.0
            },
            effectiveness: (most > 0.0).then(|| exchange / most),
            ntu: (exchange > 0.0).then(|| ntu / exchange),
            air_passing_kg_s: air_mass,
            air_mass_flow_kg_s: strips.iter().map(|s| s.air_kg_s).sum(),
            face_velocity_m_s: if face > 0.0 {
                air_mass / (air.density_kg_m3 * face)
            } else {
                0.0
            },
            air_inlet_temperature_k: (air_mass > 0.0).then(|| carried_in / air_mass),
            tank_leaks: self.leaks(index),
            air_outlet_temperature_k: (air_mass > 0.0 && owner.carried == Carried::Solved)
                .then(|| gained / (air_mass * air.specific_heat_j_kg_k)),
            inlet_temperature_k: inlet,
            outlet_temperature_k: outlet,
            sides: sides(tie, &part, strips),
        })
    }

    /// Heat that comes to a core through each of its tank plates.
    fn leaks(&self, index: usize) -> Vec<LeakState> {
        let meeting = &self.state.meeting;
        let Some(own) = meeting.tanks(index) else {
            return Vec::new();
        };
        (meeting.beyond(index))
            .map(|(other, plate)| LeakState {
                from: self.network.cores()[other].core.clone(),
                heat_w: plate.half_w_k
                    * (plate.inlet_tank_k - own.inlet_k + plate.outlet_tank_k - own.outlet_k),
            })
            .collect()
    }

    /// How well the air of each air path keeps mass and energy, recomputed from flows, temperatures and the heat that
    /// the coolant gave; the radiator in front names the path.
    pub fn air_closures(&self) -> Vec<(String, Closure)> {
        let paths = self.state.airs.iter().enumerate();
        paths
            .map(|(air, state)| {
                let mut closure = air_flow_closure(state);
                for (index, tie) in self.network.cores().iter().enumerate() {
                    let owner = &self.state.loops[tie.circuit];
                    if tie.air != air || owner.carried != Carried::Solved {
                        continue;
                    }
                    let Some(core) = self.core(index) else {
                        continue;
                    };
                    let leaks: f64 = core.tank_leaks.iter().map(|l| l.heat_w).sum();
                    let (from, to) = (core.air_inlet_temperature_k, core.air_outlet_temperature_k);
                    let (air_kg_s, cp) = (
                        core.air_passing_kg_s,
                        self.case.air.properties().specific_heat_j_kg_k,
                    );
                    let gained = match (from, to) {
                        (Some(from), Some(to)) => air_kg_s * cp * (to - from),
                        _ => 0.0,
                    };
                    closure.energy_w += (core.heat_rejected_w + leaks - gained).abs();
                    closure.heat_w += core.heat_rejected_w.abs() + leaks.abs();
                    closure.stream_w_k += air_kg_s * cp;
                }
                (state.path.radiator.clone(), closure)
            })
            .collect()
    }

    /// Fans of a radiator.
    pub fn fans(&self, radiator: &str) -> Vec<FanState> {
        let radiators = self.network.radiators();
        let Some(index) = radiators.iter().position(|r| r.name == radiator) else {
            return Vec::new();
        };
        let air = &self.state.airs[radiators[index].air];
        let properties = self.case.air.properties();
        air.path
            .fans
            .iter()
            .filter(|fan| fan.radiator == index)
            .filter_map(|fan| {
                let flow = air.flow.flow_kg_s[fan.branch];
                let law =
                    air.path.net.laws[air.path.net.elements[fan.element].laws.clone()].first()?;
                let Law::Machine(machine) = law else {
                    return None;
                };
                let free = machine.free_flow_m3_s();
                let volume_flow_m3_s = flow / properties.density_kg_m3;
                Some(FanState {
                    name: fan.name.clone(),
                    volume_flow_m3_s,
                    pressure_rise_pa: -law.drop(flow, &properties).drop_pa,
                    share_of_free_flow: (free > 0.0).then(|| volume_flow_m3_s / free),
                    region: machine.region(flow, properties.density_kg_m3),
                })
            })
            .collect()
    }
}

/// The most heat per kelvin that the strips could pass: the smaller heat capacity flow of each.
fn best_possible(
    strips: &[StripHeat],
    flow_kg_s: f64,
    owner: &LoopState,
    element: usize,
    cp_air: f64,
) -> f64 {
    let cp = owner
        .circuit
        .coolant
        .properties_extended(owner.heat.mean_k(element))
        .specific_heat_j_kg_k;
    let shares = strips.len().max(1) as f64;
    strips
        .iter()
        .map(|s| {
            if s.effectiveness > 0.0 {
                s.exchange_w_k / s.effectiveness
            } else {
                (s.air_kg_s.abs() * cp_air).min(flow_kg_s.abs() * cp / shares)
            }
        })
        .sum()
}

/// Both sides of a core from its strips.
fn sides(tie: &CoreTie, part: &PartState, strips: &[StripHeat]) -> CoreSides {
    let reynolds = part.reynolds.unwrap_or(0.0);
    let moving = || strips.iter().filter(|s| s.air_kg_s != 0.0);
    let air_side_w_k: f64 = strips.iter().map(|s| s.air_side_w_k).sum();
    let face: f64 = tie.strips.iter().map(|s| s.face_m2).sum();
    let weighed: Option<f64> = strips
        .iter()
        .zip(&tie.strips)
        .map(|(s, strip)| s.fin_efficiency.map(|e| e * strip.face_m2 / face))
        .sum();
    let reynolds_of_air: Option<Vec<f64>> = moving().map(|s| s.air_reynolds).collect();
    CoreSides {
        passes: tie.passes,
        reynolds,
        regime: Regime::at(reynolds),
        tube_velocity_m_s: part.velocity_m_s.unwrap_or(0.0),
        tank_velocity_m_s: tie.tank_area_m2.map(|a| part.volume_flow_m3_s.abs() / a),
        coolant_side_w_k: strips.iter().map(|s| s.coolant_side_w_k).sum(),
        air_side_w_k,
        fin_efficiency: weighed.filter(|_| face > 0.0),
        air_reynolds: reynolds_of_air.and_then(|list| {
            let low = list.iter().copied().reduce(f64::min)?;
            Some((low, list.iter().copied().fold(low, f64::max)))
        }),
    }
}
