//! From text to a [`Design`]: syntax, then the schema's check of every value with its span, then decoding.

use super::document::Design;
use super::guard::{check, check_value};
use super::published::published;
use super::show::{Fault, FaultCode};
use super::syntax::{Document, read_bytes, read_text};
use crate::place::Place;
use crate::quantity::Kind;
use serde::Deserialize;
use serde_json::Value;
use std::sync::OnceLock;

/// A design that was read, with the text it came from.
#[derive(Clone, Debug)]
pub struct Source {
    /// The design.
    pub design: Design,
    /// The text with its spans.
    pub document: Document,
}

/// The JSON Schema (2020-12) of a design file, generated from the record types.
///
/// Every standard validator reads it. It refuses no file that [`Source::read`] takes; what it cannot say (limits in SI
/// units other than zero, compounds of the wrong kind, rules between keys) is left to the reader.
pub fn schema() -> &'static Value {
    static SCHEMA: OnceLock<Value> = OnceLock::new();
    SCHEMA.get_or_init(|| published(&generated()))
}

/// The schema as generated.
fn generated() -> Value {
    let mut schema = schemars::schema_for!(Design).to_value();
    drop_null(&mut schema);
    schema
}

/// The schema as generated but for its descriptions, by which values are checked. It is kept as a file, since to read it takes
/// less than half the instructions that to generate it takes; a test holds the two equal.
pub(super) fn rules() -> &'static Value {
    static RULES: OnceLock<Value> = OnceLock::new();
    RULES.get_or_init(|| {
        // A file that did not parse would be no rules at all; the generated ones are never wrong.
        serde_json::from_str(include_str!("rules.json")).unwrap_or_else(|_| generated())
    })
}

/// Optional keys are left out, never null: the schema says so too.
pub(super) fn drop_null(value: &mut Value) {
    match value {
        Value::Object(map) => {
            if let Some(Value::Array(types)) = map.get_mut("type") {
                types.retain(|t| t != "null");
                if let [one] = &types[..] {
                    let one = one.clone();
                    map.insert("type".into(), one);
                }
            }
            if let Some(Value::Array(choices)) = map.get_mut("anyOf") {
                choices.retain(|c| c.get("type") != Some(&Value::String("null".into())));
                if let [Value::Object(one)] = &choices[..] {
                    let one = one.clone();
                    map.remove("anyOf");
                    for (key, entry) in one {
                        map.entry(key).or_insert(entry);
                    }
                }
            }
            if map.get("default") == Some(&Value::Null) {
                map.remove("default");
            }
            map.values_mut().for_each(drop_null);
        }
        Value::Array(items) => items.iter_mut().for_each(drop_null),
        _ => {}
    }
}

pub(super) fn parse(kind: &str, text: &str) -> Result<f64, String> {
    match Kind::from_name(kind) {
        Some(kind) => kind.parse(text).map_err(|e| e.to_string()),
        None => Err(format!("`{kind}` is no kind of quantity")),
    }
}

impl Source {
    /// Reads a design from text.
    ///
    /// # Errors
    /// Every independent mistake of the text, each with its place and spot: at most 32 MB, nesting at most 64.
    ///
    /// ```
    /// use loopwright::design::Source;
    /// let faults = Source::read(r#"{ "format": 1, "titel": "bench" }"#).unwrap_err();
    /// assert!(faults.iter().any(|f| f.message.contains("titel")));
    /// ```
    pub fn read(text: &str) -> Result<Self, Vec<Fault>> {
        Self::decode(read_text(text)?)
    }

    /// Reads a design from the bytes of a file; they must be UTF-8.
    ///
    /// # Errors
    /// As [`Source::read`].
    pub fn read_bytes(bytes: &[u8]) -> Result<Self, Vec<Fault>> {
        Self::decode(read_bytes(bytes)?)
    }

    fn decode(document: Document) -> Result<Self, Vec<Fault>> {
        let faults = check(&document, rules(), &parse);
        if !faults.is_empty() {
            return Err(faults);
        }
        // From a reference, as all records are read: each way to read them is compiled once more.
        match Design::deserialize(&document.value()) {
            Ok(design) => Ok(Self { design, document }),
            Err(error) => Err(vec![Fault::new(
                FaultCode::WrongType,
                Place::root(),
                None,
                format!("cannot decode the design: {error}"),
            )]),
        }
    }
}

impl Design {
    /// Checks every value against the schema, for a design made in Rust; one that was read has passed already.
    ///
    /// # Errors
    /// Every independent mistake, with its place.
    pub fn check(&self) -> Result<(), Vec<Fault>> {
        let value = self.to_value();
        let faults = check_value(&value, rules(), &parse);
        if faults.is_empty() {
            Ok(())
        } else {
            Err(faults)
        }
    }

    /// The design as JSON, without keys that were left out.
    pub fn to_value(&self) -> Value {
        let mut value = serde_json::to_value(self).unwrap_or_default();
        strip_null(&mut value);
        value
    }
}

fn strip_null(value: &mut Value) {
    match value {
        Value::Object(map) => {
            map.retain(|_, v| !v.is_null());
            map.values_mut().for_each(strip_null);
        }
        Value::Array(items) => items.iter_mut().for_each(strip_null),
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Leaves out what no check reads: descriptions, which are texts (a property of that name is a schema).
    fn without_descriptions(value: &mut Value) {
        match value {
            Value::Object(map) => {
                map.retain(|key, value| key != "description" || !value.is_string());
                map.values_mut().for_each(without_descriptions);
            }
            Value::Array(items) => items.iter_mut().for_each(without_descriptions),
            _ => {}
        }
    }

    /// One line for each definition, so that a change can be read.
    fn written(rules: &Value) -> String {
        let lines = |map: &serde_json::Map<String, Value>, indent: &str| {
            let lines = map
                .iter()
                .map(|(key, value)| format!("{indent}{}: {value}", Value::String(key.clone())));
            lines.collect::<Vec<_>>().join(",\n")
        };
        let mut root = rules.as_object().cloned().unwrap_or_default();
        let definitions = root.shift_remove("$defs").unwrap_or_default();
        let definitions = definitions.as_object().cloned().unwrap_or_default();
        format!(
            "{{\n{},\n\"$defs\": {{\n{}\n}}\n}}\n",
            lines(&root, ""),
            lines(&definitions, "")
        )
    }

    /// `LOOPWRIGHT_BLESS=1 cargo test --lib rules` writes the file anew.
    #[test]
    fn the_rules_on_file_are_those_of_the_types() {
        let mut wanted = generated();
        without_descriptions(&mut wanted);
        let text = written(&wanted);
        if std::env::var_os("LOOPWRIGHT_BLESS").is_some() {
            let path = concat!(env!("CARGO_MANIFEST_DIR"), "/src/design/rules.json");
            std::fs::write(path, &text).expect("the file can be written");
        }
        assert_eq!(include_str!("rules.json"), text, "see the note above");
        assert_eq!(*rules(), wanted);
    }
}
