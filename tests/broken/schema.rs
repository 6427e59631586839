//! The schema and the record types know the same keys: each property decodes, and no other.

use loopwright::design::{Design, Source, schema};
use serde_json::{Map, Value, json};

const UNKNOWN: &str = "a key that nobody has";

/// Every definition of the schema with its name, the root among them.
fn definitions() -> Vec<(String, &'static Value)> {
    let mut all = vec![("Design".to_owned(), schema())];
    let defs = schema()["$defs"]
        .as_object()
        .expect("there are definitions");
    all.extend(defs.iter().map(|(name, d)| (name.clone(), d)));
    all
}

fn resolve(schema_part: &'static Value) -> &'static Value {
    match schema_part.get("$ref").and_then(Value::as_str) {
        Some(reference) => {
            let pointer = reference.trim_start_matches('#');
            resolve(
                schema()
                    .pointer(pointer)
                    .expect("the reference leads somewhere"),
            )
        }
        None => schema_part,
    }
}

/// A value that the schema allows, with every optional key where `full` and its own keys only where not.
fn sample(part: &'static Value, full: bool, depth: usize) -> Value {
    if let Some(example) = part.get("examples").and_then(|e| e.get(0)) {
        return example.clone();
    }
    let part = resolve(part);
    if let Some(constant) = part.get("const") {
        return constant.clone();
    }
    if let Some(first) = part.get("enum").and_then(|e| e.get(0)) {
        return first.clone();
    }
    for word in ["oneOf", "anyOf"] {
        if let Some(first) = part.get(word).and_then(|w| w.get(0)) {
            return sample(first, full, depth);
        }
    }
    match part.get("type").and_then(Value::as_str) {
        Some("object") => object(part, full, depth),
        Some("array") => list(part, full, depth),
        Some("string") => json!("name"),
        Some("integer") => part.get("minimum").cloned().unwrap_or_else(|| json!(1)),
        Some("number") => part.get("maximum").map_or(json!(0.5), |m| {
            json!(0.5 * (part["minimum"].as_f64().unwrap_or(0.0) + m.as_f64().unwrap_or(1.0)))
        }),
        Some("boolean") => json!(true),
        other => panic!("no sample for {other:?}: {part}"),
    }
}

fn object(part: &'static Value, full: bool, depth: usize) -> Value {
    let mut map = Map::new();
    let required: Vec<&str> = part
        .get("required")
        .and_then(Value::as_array)
        .into_iter()
        .flatten()
        .filter_map(Value::as_str)
        .collect();
    for (key, inner) in part
        .get("properties")
        .and_then(Value::as_object)
        .into_iter()
        .flatten()
    {
        // Words for the reader, which no record keeps.
        if matches!(key.as_str(), "note" | "$schema") {
            continue;
        }
        if required.contains(&key.as_str()) || (full && depth < 16) {
            map.insert(key.clone(), sample(inner, full, depth + 1));
        }
    }
    if let Some(inner @ Value::Object(_)) = part.get("additionalProperties") {
        map.insert("name".into(), sample(inner, full, depth + 1));
    }
    Value::Object(map)
}

fn list(part: &'static Value, full: bool, depth: usize) -> Value {
    if let Some(first) = part.get("prefixItems").and_then(Value::as_array) {
        return first
            .iter()
            .map(|inner| sample(inner, full, depth + 1))
            .collect();
    }
    let least = part
        .get("minItems")
        .and_then(Value::as_u64)
        .unwrap_or(1)
        .max(1);
    (0..least)
        .map(|_| sample(&part["items"], full, depth + 1))
        .collect()
}

/// The sound design of this test, in which one object is replaced at a time.
fn whole(full: bool) -> Value {
    sample(schema(), full, 0)
}

/// Every object of a value, by JSON pointer.
fn objects(value: &Value, at: &str, found: &mut Vec<String>) {
    match value {
        Value::Object(map) => {
            found.push(at.to_owned());
            for (key, inner) in map {
                objects(inner, &format!("{at}/{key}"), found);
            }
        }
        Value::Array(items) => {
            for (index, inner) in items.iter().enumerate() {
                objects(inner, &format!("{at}/{index}"), found);
            }
        }
        _ => {}
    }
}

/// For each choice among kinds (parts, coolants, sections, fittings), a design with each kind in turn.
fn variants() -> Vec<Value> {
    let mut designs = vec![whole(true), whole(false)];
    let choices = |name: &str| -> Vec<Value> {
        let definition = &schema()["$defs"][name];
        let ways = definition
            .get("oneOf")
            .or_else(|| definition.get("anyOf"))
            .and_then(Value::as_array)
            .expect("a choice");
        ways.iter().map(|way| sample(way, true, 1)).collect()
    };
    for (name, at) in [
        ("Part", "/loops/name/parts/name"),
        ("CoolantRecord", "/coolants/name"),
        ("Section", "/radiators/name/tubes/inside"),
        ("TeeLosses", "/methods/tee_losses"),
        ("Resistance", "/modules/name/resistance"),
    ] {
        for choice in choices(name) {
            let mut design = whole(true);
            *design.pointer_mut(at).expect(at) = choice;
            designs.push(design);
        }
    }
    for fitting in choices("Fitting") {
        let mut design = whole(true);
        design["loops"]["name"]["parts"]["name"] =
            json!({ "hose": { "bore": "19 mm", "length": "2 m", "fittings": [fitting] } });
        designs.push(design);
    }
    designs
}

#[test]
fn every_key_of_the_schema_decodes_and_survives() {
    for design in variants() {
        let text = design.to_string();
        Source::read(&text).unwrap_or_else(|faults| panic!("{text}\n{faults:#?}"));
        let decoded: Design = serde_json::from_value(design.clone()).expect("serde takes it too");
        let mut kept = Vec::new();
        let mut given = Vec::new();
        keys(&decoded.to_value(), "", &mut kept);
        keys(&design, "", &mut given);
        for key in given {
            assert!(kept.contains(&key), "{key} is lost in decoding");
        }
    }
}

fn keys(value: &Value, at: &str, found: &mut Vec<String>) {
    match value {
        Value::Object(map) => {
            for (key, inner) in map {
                found.push(format!("{at}/{key}"));
                keys(inner, &format!("{at}/{key}"), found);
            }
        }
        Value::Array(items) => {
            for (index, inner) in items.iter().enumerate() {
                keys(inner, &format!("{at}/{index}"), found);
            }
        }
        _ => {}
    }
}

/// Maps whose keys are the builder's own names.
fn is_named(at: &str) -> bool {
    let last = at.rsplit('/').next().unwrap_or("");
    let maps = [
        "coolants",
        "modules",
        "loops",
        "radiators",
        "cases",
        "parts",
        "cores",
        "heat",
        "load",
        "pump_speed",
        "fan_speed",
        "valve_opening",
        "face_share_covered",
        "part_pressure",
        "part_pressure_drop",
        "part_flow",
        "coolant_inlet",
        "coolant_outlet",
        "device_temperature",
    ];
    maps.contains(&last)
}

#[test]
fn an_unknown_key_is_refused_by_schema_and_records_alike_in_every_object() {
    let mut tried = 0;
    for design in variants() {
        let mut places = Vec::new();
        objects(&design, "", &mut places);
        for at in places.iter().filter(|at| !is_named(at)) {
            let mut broken = design.clone();
            let object = broken
                .pointer_mut(at)
                .and_then(Value::as_object_mut)
                .expect("an object");
            object.insert(UNKNOWN.into(), json!(1));
            let by_check = Source::read(&broken.to_string()).is_err();
            let by_serde = serde_json::from_value::<Design>(broken).is_err();
            assert!(
                by_check && by_serde,
                "{at}: check {by_check}, serde {by_serde}"
            );
            tried += 1;
        }
    }
    assert!(tried > 500, "{tried} objects");
}

#[test]
fn a_required_key_left_out_is_refused_by_schema_and_records_alike() {
    let mut tried = 0;
    for (name, definition) in definitions() {
        for key in definition
            .get("required")
            .and_then(Value::as_array)
            .into_iter()
            .flatten()
        {
            let key = key.as_str().expect("a key");
            for design in variants() {
                let mut places = Vec::new();
                keys(&design, "", &mut places);
                for at in places
                    .iter()
                    .filter(|at| at.rsplit('/').next() == Some(key))
                {
                    let parent = &at[..at.len() - key.len() - 1];
                    if is_named(parent) {
                        continue;
                    }
                    let mut broken = design.clone();
                    let object = broken
                        .pointer_mut(parent)
                        .and_then(Value::as_object_mut)
                        .expect("an object");
                    object.shift_remove(key);
                    let by_check = Source::read(&broken.to_string()).is_err();
                    let by_serde = serde_json::from_value::<Design>(broken).is_err();
                    assert!(
                        !by_serde || by_check,
                        "{name}, {at}: records refuse what the check lets pass"
                    );
                    tried += usize::from(by_serde);
                }
            }
        }
    }
    assert!(tried > 100, "{tried} keys");
}
