//! One loop of a march: the balance of a stage at flows that are solved with it.

use super::told::Told;
use crate::fluid::Properties;
use crate::id::Subject;
use crate::network::{Case, Loop, Network};
use crate::solve::case_state::{AirState, Carried, LoopState, ambient_pa};
use crate::solve::converge::largest;
use crate::solve::couple::{note, sides_of};
use crate::solve::error::SolveError;
use crate::solve::flow::{FlowState, FlowWorkspace, solve_flows};
use crate::solve::linear::StrongSystem;
use crate::solve::loop_heat::{fluid_at, largest_change, pump_heat};
use crate::solve::meeting::Meeting;
use crate::solve::mix::Mixer;
use crate::solve::options::Options;
use crate::solve::thermal::{HeatInput, HeatState, Rows, balance, left_after};
use crate::solve::thermostat::follow;
use std::sync::Arc;

/// Newton steps of one stage at known flows.
const MOST_STEPS: usize = 60;
/// Change of temperature at which such a Newton is done, over the agreement of flow and heat, where what is left of the heat is
/// this share of all heat that passes: a tenth of the closure of energy that is owed.
const DONE_SHARE: f64 = 1.0e-3;
const CLOSED_SHARE: f64 = 1.0e-7;
/// The same, K, however little heat passes.
const DONE_K: f64 = 1.0e-9;
/// Balances looked at after that, before what is left is taken for round-off: each leaves a thousandth of the one before, so
/// two suffice (our choice).
const MOST_LOOKS: usize = 5;
/// Units in the last place of a temperature to which what is stored is known.
const ROUND_OFF: f64 = 4.0;
/// Most that any temperature moves in one Newton step, K.
const LARGEST_MOVE_K: f64 = 60.0;
/// Agreement of a thermostat with its coolant over that of flow and heat.
const SENSED_SHARE: f64 = 0.1;
/// Farthest that flows are let go on as they did, over the time between the last two stages: as much as a step may grow.
const FARTHEST: f64 = 4.0;

/// What all loops of a march see.
pub(super) struct Around<'a> {
    pub(super) network: &'a Network,
    pub(super) case: &'a Case,
    pub(super) options: &'a Options,
    pub(super) airs: Vec<AirState>,
    pub(super) meeting: Meeting,
    /// Whether a loop meets another, or itself, in stacked cores or at a tank plate.
    pub(super) meets: bool,
    pub(super) agreed_k: f64,
    /// Whether the stage is the end, whose flows and properties are told: then it agrees as closely as a steady answer.
    pub(super) at_end: bool,
}

/// One loop of a march.
pub(super) struct LoopMarch {
    index: usize,
    pub(super) state: LoopState,
    flow: Option<FlowState>,
    /// Time of the last stage, s, and the flows of one before it with theirs.
    at_s: f64,
    earlier: Option<(f64, FlowState)>,
    pub(super) start_k: f64,
    coolant_kg: Vec<f64>,
    pub(super) matrix: Matrix,
    told: Told,
}

/// The balance of a loop with what is stored, and its matrix: kept between stages.
#[derive(Default)]
pub(super) struct Matrix {
    rows: Rows,
    positions: Vec<(usize, usize)>,
    values: Vec<f64>,
    pub(super) system: StrongSystem,
    pub(super) row_scale: Vec<f64>,
    stored: Vec<f64>,
    kept: Vec<f64>,
    step: Vec<f64>,
}

impl LoopMarch {
    pub(super) fn new(index: usize, circuit: Loop, start_k: f64) -> Self {
        let density = circuit.coolant.properties_extended(start_k).density_kg_m3;
        let mut coolant_kg = vec![0.0; circuit.net.nodes.len()];
        for branch in &circuit.net.branches {
            let elements = &circuit.net.elements[branch.elements.clone()];
            let volume: f64 = elements.iter().filter_map(|e| e.volume_m3).sum();
            coolant_kg[branch.from] += 0.5 * volume * density;
            coolant_kg[branch.to] += 0.5 * volume * density;
        }
        let mut heat = HeatState::uniform(&circuit, start_k);
        heat.plate_k = vec![start_k; circuit.plates.len()];
        let state = LoopState {
            fluid: fluid_at(&circuit, &heat),
            flow: FlowState::default(),
            pump_w: Vec::new(),
            carried: Carried::Solved,
            steps_max: 0,
            passes: 0,
            factorisations: 0,
            storing_w: Vec::new(),
            storing_round_off_w: 0.0,
            heat,
            circuit: Arc::new(circuit),
        };
        Self {
            index,
            state,
            flow: None,
            at_s: 0.0,
            earlier: None,
            start_k,
            coolant_kg,
            matrix: Matrix::default(),
            told: Told::NOTHING,
        }
    }

    /// Notes what the cores of the loop give to the air and to their neighbours.
    pub(super) fn note(&self, around: &mut Around<'_>) {
        let LoopState {
            circuit,
            flow,
            heat,
            carried,
            ..
        } = &self.state;
        let (case, airs, meeting) = (around.case, &around.airs, &mut around.meeting);
        let state = (&**circuit, flow, heat, *carried);
        note(around.network, self.index, state, case, airs, meeting);
    }

    pub(super) fn size(&self) -> usize {
        let circuit = &self.state.circuit;
        circuit.net.nodes.len() + circuit.modules.len() + circuit.plates.len()
    }

    fn capacities(&self) -> impl Iterator<Item = f64> {
        let circuit = &self.state.circuit;
        let modules = circuit.modules.iter().map(|m| m.capacity_j_k);
        modules.chain(circuit.plates.iter().map(|p| p.capacity_j_k))
    }

    /// Heat stored above the start, J.
    pub(super) fn stored_j(&self, y: &[f64], stored: &mut Vec<f64>) {
        let coolant = &self.state.circuit.coolant;
        let datum = coolant.enthalpy_j_kg(self.start_k);
        let (nodes, bodies) = y.split_at(self.coolant_kg.len());
        let kg = self.coolant_kg.iter();
        stored.extend(kg.zip(nodes).map(|(kg, k)| match *kg {
            0.0 => 0.0,
            kg => kg * (coolant.enthalpy_j_kg(*k) - datum),
        }));
        let capacities = self.capacities();
        stored.extend(capacities.zip(bodies).map(|(c, k)| c * (k - self.start_k)));
    }

    /// Lets flows go on to a stage as they did between the last two: a guess that its answer does not depend on but for
    /// round-off.
    pub(super) fn go_on(&mut self, time_s: f64) {
        let before_s = std::mem::replace(&mut self.at_s, time_s);
        let Some(flow) = &mut self.flow else {
            return;
        };
        if time_s == before_s {
            return;
        }
        let last = flow.clone();
        if let Some((earlier_s, earlier)) = &self.earlier {
            let share = (time_s - before_s) / (before_s - earlier_s);
            if share.abs() <= FARTHEST {
                let go_on = |now: &mut [f64], then: &[f64]| {
                    for (now, then) in now.iter_mut().zip(then) {
                        *now += share * (*now - then);
                    }
                };
                go_on(&mut flow.flow_kg_s, &earlier.flow_kg_s);
                go_on(&mut flow.node_pa, &earlier.node_pa);
            }
        }
        self.earlier = Some((before_s, last));
    }

    pub(super) fn unsettled(&self, passes: usize, change_k: f64) -> SolveError {
        SolveError::HeatUnsettled {
            subject: Subject::whole(&self.state.circuit.name),
            passes,
            change_k,
        }
    }

    pub(super) fn stage(
        &mut self,
        around: &Around<'_>,
        workspace: &mut FlowWorkspace,
        weight_s: f64,
        base_j: &[f64],
        y: &mut [f64],
    ) -> Result<(), SolveError> {
        let mut heat = self.state.heat.clone();
        write(&mut heat, y);
        if self.flow.is_some() {
            // Temperatures along the branches follow those of the guess.
            let mut rows = std::mem::take(&mut self.matrix.rows);
            self.write_balance(around, &mut heat, &mut rows);
            self.matrix.rows = rows;
        }
        let mut mixer = Mixer::new();
        let mut change = f64::INFINITY;
        for pass in 1..=around.options.passes {
            self.state.fluid = fluid_at(&self.state.circuit, &heat);
            self.settle_thermostats(around, workspace, weight_s, base_j, &heat)?;
            self.find_flows(around, workspace)?;
            self.state.passes = self.state.passes.max(pass);
            self.massless_need_flow(&self.state.flow.flow_kg_s)?;
            let next = self
                .newton(around, weight_s, base_j, &heat)
                .ok_or_else(|| self.unsettled(pass, change))?;
            let before = change;
            change = largest_change(&heat, &next);
            let left_k = match pass {
                // Flows and properties are those of the temperatures before.
                _ if around.at_end => change,
                1 => self.told.left_k(change),
                _ => left_after(change, before),
            };
            if pass == 2 && !around.at_end {
                self.told.hear(change, before);
            }
            if left_k <= around.agreed_k {
                read(&next, y);
                self.state.heat = next;
                let mut stored = Vec::new();
                self.stored_j(y, &mut stored);
                let nodes = stored.iter().zip(base_j).take(self.coolant_kg.len());
                self.state.storing_w = nodes.map(|(s, b)| (s - b) / weight_s).collect();
                let coolant = &self.state.circuit.coolant;
                let warm = self.coolant_kg.iter().zip(y.iter());
                let warm_j = warm.map(|(kg, k)| kg * coolant.specific_heat_extended_j_kg_k(*k) * k);
                self.state.storing_round_off_w =
                    ROUND_OFF * f64::EPSILON * warm_j.sum::<f64>() / weight_s;
                return Ok(());
            }
            mixer.mix(&mut heat, next);
        }
        Err(self.unsettled(around.options.passes, change))
    }

    /// Flows and pump heat at the present fluid.
    fn find_flows(
        &mut self,
        around: &Around<'_>,
        workspace: &mut FlowWorkspace,
    ) -> Result<(), SolveError> {
        let state = &mut self.state;
        let solved = solve_flows(
            &state.circuit.net,
            &state.circuit.name,
            &state.fluid,
            ambient_pa(around.case),
            self.flow.as_ref(),
            workspace,
            around.options,
        )?;
        state.steps_max = state.steps_max.max(solved.steps);
        state.factorisations += solved.factorisations;
        state.pump_w = pump_heat(&state.circuit, &solved, &state.fluid);
        state.flow = solved.clone();
        self.flow = Some(solved);
        Ok(())
    }

    /// Sets every thermostat to the opening that agrees with its temperature at the end of the stage.
    fn settle_thermostats(
        &mut self,
        around: &Around<'_>,
        workspace: &mut FlowWorkspace,
        weight_s: f64,
        base_j: &[f64],
        heat: &HeatState,
    ) -> Result<(), SolveError> {
        if self.state.circuit.thermostats.is_empty() {
            return Ok(());
        }
        let near: Vec<f64> = self
            .state
            .circuit
            .thermostats
            .iter()
            .map(|t| heat.sensed_k(t))
            .collect();
        let mut circuit = Loop::clone(&self.state.circuit);
        follow(
            &mut circuit,
            &near,
            SENSED_SHARE * around.agreed_k,
            &mut |set| {
                for (index, thermostat) in set.thermostats.iter().enumerate() {
                    let own = Arc::make_mut(&mut self.state.circuit);
                    own.set_thermostat(index, thermostat.opening);
                }
                self.find_flows(around, workspace)?;
                let next = self.newton(around, weight_s, base_j, heat);
                Ok(next.map(|next| set.thermostats.iter().map(|t| next.sensed_k(t)).collect()))
            },
        )?;
        self.state.circuit = Arc::new(circuit);
        Ok(())
    }

    /// The balance of one stage at known flows.
    fn newton(
        &mut self,
        around: &Around<'_>,
        weight_s: f64,
        base_j: &[f64],
        from: &HeatState,
    ) -> Option<HeatState> {
        let mut matrix = std::mem::take(&mut self.matrix);
        let found = self.newton_with(around, weight_s, base_j, from, &mut matrix);
        self.matrix = matrix;
        found
    }

    fn newton_with(
        &self,
        around: &Around<'_>,
        weight_s: f64,
        base_j: &[f64],
        from: &HeatState,
        matrix: &mut Matrix,
    ) -> Option<HeatState> {
        let size = self.size();
        let nodes = self.coolant_kg.len();
        let mut heat = from.clone();
        let mut y = vec![0.0; size];
        let (mut before, mut left) = (f64::INFINITY, f64::INFINITY);
        let mut looks = 0;
        let done_k = DONE_K.max(DONE_SHARE * around.agreed_k);
        for _ in 0..MOST_STEPS {
            self.write_balance(around, &mut heat, &mut matrix.rows);
            read(&heat, &mut y);
            self.write_system(&y, weight_s, base_j, matrix);
            let step = &mut matrix.step;
            if left < done_k {
                // Heat capacities and conductances are those of the temperatures one balance before: it must still hold.
                looks += 1;
                let most = largest(step);
                let closes = || {
                    let left_j = step
                        .iter()
                        .zip(&matrix.row_scale)
                        .map(|(k, s)| (k / s).abs());
                    let passes_w: f64 = heat.heat_w.iter().map(|w| w.abs()).sum();
                    left_j.sum::<f64>() <= CLOSED_SHARE * passes_w * weight_s
                };
                if most < DONE_K || (most < done_k && closes()) || looks > MOST_LOOKS {
                    return heat.node_k[..nodes]
                        .iter()
                        .all(|k| k.is_finite())
                        .then_some(heat);
                }
            }
            matrix.system.factorise().ok()?;
            matrix.system.solve(step).ok()?;
            let most = largest(step);
            let shorten = (LARGEST_MOVE_K / most.max(LARGEST_MOVE_K)).min(1.0);
            for (k, s) in y.iter_mut().zip(step.iter()) {
                *k -= shorten * s;
            }
            write(&mut heat, &y);
            left = left_after(most, before);
            before = most;
        }
        None
    }

    /// The rows of a stage, `(S(y) - base - weight R(y))` over what a row's own temperature moves in it, so that residuals
    /// are kelvin.
    fn write_system(&self, y: &[f64], weight_s: f64, base_j: &[f64], matrix: &mut Matrix) {
        let Matrix {
            rows,
            positions,
            values,
            system,
            row_scale,
            stored,
            kept,
            step,
        } = matrix;
        let size = y.len();
        stored.clear();
        self.stored_j(y, stored);
        let coolant = &self.state.circuit.coolant;
        let kg = self.coolant_kg.iter().zip(y);
        kept.clear();
        kept.extend(kg.map(|(kg, k)| kg * coolant.specific_heat_extended_j_kg_k(*k)));
        kept.extend(self.capacities());
        row_scale.clear();
        row_scale
            .extend((0..size).map(|r| 1.0 / (kept[r] + weight_s / rows.kelvin_per_w[r].abs())));
        step.clear();
        step.extend((0..size).map(|r| {
            let gained = rows.residual[r] / rows.kelvin_per_w[r];
            (stored[r] - base_j[r] - weight_s * gained) * row_scale[r]
        }));
        positions.clear();
        positions.extend((0..size).map(|r| (r, r)));
        positions.extend_from_slice(&rows.positions);
        values.clear();
        values.extend((0..size).map(|r| kept[r] * row_scale[r]));
        let slopes = rows.positions.iter().zip(&rows.values);
        values.extend(
            slopes.map(|(&(r, _), value)| -weight_s * value / rows.kelvin_per_w[r] * row_scale[r]),
        );
        system.set(size, positions, values);
    }

    fn write_balance(&self, around: &Around<'_>, heat: &mut HeatState, rows: &mut Rows) {
        let sides = |core: usize, m: f64, p: &Properties| {
            let Around {
                network,
                case,
                airs,
                meeting,
                ..
            } = around;
            sides_of(network, core, case, airs, meeting, m, p)
        };
        let input = HeatInput {
            circuit: &self.state.circuit,
            flow_kg_s: &self.state.flow.flow_kg_s,
            pump_w: &self.state.pump_w,
            sides: &sides,
        };
        rows.begin(self.size());
        balance(&input, heat, rows);
    }

    /// Heat gained by every row at the state last reached, W; nothing where nothing is stored.
    pub(super) fn rates_w(&self, around: &Around<'_>) -> Vec<f64> {
        let mut heat = self.state.heat.clone();
        let mut rows = Rows::default();
        self.write_balance(around, &mut heat, &mut rows);
        let stores = self.coolant_kg.iter().copied().chain(self.capacities());
        stores
            .enumerate()
            .map(|(r, kept)| match kept {
                0.0 => 0.0,
                _ => rows.residual[r] / rows.kelvin_per_w[r],
            })
            .collect()
    }
}

fn write(heat: &mut HeatState, y: &[f64]) {
    let all = heat.node_k.iter_mut().chain(&mut heat.module_k);
    for (k, value) in all.chain(&mut heat.plate_k).zip(y) {
        *k = *value;
    }
}

fn read(heat: &HeatState, y: &mut [f64]) {
    let all = heat.node_k.iter().chain(&heat.module_k);
    for (value, k) in y.iter_mut().zip(all.chain(&heat.plate_k)) {
        *value = *k;
    }
}
