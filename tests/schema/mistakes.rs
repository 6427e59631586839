//! Broken files. What the program refuses while it holds the text against the schema, another validator must refuse too;
//! what it refuses later, as a rule between parts, must pass. The code of the refusal says which, not the validator.

use crate::files::{complaints, json_files, stem, text, validator, value, visit};
use loopwright::design::{Fault, FaultCode, Source, Stock, schema, stock_schema};
use loopwright::network::Network;
use serde_json::{Value, json};

/// Where the program stops with a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stage {
    /// It is not JSON, or not strictly: a validator never sees it, or sees what a lenient parser made of it.
    Text,
    /// A value is not what the schema asks for.
    Schema,
    /// A rule between values, which no schema states.
    Rule,
}

fn stage(code: FaultCode) -> Stage {
    match code {
        FaultCode::Syntax
        | FaultCode::Empty
        | FaultCode::Truncated
        | FaultCode::TooLarge
        | FaultCode::TooDeep
        | FaultCode::BadEncoding
        | FaultCode::DuplicateKey
        | FaultCode::NotANumber => Stage::Text,
        FaultCode::Rule(_) => Stage::Rule,
        _ => Stage::Schema,
    }
}

/// Broken samples that the program refuses by its schema check and another validator lets pass, each with the reason.
const BEYOND_A_VALIDATOR: [(&str, &str); 5] = [
    (
        "case-altitude-too-high",
        "a limit of 9000 m on a text needs its unit read",
    ),
    (
        "quantity-out-of-reach",
        "the size of a quantity needs its unit read",
    ),
    (
        "quantity-out-of-reach-small",
        "the size of a quantity needs its unit read",
    ),
    (
        "tee-angle-too-wide",
        "a limit of 180 deg on a text needs its unit read",
    ),
    (
        "temperature-below-absolute-zero",
        "-300 is below absolute zero in degC and sound in degF",
    ),
];

fn refused(bytes: &str) -> Vec<Fault> {
    match Source::read(bytes) {
        Err(faults) => faults,
        Ok(source) => match Network::build(&source.design) {
            Err(error) => error.into_faults(&source.document),
            Ok(_) => Vec::new(),
        },
    }
}

#[test]
fn broken_samples_fail_where_the_schema_speaks_and_pass_where_only_a_rule_does() {
    let design = validator(schema());
    let (mut wrong, mut counted) = (Vec::new(), [0; 3]);
    for path in json_files("networks/broken") {
        let (name, text) = (stem(&path), text(&path));
        let faults = refused(&text);
        let at = stage(faults.first().expect("it is broken").code);
        counted[at as usize] += 1;
        let Ok(value) = serde_json::from_str::<Value>(&text) else {
            assert_eq!(at, Stage::Text, "{name}: not JSON for another parser");
            continue;
        };
        let passes = design.is_valid(&value);
        let excused = BEYOND_A_VALIDATOR.iter().any(|(known, _)| *known == name);
        let expected = match at {
            Stage::Text => continue,
            Stage::Schema => excused,
            Stage::Rule => true,
        };
        if passes != expected {
            wrong.push(format!(
                "{name}: {} ({at:?}), passes {passes}; {}\n    {}",
                faults[0].code,
                faults[0].message,
                complaints(&design, &value)
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(counted[Stage::Schema as usize] >= 60, "{counted:?}");
    assert!(counted[Stage::Rule as usize] >= 120, "{counted:?}");
}

/// Whether the program's own check takes a value, and the code of the first refusal.
fn own(value: &Value) -> Result<(), FaultCode> {
    Source::read(&value.to_string())
        .map(|_| ())
        .map_err(|faults| faults[0].code)
}

/// Mutations of a value at a place; each changes what kind of thing stands there, not how large it is.
fn mutations(value: &Value) -> Vec<Value> {
    let mut others = vec![
        json!(null),
        json!(true),
        json!(5),
        json!(-1.5),
        json!("lamp"),
        json!("5 furlongs"),
        json!([]),
        json!([value]),
        json!({}),
        json!({ "lamp": 1 }),
    ];
    if let Value::Object(map) = value {
        for key in map.keys() {
            let mut less = map.clone();
            less.shift_remove(key);
            others.push(Value::Object(less));
        }
        let mut more = map.clone();
        more.insert("a key that nobody has".into(), json!(1));
        others.push(Value::Object(more));
    }
    others
}

/// Neither may be stricter than the other about keys and types. The program may be stricter about numbers (limits in SI
/// units, which no pattern states); the schema may never be stricter than the program.
#[test]
fn the_schema_and_the_program_agree_on_every_sample_changed_at_every_place() {
    let design = validator(schema());
    let (mut tried, mut stricter, mut wrong) = (0, 0, Vec::new());
    for name in [
        "camper-heater",
        "header-two-row",
        "stacked-cores",
        "harbour-launch",
    ] {
        let path = json_files("networks").into_iter().find(|p| stem(p) == name);
        let sound = value(&path.expect("the sample is there"));
        let mut places = Vec::new();
        visit(&sound, "", &mut |at, value| {
            places.push((at.to_owned(), value.clone()))
        });
        for (at, value) in places {
            for other in mutations(&value) {
                let mut broken = sound.clone();
                *broken.pointer_mut(&at).expect("the place") = other.clone();
                tried += 1;
                match (design.is_valid(&broken), own(&broken)) {
                    (true, Ok(())) | (false, Err(_)) => {}
                    (true, Err(FaultCode::OutOfRange)) => stricter += 1,
                    (true, Err(code)) => {
                        wrong.push(format!(
                            "{name}{at} = {other}: {code}, but the schema takes it"
                        ));
                    }
                    (false, Ok(())) => wrong.push(format!(
                        "{name}{at} = {other}: the program takes it, but {}",
                        complaints(&design, &broken)
                    )),
                }
            }
        }
    }
    wrong.truncate(20);
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(
        tried > 5000 && stricter < tried / 100,
        "{tried} tried, {stricter} out of range"
    );
}

#[test]
fn a_broken_stock_list_fails() {
    let stock = validator(stock_schema());
    let sound = value(&json_files("networks/stock")[1]);
    for (at, other) in [
        ("/hoses", json!({ "wide": { "boer": "19 mm" } })),
        ("/hoses", json!({ "wide": { "bore": "19" } })),
        ("/hoses", json!({ "wide": {} })),
        ("/hoses", json!({ "a.b": { "bore": "19 mm" } })),
        ("/format", json!(2)),
        ("/title", json!("")),
    ] {
        let mut broken = sound.clone();
        *broken.pointer_mut(at).expect(at) = other;
        assert!(!stock.is_valid(&broken), "{at}");
        assert!(Stock::read(&broken.to_string()).is_err(), "{at}");
    }
}

/// The pointer of the first value under a key.
pub fn first_at(value: &Value, key: &str) -> Option<String> {
    let mut found = None;
    visit(value, "", &mut |at, _| {
        if found.is_none() && at.rsplit('/').next() == Some(key) {
            found = Some(at.to_owned());
        }
    });
    found
}
