//! Joins what the other files solve alone: air first, then the loops by passes of flow and heat until they agree. Loops
//! that meet in stacked cores or at a tank plate go pass by pass together. The only file that sees loops and air at once.

use super::air::solve_air;
use super::case_state::{AirState, Carried, CaseState, LoopState};
use super::error::SolveError;
use super::exchange::{CoreSides, StripHeat, core_strips};
use super::flow::{FlowState, FlowWorkspace};
use super::meeting::{Meeting, Tanks};
use super::mix::Mixer;
use super::options::Options;
use super::passes::{LoopPasses, Passed};
use super::plates::TankStreams;
use super::thermal::{HeatRoom, HeatState};
use crate::fluid::Properties;
use crate::id::Subject;
use crate::network::{Case, Loop, Network};

/// Workspaces of all graphs of a network; by default of none.
#[derive(Default)]
pub struct Workspaces {
    pub(super) loops: Vec<FlowWorkspace>,
    pub(super) heats: Vec<HeatRoom>,
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
            heats: (network.loops().iter())
                .map(|_| HeatRoom::default())
                .collect(),
            airs: network
                .air_paths()
                .iter()
                .map(|a| FlowWorkspace::new(&a.net))
                .collect(),
        }
    }
}

impl Workspaces {
    /// Whether they were made for a network with the same graphs.
    pub fn fit(&self, network: &Network) -> bool {
        let (loops, airs) = (network.loops(), network.air_paths());
        self.loops.len() == loops.len()
            && self.airs.len() == airs.len()
            && (self.loops.iter().zip(loops)).all(|(w, l)| w.fits(&l.net))
            && (self.airs.iter().zip(airs)).all(|(w, a)| w.fits(&a.net))
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
    solve_from(network, case, options, workspaces, None)
}

/// What was solved of the same case in a network that differs in the laws of some loops alone.
#[derive(Clone, Copy)]
pub struct Near<'a> {
    /// What was solved.
    pub state: &'a CaseState,
    /// The loops whose laws differ.
    pub changed: &'a [usize],
}

/// Solves a case from what was solved near it: air and loops that no change reaches are taken over.
///
/// # Errors
/// As [`solve_case`].
pub fn solve_from(
    network: &Network,
    case: &Case,
    options: &Options,
    workspaces: &mut Workspaces,
    near: Option<Near<'_>>,
) -> Result<CaseState, SolveError> {
    let airs = match near {
        Some(near) => near.state.airs.clone(),
        None => solve_airs(network, case, options, workspaces)?,
    };
    let mut meeting = match near {
        Some(near) => near.state.meeting.clone(),
        None => Meeting::new(network, case, &airs),
    };
    let reaches = meeting.reaches(network, &airs);
    let moved =
        |l: usize| near.is_none_or(|near| near.changed.iter().any(|&c| c == l || reaches[l][c]));
    let mut waiting: Vec<Option<LoopPasses<'_>>> = Vec::new();
    let rooms = workspaces.loops.iter_mut().zip(&mut workspaces.heats);
    for ((index, circuit), rooms) in network.loops().iter().enumerate().zip(rooms) {
        if !moved(index) {
            waiting.push(None);
            continue;
        }
        let circuit = circuit.set_to(index, case);
        let mut passes = LoopPasses::new(index, circuit, case, options, rooms)?;
        if let Some(near) = near {
            passes.begin_near(&near.state.loops[index]);
        }
        waiting.push(Some(passes));
    }
    let known = |l: usize| near.map(|near| near.state.loops[l].clone());
    let mut done: Vec<Option<LoopState>> = (0..waiting.len())
        .map(|l| if moved(l) { None } else { known(l) })
        .collect();
    for group in groups(&reaches)
        .into_iter()
        .filter(|g| g.iter().any(|&l| moved(l)))
    {
        let mut together: Vec<LoopPasses<'_>> =
            group.iter().filter_map(|l| waiting[*l].take()).collect();
        let passes = agree(network, case, &airs, options, &mut meeting, &mut together)?;
        for (l, passed) in group.into_iter().zip(together) {
            done[l] = passed.into_state(passes);
        }
    }
    Ok(CaseState {
        loops: done.into_iter().flatten().collect(),
        airs,
        meeting,
    })
}

/// Passes of the loops of one group, in turn, until none of them moves; returns how many.
fn agree(
    network: &Network,
    case: &Case,
    airs: &[AirState],
    options: &Options,
    meeting: &mut Meeting,
    together: &mut [LoopPasses<'_>],
) -> Result<usize, SolveError> {
    let mut mixer = Mixer::new();
    for pass in 1..=options.passes {
        let mut agreed = true;
        for one in together.iter_mut() {
            let around = Around {
                network,
                case,
                airs,
                meeting,
                options,
            };
            agreed &= one.pass(&around)? == Passed::Agreed;
            tell(network, one, case, airs, meeting);
        }
        if agreed {
            together.iter_mut().for_each(LoopPasses::accept);
            together.iter().try_for_each(LoopPasses::check)?;
            return Ok(pass);
        }
        LoopPasses::mix(together, &mut mixer);
        for one in together.iter() {
            tell(network, one, case, airs, meeting);
        }
    }
    together.iter().try_for_each(LoopPasses::check)?;
    let slowest = (together.iter()).max_by(|a, b| a.change_k.total_cmp(&b.change_k));
    Err(SolveError::HeatUnsettled {
        subject: Subject::whole(slowest.map_or("", |l| &l.circuit.name)),
        passes: options.passes,
        change_k: slowest.map_or(f64::NAN, |l| l.change_k),
    })
}

/// Notes what a loop gives to the others, and follows the air.
fn tell(
    network: &Network,
    one: &LoopPasses<'_>,
    case: &Case,
    airs: &[AirState],
    meeting: &mut Meeting,
) {
    if let Some((flow, heat)) = one.flow_and_heat() {
        let state = (&one.circuit, flow, heat, one.carried);
        note(network, one.index, state, case, airs, meeting);
        meeting.follow(case, airs);
    }
}

/// Loops that go together, each group after those it depends on: `reaches[a][b]` where `a` depends on `b`.
fn groups(reaches: &[Vec<bool>]) -> Vec<Vec<usize>> {
    let count = reaches.len();
    let mut placed = vec![false; count];
    let mut groups = Vec::new();
    while let Some(next) = (0..count).find(|&l| {
        let ready = |other: usize| placed[other] || !reaches[l][other] || reaches[other][l];
        !placed[l] && (0..count).all(|other| other == l || ready(other))
    }) {
        let group: Vec<usize> = (0..count)
            .filter(|&l| l == next || (reaches[next][l] && reaches[l][next]))
            .collect();
        group.iter().for_each(|l| placed[*l] = true);
        groups.push(group);
    }
    groups
}

/// Notes what the cores of a loop give to the air and to their neighbours.
pub(super) fn note(
    network: &Network,
    index: usize,
    (circuit, flow, heat, carried): (&Loop, &FlowState, &HeatState, Carried),
    case: &Case,
    airs: &[AirState],
    meeting: &mut Meeting,
) {
    for (c, tie) in network.cores().iter().enumerate() {
        if tie.circuit != index {
            continue;
        }
        let flow_kg_s = flow.flow_kg_s[circuit.net.branch_of(tie.element)];
        let given = core_gives(
            network,
            c,
            (circuit, flow_kg_s, heat.ends_k(tie.element), carried),
            case,
            airs,
            meeting,
        );
        given.note(c, case, meeting);
    }
}

/// What a core gives to the air and to its neighbours.
pub(super) struct Given {
    inlet_k: f64,
    strips: Vec<StripHeat>,
    /// The coolant in its tanks; none where the loop carries no heat.
    pub tanks: Option<Tanks>,
}

impl Given {
    /// Notes it, for what other cores meet.
    pub fn note(&self, core: usize, case: &Case, meeting: &mut Meeting) {
        let air_w_k = case.air.properties().specific_heat_j_kg_k;
        meeting.note(core, self.inlet_k, &self.strips, air_w_k, self.tanks);
    }
}

/// What a core gives at the flow and the temperatures of its loop, given what it meets.
pub(super) fn core_gives(
    network: &Network,
    core: usize,
    (circuit, flow_kg_s, ends_k, carried): (&Loop, f64, (f64, f64), Carried),
    case: &Case,
    airs: &[AirState],
    meeting: &Meeting,
) -> Given {
    let coolant = &circuit.coolant;
    let properties = coolant.properties_extended(0.5 * (ends_k.0 + ends_k.1));
    let sides = sides_of(network, core, case, airs, meeting, flow_kg_s, &properties);
    let cp = |k: f64| coolant.specific_heat_extended_j_kg_k(k);
    let tanks = (carried == Carried::Solved).then(|| Tanks {
        inlet_k: TankStreams::between(ends_k, flow_kg_s.abs(), &cp, &sides.plates).tank_k,
        outlet_k: ends_k.1,
    });
    Given {
        inlet_k: tanks.map_or(case.air_temperature_k, |t| t.inlet_k),
        strips: sides.strips,
        tanks,
    }
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
pub(super) struct Around<'a> {
    pub network: &'a Network,
    pub case: &'a Case,
    pub airs: &'a [AirState],
    pub meeting: &'a Meeting,
    pub options: &'a Options,
}

/// Both sides of a core at a coolant flow.
pub(super) fn sides_of(
    network: &Network,
    core: usize,
    case: &Case,
    airs: &[AirState],
    meeting: &Meeting,
    flow_kg_s: f64,
    properties: &Properties,
) -> CoreSides {
    let tie = &network.cores()[core];
    let strips = core_strips(
        tie,
        &case.air,
        meeting.air_before_k(core),
        &airs[tie.air].flow,
        flow_kg_s,
        properties,
    );
    CoreSides {
        strips,
        plates: meeting.plates(core),
    }
}

/// Both sides of a core in a solved case.
pub fn solved_sides(network: &Network, case: &Case, state: &CaseState, core: usize) -> CoreSides {
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
    sides_of(
        network,
        core,
        case,
        &state.airs,
        &state.meeting,
        owner.flow.flow_kg_s[branch],
        &properties,
    )
}
