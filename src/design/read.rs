//! From text to a [`Design`]: syntax, then the schema's check of every value with its span, then decoding.

use super::document::Design;
use super::guard::{check, check_value};
use super::published::published;
use super::rules;
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
    SCHEMA.get_or_init(|| published(&rules::described_design()))
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
        let faults = check(&document, rules::design(), &parse);
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
        let faults = check_value(&value, rules::design(), &parse);
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
