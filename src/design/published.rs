//! The schema that is handed out: the generated one in the words of standard validators and editors. It adds what every
//! file may hold (notes, `$schema`), units as patterns, and the limits that need no arithmetic.

use super::syntax::{LONGEST_NAME, NOTE, SCHEMA};
use crate::quantity::{BELOW_ZERO, Kind, ZERO_OR_BELOW, quantity_pattern};
use serde_json::{Map, Value, json};

/// The definition that every quantity shares.
const QUANTITY: &str = "quantity";

/// A generated schema in standard words.
pub(super) fn published(rules: &Value) -> Value {
    let mut schema = rules.clone();
    let mut kinds = Vec::new();
    rewrite(&mut schema, &mut kinds);
    if let Value::Object(root) = &mut schema {
        if let Some(Value::Object(properties)) = root.get_mut("properties") {
            let key = json!({ "type": "string", "description": "Where this schema is kept, for editors." });
            properties.insert(SCHEMA.into(), key);
        }
        let defs = root.entry("$defs").or_insert_with(|| json!({}));
        if let Value::Object(defs) = defs {
            defs.insert(QUANTITY.into(), json!({
                "type": "string",
                "pattern": quantity_pattern(),
                "description": "A number and its unit; words may be multiplied, divided and raised, as in `W/(m2 K)`.",
            }));
            for kind in kinds {
                defs.insert(definition(kind), of_kind(kind));
            }
        }
    }
    schema
}

fn definition(kind: Kind) -> String {
    format!("{QUANTITY}_{}", kind.name())
}

fn of_kind(kind: Kind) -> Value {
    json!({
        "$ref": format!("#/$defs/{QUANTITY}"),
        "type": "string",
        "pattern": kind.pattern(),
        "description": format!("{} with its unit", kind.noun()),
    })
}

fn rewrite(schema: &mut Value, kinds: &mut Vec<Kind>) {
    let Value::Object(words) = schema else {
        return;
    };
    quantity(words, kinds);
    if words.get("x-names") == Some(&Value::Bool(true)) {
        words.insert("propertyNames".into(), json!({
            "maxLength": LONGEST_NAME,
            "pattern": r"^[\p{Alphabetic}0-9_-](?:[\p{Alphabetic}0-9 _-]*[\p{Alphabetic}0-9_-])?$",
        }));
    }
    for word in ["properties", "$defs"] {
        if let Some(Value::Object(inner)) = words.get_mut(word) {
            inner.values_mut().for_each(|schema| rewrite(schema, kinds));
        }
    }
    for word in ["items", "additionalProperties"] {
        if let Some(inner) = words.get_mut(word) {
            rewrite(inner, kinds);
        }
    }
    for word in ["oneOf", "anyOf", "allOf", "prefixItems"] {
        if let Some(Value::Array(ways)) = words.get_mut(word) {
            ways.iter_mut().for_each(|schema| rewrite(schema, kinds));
        }
    }
    if words.get("type") == Some(&json!("object")) {
        note(words);
    }
}

/// Adds the pattern of the units, and the limits whose sign alone decides.
fn quantity(words: &mut Map<String, Value>, kinds: &mut Vec<Kind>) {
    let kind = words.get("x-quantity").and_then(Value::as_str);
    let Some(kind) = kind.and_then(Kind::from_name) else {
        return;
    };
    if !kinds.contains(&kind) {
        kinds.push(kind);
    }
    words.insert(
        "$ref".into(),
        json!(format!("#/$defs/{}", definition(kind))),
    );
    // The zero of degC and degF is not that of the limit.
    if kind == Kind::Temperature {
        return;
    }
    let at_least_zero = |word: &str| {
        let limit = words.get(word).and_then(Value::as_f64);
        limit.is_some_and(|limit| limit >= 0.0)
    };
    if at_least_zero("x-above") {
        words.insert("not".into(), json!({ "pattern": ZERO_OR_BELOW }));
    } else if at_least_zero("x-at-least") {
        words.insert("not".into(), json!({ "pattern": BELOW_ZERO }));
    }
}

/// Lets an object carry a note; where keys are names of the builder's own, one of them may be `note` too.
fn note(words: &mut Map<String, Value>) {
    let text =
        json!({ "type": "string", "description": "A note for the reader; it changes nothing." });
    let note = match words.get("additionalProperties") {
        Some(named @ Value::Object(_)) => json!({ "anyOf": [text, named] }),
        _ => text,
    };
    let properties = words.entry("properties").or_insert_with(|| json!({}));
    if let Value::Object(properties) = properties {
        properties.insert(NOTE.into(), note);
    }
}
