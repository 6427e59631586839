//! Reads the text of a design file as strict JSON and keeps where every key and value stands.
//! It knows no key of the document; [`guard`](super::guard) checks those. The parser is wrapped here and nowhere else.

use std::collections::HashMap;
use std::ops::Range;

use jsonc_parser::errors::{ParseError, ParseErrorKind};
use jsonc_parser::{CollectOptions, ParseOptions, ast};

use super::show::{Fault, FaultCode, MOST_SHOWN, excerpt};
use crate::place::{Place, Step};

/// Largest file that is read, in bytes: 32 MB, a thousand times a large design.
pub const LARGEST_BYTES: usize = 32 * 1024 * 1024;
/// Most objects and lists that may stand inside one another; a design needs about ten.
pub const DEEPEST: usize = 64;
/// Most mistakes that are kept of one file.
pub(super) const MOST_KEPT: usize = 1000;
/// The key that any object may carry with a text for the reader.
pub(super) const NOTE: &str = "note";
/// The key of the root that names the schema for editors.
pub(super) const SCHEMA: &str = "$schema";

/// The text of a design file with its syntax tree.
///
/// It is sound JSON in the strict sense, each key stands once in its object, and every number is finite. Whether it is
/// a design is for [`check`](super::check) to say.
#[derive(Clone, Debug)]
pub struct Document {
    text: String,
    tree: Node,
}

/// A value of the syntax tree. Built from Rust it has no text, and its spans are empty.
#[derive(Clone, Debug)]
pub(super) struct Node {
    span: (u32, u32),
    pub(super) kind: Kind,
}

#[derive(Clone, Debug)]
pub(super) enum Kind {
    Null,
    Truth(bool),
    Number(serde_json::Number),
    Text(Box<str>),
    List(Box<[Node]>),
    Map(Box<[Entry]>),
}

/// A key of an object and its value.
#[derive(Clone, Debug)]
pub(super) struct Entry {
    pub(super) key: Box<str>,
    key_span: (u32, u32),
    pub(super) value: Node,
}

/// Reads a text as strict JSON.
///
/// Size and nesting are checked against [`LARGEST_BYTES`] and [`DEEPEST`] by one scan before anything is parsed.
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

    pub(super) fn tree(&self) -> &Node {
        &self.tree
    }
}

impl Node {
    /// The same tree for a value built in Rust; none if it is nested deeper than `room`.
    pub(super) fn from_value(value: &serde_json::Value, room: usize) -> Option<Node> {
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

    pub(super) fn span(&self) -> Range<usize> {
        wide(self.span)
    }

    fn step(&self, step: &Step) -> Option<(Option<&Entry>, &Node)> {
        match (step, &self.kind) {
            (Step::Index(index), Kind::List(entries)) => Some((None, entries.get(*index)?)),
            (Step::Key(key), Kind::Map(entries)) => {
                let entry = entries.iter().find(|entry| *entry.key == **key)?;
                Some((Some(entry), &entry.value))
            }
            _ => None,
        }
    }

    fn value(&self) -> serde_json::Value {
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
    pub(super) fn key_span(&self) -> Range<usize> {
        wide(self.key_span)
    }

    /// The text of this entry if it is a note.
    pub(super) fn note(&self) -> Option<&str> {
        match &self.value.kind {
            Kind::Text(text) if *self.key == *NOTE => Some(text),
            _ => None,
        }
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
pub(super) fn line_column(text: &str, byte: usize) -> (usize, usize) {
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

fn wide(span: (u32, u32)) -> Range<usize> {
    span.0 as usize..span.1 as usize
}

/// Offsets fit because no text is longer than [`LARGEST_BYTES`].
fn narrow(range: jsonc_parser::common::Range) -> (u32, u32) {
    let offset = |byte| u32::try_from(byte).unwrap_or(u32::MAX);
    (offset(range.start), offset(range.end))
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

fn empty(text: &str) -> Fault {
    let message = "cannot read a design because the file is empty";
    let fault = Fault::new(
        FaultCode::Empty,
        Place::root(),
        Some(0..text.len().min(1)),
        message,
    );
    fault.with_help("the least that a design needs begins with { \"format\": 1 }")
}

/// What one pass over the bytes tells before anything is parsed.
struct Scan {
    /// The first spot that strict JSON refuses and the parser would let pass.
    fault: Option<Fault>,
    /// The last brace, bracket or quote that is open at the end.
    open: Option<usize>,
}

impl Scan {
    fn of(text: &str) -> Result<Scan, Fault> {
        if text.starts_with('\u{feff}') {
            let message = "cannot read the file because it begins with a byte order mark";
            let fault = Fault::new(FaultCode::BadEncoding, Place::root(), Some(0..3), message);
            return Err(fault.with_help("save it as UTF-8 without a byte order mark"));
        }
        if text.trim().is_empty() {
            return Err(empty(text));
        }
        let (mut open, mut quote, mut escaped, mut fault) = (Vec::new(), None, false, None);
        let mut syntax = |span: Range<usize>, message: String, help: &str| {
            if fault.is_none() {
                let new = Fault::new(FaultCode::Syntax, Place::root(), Some(span), message);
                fault = Some(new.with_help(help));
            }
        };
        for (at, byte) in text.bytes().enumerate() {
            if let Some(start) = quote {
                match byte {
                    b'\n' | b'\r' => {
                        let message = "cannot read the text that begins here because it does not end on its line";
                        syntax(
                            start..at,
                            message.to_owned(),
                            "close it with a double quote",
                        );
                        quote = None;
                        escaped = false;
                    }
                    _ if byte < b' ' => {
                        let message =
                            format!("cannot read the control character {byte:#04x} in a text");
                        syntax(
                            at..at + 1,
                            message,
                            "write a space or an escape such as \\t",
                        );
                    }
                    _ if escaped => escaped = false,
                    b'\\' => escaped = true,
                    b'"' => quote = None,
                    _ => {}
                }
                continue;
            }
            match byte {
                b'"' => quote = Some(at),
                b'{' | b'[' if open.len() == DEEPEST => {
                    let message = format!(
                        "cannot read the file because it is nested too deeply: got more than {DEEPEST} objects and \
                         lists inside one another, limit {DEEPEST}"
                    );
                    let fault =
                        Fault::new(FaultCode::TooDeep, Place::root(), Some(at..at + 1), message);
                    return Err(fault.with_help("check for a bracket that is never closed"));
                }
                b'{' | b'[' => open.push(at),
                b'}' | b']' => {
                    open.pop();
                }
                b'\t' | b'\n' | b'\r' | b' '..=b'~' => {}
                _ => {
                    // A continuation byte is reported with the first byte of its character.
                    let Some(c) = text.get(at..).and_then(|rest| rest.chars().next()) else {
                        continue;
                    };
                    let message = match c {
                        _ if c.is_control() || c.is_whitespace() => {
                            format!(
                                "cannot read the invisible character U+{:04X} outside a text",
                                c as u32
                            )
                        }
                        _ => format!("cannot read `{c}` outside a text"),
                    };
                    let help = match c {
                        '\u{201c}'..='\u{201f}' | '\u{ab}' | '\u{bb}' => {
                            "use the plain double quote \""
                        }
                        _ => "remove it, or put the whole text in double quotes",
                    };
                    syntax(at..at + c.len_utf8(), message, help);
                }
            }
        }
        Ok(Scan {
            fault,
            open: quote.or(open.last().copied()),
        })
    }
}

/// What the parser refused, in words that say what to do.
fn explain(error: &ParseError, text: &str, open: Option<usize>) -> Fault {
    use ParseErrorKind as Kind;
    let (start, end) = (
        error.range().start.min(text.len()),
        error.range().end.min(text.len()),
    );
    let unterminated = matches!(
        error.kind(),
        Kind::UnterminatedObject | Kind::UnterminatedArray
    );
    let content_end = text.trim_end().len();
    if let Some(open) = open
        && (unterminated || end >= content_end)
    {
        return truncated(text, open, content_end);
    }
    let token = excerpt(text.get(start..end).unwrap_or(""));
    let rest = text.get(end..).unwrap_or("").trim_start();
    let before = text.get(..start).unwrap_or("").trim_end();
    let is_word = token.starts_with(char::is_alphabetic);
    let next: String = rest
        .chars()
        .take_while(|c| c.is_alphanumeric() || matches!(c, '/' | '_' | '%'))
        .collect();
    let after_value = |word: &str| {
        (
            format!("cannot read `{}` after the value", excerpt(word)),
            "write a value and its unit in double quotes, as in \"19 mm\"",
        )
    };
    let (message, help): (String, &str) = match error.kind() {
        Kind::CommentsNotAllowed | Kind::UnterminatedCommentBlock => (
            "cannot read a comment because JSON has none".into(),
            "write it as \"note\": \"...\" in the object it is for",
        ),
        Kind::TrailingCommasNotAllowed => (
            "cannot read the comma because no entry follows it".into(),
            "remove it, or add the missing entry",
        ),
        Kind::SingleQuotedStringsNotAllowed => (
            "cannot read a text in single quotes".into(),
            "use double quotes, as in \"19 mm\"",
        ),
        Kind::ExpectedComma if rest.starts_with(char::is_alphabetic) => after_value(&next),
        Kind::UnexpectedToken if is_word && before.ends_with(char::is_alphanumeric) => {
            after_value(&token)
        }
        Kind::ExpectedComma => (
            "cannot read on because a comma is missing here".into(),
            "put `,` between the entries",
        ),
        Kind::ExpectedStringObjectProperty => (
            format!("cannot read the key `{token}` without quotes"),
            "put keys in double quotes, as in \"bore\"",
        ),
        Kind::ExpectedColonAfterObjectKey => (
            "cannot read on because `:` is missing between the key and its value".into(),
            "write \"key\": value",
        ),
        Kind::ExpectedObjectValue | Kind::UnexpectedCloseBrace => (
            format!("cannot read `{token}` because a value is wanted here"),
            "write the value after the colon",
        ),
        Kind::MultipleRootJsonValues => (
            format!("cannot read `{token}` because the document has ended before it"),
            "check for a brace that closes too early; a file holds one object",
        ),
        Kind::HexadecimalNumbersNotAllowed
        | Kind::UnaryPlusNumbersNotAllowed
        | Kind::BareDecimalPointNumbersNotAllowed
        | Kind::ExpectedDigit
        | Kind::ExpectedDigitFollowingNegativeSign
        | Kind::ExpectedPlusMinusOrDigitInNumberLiteral => (
            "cannot read this number".into(),
            "write it as 12, -0.5 or 1.2e-3, and with a unit in double quotes",
        ),
        Kind::UnexpectedWord | Kind::UnexpectedToken if is_word => (
            format!("cannot read `{token}` as a value"),
            "put a text in double quotes; only true and false and numbers stand without",
        ),
        Kind::String(_) => (
            "cannot read this text because of its escape".into(),
            "write a backslash as \\\\, a double quote as \\\", others as \\n, \\t or \\u00b0",
        ),
        _ => (
            format!("cannot read `{token}` here"),
            "check the commas, colons and brackets before it",
        ),
    };
    Fault::new(FaultCode::Syntax, Place::root(), Some(start..end), message).with_help(help)
}

fn truncated(text: &str, open: usize, content_end: usize) -> Fault {
    let line = line_column(text, open).0;
    let (what, close) = match text.as_bytes().get(open) {
        Some(b'{') => ("object", "}"),
        Some(b'[') => ("list", "]"),
        _ => ("text", "\""),
    };
    let last = text[..content_end]
        .char_indices()
        .next_back()
        .map_or(0, |(at, _)| at);
    let message = format!(
        "cannot read on because the file ends inside the {what} that begins on line {line}"
    );
    let fault = Fault::new(
        FaultCode::Truncated,
        Place::root(),
        Some(last..content_end),
        message,
    );
    fault.with_help(format!(
        "check that the file is complete; close the {what} with `{close}`"
    ))
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

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    fn first_fault(text: &str) -> Fault {
        let faults = read_text(text).expect_err(text);
        faults.into_iter().next().expect("a refusal has a fault")
    }

    #[test]
    fn every_way_of_not_being_json_gets_its_own_words() {
        for (text, code, words, marked) in [
            ("", FaultCode::Empty, "the file is empty", ""),
            (" \n\t", FaultCode::Empty, "the file is empty", " "),
            (
                "\u{feff}{}",
                FaultCode::BadEncoding,
                "byte order mark",
                "\u{feff}",
            ),
            (
                "{\"a\": 1",
                FaultCode::Truncated,
                "inside the object that begins on line 1",
                "1",
            ),
            (
                "{\n\"a\": [1,\n",
                FaultCode::Truncated,
                "inside the list that begins on line 2",
                ",",
            ),
            ("{\"a\":", FaultCode::Truncated, "inside the object", ":"),
            ("{\"a", FaultCode::Truncated, "inside the text", "a"),
            ("{\"a\": \"19", FaultCode::Truncated, "inside the text", "9"),
            ("{\"a\": 1,}", FaultCode::Syntax, "the comma", ","),
            ("[1, 2, ]", FaultCode::Syntax, "the comma", ","),
            (
                "{\"a\": 1 // one\n}",
                FaultCode::Syntax,
                "a comment",
                "// one",
            ),
            (
                "{ /* \"one */ }",
                FaultCode::Syntax,
                "a comment",
                "/* \"one */",
            ),
            ("{'a': 1}", FaultCode::Syntax, "single quotes", "'"),
            (
                "{a: 1}",
                FaultCode::Syntax,
                "the key `a` without quotes",
                "a",
            ),
            ("{\"a\" 1}", FaultCode::Syntax, "`:` is missing", "1"),
            ("{\"a\": }", FaultCode::Syntax, "a value is wanted", "}"),
            (
                "{\"a\": 19 mm}",
                FaultCode::Syntax,
                "`mm` after the value",
                "mm",
            ),
            (
                "{\"a\": 19mm }",
                FaultCode::Syntax,
                "`mm` after the value",
                "",
            ),
            (
                "{\"a\": [True]}",
                FaultCode::Syntax,
                "`True` as a value",
                "True",
            ),
            (
                "{\"a\": 1 \"b\": 2}",
                FaultCode::Syntax,
                "a comma is missing",
                "",
            ),
            ("{\"a\": abc}", FaultCode::Syntax, "`abc` as a value", "abc"),
            ("{\"a\": +1}", FaultCode::Syntax, "this number", "+"),
            ("{\"a\": 0x1F}", FaultCode::Syntax, "this number", "0"),
            ("{\"a\": 5.}", FaultCode::Syntax, "this number", "5."),
            (
                "{\"a\": \"19 mm,\n\"b\": 1}",
                FaultCode::Syntax,
                "does not end on its line",
                "\"19 mm,",
            ),
            ("{\"a\": \"\\q\"}", FaultCode::Syntax, "its escape", "\\q"),
            (
                "{\"a\": \u{201c}x\u{201d}}",
                FaultCode::Syntax,
                "outside a text",
                "\u{201c}",
            ),
            ("{\"a\":\u{a0}1}", FaultCode::Syntax, "U+00A0", "\u{a0}"),
            ("{} {}", FaultCode::Syntax, "the document has ended", "{"),
            ("{\"a\": NaN}", FaultCode::NotANumber, "`NaN`", "NaN"),
            (
                "{\"a\": -Infinity}",
                FaultCode::NotANumber,
                "`-Infinity`",
                "-Infinity",
            ),
            (
                "{\"a\": 1e999}",
                FaultCode::NotANumber,
                "`1e999` because it is too large",
                "1e999",
            ),
            (
                "{\"a\": 1, \"a\": 2}",
                FaultCode::DuplicateKey,
                "has this key already",
                "\"a\"",
            ),
        ] {
            let fault = first_fault(text);
            assert_eq!(fault.code, code, "{text}: {fault}");
            assert!(fault.message.contains(words), "{text}: {fault}");
            let span = fault.span.clone().expect("text has spans");
            assert_eq!(&text[span], marked, "{text}: {fault}");
            assert!(fault.help.is_some(), "{text}: {fault}");
        }
    }

    #[test]
    fn the_caps_are_checked_before_anything_is_parsed() {
        let large = format!("[\"{}\"]", "x".repeat(50_000_000));
        assert_eq!(
            first_fault(&large).message,
            "cannot read the file because it is too large: got 47.7 MB, limit 32 MB"
        );
        assert_eq!(
            read_bytes(large.as_bytes()).expect_err("too large")[0].code,
            FaultCode::TooLarge
        );
        let nested = |depth: usize| format!("{}1{}", "[".repeat(depth), "]".repeat(depth));
        assert!(read_text(&nested(DEEPEST)).is_ok());
        assert_eq!(first_fault(&nested(DEEPEST + 1)).code, FaultCode::TooDeep);
        assert_eq!(
            first_fault(&nested(10_000_000)).span,
            Some(DEEPEST..DEEPEST + 1)
        );
        assert!(
            read_text(&format!("[\"{}\"]", "[{".repeat(500))).is_ok(),
            "brackets inside a text do not nest"
        );
        let objects = "{\"a\":".repeat(2_000_000);
        assert_eq!(first_fault(&objects).code, FaultCode::TooDeep);
    }

    #[test]
    fn bytes_that_are_not_text_are_refused_with_their_line() {
        let faults = read_bytes(b"{\n\"a\": \"\xff\"}").expect_err("not UTF-8");
        assert!(faults[0].message.contains("line 2"), "{}", faults[0]);
        assert!(read_bytes(b"{}").is_ok());
    }

    #[test]
    fn all_bad_numbers_and_repeated_keys_are_found_in_one_pass() {
        let faults = read_text("{\"a\": [NaN, 1e400],\n\"b\": {\"c\": 1, \"c\": 2, \"c\": 3}}")
            .expect_err("four faults");
        let places: Vec<String> = faults.iter().map(|fault| fault.place.to_string()).collect();
        assert_eq!(places, ["a[0]", "a[1]", "b.c", "b.c"]);
        assert_eq!(
            faults[3].help.as_deref(),
            Some("it stands first on line 2; keep one of the two")
        );
        let many = format!("[{}]", vec!["NaN"; 5000].join(","));
        assert_eq!(read_text(&many).expect_err("many").len(), MOST_KEPT);
    }

    #[test]
    fn spans_lead_to_values_and_keys() {
        let text = "{ \"feed\": { \"bore\": \"19 mm\", \"points\": [1, [22]] } }";
        let document = read_text(text).expect("sound");
        let value = |path: &str| {
            &text[document
                .span(&path.parse().expect("path"))
                .expect("text has spans")]
        };
        let key = |path: &str| {
            document
                .key_span(&path.parse().expect("path"))
                .map(|span| &text[span])
        };
        assert_eq!(value("feed.bore"), "\"19 mm\"");
        assert_eq!(value("feed.points[1][0]"), "22");
        assert_eq!(
            value("feed.points[7]"),
            "[1, [22]]",
            "a missing place leads to its nearest parent"
        );
        assert_eq!(value(""), text);
        assert_eq!(key("feed.bore"), Some("\"bore\""));
        assert_eq!(key("feed.points[1]"), Some("\"points\""));
        assert_eq!(key("feed.length"), Some("\"feed\""));
        assert_eq!(key(""), None);
        assert_eq!(
            read_text("\n{ \"é\": 1 }").expect("sound").line_column(6),
            (2, 5)
        );
    }

    #[test]
    fn notes_and_the_schema_key_leave_the_value() {
        let text = r#"{ "$schema": "x", "note": "n0", "list": [{ "note": "n1", "a": 1.50 }], "note ": 1,
                        "inner": { "note": 3, "$schema": "kept" } }"#;
        let document = read_text(text).expect("sound");
        let wanted = serde_json::json!({ "list": [{ "a": 1.5 }], "note ": 1, "inner": { "note": 3, "$schema": "kept" } });
        assert_eq!(document.value(), wanted);
        let notes = document.notes();
        assert_eq!(
            notes,
            [
                (Place::root(), "n0".to_owned()),
                (Place::root().key("list").index(0), "n1".to_owned())
            ]
        );
    }

    /// A small linear congruential generator, so that a failure repeats.
    pub(in crate::design) fn random(seed: &mut u64) -> usize {
        *seed = seed
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(*seed >> 33).unwrap_or(0)
    }

    /// A text with a few characters dropped, doubled, moved or replaced.
    pub(in crate::design) fn mutated(text: &str, seed: &mut u64) -> String {
        const SPICE: [&str; 26] = [
            "{", "}", "[", "]", "\"", ",", ":", "'", "\\", "\\u", "\\ud800", "//", "/*", "NaN",
            "-", "+", "1e999", "0", ".", "null", "true", "é", "\u{feff}", "\u{0}", "\n", "note",
        ];
        let mut characters: Vec<char> = text.chars().collect();
        for _ in 0..=random(seed) % 4 {
            let at = random(seed) % (characters.len() + 1);
            let to = (at + random(seed) % 8).min(characters.len());
            match random(seed) % 4 {
                0 => drop(characters.drain(at..to)),
                1 => drop(characters.splice(at..at, SPICE[random(seed) % SPICE.len()].chars())),
                2 => drop(characters.splice(at..to, SPICE[random(seed) % SPICE.len()].chars())),
                _ if random(seed).is_multiple_of(4) => characters.truncate(at),
                _ => {
                    let copy = characters[at..to].to_vec();
                    let into = random(seed) % (characters.len() + 1);
                    drop(characters.splice(into..into, copy));
                }
            }
        }
        characters.into_iter().collect()
    }

    #[test]
    fn random_damage_never_panics_and_only_strict_json_passes() {
        let sound = r#"{ "a": { "b": ["19 mm", -1.5e-3, true, null, { "c": "\u00e9\n\"" }], "note": "größe" }, "d": 0 }"#;
        let mut seed = 1;
        let mut passed = 0;
        for _ in 0..40_000 {
            let text = mutated(sound, &mut seed);
            let strict = serde_json::from_str::<serde_json::Value>(&text);
            match read_text(&text) {
                Ok(document) => {
                    passed += 1;
                    assert!(strict.is_ok(), "{text:?} is not JSON");
                    let _ = (document.value(), document.notes());
                }
                Err(faults) => {
                    assert!(!faults.is_empty());
                    let ours = |fault: &Fault| fault.code == FaultCode::DuplicateKey;
                    assert!(
                        strict.is_err() || faults.iter().all(ours),
                        "{text:?} is JSON: {:?}",
                        faults[0]
                    );
                    for fault in &faults {
                        let span = fault.span.clone().expect("text has spans");
                        assert!(text.get(span).is_some(), "{text:?}: {fault:?}");
                    }
                    super::super::show::render(
                        &faults,
                        "f",
                        &text,
                        super::super::show::Style::Plain,
                    );
                }
            }
        }
        assert!(passed > 1000, "{passed} passed");
    }
}
