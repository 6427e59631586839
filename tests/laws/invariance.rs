//! What must not change the answer: names, order, units, the written direction; and equalities that symmetry demands.

use crate::documents::{bank, chiller, design, hose, plate, pump, read, tee};
use loopwright::network::Network;
use loopwright::solve::{Solution, Solver};
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;

/// Agreement of designs that say the same (physics page, "Accuracy the solver owes").
const SAME: f64 = 1.0e-9;

const BOOKMOBILE: &str = include_str!("../../networks/bookmobile.json");

fn bookmobile() -> Value {
    let mut document: Value = serde_json::from_str(BOOKMOBILE).unwrap();
    document.as_object_mut().unwrap().remove("limits");
    document
}

/// Flow and outlet temperature of every part, by its full name.
fn answers(solution: &Solution<'_>) -> BTreeMap<String, [f64; 3]> {
    let mut all = BTreeMap::new();
    for name in solution.loop_names() {
        for part in solution.parts(name) {
            let state = [
                part.mass_flow_kg_s,
                part.outlet_temperature_k,
                part.pressure_drop_pa,
            ];
            all.insert(format!("{name}.{}", part.id), state);
        }
    }
    all
}

/// Asserts that two sets of answers agree, `rename` giving the name in the second of a part of the first.
fn assert_same(what: &str, first: &Value, second: &Value, rename: impl Fn(&str) -> String) {
    let (a, b) = (read(first, answers), read(second, answers));
    assert_eq!(a.len(), b.len(), "{what}");
    let largest = |k: usize| a.values().fold(0.0, |m: f64, v| m.max(v[k].abs()));
    for (name, one) in &a {
        let other = &b[&rename(name)];
        for k in 0..3 {
            let apart = (one[k] - other[k]).abs() / largest(k);
            assert!(apart <= SAME, "{what}: {name}, {k}: {one:?} {other:?}");
        }
    }
}

#[test]
fn equal_circuits_between_two_joints_carry_equal_flow() {
    let parts = json!({ "tank": { "expansion_tank": {} }, "pump": pump(50.0, 30.0), "j": { "joint": {} },
        "k": { "joint": {} }, "one": hose(8.0, 2.0), "two": hose(8.0, 2.0), "three": hose(8.0, 2.0), "back": hose(19.0, 1.0) });
    let runs = json!([
        ["tank", "pump", "j"],
        ["j", "one", "k"],
        ["j", "two", "k"],
        ["k", "three", "j"],
        ["k", "back", "tank"]
    ]);
    let document = design(parts, runs, json!({ "c": { "air": "20 degC" } }));
    let flow = read(&document, |s| {
        ["one", "two", "three"].map(|p| s.part("loop", p).unwrap().mass_flow_kg_s)
    });
    assert!(flow[0] > 0.01);
    assert!(
        (flow[1] / flow[0] - 1.0).abs() <= SAME && (flow[2] / flow[0] + 1.0).abs() <= SAME,
        "{flow:?}"
    );
}

#[test]
fn an_opposite_end_bank_without_tee_losses_is_its_own_mirror_image() {
    let parts = json!({ "tank": { "expansion_tank": {} }, "pump": pump(50.0, 60.0), "bank": bank(9, "opposite_end"), "back": hose(19.0, 1.0) });
    let mut document = design(
        parts,
        json!([["tank", "pump", "bank", "back", "tank"]]),
        json!({ "c": { "air": "20 degC" } }),
    );
    document["methods"] = json!({ "tee_losses": "none" });
    document["loops"]["loop"]["parts"]["bank"]["bank"]["header"] =
        json!({ "square": { "outside": "14 mm", "wall": "2 mm" } });
    document["loops"]["loop"]["parts"]["bank"]["bank"]["port_pitch"] = json!("300 mm");
    let flow = read(&document, |s| s.banks("loop")[0].circuit_flow_kg_s.clone());
    assert!(
        flow[0] / flow[4] > 1.001,
        "the headers do something: {flow:?}"
    );
    for (q, mirrored) in flow.iter().zip(flow.iter().rev()) {
        assert!((q / mirrored - 1.0).abs() <= SAME, "{flow:?}");
    }
}

#[test]
fn a_branch_shut_by_a_valve_leaves_the_design_as_it_is_without_its_tees() {
    let with = design(
        json!({ "tank": { "expansion_tank": {} }, "pump": pump(50.0, 30.0), "t": tee(16.0, 10.0), "u": tee(16.0, 10.0),
            "feed": hose(16.0, 2.0), "main": hose(16.0, 3.0), "shut": { "valve": { "kv": "3 m3/h", "opening": 0 } }, "aside": hose(10.0, 1.0), "back": hose(16.0, 2.0) }),
        json!([
            ["tank", "pump", "feed", "t.a"],
            ["t.b", "main", "u.b"],
            ["t.side", "aside", "shut", "u.side"],
            ["u.a", "back", "tank"]
        ]),
        json!({ "c": { "air": "20 degC" } }),
    );
    let without = design(
        json!({ "tank": { "expansion_tank": {} }, "pump": pump(50.0, 30.0), "feed": hose(16.0, 2.0), "main": hose(16.0, 3.0), "back": hose(16.0, 2.0) }),
        json!([["tank", "pump", "feed", "main", "back", "tank"]]),
        json!({ "c": { "air": "20 degC" } }),
    );
    let flow = |mut document: Value| {
        document["methods"] = json!({ "entrance_friction": "off" });
        read(&document, |s| {
            s.part("loop", "main").unwrap().mass_flow_kg_s
        })
    };
    let (a, b) = (flow(with), flow(without));
    assert!(a > 0.05 && (a / b - 1.0).abs() <= SAME, "{a} {b}");
}

fn renamed(document: &Value) -> Value {
    let mut new = document.clone();
    for circuit in new["loops"].as_object_mut().unwrap().values_mut() {
        let parts = circuit["parts"].as_object().unwrap().clone();
        let fresh: Map<String, Value> = parts
            .iter()
            .map(|(n, p)| (format!("new {n}"), p.clone()))
            .collect();
        circuit["parts"] = Value::Object(fresh);
        for link in circuit["runs"]
            .as_array_mut()
            .unwrap()
            .iter_mut()
            .flat_map(|r| r.as_array_mut().unwrap())
        {
            let text = link.as_str().unwrap();
            if parts.contains_key(text.split('.').next().unwrap()) {
                *link = json!(format!("new {text}"));
            }
        }
    }
    for case in new["cases"].as_object_mut().unwrap().values_mut() {
        let heat: Map<String, Value> = case["heat"]
            .as_object()
            .unwrap()
            .iter()
            .map(|(n, q)| (n.replace('.', ".new "), q.clone()))
            .collect();
        case["heat"] = Value::Object(heat);
    }
    new
}

#[test]
fn renaming_every_part_changes_nothing() {
    let document = bookmobile();
    assert_same("renamed", &document, &renamed(&document), |name| {
        let (owner, part) = name.split_once('.').unwrap();
        if part.starts_with("nose.") {
            name.to_owned()
        } else {
            format!("{owner}.new {part}")
        }
    });
}

fn backwards(object: &mut Value) {
    let turned: Map<String, Value> = object
        .as_object()
        .unwrap()
        .iter()
        .rev()
        .map(|(k, v)| (k.clone(), v.clone()))
        .collect();
    *object = Value::Object(turned);
}

#[test]
fn reordering_parts_runs_and_loops_changes_nothing() {
    let document = bookmobile();
    let mut other = document.clone();
    for circuit in other["loops"].as_object_mut().unwrap().values_mut() {
        backwards(&mut circuit["parts"]);
        circuit["runs"].as_array_mut().unwrap().reverse();
    }
    backwards(&mut other["loops"]);
    assert_same("reordered", &document, &other, str::to_owned);
}

/// Unit written, unit to write instead, and how many of the second make one of the first, with the zero of the first.
const US_UNITS: [(&str, &str, f64, f64); 6] = [
    ("mm", "in", 1.0 / 25.4, 0.0),
    ("m", "ft", 1.0 / 0.3048, 0.0),
    // A pound-force is 4.448 221 615 260 5 N, a US gallon 231 cubic inches, both by definition.
    (
        "kPa",
        "psi",
        1000.0 * 0.0254 * 0.0254 / 4.448_221_615_260_5,
        0.0,
    ),
    (
        "L/min",
        "gpm",
        1e-3 / (231.0 * 0.0254 * 0.0254 * 0.0254),
        0.0,
    ),
    ("degC", "degF", 1.8, 32.0),
    ("kg", "lb", 1.0 / 0.453_592_37, 0.0),
];

fn in_us_units(value: &mut Value) -> usize {
    match value {
        Value::Object(map) => map.values_mut().map(in_us_units).sum(),
        Value::Array(items) => items.iter_mut().map(in_us_units).sum(),
        Value::String(text) => {
            let found = text.split_once(' ').and_then(|(number, unit)| {
                let (_, us, factor, zero) = US_UNITS.iter().find(|u| u.0 == unit)?;
                Some(format!(
                    "{} {us}",
                    number.parse::<f64>().ok()? * factor + zero
                ))
            });
            found.map_or(0, |new| {
                *text = new;
                1
            })
        }
        _ => 0,
    }
}

#[test]
fn writing_the_same_numbers_in_us_units_changes_nothing() {
    let document = bookmobile();
    let mut other = document.clone();
    assert!(in_us_units(&mut other) > 100);
    assert_same("US units", &document, &other, str::to_owned);
}

#[test]
fn writing_a_run_the_other_way_turns_its_signs_and_changes_nothing_else() {
    let parts = json!({ "tank": { "expansion_tank": {} }, "pump": pump(50.0, 30.0), "t": tee(16.0, 10.0), "u": tee(16.0, 10.0),
        "main": hose(16.0, 3.0), "one": hose(10.0, 1.0), "plate": plate(), "two": hose(8.0, 1.5), "cooler": chiller(20.0) });
    let runs = |aside: Value| {
        json!([
            ["tank", "pump", "t.a"],
            ["t.b", "main", "u.b"],
            aside,
            ["u.a", "cooler", "tank"]
        ])
    };
    let cases = json!({ "c": { "air": "20 degC", "heat": { "loop.plate": "300 W" } } });
    let one = design(
        parts.clone(),
        runs(json!(["t.side", "one", "plate", "two", "u.side"])),
        cases.clone(),
    );
    let two = design(
        parts,
        runs(json!(["u.side", "two", "plate", "one", "t.side"])),
        cases,
    );
    let see = |s: &Solution<'_>| {
        s.parts("loop")
            .iter()
            .map(|p| (p.id.clone(), p.clone()))
            .collect::<BTreeMap<_, _>>()
    };
    let (a, b) = (read(&one, see), read(&two, see));
    for (name, p) in &a {
        let q = &b[name];
        let turned = if ["one", "plate", "two"].contains(&name.as_str()) {
            -1.0
        } else {
            1.0
        };
        assert!(
            (p.mass_flow_kg_s - turned * q.mass_flow_kg_s).abs() <= SAME * p.mass_flow_kg_s.abs(),
            "{name}"
        );
        assert!(
            (p.pressure_drop_pa - turned * q.pressure_drop_pa).abs() <= 1e-4,
            "{name}"
        );
        let outlet = if turned < 0.0 {
            q.inlet_temperature_k
        } else {
            q.outlet_temperature_k
        };
        assert!(
            (p.outlet_temperature_k - outlet).abs() <= 1e-6,
            "{name}: {p:?} {q:?}"
        );
    }
}

/// Exact where every law is linear: laminar hoses without entrance friction, tees left out.
#[test]
fn twice_the_pressure_gives_twice_the_flow_where_all_is_laminar() {
    let flow = |pa: f64| {
        let parts = json!({ "in": { "open_end": { "pressure": format!("{pa} Pa") } }, "out": { "open_end": {} }, "j": { "joint": {} },
            "a": hose(6.0, 2.0), "b": hose(4.0, 1.0), "c": hose(5.0, 3.0) });
        let runs = json!([["in", "a", "j"], ["j", "b", "out"], ["j", "c", "out"]]);
        let mut document = design(
            parts,
            runs,
            json!({ "c": { "air": "-20 degC", "coolant_temperature": "-20 degC" } }),
        );
        document["methods"] = json!({ "entrance_friction": "off" });
        read(&document, |s| s.part("loop", "a").unwrap().mass_flow_kg_s)
    };
    let (one, two) = (flow(200.0), flow(400.0));
    assert!(
        one > 0.0 && (two / one - 2.0).abs() <= 2.0 * SAME,
        "{one} {two}"
    );
}

#[test]
fn solving_again_gives_the_same_bits_whatever_was_solved_between() {
    let source = loopwright::design::Source::read(BOOKMOBILE).unwrap();
    let network = Network::build(&source.design).unwrap();
    let bits = |s: Solution<'_>| {
        answers(&s)
            .into_values()
            .flatten()
            .map(f64::to_bits)
            .collect::<Vec<_>>()
    };
    let mut used = Solver::new(&network);
    let first = bits(used.solve(&network.cases()[0]).unwrap());
    used.solve(&network.cases()[1]).unwrap();
    assert_eq!(first, bits(used.solve(&network.cases()[0]).unwrap()));
    assert_eq!(
        first,
        bits(Solver::new(&network).solve(&network.cases()[0]).unwrap())
    );
}
