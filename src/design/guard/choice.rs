//! A value that can be written in several ways: the way is chosen by its tag or its type, then checked.

use serde_json::Value;

use super::shape::{Shape, joined};
use super::walk::{Walk, Way};
use crate::design::show::FaultCode;
use crate::design::syntax::{Entry, Kind, Node};

impl<'a> Walk<'a> {
    /// A value that can be written in several ways: the way is chosen by its tag or its type, then checked.
    pub(super) fn choice(&mut self, shape: &Shape<'a>, node: &'a Node, way: Way<'a>) {
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
    pub(super) fn by_type<'s>(
        &mut self,
        free: &[&'s Shape<'a>],
        node: &Node,
    ) -> Option<&'s Shape<'a>> {
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
