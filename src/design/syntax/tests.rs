//! The reader against text that is not JSON, too large, damaged or sound.

use super::caps::MOST_KEPT;
use super::*;
use crate::design::show::{Fault, FaultCode};
use crate::place::Place;

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
        "{", "}", "[", "]", "\"", ",", ":", "'", "\\", "\\u", "\\ud800", "//", "/*", "NaN", "-",
        "+", "1e999", "0", ".", "null", "true", "é", "\u{feff}", "\u{0}", "\n", "note",
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
                crate::design::show::render(&faults, "f", &text, crate::design::show::Style::Plain);
            }
        }
    }
    assert!(passed > 1000, "{passed} passed");
}
