//! What a schema asks of one value: its words, gathered over references and choices. It judges no value but its type.

use std::cell::OnceCell;

use serde_json::{Map, Value};

use super::messages::with_article;
use crate::design::nearest::list;
use crate::design::syntax::{Kind, Node};

/// What a schema asks of a value: its own words and those that its references lead to, outer ones first.
#[derive(Clone, Default)]
pub(super) struct Shape<'a> {
    pub(super) layers: Vec<&'a Map<String, Value>>,
    /// The name of the last definition that was followed.
    pub(super) name: Option<&'a str>,
    /// Two or more ways to write the value, none of which branches again.
    pub(super) branches: Vec<Shape<'a>>,
    /// What [`Shape::tag`] found, which every value of a choice asks for.
    tag: OnceCell<Option<&'a str>>,
}

impl<'a> Shape<'a> {
    pub(super) fn word(&self, word: &str) -> Option<&'a Value> {
        self.layers.iter().find_map(|layer| layer.get(word))
    }

    pub(super) fn text(&self, word: &str) -> Option<&'a str> {
        self.word(word)?.as_str()
    }

    pub(super) fn count(&self, word: &str) -> Option<usize> {
        usize::try_from(self.word(word)?.as_u64()?).ok()
    }

    pub(super) fn properties(&self) -> impl Iterator<Item = (&'a str, &'a Value)> {
        let maps = self
            .layers
            .iter()
            .filter_map(|layer| layer.get("properties")?.as_object());
        maps.flatten().map(|(key, schema)| (key.as_str(), schema))
    }

    pub(super) fn property(&self, key: &str) -> Option<&'a Value> {
        self.layers
            .iter()
            .find_map(|layer| layer.get("properties")?.get(key))
    }

    pub(super) fn required(&self) -> impl Iterator<Item = &'a str> {
        let lists = self
            .layers
            .iter()
            .filter_map(|layer| layer.get("required")?.as_array());
        lists.flatten().filter_map(Value::as_str)
    }

    /// The schema of keys that are not named; none if there can be no such keys.
    pub(super) fn additional(&self) -> Option<&'a Value> {
        match self.word("additionalProperties") {
            Some(Value::Bool(false)) => None,
            None if self.properties().next().is_some() => None,
            other => Some(other.unwrap_or(&Value::Bool(true))),
        }
    }

    /// The key that marks this branch of a choice, if it is an object of that key alone.
    pub(super) fn tag(&self) -> Option<&'a str> {
        *self.tag.get_or_init(|| self.find_tag())
    }

    fn find_tag(&self) -> Option<&'a str> {
        let mut properties = self.properties();
        let (tag, _) = properties.next()?;
        let alone =
            properties.next().is_none() && self.required().eq([tag]) && self.additional().is_none();
        alone.then_some(tag)
    }

    /// The values that alone are allowed, if there are such.
    pub(super) fn constants(&self) -> Option<Vec<&'a Value>> {
        let listed = || {
            self.word("enum")?
                .as_array()
                .map(|values| values.iter().collect())
        };
        self.word("const").map(|value| vec![value]).or_else(listed)
    }

    pub(super) fn types(&self) -> Vec<&'a str> {
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

    pub(super) fn takes(&self, node: &Node) -> bool {
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
    pub(super) fn wanted(&self) -> String {
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
        if let (Some(least), Some(most)) = (self.word("minimum"), self.word("maximum"))
            && least == most
        {
            return least.to_string();
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

    pub(super) fn example(&self) -> Option<&'a Value> {
        self.word("examples")?.as_array()?.first()
    }
}

/// A branch of a choice with the words that stand beside the choice.
pub(super) fn joined<'a>(outer: &Shape<'a>, branch: &Shape<'a>) -> Shape<'a> {
    let layers = outer.layers.iter().chain(&branch.layers).copied().collect();
    Shape {
        layers,
        name: branch.name.or(outer.name),
        branches: Vec::new(),
        tag: OnceCell::new(),
    }
}

pub(super) fn is_value(node: &Node, value: &Value) -> bool {
    match (&node.kind, value) {
        (Kind::Text(text), Value::String(wanted)) => **text == **wanted,
        (Kind::Number(number), Value::Number(wanted)) => number == wanted,
        (Kind::Truth(truth), Value::Bool(wanted)) => truth == wanted,
        _ => false,
    }
}

/// A constant without quotes.
pub(super) fn plain(value: &Value) -> String {
    value
        .as_str()
        .map_or_else(|| value.to_string(), str::to_owned)
}
