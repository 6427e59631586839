//! The check against a schema of records that are of the same make as those of the design.

mod shapes;
mod values;

use indexmap::IndexMap;
use schemars::{JsonSchema, json_schema};
use serde::Deserialize;
use serde_json::Value;

use super::{check, check_value};
use crate::design::show::{Fault, FaultCode, Style, render};
use crate::design::syntax::{DEEPEST, MOST_KEPT, read_text};

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

/// One row: what is replaced, by what, the code, the place, the marked text, the message and the help.
type Row<'a> = (
    &'a str,
    &'a str,
    FaultCode,
    &'a str,
    &'a str,
    &'a str,
    &'a str,
);

fn each_row(rows: &[Row<'_>]) {
    for &(from, to, code, place, marked, message, help) in rows {
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
fn a_sound_document_passes_and_decodes() {
    let document = read_text(SOUND).expect("JSON");
    assert_eq!(check(&document, &schema(), &parse), []);
    assert_eq!(check_value(&document.value(), &schema(), &parse), []);
    serde_json::from_value::<Design>(document.value()).expect("what passes decodes");
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
    use crate::design::syntax::tests::{mutated, random};
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
