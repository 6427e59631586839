//! Everything that goes into a job pack, computed once: all cases, limits with what helps, charts, sheets for the bench.

use super::band::Band;
use super::bucket::{self, BucketAnswer};
use super::cases::{self, SecondLook, SolvedCase};
use super::check::{self, CheckAnswer};
use super::cut_list::{self, CutList};
use super::fill::{self, FillSheet};
use super::ledger::{self, LedgerStep};
use super::limiting::{self, Limiting};
use super::partition::{self, PartitionAnswer, PartitionQuestion};
use super::shut_off::coldest_k;
use super::system_curve::{self, MachineChart};
use super::volume::{self, LoopVolume};
use crate::design::Design;
use crate::network::{BuildError, Network};
use crate::part::Origin;
use crate::solve::Solution;

/// What to put into the pack.
#[derive(Clone, Debug)]
pub struct JobQuestion {
    /// Only these cases (default: all).
    pub cases: Vec<String>,
    /// Temperature of the water of the bucket test, K.
    pub water_k: f64,
}

impl Default for JobQuestion {
    fn default() -> Self {
        Self {
            cases: Vec::new(),
            water_k: bucket::BENCH_K,
        }
    }
}

/// The drawn case of one loop.
#[derive(Clone, Debug)]
pub struct LoopPages {
    /// The loop.
    pub owner: String,
    /// Pumps against what they work against.
    pub pumps: Vec<MachineChart>,
    /// Pressure along the loop.
    pub ledger: Vec<LedgerStep>,
    /// Filling and bleeding.
    pub fill: Option<FillSheet>,
}

/// Where the numbers of a design come from.
#[derive(Clone, Debug, PartialEq)]
pub struct OriginCount {
    /// The origin; none where nobody said.
    pub origin: Option<Origin>,
    /// Parts, modules and radiators.
    pub subjects: Vec<String>,
}

/// The pack.
pub struct Job<'n> {
    /// The network.
    pub network: &'n Network,
    /// The asked cases in the order of the design.
    pub cases: Vec<SolvedCase<'n>>,
    /// The case that drawings and charts show: the first that was asked for, else the one with the least margin.
    pub drawn: usize,
    /// Limits of the asked cases.
    pub check: CheckAnswer,
    /// What limits the design most.
    pub limiting: Vec<Limiting>,
    /// Litres.
    pub volumes: Vec<LoopVolume>,
    /// The loops in the drawn case.
    pub loops: Vec<LoopPages>,
    /// Fans of all radiators in the drawn case.
    pub fans: Vec<MachineChart>,
    /// Every cut of the radiator between two loops, where there is one and only one, in the drawn case.
    pub partition: Option<PartitionAnswer>,
    /// Hoses, headers, fittings.
    pub cut_list: CutList,
    /// The bucket test.
    pub bucket: BucketAnswer,
    /// Where the numbers come from.
    pub origins: Vec<OriginCount>,
}

impl<'n> Job<'n> {
    /// The solution of the drawn case, where it has one.
    pub fn drawn_solution(&self) -> Option<&Solution<'n>> {
        let case = self.cases.get(self.drawn)?;
        case.outcome.as_ref().ok().map(|o| &o.0)
    }

    /// The bands of the drawn case.
    pub fn drawn_bands(&self) -> &[Band] {
        let case = self.cases.get(self.drawn);
        case.and_then(|c| c.outcome.as_ref().ok())
            .map_or(&[], |o| o.2.as_slice())
    }
}

/// Computes the pack of a design and the network made of it.
///
/// # Errors
/// [`BuildError`] where the design makes no network.
pub fn run<'n>(
    design: &Design,
    network: &'n Network,
    question: &JobQuestion,
) -> Result<Job<'n>, BuildError> {
    let check = check::run(design, &question.cases)?;
    let limiting = limiting::run(design, network, &check);
    let limits = design.limits.clone().unwrap_or_default();
    let cases = cases::run(network, &limits, &question.cases, SecondLook::No);
    let drawn = drawn(&cases, &check, question);
    let solutions: Vec<&Solution<'_>> = cases
        .iter()
        .filter_map(|c| c.outcome.as_ref().ok().map(|o| &o.0))
        .collect();
    let volumes = volume::run(network, &solutions);
    let shown = cases.get(drawn).and_then(|c| c.outcome.as_ref().ok());
    let mut loops = Vec::new();
    let mut fans = Vec::new();
    if let Some((solution, ..)) = shown {
        for (circuit, volume) in network.loops().iter().zip(&volumes) {
            let cold_k = coldest_k(network, &circuit.coolant);
            loops.push(LoopPages {
                owner: circuit.name.clone(),
                pumps: system_curve::pumps(solution, &circuit.name, cold_k, volume.hottest_k),
                ledger: ledger::run(solution, &circuit.name),
                fill: fill::run(&solutions, &circuit.name),
            });
        }
        for radiator in network.radiators() {
            fans.extend(system_curve::fans(solution, &radiator.name));
        }
    }
    let partition = cases.get(drawn).and_then(|c| {
        let question = PartitionQuestion {
            cases: vec![c.case.name.clone()],
            ..Default::default()
        };
        partition::run(design, &question).ok()
    });
    Ok(Job {
        network,
        drawn,
        check,
        limiting,
        volumes,
        loops,
        fans,
        partition,
        cut_list: cut_list::run(design, network),
        bucket: bucket::run(design, question.water_k)?,
        origins: origins(design),
        cases,
    })
}

/// The case to draw, by its place among the asked ones: it must have an answer, if any has.
fn drawn(cases: &[SolvedCase<'_>], check: &CheckAnswer, question: &JobQuestion) -> usize {
    let solved = |name: &String| {
        cases
            .iter()
            .position(|c| c.case.name == *name && c.outcome.is_ok())
    };
    let wished = question.cases.first().and_then(solved);
    let tight = || {
        limiting::tightest(check)
            .iter()
            .find_map(|(case, _)| solved(case))
    };
    let any = || cases.iter().position(|c| c.outcome.is_ok());
    wished.or_else(tight).or_else(any).unwrap_or(0)
}

fn origins(design: &Design) -> Vec<OriginCount> {
    let kinds = [
        Some(Origin::Measured),
        Some(Origin::DataSheet),
        Some(Origin::Estimated),
        Some(Origin::Placeholder),
        None,
    ];
    let mut named: Vec<(Option<Origin>, String)> = Vec::new();
    for (name, module) in &design.modules {
        named.push((module.origin, format!("module {name}")));
    }
    for (owner, record) in &design.loops {
        for (name, part) in &record.parts {
            named.push((part.placed().origin(), format!("{owner}.{name}")));
        }
    }
    for (name, radiator) in &design.radiators {
        named.push((radiator.origin, format!("radiator {name}")));
    }
    kinds
        .into_iter()
        .map(|origin| OriginCount {
            origin,
            subjects: named
                .iter()
                .filter(|n| n.0 == origin)
                .map(|n| n.1.clone())
                .collect(),
        })
        .filter(|o| !o.subjects.is_empty())
        .collect()
}
