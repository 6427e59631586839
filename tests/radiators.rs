//! Radiators by their fins or by a rating, end to end: a rating made from a solved core gives back its heat, ceilings
//! hold, cuts keep what was rated.

use loopwright::design::{Design, Source};
use loopwright::network::Network;
use loopwright::report::solve_json;
use loopwright::solve::{CoreState, Solver};
use loopwright::study::partition::{self, PartitionQuestion};
use serde_json::{Value, json};

const ORCHARD: &str = include_str!("../networks/orchard-truck.json");

fn value() -> Value {
    serde_json::from_str(ORCHARD).expect("the sample is JSON")
}

fn design(value: &Value) -> Design {
    Source::read(&value.to_string())
        .unwrap_or_else(|faults| panic!("{faults:#?}"))
        .design
}

/// A core and its flow in kg/s and m3/s at its inlet, in the first case.
fn core(value: &Value, radiator: &str) -> (CoreState, f64) {
    let network = Network::build(&design(value)).unwrap_or_else(|e| panic!("{e}"));
    let mut solver = Solver::new(&network);
    let solution = solver.solve(&network.cases()[0]).expect("an answer");
    let core = solution.cores(radiator).remove(0);
    let part = solution
        .part(&core.owner, &format!("{radiator}.{}", core.core))
        .expect("the core is a part");
    (core, part.mass_flow_kg_s)
}

#[test]
fn a_rating_made_from_louvred_fins_gives_back_their_heat() {
    // One strip, so that one face velocity describes the core.
    for (arrangement, passes) in [
        ("both_unmixed", 1),
        ("both_unmixed", 2),
        ("air_mixed", 1),
        ("coolant_mixed", 2),
        ("counterflow_passes", 2),
    ] {
        let mut fins = value();
        let front = &mut fins["radiators"]["front"];
        front["fans"][0]["face_share_covered"]["battery"] = json!(1);
        front["arrangement"] = json!(arrangement);
        front["cores"]["battery"]["passes"] = json!(passes);
        let (made, flow_kg_s) = core(&fins, "front");
        let network = Network::build(&design(&fins)).expect("a network");
        let case = &network.cases()[0];
        let coolant = &network.loops()[0].coolant;
        let inlet = coolant
            .properties(made.inlet_temperature_k)
            .expect("a liquid");
        let exponent = 0.4;
        let rating = |face: f64, face_m_s: f64| {
            json!({
                "heat": format!("{} W", made.heat_rejected_w * face),
                "inlet_temperature_difference":
                    format!("{} K", made.inlet_temperature_k - case.air_temperature_k),
                "coolant": "mix",
                "coolant_temperature": format!("{} K", made.inlet_temperature_k),
                "coolant_flow": format!("{} m3/s", flow_kg_s / inlet.density_kg_m3),
                "face_velocity": format!("{face_m_s} m/s"),
                "passes": passes,
                "exponent": exponent,
            })
        };
        let mut rated = fins.clone();
        // The air of the case is not that of sea level at its temperature only where it stands high; here it is.
        let mut side = rating(1.0, made.face_velocity_m_s);
        let drop_pa = air_drop_pa(&fins);
        side["air_pressure_drop"] = json!(format!("{drop_pa} Pa"));
        rated["radiators"]["front"]["air_side"] = json!({ "rating": side });
        let (again, _) = core(&rated, "front");
        let off = again.heat_rejected_w / made.heat_rejected_w - 1.0;
        assert!(off.abs() < 1e-6, "{arrangement} {passes}: {off:e}");
        assert!((again.face_velocity_m_s / made.face_velocity_m_s - 1.0).abs() < 1e-6);
        assert!((again.sides.air_side_w_k / made.sides.air_side_w_k - 1.0).abs() < 1e-6);
        assert!((again.inlet_temperature_k - made.inlet_temperature_k).abs() < 1e-4);
    }
}

/// Drop of the fins alone, without what the air loses behind them, at the first case.
fn air_drop_pa(value: &Value) -> f64 {
    let mut without = value.clone();
    without["radiators"]["front"]["ram"]["exit_loss"] = json!(0);
    let with = Network::build(&design(value)).expect("a network");
    let bare = Network::build(&design(&without)).expect("a network");
    let mut solver = Solver::new(&with);
    let solution = solver.solve(&with.cases()[0]).expect("an answer");
    let flow = solution.cores("front")[0].air_mass_flow_kg_s;
    let air = with.cases()[0].air.properties();
    let net = &bare.air_paths()[0].net;
    let strip = &bare.cores()[0].strips[0];
    let branch = &net.branches[strip.branch];
    (branch.elements.clone())
        .flat_map(|e| net.laws[net.elements[e].laws.clone()].iter())
        .map(|law| law.drop(flow, &air).drop_pa)
        .sum()
}

#[test]
fn no_core_gives_more_than_its_air_can_carry() {
    for (radiator, loop_name) in [("front", "battery"), ("side", "drive")] {
        let (core, flow_kg_s) = core(&value(), radiator);
        let network = Network::build(&design(&value())).expect("a network");
        let case = &network.cases()[0];
        let air = case.air.properties();
        let difference = core.inlet_temperature_k - case.air_temperature_k;
        let most = core.air_mass_flow_kg_s * air.specific_heat_j_kg_k * difference;
        assert!(core.heat_rejected_w > 0.2 * most && core.heat_rejected_w < most);
        assert_eq!(core.owner, loop_name);
        let sides = &core.sides;
        assert!(flow_kg_s > 0.0 && sides.tank_velocity_m_s.is_some_and(|v| v > 0.0));
        // Series of both sides is the overall conductance, which NTU and heat agree with to strips.
        let overall = 1.0 / (1.0 / sides.air_side_w_k + 1.0 / sides.coolant_side_w_k);
        assert!(core.heat_rejected_w < overall * difference);
    }
}

#[test]
fn the_ceiling_of_a_rating_is_where_the_air_ends() {
    // Common arithmetic of the trade: rho v cp A (T_coolant,in - T_air,in).
    let with = |watt: f64| {
        let mut value = value();
        value["radiators"]["side"]["air_side"]["rating"]["heat"] = json!(format!("{watt} W"));
        value["radiators"]["side"]["air_side"]["rating"]["coolant_flow"] = json!("2000 L/min");
        Network::build(&design(&value)).err().map(|e| e.to_string())
    };
    let air = loopwright::fluid::air::Air::at(303.15, 0.0)
        .expect("air")
        .properties();
    let ceiling = air.density_kg_m3 * 4.0 * 0.175 * air.specific_heat_j_kg_k * 50.0;
    let above = with(ceiling * 1.0001).expect("refused");
    assert!(above.contains("its air cannot carry the heat"), "{above}");
    let below = with(ceiling * 0.9999).unwrap_or_default();
    assert!(!below.contains("cannot carry"), "{below}");
}

#[test]
fn dimples_and_tanks_cost_pressure_and_dimples_bring_heat() {
    let whole = value();
    let (with, _) = core(&whole, "side");
    let mut smooth = whole.clone();
    let rating = &mut smooth["radiators"]["side"];
    rating["tubes"]
        .as_object_mut()
        .expect("tubes")
        .remove("dimpled");
    // The rating is of dimpled tubes: smooth ones could not carry it, and the program says so.
    let refused = Network::build(&design(&smooth))
        .expect_err("refused")
        .to_string();
    assert!(
        refused.contains("coolant side of the tubes alone"),
        "{refused}"
    );
    assert!(with.sides.reynolds > 700.0, "{:?}", with.sides);
    let drop = |value: &Value| {
        let network = Network::build(&design(value)).expect("a network");
        let mut solver = Solver::new(&network);
        let solution = solver.solve(&network.cases()[0]).expect("an answer");
        let part = solution.part("battery", "front.battery").expect("a part");
        part.pressure_drop_pa / (part.mass_flow_kg_s * part.mass_flow_kg_s)
    };
    let large = {
        let mut value = whole.clone();
        let front = value["radiators"]["front"]
            .as_object_mut()
            .expect("a radiator");
        front.remove("tank_section");
        drop(&value)
    };
    let narrow = {
        let mut value = whole.clone();
        value["radiators"]["front"]["tank_section"] =
            json!({ "rectangle": { "width": "36 mm", "height": "8 mm" } });
        drop(&value)
    };
    assert!(narrow > 1.02 * large, "{narrow} {large}");
}

#[test]
fn cuts_of_a_radiator_with_fins_or_a_rating_share_one_air_side() {
    let lesson = include_str!("../networks/two-core-lesson.json");
    let orchard = value();
    let fins = orchard["radiators"]["front"]["air_side"].clone();
    let rating = json!({ "rating": {
        "heat": "16 kW", "inlet_temperature_difference": "50 K", "coolant": "mix",
        "coolant_temperature": "80 degC", "coolant_flow": "30 L/min", "face_velocity": "3 m/s",
        "air_pressure_drop": "60 Pa", "exponent": 0.5 } });
    for side in [fins, rating] {
        let mut value: Value = serde_json::from_str(lesson).expect("JSON");
        value["radiators"]["front"]["air_side"] = side;
        value["radiators"]["front"]["tank_section"] = json!({ "round": { "bore": "32 mm" } });
        let answer = partition::run(&design(&value), &PartitionQuestion::default())
            .unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(answer.cuts.len(), 37);
        let (mut last, mut answered) = (0.0, 0);
        for cut in &answer.cuts {
            // A drive core of a few tubes boils its coolant: no answer, and that is right.
            let Ok(state) = &cut.cases[0].outcome else {
                continue;
            };
            answered += 1;
            let per_kelvin = state.cores[0].conductance_w_k.expect("heat");
            assert!(per_kelvin > last, "{:?}: {per_kelvin} {last}", cut.tubes);
            last = per_kelvin;
        }
        assert!(answered >= 20, "{answered}");
    }
}

#[test]
fn the_answer_holds_both_sides_of_every_core() {
    let network = Network::build(&design(&value())).expect("a network");
    let mut solver = Solver::new(&network);
    let case = &network.cases()[0];
    let solution = solver.solve(case).expect("an answer");
    let answer = solve_json(
        &network,
        &[(case.name.clone(), Ok((solution, vec![], vec![])))],
        &[],
    );
    let radiators = &answer["cases"][&case.name]["radiators"];
    let front = &radiators["front"]["cores"]["battery"];
    let side = &radiators["side"]["cores"]["drive"];
    for core in [front, side] {
        for key in [
            "reynolds",
            "tube_velocity_m_s",
            "tank_velocity_m_s",
            "coolant_side_conductance_w_k",
            "air_side_conductance_w_k",
            "ntu",
            "effectiveness",
            "passes",
        ] {
            assert!(core[key].as_f64().is_some_and(|v| v > 0.0), "{key}: {core}");
        }
        assert!(core["regime"].is_string());
    }
    assert!(
        front["fin_efficiency"]
            .as_f64()
            .is_some_and(|e| e > 0.7 && e < 1.0)
    );
    assert!(side["fin_efficiency"].is_null());
    assert_eq!(front["passes"], 2);
}
