//! Finding a value by its path, as a builder types it: forgiving about quotes where only one reading exists, and with
//! the nearest paths where there is none. It serves designs and answers alike.

use std::fmt;

use serde_json::Value;

use super::nearest::{is_same_word, list, nearest};
use crate::place::{Place, PlaceError, Step};

/// Most paths that are offered.
const MOST_OFFERED: usize = 3;
/// Most values of a document that are looked through for a near path.
const MOST_SEARCHED: usize = 50_000;
/// Most keys that a message lists.
const MOST_LISTED: usize = 12;

/// Why a path leads nowhere.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PathError {
    /// It cannot be read.
    Unreadable(PlaceError),
    /// It names nothing.
    Nothing {
        /// The path as typed.
        path: String,
        /// What is missing where.
        why: String,
        /// The nearest paths that lead somewhere.
        near: Vec<String>,
    },
}

impl fmt::Display for PathError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unreadable(error) => error.fmt(f),
            Self::Nothing { path, why, near } => {
                write!(f, "cannot find `{path}` because {why}")?;
                match near.as_slice() {
                    [] => Ok(()),
                    near => write!(
                        f,
                        "; did you mean {}?",
                        list(near.iter().map(String::as_str))
                    ),
                }
            }
        }
    }
}

impl std::error::Error for PathError {}

/// The value at a place.
pub fn at<'v>(value: &'v Value, place: &Place) -> Option<&'v Value> {
    place
        .steps()
        .iter()
        .try_fold(value, |value, step| match step {
            Step::Key(key) => value.as_object()?.get(key),
            Step::Index(index) => value.as_array()?.get(*index),
        })
}

/// The place of a value that exists. A key that holds dots may stand without its quotes.
///
/// # Errors
/// [`PathError`] with the nearest paths.
///
/// ```
/// use loopwright::design::locate;
/// let value = serde_json::json!({ "heat": { "drive.motor": "2 kW" }, "points": [[1, 2]] });
/// assert_eq!(locate(&value, "heat.drive.motor").unwrap().to_string(), "heat.\"drive.motor\"");
/// assert!(locate(&value, "points[0][1]").is_ok());
/// let error = locate(&value, "heat.drive.moter").unwrap_err().to_string();
/// assert!(error.contains("did you mean `heat.\"drive.motor\"`"), "{error}");
/// ```
pub fn locate(value: &Value, path: &str) -> Result<Place, PathError> {
    let typed: Place = path.parse().map_err(PathError::Unreadable)?;
    match walk(value, typed.steps()) {
        Some(steps) => Ok(steps.into_iter().collect()),
        None => Err(nothing(value, path, &typed)),
    }
}

/// The place of a value that may still be missing from the object that would hold it.
///
/// # Errors
/// As [`locate`], where that object is missing too.
pub(super) fn locate_new(value: &Value, path: &str) -> Result<Place, PathError> {
    locate(value, path).or_else(|error| {
        let Ok(typed) = path.parse::<Place>() else {
            return Err(error);
        };
        // The last keys that lead nowhere are one new key, the shorter first.
        for split in (1..typed.steps().len()).rev() {
            let (holder, rest) = typed.steps().split_at(split);
            let Some(found) = walk(value, holder) else {
                continue;
            };
            let found: Place = found.into_iter().collect();
            let (Some(Value::Object(map)), Some(key)) = (at(value, &found), joined(rest)) else {
                break;
            };
            // `drive.motor` is one key only among others of that kind.
            let dotted = map.is_empty() || map.keys().any(|known| known.contains('.'));
            if rest.len() == 1 || (rest.len() == 2 && dotted) {
                return Ok(found.key(&key));
            }
            break;
        }
        Err(error)
    })
}

/// The error of a path that names nothing.
pub(super) fn nothing(value: &Value, path: &str, typed: &Place) -> PathError {
    PathError::Nothing {
        path: path.to_owned(),
        why: why(value, typed.steps()),
        near: near(value, typed.steps()),
    }
}

/// The steps that exist for steps as typed: keys are taken as they stand, or joined by dots with those that follow.
fn walk(value: &Value, typed: &[Step]) -> Option<Vec<Step>> {
    let Some(first) = typed.first() else {
        return Some(Vec::new());
    };
    match (first, value) {
        (Step::Index(index), Value::Array(entries)) => {
            let mut rest = walk(entries.get(*index)?, &typed[1..])?;
            rest.insert(0, first.clone());
            Some(rest)
        }
        (Step::Key(_), Value::Object(map)) => (1..=typed.len()).find_map(|count| {
            let key = joined(&typed[..count])?;
            let mut rest = walk(map.get(&key)?, &typed[count..])?;
            rest.insert(0, Step::Key(key));
            Some(rest)
        }),
        _ => None,
    }
}

fn joined(steps: &[Step]) -> Option<String> {
    let keys: Option<Vec<&str>> = steps.iter().map(key_of).collect();
    keys.map(|keys| keys.join("."))
}

fn key_of(step: &Step) -> Option<&str> {
    match step {
        Step::Key(key) => Some(key),
        Step::Index(_) => None,
    }
}

/// What the longest beginning that exists lacks.
fn why(value: &Value, typed: &[Step]) -> String {
    let known = (0..typed.len())
        .rev()
        .find_map(|count| walk(value, &typed[..count]).map(|steps| (count, steps)));
    let (count, steps) = known.unwrap_or_default();
    let place: Place = steps.into_iter().collect();
    let name = match place.steps() {
        [] => "the whole".to_owned(),
        _ => format!("`{place}`"),
    };
    match (at(value, &place), typed.get(count)) {
        (Some(Value::Object(map)), Some(Step::Key(key))) => {
            let mut keys: Vec<&str> = map.keys().map(String::as_str).collect();
            let more = keys.len().saturating_sub(MOST_LISTED);
            keys.truncate(MOST_LISTED);
            let more = match more {
                0 => String::new(),
                n => format!(" and {n} more"),
            };
            let keys: Vec<String> = keys.iter().map(|k| format!("`{k}`")).collect();
            format!("{name} has no `{key}` but {}{more}", keys.join(", "))
        }
        (Some(Value::Object(_)), Some(Step::Index(index))) => {
            format!("{name} is an object and has no place [{index}]")
        }
        (Some(Value::Array(entries)), Some(Step::Index(_))) if entries.is_empty() => {
            format!("{name} is an empty list")
        }
        (Some(Value::Array(entries)), Some(Step::Index(index))) if entries.len() == 1 => {
            format!("{name} has only [0] and no [{index}]")
        }
        (Some(Value::Array(entries)), Some(Step::Index(index))) => format!(
            "{name} has {} entries, [0] to [{}], and no [{index}]",
            entries.len(),
            entries.len() - 1
        ),
        (Some(Value::Array(_)), Some(Step::Key(key))) => {
            format!("{name} is a list and has no `{key}`; its places are written `[0]`, `[1]`, ...")
        }
        (_, Some(Step::Key(key))) => format!("{name} is one value and has no `{key}`"),
        (_, Some(Step::Index(index))) => format!("{name} is one value and has no [{index}]"),
        _ => "it is empty".to_owned(),
    }
}

/// The nearest paths: each wrong key put right where it stands, else values whose path holds most of what was typed.
fn near(value: &Value, typed: &[Step]) -> Vec<String> {
    if let Some(steps) = put_right(value, typed) {
        return vec![steps.into_iter().collect::<Place>().to_string()];
    }
    // The last place of a list is told; no other list is meant.
    if matches!(typed.last(), Some(Step::Index(_))) {
        return Vec::new();
    }
    let words: Vec<&str> = typed.iter().filter_map(key_of).collect();
    let Some((last, others)) = words.split_last() else {
        return Vec::new();
    };
    let mut found: Vec<(usize, usize, Place)> = Vec::new();
    let mut searched = 0;
    each_leaf(value, &Place::root(), &mut searched, &mut |place| {
        let keys: Vec<&str> = place.steps().iter().filter_map(key_of).collect();
        let Some((tail, heads)) = keys.split_last() else {
            return;
        };
        if !is_same_word(tail, last) {
            return;
        }
        // Words of the typed path that stand in this one, in their order.
        let mut from = 0;
        let mut hits = 0;
        for word in others {
            if let Some(step) = heads[from..].iter().position(|key| is_same_word(key, word)) {
                from += step + 1;
                hits += 1;
            }
        }
        found.push((others.len() - hits, keys.len(), place.clone()));
    });
    found.sort_by_key(|(missed, length, _)| (*missed, *length));
    let best = found.first().map(|(missed, ..)| *missed);
    found
        .iter()
        .take_while(|(missed, ..)| Some(*missed) == best)
        .take(MOST_OFFERED)
        .map(|(.., place)| place.to_string())
        .collect()
}

fn put_right(value: &Value, typed: &[Step]) -> Option<Vec<Step>> {
    let Some(first) = typed.first() else {
        return Some(Vec::new());
    };
    match (first, value) {
        (Step::Index(index), Value::Array(entries)) => {
            let mut rest = put_right(entries.get(*index)?, &typed[1..])?;
            rest.insert(0, first.clone());
            Some(rest)
        }
        (Step::Key(_), Value::Object(map)) => (1..=typed.len()).find_map(|count| {
            let key = joined(&typed[..count])?;
            let meant = match map.get_key_value(&key) {
                Some((known, _)) => known.as_str(),
                None => nearest(&key, map.keys().map(String::as_str))?,
            };
            let mut rest = put_right(map.get(meant)?, &typed[count..])?;
            rest.insert(0, Step::Key(meant.to_owned()));
            Some(rest)
        }),
        _ => None,
    }
}

fn each_leaf(value: &Value, place: &Place, searched: &mut usize, see: &mut dyn FnMut(&Place)) {
    *searched += 1;
    if *searched > MOST_SEARCHED {
        return;
    }
    match value {
        Value::Object(map) => {
            for (key, inner) in map {
                each_leaf(inner, &place.key(key), searched, see);
            }
        }
        Value::Array(entries) => {
            for (index, inner) in entries.iter().enumerate() {
                each_leaf(inner, &place.index(index), searched, see);
            }
        }
        _ => see(place),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn design() -> Value {
        json!({
            "loops": { "battery": { "parts": { "out": { "hose": { "bore": "16 mm" } }, "back": { "hose": { "bore": "16 mm" } },
                "pump": { "pump": { "curve": [["0 L/min", "52 kPa"]] } } } } },
            "cases": { "hot hill": { "air": "38 degC", "heat": { "drive.motor": "2 kW" } } }
        })
    }

    fn said(path: &str) -> String {
        locate(&design(), path).expect_err(path).to_string()
    }

    #[test]
    fn a_path_that_exists_is_found_with_and_without_quotes() {
        for path in [
            "loops.battery.parts.out.hose.bore",
            "loops.battery.parts.pump.pump.curve[0][1]",
            "cases.hot hill.heat.drive.motor",
            "cases.hot hill.heat.\"drive.motor\"",
        ] {
            let place = locate(&design(), path).expect(path);
            assert!(at(&design(), &place).is_some(), "{path}");
        }
    }

    #[test]
    fn a_path_that_names_nothing_says_where_it_ends_and_what_is_near() {
        assert_eq!(
            said("loops.batery.parts.out.hose.bore"),
            "cannot find `loops.batery.parts.out.hose.bore` because `loops` has no `batery` but `battery`; did you mean `loops.battery.parts.out.hose.bore`?"
        );
        assert_eq!(
            said("battery.out.bore"),
            "cannot find `battery.out.bore` because the whole has no `battery` but `loops`, `cases`; did you mean `loops.battery.parts.out.hose.bore`?"
        );
        assert!(said("bore").ends_with(
            "did you mean `loops.battery.parts.out.hose.bore` or `loops.battery.parts.back.hose.bore`?"
        ));
        assert!(
            said("loops.battery.parts.pump.pump.curve[3][0]")
                .contains("`loops.battery.parts.pump.pump.curve` has only [0] and no [3]")
        );
        assert!(said("cases.hot hill.air.degC").contains("is one value and has no `degC`"));
        assert!(said("cases..air").contains("is wanted where"));
    }

    #[test]
    fn a_new_key_needs_an_object_that_holds_it() {
        let new = |path: &str| locate_new(&design(), path).map(|place| place.to_string());
        assert_eq!(
            new("cases.hot hill.altitude"),
            Ok("cases.hot hill.altitude".to_owned())
        );
        assert_eq!(
            new("cases.hot hill.heat.drive.inverter"),
            Ok("cases.hot hill.heat.drive.inverter"
                .to_owned()
                .replace("drive.inverter", "\"drive.inverter\""))
        );
        assert!(new("cases.cold hill.altitude").is_err());
    }
}
