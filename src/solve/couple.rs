//! Joins what the other files solve alone: air first, then each loop by passes of flow and heat until they agree.
//! The only file that sees loops and air at once.

use super::air::solve_air;
use super::error::SolveError;
use super::exchange::{StripHeat, core_strips};
use super::flow::{FlowState, FlowWorkspace, solve_flows};
use super::hydraulic::FluidState;
use super::mix::Mixer;
use super::options::Options;
use super::sink::{heat_can_leave, no_way_out, within_limits};
use super::thermal::{HeatInput, HeatState, RESTING_SHARE, solve_heat};
use super::thermostat::settle;
use crate::fluid::Properties;
use crate::id::Subject;
use crate::network::{AirPath, Case, HeatRole, Loop, Network};
use crate::part::Law;

/// A loop set to its case, with its solution.
#[derive(Clone, Debug)]
pub struct LoopState {
    /// The loop as solved: heats, speeds and openings of the case.
    pub circuit: Loop,
    /// Flows and pressures.
    pub flow: FlowState,
    /// Temperatures.
    pub heat: HeatState,
    /// Properties of the coolant along the elements, at which the flows were solved.
    pub fluid: FluidState,
    /// Heat of each pump, W.
    pub pump_w: Vec<f64>,
    /// Whether heat was carried, or the coolant held at one temperature.
    pub carried: Carried,
    /// Most Newton steps of any one hydraulic solve.
    pub steps_max: usize,
    /// Passes of flow and heat.
    pub passes: usize,
    /// Factorisations of the flow equations.
    pub factorisations: usize,
    /// Heat that the coolant at each node is storing, W, in a march; empty in a steady solve.
    pub storing_w: Vec<f64>,
}

/// Whether the temperatures of a loop were solved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Carried {
    /// Enthalpy was carried and balanced.
    Solved,
    /// The case states the coolant's temperature.
    Stated,
    /// Nothing warms or cools the loop but its pump, whose heat is left out.
    LeftOut,
}

/// An air path set to its case, with its solution.
#[derive(Clone, Debug)]
pub struct AirState {
    /// The air path as solved.
    pub path: AirPath,
    /// Flows and pressures.
    pub flow: FlowState,
}

/// Everything that was solved for a case.
#[derive(Clone, Debug)]
pub struct CaseState {
    /// The loops, in the order of the design.
    pub loops: Vec<LoopState>,
    /// The air paths, in the order of the radiators.
    pub airs: Vec<AirState>,
}

/// Air pressure of a case, Pa.
pub fn ambient_pa(case: &Case) -> f64 {
    case.air.pressure_pa()
}

/// Workspaces of all graphs of a network.
pub struct Workspaces {
    pub(super) loops: Vec<FlowWorkspace>,
    pub(super) airs: Vec<FlowWorkspace>,
}

impl Workspaces {
    /// Empty workspaces.
    pub fn new(network: &Network) -> Self {
        Self {
            loops: network
                .loops()
                .iter()
                .map(|l| FlowWorkspace::new(&l.net))
                .collect(),
            airs: network
                .air_paths()
                .iter()
                .map(|a| FlowWorkspace::new(&a.net))
                .collect(),
        }
    }
}

/// Solves a case of a network.
///
/// # Errors
/// [`SolveError`] names the part and what to do.
pub fn solve_case(
    network: &Network,
    case: &Case,
    options: &Options,
    workspaces: &mut Workspaces,
) -> Result<CaseState, SolveError> {
    let airs = solve_airs(network, case, options, workspaces)?;
    let mut loops = Vec::new();
    for (index, circuit) in network.loops().iter().enumerate() {
        let around = Around {
            network,
            index,
            case,
            airs: &airs,
            options,
        };
        loops.push(solve_loop(
            &around,
            circuit.set_to(index, case),
            &mut workspaces.loops[index],
        )?);
    }
    Ok(CaseState { loops, airs })
}

/// Solves every air path; no loop moves them.
///
/// # Errors
/// As [`solve_air`].
pub(super) fn solve_airs(
    network: &Network,
    case: &Case,
    options: &Options,
    workspaces: &mut Workspaces,
) -> Result<Vec<AirState>, SolveError> {
    let paths = network.air_paths().iter().enumerate();
    paths
        .zip(&mut workspaces.airs)
        .map(|((index, path), workspace)| {
            solve_air(path.set_to(index, case), case, options, workspace)
        })
        .collect()
}

/// What a loop sees of the rest of the vehicle.
struct Around<'a> {
    network: &'a Network,
    index: usize,
    case: &'a Case,
    airs: &'a [AirState],
    options: &'a Options,
}

pub(super) fn fluid_at(circuit: &Loop, heat: &HeatState) -> FluidState {
    let at = |k: f64| circuit.coolant.properties_extended(k);
    FluidState {
        elements: (0..circuit.net.elements.len())
            .map(|e| at(heat.mean_k(e)))
            .collect(),
        node_density_kg_m3: heat.node_k.iter().map(|k| at(*k).density_kg_m3).collect(),
    }
}

/// Trial solves of flow and heat at the fluid of one pass, by which thermostats find their openings.
struct Trials<'a> {
    around: &'a Around<'a>,
    fluid: &'a FluidState,
    heat: &'a HeatState,
    flow: Option<&'a FlowState>,
    workspace: &'a mut FlowWorkspace,
    steps_max: &'a mut usize,
    factorisations: &'a mut usize,
}

impl Trials<'_> {
    /// Coolant temperature at the inlet of each thermostat of a loop set to trial openings, K; `None` where heat finds
    /// no way out at these openings.
    fn inlets(&mut self, circuit: &Loop) -> Result<Option<Vec<f64>>, SolveError> {
        let Around {
            network,
            index,
            case,
            airs,
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
        let strips =
            |core: usize, m: f64, p: &Properties| strips_of(network, index, core, case, airs, m, p);
        let input = HeatInput {
            circuit,
            flow_kg_s: &solved.flow_kg_s,
            pump_w: &pump_w,
            strips: &strips,
        };
        if !heat_can_leave(&input) {
            return Ok(None);
        }
        Ok(solve_heat(&input, self.heat).ok().map(|(next, _)| {
            let inlets = circuit.thermostats.iter();
            inlets.map(|t| next.sensed_k(t)).collect()
        }))
    }
}

fn solve_loop(
    around: &Around<'_>,
    mut circuit: Loop,
    workspace: &mut FlowWorkspace,
) -> Result<LoopState, SolveError> {
    let Around {
        network,
        index,
        case,
        airs,
        options,
    } = *around;
    let mut carried = match case.coolant_temperature_k {
        Some(_) => Carried::Stated,
        None if circuit.has_sink() => Carried::Solved,
        None if circuit.has_source() => {
            return Err(no_way_out(&circuit, None, case.air_temperature_k));
        }
        None => Carried::LeftOut,
    };
    let (low, high) = circuit.coolant.range_k();
    let start_k = case
        .coolant_temperature_k
        .or(options.start_k)
        .unwrap_or_else(|| sink_temperature_k(&circuit, case.air_temperature_k))
        .clamp(low, high);
    let mut heat = HeatState::uniform(&circuit, start_k);
    let mut flow: Option<FlowState> = None;
    let mut mixer = Mixer::new();
    let (mut steps_max, mut factorisations) = (0, 0);
    let mut change = f64::INFINITY;
    for pass in 1..=options.passes {
        let fluid = fluid_at(&circuit, &heat);
        if !circuit.thermostats.is_empty() {
            if carried == Carried::Solved {
                let mut trials = Trials {
                    around,
                    fluid: &fluid,
                    heat: &heat,
                    flow: flow.as_ref(),
                    workspace,
                    steps_max: &mut steps_max,
                    factorisations: &mut factorisations,
                };
                settle(&mut circuit, &mut |set| trials.inlets(set))?;
            } else {
                for index in 0..circuit.thermostats.len() {
                    let node = circuit.thermostats[index];
                    let opening = node.lift.opening(heat.sensed_k(&node));
                    circuit.set_thermostat(index, opening);
                }
            }
        }
        let solved = solve_flows(
            &circuit.net,
            &circuit.name,
            &fluid,
            ambient_pa(case),
            flow.as_ref(),
            workspace,
            options,
        )?;
        steps_max = steps_max.max(solved.steps);
        factorisations += solved.factorisations;
        let pump_w = pump_heat(&circuit, &solved, &fluid);
        let mut done = carried != Carried::Solved;
        if carried == Carried::Solved {
            heat_needs_flow(&circuit, &solved.flow_kg_s)?;
            within_limits(&circuit, &pump_w)?;
            let strips = |core: usize, m: f64, p: &Properties| {
                strips_of(network, index, core, case, airs, m, p)
            };
            let input = HeatInput {
                circuit: &circuit,
                flow_kg_s: &solved.flow_kg_s,
                pump_w: &pump_w,
                strips: &strips,
            };
            if !heat_can_leave(&input) {
                if circuit.has_source() {
                    return Err(no_way_out(&circuit, Some(&input), case.air_temperature_k));
                }
                // Only the pump warms a loop whose sinks are shut off: as if there were none.
                carried = Carried::LeftOut;
                heat = HeatState::uniform(&circuit, start_k);
                flow = Some(solved);
                continue;
            }
            let (next, settled) = solve_heat(&input, &heat)
                .map_err(|()| no_way_out(&circuit, None, case.air_temperature_k))?;
            change = largest_change(&heat, &next);
            done = settled && change <= options.agreed_k;
            if done {
                heat = next;
            } else {
                mixer.mix(&mut heat, next);
            }
        }
        if done {
            if carried == Carried::Solved {
                within_range(&circuit, &heat)?;
            }
            return Ok(LoopState {
                flow: solved,
                fluid,
                heat,
                pump_w: if carried == Carried::Solved {
                    pump_w
                } else {
                    vec![0.0; circuit.machines.len()]
                },
                carried,
                steps_max,
                passes: pass,
                factorisations,
                storing_w: Vec::new(),
                circuit,
            });
        }
        flow = Some(solved);
    }
    within_range(&circuit, &heat)?;
    Err(SolveError::HeatUnsettled {
        subject: Subject::whole(&circuit.name),
        passes: options.passes,
        change_k: change,
    })
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

pub(super) fn strips_of(
    network: &Network,
    index: usize,
    core: usize,
    case: &Case,
    airs: &[AirState],
    flow_kg_s: f64,
    properties: &Properties,
) -> Vec<StripHeat> {
    let tie = &network.cores()[core];
    debug_assert_eq!(tie.circuit, index);
    let temperatures = (case.air_temperature_k, case.bay_temperature_k);
    core_strips(
        tie,
        &case.air,
        temperatures,
        &airs[tie.air].flow,
        flow_kg_s,
        properties,
    )
}

/// The strips of a core in a solved case.
pub fn solved_strips(
    network: &Network,
    case: &Case,
    state: &CaseState,
    core: usize,
) -> Vec<StripHeat> {
    let tie = &network.cores()[core];
    let owner = &state.loops[tie.circuit];
    let branch = owner
        .circuit
        .net
        .branches
        .iter()
        .position(|b| b.elements.contains(&tie.element))
        .unwrap_or(0);
    let properties = owner
        .circuit
        .coolant
        .properties_extended(owner.heat.mean_k(tie.element));
    strips_of(
        network,
        tie.circuit,
        core,
        case,
        &state.airs,
        owner.flow.flow_kg_s[branch],
        &properties,
    )
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
    let owner = circuit.net.branch_of_elements();
    let most = flow.flow_kg_s.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
    circuit
        .machines
        .iter()
        .map(|machine| {
            let e = machine.element;
            let m = flow.flow_kg_s[owner[e]];
            let laws = &circuit.net.laws[circuit.net.elements[e].laws.clone()];
            let turning = laws
                .iter()
                .any(|l| matches!(l, Law::Machine(machine) if machine.speed > 0.0));
            if m.abs() <= RESTING_SHARE * most || most == 0.0 || !turning {
                return 0.0;
            }
            if let Some(w) = machine.electrical_w {
                return w;
            }
            let properties = &fluid.elements[e];
            let rise: f64 = laws.iter().map(|l| -l.drop(m, properties).drop_pa).sum();
            let hydraulic = (rise * m / properties.density_kg_m3).max(0.0);
            hydraulic / machine.efficiency.unwrap_or(1.0)
        })
        .collect()
}

/// Heat on a part through which nothing flows has no steady state.
fn heat_needs_flow(circuit: &Loop, flow_kg_s: &[f64]) -> Result<(), SolveError> {
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
