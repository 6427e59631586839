//! A plot in text: one line of values over evenly spaced points, for a terminal or a page of plain text.

/// With which characters to draw.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Glyphs {
    /// Box drawing and bullets.
    Unicode,
    /// Nothing but ASCII.
    Ascii,
}

/// Columns of the drawing.
pub(super) const WIDTH: usize = 60;
/// Rows of the drawing.
const HEIGHT: usize = 12;

/// The lowest and highest value of each column, as points come in: of any number of points, memory stays the same.
#[derive(Clone, Debug, Default)]
pub(super) struct Columns {
    points: usize,
    range: Vec<Option<(f64, f64)>>,
}

impl Columns {
    /// Columns for so many points.
    pub(super) fn new(points: usize) -> Self {
        Self {
            points,
            range: vec![None; WIDTH],
        }
    }

    /// Takes the value of a point, counted from 0.
    pub(super) fn take(&mut self, point: usize, value: f64) {
        let last = self.points.saturating_sub(1).max(1);
        let column = (point * (WIDTH - 1) + last / 2) / last;
        if let Some(range) = self.range.get_mut(column) {
            *range = Some(range.map_or((value, value), |(low, high)| {
                (low.min(value), high.max(value))
            }));
        }
    }

    /// Lowest and highest of all values.
    pub(super) fn range(&self) -> Option<(f64, f64)> {
        let known = self.range.iter().flatten();
        known.copied().reduce(|(a, b), (c, d)| (a.min(c), b.max(d)))
    }

    /// Draws the columns; `high` and `low` label the vertical ends, `left` and `right` the horizontal ones.
    pub(super) fn draw(
        &self,
        (high, low): (&str, &str),
        (left, right): (&str, &str),
        glyphs: Glyphs,
    ) -> String {
        let (dot, bar, corner, dash) = match glyphs {
            Glyphs::Unicode => ('•', '│', '└', '─'),
            Glyphs::Ascii => ('*', '|', '+', '-'),
        };
        let Some((bottom, top)) = self.range() else {
            return String::new();
        };
        // A constant stands in the middle.
        let span = top - bottom;
        let row_of = |value: f64| {
            let share = if span > 0.0 {
                (value - bottom) / span
            } else {
                0.5
            };
            HEIGHT - 1 - (share * (HEIGHT - 1) as f64).round() as usize
        };
        let mut grid = vec![vec![' '; WIDTH]; HEIGHT];
        for (column, range) in self.range.iter().enumerate() {
            if let Some((least, most)) = range {
                for row in &mut grid[row_of(*most)..=row_of(*least)] {
                    row[column] = dot;
                }
            }
        }
        let margin = high.chars().count().max(low.chars().count());
        let mut text = String::new();
        for (k, row) in grid.iter().enumerate() {
            let label = match k {
                0 => high,
                k if k == HEIGHT - 1 => low,
                _ => "",
            };
            let pad = margin - label.chars().count();
            let line: String = row.iter().collect();
            text.push_str(&format!(
                "  {}{label} {bar}{}\n",
                " ".repeat(pad),
                line.trim_end()
            ));
        }
        let axis: String = std::iter::repeat_n(dash, WIDTH).collect();
        text.push_str(&format!("  {} {corner}{axis}\n", " ".repeat(margin)));
        let gap = WIDTH.saturating_sub(left.chars().count() + right.chars().count());
        text.push_str(&format!(
            "  {}  {left}{}{right}\n",
            " ".repeat(margin),
            " ".repeat(gap.max(1))
        ));
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_line_goes_from_corner_to_corner() {
        let mut columns = Columns::new(WIDTH);
        for k in 0..WIDTH {
            columns.take(k, k as f64);
        }
        let text = columns.draw(("59", "0"), ("left", "right"), Glyphs::Ascii);
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines.len(), HEIGHT + 2);
        assert!(lines[0].starts_with("  59 |") && lines[0].ends_with("***"));
        assert!(lines[HEIGHT - 1].starts_with("   0 |***"));
        assert!(lines[HEIGHT + 1].ends_with("right"));
        assert!(text.is_ascii());
        let drawn = columns.draw(("59", "0"), ("left", "right"), Glyphs::Unicode);
        assert!(drawn.contains('•') && !drawn.contains('*'));
    }

    #[test]
    fn many_points_share_columns_and_few_leave_gaps() {
        let mut many = Columns::new(100_000);
        for k in 0..100_000 {
            many.take(k, (k % 2) as f64);
        }
        assert!(many.range.iter().all(|r| *r == Some((0.0, 1.0))));
        let mut few = Columns::new(3);
        for k in 0..3 {
            few.take(k, 5.0);
        }
        assert_eq!(few.range.iter().flatten().count(), 3);
        assert!(few.range[0].is_some() && few.range[WIDTH - 1].is_some());
        assert!(!few.draw(("5", "5"), ("a", "b"), Glyphs::Ascii).is_empty());
        assert_eq!(Columns::new(3).draw(("", ""), ("", ""), Glyphs::Ascii), "");
    }
}
