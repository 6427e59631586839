//! What the terminal can show: how wide it is, and whether it is said to write UTF-8.

use super::args::Chart;
use loopwright::report::Marks;
use std::io::IsTerminal;

/// Width taken where there is no terminal to ask.
const WIDTH: usize = 80;

/// The marks to draw bars with; none where no bars are wanted.
pub fn marks(chart: Chart) -> Option<Marks> {
    match chart {
        Chart::Off => None,
        Chart::Unicode => Some(Marks::Unicode),
        Chart::Ascii => Some(Marks::Ascii),
        Chart::Auto if !std::io::stdout().is_terminal() => None,
        Chart::Auto if speaks_utf8() => Some(Marks::Unicode),
        Chart::Auto => Some(Marks::Ascii),
    }
}

/// Columns of the terminal on standard output.
pub fn width() -> usize {
    terminal_size::terminal_size().map_or(WIDTH, |(width, _)| usize::from(width.0))
}

/// The first of the language settings that is set decides (POSIX).
fn speaks_utf8() -> bool {
    let set = ["LC_ALL", "LC_CTYPE", "LANG"]
        .into_iter()
        .filter_map(|name| std::env::var(name).ok())
        .find(|value| !value.is_empty());
    set.is_some_and(|v| {
        let v = v.to_ascii_lowercase();
        v.contains("utf-8") || v.contains("utf8")
    })
}
