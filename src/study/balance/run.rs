//! The study: what is asked, the exact holes, the drills, and the whole design solved again with them.

use super::bench::{Bench, with_discs};
use super::drill::nearest;
use super::question::{BalanceAnswer, BalanceQuestion, BalanceState, Disc, Reached, Target};
use super::real::{drills, tolerances};
use super::settle::{deviation, over_target, settle};
use crate::design::Design;
use crate::network::{Case, Network};
use crate::part::{DISC_THICKNESS_M, Part, TwoTerm};
use crate::quantity::{Kind, show_both};
use crate::solve::{Carried, Solver};
use crate::study::error::StudyError;
use crate::study::judged::steady_cases;
use crate::study::spell::spell;

/// Deviation to hold where nothing states it (common practice, no source).
const COMMON_WITHIN: f64 = 0.05;
/// The exact holes meet the target within this.
const EXACT: f64 = 1e-3;

/// Balances the banks of a loop.
///
/// # Errors
/// [`StudyError`] where the question names nothing that can be balanced, the design makes no network, or it has no answer
/// without discs.
///
/// ```
/// use loopwright::{design::Source, study::balance::{self, BalanceQuestion}};
/// let design = Source::read(include_str!("../../../networks/header-same-end.json")).unwrap().design;
/// let answer = balance::run(&design, &BalanceQuestion::default()).unwrap();
/// assert!(answer.after.warm_deviation < answer.before.warm_deviation);
/// assert!(answer.discs.iter().any(|disc| disc.drill.is_none()));
/// ```
pub fn run(design: &Design, question: &BalanceQuestion) -> Result<BalanceAnswer, StudyError> {
    let owner = loop_of(design, question.owner.as_deref())?;
    let banks = banks_of(design, &owner, &question.banks)?;
    let (cases, in_time) = steady_cases(design, &question.cases)?;
    let thickness_m = question.thickness_m.unwrap_or(DISC_THICKNESS_M);
    check_values(question, thickness_m)?;
    let bare = with_discs(design, &owner, &banks, &[], thickness_m);
    let plain = Network::build(&bare)?;
    let mut bench = Bench::new(design, &owner, &banks, thickness_m)?;
    let coolant = bench.network.loops()[bench.circuit].coolant.clone();
    let spell = spell(&coolant, question.cold_k, question.warm_k)?;
    let (shares, heat_case) = shares(&bench, &plain, &owner, question.target, &cases)?;
    let case = case_named(&bench.network, &cases)?;
    let (warm, cold) = (case.at_coolant(spell.warm_k), case.at_coolant(spell.cold_k));
    let none = vec![TwoTerm::default(); shares.len()];
    let before = (bench.flows(&none, &warm)?, bench.flows(&none, &cold)?);
    let settled = settle(&mut bench, &warm, &shares)?;
    let taken = drills(&mut bench, &warm, &shares, &settled.bore_m, question.drills)?;
    let bores: Vec<Option<f64>> = taken.iter().map(|d| d.as_ref().map(|d| d.bore_m)).collect();
    let laws: Vec<TwoTerm> = (0..bores.len()).map(|k| bench.law(k, bores[k])).collect();
    let after = (bench.flows(&laws, &warm)?, bench.flows(&laws, &cold)?);
    let tolerances = tolerances(&mut bench, &warm, &bores)?;
    let density = coolant.properties_extended(spell.warm_k).density_kg_m3;
    let ratio = |flows: &(Vec<f64>, Vec<f64>)| {
        let (warm, cold) = (
            over_target(&flows.0, &shares),
            over_target(&flows.1, &shares),
        );
        warm.into_iter().zip(cold).collect::<Vec<(f64, f64)>>()
    };
    let (ratio_before, ratio_after) = (ratio(&before), ratio(&after));
    let discs: Vec<Disc> = bench
        .branches
        .iter()
        .enumerate()
        .map(|(k, at)| Disc {
            bank: at.bank.clone(),
            port: at.port,
            circuit: at.circuit.clone(),
            pipe_bore_m: at.pipe_bore_m,
            share: shares[k],
            before: ratio_before[k],
            exact_m: settled.bore_m[k],
            drop_pa: settled.drop_pa[k],
            drill: taken[k].clone(),
            named: settled.bore_m[k].map(nearest),
            after: ratio_after[k],
            flow_m3_s: after.0[k] / density,
            tolerance: tolerances[k],
        })
        .collect();
    let drilled: Vec<(&str, u32, f64)> = discs
        .iter()
        .filter_map(|d| Some((d.bank.as_str(), d.port, d.drill.as_ref()?.bore_m)))
        .collect();
    let real = Network::build(&with_discs(design, &owner, &banks, &drilled, thickness_m))?;
    let look = Look {
        owner: &owner,
        banks: &banks,
        warm: &warm,
        cold: &cold,
        cases: &cases,
        coolant: &coolant,
    };
    let before = look.at(&plain, &before, &shares);
    let after = look.at(&real, &after, &shares);
    let limits = design.limits.as_ref();
    let stated = question.within.or_else(|| {
        let bound = limits.and_then(|l| l.module_flow_deviation);
        bound.and_then(|b| b.max)
    });
    let within = (stated.unwrap_or(COMMON_WITHIN), stated.is_some());
    let least = question.least_flow_m3_s;
    let enough = least.is_none_or(|q| discs.iter().all(|d| d.flow_m3_s >= q));
    let reached = if settled.deviation > EXACT.max(within.0) {
        Reached::No
    } else if after.warm_deviation > within.0 {
        Reached::NotWithDrills
    } else if !enough {
        Reached::TooLittleFlow
    } else if after.cold_deviation > within.0 {
        Reached::WarmOnly
    } else {
        Reached::Yes
    };
    Ok(BalanceAnswer {
        target: question.target,
        heat_case,
        range_k: (spell.cold_k, spell.warm_k),
        thickness_m,
        within,
        least_flow_m3_s: least,
        drills: question.drills,
        discs,
        before,
        exact_deviation: settled.deviation,
        after,
        steps: settled.steps,
        reached,
        in_time,
        placeholders: plain.placeholders().to_vec(),
        owner: owner.clone(),
        banks: banks.clone(),
    })
}

fn check_values(question: &BalanceQuestion, thickness_m: f64) -> Result<(), StudyError> {
    let refuse = |reason: String| Err(StudyError::Value { reason });
    if !(thickness_m > 0.0 && thickness_m.is_finite()) {
        return refuse(format!(
            "cannot drill a disc of this thickness: got {}, limit above 0 mm",
            show_both(Kind::Length, thickness_m)
        ));
    }
    if let Some(within) = question.within.filter(|w| !(*w > 0.0 && *w < 1.0)) {
        return refuse(format!(
            "cannot hold this deviation: got {within}, limit above 0 and below 1; try 0.05"
        ));
    }
    if let Some(flow) = question
        .least_flow_m3_s
        .filter(|q| !(*q > 0.0 && q.is_finite()))
    {
        return refuse(format!(
            "cannot ask for this flow in each branch: got {}, limit above 0",
            show_both(Kind::VolumeFlow, flow)
        ));
    }
    Ok(())
}

fn loop_of(design: &Design, asked: Option<&str>) -> Result<String, StudyError> {
    let with_banks: Vec<String> = design
        .loops
        .iter()
        .filter(|(_, l)| l.parts.values().any(|p| matches!(p, Part::Bank(_))))
        .map(|(name, _)| name.clone())
        .collect();
    match (asked, &with_banks[..]) {
        (Some(asked), known) if known.iter().any(|k| k == asked) => Ok(asked.to_owned()),
        (Some(asked), known) if !known.is_empty() => {
            Err(StudyError::unknown("loop with a bank", asked, known.iter()))
        }
        (_, []) => Err(StudyError::Nothing {
            sort: "bank to balance",
            help: "try giving a loop a `bank`",
        }),
        (_, [one]) => Ok(one.clone()),
        _ => Err(StudyError::Which {
            sort: "loop",
            option: "--loop",
            known: with_banks,
        }),
    }
}

fn banks_of(design: &Design, owner: &str, asked: &[String]) -> Result<Vec<String>, StudyError> {
    let parts = design.loops.get(owner).map(|l| &l.parts);
    let known: Vec<String> = parts
        .into_iter()
        .flatten()
        .filter(|(_, p)| matches!(p, Part::Bank(_)))
        .map(|(name, _)| name.clone())
        .collect();
    if let Some(name) = asked.iter().find(|n| !known.contains(n)) {
        return Err(StudyError::unknown("bank", name, known.iter()));
    }
    Ok(if asked.is_empty() {
        known
    } else {
        asked.to_vec()
    })
}

fn case_named(network: &Network, cases: &[String]) -> Result<Case, StudyError> {
    let mut all = network.cases().iter();
    let found = all.find(|c| cases.contains(&c.name)).cloned();
    found.ok_or_else(|| StudyError::NoSteadyCase {
        in_time: Vec::new(),
    })
}

/// Share of the whole flow that each branch is to get, and the case whose heat says so.
fn shares(
    bench: &Bench,
    plain: &Network,
    owner: &str,
    target: Target,
    cases: &[String],
) -> Result<(Vec<f64>, Option<String>), StudyError> {
    let count = bench.branches.len();
    if target == Target::Equal {
        return Ok((vec![1.0 / count as f64; count], None));
    }
    let mut solver = Solver::new(plain);
    for case in plain.cases().iter().filter(|c| cases.contains(&c.name)) {
        let solution = solver.solve(case)?;
        if solution.carried(owner) != Some(Carried::Solved) {
            continue;
        }
        let parts = solution.parts(owner);
        let heat: Vec<f64> = bench
            .branches
            .iter()
            .map(|at| {
                let own = parts.iter().filter(|p| at.circuits.contains(&p.id));
                own.map(|p| p.heat_w).sum()
            })
            .collect();
        if let Some(k) = heat.iter().position(|w| *w <= 0.0) {
            return Err(StudyError::Value {
                reason: format!(
                    "cannot share the flow by heat because `{}` gives none in `{}`: got {}, limit above 0; try equal flows",
                    bench.branches[k].circuit,
                    case.name,
                    show_both(Kind::Power, heat[k])
                ),
            });
        }
        let sum: f64 = heat.iter().sum();
        let shares = heat.iter().map(|w| w / sum).collect();
        return Ok((shares, Some(case.name.clone())));
    }
    Err(StudyError::Nothing {
        sort: "steady case with heat to share the flow by",
        help: "try equal flows, or a case with `module_current`",
    })
}

/// How a network is looked at.
struct Look<'a> {
    owner: &'a str,
    banks: &'a [String],
    warm: &'a Case,
    cold: &'a Case,
    cases: &'a [String],
    coolant: &'a crate::fluid::Coolant,
}

impl Look<'_> {
    fn at(&self, network: &Network, flows: &(Vec<f64>, Vec<f64>), shares: &[f64]) -> BalanceState {
        let density = |case: &Case| {
            let k = case.coolant_temperature_k.unwrap_or_default();
            self.coolant.properties_extended(k).density_kg_m3
        };
        let mut state = BalanceState {
            warm_deviation: deviation(&flows.0, shares),
            cold_deviation: deviation(&flows.1, shares),
            warm_flow_m3_s: flows.0.iter().sum::<f64>() / density(self.warm),
            cold_flow_m3_s: flows.1.iter().sum::<f64>() / density(self.cold),
            bank_drop_pa: Vec::new(),
            spread_k: Vec::new(),
            failures: Vec::new(),
        };
        let mut solver = Solver::new(network);
        // The case is one of the network with a disc in every branch: places of modules and pumps are found again by name.
        let same = network.cases().iter().find(|c| c.name == self.warm.name);
        let warm = same.map(|c| c.at_coolant(self.warm.coolant_temperature_k.unwrap_or_default()));
        if let Some(Ok(solution)) = warm.map(|c| solver.solve(&c)) {
            let banks = solution.banks(self.owner).iter();
            let asked = banks.filter(|b| self.banks.contains(&b.id));
            state.bank_drop_pa = asked.map(|b| (b.id.clone(), b.drop_pa)).collect();
        }
        for case in network
            .cases()
            .iter()
            .filter(|c| self.cases.contains(&c.name))
        {
            match solver.solve(case) {
                Ok(solution) if solution.carried(self.owner) == Some(Carried::Solved) => {
                    let banks = solution.banks(self.owner).iter();
                    let modules: Vec<f64> = banks
                        .filter(|b| self.banks.contains(&b.id))
                        .flat_map(|b| &b.module_temperature_k)
                        .copied()
                        .filter(|t| t.is_finite())
                        .collect();
                    let high = modules.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                    let low = modules.iter().copied().fold(f64::INFINITY, f64::min);
                    if high >= low {
                        state.spread_k.push((case.name.clone(), high - low));
                    }
                }
                Ok(_) => {}
                Err(error) => state.failures.push((case.name.clone(), error)),
            }
        }
        state
    }
}
