//! Lying bars with a name before and a figure behind each.

use super::pen::{Anchor, Pen};
use super::ruler::{shortened, text_width};

/// One bar.
pub(in crate::report) struct Bar {
    pub label: String,
    /// Length over the longest, 0 to 1.
    pub share: f64,
    /// The figure behind the bar as plain text, for its width.
    pub plain: String,
    /// The same as markup.
    pub markup: String,
}

/// The chart.
pub(in crate::report) struct BarChart<'a> {
    pub id: &'a str,
    pub title: &'a str,
    pub description: &'a str,
    pub bars: Vec<Bar>,
}

const WIDTH: f64 = 640.0;
const LINE: f64 = 22.0;
const TEXT: f64 = 12.0;

impl BarChart<'_> {
    /// Draws it.
    pub fn draw(&self) -> String {
        let names = self.bars.iter().map(|b| text_width(&b.label, TEXT));
        let name = names.fold(40.0, f64::max).min(190.0);
        let values = self.bars.iter().map(|b| text_width(&b.plain, TEXT));
        let value = values.fold(40.0, f64::max);
        let room = (WIDTH - name - value - 24.0).max(60.0);
        let height = LINE * self.bars.len() as f64 + 8.0;
        let mut pen = Pen::new(WIDTH, height, self.id, self.title, self.description);
        for (k, bar) in self.bars.iter().enumerate() {
            let y = 4.0 + LINE * k as f64;
            let label = shortened(&bar.label, TEXT, name);
            pen.text((name, y + 15.0), Anchor::End, "tick", &label);
            let long = room * bar.share.clamp(0.0, 1.0);
            pen.rect((name + 8.0, y + 3.0), (long.max(0.8), LINE - 6.0), "bar");
            pen.rich(
                (name + 14.0 + long, y + 15.0),
                Anchor::Start,
                "tick",
                &bar.markup,
            );
        }
        pen.line((name + 8.0, 2.0), (name + 8.0, height - 2.0), "frame");
        pen.finish()
    }
}
