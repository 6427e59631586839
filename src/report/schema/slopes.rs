//! Shapes of `sensitivity`, and of the one change that meets a missed limit, which `check` has too.

use super::shape::{
    Definitions, any, joined, list, maybe, named, number, one_of, record, refer, text,
};
use super::studies::head;
use serde_json::Value;

pub(super) fn definitions() -> Definitions {
    vec![
        ("sensitivity", sensitivity()),
        ("remedy", record(&remedy())),
        (
            "row_remedy",
            joined(&[("limit", text()), ("subject", text())], &remedy()),
        ),
    ]
}

fn remedy() -> Vec<(&'static str, Value)> {
    vec![
        ("input", text()),
        ("from", text()),
        ("to", maybe(text())),
        ("steps", number()),
        ("step", one_of(&["percent", "kelvin"])),
        ("value", number()),
        ("also_missed", list(text())),
    ]
}

fn sensitivity() -> Value {
    let effect = record(&[
        ("input", text()),
        ("now", text()),
        ("step", one_of(&["percent", "kelvin"])),
        ("change", number()),
        ("steps_to_limit", maybe(number())),
    ]);
    let number_read = record(&[
        ("path", text()),
        ("value", number()),
        ("effects", list(effect.clone())),
    ]);
    let limit = record(&[
        ("limit", text()),
        ("subject", text()),
        ("value", number()),
        ("bound", number()),
        ("margin", maybe(number())),
        ("verdict", refer("verdict")),
        ("effects", list(effect)),
    ]);
    let case = record(&[
        ("residual", number()),
        ("outputs", list(any(vec![limit, number_read]))),
        ("remedies", list(refer("remedy"))),
    ]);
    let failed = record(&[("error", text())]);
    let unmoved = record(&[("input", text()), ("reason", text())]);
    head(vec![
        ("cases", named(any(vec![case, failed]))),
        ("unmoved", list(unmoved)),
    ])
}
