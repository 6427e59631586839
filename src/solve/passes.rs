//! Passes of flow and heat of one loop: flows at the present temperatures, then temperatures at those flows.
//! When the passes end is for `couple.rs`, which knows the loops around.

use super::case_state::{Carried, LoopState, ambient_pa};
use super::couple::{Around, sides_of};
use super::error::SolveError;
use super::flow::{FlowState, FlowWorkspace, solve_flows};
use super::hydraulic::FluidState;
use super::loop_heat::{
    fluid_at, heat_needs_flow, largest_change, pump_heat, start_temperature_k, within_range,
};
use super::mix::Mixer;
use super::options::Options;
use super::sink::{heat_can_leave, no_way_out, within_limits};
use super::thermal::{HeatInput, HeatRoom, HeatState, Wanted, solve_heat};
use super::thermostat::settle;
use crate::fluid::Properties;
use crate::network::{Case, Loop};
use std::sync::Arc;

/// How a pass ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Passed {
    /// No temperature moved.
    Agreed,
    /// Another pass is due.
    Moved,
}

/// A loop between its passes.
pub(super) struct LoopPasses<'w> {
    /// Its place in the network.
    pub index: usize,
    /// The loop, set to its case.
    pub circuit: Loop,
    /// Whether heat is carried.
    pub carried: Carried,
    /// Largest change of any temperature in the last pass, K.
    pub change_k: f64,
    start_k: f64,
    heat: HeatState,
    next: Option<HeatState>,
    last: Option<Last>,
    workspace: &'w mut FlowWorkspace,
    room: &'w mut HeatRoom,
    steps_max: usize,
    factorisations: usize,
}

/// What the last pass solved.
struct Last {
    flow: FlowState,
    fluid: FluidState,
    pump_w: Vec<f64>,
}

impl<'w> LoopPasses<'w> {
    /// A loop before its first pass.
    ///
    /// # Errors
    /// [`SolveError::NoHeatSink`] where nothing in the loop could take its heat.
    pub fn new(
        index: usize,
        circuit: Loop,
        case: &Case,
        options: &Options,
        (workspace, room): (&'w mut FlowWorkspace, &'w mut HeatRoom),
    ) -> Result<Self, SolveError> {
        let carried = match case.coolant_temperature_k {
            Some(_) => Carried::Stated,
            None if circuit.has_sink() => Carried::Solved,
            None if circuit.has_source() => {
                return Err(no_way_out(&circuit, None, case.air_temperature_k));
            }
            None => Carried::LeftOut,
        };
        let start_k = start_temperature_k(&circuit, case, options.start_k);
        Ok(Self {
            index,
            carried,
            change_k: f64::INFINITY,
            start_k,
            heat: HeatState::uniform(&circuit, start_k),
            next: None,
            last: None,
            workspace,
            room,
            steps_max: 0,
            factorisations: 0,
            circuit,
        })
    }

    /// Begins from what was solved of a loop with the same graph and heat carried.
    pub fn begin_near(&mut self, near: &LoopState) {
        if self.carried == Carried::Solved && near.carried == Carried::Solved {
            self.heat.clone_from(&near.heat);
            self.last = Some(Last {
                flow: near.flow.clone(),
                fluid: near.fluid.clone(),
                pump_w: near.pump_w.clone(),
            });
        }
    }

    /// Flows of the last pass and the temperatures that came out of it, or that the next one starts from.
    pub fn flow_and_heat(&self) -> Option<(&FlowState, &HeatState)> {
        let heat = self.next.as_ref().unwrap_or(&self.heat);
        self.last.as_ref().map(|last| (&last.flow, heat))
    }

    /// Takes what the pass made as it is.
    pub fn accept(&mut self) {
        if let Some(next) = self.next.take() {
            self.heat = next;
        }
    }

    /// Mixes what a pass made of the loops that go together with earlier passes; where one of them began anew, what the
    /// others made is taken as it is.
    pub fn mix(together: &mut [Self], mixer: &mut Mixer) {
        if together.iter().any(|one| one.next.is_none()) {
            together.iter_mut().for_each(Self::accept);
            return;
        }
        let next = together.iter_mut().filter_map(|one| one.next.take());
        let next: Vec<HeatState> = next.collect();
        let mut states: Vec<&mut HeatState> =
            together.iter_mut().map(|one| &mut one.heat).collect();
        mixer.mix_all(&mut states, next);
    }

    /// Whether the coolant is within its range.
    ///
    /// # Errors
    /// [`SolveError::BeyondCoolantRange`].
    pub fn check(&self) -> Result<(), SolveError> {
        match self.carried {
            Carried::Solved => within_range(&self.circuit, &self.heat),
            _ => Ok(()),
        }
    }

    /// The state after the last of `passes`; none before the first.
    pub fn into_state(self, passes: usize) -> Option<LoopState> {
        let last = self.last?;
        Some(LoopState {
            flow: last.flow,
            fluid: last.fluid,
            heat: self.heat,
            pump_w: if self.carried == Carried::Solved {
                last.pump_w
            } else {
                vec![0.0; self.circuit.machines.len()]
            },
            carried: self.carried,
            steps_max: self.steps_max,
            passes,
            factorisations: self.factorisations,
            storing_w: Vec::new(),
            storing_round_off_w: 0.0,
            circuit: Arc::new(self.circuit),
        })
    }

    /// One pass.
    ///
    /// # Errors
    /// [`SolveError`] where flows do not settle or heat finds no way out.
    pub fn pass(&mut self, around: &Around<'_>) -> Result<Passed, SolveError> {
        let Around {
            network,
            case,
            airs,
            meeting,
            options,
        } = *around;
        let fluid = fluid_at(&self.circuit, &self.heat);
        self.set_thermostats(around, &fluid)?;
        let flow = solve_flows(
            &self.circuit.net,
            &self.circuit.name,
            &fluid,
            ambient_pa(case),
            self.last.as_ref().map(|l| &l.flow),
            self.workspace,
            options,
        )?;
        self.steps_max = self.steps_max.max(flow.steps);
        self.factorisations += flow.factorisations;
        let pump_w = pump_heat(&self.circuit, &flow, &fluid);
        let last = self.last.insert(Last {
            flow,
            fluid,
            pump_w,
        });
        if self.carried != Carried::Solved {
            self.next = Some(self.heat.clone());
            return Ok(Passed::Agreed);
        }
        heat_needs_flow(&self.circuit, &last.flow.flow_kg_s)?;
        within_limits(&self.circuit, &last.pump_w)?;
        let sides = |core: usize, m: f64, p: &Properties| {
            sides_of(network, core, case, airs, meeting, m, p)
        };
        let input = HeatInput {
            circuit: &self.circuit,
            flow_kg_s: &last.flow.flow_kg_s,
            pump_w: &last.pump_w,
            sides: &sides,
        };
        if !heat_can_leave(&input) {
            if self.circuit.has_source() {
                return Err(no_way_out(
                    &self.circuit,
                    Some(&input),
                    case.air_temperature_k,
                ));
            }
            // Only the pump warms a loop whose sinks are shut off: as if there were none.
            self.carried = Carried::LeftOut;
            self.heat = HeatState::uniform(&self.circuit, self.start_k);
            return Ok(Passed::Moved);
        }
        let Ok((next, settled)) = solve_heat(&input, &self.heat, self.room, Wanted::Pass) else {
            return Err(no_way_out(&self.circuit, None, case.air_temperature_k));
        };
        self.change_k = largest_change(&self.heat, &next);
        self.next = Some(next);
        if settled && self.change_k <= options.agreed_k {
            Ok(Passed::Agreed)
        } else {
            Ok(Passed::Moved)
        }
    }

    fn set_thermostats(
        &mut self,
        around: &Around<'_>,
        fluid: &FluidState,
    ) -> Result<(), SolveError> {
        if self.circuit.thermostats.is_empty() {
            return Ok(());
        }
        if self.carried == Carried::Solved {
            let mut trials = Trials {
                around,
                fluid,
                heat: &self.heat,
                flow: self.last.as_ref().map(|l| &l.flow),
                workspace: self.workspace,
                room: self.room,
                steps_max: &mut self.steps_max,
                factorisations: &mut self.factorisations,
            };
            return settle(&mut self.circuit, &mut |set| trials.inlets(set));
        }
        for index in 0..self.circuit.thermostats.len() {
            let node = self.circuit.thermostats[index];
            let opening = node.lift.opening(self.heat.sensed_k(&node));
            self.circuit.set_thermostat(index, opening);
        }
        Ok(())
    }
}

/// Trial solves of flow and heat at the fluid of one pass, by which thermostats find their openings.
struct Trials<'a> {
    around: &'a Around<'a>,
    fluid: &'a FluidState,
    heat: &'a HeatState,
    flow: Option<&'a FlowState>,
    workspace: &'a mut FlowWorkspace,
    room: &'a mut HeatRoom,
    steps_max: &'a mut usize,
    factorisations: &'a mut usize,
}

impl Trials<'_> {
    /// Coolant temperature at the inlet of each thermostat of a loop set to trial openings, K; `None` where heat finds
    /// no way out at these openings.
    fn inlets(&mut self, circuit: &Loop) -> Result<Option<Vec<f64>>, SolveError> {
        let Around {
            network,
            case,
            airs,
            meeting,
            options,
        } = *self.around;
        let solved = solve_flows(
            &circuit.net,
            &circuit.name,
            self.fluid,
            ambient_pa(case),
            self.flow,
            self.workspace,
            options,
        )?;
        *self.steps_max = (*self.steps_max).max(solved.steps);
        *self.factorisations += solved.factorisations;
        let pump_w = pump_heat(circuit, &solved, self.fluid);
        let sides = |core: usize, m: f64, p: &Properties| {
            sides_of(network, core, case, airs, meeting, m, p)
        };
        let input = HeatInput {
            circuit,
            flow_kg_s: &solved.flow_kg_s,
            pump_w: &pump_w,
            sides: &sides,
        };
        if !heat_can_leave(&input) {
            return Ok(None);
        }
        let solved = solve_heat(&input, self.heat, self.room, Wanted::Exact);
        Ok(solved.ok().map(|(next, _)| {
            let inlets = circuit.thermostats.iter();
            inlets.map(|t| next.sensed_k(t)).collect()
        }))
    }
}
