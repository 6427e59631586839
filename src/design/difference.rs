//! What differs between two designs, value by value. Units do not count: `19 mm` and `1.9 cm` are the same.

use serde_json::Value;

use super::document::Design;
use crate::place::Place;

/// A value in which two designs differ.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    /// Where it stands.
    pub place: Place,
    /// In the first design, as it would stand in a file; none where it is not there.
    pub before: Option<String>,
    /// In the second.
    pub after: Option<String>,
}

impl Design {
    /// Every value in which this design and another differ, in the order of this one; what stands in only one of them
    /// is told once, as a whole.
    ///
    /// ```
    /// use loopwright::design::Source;
    /// # let text = include_str!("../../networks/bookmobile.json");
    /// let one = Source::read(text).unwrap().design;
    /// let other = Source::read(&text.replace("\"140 A\"", "\"150 A\"")).unwrap().design;
    /// let differences = one.differences(&other);
    /// assert_eq!(differences.len(), 1);
    /// assert_eq!(differences[0].place.to_string(), "cases.hot hill.module_current");
    /// assert!(one.differences(&one).is_empty());
    /// ```
    pub fn differences(&self, other: &Self) -> Vec<Difference> {
        let mut found = Vec::new();
        compare(
            &self.to_value(),
            &other.to_value(),
            &Place::root(),
            &mut found,
        );
        found
    }
}

fn compare(one: &Value, other: &Value, place: &Place, found: &mut Vec<Difference>) {
    match (one, other) {
        (Value::Object(a), Value::Object(b)) => {
            for (key, value) in a {
                match b.get(key) {
                    Some(other) => compare(value, other, &place.key(key), found),
                    None => found.push(difference(place.key(key), Some(value), None)),
                }
            }
            for (key, value) in b.iter().filter(|(key, _)| !a.contains_key(*key)) {
                found.push(difference(place.key(key), None, Some(value)));
            }
        }
        (Value::Array(a), Value::Array(b)) => {
            for k in 0..a.len().max(b.len()) {
                match (a.get(k), b.get(k)) {
                    (Some(a), Some(b)) => compare(a, b, &place.index(k), found),
                    (a, b) => found.push(difference(place.index(k), a, b)),
                }
            }
        }
        _ if one == other => {}
        _ => found.push(difference(place.clone(), Some(one), Some(other))),
    }
}

fn difference(place: Place, before: Option<&Value>, after: Option<&Value>) -> Difference {
    let written = |value: &Value| match value {
        Value::String(text) => text.clone(),
        other => other.to_string(),
    };
    Difference {
        place,
        before: before.map(written),
        after: after.map(written),
    }
}
