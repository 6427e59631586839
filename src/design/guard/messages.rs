//! The words of refusals: keys unknown or missing, choices misspelt, values of the wrong type.

use std::ops::Range;

use serde_json::Value;

use super::shape::Shape;
use super::walk::{Trail, Walk, Way};
use crate::design::nearest::{is_same_word, list, nearest};
use crate::design::show::{FaultCode, excerpt};
use crate::design::syntax::{Entry, Kind, NOTE, Node};

impl<'a> Walk<'a> {
    /// Reports a key that the object does not have, and gives the one that was meant if it is near.
    pub(super) fn unknown_key(
        &mut self,
        shape: &Shape<'a>,
        entry: &Entry,
        way: &Way<'a>,
    ) -> Option<&'a str> {
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

    pub(super) fn missing_key(
        &mut self,
        shape: &Shape<'a>,
        key: &'a str,
        node: &Node,
        way: &Way<'a>,
    ) {
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

    pub(super) fn unknown_choice<'k>(
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

    pub(super) fn wrong_type(&mut self, shape: &Shape<'a>, node: &Node) {
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

    pub(super) fn two_choices(&mut self, one: &Entry, two: &Entry) {
        let (one, two, span) = (&*one.key, &*two.key, two.key_span());
        self.fault(FaultCode::TwoChoices, span, |name| {
            let message = format!("cannot read {name} because it says both `{one}` and `{two}`");
            (message, Some("keep one of the two".to_owned()))
        });
    }

    /// An object in which no key says what it is.
    pub(super) fn no_tag(
        &mut self,
        node: &Node,
        entries: &'a [Entry],
        tags: &[&str],
        way: &Way<'a>,
    ) {
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

/// What to write for a number that stands in quotes.
pub(super) fn number_in_text(text: &str) -> Option<String> {
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
pub(super) fn object_name(shape: &Shape<'_>, way: &Way<'_>) -> String {
    let name = way
        .tag
        .or_else(|| shape.text("title"))
        .or(shape.name)
        .unwrap_or("object");
    let mut words = String::new();
    for c in name.strip_suffix("Record").unwrap_or(name).chars() {
        if c.is_uppercase() && !words.is_empty() {
            words.push(' ');
        }
        words.extend(c.to_lowercase());
    }
    with_article(&words)
}

pub(super) fn with_article(name: &str) -> String {
    let article = if name.starts_with(['a', 'e', 'i', 'o', 'u']) {
        "an"
    } else {
        "a"
    };
    format!("{article} {}", name.replace('_', " "))
}
