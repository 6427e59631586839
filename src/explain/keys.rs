//! The keys of a record of the file, taken from the schema, so that they cannot differ from what is read.

use crate::design::schema;
use serde_json::Value;

/// One key of a record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Key {
    /// The key.
    pub name: String,
    /// What it means.
    pub meaning: String,
    /// How a value is written, such as `"19 mm"`.
    pub example: Option<String>,
    /// Whether it must be there.
    pub required: bool,
}

/// The keys of a part, of `radiator`, `module`, `case`, or of another definition of the schema, by its key in the
/// file; nothing for a word that names no record.
///
/// ```
/// let keys = loopwright::explain::keys_of("hose");
/// assert!(keys.iter().any(|k| k.name == "length" && k.required));
/// ```
pub fn keys_of(name: &str) -> Vec<Key> {
    let Some(record) = record(name) else {
        return Vec::new();
    };
    let required: Vec<&str> = record["required"]
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(Value::as_str)
        .collect();
    record["properties"]
        .as_object()
        .into_iter()
        .flatten()
        .filter(|(key, _)| !matches!(key.as_str(), "note" | "$schema"))
        .map(|(key, value)| Key {
            name: key.clone(),
            meaning: text(value, "description"),
            example: example(value),
            required: required.contains(&key.as_str()),
        })
        .collect()
}

/// The definition that stands behind a key of the file.
fn record(name: &str) -> Option<&'static Value> {
    let root = schema();
    let parts = root.pointer("/$defs/Part").and_then(|part| {
        ["oneOf", "anyOf"]
            .iter()
            .filter_map(|way| part[way].as_array())
            .flatten()
            .find_map(|choice| choice["properties"].get(name))
    });
    let defined = || {
        let pascal: String = name
            .split('_')
            .map(|word| word[..1.min(word.len())].to_uppercase() + word.get(1..).unwrap_or(""))
            .collect();
        root["$defs"]
            .get(&pascal)
            .or_else(|| root["$defs"].get(format!("{pascal}Record")))
    };
    resolve(parts.or_else(defined)?, 0)
}

fn resolve(value: &'static Value, depth: usize) -> Option<&'static Value> {
    if value.get("properties").is_some() || depth > 8 {
        return Some(value);
    }
    if let Some(reference) = value["$ref"].as_str() {
        return resolve(
            schema().pointer(reference.trim_start_matches('#'))?,
            depth + 1,
        );
    }
    value["allOf"]
        .as_array()
        .or_else(|| value["anyOf"].as_array())?
        .iter()
        .find_map(|choice| resolve(choice, depth + 1))
}

fn text(value: &Value, key: &str) -> String {
    value[key].as_str().unwrap_or("").replace('\n', " ")
}

/// How a value is written: the first example, or the words to choose from.
fn example(value: &'static Value) -> Option<String> {
    let mut here = value;
    for _ in 0..8 {
        if let Some(first) = here["examples"].get(0) {
            // One kind of quantity has one example, which may be a bore where a height is meant.
            let kind = here["x-quantity"].as_str();
            return Some(kind.map_or(first.to_string(), |k| format!("{k}, as {first}")));
        }
        if let Some(words) = here["enum"].as_array() {
            return Some(list(words));
        }
        if let Some(all) = here["oneOf"].as_array() {
            let words: Vec<Value> = all.iter().filter_map(|w| w.get("const").cloned()).collect();
            if words.len() == all.len() {
                return Some(list(&words));
            }
        }
        let way = here["$ref"]
            .as_str()
            .and_then(|r| schema().pointer(r.trim_start_matches('#')))
            .or_else(|| here["anyOf"].get(0))
            .or_else(|| here["allOf"].get(0));
        match way {
            Some(next) => here = next,
            None => break,
        }
    }
    match here["type"].as_str()? {
        "number" => Some("0.5".to_owned()),
        "integer" => Some("2".to_owned()),
        "boolean" => Some("true".to_owned()),
        "array" => Some("[...]".to_owned()),
        "object" => Some("{...}".to_owned()),
        _ => None,
    }
}

fn list(words: &[Value]) -> String {
    words
        .iter()
        .map(Value::to_string)
        .collect::<Vec<_>>()
        .join(", ")
}
