//! Balancing: exact holes meet the target, real drills come near it, and a target beyond the pump is an answer.

use loopwright::design::{Design, Source};
use loopwright::network::Network;
use loopwright::part::{Part, PortRestrictor};
use loopwright::quantity::{Length, Temperature};
use loopwright::solve::Solver;
use loopwright::study::balance::{self, BalanceQuestion, DrillSet, Reached, Target};

fn sample(text: &str) -> Design {
    Source::read(text).expect("a sound design").design
}

fn bookmobile() -> Design {
    sample(include_str!("../networks/bookmobile.json"))
}

/// The design with these bores at these ports, solved by itself: flow of each branch over the mean of the loop.
fn flows(design: &Design, owner: &str, bores: &[(String, u32, f64)], coolant_k: f64) -> Vec<f64> {
    let mut changed = design.clone();
    for (bank, port, bore_m) in bores {
        if let Some(Part::Bank(bank)) = changed.loops[owner].parts.get_mut(bank) {
            bank.restrictors.push(PortRestrictor {
                port: *port,
                bore: Length::from_m(*bore_m),
                thickness: None,
            });
        }
    }
    for case in changed.cases.values_mut() {
        case.coolant_temperature = Some(Temperature::from_k(coolant_k));
        case.duration = None;
        case.start_temperature = None;
    }
    let network = Network::build(&changed).expect("a network");
    let solution = Solver::new(&network)
        .solve(&network.cases()[0])
        .expect("an answer");
    let banks = solution.banks(owner);
    let all: Vec<f64> = banks
        .iter()
        .flat_map(|b| b.circuit_flow_kg_s.clone())
        .collect();
    let mean = all.iter().sum::<f64>() / all.len() as f64;
    all.into_iter().map(|q| q / mean).collect()
}

#[test]
fn exact_holes_make_flows_equal_box_against_box_when_written_into_the_design() {
    let design = bookmobile();
    let question = BalanceQuestion {
        cases: vec!["hot hill".into()],
        ..BalanceQuestion::default()
    };
    let answer = balance::run(&design, &question).expect("an answer");
    assert_eq!(answer.discs.len(), 32);
    assert!(
        answer.before.warm_deviation > 0.3,
        "{}",
        answer.before.warm_deviation
    );
    assert!(answer.exact_deviation < 1e-3, "{}", answer.exact_deviation);
    let exact: Vec<(String, u32, f64)> = answer
        .discs
        .iter()
        .filter_map(|d| Some((d.bank.clone(), d.port, d.exact_m?)))
        .collect();
    let ratios = flows(&design, "battery", &exact, answer.range_k.1);
    let off = ratios.iter().map(|r| (r - 1.0).abs()).fold(0.0, f64::max);
    assert!(
        (off - answer.exact_deviation).abs() < 1e-6,
        "{off} {}",
        answer.exact_deviation
    );
    // Least added loss: a branch is left open, and it is one of the starved box.
    let open: Vec<&str> = answer
        .discs
        .iter()
        .filter(|d| d.exact_m.is_none())
        .map(|d| d.bank.as_str())
        .collect();
    assert!(
        !open.is_empty() && open.iter().all(|b| *b == "rear"),
        "{open:?}"
    );
}

#[test]
fn real_drills_are_solved_again_warm_and_cold_as_the_design_would_be() {
    let design = bookmobile();
    for drills in [DrillSet::Metric, DrillSet::Inch] {
        let question = BalanceQuestion {
            drills,
            cases: vec!["hot hill".into()],
            ..BalanceQuestion::default()
        };
        let answer = balance::run(&design, &question).expect("an answer");
        let real: Vec<(String, u32, f64)> = answer
            .discs
            .iter()
            .filter_map(|d| Some((d.bank.clone(), d.port, d.drill.as_ref()?.bore_m)))
            .collect();
        for (k, told) in [
            (answer.range_k.1, answer.after.warm_deviation),
            (answer.range_k.0, answer.after.cold_deviation),
        ] {
            let ratios = flows(&design, "battery", &real, k);
            let off = ratios.iter().map(|r| (r - 1.0).abs()).fold(0.0, f64::max);
            assert!((off - told).abs() < 1e-6, "{off} {told}");
        }
        assert!(answer.after.warm_deviation < 0.25 * answer.before.warm_deviation);
        // A smaller hole passes less, a larger one more.
        for disc in answer.discs.iter().filter(|d| d.drill.is_some()) {
            assert!(disc.tolerance.smaller.is_some_and(|s| s < 0.0));
            assert!(disc.tolerance.larger.is_some_and(|s| s > 0.0));
        }
    }
}

/// Source: the field rule "+-0.1 mm on a 3 mm hole is +-14 % pressure" (computed from d^-4): a hole that takes nearly all
/// of its branch's drop moves flow by half of that, one that takes a share of it by less.
#[test]
fn a_tenth_of_a_millimetre_moves_the_flow_by_no_more_than_the_fourth_power_allows() {
    let question = BalanceQuestion {
        cases: vec!["hot hill".into()],
        ..BalanceQuestion::default()
    };
    let answer = balance::run(&bookmobile(), &question).expect("an answer");
    for disc in &answer.discs {
        let (Some(drill), Some(larger)) = (&disc.drill, disc.tolerance.larger) else {
            continue;
        };
        let most = ((drill.bore_m + 1e-4) / drill.bore_m).powi(2) - 1.0;
        assert!(larger <= 1.3 * most, "{} {larger} {most}", drill.name);
    }
}

#[test]
fn flow_in_proportion_to_heat_follows_a_hotter_kind_of_module() {
    let text = include_str!("../networks/header-same-end.json");
    let mut design = sample(text);
    let (owner, _) = design
        .loops
        .get_index(0)
        .map(|(n, l)| (n.clone(), l.clone()))
        .expect("a loop");
    let name = design.loops[0]
        .parts
        .iter()
        .find(|(_, p)| matches!(p, Part::Bank(_)))
        .map(|(n, _)| n.clone())
        .expect("a bank");
    let Some(Part::Bank(bank)) = design.loops[0].parts.get(&name) else {
        panic!()
    };
    let (kind, record) = (bank.module.clone(), design.modules[&bank.module].clone());
    let mut hot = record;
    hot.resistance = None;
    hot.heat = Some(loopwright::quantity::Power::from_w(120.0));
    let mut cool = hot.clone();
    cool.heat = Some(loopwright::quantity::Power::from_w(100.0));
    design.modules.insert("hot".into(), hot);
    design.modules.insert(kind, cool);
    if let Some(Part::Bank(bank)) = design.loops[0].parts.get_mut(&name) {
        bank.exceptions = vec![loopwright::part::ModuleException {
            place: 2,
            module: Some("hot".into()),
            state: None,
            supply_tail: None,
            return_tail: None,
        }];
    }
    let question = BalanceQuestion {
        target: Target::Heat,
        ..BalanceQuestion::default()
    };
    let answer = balance::run(&design, &question).expect("an answer");
    assert_eq!(
        (answer.owner.as_str(), answer.heat_case.as_deref()),
        (owner.as_str(), Some("warm"))
    );
    let share = |k: usize| answer.discs[k].share;
    assert!(
        (share(1) / share(0) - 1.2).abs() < 1e-6,
        "{} {}",
        share(1),
        share(0)
    );
    assert!(answer.exact_deviation < 1e-3, "{}", answer.exact_deviation);
}

#[test]
fn more_flow_than_the_pump_gives_is_a_no_with_the_closest_reachable() {
    let question = BalanceQuestion {
        cases: vec!["hot hill".into()],
        within: Some(0.2),
        least_flow_m3_s: Some(10.0 / 60_000.0),
        ..BalanceQuestion::default()
    };
    let answer = balance::run(&bookmobile(), &question).expect("an answer");
    assert_eq!(answer.reached, Reached::TooLittleFlow);
    let closest = answer.smallest_flow_m3_s() * 60_000.0;
    assert!(closest > 0.1 && closest < 10.0, "{closest}");
}

#[test]
fn a_bank_alone_is_balanced_within_itself() {
    let question = BalanceQuestion {
        banks: vec!["mid".into()],
        cases: vec!["hot hill".into()],
        ..BalanceQuestion::default()
    };
    let answer = balance::run(&bookmobile(), &question).expect("an answer");
    assert!(answer.discs.iter().all(|d| d.bank == "mid"));
    assert!(answer.exact_deviation < 1e-3);
    let missing = BalanceQuestion {
        banks: vec!["midd".into()],
        ..BalanceQuestion::default()
    };
    let error = balance::run(&bookmobile(), &missing).expect_err("no such bank");
    assert!(error.to_string().contains("did you mean `mid`"), "{error}");
}
