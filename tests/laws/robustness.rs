//! Designs at the edge: dead-headed, stopped, reversed, shut, at rest, tiny beside huge. Each is solved with its
//! closures met, or refused with the reason that its own text predicts; never a panic, a NaN or a long wait.

use crate::closures::{MOST_PASSES, MOST_STEPS};
use crate::documents::{bank, chiller, design, each_case, hose, plate, pump, tee};
use serde_json::{Value, json};

/// What the text of a design predicts.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Outcome {
    Solved,
    Refused(&'static str),
}
use Outcome::{Refused, Solved};

const NO_FLOW: Outcome = Refused("heat-without-flow");
const NO_SINK: Outcome = Refused("no-heat-sink");
const BEYOND: Outcome = Refused("beyond-coolant-range");

fn assert_outcome(what: &str, document: &Value, expected: Outcome) {
    let clock = std::time::Instant::now();
    each_case(document, |case, outcome| {
        let met = match &outcome {
            Ok(solution) => {
                let effort = solution.effort();
                for name in solution.loop_names() {
                    let closure = solution.closure(name).unwrap();
                    assert!(closure.is_met(), "{what}, {case}: {closure:?}");
                    for part in solution.parts(name) {
                        let numbers = [
                            part.mass_flow_kg_s,
                            part.pressure_drop_pa,
                            part.outlet_temperature_k,
                            part.inlet_static_gauge_pa,
                            part.heat_w,
                        ];
                        assert!(
                            numbers.iter().all(|v| v.is_finite()),
                            "{what}, {case}: {part:?}"
                        );
                    }
                }
                let within =
                    effort.newton_iterations_max <= MOST_STEPS && effort.passes <= MOST_PASSES;
                assert!(within, "{what}, {case}: {effort:?}");
                Solved
            }
            Err(error) => Refused(error.code()),
        };
        assert_eq!(
            met,
            expected,
            "{what}, {case}: {:?}",
            outcome.err().map(|e| e.to_string())
        );
    });
    let seconds = clock.elapsed().as_secs_f64();
    assert!(seconds < 2.0, "{what}: {seconds} s");
}

/// Mild, cold and hot, with heat on `loop.plate` where a power is given.
fn cases(watts: Option<f64>) -> Value {
    let heat = watts.map_or(json!({}), |w| json!({ "loop.plate": format!("{w} W") }));
    json!({ "mild": { "air": "20 degC", "heat": heat }, "cold": { "air": "-30 degC", "heat": heat }, "hot": { "air": "50 degC", "heat": heat } })
}

fn isothermal() -> Value {
    json!({ "cold": { "air": "-30 degC", "coolant_temperature": "-30 degC" }, "mild": { "air": "20 degC", "coolant_temperature": "20 degC" },
        "hot": { "air": "40 degC", "coolant_temperature": "100 degC" } })
}

fn valve(opening: f64) -> Value {
    json!({ "valve": { "kv": "3 m3/h", "opening": opening } })
}

fn check_valve(cracking_kpa: f64) -> Value {
    json!({ "check_valve": { "pressure_drop": { "kv": "3 m3/h" }, "cracking_pressure": format!("{cracking_kpa} kPa") } })
}

/// A ring: tank, pump, plate, an extra part, cooler.
fn ring(extra: Value, cases: Value) -> Value {
    let parts = json!({ "tank": { "expansion_tank": {} }, "pump": pump(50.0, 30.0), "plate": plate(), "extra": extra, "cooler": chiller(10.0), "hose": hose(16.0, 2.0) });
    design(
        parts,
        json!([["tank", "pump", "hose", "plate", "extra", "cooler", "tank"]]),
        cases,
    )
}

fn pump_at(speed: f64) -> Value {
    let mut pump = pump(50.0, 30.0);
    pump["pump"]["speed"] = json!(speed);
    pump
}

/// Two pumps side by side, the second at a speed, each with a check valve or not.
fn two_pumps(speed: f64, cracking_kpa: Option<f64>, cases: Value) -> Value {
    let mut parts = json!({ "tank": { "expansion_tank": {} }, "j": { "joint": {} }, "k": { "joint": {} }, "one": pump(50.0, 30.0), "two": pump_at(speed),
        "plate": plate(), "cooler": chiller(10.0) });
    let (mut first, mut second) = (vec!["j", "one"], vec!["j", "two"]);
    if let Some(kpa) = cracking_kpa {
        parts["check one"] = check_valve(kpa);
        parts["check two"] = check_valve(kpa);
        first.push("check one");
        second.push("check two");
    }
    first.push("k");
    second.push("k");
    design(
        parts,
        json!([
            ["tank", "j"],
            first,
            second,
            ["k", "plate", "cooler", "tank"]
        ]),
        cases,
    )
}

#[test]
fn a_dead_headed_pump_is_solved_and_heat_without_flow_is_refused() {
    assert_outcome("shut, no heat", &ring(valve(0.0), cases(None)), Solved);
    assert_outcome("shut, heat", &ring(valve(0.0), cases(Some(100.0))), NO_FLOW);
    let held = ring(check_valve(80.0), cases(None));
    assert_outcome("check valve that never opens", &held, Solved);
    assert_outcome(
        "and heat",
        &ring(check_valve(80.0), cases(Some(100.0))),
        NO_FLOW,
    );
    let parts = json!({ "tank": { "expansion_tank": {} }, "pump": pump(50.0, 30.0), "t": tee(16.0, 10.0), "u": tee(16.0, 10.0), "v": valve(0.0), "w": valve(0.0),
        "one": hose(10.0, 1.0), "two": hose(8.0, 1.0), "cooler": chiller(10.0) });
    let runs = json!([
        ["tank", "pump", "t.side"],
        ["t.a", "v", "one", "u.a"],
        ["t.b", "two", "w", "u.b"],
        ["u.side", "cooler", "tank"]
    ]);
    assert_outcome(
        "all valves shut",
        &design(parts, runs, isothermal()),
        Solved,
    );
    let parts = json!({ "tank": { "expansion_tank": {} }, "pump": pump(50.0, 30.0), "j": { "joint": {} }, "k": { "joint": {} }, "v": valve(0.0), "w": valve(0.0),
        "one": hose(10.0, 1.0), "two": hose(8.0, 1.0), "past": hose(8.0, 2.0) });
    let runs = json!([
        ["tank", "pump", "past", "tank"],
        ["tank", "v", "j"],
        ["j", "one", "k"],
        ["k", "two", "j"],
        ["k", "w", "tank"]
    ]);
    assert_outcome(
        "a piece shut off on both sides",
        &design(parts, runs, isothermal()),
        Solved,
    );
}

#[test]
fn stopped_pumps_are_solved_and_heat_then_has_no_way_out() {
    assert_outcome("stopped, no heat", &swap_pump(0.0, cases(None)), Solved);
    assert_outcome(
        "stopped, heat",
        &swap_pump(0.0, cases(Some(100.0))),
        NO_FLOW,
    );
    for speed in [0.0, 0.3, 0.9, 1.0] {
        for cracking in [None, Some(0.0), Some(1.0)] {
            let what = format!("two pumps, the second at {speed}, {cracking:?}");
            assert_outcome(
                &what,
                &two_pumps(speed, cracking, cases(Some(400.0))),
                Solved,
            );
        }
    }
}

fn swap_pump(speed: f64, cases: Value) -> Value {
    let mut document = ring(hose(10.0, 1.0), cases);
    document["loops"]["loop"]["parts"]["pump"] = pump_at(speed);
    document
}

#[test]
fn check_valves_are_solved_open_shut_reversed_and_at_the_edge() {
    for kpa in [0.0, 1.0, 30.0, 49.9, 50.0, 50.1] {
        assert_outcome(
            &format!("cracking at {kpa}"),
            &ring(check_valve(kpa), isothermal()),
            Solved,
        );
    }
    // Two open ends whose pressures differ by exactly the cracking pressure, and by a hair more or less.
    for kpa in [4.999_999, 5.0, 5.000_001, -3.0, 0.0] {
        let parts = json!({ "in": { "open_end": { "pressure": format!("{kpa} kPa") } }, "out": { "open_end": {} }, "check": check_valve(5.0), "hose": hose(10.0, 1.0) });
        assert_outcome(
            &format!("edge {kpa}"),
            &design(parts, json!([["in", "hose", "check", "out"]]), isothermal()),
            Solved,
        );
    }
    // A check valve against the flow, in one of two ways.
    let parts = json!({ "tank": { "expansion_tank": {} }, "pump": pump(50.0, 30.0), "t": tee(16.0, 10.0), "u": tee(16.0, 10.0), "check": check_valve(1.0),
        "one": hose(10.0, 1.0), "plate": plate(), "cooler": chiller(10.0) });
    let runs = json!([
        ["tank", "pump", "t.a"],
        ["u.side", "check", "one", "t.side"],
        ["t.b", "plate", "u.a"],
        ["u.b", "cooler", "tank"]
    ]);
    assert_outcome(
        "against the flow",
        &design(parts, runs, cases(Some(500.0))),
        Solved,
    );
}

#[test]
fn reversed_flow_through_a_bank_and_a_core_is_solved() {
    let mut document: Value =
        serde_json::from_str(include_str!("../../networks/bookmobile.json")).unwrap();
    // The run with the pump is written the other way round, so that all the rest of the loop flows backwards.
    document["loops"]["battery"]["runs"][0]
        .as_array_mut()
        .unwrap()
        .reverse();
    each_case(&document, |_, outcome| {
        let solution = outcome.unwrap();
        assert!(
            solution.banks("battery")[0]
                .circuit_flow_kg_s
                .iter()
                .all(|q| *q < 0.0)
        );
        assert!(
            solution
                .part("battery", "nose.battery")
                .unwrap()
                .mass_flow_kg_s
                < 0.0
        );
    });
    document.as_object_mut().unwrap().remove("limits");
    assert_outcome("reversed", &document, Solved);
}

#[test]
fn nothing_that_drives_gives_rest() {
    let parts = json!({ "tank": { "expansion_tank": {} }, "t": tee(16.0, 10.0), "u": tee(16.0, 10.0), "one": hose(10.0, 1.0), "two": hose(8.0, 1.0), "three": plate(), "bank": bank(3, "same_end") });
    let runs = json!([
        ["tank", "three", "t.a"],
        ["t.b", "one", "u.a"],
        ["t.side", "two", "u.side"],
        ["u.b", "bank", "tank"]
    ]);
    assert_outcome("no driver", &design(parts, runs, isothermal()), Solved);
}

#[test]
fn draws_feed_and_empty() {
    for litres in [0.001, 1.0, 40.0] {
        let flow = format!("{litres} L/min");
        let parts = json!({ "tank": { "expansion_tank": {} }, "in": { "draw": { "inflow": flow, "temperature": "40 degC" } }, "out": { "draw": { "outflow": flow } },
            "one": hose(10.0, 1.0), "two": hose(13.0, 1.0), "three": hose(16.0, 1.0) });
        let runs = json!([
            ["tank", "one", "in"],
            ["in", "two", "out"],
            ["out", "three", "tank"]
        ]);
        assert_outcome(
            &format!("draws of {litres}"),
            &design(parts, runs, cases(None)),
            Solved,
        );
    }
}

#[test]
fn bores_of_1_mm_beside_200_mm_are_solved_from_cold_to_hot() {
    let parts = json!({ "tank": { "expansion_tank": {} }, "pump": pump(50.0, 30.0), "t": tee(200.0, 1.0), "u": tee(200.0, 1.0), "fine": hose(1.0, 3.0), "wide": hose(200.0, 1.0),
        "cooler": chiller(10.0) });
    let runs = json!([
        ["tank", "pump", "t.a"],
        ["t.side", "fine", "u.side"],
        ["t.b", "wide", "u.b"],
        ["u.a", "cooler", "tank"]
    ]);
    assert_outcome(
        "1 mm beside 200 mm",
        &design(parts, runs, isothermal()),
        Solved,
    );
}

#[test]
fn one_and_three_hundred_per_cent_of_the_flow_are_solved() {
    for speed in [0.01, 0.1, 1.0, 3.0] {
        let mut document: Value =
            serde_json::from_str(include_str!("../../networks/bookmobile.json")).unwrap();
        document.as_object_mut().unwrap().remove("limits");
        document["cases"] = json!({ "cold": { "air": "20 degC", "coolant_temperature": "-30 degC" }, "hot": { "air": "20 degC", "coolant_temperature": "90 degC" } });
        for name in ["battery", "drive"] {
            document["loops"][name]["parts"]["pump"]["pump"]["speed"] = json!(speed);
        }
        assert_outcome(&format!("speed {speed}"), &document, Solved);
    }
}

/// Legs of the first tee (fed, out, out) and of the second (in, in, drawn off).
const FEEDS: [([&str; 3], [&str; 3]); 5] = [
    (["side", "a", "b"], ["a", "b", "side"]),
    (["a", "b", "side"], ["side", "a", "b"]),
    (["b", "side", "a"], ["b", "side", "a"]),
    (["a", "side", "b"], ["a", "b", "side"]),
    (["side", "b", "a"], ["side", "b", "a"]),
];

#[test]
fn tees_fed_at_any_leg_are_solved_with_every_model() {
    for losses in [
        json!("momentum"),
        json!("handbook"),
        json!("none"),
        json!({ "coefficients": { "dividing": 0.6, "combining": 2.0 } }),
    ] {
        for (t, u) in FEEDS {
            let parts = json!({ "tank": { "expansion_tank": {} }, "pump": pump(50.0, 30.0), "t": tee(16.0, 13.0), "u": tee(16.0, 10.0), "one": hose(10.0, 1.0), "two": hose(10.0, 1.4), "cooler": chiller(10.0) });
            let runs = json!([
                ["tank", "pump", format!("t.{}", t[0])],
                [format!("t.{}", t[1]), "one", format!("u.{}", u[0])],
                [format!("t.{}", t[2]), "two", format!("u.{}", u[1])],
                [format!("u.{}", u[2]), "cooler", "tank"]
            ]);
            let mut document = design(parts, runs, isothermal());
            document["methods"] = json!({ "tee_losses": losses });
            assert_outcome(&format!("{losses} {t:?} {u:?}"), &document, Solved);
        }
    }
}

#[test]
fn tees_joined_without_a_part_between_are_solved() {
    for aside in [5.0, 10.0, 16.0] {
        let parts = json!({ "tank": { "expansion_tank": {} }, "pump": pump(50.0, 30.0), "t": tee(16.0, 10.0), "u": tee(16.0, 10.0), "v": tee(16.0, 10.0),
            "one": hose(aside, 1.0), "two": hose(10.0, 1.0), "three": hose(13.0, 1.0), "cooler": chiller(10.0) });
        let runs = json!([
            ["tank", "pump", "t.a"],
            ["t.b", "u.a"],
            ["u.b", "three", "v.a"],
            ["t.side", "one", "v.side"],
            ["u.side", "two", "tank"],
            ["v.b", "cooler", "tank"]
        ]);
        assert_outcome("back to back", &design(parts, runs, isothermal()), Solved);
        // A ring of four tees with a hose in each side of the ring.
        let names = ["a", "b", "c", "d"];
        let mut parts = json!({ "tank": { "expansion_tank": {} }, "pump": pump(50.0, 30.0), "cooler": chiller(10.0), "x": hose(aside, 1.0) });
        let mut runs = vec![
            json!(["tank", "pump", "a.side"]),
            json!(["c.side", "cooler", "tank"]),
            json!(["b.side", "x", "d.side"]),
        ];
        for k in 0..4 {
            parts[names[k]] = tee(16.0, 13.0);
            parts[format!("h{k}")] = hose(10.0, 0.5 + 0.1 * k as f64);
            runs.push(json!([
                format!("{}.b", names[k]),
                format!("h{k}"),
                format!("{}.a", names[(k + 1) % 4])
            ]));
        }
        assert_outcome(
            "ring of tees",
            &design(parts, json!(runs), isothermal()),
            Solved,
        );
    }
}

#[test]
fn lossless_joints_are_solved() {
    let parts = json!({ "tank": { "expansion_tank": {} }, "pump": pump(50.0, 30.0), "j": { "joint": {} }, "k": { "joint": {} }, "l": { "joint": {} }, "one": hose(10.0, 1.0), "two": hose(8.0, 1.0), "cooler": chiller(10.0) });
    let runs = json!([
        ["tank", "pump", "j"],
        ["j", "k"],
        ["j", "one", "l"],
        ["k", "two", "l"],
        ["l", "cooler", "tank"]
    ]);
    assert_outcome("joints", &design(parts, runs, isothermal()), Solved);
}

#[test]
fn heat_that_cannot_leave_is_refused() {
    let parts =
        json!({ "tank": { "expansion_tank": {} }, "pump": pump(50.0, 30.0), "plate": plate() });
    let runs = json!([["tank", "pump", "plate", "tank"]]);
    assert_outcome("no sink", &design(parts, runs, cases(Some(100.0))), NO_SINK);
    let mut hot = ring(hose(10.0, 1.0), cases(Some(100_000.0)));
    assert_outcome("far too much heat", &hot, BEYOND);
    hot["loops"]["loop"]["parts"]["cooler"]["exchanger"]["stream"]["temperature"] =
        json!("-60 degC");
    hot["cases"] = cases(None);
    assert_outcome("a stream colder than the coolant bears", &hot, BEYOND);
    // A cooler in a way that is shut takes nothing.
    let parts = json!({ "tank": { "expansion_tank": {} }, "pump": pump(50.0, 30.0), "plate": plate(), "j": { "joint": {} }, "k": { "joint": {} }, "past": hose(13.0, 1.0), "shut": valve(0.0), "cooler": chiller(10.0) });
    let runs = json!([
        ["tank", "pump", "plate", "j"],
        ["j", "past", "k"],
        ["j", "shut", "cooler", "k"],
        ["k", "tank"]
    ]);
    let shut_off = |cases: Value| design(parts.clone(), runs.clone(), cases);
    assert_outcome("cooler shut off", &shut_off(cases(Some(100.0))), NO_SINK);
    assert_outcome(
        "cooler shut off, only the pump warms",
        &shut_off(cases(None)),
        Solved,
    );
}

#[test]
fn fans_stopped_turning_and_blown_backwards_are_solved() {
    for (speed, travel, ram) in [
        (0.0, 95.0, 0.4),
        (0.0, 0.0, 0.4),
        (1.0, 95.0, 0.4),
        (0.2, 0.0, 0.0),
        (5.0, 0.0, 0.4),
    ] {
        let mut document: Value =
            serde_json::from_str(include_str!("../../networks/bookmobile.json")).unwrap();
        document.as_object_mut().unwrap().remove("limits");
        document["radiators"]["nose"]["ram"]["pressure_coefficient"] = json!(ram);
        // Without heat, since a radiator without air takes none.
        document["cases"] = json!({ "c": { "air": "30 degC", "travel_speed": format!("{travel} km/h"), "fan_speed": { "nose": speed }, "coolant_temperature": "50 degC" } });
        assert_outcome(&format!("fan {speed}, {travel} km/h"), &document, Solved);
    }
    // Heat and a radiator without any air.
    let mut still: Value =
        serde_json::from_str(include_str!("../../networks/bookmobile.json")).unwrap();
    still.as_object_mut().unwrap().remove("limits");
    still["cases"] = json!({ "c": { "air": "30 degC", "fan_speed": { "nose": 0.0 }, "heat": { "drive.motor": "1 kW" } } });
    assert_outcome("no air at all", &still, NO_SINK);
    // The fan on one strip pulls air backwards through the uncovered face when nothing pushes.
    let mut document: Value =
        serde_json::from_str(include_str!("../../networks/bookmobile.json")).unwrap();
    document.as_object_mut().unwrap().remove("limits");
    document["cases"] = json!({ "c": { "air": "30 degC", "bay_temperature": "60 degC", "fan_speed": { "nose": 2.0 }, "module_current": "60 A", "heat": { "drive.motor": "1 kW" } } });
    assert_outcome("fan against open face", &document, Solved);
}
