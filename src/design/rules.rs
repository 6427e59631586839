//! The rules of files as JSON Schemas (2020-12). They are kept as files, which the tests below write from the record types and
//! hold equal to them: to generate them when they are wanted would take longer to build and to run.

use serde_json::Value;
use std::sync::OnceLock;

/// By which a design is checked: without descriptions, which no check reads.
pub(super) fn design() -> &'static Value {
    static RULES: OnceLock<Value> = OnceLock::new();
    RULES.get_or_init(|| read(include_str!("rules/checked.json")))
}

/// The rules of a design with their descriptions.
pub(super) fn described_design() -> Value {
    read(include_str!("rules/design.json"))
}

/// The rules of a stock list with their descriptions.
pub(super) fn stock() -> &'static Value {
    static RULES: OnceLock<Value> = OnceLock::new();
    RULES.get_or_init(|| read(include_str!("rules/stock.json")))
}

fn read(text: &str) -> Value {
    serde_json::from_str(text).expect("a file that the tests have read")
}

#[cfg(test)]
mod tests {
    use super::super::{Design, Stock};
    use super::*;

    /// Optional keys are left out, never null: the schema says so too.
    fn drop_null(value: &mut Value) {
        match value {
            Value::Object(map) => {
                if let Some(Value::Array(types)) = map.get_mut("type") {
                    types.retain(|t| t != "null");
                    if let [one] = &types[..] {
                        let one = one.clone();
                        map.insert("type".into(), one);
                    }
                }
                if let Some(Value::Array(choices)) = map.get_mut("anyOf") {
                    choices.retain(|c| c.get("type") != Some(&Value::String("null".into())));
                    if let [Value::Object(one)] = &choices[..] {
                        let one = one.clone();
                        map.remove("anyOf");
                        for (key, entry) in one {
                            map.entry(key).or_insert(entry);
                        }
                    }
                }
                if map.get("default") == Some(&Value::Null) {
                    map.remove("default");
                }
                map.values_mut().for_each(drop_null);
            }
            Value::Array(items) => items.iter_mut().for_each(drop_null),
            _ => {}
        }
    }

    /// Leaves out what no check reads: descriptions, which are texts (a property of that name is a schema).
    fn without_descriptions(mut value: Value) -> Value {
        fn leave_out(value: &mut Value) {
            match value {
                Value::Object(map) => {
                    map.retain(|key, value| key != "description" || !value.is_string());
                    map.values_mut().for_each(leave_out);
                }
                Value::Array(items) => items.iter_mut().for_each(leave_out),
                _ => {}
            }
        }
        leave_out(&mut value);
        value
    }

    fn generated<T: schemars::JsonSchema>() -> Value {
        let mut schema = schemars::schema_for!(T).to_value();
        drop_null(&mut schema);
        schema
    }

    /// One line for each definition, so that a change can be read.
    fn written(rules: &Value) -> String {
        let lines = |map: &serde_json::Map<String, Value>, indent: &str| {
            let lines = map
                .iter()
                .map(|(key, value)| format!("{indent}{}: {value}", Value::String(key.clone())));
            lines.collect::<Vec<_>>().join(",\n")
        };
        let mut root = rules.as_object().cloned().unwrap_or_default();
        let definitions = root.shift_remove("$defs").unwrap_or_default();
        let definitions = definitions.as_object().cloned().unwrap_or_default();
        format!(
            "{{\n{},\n\"$defs\": {{\n{}\n}}\n}}\n",
            lines(&root, ""),
            lines(&definitions, "")
        )
    }

    /// `LOOPWRIGHT_BLESS=1 cargo test --lib rules` writes the files anew, to be read by the next run.
    #[test]
    fn the_rules_on_file_are_those_of_the_types() {
        let described = generated::<Design>();
        let files = [
            ("checked", design(), without_descriptions(described.clone())),
            ("design", &described_design(), described),
            ("stock", stock(), generated::<Stock>()),
        ];
        if std::env::var_os("LOOPWRIGHT_BLESS").is_some() {
            for (name, _, wanted) in &files {
                let root = env!("CARGO_MANIFEST_DIR");
                let path = format!("{root}/src/design/rules/{name}.json");
                std::fs::write(path, written(wanted)).expect("the file can be written");
            }
            return;
        }
        for (name, on_file, wanted) in files {
            assert_eq!(
                written(on_file),
                written(&wanted),
                "{name}: see the note above"
            );
        }
    }
}
