//! Standard output and standard error: results on the one, everything else on the other.

use loopwright::report::{Glyphs, Paint, Report, render};
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

/// With which characters to plot: those of the language of the terminal.
pub fn glyphs() -> Glyphs {
    let said = ["LC_ALL", "LC_CTYPE", "LANG"]
        .iter()
        .filter_map(std::env::var_os)
        .find(|value| !value.is_empty());
    let utf8 = said.is_some_and(|value| {
        let value = value.to_string_lossy().to_lowercase();
        value.contains("utf-8") || value.contains("utf8")
    });
    if utf8 { Glyphs::Unicode } else { Glyphs::Ascii }
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
