//! From text to tree: caps and one scan first, then the parser, then what strict JSON leaves open.

use std::collections::HashMap;
use std::ops::Range;

use jsonc_parser::{CollectOptions, ParseOptions, ast};

use super::caps::{LARGEST_BYTES, MOST_KEPT};
use super::document::{Document, line_column};
use super::explain::explain;
use super::node::{Entry, Kind, Node, narrow};
use super::scan::{Scan, empty};
use crate::design::show::{Fault, FaultCode, MOST_SHOWN, excerpt};
use crate::place::{Place, Step};

/// Reads a text as strict JSON.
///
/// Size and nesting are checked against [`LARGEST_BYTES`] and [`DEEPEST`](super::DEEPEST) by one scan before anything is parsed.
///
/// # Errors
/// One [`Fault`] where the text stops being JSON, or one for each key that stands twice and each number that is not
/// finite.
///
/// ```
/// # use loopwright::design::read_text;
/// let document = read_text(r#"{ "bore": "19 mm", "note": "new" }"#).unwrap();
/// assert_eq!(document.value(), serde_json::json!({ "bore": "19 mm" }));
/// let faults = read_text(r#"{ "bore": "19 mm", }"#).unwrap_err();
/// assert_eq!(faults[0].message, "cannot read the comma because no entry follows it");
/// ```
pub fn read_text(text: &str) -> Result<Document, Vec<Fault>> {
    check_size(text.len()).map_err(|fault| vec![fault])?;
    let scan = Scan::of(text).map_err(|fault| vec![fault])?;
    let collect = CollectOptions::default();
    let options = ParseOptions {
        allow_comments: false,
        allow_loose_object_property_names: false,
        allow_trailing_commas: false,
        allow_missing_commas: false,
        allow_single_quoted_strings: false,
        allow_hexadecimal_numbers: false,
        allow_unary_plus_numbers: false,
        allow_bare_decimal_point_numbers: false,
        // Refused later, all of them in one pass and each with its place.
        allow_non_finite_numbers: true,
        allow_extended_string_escapes: false,
    };
    let parsed = jsonc_parser::parse_to_ast(text, &collect, &options);
    let value = match (parsed, scan.fault) {
        (Ok(parsed), None) => parsed.value.ok_or_else(|| vec![empty(text)])?,
        (Ok(_), Some(fault)) => return Err(vec![fault]),
        (Err(error), Some(fault))
            if fault
                .span
                .as_ref()
                .is_some_and(|span| span.start <= error.range().start) =>
        {
            return Err(vec![fault]);
        }
        (Err(error), _) => return Err(vec![explain(&error, text, scan.open)]),
    };
    let mut build = Build {
        text,
        steps: Vec::new(),
        faults: Vec::new(),
    };
    let tree = build.node(value);
    if build.faults.is_empty() {
        Ok(Document {
            text: text.to_owned(),
            tree,
        })
    } else {
        Err(build.faults)
    }
}

/// Reads the bytes of a file: [`read_text`] for what may not be UTF-8.
///
/// # Errors
/// As [`read_text`], and one [`Fault`] if the bytes are not UTF-8.
pub fn read_bytes(bytes: &[u8]) -> Result<Document, Vec<Fault>> {
    check_size(bytes.len()).map_err(|fault| vec![fault])?;
    match std::str::from_utf8(bytes) {
        Ok(text) => read_text(text),
        Err(error) => {
            let before = &bytes[..error.valid_up_to()];
            let line = 1 + before.iter().filter(|byte| **byte == b'\n').count();
            let message =
                format!("cannot read the file because line {line} holds bytes that are not UTF-8");
            let fault = Fault::new(FaultCode::BadEncoding, Place::root(), None, message);
            Err(vec![
                fault.with_help("save the file with the encoding UTF-8"),
            ])
        }
    }
}

fn check_size(bytes: usize) -> Result<(), Fault> {
    if bytes <= LARGEST_BYTES {
        return Ok(());
    }
    let mega = |bytes: usize| bytes as f64 / (1024.0 * 1024.0);
    let (got, limit) = (mega(bytes), mega(LARGEST_BYTES));
    let message = format!(
        "cannot read the file because it is too large: got {got:.1} MB, limit {limit:.0} MB"
    );
    let fault = Fault::new(FaultCode::TooLarge, Place::root(), None, message);
    Err(fault.with_help("check that this is the design file"))
}

/// Turns the parser's tree into ours and collects what strict JSON leaves open.
struct Build<'a> {
    text: &'a str,
    steps: Vec<Step>,
    faults: Vec<Fault>,
}

impl Build<'_> {
    fn node(&mut self, value: ast::Value<'_>) -> Node {
        let (range, kind) = match value {
            ast::Value::NullKeyword(null) => (null.range, Kind::Null),
            ast::Value::BooleanLit(truth) => (truth.range, Kind::Truth(truth.value)),
            ast::Value::StringLit(text) => (text.range, Kind::Text(text.value.into())),
            ast::Value::NumberLit(number) => (number.range, self.number(&number)),
            ast::Value::Array(list) => {
                let mut entries = Vec::with_capacity(list.elements.len());
                for (index, element) in list.elements.into_iter().enumerate() {
                    self.steps.push(Step::Index(index));
                    entries.push(self.node(element));
                    self.steps.pop();
                }
                (list.range, Kind::List(entries.into()))
            }
            ast::Value::Object(object) => (object.range, self.map(object)),
        };
        Node {
            span: narrow(range),
            kind,
        }
    }

    fn number(&mut self, number: &ast::NumberLit<'_>) -> Kind {
        if let Ok(number) = number.value.parse::<serde_json::Number>()
            && number.as_f64().is_some_and(f64::is_finite)
        {
            return Kind::Number(number);
        }
        let shown = excerpt(number.value);
        let message = if number.value.bytes().any(|byte| byte.is_ascii_digit()) {
            format!("cannot read the number `{shown}` because it is too large: limit 1.8e308")
        } else {
            format!("cannot read `{shown}` because it is not a number that can be computed with")
        };
        let span = number.range.start..number.range.end;
        self.fault(
            FaultCode::NotANumber,
            span,
            message,
            "write a finite number".to_owned(),
        );
        Kind::Null
    }

    fn map(&mut self, object: ast::Object<'_>) -> Kind {
        let mut first: HashMap<Box<str>, usize> = HashMap::new();
        let mut entries = Vec::with_capacity(object.properties.len());
        for property in object.properties {
            let range = match &property.name {
                ast::ObjectPropName::String(name) => name.range,
                ast::ObjectPropName::Word(name) => name.range,
            };
            let key: Box<str> = property.name.into_string().into();
            self.steps.push(Step::Key(key.to_string()));
            if let Some(start) = first.get(&key) {
                let message = format!(
                    "cannot read `{}` because the object has this key already",
                    excerpt(&key)
                );
                // Counting lines takes the time of the whole text, so only those that are shown get it.
                let help = if self.faults.len() < MOST_SHOWN {
                    let line = line_column(self.text, *start).0;
                    format!("it stands first on line {line}; keep one of the two")
                } else {
                    "keep one of the two".to_owned()
                };
                self.fault(
                    FaultCode::DuplicateKey,
                    range.start..range.end,
                    message,
                    help,
                );
            } else {
                first.insert(key.clone(), range.start);
            }
            let value = self.node(property.value);
            self.steps.pop();
            entries.push(Entry {
                key,
                key_span: narrow(range),
                value,
            });
        }
        Kind::Map(entries.into())
    }

    fn fault(&mut self, code: FaultCode, span: Range<usize>, message: String, help: String) {
        if self.faults.len() < MOST_KEPT {
            let place = self.steps.iter().cloned().collect();
            self.faults
                .push(Fault::new(code, place, Some(span), message).with_help(help));
        }
    }
}
