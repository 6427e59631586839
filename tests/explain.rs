//! Every code that the program can print has a topic, and every topic of a part lists the keys that are read.

use loopwright::design::{DEEPEST, LARGEST_BYTES, schema};
use loopwright::explain::{TopicKind, find, keys_of, topics};
use std::collections::BTreeSet;
use std::path::Path;

/// The stable codes that stand in a source file as `=> "code"`.
fn codes(file: &str) -> BTreeSet<String> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("src").join(file);
    let text = std::fs::read_to_string(&path).expect("the source file is there");
    text.lines()
        .filter_map(|line| {
            let code = line.split_once("=> \"")?.1.split('"').next()?;
            let plain = code.chars().all(|c| c.is_ascii_lowercase() || c == '-');
            (plain && !code.is_empty() && line.contains("::")).then(|| code.to_owned())
        })
        .collect()
}

fn named(kind: TopicKind) -> BTreeSet<String> {
    topics()
        .iter()
        .filter(|t| t.kind == kind)
        .map(|t| t.name.to_owned())
        .collect()
}

#[test]
fn every_finding_has_a_topic_and_no_topic_is_left_over() {
    let codes = codes("finding.rs");
    assert!(codes.len() > 20, "{codes:?}");
    assert_eq!(codes, named(TopicKind::Finding));
}

#[test]
fn every_refusal_has_a_topic_and_no_topic_is_left_over() {
    let mut all = codes("design/show.rs");
    all.extend(codes("network/error.rs"));
    all.extend(codes("solve/error.rs"));
    assert!(all.len() > 35, "{all:?}");
    assert_eq!(all, named(TopicKind::Refusal));
}

#[test]
fn every_limit_of_the_schema_has_a_topic() {
    let keys: BTreeSet<String> = schema()["$defs"]["Limits"]["properties"]
        .as_object()
        .expect("limits have keys")
        .keys()
        .filter(|k| *k != "note")
        .cloned()
        .collect();
    assert_eq!(keys, named(TopicKind::Limit));
}

#[test]
fn every_kind_of_part_has_a_topic_with_its_keys() {
    let kinds: BTreeSet<String> = schema()["$defs"]["Part"]["oneOf"]
        .as_array()
        .expect("a part is one of several")
        .iter()
        .flat_map(|way| way["properties"].as_object().into_iter().flatten())
        .map(|(k, _)| k.clone())
        .filter(|k| k != "note")
        .collect();
    assert!(kinds.len() > 12, "{kinds:?}");
    let named = named(TopicKind::Part);
    for kind in kinds
        .iter()
        .chain(&["radiator".into(), "module".into(), "case".into()])
    {
        assert!(named.contains(kind), "no topic for {kind}");
        assert!(!keys_of(kind).is_empty(), "no keys for {kind}");
    }
}

#[test]
fn every_topic_says_what_it_means_and_every_law_its_range_or_source() {
    for topic in topics() {
        assert!(
            topic.meaning.ends_with('.'),
            "{}: {}",
            topic.name,
            topic.meaning
        );
        if topic.kind == TopicKind::Law {
            assert!(topic.source.is_some(), "{} has no source", topic.name);
        }
        if topic.kind == TopicKind::Refusal || topic.kind == TopicKind::Finding {
            assert!(topic.advice.is_some(), "{} says not what to do", topic.name);
        }
        assert_eq!(
            find(topic.name).expect("it finds itself")[0].name,
            topic.name
        );
    }
}

#[test]
fn a_wrong_word_gets_the_nearest_one() {
    let error = find("transitional flo").expect_err("it is misspelt");
    assert_eq!(error.near, Some("transitional-flow"));
    assert!(find("qqqqqqq").expect_err("it is nothing").near.is_none());
}

#[test]
fn the_caps_that_are_told_are_the_caps_that_hold() {
    let range = |name: &str| find(name).expect("a topic")[0].range.expect("a range");
    let bytes = format!("{} MiB at most.", LARGEST_BYTES / (1024 * 1024));
    assert_eq!(range("too-large"), bytes);
    assert_eq!(range("too-deep"), format!("{DEEPEST} levels at most."));
}
