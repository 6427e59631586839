//! The values of the syntax tree, each with its span.

use std::ops::Range;

use super::caps::NOTE;
use crate::place::Step;

/// A value of the syntax tree. Built from Rust it has no text, and its spans are empty.
#[derive(Clone, Debug)]
pub(in crate::design) struct Node {
    pub(super) span: (u32, u32),
    pub(in crate::design) kind: Kind,
}

#[derive(Clone, Debug)]
pub(in crate::design) enum Kind {
    Null,
    Truth(bool),
    Number(serde_json::Number),
    Text(Box<str>),
    List(Box<[Node]>),
    Map(Box<[Entry]>),
}

/// A key of an object and its value.
#[derive(Clone, Debug)]
pub(in crate::design) struct Entry {
    pub(in crate::design) key: Box<str>,
    pub(super) key_span: (u32, u32),
    pub(in crate::design) value: Node,
}

impl Node {
    /// The same tree for a value built in Rust; none if it is nested deeper than `room`.
    pub(in crate::design) fn from_value(value: &serde_json::Value, room: usize) -> Option<Node> {
        let kind = match value {
            serde_json::Value::Null => Kind::Null,
            serde_json::Value::Bool(truth) => Kind::Truth(*truth),
            serde_json::Value::Number(number) => Kind::Number(number.clone()),
            serde_json::Value::String(text) => Kind::Text(text.as_str().into()),
            serde_json::Value::Array(entries) => {
                let room = room.checked_sub(1)?;
                Kind::List(
                    entries
                        .iter()
                        .map(|entry| Node::from_value(entry, room))
                        .collect::<Option<_>>()?,
                )
            }
            serde_json::Value::Object(entries) => {
                let room = room.checked_sub(1)?;
                let entry = |(key, value): (&String, _)| {
                    Some(Entry {
                        key: key.as_str().into(),
                        key_span: (0, 0),
                        value: Node::from_value(value, room)?,
                    })
                };
                Kind::Map(entries.iter().map(entry).collect::<Option<_>>()?)
            }
        };
        Some(Node { span: (0, 0), kind })
    }

    pub(in crate::design) fn span(&self) -> Range<usize> {
        wide(self.span)
    }

    pub(super) fn step(&self, step: &Step) -> Option<(Option<&Entry>, &Node)> {
        match (step, &self.kind) {
            (Step::Index(index), Kind::List(entries)) => Some((None, entries.get(*index)?)),
            (Step::Key(key), Kind::Map(entries)) => {
                let entry = entries.iter().find(|entry| *entry.key == **key)?;
                Some((Some(entry), &entry.value))
            }
            _ => None,
        }
    }

    pub(in crate::design) fn value(&self) -> serde_json::Value {
        match &self.kind {
            Kind::Null => serde_json::Value::Null,
            Kind::Truth(truth) => serde_json::Value::Bool(*truth),
            Kind::Number(number) => serde_json::Value::Number(number.clone()),
            Kind::Text(text) => serde_json::Value::String(text.to_string()),
            Kind::List(entries) => {
                serde_json::Value::Array(entries.iter().map(Node::value).collect())
            }
            Kind::Map(entries) => {
                let kept = entries.iter().filter(|entry| entry.note().is_none());
                serde_json::Value::Object(
                    kept.map(|entry| (entry.key.to_string(), entry.value.value()))
                        .collect(),
                )
            }
        }
    }
}

impl Entry {
    pub(in crate::design) fn key_span(&self) -> Range<usize> {
        wide(self.key_span)
    }

    /// The text of this entry if it is a note.
    pub(in crate::design) fn note(&self) -> Option<&str> {
        match &self.value.kind {
            Kind::Text(text) if *self.key == *NOTE => Some(text),
            _ => None,
        }
    }
}

fn wide(span: (u32, u32)) -> Range<usize> {
    span.0 as usize..span.1 as usize
}

/// Offsets fit because no text is longer than [`LARGEST_BYTES`].
pub(super) fn narrow(range: jsonc_parser::common::Range) -> (u32, u32) {
    let offset = |byte| u32::try_from(byte).unwrap_or(u32::MAX);
    (offset(range.start), offset(range.end))
}
