//! How sure a distribution of flow is: each bank solved with other published tee models, and with the loss of its
//! fastest and slowest branch changed by a fifth either way.

use crate::network::Network;
use crate::part::{MomentumFactors, TeeLosses};
use crate::solve::{BankState, Solution, Solver, SolverRoom, Unevenness};

/// Momentum factors fitted to measured headers: dividing 0.6 to 0.8, combining 1.1 to 1.4 (from memory; Bajura and
/// Jones, 1976, and Wang, 2011, give such ranges). The middle of each.
const FITTED: MomentumFactors = MomentumFactors {
    dividing: 0.75,
    combining: 1.3,
};
/// Change of one branch's loss: a barb off by a twentieth of its bore.
const BRANCH_CHANGE: f64 = 0.2;
/// Agreement of temperatures in the solves of readings, K: a flow changes by 2 % a kelvin at most, and shares are told to a
/// thousandth.
const AGREED_K: f64 = 1.0e-3;

/// One reading of a bank.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// What was changed.
    pub label: &'static str,
    /// Largest of `|flow/mean - 1|`.
    pub deviation: f64,
    /// Largest circuit flow over smallest.
    pub max_over_min: Option<f64>,
}

/// The readings of one bank in one case.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// Its loop.
    pub owner: String,
    /// The bank.
    pub bank: String,
    /// The design's own reading first, then the others that could be solved.
    pub readings: Vec<Reading>,
}

impl Band {
    /// Lowest and highest deviation.
    pub fn deviation(&self) -> (f64, f64) {
        let each = || self.readings.iter().map(|r| r.deviation);
        (
            each().fold(f64::INFINITY, f64::min),
            each().fold(0.0, f64::max),
        )
    }
}

/// A network with other tee models at the banks of some loops.
struct Other {
    label: &'static str,
    network: Network,
    changed: Vec<usize>,
}

/// The networks of a design with other tee models, made once for all cases.
pub struct Bands {
    others: Vec<Other>,
}

impl Bands {
    /// Makes the networks. A model that refuses the tees of a bank is left out.
    pub fn new(network: &Network) -> Self {
        let models = [
            ("momentum", TeeLosses::Momentum),
            ("handbook", TeeLosses::Handbook),
            ("fitted momentum factors", TeeLosses::Coefficients(FITTED)),
        ];
        let others = models.into_iter().filter_map(|(label, losses)| {
            let (network, changed) = network.with_bank_tees(losses.model())?;
            (!changed.is_empty()).then_some(Other {
                label,
                network,
                changed,
            })
        });
        Self {
            others: others.collect(),
        }
    }

    /// The bands of every bank in a solution of the design's own network; `room` is what its solver keeps.
    pub fn of(&self, solution: &Solution<'_>, room: &mut SolverRoom) -> Vec<Band> {
        let mut bands: Vec<Band> = Vec::new();
        for (owner, bank) in banks(solution) {
            bands.push(Band {
                owner,
                bank: bank.id.clone(),
                readings: vec![reading("this design", &bank)],
            });
        }
        if bands.is_empty() {
            return bands;
        }
        for other in &self.others {
            let solved = solved_banks(room, solution, &other.network, &other.changed);
            for (owner, bank) in solved {
                add(&mut bands, &owner, reading(other.label, &bank), &bank.id);
            }
        }
        for owner in solution.loop_names() {
            for bank in solution.banks(owner) {
                for (label, index, network) in branch_changes(solution.network(), owner, bank) {
                    let solved = solved_banks(room, solution, &network, &[index]);
                    for (other, solved) in solved {
                        if other == *owner && solved.id == bank.id {
                            add(&mut bands, owner, reading(label, &solved), &bank.id);
                        }
                    }
                }
            }
        }
        bands
    }
}

fn add(bands: &mut [Band], owner: &str, reading: Reading, bank: &str) {
    if let Some(band) = bands
        .iter_mut()
        .find(|b| b.owner == owner && b.bank == bank)
    {
        band.readings.push(reading);
    }
}

fn reading(label: &'static str, bank: &Unevenness) -> Reading {
    Reading {
        label,
        deviation: bank.deviation,
        max_over_min: bank.max_over_min,
    }
}

/// All banks of the case in a changed network, solved from the design's own answer; none where there is no answer.
fn solved_banks(
    room: &mut SolverRoom,
    own: &Solution<'_>,
    network: &Network,
    changed: &[usize],
) -> Vec<(String, Unevenness)> {
    let mut solver = Solver::resumed(network, std::mem::take(room));
    solver.agree_to(AGREED_K);
    let solved = solver.solve_near(own, changed);
    let found = solved.map(|solution| banks(&solution));
    *room = solver.into_room();
    found.unwrap_or_default()
}

/// All banks of a solution, each with its loop.
fn banks(solution: &Solution<'_>) -> Vec<(String, Unevenness)> {
    let names = solution.loop_names();
    names
        .flat_map(|name| {
            let banks = solution.unevenness(name).into_iter();
            banks.map(move |bank| (name.to_owned(), bank))
        })
        .collect()
}

/// The network with a fifth more loss in the slowest branch of a bank, and a fifth less in the fastest.
fn branch_changes(
    network: &Network,
    owner: &str,
    bank: &BankState,
) -> Vec<(&'static str, usize, Network)> {
    let Some(index) = network.loops().iter().position(|l| l.name == owner) else {
        return Vec::new();
    };
    let circuit = &network.loops()[index];
    let Some(map) = circuit.banks.iter().find(|b| b.name == bank.id) else {
        return Vec::new();
    };
    let elements: Vec<usize> = circuit.modules[map.modules.clone()]
        .iter()
        .flat_map(|m| m.circuits.iter().copied())
        .collect();
    let branch_of = circuit.net.branch_of_elements();
    let by_flow = |slow: bool| {
        (0..elements.len()).max_by(|a, b| {
            let order = bank.circuit_flow_kg_s[*a].total_cmp(&bank.circuit_flow_kg_s[*b]);
            if slow { order.reverse() } else { order }
        })
    };
    let changed = |k: Option<usize>, factor: f64| {
        k.map(|k| network.with_branch_loss(index, branch_of[elements[k]], factor))
    };
    [
        (
            "slowest branch with 20 % more loss",
            changed(by_flow(true), 1.0 + BRANCH_CHANGE),
        ),
        (
            "fastest branch with 20 % less loss",
            changed(by_flow(false), 1.0 - BRANCH_CHANGE),
        ),
    ]
    .into_iter()
    .filter_map(|(label, network)| network.map(|n| (label, index, n)))
    .collect()
}
