//! A report as text: aligned columns, no boxes; tones as colour only where the caller wants it, never as the only sign.

use super::block::{Align, Block, Cell, Report, Table, Tone};
use anstyle::{AnsiColor, Style};
use comfy_table::{CellAlignment, ContentArrangement, presets};

/// Whether tones become colours.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paint {
    /// Plain text.
    #[default]
    Plain,
    /// With colours.
    Coloured,
}

/// Width at which paragraphs are wrapped.
const TEXT_WIDTH: usize = 96;

/// Renders a report.
pub fn render(report: &Report, paint: Paint) -> String {
    let mut out = String::new();
    for (index, block) in report.blocks.iter().enumerate() {
        if index > 0
            && !matches!(
                (block, &report.blocks[index - 1]),
                (Block::Table(_) | Block::List(_), Block::Heading(_))
            )
        {
            out.push('\n');
        }
        match block {
            Block::Title(text) => {
                out.push_str(&painted(text, Style::new().bold(), paint));
                out.push('\n');
                out.push_str(&"=".repeat(text.chars().count()));
                out.push('\n');
            }
            Block::Heading(text) => {
                out.push_str(&painted(text, Style::new().bold(), paint));
                out.push('\n');
            }
            Block::Paragraph(cell) => wrapped(&mut out, cell, "", "", paint),
            Block::List(items) => {
                for item in items {
                    wrapped(&mut out, item, "  - ", "    ", paint);
                }
            }
            Block::Table(table) => out.push_str(&table_text(table, paint)),
        }
    }
    out
}

fn style_of(tone: Tone) -> Style {
    match tone {
        Tone::Plain => Style::new(),
        Tone::Good => AnsiColor::Green.on_default(),
        Tone::Warn => AnsiColor::Yellow.on_default(),
        Tone::Bad => AnsiColor::Red.on_default().bold(),
    }
}

fn painted(text: &str, style: Style, paint: Paint) -> String {
    match paint {
        Paint::Plain => text.to_owned(),
        Paint::Coloured => format!("{style}{text}{style:#}"),
    }
}

fn wrapped(out: &mut String, cell: &Cell, first: &str, rest: &str, paint: Paint) {
    let style = style_of(cell.tone);
    let mut line = String::new();
    let mut lead = first;
    let mut flush = |line: &mut String, lead: &str| {
        if !line.is_empty() {
            out.push_str(lead);
            out.push_str(&painted(line, style, paint));
            out.push('\n');
            line.clear();
        }
    };
    for word in cell.text.split_whitespace() {
        let width = lead.len() + line.chars().count() + 1 + word.chars().count();
        if width > TEXT_WIDTH && !line.is_empty() {
            flush(&mut line, lead);
            lead = rest;
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    flush(&mut line, lead);
}

fn table_text(table: &Table, paint: Paint) -> String {
    let mut drawn = comfy_table::Table::new();
    drawn.load_style(presets::NOTHING);
    drawn.set_content_arrangement(ContentArrangement::Disabled);
    drawn.set_header(table.columns.iter().map(|(name, _)| name.as_str()));
    for row in &table.rows {
        drawn.add_row(row.iter().map(|c| c.text.as_str()));
    }
    for (index, (_, align)) in table.columns.iter().enumerate() {
        if let Some(column) = drawn.column_mut(index) {
            column.set_padding((2, 0));
            column.set_cell_alignment(match align {
                Align::Left => CellAlignment::Left,
                Align::Right => CellAlignment::Right,
            });
        }
    }
    let mut out = String::new();
    for (index, line) in drawn.lines().enumerate() {
        let line = line.trim_end();
        let tone = index
            .checked_sub(1)
            .and_then(|row| table.rows.get(row))
            .and_then(|row| row.iter().map(|c| c.tone).find(|t| *t != Tone::Plain))
            .unwrap_or_default();
        let style = if index == 0 {
            Style::new().dimmed()
        } else {
            style_of(tone)
        };
        out.push_str(&painted(line, style, paint));
        out.push('\n');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_aligned_and_lines_have_no_trailing_blanks() {
        let mut table = Table::new(&["part", ">kPa"]);
        table.row(vec!["pump".into(), "23.1".into()]);
        table.row(vec!["return hose".into(), "7.05".into()]);
        let mut report = Report::default();
        report.table(table);
        let text = render(&report, Paint::Plain);
        assert_eq!(
            text,
            "  part          kPa\n  pump         23.1\n  return hose  7.05\n"
        );
    }

    #[test]
    fn long_paragraphs_are_wrapped_and_words_are_kept() {
        let mut report = Report::default();
        report.say("word ".repeat(60));
        let text = render(&report, Paint::Plain);
        assert!(text.lines().all(|l| l.len() <= TEXT_WIDTH));
        assert_eq!(text.split_whitespace().count(), 60);
    }

    #[test]
    fn colours_come_only_when_asked_for() {
        let mut report = Report::default();
        report.say(Cell::toned("MISSED", Tone::Bad));
        assert!(!render(&report, Paint::Plain).contains('\u{1b}'));
        assert!(render(&report, Paint::Coloured).contains('\u{1b}'));
    }
}
