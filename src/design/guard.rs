//! Checks the syntax tree of a design against the JSON Schema that the record types generate, before they decode it.
//! It collects every independent mistake in one pass; what it lets pass, the record types accept. It knows no key and
//! no unit of its own: units are read by the function it is given.
//!
//! Two rules go beyond JSON Schema 2020-12: an object that names its properties is closed unless it says otherwise,
//! and `null` is refused everywhere. The `x-` words (`x-quantity`, `x-above`, `x-at-least`, `x-below`, `x-at-most`,
//! `x-limit-text`, `x-names`, `x-aliases`) are ours; those beside a `$ref` or a choice count for what it leads to.

use std::collections::HashMap;
use std::ops::Range;
use std::rc::Rc;

use serde_json::{Map, Value};

use super::nearest::{is_same_word, list, nearest};
use super::show::{Fault, FaultCode, excerpt};
use super::syntax::{DEEPEST, Document, Entry, Kind, MOST_KEPT, NOTE, Node, SCHEMA};
use crate::place::{Place, Step, is_bare, is_name_character};

/// Most characters of a name.
const LONGEST_NAME: usize = 60;
/// Most references and choices that are followed from one value to its schema; ours need about four.
const MOST_HOPS: usize = 16;

/// Reads a text as a quantity of a kind (the schema's `x-quantity`) and gives its value in SI units, or says why not.
type Parse<'a> = &'a dyn Fn(&str, &str) -> Result<f64, String>;

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

/// What a schema asks of a value: its own words and those that its references lead to, outer ones first.
#[derive(Clone, Default)]
struct Shape<'a> {
    layers: Vec<&'a Map<String, Value>>,
    /// The name of the last definition that was followed.
    name: Option<&'a str>,
    /// Two or more ways to write the value, none of which branches again.
    branches: Vec<Shape<'a>>,
}

impl<'a> Shape<'a> {
    fn word(&self, word: &str) -> Option<&'a Value> {
        self.layers.iter().find_map(|layer| layer.get(word))
    }

    fn text(&self, word: &str) -> Option<&'a str> {
        self.word(word)?.as_str()
    }

    fn count(&self, word: &str) -> Option<usize> {
        usize::try_from(self.word(word)?.as_u64()?).ok()
    }

    fn properties(&self) -> impl Iterator<Item = (&'a str, &'a Value)> {
        let maps = self
            .layers
            .iter()
            .filter_map(|layer| layer.get("properties")?.as_object());
        maps.flatten().map(|(key, schema)| (key.as_str(), schema))
    }

    fn property(&self, key: &str) -> Option<&'a Value> {
        self.layers
            .iter()
            .find_map(|layer| layer.get("properties")?.get(key))
    }

    fn required(&self) -> impl Iterator<Item = &'a str> {
        let lists = self
            .layers
            .iter()
            .filter_map(|layer| layer.get("required")?.as_array());
        lists.flatten().filter_map(Value::as_str)
    }

    /// The schema of keys that are not named; none if there can be no such keys.
    fn additional(&self) -> Option<&'a Value> {
        match self.word("additionalProperties") {
            Some(Value::Bool(false)) => None,
            None if self.properties().next().is_some() => None,
            other => Some(other.unwrap_or(&Value::Bool(true))),
        }
    }

    /// The key that marks this branch of a choice, if it is an object of that key alone.
    fn tag(&self) -> Option<&'a str> {
        let mut properties = self.properties();
        let (tag, _) = properties.next()?;
        let alone =
            properties.next().is_none() && self.required().eq([tag]) && self.additional().is_none();
        alone.then_some(tag)
    }

    /// The values that alone are allowed, if there are such.
    fn constants(&self) -> Option<Vec<&'a Value>> {
        let listed = || {
            self.word("enum")?
                .as_array()
                .map(|values| values.iter().collect())
        };
        self.word("const").map(|value| vec![value]).or_else(listed)
    }

    fn types(&self) -> Vec<&'a str> {
        match self.word("type") {
            Some(Value::String(one)) => vec![one],
            Some(Value::Array(several)) => several
                .iter()
                .filter_map(Value::as_str)
                .filter(|t| *t != "null")
                .collect(),
            _ if self.properties().next().is_some() => vec!["object"],
            _ if self.word("x-quantity").is_some() => vec!["string"],
            _ => Vec::new(),
        }
    }

    fn takes(&self, node: &Node) -> bool {
        let types = self.types();
        let own: &[&str] = match &node.kind {
            Kind::Null => return false,
            Kind::Truth(_) => &["boolean"],
            Kind::Number(number) if number.is_f64() => &["number"],
            Kind::Number(_) => &["number", "integer"],
            Kind::Text(_) => &["string"],
            Kind::List(_) => &["array"],
            Kind::Map(_) => &["object"],
        };
        types.is_empty() || types.iter().any(|one| own.contains(one))
    }

    /// What is wanted, as it stands after "must be".
    fn wanted(&self) -> String {
        if !self.branches.is_empty() {
            let tags: Vec<&str> = self.branches.iter().filter_map(Shape::tag).collect();
            let constants: Vec<String> = self
                .branches
                .iter()
                .filter_map(Shape::constants)
                .flatten()
                .map(plain)
                .collect();
            let mut ways: Vec<String> = Vec::new();
            if !constants.is_empty() {
                ways.push(list(constants.iter().map(String::as_str)));
            }
            for branch in self
                .branches
                .iter()
                .filter(|branch| branch.tag().is_none() && branch.constants().is_none())
            {
                let way = branch.wanted();
                if !ways.contains(&way) {
                    ways.push(way);
                }
            }
            if !tags.is_empty() {
                ways.push(format!("an object with the key {}", list(tags)));
            }
            return ways.join(", or ");
        }
        if let Some(constants) = self.constants() {
            return list(
                constants
                    .iter()
                    .map(|value| plain(value))
                    .collect::<Vec<_>>()
                    .iter()
                    .map(String::as_str),
            );
        }
        if let Some(kind) = self.text("x-quantity") {
            let example = self
                .example()
                .map_or(String::new(), |example| format!(", such as {example}"));
            return format!("{} as text with its unit{example}", with_article(kind));
        }
        let name = |one: &&str| match *one {
            "string" => "a text",
            "number" => "a number",
            "integer" => "a whole number",
            "array" => "a list",
            "boolean" => "true or false",
            _ => "an object",
        };
        self.types()
            .iter()
            .map(name)
            .collect::<Vec<_>>()
            .join(" or ")
    }

    fn example(&self) -> Option<&'a Value> {
        self.word("examples")?.as_array()?.first()
    }

    /// The limit that a value breaks, as it stands after "must be".
    fn broken_limit(&self, value: f64) -> Option<String> {
        let unit = if self.word("x-quantity").is_some() {
            " in SI units"
        } else {
            ""
        };
        self.layers.iter().find_map(|layer| {
            let bound =
                |ours: &str, theirs: &str| layer.get(ours).or_else(|| layer.get(theirs))?.as_f64();
            let above = bound("x-above", "exclusiveMinimum");
            let below = bound("x-below", "exclusiveMaximum");
            let (lowest, highest) = width(layer.get("format").and_then(Value::as_str));
            let at_least = bound("x-at-least", "minimum").or(lowest);
            let at_most = bound("x-at-most", "maximum").or(highest);
            let met = above.is_none_or(|limit| value > limit)
                && below.is_none_or(|limit| value < limit)
                && at_least.is_none_or(|limit| value >= limit)
                && at_most.is_none_or(|limit| value <= limit);
            if met {
                return None;
            }
            if let Some(text) = layer.get("x-limit-text").and_then(Value::as_str) {
                return Some(text.to_owned());
            }
            if let (Some(low), Some(high), None, None) = (at_least, at_most, above, below) {
                return Some(if low == high {
                    format!("{low}{unit}")
                } else {
                    format!("from {low} to {high}{unit}")
                });
            }
            let number = |limit: f64| {
                if limit == 0.0 {
                    "zero".to_owned()
                } else {
                    format!("{limit}{unit}")
                }
            };
            let words = [
                ("greater than", above),
                ("at least", at_least),
                ("less than", below),
                ("at most", at_most),
            ];
            let said = words
                .iter()
                .filter_map(|(word, limit)| limit.map(|limit| format!("{word} {}", number(limit))));
            Some(said.collect::<Vec<_>>().join(" and "))
        })
    }
}

/// The range of a whole number that its record holds in few bits.
fn width(format: Option<&str>) -> (Option<f64>, Option<f64>) {
    match format {
        Some("int8") => (Some(f64::from(i8::MIN)), Some(f64::from(i8::MAX))),
        Some("int16") => (Some(f64::from(i16::MIN)), Some(f64::from(i16::MAX))),
        Some("int32") => (Some(f64::from(i32::MIN)), Some(f64::from(i32::MAX))),
        Some("uint8") => (None, Some(f64::from(u8::MAX))),
        Some("uint16") => (None, Some(f64::from(u16::MAX))),
        Some("uint32") => (None, Some(f64::from(u32::MAX))),
        _ => (None, None),
    }
}

/// How a value is reached: the span of the key that leads to it, and the tag if it is a branch of a choice.
#[derive(Clone, Default)]
struct Way<'a> {
    key: Option<Range<usize>>,
    tag: Option<&'a str>,
}

#[derive(Clone, Copy)]
enum Trail<'a> {
    Key(&'a str),
    Index(usize),
}

struct Walk<'a> {
    schema: &'a Value,
    text: Option<&'a str>,
    parse: Parse<'a>,
    trail: Vec<Trail<'a>>,
    faults: Vec<Fault>,
    beyond: usize,
    /// Shapes by the address of their schema, which stays where it is during the walk.
    shapes: HashMap<*const Value, Rc<Shape<'a>>>,
}

impl<'a> Walk<'a> {
    fn new(schema: &'a Value, text: Option<&'a str>, parse: Parse<'a>) -> Walk<'a> {
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

    fn run(mut self, tree: &'a Node) -> Vec<Fault> {
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

    fn shape(&mut self, schema: &'a Value) -> Rc<Shape<'a>> {
        if let Some(shape) = self.shapes.get(&std::ptr::from_ref(schema)) {
            return Rc::clone(shape);
        }
        let mut shape = Shape::default();
        self.unfold(schema, &mut shape, MOST_HOPS);
        let shape = Rc::new(shape);
        self.shapes.insert(schema, Rc::clone(&shape));
        shape
    }

    fn unfold(&self, schema: &'a Value, shape: &mut Shape<'a>, hops: usize) {
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

    fn place(&self) -> Place {
        let step = |trail: &Trail<'_>| match trail {
            Trail::Key(key) => Step::Key((*key).to_owned()),
            Trail::Index(index) => Step::Index(*index),
        };
        self.trail.iter().map(step).collect()
    }

    /// Keeps a mistake; `what` makes its message and help from the place only if there is room.
    fn fault(
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
    fn written(&self, node: &Node) -> String {
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

    fn value(&mut self, schema: &'a Value, node: &'a Node, way: Way<'a>) {
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
    fn plain(&mut self, shape: &Shape<'a>, node: &'a Node, way: Way<'a>) {
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

    fn text(&mut self, shape: &Shape<'a>, node: &Node, text: &str) {
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

    fn number(&mut self, shape: &Shape<'a>, node: &Node, number: &serde_json::Number) {
        let signed_64 =
            matches!(shape.text("format"), Some("int64" | "int")) && number.as_i64().is_none();
        match number.as_f64() {
            Some(value) if !signed_64 => self.limits(shape, node, value),
            _ => self.wrong_type(shape, node),
        }
    }

    fn limits(&mut self, shape: &Shape<'a>, node: &Node, value: f64) {
        if let Some(limit) = shape.broken_limit(value) {
            let written = self.written(node);
            self.fault(FaultCode::OutOfRange, node.span(), |name| {
                (format!("{name} is `{written}`, but must be {limit}"), None)
            });
        }
    }

    /// Checks how many entries or characters a value has against the two words of its schema.
    fn size(&mut self, shape: &Shape<'a>, node: &Node, words: [&str; 2], got: usize) {
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

    fn list(&mut self, shape: &Shape<'a>, node: &Node, entries: &'a [Node]) {
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

    fn map(&mut self, shape: &Shape<'a>, node: &Node, entries: &'a [Entry], way: Way<'a>) {
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
                (None, _) if is_root && *entry.key == *SCHEMA => {}
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

    fn name(&mut self, entry: &Entry) {
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

    /// Reports a key that the object does not have, and gives the one that was meant if it is near.
    fn unknown_key(&mut self, shape: &Shape<'a>, entry: &Entry, way: &Way<'a>) -> Option<&'a str> {
        let key = excerpt(&entry.key);
        if *entry.key == *NOTE {
            let note = |_: &str| {
                (
                    "a note must be a text".to_owned(),
                    Some("write \"note\": \"...\"".to_owned()),
                )
            };
            self.fault(FaultCode::WrongType, entry.value.span(), note);
            return None;
        }
        let said_alias = |schema: &Value| {
            let aliases = schema
                .get("x-aliases")
                .and_then(Value::as_array)
                .into_iter()
                .flatten();
            aliases
                .filter_map(Value::as_str)
                .any(|alias| is_same_word(alias, &entry.key))
        };
        let alias = shape
            .properties()
            .find(|(_, schema)| said_alias(schema))
            .map(|(known, _)| known);
        let meant =
            alias.or_else(|| nearest(&entry.key, shape.properties().map(|(known, _)| known)));
        let object = object_name(shape, way);
        let tag = shape.tag().filter(|_| meant.is_none());
        self.fault(FaultCode::UnknownKey, entry.key_span(), |_| match (tag, meant) {
            (Some(tag), _) => {
                (format!("cannot read `{key}` beside `{tag}`"), Some(format!("put it inside `{tag}` if it belongs there")))
            }
            (None, Some(meant)) => {
                (format!("cannot read `{key}` because {object} has no such key; did you mean `{meant}`?"), None)
            }
            (None, None) => {
                let help = format!("the keys of {object} are {}", list(shape.properties().map(|(known, _)| known)));
                (format!("cannot read `{key}` because {object} has no such key"), Some(help.replace(" or ", " and ")))
            }
        });
        meant
    }

    fn missing_key(&mut self, shape: &Shape<'a>, key: &'a str, node: &Node, way: &Way<'a>) {
        // The key that leads to the object, or its opening brace.
        let brace = node.span().start..node.span().start + 1;
        let span = way.key.clone().unwrap_or(brace);
        let inner = shape.property(key).map(|schema| self.shape(schema));
        let object = object_name(shape, way);
        self.trail.push(Trail::Key(key));
        self.fault(FaultCode::MissingKey, span, |_| {
            let wanted = inner
                .map(|inner| inner.wanted())
                .filter(|wanted| !wanted.is_empty());
            (
                format!("{object} needs `{key}`, which is missing"),
                wanted.map(|wanted| format!("`{key}` is {wanted}")),
            )
        });
        self.trail.pop();
    }

    fn unknown_choice<'k>(
        &mut self,
        span: Range<usize>,
        written: &str,
        known: impl Iterator<Item = &'k str>,
    ) {
        let known: Vec<&str> = known.collect();
        self.fault(FaultCode::UnknownChoice, span, |name| {
            let message = format!("cannot read `{written}` for {name}");
            let choices = format!("choose {}", list(known.iter().copied()));
            match nearest(written, known.iter().copied()) {
                Some(meant) => (format!("{message}; did you mean `{meant}`?"), Some(choices)),
                None => (message, Some(choices)),
            }
        });
    }

    fn wrong_type(&mut self, shape: &Shape<'a>, node: &Node) {
        let written = self.written(node);
        let quantity = shape
            .branches
            .iter()
            .chain([shape])
            .find(|way| way.text("x-quantity").is_some());
        self.fault(FaultCode::WrongType, node.span(), |name| {
            if let (Kind::Number(_), Some(quantity)) = (&node.kind, quantity) {
                let kind = with_article(quantity.text("x-quantity").unwrap_or("quantity"));
                let example = quantity
                    .example()
                    .map_or(String::new(), |example| format!(", such as {example}"));
                let message =
                    format!("cannot read `{written}` for {name} because {kind} needs its unit");
                return (
                    format!("{message}; write it as text with its unit{example}"),
                    None,
                );
            }
            let got = match &node.kind {
                Kind::Text(_) => format!("the text `{written}`"),
                Kind::List(_) => "a list".to_owned(),
                Kind::Map(_) => "an object".to_owned(),
                _ => format!("`{written}`"),
            };
            let number = shape
                .types()
                .iter()
                .any(|one| matches!(*one, "number" | "integer"));
            let help = match &node.kind {
                Kind::Text(text) if number => number_in_text(text),
                _ => None,
            };
            (
                format!("{name} is {got}, but must be {}", shape.wanted()),
                help,
            )
        });
    }

    /// A value that can be written in several ways: the way is chosen by its tag or its type, then checked.
    fn choice(&mut self, shape: &Shape<'a>, node: &'a Node, way: Way<'a>) {
        let (tagged, free): (Vec<_>, Vec<_>) = shape
            .branches
            .iter()
            .partition(|branch| branch.tag().is_some());
        let tags: Vec<&str> = tagged.iter().filter_map(|branch| branch.tag()).collect();
        let chosen = match &node.kind {
            Kind::Map(entries) if !tags.is_empty() => {
                let known = |entry: &&Entry| tags.contains(&&*entry.key);
                let mut present = entries
                    .iter()
                    .filter(|entry| entry.note().is_none())
                    .filter(known);
                match (present.next(), present.next()) {
                    (Some(one), None) => tagged
                        .into_iter()
                        .find(|branch| branch.tag() == Some(&*one.key)),
                    (Some(one), Some(two)) => return self.two_choices(one, two),
                    (None, _) => match most_known(&free, node, entries) {
                        None => return self.no_tag(node, entries, &tags, &way),
                        some => some,
                    },
                }
            }
            Kind::Map(entries) => most_known(&free, node, entries),
            Kind::Text(text) => {
                let of = |branch: &&Shape<'a>| branch.constants().unwrap_or_default();
                let constants: Vec<&str> =
                    free.iter().flat_map(of).filter_map(Value::as_str).collect();
                if constants.contains(&&**text) {
                    return;
                }
                let open = free
                    .into_iter()
                    .find(|branch| branch.constants().is_none() && branch.takes(node));
                if open.is_none() && tags.contains(&&**text) {
                    let help = format!("write {{ \"{text}\": ... }}");
                    return self.fault(FaultCode::WrongType, node.span(), |name| {
                        (format!("{name} is the bare word `{text}`, but must be an object with that key"), Some(help))
                    });
                }
                if open.is_none() && !(constants.is_empty() && tags.is_empty()) {
                    let known = constants.into_iter().chain(tags);
                    return self.unknown_choice(node.span(), &self.written(node), known);
                }
                open
            }
            _ => self.by_type(&free, node),
        };
        match chosen {
            Some(branch) => self.plain(&joined(shape, branch), node, way),
            None => self.wrong_type(shape, node),
        }
    }

    /// The branch that takes the type of a value; between lists, the one that takes the type of the first entry.
    fn by_type<'s>(&mut self, free: &[&'s Shape<'a>], node: &Node) -> Option<&'s Shape<'a>> {
        let fitting: Vec<&Shape<'a>> = free
            .iter()
            .copied()
            .filter(|branch| branch.takes(node))
            .collect();
        if let (Kind::List(entries), [_, _, ..]) = (&node.kind, fitting.as_slice())
            && let Some(first) = entries.first()
        {
            for branch in &fitting {
                let prefix = branch.word("prefixItems").and_then(|prefix| prefix.get(0));
                let inner = prefix
                    .or_else(|| branch.word("items"))
                    .map(|schema| self.shape(schema));
                if inner.is_some_and(|inner| {
                    inner
                        .branches
                        .iter()
                        .chain([&*inner])
                        .any(|way| way.takes(first))
                }) {
                    return Some(branch);
                }
            }
        }
        fitting.first().copied()
    }

    fn two_choices(&mut self, one: &Entry, two: &Entry) {
        let (one, two, span) = (&*one.key, &*two.key, two.key_span());
        self.fault(FaultCode::TwoChoices, span, |name| {
            let message = format!("cannot read {name} because it says both `{one}` and `{two}`");
            (message, Some("keep one of the two".to_owned()))
        });
    }

    /// An object in which no key says what it is.
    fn no_tag(&mut self, node: &Node, entries: &'a [Entry], tags: &[&str], way: &Way<'a>) {
        if let Some(entry) = entries.iter().find(|entry| entry.note().is_none()) {
            return self.unknown_choice(
                entry.key_span(),
                &excerpt(&entry.key),
                tags.iter().copied(),
            );
        }
        let brace = node.span().start..node.span().start + 1;
        self.fault(
            FaultCode::MissingKey,
            way.key.clone().unwrap_or(brace),
            |name| {
                (
                    format!("{name} is empty, but must say what it is"),
                    Some(format!("choose {}", list(tags.iter().copied()))),
                )
            },
        );
    }
}

fn is_choice(layer: &Map<String, Value>, word: &str) -> bool {
    let is_null = |branch: &&Value| branch.get("type").and_then(Value::as_str) == Some("null");
    layer
        .get(word)
        .and_then(Value::as_array)
        .is_some_and(|ways| ways.iter().filter(|way| !is_null(way)).count() > 1)
}

/// A branch of a choice with the words that stand beside the choice.
fn joined<'a>(outer: &Shape<'a>, branch: &Shape<'a>) -> Shape<'a> {
    let layers = outer.layers.iter().chain(&branch.layers).copied().collect();
    Shape {
        layers,
        name: branch.name.or(outer.name),
        branches: Vec::new(),
    }
}

/// The branch that knows most keys of an object, the first of several.
fn most_known<'s, 'a>(
    free: &[&'s Shape<'a>],
    node: &Node,
    entries: &[Entry],
) -> Option<&'s Shape<'a>> {
    let unknown = |branch: &Shape<'a>| {
        entries
            .iter()
            .filter(|entry| branch.property(&entry.key).is_none())
            .count()
    };
    free.iter()
        .copied()
        .filter(|branch| branch.takes(node))
        .min_by_key(|branch| unknown(branch))
}

fn is_value(node: &Node, value: &Value) -> bool {
    match (&node.kind, value) {
        (Kind::Text(text), Value::String(wanted)) => **text == **wanted,
        (Kind::Number(number), Value::Number(wanted)) => number == wanted,
        (Kind::Truth(truth), Value::Bool(wanted)) => truth == wanted,
        _ => false,
    }
}

/// A constant without quotes.
fn plain(value: &Value) -> String {
    value
        .as_str()
        .map_or_else(|| value.to_string(), str::to_owned)
}

/// What to write for a number that stands in quotes.
fn number_in_text(text: &str) -> Option<String> {
    if let Some(percent) = text.trim().strip_suffix('%') {
        let share: f64 = percent
            .trim()
            .parse()
            .ok()
            .filter(|share: &f64| share.is_finite())?;
        return Some(format!("write {} for {share} %", share / 100.0));
    }
    let number: f64 = text
        .trim()
        .parse()
        .ok()
        .filter(|number: &f64| number.is_finite())?;
    Some(format!("write {number} without quotes"))
}

/// What an object is called in a message: by its tag or its definition, `a hose`.
fn object_name(shape: &Shape<'_>, way: &Way<'_>) -> String {
    let name = way
        .tag
        .or_else(|| shape.text("title"))
        .or(shape.name)
        .unwrap_or("object");
    let mut words = String::new();
    for c in name.chars() {
        if c.is_uppercase() && !words.is_empty() {
            words.push(' ');
        }
        words.extend(c.to_lowercase());
    }
    with_article(&words)
}

fn with_article(name: &str) -> String {
    let article = if name.starts_with(['a', 'e', 'i', 'o', 'u']) {
        "an"
    } else {
        "a"
    };
    format!("{article} {}", name.replace('_', " "))
}

#[cfg(test)]
mod tests {
    use indexmap::IndexMap;
    use schemars::{JsonSchema, json_schema};
    use serde::Deserialize;

    use super::super::show::{Style, render};
    use super::super::syntax::read_text;
    use super::*;

    // Records of the same make as those of the design, so that the true output of the generator is what is tested.

    #[derive(Deserialize, JsonSchema)]
    #[serde(deny_unknown_fields)]
    #[allow(dead_code)]
    struct Design {
        #[schemars(range(min = 1, max = 1))]
        format: u32,
        #[schemars(length(min = 1, max = 9))]
        title: Option<String>,
        #[schemars(extend("x-names" = true))]
        parts: IndexMap<String, Part>,
        #[serde(default)]
        runs: Vec<Vec<String>>,
        #[schemars(range(min = 0.0, max = 1.0))]
        share: Option<f64>,
        #[schemars(length(min = 2))]
        curve: Option<Vec<(Length, Length)>>,
        size: Option<[Length; 3]>,
        origin: Option<Origin>,
        law: Option<Law>,
        heat: Option<Heat>,
        #[schemars(extend("minProperties" = 1, "maxProperties" = 2))]
        shares: Option<IndexMap<String, f64>>,
        open: Option<bool>,
        count: Option<i64>,
    }

    #[derive(Deserialize, JsonSchema)]
    #[serde(deny_unknown_fields)]
    #[allow(dead_code)]
    struct Hose {
        #[schemars(extend("x-above" = 0, "x-limit-text" = "greater than zero", "x-aliases" = ["diameter"]))]
        bore: Length,
        #[schemars(extend("x-above" = 0, "x-at-most" = 100))]
        length: Option<Length>,
        #[serde(default)]
        fittings: Vec<Fitting>,
    }

    #[derive(Deserialize, JsonSchema)]
    #[serde(deny_unknown_fields)]
    #[allow(dead_code)]
    struct Elbow {
        count: u8,
    }

    #[derive(Deserialize, JsonSchema)]
    #[serde(rename_all = "snake_case")]
    #[allow(dead_code)]
    enum Fitting {
        #[serde(rename = "elbow_90")]
        Elbow(Elbow),
        Loss(f64),
    }

    #[derive(Deserialize, JsonSchema)]
    #[serde(rename_all = "snake_case")]
    #[allow(dead_code)]
    enum Part {
        /// A hose.
        Hose(Box<Hose>),
        ExpansionTank {
            elevation: Option<Length>,
        },
        Joint,
    }

    #[derive(Deserialize, JsonSchema)]
    #[serde(rename_all = "snake_case")]
    enum Origin {
        /// On a bench.
        Measured,
        /// By nobody.
        Placeholder,
    }

    #[derive(Deserialize, JsonSchema)]
    #[serde(rename_all = "snake_case")]
    #[allow(dead_code)]
    enum Law {
        Smooth,
        Rough { height: Length },
        Pair(f64, f64),
    }

    #[derive(Deserialize, JsonSchema)]
    #[serde(untagged)]
    #[allow(dead_code)]
    enum Heat {
        One(Length),
        Table(Vec<(Length, f64)>),
        Names(Vec<Length>),
        Where { x: Length, y: Option<Length> },
    }

    #[derive(Deserialize)]
    #[allow(dead_code)]
    struct Length(String);

    impl JsonSchema for Length {
        fn schema_name() -> std::borrow::Cow<'static, str> {
            "Length".into()
        }
        fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
            json_schema!({ "type": "string", "x-quantity": "length", "examples": ["19 mm"] })
        }
    }

    fn schema() -> Value {
        schemars::schema_for!(Design).to_value()
    }

    fn parse(kind: &str, text: &str) -> Result<f64, String> {
        assert_eq!(kind, "length");
        let (number, unit) = text
            .split_once(' ')
            .ok_or_else(|| format!("cannot read `{text}` as a length"))?;
        let factor = match unit {
            "mm" => 1e-3,
            "m" => 1.0,
            _ => {
                return Err(format!(
                    "cannot read `{text}` as a length because of its unit `{unit}`"
                ));
            }
        };
        Ok(factor
            * number
                .parse::<f64>()
                .map_err(|_| format!("cannot read the number of `{text}`"))?)
    }

    const SOUND: &str = r#"{
  "$schema": "design.schema.json", "format": 1, "title": "é", "note": "a note",
  "parts": {
    "note": "parts may carry one",
    "feed": { "note": "beside a tag", "hose": { "bore": "19 mm", "length": "1.4 m", "note": "n",
      "fittings": [{ "elbow_90": { "count": 2 } }, { "loss": 0.5, "note": "n" }] } },
    "tank 2": { "expansion_tank": { "elevation": "900 mm" } },
    "meet": "joint"
  },
  "runs": [["tank 2", "feed"], []],
  "share": 0.5, "curve": [["0 mm", "1 m"], ["1 mm", "2 m"]], "size": ["1 m", "2 m", "3 m"],
  "origin": "measured", "law": { "pair": [1, 2.5] }, "heat": [["1 m", 2]], "shares": { "a": 1 }, "open": true, "count": -3
}"#;

    fn faults_of(text: &str) -> Vec<Fault> {
        check(&read_text(text).expect("JSON"), &schema(), &parse)
    }

    /// The faults after one change of the sound document.
    fn changed(from: &str, to: &str) -> (String, Vec<Fault>) {
        assert_eq!(SOUND.matches(from).count(), 1, "{from}");
        let text = SOUND.replace(from, to);
        let faults = faults_of(&text);
        (text, faults)
    }

    #[test]
    fn a_sound_document_passes_and_decodes() {
        let document = read_text(SOUND).expect("JSON");
        assert_eq!(check(&document, &schema(), &parse), []);
        assert_eq!(check_value(&document.value(), &schema(), &parse), []);
        serde_json::from_value::<Design>(document.value()).expect("what passes decodes");
    }

    #[test]
    fn each_mistake_gets_one_fault_with_its_place_spot_and_words() {
        use FaultCode::*;
        for (from, to, code, place, marked, message, help) in [
            (
                "\"bore\": \"19 mm\"",
                "\"bor\": \"19 mm\"",
                UnknownKey,
                "parts.feed.hose.bor",
                "\"bor\"",
                "cannot read `bor` because a hose has no such key; did you mean `bore`?",
                "",
            ),
            (
                "\"bore\": \"19 mm\"",
                "\"diameter\": \"19 mm\"",
                UnknownKey,
                "parts.feed.hose.diameter",
                "\"diameter\"",
                "cannot read `diameter` because a hose has no such key; did you mean `bore`?",
                "",
            ),
            (
                "\"length\"",
                "\"colour\"",
                UnknownKey,
                "parts.feed.hose.colour",
                "\"colour\"",
                "cannot read `colour` because a hose has no such key",
                "the keys of a hose are `bore`, `length` and `fittings`",
            ),
            (
                "\"elevation\"",
                "\"hight\"",
                UnknownKey,
                "parts.tank 2.expansion_tank.hight",
                "\"hight\"",
                "cannot read `hight` because an expansion tank has no such key",
                "the keys of an expansion tank are `elevation`",
            ),
            (
                "\"bore\": \"19 mm\", ",
                "",
                MissingKey,
                "parts.feed.hose.bore",
                "\"hose\"",
                "a hose needs `bore`, which is missing",
                "`bore` is a length as text with its unit, such as \"19 mm\"",
            ),
            (
                "\"format\": 1, ",
                "",
                MissingKey,
                "format",
                "{",
                "a design needs `format`, which is missing",
                "`format` is a whole number",
            ),
            (
                "\"19 mm\"",
                "\"-3 mm\"",
                OutOfRange,
                "parts.feed.hose.bore",
                "\"-3 mm\"",
                "bore is `-3 mm`, but must be greater than zero",
                "",
            ),
            (
                "\"19 mm\"",
                "\"0 mm\"",
                OutOfRange,
                "parts.feed.hose.bore",
                "\"0 mm\"",
                "bore is `0 mm`, but must be greater than zero",
                "",
            ),
            (
                "\"1.4 m\"",
                "\"140 m\"",
                OutOfRange,
                "parts.feed.hose.length",
                "\"140 m\"",
                "length is `140 m`, but must be greater than zero and at most 100 in SI units",
                "",
            ),
            (
                "\"19 mm\"",
                "\"5 psi\"",
                BadQuantity,
                "parts.feed.hose.bore",
                "\"5 psi\"",
                "cannot read `5 psi` as a length because of its unit `psi`",
                "",
            ),
            (
                "\"19 mm\"",
                "\"1e999 mm\"",
                NotANumber,
                "parts.feed.hose.bore",
                "\"1e999 mm\"",
                "bore is `1e999 mm`, but must be a finite number with its unit",
                "",
            ),
            (
                "\"19 mm\"",
                "\"NaN mm\"",
                NotANumber,
                "parts.feed.hose.bore",
                "\"NaN mm\"",
                "bore is `NaN mm`, but must be a finite number with its unit",
                "",
            ),
            (
                "\"19 mm\"",
                "19",
                WrongType,
                "parts.feed.hose.bore",
                "19",
                "cannot read `19` for bore because a length needs its unit; write it as text with its unit, such as \"19 mm\"",
                "",
            ),
            (
                "\"1.4 m\"",
                "2.50",
                WrongType,
                "parts.feed.hose.length",
                "2.50",
                "cannot read `2.50` for length because a length needs its unit; write it as text with its unit, such as \"19 mm\"",
                "",
            ),
            (
                "\"1.4 m\"",
                "[true]",
                WrongType,
                "parts.feed.hose.length",
                "[true]",
                "length is a list, but must be a length as text with its unit, such as \"19 mm\"",
                "",
            ),
            (
                "\"1.4 m\"",
                "null",
                WrongType,
                "parts.feed.hose.length",
                "null",
                "length is `null`, which stands for no value",
                "leave the key out",
            ),
            (
                "\"share\": 0.5",
                "\"share\": 1.40",
                OutOfRange,
                "share",
                "1.40",
                "share is `1.40`, but must be from 0 to 1",
                "",
            ),
            (
                "\"share\": 0.5",
                "\"share\": \"50 %\"",
                WrongType,
                "share",
                "\"50 %\"",
                "share is the text `50 %`, but must be a number",
                "write 0.5 for 50 %",
            ),
            (
                "\"share\": 0.5",
                "\"share\": \"0.5\"",
                WrongType,
                "share",
                "\"0.5\"",
                "share is the text `0.5`, but must be a number",
                "write 0.5 without quotes",
            ),
            (
                "\"format\": 1",
                "\"format\": 1.0",
                WrongType,
                "format",
                "1.0",
                "format is `1.0`, but must be a whole number",
                "",
            ),
            (
                "\"format\": 1",
                "\"format\": 2",
                OutOfRange,
                "format",
                "2",
                "format is `2`, but must be 1",
                "",
            ),
            (
                "\"count\": 2",
                "\"count\": 300",
                OutOfRange,
                "parts.feed.hose.fittings[0].elbow_90.count",
                "300",
                "count is `300`, but must be from 0 to 255",
                "",
            ),
            (
                "\"count\": -3",
                "\"count\": 9223372036854775808",
                WrongType,
                "count",
                "9223372036854775808",
                "count is `9223372036854775808`, but must be a whole number",
                "",
            ),
            (
                "\"hose\": {",
                "\"hosse\": {",
                UnknownChoice,
                "parts.feed",
                "\"hosse\"",
                "cannot read `hosse` for feed; did you mean `hose`?",
                "choose `hose` or `expansion_tank`",
            ),
            (
                "\"elbow_90\": {",
                "\"bend\": {",
                UnknownChoice,
                "parts.feed.hose.fittings[0]",
                "\"bend\"",
                "cannot read `bend` for fittings[0]",
                "choose `elbow_90` or `loss`",
            ),
            (
                "{ \"loss\": 0.5, \"note\": \"n\" }",
                "{ \"note\": \"n\" }",
                MissingKey,
                "parts.feed.hose.fittings[1]",
                "{",
                "fittings[1] is empty, but must say what it is",
                "choose `elbow_90` or `loss`",
            ),
            (
                "\"loss\": 0.5,",
                "\"loss\": 0.5, \"elbow_90\": {},",
                TwoChoices,
                "parts.feed.hose.fittings[1]",
                "\"elbow_90\"",
                "cannot read fittings[1] because it says both `loss` and `elbow_90`",
                "keep one of the two",
            ),
            (
                "\"loss\": 0.5,",
                "\"loss\": 0.5, \"count\": 2,",
                UnknownKey,
                "parts.feed.hose.fittings[1].count",
                "\"count\"",
                "cannot read `count` beside `loss`",
                "put it inside `loss` if it belongs there",
            ),
            (
                "\"joint\"",
                "\"hose\"",
                WrongType,
                "parts.meet",
                "\"hose\"",
                "meet is the bare word `hose`, but must be an object with that key",
                "write { \"hose\": ... }",
            ),
            (
                "\"joint\"",
                "\"jiont\"",
                UnknownChoice,
                "parts.meet",
                "\"jiont\"",
                "cannot read `jiont` for meet; did you mean `joint`?",
                "choose `joint`, `hose` or `expansion_tank`",
            ),
            (
                "\"joint\"",
                "7",
                WrongType,
                "parts.meet",
                "7",
                "meet is `7`, but must be `joint`, or an object with the key `hose` or `expansion_tank`",
                "",
            ),
            (
                "\"measured\"",
                "\"mesured\"",
                UnknownChoice,
                "origin",
                "\"mesured\"",
                "cannot read `mesured` for origin; did you mean `measured`?",
                "choose `measured` or `placeholder`",
            ),
            (
                "\"measured\"",
                "{}",
                WrongType,
                "origin",
                "{}",
                "origin is an object, but must be `measured` or `placeholder`",
                "",
            ),
            (
                "[1, 2.5]",
                "[1]",
                TooFew,
                "law.pair",
                "[1]",
                "pair has 1 entry, but must have exactly 2 entries",
                "",
            ),
            (
                "\"3 m\"]",
                "\"3 m\", \"4 m\"]",
                TooMany,
                "size",
                "[\"1 m\", \"2 m\", \"3 m\", \"4 m\"]",
                "size has 4 entries, but must have exactly 3 entries",
                "",
            ),
            (
                ", [\"1 mm\", \"2 m\"]",
                "",
                TooFew,
                "curve",
                "[[\"0 mm\", \"1 m\"]]",
                "curve has 1 entry, but must have at least 2 entries",
                "",
            ),
            (
                "[\"1 mm\", \"2 m\"]",
                "[\"1 mm\", \"2 kg\"]",
                BadQuantity,
                "curve[1][1]",
                "\"2 kg\"",
                "cannot read `2 kg` as a length because of its unit `kg`",
                "",
            ),
            (
                "[[\"1 m\", 2]]",
                "[[\"1 m\", \"2 m\"]]",
                WrongType,
                "heat[0][1]",
                "\"2 m\"",
                "heat[0][1] is the text `2 m`, but must be a number",
                "",
            ),
            (
                "[[\"1 m\", 2]]",
                "[\"1 m\", \"2 s\"]",
                BadQuantity,
                "heat[1]",
                "\"2 s\"",
                "cannot read `2 s` as a length because of its unit `s`",
                "",
            ),
            (
                "[[\"1 m\", 2]]",
                "{ \"y\": \"1 m\" }",
                MissingKey,
                "heat.x",
                "\"heat\"",
                "a heat needs `x`, which is missing",
                "`x` is a length as text with its unit, such as \"19 mm\"",
            ),
            (
                "{ \"a\": 1 }",
                "{ \"note\": \"n\" }",
                TooFew,
                "shares",
                "{ \"note\": \"n\" }",
                "shares has 0 entries, but must have at least 1 entry",
                "",
            ),
            (
                "{ \"a\": 1 }",
                "{ \"a\": 1, \"b\": 1, \"c\": 1 }",
                TooMany,
                "shares",
                "{ \"a\": 1, \"b\": 1, \"c\": 1 }",
                "shares has 3 entries, but must have at most 2 entries",
                "",
            ),
            (
                "\"tank 2\": {",
                "\"tank.2\": {",
                BadName,
                "parts.\"tank.2\"",
                "\"tank.2\"",
                "cannot use the name `tank.2` because it holds `.`",
                "a name holds letters, digits, space, `-` and `_`",
            ),
            (
                "\"tank 2\": {",
                "\" tank\": {",
                BadName,
                "parts.\" tank\"",
                "\" tank\"",
                "cannot use the name ` tank` because it begins or ends with a space",
                "a name holds letters, digits, space, `-` and `_`",
            ),
            (
                "\"tank 2\": {",
                "\"\": {",
                BadName,
                "parts.\"\"",
                "\"\"",
                "cannot use the name `` because it is empty",
                "a name holds letters, digits, space, `-` and `_`",
            ),
            (
                "\"note\": \"a note\"",
                "\"note\": 3",
                WrongType,
                "note",
                "3",
                "a note must be a text",
                "write \"note\": \"...\"",
            ),
            (
                "\"é\"",
                "\"\"",
                TooFew,
                "title",
                "\"\"",
                "title has 0 characters, but must have at least 1 character",
                "",
            ),
            (
                "\"é\"",
                "\"0123456789\"",
                TooMany,
                "title",
                "\"0123456789\"",
                "title has 10 characters, but must have at most 9 characters",
                "",
            ),
            (
                "\"open\": true",
                "\"open\": \"yes\"",
                WrongType,
                "open",
                "\"yes\"",
                "open is the text `yes`, but must be true or false",
                "",
            ),
        ] {
            let (text, faults) = changed(from, to);
            let [fault] = faults.as_slice() else {
                panic!("{to}: {faults:?}")
            };
            assert_eq!(fault.message, message);
            assert_eq!(
                (fault.code, fault.place.to_string().as_str()),
                (code, place),
                "{to}"
            );
            assert_eq!(
                &text[fault.span.clone().expect("text has spans")],
                marked,
                "{to}"
            );
            assert_eq!(fault.help.as_deref().unwrap_or(""), help, "{to}");
            assert!(
                render(&faults, "loop.json", &text, Style::Plain).contains(place),
                "{to}"
            );
        }
    }

    #[test]
    fn a_name_may_be_sixty_characters_long() {
        assert_eq!(
            changed("\"tank 2\": {", &format!("\"{}\": {{", "ö".repeat(60))).1,
            []
        );
        let (_, faults) = changed("\"tank 2\": {", &format!("\"{}\": {{", "ö".repeat(61)));
        assert!(
            faults[0]
                .message
                .ends_with("because it is too long: got 61 characters, limit 60"),
            "{}",
            faults[0]
        );
    }

    #[test]
    fn independent_mistakes_are_found_in_one_pass_in_the_order_of_the_text() {
        let text = SOUND
            .replace("19 mm", "5 psi")
            .replace("\"share\": 0.5", "\"share\": 2")
            .replace("\"title\"", "\"titel\"");
        let faults = faults_of(&text);
        let codes: Vec<FaultCode> = faults.iter().map(|fault| fault.code).collect();
        assert_eq!(
            codes,
            [
                FaultCode::UnknownKey,
                FaultCode::BadQuantity,
                FaultCode::OutOfRange
            ]
        );
    }

    #[test]
    fn a_design_built_in_rust_gets_the_same_faults_without_spans() {
        let text = SOUND
            .replace("19 mm", "-3 mm")
            .replace("\"share\": 0.5", "\"share\": 2");
        let document = read_text(&text).expect("JSON");
        let strip = |fault: Fault| Fault {
            span: None,
            ..fault
        };
        let spanless: Vec<Fault> = check(&document, &schema(), &parse)
            .into_iter()
            .map(strip)
            .collect();
        let built = check_value(&document.value(), &schema(), &parse);
        assert_eq!(built.len(), 2);
        assert_eq!(built, spanless);
        let deep = (0..=DEEPEST).fold(Value::Null, |inner, _| Value::Array(vec![inner]));
        assert_eq!(
            check_value(&deep, &schema(), &parse)[0].code,
            FaultCode::TooDeep
        );
    }

    #[test]
    fn a_schema_that_goes_in_circles_ends() {
        for schema in [
            serde_json::json!({ "$ref": "#" }),
            serde_json::json!({ "$ref": "#/$defs/A", "$defs": { "A": { "anyOf": [{ "$ref": "#/$defs/A" }, { "type": "null" }] } } }),
            serde_json::json!({ "$ref": "#/$defs/missing", "type": 3, "enum": 4, "required": 5, "properties": [] }),
            serde_json::json!(true),
            serde_json::json!({ "anyOf": [] }),
        ] {
            let _ = check(&read_text(SOUND).expect("JSON"), &schema, &parse);
        }
    }

    #[test]
    fn what_passes_the_check_decodes_and_no_damage_makes_it_panic() {
        use super::super::syntax::tests::{mutated, random};
        let schema = schema();
        let (mut seed, mut passed, mut refused) = (7, 0, 0);
        let values = [
            "1",
            "-1",
            "0.5",
            "1e300",
            "\"1 m\"",
            "\"joint\"",
            "[]",
            "{}",
            "true",
            "null",
            "[[\"1 m\", 2]]",
            "\"x\"",
            "{ \"hose\": { \"bore\": \"1 m\" } }",
            "300",
            "18446744073709551615",
            "\"smooth\"",
            "{ \"x\": \"1 m\" }",
        ];
        for round in 0..20_000 {
            let text = if round % 2 == 0 {
                mutated(SOUND, &mut seed)
            } else {
                // Another value after one of the colons, which stays JSON more often.
                let colons: Vec<usize> = SOUND.match_indices(": ").map(|(at, _)| at + 2).collect();
                let at = colons[random(&mut seed) % colons.len()];
                let end = SOUND[at..]
                    .find([',', '\n'])
                    .map_or(SOUND.len(), |length| at + length);
                format!(
                    "{}{}{}",
                    &SOUND[..at],
                    values[random(&mut seed) % values.len()],
                    &SOUND[end..]
                )
            };
            let Ok(document) = read_text(&text) else {
                continue;
            };
            let faults = check(&document, &schema, &parse);
            if faults.is_empty() {
                passed += 1;
                let decoded = serde_json::from_value::<Design>(document.value());
                assert!(decoded.is_ok(), "{text}: {:?}", decoded.err());
            } else {
                refused += 1;
                render(&faults, "loop.json", &text, Style::Plain);
            }
        }
        assert!(
            passed > 500 && refused > 500,
            "{passed} passed, {refused} refused"
        );
    }

    #[test]
    fn a_large_file_of_mistakes_keeps_a_thousand() {
        let parts: Vec<String> = (0..5000)
            .map(|n| format!("\"p{n}\": {{ \"hose\": {{ \"bore\": 3 }} }}"))
            .collect();
        let faults = faults_of(&format!(
            "{{ \"format\": 1, \"parts\": {{ {} }} }}",
            parts.join(", ")
        ));
        assert_eq!(faults.len(), MOST_KEPT + 1);
        assert_eq!(
            faults[MOST_KEPT].message,
            "4000 more mistakes are not listed"
        );
    }
}
