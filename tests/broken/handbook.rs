//! The handbook's page on the design file: its JSON blocks are read, and it names every key of the schema.

use crate::files::build;
use loopwright::design::schema;
use serde_json::Value;

const PAGE: &str = include_str!("../../src/handbook/file.md");

/// The blocks of a language, in order.
fn blocks(language: &str) -> Vec<String> {
    let open = format!("```{language}\n");
    PAGE.split(&open)
        .skip(1)
        .map(|rest| rest.split("```").next().unwrap_or("").to_owned())
        .collect()
}

#[test]
fn the_whole_designs_of_the_page_build() {
    let whole: Vec<String> = blocks("json")
        .into_iter()
        .filter(|block| block.contains("\"format\": 1"))
        .collect();
    assert!(!whole.is_empty(), "{} whole designs", whole.len());
    for text in whole {
        build(text.as_bytes()).unwrap_or_else(|faults| panic!("{text}\n{faults:#?}"));
    }
}

#[test]
fn the_pieces_of_the_page_are_json_and_fit_into_a_design() {
    let pieces: Vec<String> = blocks("json")
        .into_iter()
        .filter(|block| !block.contains("\"format\": 1"))
        .collect();
    assert!(pieces.len() >= 8, "{} pieces", pieces.len());
    for text in pieces {
        // A piece is one or more keys of one object, written without its braces.
        let value: Value = serde_json::from_str(&format!("{{ {text} }}"))
            .unwrap_or_else(|error| panic!("{text}\n{error}"));
        let faults = fits(&value);
        assert!(faults.is_empty(), "{text}\n{faults:#?}");
    }
}

/// Sections at the root, parts, or keys of a radiator, told apart by their first key.
fn fits(piece: &Value) -> Vec<loopwright::design::Fault> {
    let mut design: Value = serde_json::from_str(FRAME).expect("the frame is JSON");
    let map = piece.as_object().expect("an object");
    for (key, value) in map {
        match key.as_str() {
            "coolants" | "modules" | "radiators" | "cases" | "limits" | "methods" | "units" => {
                design[key] = value.clone();
            }
            name => design["loops"]["loop"]["parts"][name] = value.clone(),
        }
    }
    match loopwright::design::Source::read(&design.to_string()) {
        Ok(_) => Vec::new(),
        Err(faults) => faults,
    }
}

const FRAME: &str = r#"{
  "format": 1, "title": "frame",
  "coolants": { "water": { "water": {} } },
  "loops": { "loop": { "coolant": "water", "parts": { "a": { "joint": {} } }, "runs": [["a", "b"]] } },
  "cases": { "case": { "air": "20 degC" } }
}"#;

#[test]
fn the_page_names_every_key_of_the_schema() {
    let mut missing = Vec::new();
    names(schema(), &mut missing);
    missing.retain(|key| !PAGE.contains(&format!("`{key}`")));
    missing.sort();
    missing.dedup();
    assert!(missing.is_empty(), "the page does not name {missing:?}");
}

fn names(value: &Value, found: &mut Vec<String>) {
    match value {
        Value::Object(map) => {
            if let Some(properties) = map.get("properties").and_then(Value::as_object) {
                found.extend(properties.keys().cloned());
            }
            for word in ["const", "enum"] {
                match map.get(word) {
                    Some(Value::String(one)) => found.push(one.clone()),
                    Some(Value::Array(several)) => {
                        found.extend(several.iter().filter_map(Value::as_str).map(str::to_owned));
                    }
                    _ => {}
                }
            }
            map.values().for_each(|inner| names(inner, found));
        }
        Value::Array(items) => items.iter().for_each(|inner| names(inner, found)),
        _ => {}
    }
}
