//! From a schema to the shape it asks for: references followed, choices laid side by side.

use std::rc::Rc;

use serde_json::{Map, Value};

use super::shape::{Shape, joined};
use super::walk::Walk;

/// Most references and choices that are followed from one value to its schema; ours need about four.
const MOST_HOPS: usize = 16;

impl<'a> Walk<'a> {
    pub(super) fn shape(&mut self, schema: &'a Value) -> Rc<Shape<'a>> {
        if let Some(shape) = self.shapes.get(&std::ptr::from_ref(schema)) {
            return Rc::clone(shape);
        }
        let mut shape = Shape::default();
        self.unfold(schema, &mut shape, MOST_HOPS);
        let shape = Rc::new(shape);
        self.shapes.insert(schema, Rc::clone(&shape));
        shape
    }

    pub(super) fn unfold(&self, schema: &'a Value, shape: &mut Shape<'a>, hops: usize) {
        let (Some(words), Some(hops)) = (schema.as_object(), hops.checked_sub(1)) else {
            return;
        };
        shape.layers.push(words);
        if let Some(reference) = words.get("$ref").and_then(Value::as_str) {
            shape.name = reference
                .rsplit('/')
                .next()
                .filter(|name| *name != "#")
                .or(shape.name);
            if let Some(target) = reference
                .strip_prefix('#')
                .and_then(|pointer| self.schema.pointer(pointer))
            {
                self.unfold(target, shape, hops);
            }
        }
        for all in words
            .get("allOf")
            .and_then(Value::as_array)
            .into_iter()
            .flatten()
        {
            self.unfold(all, shape, hops);
        }
        let choice = words
            .get("anyOf")
            .or_else(|| words.get("oneOf"))
            .and_then(Value::as_array);
        let is_null = |branch: &Value| branch.get("type").and_then(Value::as_str) == Some("null");
        let branches: Vec<&Value> = choice
            .into_iter()
            .flatten()
            .filter(|branch| !is_null(branch))
            .collect();
        if let [only] = branches.as_slice() {
            return self.unfold(only, shape, hops);
        }
        for branch in branches {
            let mut inner = Shape::default();
            self.unfold(branch, &mut inner, hops);
            for way in std::mem::take(&mut inner.branches) {
                shape.branches.push(joined(&inner, &way));
            }
            // A branch that branched is spoken for by its own branches.
            let branched = ["anyOf", "oneOf"]
                .iter()
                .any(|word| inner.layers.iter().any(|layer| is_choice(layer, word)));
            if !branched {
                shape.branches.push(inner);
            }
        }
    }
}

fn is_choice(layer: &Map<String, Value>, word: &str) -> bool {
    let is_null = |branch: &&Value| branch.get("type").and_then(Value::as_str) == Some("null");
    layer
        .get(word)
        .and_then(Value::as_array)
        .is_some_and(|ways| ways.iter().filter(|way| !is_null(way)).count() > 1)
}
