//! How sure a distribution of flow is: each bank solved with other published tee models, and with the loss of its
//! fastest and slowest branch changed by a fifth either way.

use crate::design::Design;
use crate::network::{BuildError, Network};
use crate::part::{MomentumFactors, Part, TeeLosses};
use crate::solve::{BankState, Solver};

/// Momentum factors fitted to measured headers: dividing 0.6 to 0.8, combining 1.1 to 1.4 (from memory; Bajura and
/// Jones, 1976, and Wang, 2011, give such ranges). The middle of each.
const FITTED: MomentumFactors = MomentumFactors {
    dividing: 0.75,
    combining: 1.3,
};
/// Change of one branch's loss: a barb off by a twentieth of its bore.
const BRANCH_CHANGE: f64 = 0.2;

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

/// The networks of a design with other tee models, built once for all cases.
pub struct Bands {
    others: Vec<(&'static str, Network)>,
}

impl Bands {
    /// Builds the networks. A model that refuses the design's tees is left out.
    ///
    /// # Errors
    /// [`BuildError`] where the design itself makes no network.
    pub fn new(design: &Design) -> Result<Self, BuildError> {
        Network::build(design)?;
        let models = [
            ("momentum", TeeLosses::Momentum),
            ("handbook", TeeLosses::Handbook),
            ("fitted momentum factors", TeeLosses::Coefficients(FITTED)),
        ];
        let mut others = Vec::new();
        for (label, losses) in models {
            let mut changed = design.clone();
            let mut same = true;
            let own = design
                .methods
                .as_ref()
                .and_then(|m| m.tee_losses)
                .unwrap_or(TeeLosses::Momentum);
            for part in changed
                .loops
                .values_mut()
                .flat_map(|l| l.parts.values_mut())
            {
                if let Part::Bank(bank) = part {
                    same &= bank.losses.unwrap_or(own) == losses;
                    bank.losses = Some(losses);
                }
            }
            if !same && let Ok(network) = Network::build(&changed) {
                others.push((label, network));
            }
        }
        Ok(Self { others })
    }

    /// The bands of every bank in a case of the design's own network.
    pub fn of(&self, network: &Network, case: &str) -> Vec<Band> {
        let mut bands: Vec<Band> = Vec::new();
        let own = banks(network, case);
        for (owner, bank) in &own {
            bands.push(Band {
                owner: owner.clone(),
                bank: bank.id.clone(),
                readings: vec![reading("this design", bank)],
            });
        }
        for (label, other) in &self.others {
            for (owner, bank) in banks(other, case) {
                add(&mut bands, &owner, reading(label, &bank), &bank.id);
            }
        }
        for (owner, bank) in &own {
            for (label, changed) in branch_changes(network, owner, bank) {
                for (other, solved) in banks(&changed, case) {
                    if other == *owner && solved.id == bank.id {
                        add(&mut bands, owner, reading(label, &solved), &bank.id);
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

fn reading(label: &'static str, bank: &BankState) -> Reading {
    Reading {
        label,
        deviation: bank.deviation,
        max_over_min: bank.max_over_min,
    }
}

/// All banks of a case; empty where it has no answer.
fn banks(network: &Network, case: &str) -> Vec<(String, BankState)> {
    let Some(case) = network.cases().iter().find(|c| c.name == case) else {
        return Vec::new();
    };
    let Ok(solution) = Solver::new(network).solve(case) else {
        return Vec::new();
    };
    let names: Vec<String> = solution.loop_names().map(str::to_owned).collect();
    names
        .into_iter()
        .flat_map(|n| {
            let banks = solution.banks(&n);
            banks.into_iter().map(move |b| (n.clone(), b))
        })
        .collect()
}

/// The network with a fifth more loss in the slowest branch of a bank, and a fifth less in the fastest.
fn branch_changes(
    network: &Network,
    owner: &str,
    bank: &BankState,
) -> Vec<(&'static str, Network)> {
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
    .filter_map(|(label, network)| network.map(|n| (label, n)))
    .collect()
}
