//! One pass over the bytes before anything is parsed: nesting, and what the parser would let pass.

use std::ops::Range;

use super::caps::DEEPEST;
use crate::design::show::{Fault, FaultCode};
use crate::place::Place;

/// What one pass over the bytes tells before anything is parsed.
pub(super) struct Scan {
    /// The first spot that strict JSON refuses and the parser would let pass.
    pub(super) fault: Option<Fault>,
    /// The last brace, bracket or quote that is open at the end.
    pub(super) open: Option<usize>,
}

impl Scan {
    pub(super) fn of(text: &str) -> Result<Scan, Fault> {
        if text.starts_with('\u{feff}') {
            let message = "cannot read the file because it begins with a byte order mark";
            let fault = Fault::new(FaultCode::BadEncoding, Place::root(), Some(0..3), message);
            return Err(fault.with_help("save it as UTF-8 without a byte order mark"));
        }
        if text.trim().is_empty() {
            return Err(empty(text));
        }
        let (mut open, mut quote, mut escaped, mut fault) = (Vec::new(), None, false, None);
        let mut syntax = |span: Range<usize>, message: String, help: &str| {
            if fault.is_none() {
                let new = Fault::new(FaultCode::Syntax, Place::root(), Some(span), message);
                fault = Some(new.with_help(help));
            }
        };
        for (at, byte) in text.bytes().enumerate() {
            if let Some(start) = quote {
                match byte {
                    b'\n' | b'\r' => {
                        let message = "cannot read the text that begins here because it does not end on its line";
                        syntax(
                            start..at,
                            message.to_owned(),
                            "close it with a double quote",
                        );
                        quote = None;
                        escaped = false;
                    }
                    _ if byte < b' ' => {
                        let message =
                            format!("cannot read the control character {byte:#04x} in a text");
                        syntax(
                            at..at + 1,
                            message,
                            "write a space or an escape such as \\t",
                        );
                    }
                    _ if escaped => escaped = false,
                    b'\\' => escaped = true,
                    b'"' => quote = None,
                    _ => {}
                }
                continue;
            }
            match byte {
                b'"' => quote = Some(at),
                b'{' | b'[' if open.len() == DEEPEST => {
                    let message = format!(
                        "cannot read the file because it is nested too deeply: got more than {DEEPEST} objects and \
                         lists inside one another, limit {DEEPEST}"
                    );
                    let fault =
                        Fault::new(FaultCode::TooDeep, Place::root(), Some(at..at + 1), message);
                    return Err(fault.with_help("check for a bracket that is never closed"));
                }
                b'{' | b'[' => open.push(at),
                b'}' | b']' => {
                    open.pop();
                }
                b'\t' | b'\n' | b'\r' | b' '..=b'~' => {}
                _ => {
                    // A continuation byte is reported with the first byte of its character.
                    let Some(c) = text.get(at..).and_then(|rest| rest.chars().next()) else {
                        continue;
                    };
                    let message = match c {
                        _ if c.is_control() || c.is_whitespace() => {
                            format!(
                                "cannot read the invisible character U+{:04X} outside a text",
                                c as u32
                            )
                        }
                        _ => format!("cannot read `{c}` outside a text"),
                    };
                    let help = match c {
                        '\u{201c}'..='\u{201f}' | '\u{ab}' | '\u{bb}' => {
                            "use the plain double quote \""
                        }
                        _ => "remove it, or put the whole text in double quotes",
                    };
                    syntax(at..at + c.len_utf8(), message, help);
                }
            }
        }
        Ok(Scan {
            fault,
            open: quote.or(open.last().copied()),
        })
    }
}

pub(super) fn empty(text: &str) -> Fault {
    let message = "cannot read a design because the file is empty";
    let fault = Fault::new(
        FaultCode::Empty,
        Place::root(),
        Some(0..text.len().min(1)),
        message,
    );
    fault.with_help("the least that a design needs begins with { \"format\": 1 }")
}
