//! Laws of the air path: cuts that are the same said two ways, radiators one behind another, plates, losses, backflow.
//! Each is an identity or a balance; no source needed.

use loopwright::design::Source;
use loopwright::finding::FindingKind;
use loopwright::network::Network;
use loopwright::solve::{CoreState, Solution, Solver};
use serde_json::{Value, json};

const LESSON: &str = include_str!("../../networks/two-core-lesson.json");
const STACKED: &str = include_str!("../../networks/stacked-cores.json");

fn design(text: &str) -> Value {
    serde_json::from_str(text).expect("a sample")
}

fn network(design: &Value) -> Network {
    let source = Source::read(&design.to_string()).unwrap_or_else(|e| panic!("{e:?}"));
    Network::build(&source.design).unwrap_or_else(|e| panic!("{e}"))
}

/// Cores of every radiator in every steady case.
fn cores(design: &Value) -> Vec<CoreState> {
    each(design, |solution| {
        let radiators = solution.network().radiators().iter();
        radiators.flat_map(|r| solution.cores(&r.name)).collect()
    })
}

fn each<T>(design: &Value, ask: impl Fn(&Solution<'_>) -> Vec<T>) -> Vec<T> {
    let network = network(design);
    let mut solver = Solver::new(&network);
    let steady = network.cases().iter().filter(|c| c.time.is_none());
    steady
        .flat_map(|case| ask(&solver.solve(case).unwrap_or_else(|e| panic!("{e}"))))
        .collect()
}

fn near(a: f64, b: f64, owed: f64) {
    assert!((a - b).abs() <= owed * a.abs().max(b.abs()), "{a} and {b}");
}

#[test]
fn a_cut_by_face_along_whole_tubes_is_the_cut_by_tubes() {
    let by_tubes = design(LESSON);
    let mut by_face = by_tubes.clone();
    let face = |from: f64| json!({ "face": { "from_left": "0 m", "from_bottom": format!("{from} m"), "width": "0.6 m", "height": "0.19 m" } });
    let radiator = &mut by_face["radiators"]["front"];
    radiator["cores"] = json!({ "battery": face(0.0), "drive": face(0.2) });
    radiator.as_object_mut().expect("it").remove("lost_tubes");
    for (a, b) in cores(&by_tubes).iter().zip(cores(&by_face)) {
        near(a.heat_rejected_w, b.heat_rejected_w, 1e-9);
        near(a.inlet_temperature_k, b.inlet_temperature_k, 1e-11);
        near(a.air_mass_flow_kg_s, b.air_mass_flow_kg_s, 1e-9);
    }
}

#[test]
fn half_the_width_has_all_the_tubes_at_half_their_length() {
    let mut cut = design(LESSON);
    let face = |from: f64| json!({ "face": { "from_left": format!("{from} m"), "from_bottom": "0 m", "width": "0.3 m", "height": "0.4 m" } });
    cut["radiators"]["front"]["cores"] = json!({ "battery": face(0.0), "drive": face(0.3) });
    cut["radiators"]["front"]
        .as_object_mut()
        .expect("it")
        .remove("lost_tubes");
    for core in network(&cut).cores() {
        assert_eq!(core.conduit.parallel, 40.0);
        near(core.conduit.length_m, 0.3, 1e-12);
        let face: f64 = core.strips.iter().map(|s| s.face_m2).sum();
        near(face, 0.12, 1e-12);
    }
}

/// A radiator with two cores that stands before or behind one that warms nothing.
fn with_cold_radiator(place: &str) -> Value {
    let mut stack = design(LESSON);
    let mut cold = stack["radiators"]["front"].clone();
    let keys = cold.as_object_mut().expect("it");
    for key in ["lost_tubes", "fans", "ram"] {
        keys.remove(key);
    }
    cold["cores"] = json!({ "still": { "tubes": 40 } });
    stack["loops"]["idle"] = json!({ "coolant": "mix",
        "parts": { "tank": { "expansion_tank": {} }, "pump": { "pump": { "curve": [["0 L/min", "20 kPa"], ["9 L/min", "0 kPa"]] } } },
        "runs": [["tank", "pump", "cold.still", "tank"]] });
    let radiators = stack["radiators"].as_object_mut().expect("it");
    if place == "before" {
        let ram = radiators["front"]
            .as_object_mut()
            .expect("it")
            .remove("ram");
        cold["ram"] = ram.expect("ram");
        radiators["front"]["behind"] = json!("cold");
    } else {
        cold["behind"] = json!("front");
        let fans = radiators["front"]
            .as_object_mut()
            .expect("it")
            .remove("fans");
        cold["fans"] = fans.expect("fans");
        cold["fans"][0]["face_share_covered"] = json!({ "still": 0.8 });
    }
    radiators.insert("cold".into(), cold);
    stack
}

#[test]
fn a_radiator_that_carries_no_heat_only_adds_its_resistance() {
    // The same face with twice the resistance and nothing before it. The pump of the idle loop gives it a few watts.
    let mut doubled = design(LESSON);
    doubled["radiators"]["front"]["air_side"]["pressure_drop"] =
        json!({ "linear": "18 Pa s/m", "quadratic": "12 Pa s2/m2" });
    let plain = cores(&doubled);
    let stack: Vec<CoreState> = (cores(&with_cold_radiator("before")).into_iter())
        .filter(|c| c.owner != "idle")
        .collect();
    assert_eq!(plain.len(), stack.len());
    for (a, b) in plain.iter().zip(&stack) {
        near(a.air_mass_flow_kg_s, b.air_mass_flow_kg_s, 1e-9);
        // Heat is given by the duty; the coolant stands as much higher as the air is warmed by the idle pump.
        near(a.heat_rejected_w, b.heat_rejected_w, 2e-3);
        let warmed =
            b.air_inlet_temperature_k.expect("air") - a.air_inlet_temperature_k.expect("air");
        assert!(warmed > 0.0 && warmed < 0.05, "{warmed}");
        assert!((b.inlet_temperature_k - a.inlet_temperature_k - warmed).abs() < 0.05);
    }
}

#[test]
fn the_rear_core_breathes_the_air_of_the_front_one() {
    let stack = with_cold_radiator("behind");
    let network = network(&stack);
    let mut solver = Solver::new(&network);
    for case in network.cases() {
        let solution = solver.solve(case).unwrap_or_else(|e| panic!("{e}"));
        let front = solution.cores("front");
        let rear = &solution.cores("cold")[0];
        // What the front cores gave is in the air of the rear one, less what passes behind lost tubes of the front.
        let (given, cp) = (front.iter().map(|c| c.heat_rejected_w).sum::<f64>(), 1006.0);
        let before = rear.air_inlet_temperature_k.expect("air");
        let carried = rear.air_mass_flow_kg_s * cp * (before - case.air_temperature_k);
        near(carried, given, 1e-9);
        assert!(solution.air_closures().iter().all(|(_, c)| c.is_met()));
    }
}

#[test]
fn a_plate_carries_heat_from_the_warmer_core_to_the_colder_and_loses_none() {
    let plain = design(LESSON);
    let leaky = |text: &str| {
        let mut leaky = plain.clone();
        leaky["radiators"]["front"]["tank_leaks"] =
            json!([{ "between": ["drive", "battery"], "conductance": text }]);
        leaky
    };
    assert_eq!(cores(&plain), cores(&leaky("0 W/K")));
    let mut last = 0.0;
    // Up to a plate that conducts better than the cores, far beyond any tank.
    for conductance in ["1 W/K", "5 W/K", "60 W/K", "200 W/K"] {
        for pair in cores(&leaky(conductance)).chunks(2) {
            let [battery, drive] = pair else {
                panic!("two cores")
            };
            let (to, from) = (battery.tank_leaks[0].heat_w, drive.tank_leaks[0].heat_w);
            assert!(to > 0.0 && (to + from).abs() < 1e-5, "{to} and {from}");
        }
        let hill = &cores(&leaky(conductance))[0];
        assert!(hill.tank_leaks[0].heat_w > last);
        last = hill.tank_leaks[0].heat_w;
        let network = network(&leaky(conductance));
        let mut solver = Solver::new(&network);
        for case in network.cases() {
            let solution = solver.solve(case).unwrap_or_else(|e| panic!("{e}"));
            for owner in ["battery", "drive"] {
                assert!(solution.closure(owner).expect("it").is_met());
            }
            assert!(solution.air_closures()[0].1.is_met());
            assert!(solution.effort().passes <= 12, "{:?}", solution.effort());
        }
    }
}

#[test]
fn a_loss_before_the_face_costs_what_the_same_loss_costs_behind_it() {
    // One core on the whole face without fans: grille, duct and exit on the face velocity are one sum.
    let mut open = design(LESSON);
    let radiator = &mut open["radiators"]["front"];
    radiator["fans"] = json!([]);
    radiator["cores"] = json!({ "battery": { "tubes": 20 }, "drive": { "tubes": 20 } });
    radiator["lost_tubes"] = json!(0);
    open["cases"]
        .as_object_mut()
        .expect("it")
        .remove("market stop");
    let mut split = open.clone();
    let radiator = &mut split["radiators"]["front"];
    radiator["ram"]["exit_loss"] = json!(0.5);
    radiator["air_losses"] = json!({ "grille": { "loss_coefficient": 2.0 }, "duct": { "loss_coefficient": 1.0 }, "exit": { "loss_coefficient": 0.5 } });
    for (a, b) in cores(&open).iter().zip(cores(&split)) {
        near(a.air_mass_flow_kg_s, b.air_mass_flow_kg_s, 1e-6);
    }
}

#[test]
fn air_at_rest_has_an_answer_behind_grille_and_shroud() {
    let mut still = design(STACKED);
    still["cases"] = json!({ "still": { "air": "20 degC", "coolant_temperature": "20 degC", "fan_speed": { "rear": 0 } } });
    for core in cores(&still) {
        assert!(core.air_passing_kg_s < 1e-9, "{core:?}");
    }
}

#[test]
fn a_dead_fan_on_a_shared_shroud_lets_the_air_turn_round_and_is_told() {
    let found = each(&design(STACKED), |solution| {
        let fans = solution.fans("rear");
        let told = solution.findings().iter().any(|f| {
            f.kind == FindingKind::BackwardsThroughMachine && f.subject.to_string() == "rear.right"
        });
        vec![(solution.case().name.clone(), fans[1].volume_flow_m3_s, told)]
    });
    for (case, flow, told) in found {
        assert_eq!(told, case == "one fan dead", "{case}");
        assert_eq!(flow < 0.0, told, "{case}: {flow}");
    }
}

#[test]
fn air_keeps_mass_and_energy_in_every_sample() {
    for entry in
        std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/networks")).expect("samples")
    {
        let path = entry.expect("an entry").path();
        if path.extension().is_none_or(|e| e != "json") {
            continue;
        }
        let text = std::fs::read_to_string(&path).expect("a sample");
        let closures = each(&design(&text), |solution| solution.air_closures());
        for (radiator, closure) in closures {
            assert!(
                closure.is_met(),
                "{}, {radiator}: {closure:?}",
                path.display()
            );
        }
    }
}

/// In time as in a steady state: a long march ends where the steady solve stands.
#[test]
fn a_long_march_of_a_stack_ends_in_its_steady_state() {
    let mut long = design(STACKED);
    let mut case = long["cases"]["summer tow"].clone();
    long["cases"] = json!({ "steady": case.clone() });
    case["duration"] = json!("12 h");
    case["start_temperature"] = json!("31 degC");
    long["cases"]["march"] = case;
    let network = network(&long);
    let mut solver = Solver::new(&network);
    let steady = solver
        .solve(&network.cases()[0])
        .unwrap_or_else(|e| panic!("{e}"));
    let end = solver.march(&network.cases()[1], &Default::default(), &mut |_, _, _| {});
    let (end, _) = end.unwrap_or_else(|e| panic!("{e}")).expect("a march");
    for radiator in ["front", "rear"] {
        for (a, b) in steady.cores(radiator).iter().zip(end.cores(radiator)) {
            assert!((a.inlet_temperature_k - b.inlet_temperature_k).abs() < 0.02);
            let (air, other) = (a.air_inlet_temperature_k, b.air_inlet_temperature_k);
            assert!((air.expect("air") - other.expect("air")).abs() < 0.02);
        }
    }
}
