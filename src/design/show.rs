//! A mistake in a design file, and the text that shows mistakes to the person who made them.
//! It finds none itself: [`syntax`](super::syntax) and [`guard`](super::guard) do.

use std::fmt;
use std::ops::Range;

use annotate_snippets::{AnnotationKind, Level, Origin, Renderer, Snippet};

use super::syntax::line_column;
use crate::place::Place;

/// Most mistakes that [`render`] shows; the rest is counted.
pub const MOST_SHOWN: usize = 50;
/// Most bytes of a line on each side of the marked spot that reach the renderer, which then cuts to its width.
const CONTEXT_BYTES: usize = 2000;
/// Most bytes that are marked.
const MARKED_BYTES: usize = 200;

/// What kind of mistake a [`Fault`] is. The text form is stable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[non_exhaustive]
pub enum FaultCode {
    /// The text is not JSON.
    Syntax,
    /// The file holds nothing.
    Empty,
    /// The file ends in the middle.
    Truncated,
    /// The file is larger than the cap.
    TooLarge,
    /// Objects and lists stand inside one another deeper than the cap.
    TooDeep,
    /// The file is not UTF-8, or begins with a byte order mark.
    BadEncoding,
    /// A key stands twice in one object.
    DuplicateKey,
    /// A number is not finite, or too large to be held.
    NotANumber,
    /// A key that the object does not have.
    UnknownKey,
    /// A key that must be there is not.
    MissingKey,
    /// A name holds a character that names cannot hold, or is too long.
    BadName,
    /// A value is of another type than is wanted, or `null`.
    WrongType,
    /// A text is not a quantity of the wanted kind.
    BadQuantity,
    /// A number or quantity is beyond a limit.
    OutOfRange,
    /// A word that is none of those to choose from.
    UnknownChoice,
    /// Two of several keys of which one is to be chosen.
    TwoChoices,
    /// A list or map has too few entries, or a text too few characters.
    TooFew,
    /// A list or map has too many entries, or a text too many characters.
    TooMany,
    /// Stands last for all the mistakes beyond the number that is kept.
    Unlisted,
    /// A rule of the network, by its own stable code.
    Rule(&'static str),
}

impl FaultCode {
    /// The stable name of the code.
    pub fn text(self) -> &'static str {
        match self {
            FaultCode::Syntax => "syntax",
            FaultCode::Empty => "empty",
            FaultCode::Truncated => "truncated",
            FaultCode::TooLarge => "too-large",
            FaultCode::TooDeep => "too-deep",
            FaultCode::BadEncoding => "bad-encoding",
            FaultCode::DuplicateKey => "duplicate-key",
            FaultCode::NotANumber => "not-a-number",
            FaultCode::UnknownKey => "unknown-key",
            FaultCode::MissingKey => "missing-key",
            FaultCode::BadName => "bad-name",
            FaultCode::WrongType => "wrong-type",
            FaultCode::BadQuantity => "bad-quantity",
            FaultCode::OutOfRange => "out-of-range",
            FaultCode::UnknownChoice => "unknown-choice",
            FaultCode::TwoChoices => "two-choices",
            FaultCode::TooFew => "too-few",
            FaultCode::TooMany => "too-many",
            FaultCode::Unlisted => "unlisted",
            FaultCode::Rule(code) => code,
        }
    }
}

impl fmt::Display for FaultCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.text())
    }
}

/// One mistake in a design file: where it stands, what is wrong and what to try.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// What kind of mistake it is.
    pub code: FaultCode,
    /// Where it stands in the document; for a missing key, where that key would stand.
    pub place: Place,
    /// The bytes to mark in the text; none for a design built in Rust.
    pub span: Option<Range<usize>>,
    /// What is wrong, in lower case, with the value as its author wrote it.
    pub message: String,
    /// What to try, where the message does not say it.
    pub help: Option<String>,
}

impl Fault {
    /// A mistake without help.
    pub fn new(
        code: FaultCode,
        place: Place,
        span: Option<Range<usize>>,
        message: impl Into<String>,
    ) -> Fault {
        Fault {
            code,
            place,
            span,
            message: message.into(),
            help: None,
        }
    }

    /// The same mistake with a line of help.
    #[must_use]
    pub fn with_help(mut self, help: impl Into<String>) -> Fault {
        self.help = Some(help.into());
        self
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.place.steps().is_empty() {
            write!(f, "{}: ", self.place)?;
        }
        f.write_str(&self.message)?;
        match &self.help {
            Some(help) => write!(f, "; {help}"),
            None => Ok(()),
        }
    }
}

impl std::error::Error for Fault {}

/// Whether rendered text carries terminal colours.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Style {
    /// Text alone.
    #[default]
    Plain,
    /// With the escape sequences of terminal colours.
    Coloured,
}

/// The text that shows mistakes in a file: of each its message, the line with the marked spot, its place and its help.
///
/// At most [`MOST_SHOWN`] are shown, the rest is counted. Long lines are cut to the surroundings of the spot. A span
/// that is not of this text is clamped to it.
pub fn render(faults: &[Fault], file: &str, text: &str, style: Style) -> String {
    let renderer = match style {
        Style::Plain => Renderer::plain(),
        Style::Coloured => Renderer::styled(),
    };
    let mut blocks: Vec<String> = faults
        .iter()
        .take(MOST_SHOWN)
        .map(|fault| render_one(fault, file, text, &renderer))
        .collect();
    if faults.len() > MOST_SHOWN {
        let rest = faults.len() - MOST_SHOWN;
        let noun = if rest == 1 {
            "mistake is"
        } else {
            "mistakes are"
        };
        let title = format!("{rest} more {noun} not shown");
        blocks.push(
            renderer.render(&[Level::NOTE
                .primary_title(title)
                .elements(Vec::<Origin<'_>>::new())]),
        );
    }
    blocks.join("\n\n")
}

fn render_one(fault: &Fault, file: &str, text: &str, renderer: &Renderer) -> String {
    let place = printable(&fault.place.to_string());
    let title = Level::ERROR
        .primary_title(printable(&fault.message))
        .id(fault.code.text());
    let mut group = match &fault.span {
        Some(span) => {
            let spot = Spot::of(text, span);
            let mark = AnnotationKind::Primary.span(spot.mark.clone());
            let mark = if place.is_empty() {
                mark
            } else {
                mark.label(place)
            };
            let snippet = Snippet::source(spot.shown)
                .line_start(spot.line)
                .annotation(mark);
            match spot.column {
                None => title.element(snippet.path(file)),
                // Of a line that was cut the renderer cannot count the column.
                Some(column) => title
                    .element(Origin::path(file).line(spot.line).char_column(column))
                    .element(snippet),
            }
        }
        None if place.is_empty() => title.element(Origin::path(file)),
        None => title
            .element(Origin::path(file))
            .element(Level::NOTE.message(format!("at {place}"))),
    };
    if let Some(help) = &fault.help {
        group = group.element(Level::HELP.message(printable(help)));
    }
    renderer.render(&[group])
}

/// The part of a line around a span, and where the span stands in it.
struct Spot<'a> {
    shown: &'a str,
    mark: Range<usize>,
    line: usize,
    /// The column in the whole line, if what stands before the spot was cut.
    column: Option<usize>,
}

impl<'a> Spot<'a> {
    fn of(text: &'a str, span: &Range<usize>) -> Spot<'a> {
        let start = floor(text, span.start);
        let line_start = text[..start].rfind('\n').map_or(0, |at| at + 1);
        let line_end = text[start..].find('\n').map_or(text.len(), |at| start + at);
        let line_end = line_start + text[line_start..line_end].trim_end_matches('\r').len();
        let start = start.min(line_end);
        let end = floor(
            text,
            span.end.clamp(start, line_end.min(start + MARKED_BYTES)),
        );
        let from = floor(text, start.saturating_sub(CONTEXT_BYTES).max(line_start));
        let to = floor(text, (end + CONTEXT_BYTES).min(line_end));
        let (line, column) = line_column(text, start);
        Spot {
            shown: &text[from..to],
            mark: start - from..end - from,
            line,
            column: (from > line_start).then_some(column),
        }
    }
}

/// The last character boundary at or before a byte.
fn floor(text: &str, byte: usize) -> usize {
    let mut byte = byte.min(text.len());
    while !text.is_char_boundary(byte) {
        byte -= 1;
    }
    byte
}

/// Words of the file as they may stand in a message: without control characters and marks that turn the direction of
/// writing, so that no file can steer the terminal.
pub(super) fn printable(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\n' | '\t' | '\r' => ' ',
            '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => {
                '\u{fffd}'
            }
            _ if c.is_control() => '\u{fffd}',
            _ => c,
        })
        .collect()
}

/// A value or key as a message quotes it: on one line and cut after forty characters.
pub(super) fn excerpt(text: &str) -> String {
    const MOST: usize = 40;
    let mut characters = text.chars();
    let mut shown = printable(&characters.by_ref().take(MOST).collect::<String>());
    if characters.next().is_some() {
        shown.push_str("...");
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fault(span: Range<usize>) -> Fault {
        Fault::new(
            FaultCode::OutOfRange,
            Place::root().key("feed").key("bore"),
            Some(span),
            "bore is `-3 mm`",
        )
    }

    #[test]
    fn a_mistake_shows_its_line_spot_place_and_help() {
        let text = "{\n  \"feed\": {\n    \"bore\": \"-3 mm\" } }";
        let at = text.find("\"-3").expect("it is there");
        let shown = render(
            &[fault(at..at + 7).with_help("try more")],
            "loop.json",
            text,
            Style::Plain,
        );
        let wanted = "\
error[out-of-range]: bore is `-3 mm`
 --> loop.json:3:13
  |
3 |     \"bore\": \"-3 mm\" } }
  |             ^^^^^^^ feed.bore
  |
  = help: try more";
        assert_eq!(shown, wanted);
        assert!(
            render(&[fault(at..at + 7)], "loop.json", text, Style::Coloured).contains("\u{1b}[")
        );
    }

    #[test]
    fn a_long_line_is_cut_around_the_spot() {
        let text = format!(
            "{}\"-3 mm\"{}",
            "é, ".repeat(1_000_000),
            ", é".repeat(1_000_000)
        );
        let at = text.find('"').expect("it is there");
        let shown = render(&[fault(at..at + 7)], "loop.json", &text, Style::Plain);
        assert!(shown.len() < 1500, "{}", shown.len());
        assert!(shown.contains("loop.json:1:3000001"), "{shown}");
        assert!(shown.contains("^^^^^^^ feed.bore"), "{shown}");
    }

    #[test]
    fn fifty_are_shown_and_the_rest_is_counted() {
        let shown = render(&vec![fault(0..1); 73], "loop.json", "{}", Style::Plain);
        assert_eq!(shown.matches("error[").count(), MOST_SHOWN);
        assert!(
            shown.ends_with("note: 23 more mistakes are not shown"),
            "{shown}"
        );
        assert_eq!(render(&[], "loop.json", "{}", Style::Plain), "");
    }

    #[test]
    fn any_span_of_any_text_can_be_shown() {
        for text in ["", "\n", "é\r\nü", "a\n\n", "\u{1b}[31m\u{202e}x\ty"] {
            for start in 0..text.len() + 3 {
                for end in 0..text.len() + 3 {
                    let shown = render(&[fault(start..end)], "f", text, Style::Plain);
                    assert!(
                        shown.contains("feed.bore") && !shown.contains('\u{1b}'),
                        "{text:?} {start} {end}: {shown}"
                    );
                }
            }
        }
    }

    #[test]
    fn a_mistake_without_text_prints_its_place_alone() {
        let bare = Fault {
            span: None,
            ..fault(0..0)
        };
        assert_eq!(bare.to_string(), "feed.bore: bore is `-3 mm`");
        assert!(render(&[bare], "f", "", Style::Plain).contains("at feed.bore"));
    }

    #[test]
    fn words_of_the_file_cannot_steer_the_terminal() {
        assert_eq!(printable("a\u{1b}[2J\n\u{202e}b"), "a\u{fffd}[2J \u{fffd}b");
        assert_eq!(excerpt(&"x".repeat(50)), format!("{}...", "x".repeat(40)));
    }
}
