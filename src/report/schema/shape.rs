//! The few shapes of which answers are made, as schemas.

use serde_json::{Map, Value, json};

/// Schemas with the names by which others refer to them.
pub(super) type Definitions = Vec<(&'static str, Value)>;

pub(super) fn text() -> Value {
    json!({ "type": "string" })
}

pub(super) fn number() -> Value {
    json!({ "type": "number" })
}

pub(super) fn count() -> Value {
    json!({ "type": "integer", "minimum": 0 })
}

pub(super) fn truth() -> Value {
    json!({ "type": "boolean" })
}

/// One of a few words.
pub(super) fn one_of(words: &[&str]) -> Value {
    json!({ "enum": words })
}

/// That, or null.
pub(super) fn maybe(schema: Value) -> Value {
    json!({ "anyOf": [schema, { "type": "null" }] })
}

/// Any of several shapes.
pub(super) fn any(ways: Vec<Value>) -> Value {
    json!({ "anyOf": ways })
}

pub(super) fn list(item: Value) -> Value {
    json!({ "type": "array", "items": item })
}

/// A list of that many.
pub(super) fn tuple(item: Value, length: usize) -> Value {
    json!({ "type": "array", "items": item, "minItems": length, "maxItems": length })
}

/// An object whose keys are names of the design.
pub(super) fn named(item: Value) -> Value {
    json!({ "type": "object", "additionalProperties": item })
}

pub(super) fn refer(name: &str) -> Value {
    json!({ "$ref": format!("#/$defs/{name}") })
}

/// An object of exactly these keys; a key that ends in `?` may be missing.
pub(super) fn record(keys: &[(&str, Value)]) -> Value {
    let mut properties = Map::new();
    let mut required = Vec::new();
    for (key, schema) in keys {
        match key.strip_suffix('?') {
            Some(key) => {
                properties.insert(key.to_owned(), schema.clone());
            }
            None => {
                properties.insert((*key).to_owned(), schema.clone());
                required.push(*key);
            }
        }
    }
    json!({ "type": "object", "properties": properties, "required": required, "additionalProperties": false })
}

/// Two records as one.
pub(super) fn joined(first: &[(&'static str, Value)], second: &[(&'static str, Value)]) -> Value {
    let keys: Vec<(&str, Value)> = first.iter().chain(second).cloned().collect();
    record(&keys)
}

/// The same keys, all of them numbers.
pub(super) fn numbers(keys: &[&'static str]) -> Vec<(&'static str, Value)> {
    keys.iter().map(|key| (*key, number())).collect()
}

/// The same keys, all of them numbers or null.
pub(super) fn maybe_numbers(keys: &[&'static str]) -> Vec<(&'static str, Value)> {
    keys.iter().map(|key| (*key, maybe(number()))).collect()
}

/// The version of an answer's form.
pub(super) fn format() -> Value {
    json!({ "const": 1 })
}
