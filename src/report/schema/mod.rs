//! JSON Schemas (2020-12) of what the verbs print with `--json`. They are written beside the code that makes the answers;
//! `tests/schema.rs` holds every real answer against them, key by key, so that neither can move alone.

mod job;
mod shape;
mod slopes;
mod solved;
mod studies;

use serde_json::{Map, Value, json};
use shape::Definitions;

/// The answers that have a schema: the verb, with what is sized where it sizes. `sweep` is one line of its answer.
pub const ANSWERS: [&str; 13] = [
    "solve",
    "check",
    "size-pump",
    "size-hose",
    "size-header",
    "balance",
    "layout",
    "partition",
    "sweep",
    "compare",
    "sensitivity",
    "report",
    "explain",
];

/// The JSON Schema of an answer by its name in [`ANSWERS`]; none for any other name.
///
/// Every object says which keys it has: one that is missing or unknown is refused. A number is SI, with its unit at the end
/// of the key; `null` stands where there is no such value.
///
/// ```
/// let schema = loopwright::report::answer_schema("check").unwrap();
/// assert_eq!(schema["properties"]["format"]["const"], 1);
/// assert!(loopwright::report::answer_schema("guess").is_none());
/// ```
pub fn answer_schema(answer: &str) -> Option<Value> {
    if !ANSWERS.contains(&answer) {
        return None;
    }
    let mut all: Definitions = Vec::new();
    all.extend(solved::definitions());
    all.extend(studies::definitions());
    all.extend(slopes::definitions());
    all.extend(job::definitions());
    let root = definition(&all, answer)?.clone();
    let mut needed = Vec::new();
    gather(&root, &all, &mut needed);
    let kept: Map<String, Value> = all
        .into_iter()
        .filter(|(name, _)| needed.contains(name))
        .map(|(name, schema)| (name.to_owned(), schema))
        .collect();
    let mut schema = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": format!("Answer of loopwright {}", answer.replace('-', " ")),
    });
    if let (Value::Object(whole), Value::Object(root)) = (&mut schema, root) {
        whole.extend(root);
        whole.insert("$defs".into(), Value::Object(kept));
    }
    Some(schema)
}

fn definition<'a>(all: &'a Definitions, name: &str) -> Option<&'a Value> {
    all.iter().find(|(known, _)| *known == name).map(|(_, s)| s)
}

/// The definitions that a schema leads to.
fn gather(schema: &Value, all: &Definitions, needed: &mut Vec<&'static str>) {
    match schema {
        Value::Object(words) => {
            let target = words.get("$ref").and_then(Value::as_str);
            if let Some(target) = target.and_then(|t| t.strip_prefix("#/$defs/"))
                && let Some((name, inner)) = all.iter().find(|(known, _)| *known == target)
                && !needed.contains(name)
            {
                needed.push(name);
                gather(inner, all, needed);
            }
            words.values().for_each(|inner| gather(inner, all, needed));
        }
        Value::Array(items) => items.iter().for_each(|inner| gather(inner, all, needed)),
        _ => {}
    }
}
