//! Sound files pass, notes and the editor's own key among them, and so does whatever the program writes.

use crate::files::{complaints, json_files, objects, stem, text, validator, value};
use loopwright::design::{Source, Stock, schema, stock_schema};
use loopwright::quantity::{Kind, UnitFamily};
use loopwright::starter::{Wish, bench, header, vehicle};
use serde_json::{Value, json};

#[test]
fn every_sample_passes() {
    let design = validator(schema());
    for path in json_files("networks") {
        let wrong = complaints(&design, &value(&path));
        assert!(wrong.is_empty(), "{}:\n{wrong}", path.display());
    }
    let stock = validator(stock_schema());
    for path in json_files("networks/stock") {
        let wrong = complaints(&stock, &value(&path));
        assert!(wrong.is_empty(), "{}:\n{wrong}", path.display());
        assert!(!design.is_valid(&value(&path)), "{}", path.display());
    }
}

#[test]
fn what_new_writes_passes() {
    let design = validator(schema());
    for units in [UnitFamily::Metric, UnitFamily::Us] {
        let mut written = vec![bench(units)];
        for modules in [1, 8, 60] {
            written.push(header(modules, units).expect("a header"));
            let wish = Wish {
                modules,
                boxes: modules.min(3),
                units,
                ..Wish::default()
            };
            written.push(vehicle(&wish).expect("a vehicle"));
        }
        for text in written {
            let value = serde_json::from_str(&text).expect("JSON");
            let wrong = complaints(&design, &value);
            assert!(wrong.is_empty(), "{text}\n{wrong}");
        }
    }
}

#[test]
fn a_design_may_name_its_schema_and_carry_a_note_in_any_object() {
    let design = validator(schema());
    for path in json_files("networks") {
        let mut noted = value(&path);
        for at in objects(&noted) {
            let object = noted.pointer_mut(&at).and_then(Value::as_object_mut);
            object
                .expect("an object")
                .insert("note".into(), json!("weighed twice"));
        }
        noted["$schema"] = json!("./loopwright.schema.json");
        let wrong = complaints(&design, &noted);
        assert!(wrong.is_empty(), "{}:\n{wrong}", path.display());
        Source::read(&noted.to_string()).unwrap_or_else(|f| panic!("{}: {f:#?}", path.display()));
        noted["$schema"] = json!(5);
        assert!(!design.is_valid(&noted));
        assert!(Source::read(&noted.to_string()).is_err());
    }
    for path in json_files("networks/stock") {
        let mut named = value(&path);
        named["$schema"] = json!("./stock.schema.json");
        assert!(validator(stock_schema()).is_valid(&named));
        Stock::read(&named.to_string()).unwrap_or_else(|f| panic!("{f:#?}"));
    }
}

#[test]
fn a_bore_is_a_length_with_a_known_unit() {
    let path = json_files("networks")
        .into_iter()
        .find(|p| stem(p) == "three-reservoirs");
    let sound = value(&path.expect("the sample is there"));
    let at = crate::mistakes::first_at(&sound, "bore").expect("a bore");
    let design = validator(schema());
    let with = |text: &str| {
        let mut changed = sound.clone();
        *changed.pointer_mut(&at).expect("the bore") = json!(text);
        (
            design.is_valid(&changed),
            Source::read(&changed.to_string()).is_ok(),
        )
    };
    for text in [
        "12 mm",
        "12mm",
        " 1 1/2 in ",
        "3/4\"",
        "0.5 FEET",
        "1.2e1 mm",
        ".5 m",
        "+5. cm",
        "2 m2/m",
        "1 mph h",
        "1 mph*h",
        "3/4 in",
        "300 µm",
    ] {
        assert_eq!(with(text), (true, true), "{text}");
    }
    for text in [
        "12 furlongs",
        "12",
        "mm",
        "12 L",
        "12 kPa",
        "",
        "twelve mm",
        "1,5 mm",
        "1 000 mm",
        "12 mm mm mm furlongs",
        "-3 mm",
        "0 mm",
        "0.0 in",
        "12 mm wide",
        "12 m*furlong",
        "5-7 mm",
        "nan mm",
        "12 °C",
    ] {
        assert_eq!(with(text), (false, false), "{text}");
    }
}

/// The kinds of quantity that stand in the schema, each with a pattern, a description and an example that passes it.
#[test]
fn every_quantity_says_its_unit_and_what_it_is() {
    let root = schema();
    let (mut seen, mut bare) = (Vec::new(), Vec::new());
    crate::files::visit(root, "", &mut |at, words| {
        if let Some(kind) = words.get("x-quantity").and_then(Value::as_str) {
            seen.push(kind.to_owned());
            if !words["description"].is_string() {
                bare.push(at.to_owned());
            }
            let of = validator(&json!({
                "$schema": root["$schema"], "$ref": words["$ref"], "$defs": root["$defs"],
            }));
            let examples = words["examples"].as_array().expect("examples");
            assert!(!examples.is_empty(), "{at}");
            for example in examples {
                assert!(of.is_valid(example), "{at}: {example}");
            }
            assert!(!of.is_valid(&json!("12 furlongs")), "{at}");
            assert!(Kind::from_name(kind).is_some(), "{kind}");
        }
    });
    assert!(bare.is_empty(), "no description: {bare:?}");
    assert!(seen.len() > 150, "{} quantities", seen.len());
}

/// Every key has its meaning, which editors show.
#[test]
fn every_key_of_the_schema_is_described() {
    let root = schema();
    let mut silent = Vec::new();
    crate::files::visit(root, "", &mut |at, words| {
        if let Some(properties) = words.get("properties").and_then(Value::as_object) {
            for (key, inner) in properties {
                let target = inner["$ref"]
                    .as_str()
                    .and_then(|r| root.pointer(r.trim_start_matches('#')));
                let told = |words: &Value| words["description"].is_string();
                // A branch of a choice says beside its one key what that key is.
                let choice = properties.len() <= 2 && told(words);
                if !(told(inner) || choice || target.is_some_and(told) || key == "note") {
                    silent.push(format!("{at}/{key}"));
                }
            }
        }
    });
    assert!(silent.is_empty(), "{silent:#?}");
}

#[test]
fn the_handbook_tells_editors_of_the_schema() {
    let page = text(&crate::files::folder("src/handbook/file.md"));
    assert!(page.contains("`$schema`"));
}
