//! Standard output and standard error: results on the one, everything else on the other.

use loopwright::report::{Paint, Report, closing, render};
use std::io::{IsTerminal, Write};

/// Prints a result. A reader that has gone away is no error.
pub fn result(text: &str) {
    let mut out = std::io::stdout().lock();
    let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
}

/// Prints a row of a result and hands it on at once; says whether anybody still reads.
pub fn row(text: &str) -> bool {
    let mut out = std::io::stdout().lock();
    out.write_all(text.as_bytes())
        .and_then(|()| out.flush())
        .is_ok()
}

/// Prints JSON on one line; says whether anybody still reads.
pub fn json_line(value: &serde_json::Value) -> bool {
    row(&format!("{value}\n"))
}

/// Prints a message to standard error.
pub fn message(text: &str) {
    let mut out = std::io::stderr().lock();
    let _ = writeln!(out, "{text}");
}

/// Prints a report, coloured on a terminal unless `NO_COLOR` is set.
pub fn report(report: &Report) {
    result(&render(report, paint(std::io::stdout().is_terminal())));
}

/// Whether to colour a stream.
pub fn paint(terminal: bool) -> Paint {
    let refused = std::env::var_os("NO_COLOR").is_some_and(|v| !v.is_empty());
    if terminal && !refused {
        Paint::Coloured
    } else {
        Paint::Plain
    }
}

/// Prints JSON.
pub fn json(value: &serde_json::Value) {
    match serde_json::to_string_pretty(value) {
        Ok(text) => result(&(text + "\n")),
        Err(error) => message(&format!("cannot write JSON: {error}")),
    }
}

/// How an answer is printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Words and tables, with the cautions.
    Text,
    /// JSON with SI keys.
    Json,
    /// Rows with commas, SI values.
    Csv,
}

impl Form {
    /// The form that two flags ask for.
    pub fn of(json: bool, csv: bool) -> Self {
        match (json, csv) {
            (true, _) => Self::Json,
            (false, true) => Self::Csv,
            (false, false) => Self::Text,
        }
    }
}

/// Prints the answer of a study; only the form that is asked for is made.
pub fn answer(
    form: Form,
    as_json: impl FnOnce() -> serde_json::Value,
    as_csv: impl FnOnce() -> String,
    as_text: impl FnOnce() -> Report,
) {
    match form {
        Form::Json => json(&as_json()),
        Form::Csv => result(&as_csv()),
        Form::Text => {
            let mut text = as_text();
            text.blocks.extend(closing().blocks);
            report(&text);
        }
    }
}
