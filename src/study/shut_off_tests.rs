//! Shut-off pressures against columns and heads added up by hand.

use super::*;
use crate::design::Source;
use crate::solve::Solver;

fn shut_off(parts: &str, runs: &str, cases: &str) -> ShutOff {
    let text = format!(
        r#"{{ "format": 1, "title": "t", "coolants": {{ "w": {{ "water": {{}} }} }},
          "loops": {{ "l": {{ "coolant": "w", "parts": {{ {parts} }}, "runs": {runs} }} }}, "cases": {cases} }}"#
    );
    let source = Source::read(&text).unwrap_or_else(|e| panic!("{e:?}"));
    let network = Network::build(&source.design).unwrap_or_else(|e| panic!("{e}"));
    let solution = Solver::new(&network)
        .solve(&network.cases()[0])
        .unwrap_or_else(|e| panic!("{e}"));
    of(&solution, "l").expect("the loop")
}

const TANK: &str = r#""tank": { "expansion_tank": { "gauge_pressure": "10 kPa", "cap_pressure": "50 kPa", "elevation": "1 m" } }"#;
const WARM: &str = r#"{ "c": { "air": "10 degC", "coolant_temperature": "60 degC" } }"#;

fn hose(name: &str) -> String {
    format!(r#""{name}": {{ "hose": {{ "bore": "16 mm", "length": "1 m", "elevation": "0 m" }} }}"#)
}

fn pump(name: &str, kpa: f64) -> String {
    format!(
        r#""{name}": {{ "pump": {{ "curve": [["0 L/min", "{kpa} kPa"], ["30 L/min", "0 kPa"]], "elevation": "0 m" }} }}"#
    )
}

fn rho(k: f64) -> f64 {
    Coolant::water().properties_extended(k).density_kg_m3
}

/// Column of a metre and a head that scales with density, on top of the air of the tank.
fn by_hand(tank_pa: f64, head_pa: f64, k: f64) -> f64 {
    tank_pa + rho(k) * GRAVITY_M_S2 + head_pa * rho(k) / rho(293.15)
}

#[track_caller]
fn agrees(got: f64, expected: f64) {
    assert!((got - expected).abs() < 1e-6 * expected, "{got} {expected}");
}

#[test]
fn a_part_behind_the_pump_bears_column_cap_and_the_whole_head_and_one_before_it_no_head() {
    let parts = [
        TANK.to_owned(),
        hose("suction"),
        pump("pump", 40.0),
        hose("home"),
    ]
    .join(",");
    let cases = r#"{ "c": { "air": "10 degC", "coolant_temperature": "60 degC" },
      "fast": { "air": "4 degC", "coolant_temperature": "60 degC", "pump_speed": { "l.pump": 1.5 } } }"#;
    let whole = shut_off(
        &parts,
        r#"[["tank", "suction", "pump", "home", "tank"]]"#,
        cases,
    );
    let (cold, hot) = (277.15, 333.15);
    agrees(whole.cold_k, cold);
    agrees(whole.hot_k, hot);
    let (before, behind) = (
        whole.part("suction").expect("it is there"),
        whole.part("home").expect("it is there"),
    );
    agrees(before.cold_gauge_pa, by_hand(10e3, 0.0, cold));
    // The fast case counts: head grows with the square of speed.
    agrees(behind.cold_gauge_pa, by_hand(10e3, 90e3, cold));
    agrees(behind.hot_gauge_pa, by_hand(10e3, 90e3, hot));
    agrees(
        behind.capped_gauge_pa.expect("it is there"),
        by_hand(50e3, 90e3, hot),
    );
    assert_eq!(behind.worst().0, Condition::ShutOffHotWithCap);
}

#[test]
fn coolant_near_its_freezing_point_is_taken_three_kelvin_above_it() {
    let parts = [TANK.to_owned(), pump("pump", 40.0), hose("home")].join(",");
    let cases = r#"{ "c": { "air": "-25 degC", "coolant_temperature": "60 degC" } }"#;
    let whole = shut_off(&parts, r#"[["tank", "pump", "home", "tank"]]"#, cases);
    let freezing = Coolant::water().freezing_k().expect("it is there");
    agrees(whole.cold_k, freezing + 3.0);
}

#[test]
fn pumps_in_series_add_and_pumps_side_by_side_do_not() {
    let tees = r#""a": { "tee": { "straight_bore": "16 mm", "side_bore": "16 mm" } }, "b": { "tee": { "straight_bore": "16 mm", "side_bore": "16 mm" } }"#;
    let parts = [
        TANK.to_owned(),
        tees.to_owned(),
        pump("one", 40.0),
        pump("two", 25.0),
        pump("side", 55.0),
        hose("home"),
    ]
    .join(",");
    let runs = r#"[["tank", "a.a"], ["a.b", "one", "two", "b.b"], ["a.side", "side", "b.side"], ["b.a", "home", "tank"]]"#;
    let whole = shut_off(&parts, runs, WARM);
    let at = |id: &str| whole.part(id).expect("it is there").cold_gauge_pa;
    agrees(at("one"), by_hand(10e3, 40e3, whole.cold_k));
    agrees(at("two"), by_hand(10e3, 65e3, whole.cold_k));
    agrees(at("side"), by_hand(10e3, 55e3, whole.cold_k));
    agrees(at("home"), by_hand(10e3, 65e3, whole.cold_k));
}

#[test]
fn a_suction_hose_behind_a_tank_on_a_tee_keeps_the_pressure_of_the_tank() {
    let tee = r#""t": { "tee": { "straight_bore": "16 mm", "side_bore": "16 mm" } }"#;
    let parts = [
        TANK.to_owned(),
        tee.to_owned(),
        hose("fill"),
        hose("suction"),
        pump("pump", 40.0),
        hose("home"),
    ]
    .join(",");
    let runs = r#"[["tank", "fill", "t.side"], ["t.b", "suction", "pump", "home", "t.a"]]"#;
    let whole = shut_off(&parts, runs, WARM);
    let at = |id: &str| whole.part(id).expect("it is there").cold_gauge_pa;
    agrees(at("suction"), by_hand(10e3, 0.0, whole.cold_k));
    agrees(at("fill"), by_hand(10e3, 0.0, whole.cold_k));
    agrees(at("home"), by_hand(10e3, 40e3, whole.cold_k));
}
