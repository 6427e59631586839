//! What the parser refused, in words that say what to do.

use jsonc_parser::errors::{ParseError, ParseErrorKind};

use super::document::line_column;
use crate::design::show::{Fault, FaultCode, excerpt};
use crate::place::Place;

/// What the parser refused, in words that say what to do.
pub(super) fn explain(error: &ParseError, text: &str, open: Option<usize>) -> Fault {
    use ParseErrorKind as Kind;
    let (start, end) = (
        error.range().start.min(text.len()),
        error.range().end.min(text.len()),
    );
    let unterminated = matches!(
        error.kind(),
        Kind::UnterminatedObject | Kind::UnterminatedArray
    );
    let content_end = text.trim_end().len();
    if let Some(open) = open
        && (unterminated || end >= content_end)
    {
        return truncated(text, open, content_end);
    }
    let token = excerpt(text.get(start..end).unwrap_or(""));
    let rest = text.get(end..).unwrap_or("").trim_start();
    let before = text.get(..start).unwrap_or("").trim_end();
    let is_word = token.starts_with(char::is_alphabetic);
    let next: String = rest
        .chars()
        .take_while(|c| c.is_alphanumeric() || matches!(c, '/' | '_' | '%'))
        .collect();
    let after_value = |word: &str| {
        (
            format!("cannot read `{}` after the value", excerpt(word)),
            "write a value and its unit in double quotes, as in \"19 mm\"",
        )
    };
    let (message, help): (String, &str) = match error.kind() {
        Kind::CommentsNotAllowed | Kind::UnterminatedCommentBlock => (
            "cannot read a comment because JSON has none".into(),
            "write it as \"note\": \"...\" in the object it is for",
        ),
        Kind::TrailingCommasNotAllowed => (
            "cannot read the comma because no entry follows it".into(),
            "remove it, or add the missing entry",
        ),
        Kind::SingleQuotedStringsNotAllowed => (
            "cannot read a text in single quotes".into(),
            "use double quotes, as in \"19 mm\"",
        ),
        Kind::ExpectedComma if rest.starts_with(char::is_alphabetic) => after_value(&next),
        Kind::UnexpectedToken if is_word && before.ends_with(char::is_alphanumeric) => {
            after_value(&token)
        }
        Kind::ExpectedComma => (
            "cannot read on because a comma is missing here".into(),
            "put `,` between the entries",
        ),
        Kind::ExpectedStringObjectProperty => (
            format!("cannot read the key `{token}` without quotes"),
            "put keys in double quotes, as in \"bore\"",
        ),
        Kind::ExpectedColonAfterObjectKey => (
            "cannot read on because `:` is missing between the key and its value".into(),
            "write \"key\": value",
        ),
        Kind::ExpectedObjectValue | Kind::UnexpectedCloseBrace => (
            format!("cannot read `{token}` because a value is wanted here"),
            "write the value after the colon",
        ),
        Kind::MultipleRootJsonValues => (
            format!("cannot read `{token}` because the document has ended before it"),
            "check for a brace that closes too early; a file holds one object",
        ),
        Kind::HexadecimalNumbersNotAllowed
        | Kind::UnaryPlusNumbersNotAllowed
        | Kind::BareDecimalPointNumbersNotAllowed
        | Kind::ExpectedDigit
        | Kind::ExpectedDigitFollowingNegativeSign
        | Kind::ExpectedPlusMinusOrDigitInNumberLiteral => (
            "cannot read this number".into(),
            "write it as 12, -0.5 or 1.2e-3, and with a unit in double quotes",
        ),
        Kind::UnexpectedWord | Kind::UnexpectedToken if is_word => (
            format!("cannot read `{token}` as a value"),
            "put a text in double quotes; only true and false and numbers stand without",
        ),
        Kind::String(_) => (
            "cannot read this text because of its escape".into(),
            "write a backslash as \\\\, a double quote as \\\", others as \\n, \\t or \\u00b0",
        ),
        _ => (
            format!("cannot read `{token}` here"),
            "check the commas, colons and brackets before it",
        ),
    };
    Fault::new(FaultCode::Syntax, Place::root(), Some(start..end), message).with_help(help)
}

fn truncated(text: &str, open: usize, content_end: usize) -> Fault {
    let line = line_column(text, open).0;
    let (what, close) = match text.as_bytes().get(open) {
        Some(b'{') => ("object", "}"),
        Some(b'[') => ("list", "]"),
        _ => ("text", "\""),
    };
    let last = text[..content_end]
        .char_indices()
        .next_back()
        .map_or(0, |(at, _)| at);
    let message = format!(
        "cannot read on because the file ends inside the {what} that begins on line {line}"
    );
    let fault = Fault::new(
        FaultCode::Truncated,
        Place::root(),
        Some(last..content_end),
        message,
    );
    fault.with_help(format!(
        "check that the file is complete; close the {what} with `{close}`"
    ))
}
