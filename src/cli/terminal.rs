//! What the terminal can show: how wide it is, and whether it is said to write UTF-8.

use super::args::Chart;
use loopwright::report::Glyphs;
use std::io::IsTerminal;

/// Width taken where there is no terminal to ask.
const WIDTH: usize = 80;

/// The marks to draw bars with; none where no bars are wanted.
pub fn marks(chart: Chart) -> Option<Glyphs> {
    match chart {
        Chart::Off => None,
        Chart::Unicode => Some(Glyphs::Unicode),
        Chart::Ascii => Some(Glyphs::Ascii),
        Chart::Auto if !std::io::stdout().is_terminal() => None,
        Chart::Auto => Some(glyphs()),
    }
}

/// Columns of the terminal on standard output.
pub fn width() -> usize {
    terminal_size::terminal_size().map_or(WIDTH, |(width, _)| usize::from(width.0))
}

/// With which characters to draw: the first of the language settings that is set decides (POSIX).
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
