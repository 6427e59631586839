//! Headers: every sample from a cold start, at -20 degC, at 1 % and 300 % of pump speed, with any branch shut; geometry
//! that does not fit is refused; layouts, causes and bands say what the samples teach.

use loopwright::design::{Design, Source};
use loopwright::network::Network;
use loopwright::part::{ModuleException, ModuleFault, Part};
use loopwright::solve::{Cause, Solver};
use loopwright::study::band::Bands;
use loopwright::study::layout::{self, LayoutQuestion};

const SAMPLES: [(&str, &str); 5] = [
    ("same end", include_str!("../networks/header-same-end.json")),
    (
        "opposite end",
        include_str!("../networks/header-opposite-end.json"),
    ),
    ("centre", include_str!("../networks/header-centre.json")),
    ("tapered", include_str!("../networks/header-tapered.json")),
    ("two rows", include_str!("../networks/header-two-row.json")),
];
/// Newton steps that any hydraulic solve may take.
const MOST_STEPS: usize = 15;

fn sample(name: &str) -> Design {
    let text = SAMPLES
        .iter()
        .find(|s| s.0 == name)
        .map(|s| s.1)
        .unwrap_or_default();
    match Source::read(text) {
        Ok(source) => source.design,
        Err(faults) => panic!("{name}: {faults:?}"),
    }
}

fn bank(design: &mut Design) -> &mut loopwright::part::Bank {
    match design
        .loops
        .get_mut("bench")
        .and_then(|l| l.parts.get_mut("rack"))
    {
        Some(Part::Bank(bank)) => bank,
        _ => panic!("the sample has a bank `rack`"),
    }
}

fn build(design: &Design) -> Network {
    match Network::build(design) {
        Ok(network) => network,
        Err(error) => panic!("{error}"),
    }
}

/// Solves every case and checks closures and effort; returns the most Newton steps.
fn solve_all(label: &str, design: &Design) -> usize {
    let network = build(design);
    let mut most = 0;
    for case in network.cases() {
        let mut solver = Solver::new(&network);
        let solution = match solver.solve(case) {
            Ok(solution) => solution,
            Err(error) => panic!("{label}, {}: {error}", case.name),
        };
        let closure = solution.closure("bench").unwrap_or_default();
        assert!(closure.is_met(), "{label}, {}: {closure:?}", case.name);
        let steps = solution.effort().newton_iterations_max;
        assert!(steps <= MOST_STEPS, "{label}, {}: {steps} steps", case.name);
        most = most.max(steps);
    }
    most
}

#[test]
fn every_header_sample_solves_from_a_cold_start_warm_and_at_minus_20() {
    for (name, _) in SAMPLES {
        solve_all(name, &sample(name));
    }
}

#[test]
fn every_header_sample_solves_at_1_and_at_300_percent_of_its_flow() {
    for (name, _) in SAMPLES {
        for speed in [0.01, 3.0] {
            let mut design = sample(name);
            if let Some(Part::Pump(pump)) = design.loops["bench"].parts.get_mut("pump") {
                pump.speed = Some(speed);
            }
            solve_all(&format!("{name} at {speed}"), &design);
        }
    }
}

#[test]
fn every_header_sample_solves_with_any_one_branch_shut() {
    for (name, _) in SAMPLES {
        let count = bank(&mut sample(name)).count;
        for place in 1..=count {
            let mut design = sample(name);
            let bank = bank(&mut design);
            bank.exceptions.retain(|e| e.place != place);
            bank.exceptions.push(ModuleException {
                place,
                module: None,
                state: Some(ModuleFault::Blocked),
                supply_tail: None,
                return_tail: None,
            });
            // Heat on a shut module has no steady state: flows alone.
            design.cases.shift_remove("warm");
            solve_all(&format!("{name} without {place}"), &design);
        }
    }
}

/// Same end: the near branch is richest and friction is why; opposite end: the far branch, by change of velocity.
#[test]
fn the_samples_teach_which_branch_is_worst_and_why() {
    for (name, worst, cause) in [
        ("same end", "rack.module 1.circuit 1", Cause::Friction),
        ("opposite end", "rack.module 12.circuit 1", Cause::Momentum),
    ] {
        let network = build(&sample(name));
        let solution = Solver::new(&network)
            .solve(&network.cases()[0])
            .unwrap_or_else(|e| panic!("{e}"));
        let state = solution.banks("bench")[0].clone();
        let found = state.worst.unwrap_or_else(|| panic!("a worst branch"));
        assert_eq!((found.id.as_str(), found.cause), (worst, cause));
        assert!(found.over_mean > 1.0);
        // What friction and the tees give adds up to what the branch has more than the mean.
        assert!(found.friction_pa + found.momentum_pa > 0.0);
    }
}

#[test]
fn the_centre_feed_is_the_most_even_and_a_band_holds_its_own_reading() {
    let answers = layout::run(&sample("same end"), None, LayoutQuestion::default())
        .unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(answers[0].best(), Some(loopwright::part::Layout::Centre));
    let design = sample("opposite end");
    let network = build(&design);
    let solution = Solver::new(&network)
        .solve(
            network
                .cases()
                .iter()
                .find(|c| c.name == "warm")
                .unwrap_or_else(|| panic!("a case")),
        )
        .unwrap_or_else(|e| panic!("{e}"));
    let bands = Bands::new(&network).of(&solution, &mut Default::default());
    let (low, high) = bands[0].deviation();
    assert_eq!(bands[0].readings.len(), 5);
    assert!(low <= bands[0].readings[0].deviation && bands[0].readings[0].deviation < high);
}

/// Flows at one temperature do not ask how long a duty lasts.
#[test]
fn layouts_of_a_case_in_time_are_compared_like_those_of_a_steady_one() {
    let text = include_str!("../networks/bookmobile.json");
    let design = Source::read(text).map(|s| s.design);
    let design = design.unwrap_or_else(|f| panic!("{:?}", f.first()));
    let layouts = |case: &str| {
        let answers = layout::run(&design, Some(case), LayoutQuestion::default());
        answers.unwrap_or_else(|e| panic!("{e}"))
    };
    let (steady, in_time) = (layouts("hot hill"), layouts("tow burst"));
    for (a, b) in steady.iter().zip(&in_time) {
        assert!(!a.endless && a.unsteady.is_none() && b.endless);
        assert!(a.unsolved.is_none() && b.unsolved.is_none());
        assert_eq!(a.best(), b.best());
        for (a, b) in a.rows.iter().zip(&b.rows) {
            assert!(a.cold_deviation.is_some() && a.cold_deviation == b.cold_deviation);
            assert!(a.warm_drop_pa.is_some() && a.warm_drop_pa == b.warm_drop_pa);
            // The burst would boil if it had no end.
            assert!(a.spread_k.is_some() && b.spread_k.is_none());
        }
        assert!(b.unsteady.is_some());
    }
}

#[test]
fn a_missing_module_has_no_flow_and_no_temperature_and_counts_in_no_mean() {
    let network = build(&sample("two rows"));
    let solution = Solver::new(&network)
        .solve(&network.cases()[0])
        .unwrap_or_else(|e| panic!("{e}"));
    let state = solution.banks("bench")[0].clone();
    assert!(state.branch_flow_over_mean[1].is_nan() && state.module_temperature_k[1].is_nan());
    let others: Vec<f64> = state
        .branch_flow_over_mean
        .iter()
        .copied()
        .filter(|q| q.is_finite())
        .collect();
    assert_eq!(others.len(), 7);
    assert!((others.iter().sum::<f64>() / 7.0 - 1.0).abs() < 1e-12);
}

#[test]
fn modules_in_series_share_one_flow_and_the_later_one_is_warmer() {
    let mut design = sample("same end");
    bank(&mut design).series = Some(2);
    let network = build(&design);
    let solution = Solver::new(&network)
        .solve(&network.cases()[0])
        .unwrap_or_else(|e| panic!("{e}"));
    let state = solution.banks("bench")[0].clone();
    for pair in 0..6 {
        let (a, b) = (2 * pair, 2 * pair + 1);
        assert_eq!(state.circuit_flow_kg_s[a], state.circuit_flow_kg_s[b]);
        assert!(state.module_temperature_k[b] > state.module_temperature_k[a]);
    }
}

#[test]
fn geometry_that_does_not_fit_is_refused_with_its_sizes() {
    type Change = fn(&mut loopwright::part::Bank);
    let changes: [(Change, &str); 5] = [
        (
            |b| b.port_bore = Some(loopwright::quantity::Length::from_m(0.030)),
            "does not fit into a supply header of 21.0 mm",
        ),
        (
            |b| b.port_protrusion = Some(loopwright::quantity::Length::from_m(0.022)),
            "goes through its far wall, 21.0 mm away",
        ),
        (
            |b| b.port_pitch = Some(loopwright::quantity::Length::from_m(0.009)),
            "overlap: they are 9.0 mm apart and 11.0 mm wide",
        ),
        (
            |b| {
                if let Some(header) = &mut b.header {
                    header.length = Some(loopwright::quantity::Length::from_m(0.3));
                }
            },
            "is 300 mm long, but its last port lies at 480 mm",
        ),
        (|b| b.count = 0, "count"),
    ];
    for (change, words) in changes {
        let mut design = sample("same end");
        change(bank(&mut design));
        let text = match Network::build(&design) {
            Ok(_) => panic!("not refused: {words}"),
            Err(error) => error.to_string(),
        };
        assert!(text.contains(words), "{text}");
    }
}

/// Cold glycol is laminar and pays friction along the header, which an opposite end evens out; warm coolant is fast and
/// its change of velocity favours the far branch of an opposite end, which a same end does not have.
#[test]
fn the_better_end_changes_with_temperature_where_friction_and_velocity_trade_places() {
    let mut design = sample("same end");
    if let Some(Part::Pump(pump)) = design.loops["bench"].parts.get_mut("pump") {
        pump.speed = Some(1.6);
    }
    let answers =
        layout::run(&design, None, LayoutQuestion::default()).unwrap_or_else(|e| panic!("{e}"));
    let answer = &answers[0];
    let [(at_k, colder, warmer)] = answer.end_changes[..] else {
        panic!("one change: {answer:?}");
    };
    use loopwright::part::Layout::{OppositeEnd, SameEnd};
    assert_eq!((colder, warmer), (OppositeEnd, SameEnd));
    assert!(at_k > answer.range_k.0 && at_k < answer.range_k.1);
    // The rows on either side say the same.
    let row = |layout| {
        answer
            .rows
            .iter()
            .find(|r| r.layout == layout)
            .unwrap_or_else(|| panic!("a row"))
    };
    assert!(row(OppositeEnd).cold_deviation < row(SameEnd).cold_deviation);
    assert!(row(OppositeEnd).warm_deviation > row(SameEnd).warm_deviation);
}
