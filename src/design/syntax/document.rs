//! A document: the text of a design file with its syntax tree, and the way from a place to its bytes.

use std::ops::Range;

use super::caps::SCHEMA;
use super::node::{Entry, Kind, Node};
use crate::place::{Place, Step};

/// The text of a design file with its syntax tree.
///
/// It is sound JSON in the strict sense, each key stands once in its object, and every number is finite. Whether it is
/// a design is for [`check`](crate::design::check) to say.
#[derive(Clone, Debug)]
pub struct Document {
    pub(super) text: String,
    pub(super) tree: Node,
}

impl Document {
    /// The text as it was read.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The bytes of the value at a place, or of the nearest value above it that exists.
    ///
    /// `None` is reserved for a document without text and does not happen for one that was read.
    pub fn span(&self, place: &Place) -> Option<Range<usize>> {
        let mut node = &self.tree;
        for step in place.steps() {
            match node.step(step) {
                Some((_, inner)) => node = inner,
                None => break,
            }
        }
        Some(node.span())
    }

    /// The bytes of the key, with its quotes, that leads to a place; of the nearest key above it for a list place or a
    /// place that does not exist. The root has none.
    pub fn key_span(&self, place: &Place) -> Option<Range<usize>> {
        let mut node = &self.tree;
        let mut key = None;
        for step in place.steps() {
            let Some((entry, inner)) = node.step(step) else {
                break;
            };
            key = entry.map(Entry::key_span).or(key);
            node = inner;
        }
        key
    }

    /// The bytes to mark for a mistake at a place: the value itself, or the key that leads to it where the value is an
    /// object or a list of them, or does not exist.
    pub fn spot(&self, place: &Place) -> Range<usize> {
        let (mut node, mut key, mut whole) = (&self.tree, None, true);
        for step in place.steps() {
            let Some((entry, inner)) = node.step(step) else {
                whole = false;
                break;
            };
            key = entry.map(Entry::key_span);
            node = inner;
        }
        let holds_more = match &node.kind {
            Kind::Map(_) => true,
            Kind::List(entries) => entries.iter().any(|e| matches!(e.kind, Kind::Map(_))),
            _ => false,
        };
        match key {
            Some(key) if holds_more || !whole => key,
            _ => node.span(),
        }
    }

    /// The document as plain JSON: without its notes, and without `$schema` at the root.
    pub fn value(&self) -> serde_json::Value {
        let mut value = self.tree.value();
        if let serde_json::Value::Object(root) = &mut value {
            root.shift_remove(SCHEMA);
        }
        value
    }

    /// Every note, in the order of the text, with the place of the object that carries it.
    pub fn notes(&self) -> Vec<(Place, String)> {
        let mut notes = Vec::new();
        collect_notes(&self.tree, &mut Vec::new(), &mut notes);
        notes
    }

    /// Line and column of a byte, both counted from one, the column in characters.
    pub fn line_column(&self, byte: usize) -> (usize, usize) {
        line_column(&self.text, byte)
    }

    pub(in crate::design) fn tree(&self) -> &Node {
        &self.tree
    }
}

fn collect_notes(node: &Node, steps: &mut Vec<Step>, notes: &mut Vec<(Place, String)>) {
    match &node.kind {
        Kind::List(entries) => {
            for (index, entry) in entries.iter().enumerate() {
                steps.push(Step::Index(index));
                collect_notes(entry, steps, notes);
                steps.pop();
            }
        }
        Kind::Map(entries) => {
            for entry in entries {
                if let Some(note) = entry.note() {
                    notes.push((steps.iter().cloned().collect(), note.to_owned()));
                    continue;
                }
                steps.push(Step::Key(entry.key.to_string()));
                collect_notes(&entry.value, steps, notes);
                steps.pop();
            }
        }
        _ => {}
    }
}

/// Line and column of a byte of a text, both counted from one, the column in characters.
pub(in crate::design) fn line_column(text: &str, byte: usize) -> (usize, usize) {
    let before = &text.as_bytes()[..byte.min(text.len())];
    let line_start = before
        .iter()
        .rposition(|byte| *byte == b'\n')
        .map_or(0, |at| at + 1);
    let line = 1 + before[..line_start]
        .iter()
        .filter(|byte| **byte == b'\n')
        .count();
    // Every byte but the continuation bytes of UTF-8 begins a character.
    let column = 1 + before[line_start..]
        .iter()
        .filter(|byte| **byte & 0xc0 != 0x80)
        .count();
    (line, column)
}
