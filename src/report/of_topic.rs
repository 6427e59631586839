//! The pages of `explain`: one topic, or the list of all.

use super::block::{Report, Table};
use crate::explain::{Key, Topic, TopicKind, keys_of, topics};
use serde_json::{Value, json};

/// A topic, with the keys of its record where it is a part.
pub fn topic_report(found: &[&Topic]) -> Report {
    let mut report = Report::default();
    for topic in found {
        report.title(format!("{} ({})", topic.name, topic.kind.word()));
        report.say(topic.meaning);
        for (word, text) in [
            ("Formula", topic.formula),
            ("Range", topic.range),
            ("Source", topic.source),
            ("What to do", topic.advice),
        ] {
            if let Some(text) = text {
                report.say(format!("{word}: {text}"));
            }
        }
        let keys = if topic.kind == TopicKind::Part {
            keys_of(topic.name)
        } else {
            Vec::new()
        };
        if !keys.is_empty() {
            report.heading("Keys (* must be there)");
            let line = |key: Key| {
                let star = if key.required { "*" } else { "" };
                let written = key.example.map_or(String::new(), |e| format!(" ({e})"));
                format!("{}{star}{written}: {}", key.name, key.meaning).into()
            };
            report.list(keys.into_iter().map(line).collect());
        }
    }
    report
}

/// Every topic, a line each.
pub fn topic_list_report() -> Report {
    let mut report = Report::default();
    for kind in TopicKind::ALL {
        report.heading(kind.plural());
        let mut table = Table::new(&["topic", "meaning"]);
        for topic in topics().iter().filter(|t| t.kind == kind) {
            table.row(vec![topic.name.into(), topic.meaning.into()]);
        }
        report.table(table);
    }
    report
}

/// Topics as JSON.
pub fn topic_json(found: &[&Topic]) -> Value {
    let one = |topic: &&Topic| {
        let keys: Vec<Value> = if topic.kind == TopicKind::Part {
            keys_of(topic.name)
                .into_iter()
                .map(|k| {
                    json!({ "key": k.name, "example": k.example, "meaning": k.meaning, "required": k.required })
                })
                .collect()
        } else {
            Vec::new()
        };
        json!({ "kind": topic.kind.word(), "topic": topic.name, "meaning": topic.meaning, "formula": topic.formula,
            "range": topic.range, "source": topic.source, "advice": topic.advice, "keys": keys })
    };
    json!({ "format": 1, "topics": found.iter().map(one).collect::<Vec<_>>() })
}
