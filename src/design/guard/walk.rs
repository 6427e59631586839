//! The walk over the syntax tree: every value against the shape its schema asks for.

use std::collections::HashMap;
use std::ops::Range;
use std::rc::Rc;

use serde_json::Value;

use super::shape::{Shape, is_value, plain};
use crate::design::show::{Fault, FaultCode, excerpt};
use crate::design::syntax::{
    DEEPEST, Document, Entry, Kind, LONGEST_NAME, MOST_KEPT, Node, SCHEMA,
};
use crate::place::{Place, Step, is_bare, is_name_character};

/// Least and largest size of a number of a design that is not 0, in SI units. Every quantity of a vehicle lies far inside,
/// and nothing overflows up to the ends (our choice; `tests/laws/extremes.rs`).
const REACH: std::ops::RangeInclusive<f64> = 1e-24..=1e24;

/// Reads a text as a quantity of a kind (the schema's `x-quantity`) and gives its value in SI units, or says why not.
pub(super) type Parse<'a> = &'a dyn Fn(&str, &str) -> Result<f64, String>;

/// Every mistake of a document against a schema, in the order of the text.
///
/// `parse` reads a text as a quantity of a kind, in that order, into SI units; what it says when it cannot is the
/// message. At most a thousand mistakes are kept, and one of code [`FaultCode::Unlisted`] then stands for the rest.
pub fn check(
    document: &Document,
    schema: &Value,
    parse: &dyn Fn(&str, &str) -> Result<f64, String>,
) -> Vec<Fault> {
    Walk::new(schema, Some(document.text()), parse).run(document.tree())
}

/// The same check of a design built in Rust, whose mistakes have a place but no span.
pub fn check_value(
    value: &Value,
    schema: &Value,
    parse: &dyn Fn(&str, &str) -> Result<f64, String>,
) -> Vec<Fault> {
    match Node::from_value(value, DEEPEST) {
        Some(tree) => Walk::new(schema, None, parse).run(&tree),
        None => {
            let message =
                format!("cannot read the design because it is nested too deeply: limit {DEEPEST}");
            vec![Fault::new(FaultCode::TooDeep, Place::root(), None, message)]
        }
    }
}

/// How a value is reached: the span of the key that leads to it, and the tag if it is a branch of a choice.
#[derive(Clone, Default)]
pub(super) struct Way<'a> {
    pub(super) key: Option<Range<usize>>,
    pub(super) tag: Option<&'a str>,
}

#[derive(Clone, Copy)]
pub(super) enum Trail<'a> {
    Key(&'a str),
    Index(usize),
}

pub(super) struct Walk<'a> {
    pub(super) schema: &'a Value,
    pub(super) text: Option<&'a str>,
    pub(super) parse: Parse<'a>,
    pub(super) trail: Vec<Trail<'a>>,
    pub(super) faults: Vec<Fault>,
    pub(super) beyond: usize,
    /// Shapes by the address of their schema, which stays where it is during the walk.
    pub(super) shapes: HashMap<*const Value, Rc<Shape<'a>>>,
}

impl<'a> Walk<'a> {
    pub(super) fn new(schema: &'a Value, text: Option<&'a str>, parse: Parse<'a>) -> Walk<'a> {
        Walk {
            schema,
            text,
            parse,
            trail: Vec::new(),
            faults: Vec::new(),
            beyond: 0,
            shapes: HashMap::new(),
        }
    }

    pub(super) fn run(mut self, tree: &'a Node) -> Vec<Fault> {
        self.value(self.schema, tree, Way::default());
        self.faults
            .sort_by_key(|fault| fault.span.as_ref().map(|span| span.start));
        if self.beyond > 0 {
            let message = format!("{} more mistakes are not listed", self.beyond);
            self.faults.push(Fault::new(
                FaultCode::Unlisted,
                Place::root(),
                None,
                message,
            ));
        }
        self.faults
    }

    pub(super) fn place(&self) -> Place {
        let step = |trail: &Trail<'_>| match trail {
            Trail::Key(key) => Step::Key((*key).to_owned()),
            Trail::Index(index) => Step::Index(*index),
        };
        self.trail.iter().map(step).collect()
    }

    /// Keeps a mistake; `what` makes its message and help from the place only if there is room.
    pub(super) fn fault(
        &mut self,
        code: FaultCode,
        span: Range<usize>,
        what: impl FnOnce(&str) -> (String, Option<String>),
    ) {
        if self.faults.len() >= MOST_KEPT {
            self.beyond += 1;
            return;
        }
        let place = self.place();
        let (message, help) = what(&place.short_name());
        self.faults.push(Fault {
            code,
            place,
            span: self.text.map(|_| span),
            message,
            help,
        });
    }

    /// The words of the file for a value.
    pub(super) fn written(&self, node: &Node) -> String {
        match (&node.kind, self.text.and_then(|text| text.get(node.span()))) {
            (Kind::Text(text), _) => excerpt(text),
            (_, Some(text)) => excerpt(text),
            (Kind::Number(number), None) => number.to_string(),
            (Kind::Truth(truth), None) => truth.to_string(),
            (Kind::List(_), None) => "[...]".to_owned(),
            (Kind::Map(_), None) => "{...}".to_owned(),
            (Kind::Null, None) => "null".to_owned(),
        }
    }

    pub(super) fn value(&mut self, schema: &'a Value, node: &'a Node, way: Way<'a>) {
        if matches!(node.kind, Kind::Null) {
            return self.fault(FaultCode::WrongType, node.span(), |name| {
                (
                    format!("{name} is `null`, which stands for no value"),
                    Some("leave the key out".to_owned()),
                )
            });
        }
        let shape = self.shape(schema);
        if shape.branches.is_empty() {
            self.plain(&shape, node, way)
        } else {
            self.choice(&shape, node, way)
        }
    }

    /// A value that can be written in one way only.
    pub(super) fn plain(&mut self, shape: &Shape<'a>, node: &'a Node, way: Way<'a>) {
        if let Some(constants) = shape.constants() {
            if !constants.iter().any(|value| is_value(node, value)) {
                let words: Vec<String> = constants.iter().map(|value| plain(value)).collect();
                self.unknown_choice(
                    node.span(),
                    &self.written(node),
                    words.iter().map(String::as_str),
                );
            }
            return;
        }
        if !shape.takes(node) {
            return self.wrong_type(shape, node);
        }
        match &node.kind {
            Kind::Text(text) => self.text(shape, node, text),
            Kind::Number(number) => self.number(shape, node, number),
            Kind::List(entries) => self.list(shape, node, entries),
            Kind::Map(entries) => self.map(shape, node, entries, way),
            Kind::Null | Kind::Truth(_) => {}
        }
    }

    pub(super) fn text(&mut self, shape: &Shape<'a>, node: &Node, text: &str) {
        self.size(
            shape,
            node,
            ["minLength", "maxLength"],
            text.chars().count(),
        );
        let Some(kind) = shape.text("x-quantity") else {
            return;
        };
        match (self.parse)(kind, text) {
            Err(message) => self.fault(FaultCode::BadQuantity, node.span(), |_| (message, None)),
            Ok(value) if !value.is_finite() => {
                let written = self.written(node);
                self.fault(FaultCode::NotANumber, node.span(), |name| {
                    (
                        format!("{name} is `{written}`, but must be a finite number with its unit"),
                        None,
                    )
                });
            }
            Ok(value) => self.limits(shape, node, value),
        }
    }

    /// Refuses a number that is a slip and would overflow the laws; whether it did.
    fn out_of_reach(&mut self, node: &Node, value: f64, unit: &str) -> bool {
        let beyond = value != 0.0 && !REACH.contains(&value.abs());
        if beyond {
            let written = self.written(node);
            self.fault(FaultCode::OutOfRange, node.span(), |name| {
                let limit = format!("its size must be between 1e-24 and 1e24{unit}");
                let help = "such a number is a slip of the pen: look at its exponent and its unit";
                (
                    format!("{name} is `{written}`, but {limit}"),
                    Some(help.to_owned()),
                )
            });
        }
        beyond
    }

    pub(super) fn number(&mut self, shape: &Shape<'a>, node: &Node, number: &serde_json::Number) {
        let signed_64 =
            matches!(shape.text("format"), Some("int64" | "int")) && number.as_i64().is_none();
        match number.as_f64() {
            Some(value) if !signed_64 => self.limits(shape, node, value),
            _ => self.wrong_type(shape, node),
        }
    }

    pub(super) fn limits(&mut self, shape: &Shape<'a>, node: &Node, value: f64) {
        let unit = shape.text("x-quantity").map_or("", |_| " in SI units");
        if self.out_of_reach(node, value, unit) {
            return;
        }
        if let Some(limit) = shape.broken_limit(value) {
            let written = self.written(node);
            self.fault(FaultCode::OutOfRange, node.span(), |name| {
                (format!("{name} is `{written}`, but must be {limit}"), None)
            });
        }
    }

    /// Checks how many entries or characters a value has against the two words of its schema.
    pub(super) fn size(&mut self, shape: &Shape<'a>, node: &Node, words: [&str; 2], got: usize) {
        let [least, most] = words.map(|word| shape.count(word));
        let too_few = least.is_some_and(|least| got < least);
        if !too_few && most.is_none_or(|most| got <= most) {
            return;
        }
        let is_text = matches!(node.kind, Kind::Text(_));
        let entries = |count: usize| match (count, is_text) {
            (1, false) => "1 entry".to_owned(),
            (1, true) => "1 character".to_owned(),
            (_, false) => format!("{count} entries"),
            (_, true) => format!("{count} characters"),
        };
        let wanted = match (least, most) {
            (Some(least), Some(most)) if least == most => format!("exactly {}", entries(least)),
            (Some(least), _) if too_few => format!("at least {}", entries(least)),
            (_, most) => format!("at most {}", entries(most.unwrap_or(0))),
        };
        let code = if too_few {
            FaultCode::TooFew
        } else {
            FaultCode::TooMany
        };
        self.fault(code, node.span(), |name| {
            (
                format!("{name} has {}, but must have {wanted}", entries(got)),
                None,
            )
        });
    }

    pub(super) fn list(&mut self, shape: &Shape<'a>, node: &Node, entries: &'a [Node]) {
        self.size(shape, node, ["minItems", "maxItems"], entries.len());
        let first = shape
            .word("prefixItems")
            .and_then(Value::as_array)
            .map_or(&[][..], Vec::as_slice);
        let rest = shape.word("items");
        for (index, entry) in entries.iter().enumerate() {
            if let Some(schema) = first.get(index).or(rest) {
                self.trail.push(Trail::Index(index));
                self.value(schema, entry, Way::default());
                self.trail.pop();
            }
        }
    }

    pub(super) fn map(
        &mut self,
        shape: &Shape<'a>,
        node: &Node,
        entries: &'a [Entry],
        way: Way<'a>,
    ) {
        let additional = shape.additional();
        let is_root = self.trail.is_empty();
        let named = shape.word("x-names").and_then(Value::as_bool) == Some(true);
        let written = || entries.iter().filter(|entry| entry.note().is_none());
        self.size(
            shape,
            node,
            ["minProperties", "maxProperties"],
            written().count(),
        );
        let mut meant: Vec<&str> = Vec::new();
        for entry in written() {
            self.trail.push(Trail::Key(&entry.key));
            let inner = Way {
                key: Some(entry.key_span()),
                tag: shape.tag(),
            };
            match (shape.property(&entry.key), additional) {
                (Some(schema), _) => self.value(schema, &entry.value, inner),
                (None, _) if is_root && *entry.key == *SCHEMA => self.schema_key(entry),
                (None, None) => meant.extend(self.unknown_key(shape, entry, &way)),
                (None, Some(schema)) => {
                    if named {
                        self.name(entry);
                    }
                    self.value(schema, &entry.value, inner);
                }
            }
            self.trail.pop();
        }
        for key in shape.required() {
            if !meant.contains(&key) && !written().any(|entry| *entry.key == *key) {
                self.missing_key(shape, key, node, &way);
            }
        }
    }

    /// The key that names the schema for editors: any text.
    fn schema_key(&mut self, entry: &Entry) {
        if !matches!(entry.value.kind, Kind::Text(_)) {
            self.fault(FaultCode::WrongType, entry.value.span(), |name| {
                let help = "write where the schema is kept, or leave the key out";
                (format!("{name} must be a text"), Some(help.to_owned()))
            });
        }
    }

    pub(super) fn name(&mut self, entry: &Entry) {
        let length = entry.key.chars().count();
        if is_bare(&entry.key) && length <= LONGEST_NAME {
            return;
        }
        self.fault(FaultCode::BadName, entry.key_span(), |_| {
            let foreign = entry.key.chars().find(|c| !is_name_character(*c));
            let why = match foreign {
                _ if entry.key.trim().is_empty() => "it is empty".to_owned(),
                _ if length > LONGEST_NAME => {
                    format!("it is too long: got {length} characters, limit {LONGEST_NAME}")
                }
                Some(c) => format!("it holds `{}`", excerpt(&c.to_string())),
                None => "it begins or ends with a space".to_owned(),
            };
            let help = "a name holds letters, digits, space, `-` and `_`";
            (
                format!(
                    "cannot use the name `{}` because {why}",
                    excerpt(&entry.key)
                ),
                Some(help.to_owned()),
            )
        });
    }
}
