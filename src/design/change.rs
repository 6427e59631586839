//! Changing a design by path: the new value is written into the text, so that whatever is wrong with it is told as if
//! it stood in the file.

use std::fmt;
use std::str::FromStr;

use serde_json::Value;

use super::guard::check;
use super::path::{PathError, at, locate_new, nothing};
use super::read::parse;
use super::rules;
use super::show::{Fault, FaultCode};
use super::syntax::{Document, read_text};

/// A value to be put at a path: `loops.battery.parts.out.hose.bore=19 mm`.
///
/// What stands behind the `=` is JSON where it reads as JSON (`0.5`, `["a", "b"]`, `"19 mm"`), else a text as it stands.
///
/// ```
/// use loopwright::design::{Change, Source};
/// # let text = include_str!("../../networks/bookmobile.json");
/// let source = Source::read(text).unwrap();
/// let change: Change = "loops.battery.parts.out.hose.bore=19 mm".parse().unwrap();
/// let changed = Source::read(&source.document.changed(&[change]).unwrap()).unwrap();
/// assert_ne!(changed.design, source.design);
/// let wrong: Change = "loops.battery.parts.out.hose.bor=19 mm".parse().unwrap();
/// assert!(source.document.changed(&[wrong]).unwrap_err().to_string().contains("hose.bore"));
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// The path as typed.
    pub path: String,
    /// The new value.
    pub value: Value,
}

/// Why a change cannot be made.
#[derive(Clone, Debug, PartialEq)]
pub enum ChangeError {
    /// There is no `=`, or nothing on one of its sides.
    NotAChange(String),
    /// The path leads nowhere.
    Path(PathError),
    /// The value cannot stand at that path.
    Refused {
        /// The path.
        path: String,
        /// What is wrong.
        faults: Vec<Fault>,
    },
    /// The values to go through make no sense.
    Levels {
        /// The path, or the text as typed.
        path: String,
        /// What is wrong with them.
        why: String,
    },
}

impl fmt::Display for ChangeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotAChange(text) => write!(
                f,
                "cannot read the change `{text}` because a path, `=` and a value are wanted; try `loops.battery.parts.out.hose.bore=19 mm`"
            ),
            Self::Path(error) => error.fmt(f),
            Self::Refused { path, faults } => {
                write!(f, "cannot change `{path}`")?;
                for (k, fault) in faults.iter().enumerate() {
                    let before = if k == 0 { ": " } else { "; " };
                    write!(f, "{before}{}", fault.message)?;
                    if let Some(help) = &fault.help {
                        write!(f, "; {help}")?;
                    }
                }
                Ok(())
            }
            Self::Levels { path, why } => write!(f, "cannot vary `{path}` because {why}"),
        }
    }
}

impl std::error::Error for ChangeError {}

impl From<PathError> for ChangeError {
    fn from(error: PathError) -> Self {
        Self::Path(error)
    }
}

impl FromStr for Change {
    type Err = ChangeError;

    fn from_str(text: &str) -> Result<Self, ChangeError> {
        match split_at_equals(text) {
            Some((path, value)) => Ok(Self {
                path: path.to_owned(),
                value: read_value(value),
            }),
            None => Err(ChangeError::NotAChange(text.to_owned())),
        }
    }
}

/// The two sides of the first `=` outside quotes, neither of them empty.
pub(super) fn split_at_equals(text: &str) -> Option<(&str, &str)> {
    let mut quoted = false;
    let at = text.char_indices().find_map(|(at, c)| {
        quoted ^= c == '"';
        (c == '=' && !quoted).then_some(at)
    })?;
    let (path, value) = (text[..at].trim(), text[at + 1..].trim());
    (!path.is_empty() && !value.is_empty()).then_some((path, value))
}

/// A value as typed: JSON where it is JSON, else a text.
pub(super) fn read_value(text: &str) -> Value {
    let text = text.trim();
    serde_json::from_str(text).unwrap_or_else(|_| Value::from(text))
}

impl Document {
    /// The text of the document with changes made one after another. A key that its object may hold and does not is
    /// added; nothing else of the text is touched. Whether the values fit is for [`Source::read`](super::Source::read)
    /// to say.
    ///
    /// # Errors
    /// [`ChangeError`] where a path names nothing.
    pub fn changed(&self, changes: &[Change]) -> Result<String, ChangeError> {
        let mut document = self.clone();
        for change in changes {
            document = changed_once(&document, change)?;
        }
        Ok(document.text().to_owned())
    }
}

fn changed_once(document: &Document, change: &Change) -> Result<Document, ChangeError> {
    let value = document.value();
    let place = locate_new(&value, &change.path)?;
    let old = document.text();
    let written = change.value.to_string();
    let exists = at(&value, &place).is_some();
    let text = match (exists, place.last_key()) {
        (true, _) => {
            let span = document.span(&place).unwrap_or(0..old.len());
            format!("{}{written}{}", &old[..span.start], &old[span.end..])
        }
        (false, Some(key)) => {
            let holder = place.parent().unwrap_or_default();
            let span = document.span(&holder).unwrap_or(0..old.len());
            let (inside, end) = (span.start + 1, span.end.saturating_sub(1));
            let empty = old.get(inside..end).is_none_or(|s| s.trim().is_empty());
            let comma = if empty { "" } else { "," };
            let key = Value::from(key);
            format!(
                "{} {key}: {written}{comma}{}",
                &old[..inside],
                &old[inside..]
            )
        }
        (false, None) => old.to_owned(),
    };
    let refused = |faults: Vec<Fault>| ChangeError::Refused {
        path: change.path.clone(),
        faults,
    };
    let changed = read_text(&text).map_err(refused)?;
    let no_such_key = |fault: &Fault| {
        matches!(fault.code, FaultCode::UnknownKey | FaultCode::BadName) && fault.place == place
    };
    if !exists
        && check(&changed, rules::design(), &parse)
            .iter()
            .any(no_such_key)
    {
        let typed = change.path.parse().map_err(PathError::Unreadable)?;
        return Err(nothing(&value, &change.path, &typed).into());
    }
    Ok(changed)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::Source;

    const BENCH: &str = r#"{ "format": 1, "title": "bench", "coolants": { "water": { "water": {} } },
  "loops": { "bench": { "coolant": "water",
    "parts": { "mains": { "open_end": { "pressure": "20 kPa" } }, "bucket": { "open_end": {} },
               "feed": { "hose": { "bore": "12 mm", "length": "3 m" } } },
    "runs": [["mains", "feed", "bucket"]] } },
  "cases": { "cold tap": { "air": "12 degC" } } }"#;

    fn change(text: &str) -> Result<Source, String> {
        let source = Source::read(BENCH).expect("sound");
        let change: Change = text.parse().map_err(|e: ChangeError| e.to_string())?;
        let text = source
            .document
            .changed(&[change])
            .map_err(|e| e.to_string())?;
        Source::read(&text).map_err(|faults| {
            let told: Vec<String> = faults
                .iter()
                .map(|f| format!("{}: {}", f.place, f.message))
                .collect();
            told.join("\n")
        })
    }

    #[test]
    fn a_value_is_replaced_or_added_and_the_rest_stays() {
        let by_hand = Source::read(&BENCH.replace("12 mm", "3/4 in")).expect("sound");
        for text in [
            "loops.bench.parts.feed.hose.bore=3/4 in",
            "loops.bench.parts.feed.hose.bore=\"3/4 in\"",
        ] {
            let changed = change(text).expect(text);
            assert_eq!(changed.document.text(), by_hand.document.text());
        }
        let added = change("cases.cold tap.altitude=800 m").expect("it may stand there");
        assert_eq!(
            added.design.cases["cold tap"].altitude.map(|a| a.m()),
            Some(800.0)
        );
        let added = change("loops.bench.parts.bucket.open_end.elevation=1 m").expect("likewise");
        assert!(added.document.text().contains(r#"{ "elevation": "1 m"}"#));
    }

    #[test]
    fn what_is_wrong_is_told_as_in_a_file_and_names_the_path() {
        for (text, said) in [
            (
                "loops.bench.parts.feed.hose.bore=5 psi",
                "loops.bench.parts.feed.hose.bore: a length is wanted, but `5 psi` is a pressure; try \"19 mm\" or \"3/4 in\"",
            ),
            (
                "loops.bench.parts.feed.hose.bore=12",
                "loops.bench.parts.feed.hose.bore: cannot read `12` for bore because a length needs its unit; write it as text with its unit, such as \"19 mm\"",
            ),
            (
                "loops.bench.parts.feed.hose.bore=-3 mm",
                "loops.bench.parts.feed.hose.bore: bore is `-3 mm`, but must be greater than zero",
            ),
            (
                "loops.bench.parts.feed.hose.bor=3 mm",
                "cannot find `loops.bench.parts.feed.hose.bor` because `loops.bench.parts.feed.hose` has no `bor` but `bore`, `length`; did you mean `loops.bench.parts.feed.hose.bore`?",
            ),
            (
                "loops.bench.parts.fed.hose.bore=3 mm",
                "cannot find `loops.bench.parts.fed.hose.bore` because `loops.bench.parts` has no `fed` but `mains`, `bucket`, `feed`; did you mean `loops.bench.parts.feed.hose.bore`?",
            ),
            (
                "loops.bench.parts.feed.hose.bore",
                "cannot read the change `loops.bench.parts.feed.hose.bore` because a path, `=` and a value are wanted; try `loops.battery.parts.out.hose.bore=19 mm`",
            ),
            (
                "loops.bench.runs[4]=[\"a\"]",
                "cannot find `loops.bench.runs[4]` because `loops.bench.runs` has only [0] and no [4]",
            ),
        ] {
            assert_eq!(change(text).expect_err(text), said);
        }
    }
}
