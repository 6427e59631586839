//! Where to cut a radiator: every whole-tube division between two of its cores, solved for every case and judged by
//! the limits. It computes and prints nothing; the reasons for "no" are in [`Need`].
//!
//! Heat per kelvin decides, not heat: a loop that may stand few kelvin above the air needs much radiator for little
//! heat.

mod error;
mod need;
mod wall;
mod weigh;

pub use error::PartitionError;
pub use need::{Need, Remedy};
pub use wall::Wall;
pub use weigh::{KELVIN_PER_WHOLE, Tight, Track, margin_k};

use super::limit_row::{LimitRow, Verdict};
use super::limits::judge;
use crate::design::{Design, Limits};
use crate::finding::FindingKind;
use crate::network::{Case, Network};
use crate::part::{Radiator, SinglePoint};
use crate::solve::{Carried, Solution, SolveError, Solver};
use wall::walls;

/// Coolant this close to the air gives no heat per kelvin worth a number, K.
const NO_DIFFERENCE_K: f64 = 1e-6;

/// What to divide.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PartitionQuestion {
    /// The radiator (default: the only one with two cores or more).
    pub radiator: Option<String>,
    /// The two cores between which tubes move (default: the first two).
    pub between: Option<(String, String)>,
    /// Only these cases (default: all).
    pub cases: Vec<String>,
}

/// A core in one case of one cut.
#[derive(Clone, Debug, PartialEq)]
pub struct CutCore {
    /// Its name.
    pub core: String,
    /// Its loop.
    pub owner: String,
    /// Its tubes.
    pub tubes: u32,
    /// Coolant into the core, K: the hot end of the loop.
    pub coolant_inlet_k: f64,
    /// Coolant out of it, K: the cold end.
    pub coolant_outlet_k: f64,
    /// Heat out of the coolant, W.
    pub heat_w: f64,
    /// Heat per kelvin of (coolant in - air in), W/K, the air as it reaches this core; none where heat was not solved.
    pub conductance_w_k: Option<f64>,
    /// Total pressure lost by the coolant, Pa.
    pub pressure_drop_pa: f64,
    /// Coolant flow, kg/s.
    pub mass_flow_kg_s: f64,
    /// Mean face velocity of the air, m/s.
    pub face_velocity_m_s: f64,
}

/// A solved case of one cut.
#[derive(Clone, Debug, PartialEq)]
pub struct CutState {
    /// The two cores, in order from the tank end.
    pub cores: [CutCore; 2],
    /// Every limit, judged.
    pub limits: Vec<LimitRow>,
}

/// One case of one cut.
#[derive(Clone, Debug, PartialEq)]
pub struct CutCase {
    /// Its name.
    pub case: String,
    /// Air before the radiator, K.
    pub air_k: f64,
    /// What was solved, or why there is no answer.
    pub outcome: Result<CutState, SolveError>,
}

/// One way of dividing the radiator.
#[derive(Clone, Debug, PartialEq)]
pub struct Cut {
    /// Tubes of the two cores.
    pub tubes: [u32; 2],
    /// Places of the new tank walls, one pair between each two neighbours.
    pub walls: Vec<Wall>,
    /// Every case.
    pub cases: Vec<CutCase>,
    /// The smallest margin of all limits that count, in all cases.
    pub worst: Option<Tight>,
    /// The same for the loop of each core.
    pub worst_of: [Option<Tight>; 2],
    /// Every case has an answer and every limit that counts is met.
    pub fits: bool,
}

impl Cut {
    /// The first case without an answer.
    pub fn failure(&self) -> Option<(&str, &SolveError)> {
        self.cases
            .iter()
            .find_map(|c| Some((c.case.as_str(), c.outcome.as_ref().err()?)))
    }
}

/// Every division of a radiator between two cores.
#[derive(Clone, Debug, PartialEq)]
pub struct PartitionAnswer {
    /// Cases in time, which are not compared: cuts are judged on steady answers.
    pub in_time: Vec<String>,
    /// The radiator.
    pub radiator: String,
    /// The two cores, in order from the tank end.
    pub cores: [String; 2],
    /// Their loops.
    pub owners: [String; 2],
    /// Tubes of the first core in the design.
    pub own_tubes: u32,
    /// Tubes in the whole radiator.
    pub tube_count: u32,
    /// Distance from tube to tube across the face, m.
    pub pitch_m: f64,
    /// Tubes behind new tank walls, all walls together.
    pub lost_tubes: u32,
    /// Tubes in no core and behind no wall.
    pub spare_tubes: u32,
    /// Whether a shroud covers only a share of a moved core's face; that share is kept in every cut.
    pub keeps_shares: bool,
    /// Every cut, by rising tubes of the first core.
    pub cuts: Vec<Cut>,
    /// Every limit over all cuts.
    pub tracks: Vec<Track>,
    /// The cut with the largest smallest margin, by its place in `cuts`; none where no limit counts or no cut has an
    /// answer.
    pub best: Option<usize>,
    /// What would make a cut fit, where none does.
    pub needs: Vec<Need>,
    /// Parts, modules and radiators whose numbers are placeholders.
    pub placeholders: Vec<String>,
}

impl PartitionAnswer {
    /// The best cut.
    pub fn best_cut(&self) -> Option<&Cut> {
        self.cuts.get(self.best?)
    }

    /// The design's own cut.
    pub fn own_cut(&self) -> Option<&Cut> {
        self.cuts.iter().find(|c| c.tubes[0] == self.own_tubes)
    }

    /// First and last number of tubes of the first core that meets every limit that counts, in every case.
    pub fn window(&self) -> Option<(u32, u32)> {
        let mut fitting = self.cuts.iter().filter(|c| c.fits).map(|c| c.tubes[0]);
        let first = fitting.next()?;
        Some((first, fitting.next_back().unwrap_or(first)))
    }

    /// Whether every cut between the first and the last that fits, fits too.
    pub fn window_is_whole(&self) -> bool {
        let fitting = self.cuts.iter().filter(|c| c.fits).count();
        self.window()
            .is_none_or(|(first, last)| fitting == (last - first + 1) as usize)
    }

    /// Whether any cut has an answer in every case.
    pub fn is_answered(&self) -> bool {
        self.cuts.iter().any(|c| c.failure().is_none())
    }
}

/// Solves and judges every division.
///
/// # Errors
/// [`PartitionError`] where the question names nothing that can be divided, or the design makes no network.
///
/// ```
/// use loopwright::{design::Source, study::partition::{self, PartitionQuestion}};
/// let text = include_str!("../../networks/two-core-lesson.json");
/// let design = Source::read(text).unwrap().design;
/// let answer = partition::run(&design, &PartitionQuestion::default()).unwrap();
/// let (first, last) = answer.window().unwrap();
/// let best = answer.best_cut().unwrap();
/// assert!(first <= best.tubes[0] && best.tubes[0] <= last);
/// // The battery makes a quarter of the drive's heat and needs the larger core.
/// assert!(best.tubes[0] > best.tubes[1]);
/// ```
pub fn run(
    design: &Design,
    question: &PartitionQuestion,
) -> Result<PartitionAnswer, PartitionError> {
    let (name, radiator) = choose(design, question)?;
    let pair = pair(name, radiator, question)?;
    if radiator.is_cut_by_face() {
        return Err(PartitionError::CutByFace {
            radiator: name.to_owned(),
        });
    }
    if let Some(case) = question
        .cases
        .iter()
        .find(|c| !design.cases.contains_key(*c))
    {
        return Err(PartitionError::unknown("case", case, design.cases.keys()));
    }
    let network = Network::build(design)?;
    let readings: &[SinglePoint] = if network
        .findings()
        .iter()
        .any(|f| f.kind == FindingKind::SinglePoint)
    {
        &[SinglePoint::AllLaminar, SinglePoint::AllTurbulent]
    } else {
        &[]
    };
    let in_time: Vec<String> = network
        .cases()
        .iter()
        .filter(|c| c.time.is_some())
        .map(|c| c.name.clone())
        .collect();
    let steady = |name: &String| !in_time.contains(name);
    let none_left = if question.cases.is_empty() {
        network.cases().iter().all(|c| c.time.is_some())
    } else {
        !question.cases.iter().any(steady)
    };
    if none_left {
        return Err(PartitionError::NoSteadyCase { in_time });
    }
    let limits = design.limits.clone().unwrap_or_default();
    let tubes = pair.map(|k| radiator.core_tubes(&radiator.cores[k]));
    let passes = pair.map(|k| radiator.cores[k].passes.unwrap_or(1).max(1));
    let whole = tubes[0] + tubes[1];
    let mut cuts = Vec::new();
    for first in passes[0]..=whole.saturating_sub(passes[1]) {
        let mut changed = design.clone();
        let Some(cut) = changed.radiators.get_mut(name) else {
            continue;
        };
        cut.cores[pair[0]].tubes = Some(first);
        cut.cores[pair[1]].tubes = Some(whole - first);
        let walls = walls(cut);
        let cases = solve_cut(&changed, name, pair, &limits, &question.cases, readings)?;
        cuts.push(Cut {
            tubes: [first, whole - first],
            walls,
            cases,
            worst: None,
            worst_of: [None, None],
            fits: false,
        });
    }
    let cores = pair.map(|k| core_name(radiator, k));
    let owners = cores.clone().map(|core| owner(&network, name, &core));
    let tracks = weigh::tracks(&cuts, &owners);
    weigh::judge_cuts(&mut cuts, &tracks, &owners);
    let best = weigh::best(&cuts);
    let needs = if cuts.iter().any(|c| c.fits) {
        Vec::new()
    } else {
        need::needs(&cuts, &tracks, &owners)
    };
    let used: u32 = (radiator.cores.values())
        .map(|c| radiator.core_tubes(c))
        .sum();
    let lost_tubes = radiator.lost_tubes.unwrap_or(0);
    Ok(PartitionAnswer {
        radiator: name.to_owned(),
        keeps_shares: keeps_shares(radiator, &cores),
        cores,
        owners,
        own_tubes: tubes[0],
        tube_count: radiator.tubes.count,
        pitch_m: radiator.pitch_m(),
        lost_tubes,
        spare_tubes: radiator.tubes.count.saturating_sub(used + lost_tubes),
        cuts,
        tracks,
        in_time,
        best,
        needs,
        placeholders: network.placeholders().to_vec(),
    })
}

/// The radiator that was asked for, or the only one that is divided.
fn choose<'d>(
    design: &'d Design,
    question: &'d PartitionQuestion,
) -> Result<(&'d str, &'d Radiator), PartitionError> {
    if let Some(asked) = &question.radiator {
        return match design.radiators.get_key_value(asked) {
            Some((name, radiator)) => Ok((name, radiator)),
            None => Err(PartitionError::unknown(
                "radiator",
                asked,
                design.radiators.keys(),
            )),
        };
    }
    let mut divided = design.radiators.iter().filter(|(_, r)| r.cores.len() > 1);
    match (divided.next(), divided.next()) {
        (Some((name, radiator)), None) => Ok((name, radiator)),
        (Some(_), Some(_)) => Err(PartitionError::WhichRadiator {
            known: design.radiators.keys().cloned().collect(),
        }),
        (None, _) => Err(PartitionError::NothingDivided),
    }
}

/// Places of the two cores, the one nearer the tank end first.
fn pair(
    name: &str,
    radiator: &Radiator,
    question: &PartitionQuestion,
) -> Result<[usize; 2], PartitionError> {
    if radiator.cores.len() < 2 {
        return Err(PartitionError::OneCore {
            radiator: name.to_owned(),
        });
    }
    let Some((a, b)) = &question.between else {
        return Ok([0, 1]);
    };
    let place = |core: &String| {
        radiator
            .cores
            .get_index_of(core)
            .ok_or_else(|| PartitionError::unknown("core", core, radiator.cores.keys()))
    };
    let (a, b) = (place(a)?, place(b)?);
    if a == b {
        return Err(PartitionError::SameCore {
            core: core_name(radiator, a),
        });
    }
    Ok([a.min(b), a.max(b)])
}

fn core_name(radiator: &Radiator, place: usize) -> String {
    radiator
        .cores
        .get_index(place)
        .map(|(name, _)| name.clone())
        .unwrap_or_default()
}

fn owner(network: &Network, radiator: &str, core: &str) -> String {
    network
        .cores()
        .iter()
        .find(|c| c.core == core && network.radiators()[c.radiator].name == radiator)
        .map(|c| network.loops()[c.circuit].name.clone())
        .unwrap_or_default()
}

fn keeps_shares(radiator: &Radiator, cores: &[String; 2]) -> bool {
    radiator.fans.iter().any(|fan| {
        let share = |c: &String| fan.face_share_covered.get(c).map_or(0.0, |s| s.0);
        cores.iter().any(|c| share(c) < 1.0)
    })
}

/// Solves the asked cases of one cut; single measured points are read both ways and the worse counts.
fn solve_cut(
    design: &Design,
    radiator: &str,
    pair: [usize; 2],
    limits: &Limits,
    only: &[String],
    readings: &[SinglePoint],
) -> Result<Vec<CutCase>, PartitionError> {
    let network = Network::build(design)?;
    let asked =
        |case: &&Case| case.time.is_none() && (only.is_empty() || only.contains(&case.name));
    let names = pair.map(|k| core_name(&design.radiators[radiator], k));
    let cut = &design.radiators[radiator];
    let tubes = pair.map(|k| cut.core_tubes(&cut.cores[k]));
    let mut solver = Solver::new(&network);
    let mut cases: Vec<CutCase> = network
        .cases()
        .iter()
        .filter(asked)
        .map(|case| CutCase {
            case: case.name.clone(),
            air_k: case.air_temperature_k,
            outcome: solver.solve(case).map(|solution| CutState {
                cores: [0, 1].map(|k| core_of(&solution, radiator, &names[k], tubes[k])),
                limits: judge(&solution, limits),
            }),
        })
        .collect();
    for reading in readings {
        let other = Network::build_with(design, *reading)?;
        let mut solver = Solver::new(&other);
        for (mine, case) in cases.iter_mut().zip(other.cases().iter().filter(asked)) {
            if let (Ok(state), Ok(solution)) = (&mut mine.outcome, solver.solve(case)) {
                for (row, other) in state.limits.iter_mut().zip(judge(&solution, limits)) {
                    row.widen(&other);
                }
            }
        }
    }
    Ok(cases)
}

fn core_of(solution: &Solution<'_>, radiator: &str, core: &str, tubes: u32) -> CutCore {
    let state = solution
        .cores(radiator)
        .into_iter()
        .find(|c| c.core == core);
    let owner = state.as_ref().map(|c| c.owner.clone()).unwrap_or_default();
    let part = solution.part(&owner, &format!("{radiator}.{core}"));
    // The build refuses a core that no loop uses, so both are found.
    let nothing = 0.0;
    let inlet = state.as_ref().map_or(nothing, |c| c.inlet_temperature_k);
    let heat_w = state.as_ref().map_or(nothing, |c| c.heat_rejected_w);
    let air_k = (state.as_ref().and_then(|c| c.air_inlet_temperature_k))
        .unwrap_or(solution.case().air_temperature_k);
    let difference = inlet - air_k;
    let solved = solution.carried(&owner) == Some(Carried::Solved);
    CutCore {
        core: core.to_owned(),
        tubes,
        coolant_inlet_k: inlet,
        coolant_outlet_k: state.as_ref().map_or(nothing, |c| c.outlet_temperature_k),
        heat_w,
        conductance_w_k: (solved && difference.abs() > NO_DIFFERENCE_K)
            .then(|| heat_w / difference),
        pressure_drop_pa: part.as_ref().map_or(nothing, |p| p.pressure_drop_pa),
        mass_flow_kg_s: part.as_ref().map_or(nothing, |p| p.mass_flow_kg_s),
        face_velocity_m_s: state.as_ref().map_or(nothing, |c| c.face_velocity_m_s),
        owner,
    }
}

/// A limit that has a value and is not missed.
fn is_met(row: &LimitRow) -> bool {
    matches!(row.verdict, Verdict::Met | Verdict::Provisional)
}
