//! What the verbs really print, held against the schemas that are printed for it.

use crate::files::{complaints, folder, json_files, objects, validator};
use loopwright::report::{ANSWERS, answer_schema};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::process::Command;

/// What a verb prints; it must have answered, yes or no.
fn printed(args: &[&str]) -> String {
    let out = Command::new(env!("CARGO_BIN_EXE_loopwright"))
        .args(args)
        .arg("--json")
        .current_dir(folder("."))
        .output()
        .expect("the program runs");
    assert!(
        matches!(out.status.code(), Some(0 | 1 | 3)),
        "{args:?}: {}",
        String::from_utf8_lossy(&out.stderr)
    );
    String::from_utf8(out.stdout).expect("UTF-8")
}

fn answer(args: &[&str]) -> Value {
    serde_json::from_str(&printed(args)).unwrap_or_else(|e| panic!("{args:?}: {e}"))
}

/// Samples with two cores of one radiator in two loops.
const DIVIDED: [&str; 2] = ["networks/bookmobile.json", "networks/two-core-lesson.json"];

/// Real answers of a verb.
fn answers(of: &str) -> Vec<Value> {
    let samples: Vec<String> = json_files("networks")
        .iter()
        .map(|path| format!("networks/{}.json", crate::files::stem(path)))
        .collect();
    let every =
        |verb: &str| -> Vec<Value> { samples.iter().map(|file| answer(&[verb, file])).collect() };
    let list = |kind: &str| format!("networks/stock/{kind}.json");
    match of {
        "solve" | "check" | "report" | "layout" => {
            let mut all = every(of);
            // A case without an answer.
            let hot = "cases.hot hill.air=95 degC";
            if of != "report" && of != "layout" {
                all.push(answer(&[of, "networks/bookmobile.json", "--set", hot]));
            }
            all
        }
        "partition" => DIVIDED.iter().map(|file| answer(&[of, file])).collect(),
        "size-pump" => [
            ("bookmobile", "battery.pump"),
            ("harbour-launch", "drive.pump"),
        ]
        .iter()
        .map(|(file, pump)| {
            let file = format!("networks/{file}.json");
            answer(&[
                "size",
                "pump",
                &file,
                "--pump",
                pump,
                "--stock",
                &list("pumps"),
            ])
        })
        .collect(),
        "size-hose" => ["battery", "drive"]
            .iter()
            .map(|owner| {
                let file = "networks/bookmobile.json";
                answer(&[
                    "size",
                    "hose",
                    file,
                    "--loop",
                    owner,
                    "--stock",
                    &list("hoses"),
                ])
            })
            .collect(),
        "size-header" => ["header-same-end", "bench-header"]
            .iter()
            .map(|file| {
                let file = format!("networks/{file}.json");
                answer(&["size", "header", &file, "--stock", &list("headers")])
            })
            .collect(),
        "balance" => ["header-same-end", "bookmobile"]
            .iter()
            .map(|file| answer(&["balance", &format!("networks/{file}.json")]))
            .collect(),
        "compare" => vec![
            answer(&[
                "compare",
                "networks/header-same-end.json",
                "networks/header-opposite-end.json",
            ]),
            answer(&[
                "compare",
                "networks/bookmobile.json",
                "--set",
                "loops.battery.parts.out.hose.bore=11 mm",
            ]),
        ],
        "sensitivity" => {
            let file = "networks/bookmobile.json";
            let flow = "loops.battery.parts.pump.volume_flow_m3_s";
            let hot = "cases.hot hill.air=95 degC";
            vec![
                answer(&[of, "networks/tutorial/5-disc.json"]),
                answer(&[of, file, "--output", flow, "--case", "hot hill"]),
                answer(&[of, file, "--set", hot]),
            ]
        }
        "explain" => vec![answer(&["explain", "--list"]), answer(&["explain", "hose"])],
        "sweep" => printed(&[
            "sweep",
            "networks/bookmobile.json",
            "--vary",
            "loops.battery.parts.out.hose.bore=13 mm..25 mm:3",
        ])
        .lines()
        .map(|line| serde_json::from_str(line).expect("an object a line"))
        .collect(),
        other => panic!("no answers of `{other}` are known here"),
    }
}

/// Objects whose keys are names of the design, so that one more or one less is no mistake of form.
const NAMED: [&str; 29] = [
    "bank_drop_pa",
    "banks",
    "by_kind",
    "cases",
    "core_inlet_k",
    "cores",
    "device_k",
    "errors",
    "faces",
    "fans",
    "hoses",
    "hottest_module_k",
    "inputs",
    "inputs_si",
    "loops",
    "module_temperature_spread_k",
    "origins",
    "outputs",
    "parts",
    "radiators",
    "restrictors",
    "second_answers",
    "tank_leak_w",
    "verdicts",
    "volumes",
    "worst_of",
    "subjects",
    "circuits",
    "limits",
];

/// Keys that may be missing, all others must be there.
const MAY_BE_MISSING: [&str; 2] = ["remedies", "time"];

/// Keys that no sample brings about: two answers of one case, and a study's case without an answer or without a flip. Their
/// schemas are held by nothing but the eye.
const NOT_MET: [&str; 12] = [
    "branches",
    "hottest_coolant_k",
    "other_hottest_coolant_k",
    "other_hottest_module_k",
    "other_mass_flow_kg_s",
    "other_outlet_temperature_k",
    "error",
    "kind",
    "subject",
    "text",
    "case",
    "flip",
];

#[test]
fn every_answer_of_every_verb_fits_its_schema_and_no_changed_one_does() {
    for of in ANSWERS {
        let schema = answer_schema(of).expect("a schema");
        let check = validator(&schema);
        let mut tried: BTreeSet<Vec<String>> = BTreeSet::new();
        let mut keys: BTreeSet<String> = BTreeSet::new();
        for answer in answers(of) {
            let wrong = complaints(&check, &answer);
            assert!(wrong.is_empty(), "{of}:\n{wrong}");
            for at in objects(&answer) {
                let map = answer
                    .pointer(&at)
                    .and_then(Value::as_object)
                    .expect("an object");
                let own: Vec<String> = map.keys().cloned().collect();
                keys.extend(own.iter().cloned());
                let name = at.rsplit('/').next().unwrap_or("");
                if NAMED.contains(&name) || !tried.insert(own.clone()) {
                    continue;
                }
                let changed = |change: &dyn Fn(&mut serde_json::Map<String, Value>)| {
                    let mut other = answer.clone();
                    let map = other.pointer_mut(&at).and_then(Value::as_object_mut);
                    change(map.expect("an object"));
                    check.is_valid(&other)
                };
                assert!(
                    !changed(&|map| {
                        map.insert("a key that nobody has".into(), json!(1));
                    }),
                    "{of}{at}: a key more is let pass"
                );
                for key in own.iter().filter(|k| !MAY_BE_MISSING.contains(&k.as_str())) {
                    assert!(
                        !changed(&|map| {
                            map.shift_remove(key);
                        }),
                        "{of}{at}: `{key}` may be missing"
                    );
                    assert!(
                        !changed(&|map| {
                            map.insert(key.clone(), json!([[[0]]]));
                        }),
                        "{of}{at}: `{key}` may be anything"
                    );
                }
            }
        }
        let mut promised = BTreeSet::new();
        crate::files::visit(&schema, "", &mut |_, words| {
            if let Some(properties) = words.get("properties").and_then(Value::as_object) {
                promised.extend(properties.keys().cloned());
            }
        });
        let unseen: Vec<&String> = promised
            .difference(&keys)
            .filter(|key| !NOT_MET.contains(&key.as_str()))
            .collect();
        assert!(unseen.is_empty(), "{of}: no answer has {unseen:?}");
    }
}

#[test]
fn the_program_prints_each_schema_and_a_design_is_what_it_means_by_itself() {
    let print = |args: &[&str]| -> Value {
        let out = Command::new(env!("CARGO_BIN_EXE_loopwright"))
            .args(args)
            .output();
        let out = out.expect("the program runs");
        assert_eq!(out.status.code(), Some(0), "{args:?}");
        serde_json::from_slice(&out.stdout).expect("JSON")
    };
    assert_eq!(print(&["schema"]), *loopwright::design::schema());
    assert_eq!(
        print(&["schema", "--of", "stock"]),
        *loopwright::design::stock_schema()
    );
    for of in ANSWERS {
        assert_eq!(
            print(&["schema", "--of", of]),
            answer_schema(of).expect("a schema")
        );
    }
    let out = Command::new(env!("CARGO_BIN_EXE_loopwright"))
        .args(["schema", "--of", "tea"])
        .output();
    assert_eq!(out.expect("the program runs").status.code(), Some(2));
}
