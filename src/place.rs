//! Where something stands in a design file: the keys and list places that lead to it from the root.
//! A place knows no text and no line; [`Document`](crate::design::Document) joins the two.

use std::fmt;
use std::str::FromStr;

/// One step of a [`Place`]: into an object by key, or into a list by its place, counted from zero.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Step {
    /// Into an object.
    Key(String),
    /// Into a list.
    Index(usize),
}

/// A path from the root of a design file, printed and parsed as `loops.battery.runs[2][0]`.
///
/// A key of letters, digits, space, `-` and `_` stands bare; any other key, and one that is empty or begins or ends
/// with a space, is written in double quotes with the escapes of JSON. What is printed parses back to the same place.
/// The root prints as nothing.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Place(Vec<Step>);

impl Place {
    /// The whole document.
    pub fn root() -> Place {
        Place::default()
    }

    /// The value under a key of the object that stands here.
    #[must_use]
    pub fn key(&self, key: &str) -> Place {
        self.with(Step::Key(key.to_owned()))
    }

    /// An entry of the list that stands here, counted from zero.
    #[must_use]
    pub fn index(&self, index: usize) -> Place {
        self.with(Step::Index(index))
    }

    /// The steps from the root.
    pub fn steps(&self) -> &[Step] {
        &self.0
    }

    /// The object or list that holds this place; nothing holds the root.
    pub fn parent(&self) -> Option<Place> {
        let (_, rest) = self.0.split_last()?;
        Some(Place(rest.to_vec()))
    }

    /// The key that leads to this place from the object that holds it; none for a list place and the root.
    pub fn last_key(&self) -> Option<&str> {
        match self.0.last()? {
            Step::Key(key) => Some(key),
            Step::Index(_) => None,
        }
    }

    /// The tail from the last key on (`curve[2][1]`), which names a value in a message.
    pub(crate) fn short_name(&self) -> String {
        let last_key = self.0.iter().rposition(|step| matches!(step, Step::Key(_)));
        let tail = Place(self.0[last_key.unwrap_or(0)..].to_vec());
        if tail.0.is_empty() {
            "the document".to_owned()
        } else {
            tail.to_string()
        }
    }

    fn with(&self, step: Step) -> Place {
        let mut steps = Vec::with_capacity(self.0.len() + 1);
        steps.extend_from_slice(&self.0);
        steps.push(step);
        Place(steps)
    }
}

impl FromIterator<Step> for Place {
    fn from_iter<I: IntoIterator<Item = Step>>(steps: I) -> Place {
        Place(steps.into_iter().collect())
    }
}

/// Whether a character may stand in a name: a letter, a digit, space, `-` or `_`.
pub(crate) fn is_name_character(c: char) -> bool {
    c.is_alphabetic() || c.is_ascii_digit() || matches!(c, ' ' | '-' | '_')
}

/// Whether a key can be written bare in a path.
pub(crate) fn is_bare(key: &str) -> bool {
    !key.is_empty()
        && !key.starts_with(' ')
        && !key.ends_with(' ')
        && key.chars().all(is_name_character)
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (position, step) in self.0.iter().enumerate() {
            match step {
                Step::Index(index) => write!(f, "[{index}]")?,
                Step::Key(key) => {
                    if position > 0 {
                        f.write_str(".")?;
                    }
                    if is_bare(key) {
                        f.write_str(key)?;
                    } else {
                        write!(f, "{}", serde_json::Value::from(key.as_str()))?;
                    }
                }
            }
        }
        Ok(())
    }
}

/// Why a text is not a [`Place`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlaceError {
    path: String,
    byte: usize,
    wanted: Wanted,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Wanted {
    Key,
    ListPlace,
    Quote,
    Separator,
}

impl fmt::Display for PlaceError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let wanted = match self.wanted {
            Wanted::Key => "a key of letters, digits, space, `-` or `_`, or one in double quotes",
            Wanted::ListPlace => "a list place such as `[2]`",
            Wanted::Quote => "the closing double quote of a key",
            Wanted::Separator => "`.` or `[`",
        };
        let rest = self.path.get(self.byte..).unwrap_or("");
        write!(
            f,
            "cannot read the path `{}` because {wanted} is wanted ",
            self.path
        )?;
        if rest.is_empty() {
            write!(f, "at its end")
        } else {
            write!(f, "where `{rest}` begins")
        }
    }
}

impl std::error::Error for PlaceError {}

impl FromStr for Place {
    type Err = PlaceError;

    /// Reads what [`Display`](fmt::Display) prints.
    ///
    /// # Errors
    /// [`PlaceError`] names the spot where the path stops making sense.
    fn from_str(path: &str) -> Result<Place, PlaceError> {
        let mut steps = Vec::new();
        let mut byte = 0;
        while byte < path.len() {
            let fail = |byte: usize, wanted: Wanted| PlaceError {
                path: path.to_owned(),
                byte,
                wanted,
            };
            let rest = &path[byte..];
            if let Some(inside) = rest.strip_prefix('[') {
                let end = inside
                    .find(']')
                    .ok_or_else(|| fail(byte, Wanted::ListPlace))?;
                let digits = &inside[..end];
                let index = digits
                    .parse()
                    .ok()
                    .filter(|_| digits.bytes().all(|b| b.is_ascii_digit()));
                steps.push(Step::Index(
                    index.ok_or_else(|| fail(byte, Wanted::ListPlace))?,
                ));
                byte += end + 2;
                continue;
            }
            if !steps.is_empty() {
                if !rest.starts_with('.') {
                    return Err(fail(byte, Wanted::Separator));
                }
                byte += 1;
            }
            let rest = &path[byte..];
            let length = if rest.starts_with('"') {
                let length = quoted_length(rest).ok_or_else(|| fail(byte, Wanted::Quote))?;
                let key =
                    serde_json::from_str(&rest[..length]).map_err(|_| fail(byte, Wanted::Key))?;
                steps.push(Step::Key(key));
                length
            } else {
                let length = rest.find(|c| !is_name_character(c)).unwrap_or(rest.len());
                let key = &rest[..length];
                if !is_bare(key) {
                    return Err(fail(byte, Wanted::Key));
                }
                steps.push(Step::Key(key.to_owned()));
                length
            };
            byte += length;
        }
        Ok(Place(steps))
    }
}

/// Length in bytes of the quoted key that `text` begins with, both quotes included.
fn quoted_length(text: &str) -> Option<usize> {
    let mut escaped = false;
    for (position, byte) in text.bytes().enumerate().skip(1) {
        match byte {
            _ if escaped => escaped = false,
            b'\\' => escaped = true,
            b'"' => return Some(position + 1),
            _ => {}
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_prints_dots_and_list_places() {
        let place = Place::root()
            .key("loops")
            .key("battery loop")
            .key("runs")
            .index(2)
            .index(0);
        assert_eq!(place.to_string(), "loops.battery loop.runs[2][0]");
        assert_eq!(
            place.parent().expect("it has one").to_string(),
            "loops.battery loop.runs[2]"
        );
        assert_eq!(place.short_name(), "runs[2][0]");
        assert_eq!(Place::root().to_string(), "");
        assert_eq!(Place::root().parent(), None);
    }

    #[test]
    fn what_is_printed_parses_back() {
        let odd = [
            "a",
            "",
            " x",
            "drive.inverter",
            "a\"b\\",
            "[2]",
            "größe 2",
            "line\nbreak",
            "x-y_z",
        ];
        for first in odd {
            for second in odd {
                let place = Place::root().key(first).index(7).key(second);
                assert_eq!(place.to_string().parse(), Ok(place));
            }
        }
        assert_eq!("".parse(), Ok(Place::root()));
        assert_eq!("[3].a".parse(), Ok(Place::root().index(3).key("a")));
    }

    #[test]
    fn a_bad_path_names_the_spot() {
        for (path, spot) in [
            ("a..b", "where `.b` begins"),
            ("a.", "at its end"),
            ("a[x]", "where `[x]` begins"),
            ("a[1", "where `[1` begins"),
            ("a[+1]", "where `[+1]` begins"),
            ("a[99999999999999999999999]", "where `[9"),
            ("a[1]b", "where `b` begins"),
            ("\"a", "closing double quote"),
            ("a/b", "where `/b` begins"),
        ] {
            let message = path.parse::<Place>().expect_err(path).to_string();
            assert!(message.contains(spot), "{path}: {message}");
        }
    }
}
