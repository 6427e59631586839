//! Files and validators.

use jsonschema::{Draft, Validator};
use serde_json::Value;
use std::path::{Path, PathBuf};

/// A folder of the project.
pub fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(name)
}

/// The JSON files of a folder, by name.
pub fn json_files(name: &str) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder(name))
        .expect("the folder is there")
        .map(|entry| entry.expect("it can be listed").path())
        .filter(|path| path.extension().is_some_and(|e| e == "json"))
        .collect();
    files.sort();
    assert!(!files.is_empty(), "{name} holds no JSON");
    files
}

pub fn stem(path: &Path) -> String {
    path.file_stem()
        .expect("a file name")
        .to_string_lossy()
        .into_owned()
}

pub fn text(path: &Path) -> String {
    std::fs::read_to_string(path).expect("a readable file")
}

pub fn value(path: &Path) -> Value {
    serde_json::from_str(&text(path)).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// A validator of draft 2020-12, whatever the schema says of itself; the schema is first held against that draft.
pub fn validator(schema: &Value) -> Validator {
    assert_eq!(
        schema["$schema"],
        "https://json-schema.org/draft/2020-12/schema"
    );
    if let Err(error) = jsonschema::draft202012::meta::validate(schema) {
        panic!(
            "the schema is not of its draft: {error} at {}",
            error.instance_path()
        );
    }
    jsonschema::options()
        .with_draft(Draft::Draft202012)
        .build(schema)
        .unwrap_or_else(|e| panic!("the schema cannot be used: {e}"))
}

/// All that a validator has against a value, a line each.
pub fn complaints(validator: &Validator, value: &Value) -> String {
    validator
        .iter_errors(value)
        .map(|e| format!("{}: {e}", e.instance_path()))
        .take(5)
        .collect::<Vec<String>>()
        .join("\n")
}

/// The pointers of all objects of a value, the root among them.
pub fn objects(value: &Value) -> Vec<String> {
    let mut found = Vec::new();
    visit(value, "", &mut |at, value| {
        if value.is_object() {
            found.push(at.to_owned());
        }
    });
    found
}

/// Every value with its pointer.
pub fn visit(value: &Value, at: &str, see: &mut dyn FnMut(&str, &Value)) {
    see(at, value);
    match value {
        Value::Object(map) => {
            for (key, inner) in map {
                let key = key.replace('~', "~0").replace('/', "~1");
                visit(inner, &format!("{at}/{key}"), see);
            }
        }
        Value::Array(items) => {
            for (index, inner) in items.iter().enumerate() {
                visit(inner, &format!("{at}/{index}"), see);
            }
        }
        _ => {}
    }
}
