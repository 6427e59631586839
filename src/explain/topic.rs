//! The topics, read once from the Markdown files beside this one.

use crate::design::nearest;
use std::fmt;
use std::sync::LazyLock;

/// What a topic is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum TopicKind {
    /// Why a design is refused, or why a case has no answer.
    Refusal,
    /// A warning about an answer.
    Finding,
    /// A limit that a design may set.
    Limit,
    /// A part, or another record of the file.
    Part,
    /// A law, a correlation or a property.
    Law,
}

impl TopicKind {
    /// All of them, in the order of the list.
    pub const ALL: [Self; 5] = [
        Self::Part,
        Self::Limit,
        Self::Law,
        Self::Finding,
        Self::Refusal,
    ];

    /// Singular, as printed.
    pub fn word(self) -> &'static str {
        match self {
            Self::Refusal => "refusal",
            Self::Finding => "finding",
            Self::Limit => "limit",
            Self::Part => "part",
            Self::Law => "law",
        }
    }

    /// Plural, as printed.
    pub fn plural(self) -> &'static str {
        match self {
            Self::Refusal => "refusals",
            Self::Finding => "findings",
            Self::Limit => "limits",
            Self::Part => "parts",
            Self::Law => "laws",
        }
    }
}

/// One topic.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Topic {
    /// What it is.
    pub kind: TopicKind,
    /// Its name: a code, a key of the file, or the name of a law.
    pub name: &'static str,
    /// What it means.
    pub meaning: &'static str,
    /// Its formula in plain text.
    pub formula: Option<&'static str>,
    /// Where it holds.
    pub range: Option<&'static str>,
    /// Where it comes from.
    pub source: Option<&'static str>,
    /// What a builder should do.
    pub advice: Option<&'static str>,
}

const PAGES: [(TopicKind, &str); 5] = [
    (TopicKind::Part, include_str!("parts.md")),
    (TopicKind::Limit, include_str!("limits.md")),
    (TopicKind::Law, include_str!("laws.md")),
    (TopicKind::Finding, include_str!("findings.md")),
    (TopicKind::Refusal, include_str!("errors.md")),
];

static TOPICS: LazyLock<Vec<Topic>> = LazyLock::new(|| {
    PAGES
        .iter()
        .flat_map(|(kind, page)| page.split("\n## ").skip(1).map(|text| read(*kind, text)))
        .collect()
});

/// Every topic, by kind and in the order of its page.
pub fn topics() -> &'static [Topic] {
    &TOPICS
}

/// The topics of a name: several where one word is both a finding and a refusal.
///
/// Case does not matter, and `-`, `_` and space are the same.
///
/// # Errors
/// [`UnknownTopic`] with the nearest name.
///
/// ```
/// use loopwright::explain::{TopicKind, find};
/// assert_eq!(find("Fitting loss").unwrap()[0].kind, TopicKind::Law);
/// assert_eq!(find("churchil").unwrap_err().near, Some("churchill"));
/// ```
pub fn find(name: &str) -> Result<Vec<&'static Topic>, UnknownTopic> {
    let wanted = plain(name);
    let found: Vec<_> = topics()
        .iter()
        .filter(|t| plain(t.name) == wanted)
        .collect();
    if found.is_empty() {
        let names = || topics().iter().map(|t| t.name);
        let word = |name: &str| nearest(&wanted, plain(name).split('_')).is_some();
        let near = nearest(&wanted, names())
            .or_else(|| names().find(|n| plain(n).contains(&wanted)))
            .or_else(|| names().find(|n| word(n)));
        return Err(UnknownTopic {
            name: name.to_owned(),
            near,
        });
    }
    Ok(found)
}

/// A name that no topic has.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnknownTopic {
    /// The name asked for.
    pub name: String,
    /// The nearest there is.
    pub near: Option<&'static str>,
}

impl fmt::Display for UnknownTopic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "no topic is called `{}`; ", self.name)?;
        match self.near {
            Some(near) => write!(f, "did you mean `{near}`? "),
            None => Ok(()),
        }?;
        write!(f, "`loopwright explain --list` lists them all")
    }
}

impl std::error::Error for UnknownTopic {}

fn plain(name: &str) -> String {
    name.trim().to_lowercase().replace(['-', ' '], "_")
}

fn read(kind: TopicKind, text: &'static str) -> Topic {
    let (name, body) = text.split_once('\n').unwrap_or((text, ""));
    let field = |key: &str| {
        body.lines()
            .find_map(|line| line.strip_prefix(key)?.strip_prefix(": "))
            .map(str::trim)
    };
    Topic {
        kind,
        name: name.trim(),
        meaning: body.lines().next().unwrap_or("").trim(),
        formula: field("formula"),
        range: field("range"),
        source: field("source"),
        advice: field("do"),
    }
}
