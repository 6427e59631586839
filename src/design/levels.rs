//! The values that a path is to go through: a range or a list, in the words of the command line, with their unit.

use std::str::FromStr;

use serde_json::Value;

use super::change::{ChangeError, read_value, split_at_equals};
use crate::quantity::Kind;

/// Digits to which the values of a range are rounded, so that what is printed is what was set.
const DIGITS: usize = 12;

/// A path and the values it is to go through.
///
/// `PATH=A..B:N` goes from A to B in N equal steps of value, both ends kept; `PATH=A..B` has no steps of its own and is
/// for sampling; `PATH=a,b,c` takes each value as it stands.
///
/// ```
/// use loopwright::design::Vary;
/// let vary: Vary = "loops.battery.parts.out.hose.bore=13 mm..25 mm:13".parse().unwrap();
/// assert_eq!(vary.levels.count(), Some(13));
/// assert_eq!(vary.levels.level(1), "14 mm");
/// assert!("a.b=3..3:5".parse::<Vary>().unwrap_err().to_string().contains("empty"));
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Vary {
    /// The path as typed.
    pub path: String,
    /// Its values.
    pub levels: Levels,
}

/// Values of a range or a list.
#[derive(Clone, Debug, PartialEq)]
pub enum Levels {
    /// Each value as it stands.
    List(Vec<Value>),
    /// A range.
    Range {
        /// The first value, a number in the unit.
        from: f64,
        /// The last value, a number in the unit.
        to: f64,
        /// The unit, unless it is a bare number.
        unit: Option<String>,
        /// How many values; none where only samples between the ends are wanted.
        count: Option<usize>,
        /// Whether only whole numbers may stand there.
        whole: bool,
    },
}

impl Levels {
    /// How many values there are; none for a range without steps.
    pub fn count(&self) -> Option<usize> {
        match self {
            Self::List(values) => Some(values.len()),
            Self::Range { count, .. } => *count,
        }
    }

    /// A value by its number, from 0; the last one for a number beyond.
    pub fn level(&self, k: usize) -> Value {
        match self {
            Self::List(values) => values
                .get(k)
                .or(values.last())
                .cloned()
                .unwrap_or(Value::Null),
            Self::Range {
                from, to, count, ..
            } => {
                let last = count.unwrap_or(2).saturating_sub(1).max(1);
                let x = match k {
                    0 => *from,
                    k if k >= last => *to,
                    k => rounded(from + (to - from) * (k as f64 / last as f64)),
                };
                self.written(x)
            }
        }
    }

    /// The value at a share of the way, 0 to 1: between the ends of a range, or one of a list.
    pub fn at_share(&self, share: f64) -> Value {
        match self {
            Self::List(values) => {
                self.level(((share * values.len() as f64) as usize).min(values.len() - 1))
            }
            Self::Range {
                from, to, whole, ..
            } => {
                let x = if *whole {
                    let steps = (to - from).abs() + 1.0;
                    from + (share * steps).floor().min(steps - 1.0) * (to - from).signum()
                } else {
                    rounded(from + (to - from) * share)
                };
                self.written(x)
            }
        }
    }

    fn written(&self, x: f64) -> Value {
        match self {
            Self::Range {
                unit: Some(unit), ..
            } => Value::from(format!("{x} {unit}")),
            Self::Range { unit: None, .. } if x.fract() == 0.0 && x.abs() < 1e15 => {
                Value::from(x as i64)
            }
            _ => Value::from(x),
        }
    }

    /// The kind of quantity that every value is, if there is one.
    pub fn kind(&self) -> Option<Kind> {
        let texts: Vec<Value> = match self {
            Self::List(values) => values.clone(),
            Self::Range { .. } => vec![self.level(0)],
        };
        let all = |kind: &Kind| {
            let reads = |v: &Value| v.as_str().is_some_and(|text| kind.parse(text).is_ok());
            !texts.is_empty() && texts.iter().all(reads)
        };
        Kind::ALL.iter().copied().find(all)
    }
}

impl FromStr for Vary {
    type Err = ChangeError;

    fn from_str(text: &str) -> Result<Self, ChangeError> {
        let wrong = |path: &str, why: String| ChangeError::Levels {
            path: path.to_owned(),
            why,
        };
        let Some((path, values)) = split_at_equals(text) else {
            return Err(wrong(
                text,
                "a path, `=` and values are wanted; try `PATH=13 mm..25 mm:13` or `PATH=13 mm,16 mm,19 mm`"
                    .to_owned(),
            ));
        };
        let levels = match values.split_once("..") {
            Some((from, rest)) => range(from, rest),
            None => list(values),
        };
        Ok(Self {
            path: path.to_owned(),
            levels: levels.map_err(|why| wrong(path, why))?,
        })
    }
}

fn list(values: &str) -> Result<Levels, String> {
    // A list in JSON, or values between commas.
    if let Ok(Value::Array(values)) = serde_json::from_str(values)
        && !values.is_empty()
    {
        return Ok(Levels::List(values));
    }
    let values: Vec<&str> = values.split(',').map(str::trim).collect();
    if values.iter().any(|v| v.is_empty()) {
        return Err("there is nothing between two commas".to_owned());
    }
    Ok(Levels::List(values.into_iter().map(read_value).collect()))
}

fn range(from: &str, rest: &str) -> Result<Levels, String> {
    let (to, count) = match rest.rsplit_once(':') {
        Some((to, count)) => {
            let count: usize = count.trim().parse().map_err(|_| {
                format!(
                    "the number of values must be a whole number: got `{}`",
                    count.trim()
                )
            })?;
            if count < 2 {
                return Err(format!(
                    "the range is empty: got {count} values, limit at least 2; give one value with `=`"
                ));
            }
            (to, Some(count))
        }
        None => (rest, None),
    };
    let (from, to) = (unquoted(from), unquoted(to));
    if from.is_empty() || to.is_empty() {
        return Err(
            "a range needs a value on both sides of `..`; try `13 mm..25 mm:13`".to_owned(),
        );
    }
    let (start, end, unit) = ends(from, to)?;
    if start == end {
        return Err(format!(
            "the range is empty: `{from}` and `{to}` are the same value"
        ));
    }
    Ok(Levels::Range {
        from: start,
        to: end,
        unit,
        count,
        whole: false,
    })
}

fn unquoted(text: &str) -> &str {
    let text = text.trim();
    text.strip_prefix('"')
        .and_then(|t| t.strip_suffix('"'))
        .unwrap_or(text)
}

/// Both ends as numbers of one unit.
fn ends(from: &str, to: &str) -> Result<(f64, f64, Option<String>), String> {
    let finite = |text: &str| text.parse::<f64>().ok().filter(|x| x.is_finite());
    match (finite(from), finite(to)) {
        (Some(a), Some(b)) => return Ok((a, b, None)),
        // `13..25 mm`: the unit of the one is that of the other.
        (Some(_), None) => return ends(&format!("{from} {}", unit_of(to)), to),
        (None, Some(_)) => return ends(from, &format!("{to} {}", unit_of(from))),
        (None, None) => {}
    }
    let reads = |kind: &&Kind| kind.parse(from).is_ok() && kind.parse(to).is_ok();
    let Some(kind) = Kind::ALL.iter().find(reads) else {
        let one = Kind::ALL.iter().any(|k| k.parse(from).is_ok());
        let other = Kind::ALL.iter().any(|k| k.parse(to).is_ok());
        return Err(match (one, other) {
            (true, true) => {
                format!(
                    "`{from}` and `{to}` are not of one kind; give both ends in units of the same quantity"
                )
            }
            (false, _) => format!("`{from}` is no number with a known unit; try `13 mm..25 mm:13`"),
            _ => format!("`{to}` is no number with a known unit; try `13 mm..25 mm:13`"),
        });
    };
    let unit = match plain(from) {
        Some(_) => unit_of(from),
        None => unit_of(to),
    };
    let si = |text: &str| kind.parse(text).map_err(|e| e.to_string());
    let (zero, one) = (si(&format!("0 {unit}"))?, si(&format!("1 {unit}"))?);
    let number = |text: &str| match plain(text) {
        Some(x) if unit_of(text) == unit => Ok(x),
        _ => si(text).map(|si| rounded((si - zero) / (one - zero))),
    };
    Ok((number(from)?, number(to)?, Some(unit.to_owned())))
}

/// The decimal that a text begins with, if a known unit is all that follows.
fn plain(text: &str) -> Option<f64> {
    let unit = unit_of(text);
    let number = text.strip_suffix(unit)?.trim();
    number.parse::<f64>().ok().filter(|x| x.is_finite())
}

/// The unit of a number with its unit: what is left after the longest beginning that is a number.
fn unit_of(text: &str) -> &str {
    let known = |unit: &str| {
        let one = format!("1 {unit}");
        !unit.is_empty() && Kind::ALL.iter().any(|kind| kind.parse(&one).is_ok())
    };
    let ends: Vec<usize> = text.char_indices().map(|(at, _)| at).collect();
    ends.into_iter()
        .rev()
        .filter(|&at| text[..at].trim().parse::<f64>().is_ok())
        .map(|at| text[at..].trim())
        .find(|unit| known(unit))
        .unwrap_or_else(|| text.trim_start_matches(|c: char| "0123456789.+-/ ".contains(c)))
}

fn rounded(x: f64) -> f64 {
    let digits = DIGITS - 1;
    format!("{x:.digits$e}").parse().unwrap_or(x)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn levels(text: &str) -> Vec<String> {
        let vary: Vary = format!("a.b={text}").parse().expect(text);
        let count = vary.levels.count().expect("a count");
        (0..count)
            .map(|k| match vary.levels.level(k) {
                Value::String(text) => text,
                other => other.to_string(),
            })
            .collect()
    }

    fn refused(text: &str) -> String {
        text.parse::<Vary>().expect_err(text).to_string()
    }

    #[test]
    fn a_range_keeps_its_ends_and_its_unit() {
        assert_eq!(levels("13 mm..19 mm:3"), ["13 mm", "16 mm", "19 mm"]);
        assert_eq!(levels("13..19 mm:3"), ["13 mm", "16 mm", "19 mm"]);
        assert_eq!(
            levels("\"13 mm\"..\"19 mm\":3"),
            ["13 mm", "16 mm", "19 mm"]
        );
        assert_eq!(levels("1/2 in..1 in:3"), ["0.5 in", "0.75 in", "1 in"]);
        assert_eq!(levels("12.7 mm..1 in:2"), ["12.7 mm", "25.4 mm"]);
        assert_eq!(
            levels("20 degC..104 degF:3"),
            ["20 degC", "30 degC", "40 degC"]
        );
        assert_eq!(levels("0..0.6:4"), ["0", "0.2", "0.4", "0.6"]);
        assert_eq!(levels("9..1:3"), ["9", "5", "1"]);
        assert_eq!(levels("0 kPa..1 kPa:11")[3], "0.3 kPa");
        assert_eq!(levels("-15 degC..5 degC:3")[1], "-5 degC");
        assert_eq!(levels("1e3 Pa..2e3 Pa:2"), ["1000 Pa", "2000 Pa"]);
    }

    #[test]
    fn a_list_takes_each_value_as_it_stands() {
        assert_eq!(levels("13 mm, 3/4 in"), ["13 mm", "3/4 in"]);
        assert_eq!(levels("same_end,centre"), ["same_end", "centre"]);
        assert_eq!(levels("1,2.5"), ["1", "2.5"]);
        assert_eq!(levels("[[\"a\"], [\"b\"]]"), ["[\"a\"]", "[\"b\"]"]);
    }

    #[test]
    fn a_share_of_a_whole_range_is_whole_and_reaches_both_ends() {
        let mut vary: Vary = "a=3..5".parse().expect("a range");
        if let Levels::Range { whole, .. } = &mut vary.levels {
            *whole = true;
        }
        let drawn: Vec<Value> = [0.0, 0.32, 0.34, 0.7, 0.999_999]
            .iter()
            .map(|u| vary.levels.at_share(*u))
            .collect();
        assert_eq!(drawn, [3, 3, 4, 5, 5].map(Value::from));
        let list: Vary = "a=x,y".parse().expect("a list");
        assert_eq!(list.levels.at_share(0.499), "x");
        assert_eq!(list.levels.at_share(0.5), "y");
    }

    #[test]
    fn what_is_no_range_says_why() {
        for (text, said) in [
            (
                "a.b=3 mm..3 mm:5",
                "cannot vary `a.b` because the range is empty: `3 mm` and `3 mm` are the same value",
            ),
            (
                "a.b=3 mm..5 mm:1",
                "cannot vary `a.b` because the range is empty: got 1 values, limit at least 2; give one value with `=`",
            ),
            (
                "a.b=3 mm..5 mm:many",
                "cannot vary `a.b` because the number of values must be a whole number: got `many`",
            ),
            (
                "a.b=3 mm..5 psi:3",
                "cannot vary `a.b` because `3 mm` and `5 psi` are not of one kind; give both ends in units of the same quantity",
            ),
            (
                "a.b=wide..5 mm:3",
                "cannot vary `a.b` because `wide` is no number with a known unit; try `13 mm..25 mm:13`",
            ),
            (
                "a.b=..5 mm:3",
                "cannot vary `a.b` because a range needs a value on both sides of `..`; try `13 mm..25 mm:13`",
            ),
            (
                "a.b=1,,2",
                "cannot vary `a.b` because there is nothing between two commas",
            ),
            (
                "a.b",
                "cannot vary `a.b` because a path, `=` and values are wanted; try `PATH=13 mm..25 mm:13` or `PATH=13 mm,16 mm,19 mm`",
            ),
        ] {
            assert_eq!(refused(text), said);
        }
    }
}
