//! Names of parts with their place: how every room but the document says which part it means.

use std::fmt;
use std::sync::Arc;

/// The name of a part within its loop or radiator, as results print it.
///
/// Expanded parts carry the name of their bank: `mid.module 3.circuit 1`, `mid.supply.tee 3`, `mid.return.segment 2`.
/// A core is written `radiator.core`. Copies share the text.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct PartId(Arc<str>);

impl PartId {
    /// A name as written or expanded.
    pub fn new(name: impl Into<String>) -> Self {
        Self(name.into().into())
    }

    /// The text of the name.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for PartId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// A part with the loop (or radiator) it stands in: `battery.pump`.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Subject {
    /// Loop or radiator.
    pub owner: String,
    /// The part, or empty where the whole loop is meant.
    pub part: String,
}

impl Subject {
    /// A part of a loop or radiator.
    pub fn part(owner: impl Into<String>, part: impl Into<String>) -> Self {
        Self {
            owner: owner.into(),
            part: part.into(),
        }
    }

    /// A whole loop or radiator.
    pub fn whole(owner: impl Into<String>) -> Self {
        Self {
            owner: owner.into(),
            part: String::new(),
        }
    }
}

impl fmt::Display for Subject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.owner.is_empty(), self.part.is_empty()) {
            (_, true) => f.write_str(&self.owner),
            (true, false) => f.write_str(&self.part),
            _ => write!(f, "{}.{}", self.owner, self.part),
        }
    }
}
