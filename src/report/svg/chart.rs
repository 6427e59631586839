//! What all charts share: frame, axes, legend, and the looks that tell series apart without colour.

use super::pen::{Anchor, Attributes, Path, Pen};
use super::ruler::{Axis, text_width};

/// Size of all writing in charts.
pub(super) const TEXT: f64 = 12.0;
/// Height of a line of the legend.
const LEGEND_LINE: f64 = 18.0;

/// How a series is drawn: the number picks dash, marker and colour together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::report) struct Look(pub usize);

impl Look {
    /// The class of its strokes.
    pub fn stroke(self) -> String {
        format!("s s{}", self.0 % 6)
    }

    /// The class of its marks.
    pub fn mark(self) -> String {
        format!("m m{}", self.0 % 6)
    }

    /// Draws its marker.
    pub fn draw_marker(self, pen: &mut Pen, (x, y): (f64, f64)) {
        let r = 3.6;
        let class = Attributes::class(&self.mark());
        let path = match self.0 % 6 {
            0 => return pen.circle((x, y), r, &self.mark()),
            1 => Path::from(x - r, y - r)
                .to(x + r, y - r)
                .to(x + r, y + r)
                .to(x - r, y + r),
            2 => Path::from(x, y - 4.6)
                .to(x + 4.4, y + 3.4)
                .to(x - 4.4, y + 3.4),
            3 => Path::from(x, y - 4.8)
                .to(x + 4.8, y)
                .to(x, y + 4.8)
                .to(x - 4.8, y),
            4 => Path::from(x, y + 4.6)
                .to(x + 4.4, y - 3.4)
                .to(x - 4.4, y - 3.4),
            _ => Path::from(x - 1.5, y - 4.5)
                .to(x + 1.5, y - 4.5)
                .to(x + 1.5, y + 4.5)
                .to(x - 1.5, y + 4.5),
        };
        pen.path(path.close(), class);
    }
}

/// The plotting area with its two axes.
pub(super) struct Frame {
    pub left: f64,
    pub top: f64,
    pub width: f64,
    pub height: f64,
    pub x: Axis,
    pub y: Axis,
}

impl Frame {
    /// A frame whose left margin leaves room for the labels of the axis.
    pub fn new(width: f64, height: f64, top: f64, x: Axis, y: Axis) -> Self {
        let widest = y
            .marks
            .iter()
            .map(|m| text_width(&y.label(*m), TEXT))
            .fold(0.0, f64::max);
        let left = widest + 34.0;
        Self {
            left,
            top,
            width: width - left - 24.0,
            height: height - top - 46.0,
            x,
            y,
        }
    }

    pub fn px(&self, value: f64) -> f64 {
        self.left + self.width * self.x.share(value)
    }

    pub fn py(&self, value: f64) -> f64 {
        self.top + self.height * (1.0 - self.y.share(value))
    }

    pub fn at(&self, (x, y): (f64, f64)) -> (f64, f64) {
        (self.px(x), self.py(y))
    }

    /// Grid, marks and titles of the vertical axis.
    pub fn draw_y(&self, pen: &mut Pen, title: &str) {
        for mark in &self.y.marks {
            let y = self.py(*mark);
            pen.line((self.left, y), (self.left + self.width, y), "grid");
            pen.text(
                (self.left - 6.0, y + 4.0),
                Anchor::End,
                "tick",
                &self.y.label(*mark),
            );
        }
        pen.upward((13.0, self.top + 0.5 * self.height), "axis", title);
        if self.y.ends.0 < 0.0 && self.y.ends.1 > 0.0 {
            let y = self.py(0.0);
            pen.line((self.left, y), (self.left + self.width, y), "zero");
        }
    }

    /// Marks and title of the horizontal axis.
    pub fn draw_x(&self, pen: &mut Pen, title: &str) {
        let base = self.top + self.height;
        let mut last_end = f64::NEG_INFINITY;
        for mark in &self.x.marks {
            let (x, label) = (self.px(*mark), self.x.label(*mark));
            let half = 0.5 * text_width(&label, TEXT);
            pen.line((x, base), (x, base + 5.0), "frame");
            if x - half > last_end + 5.0 {
                pen.text((x, base + 18.0), Anchor::Middle, "tick", &label);
                last_end = x + half;
            }
        }
        self.draw_x_title(pen, title);
    }

    pub fn draw_x_title(&self, pen: &mut Pen, title: &str) {
        let at = (self.left + 0.5 * self.width, self.top + self.height + 37.0);
        pen.text(at, Anchor::Middle, "axis", title);
    }

    pub fn draw_box(&self, pen: &mut Pen) {
        let (l, t) = (self.left, self.top);
        let (r, b) = (l + self.width, t + self.height);
        pen.path(
            Path::from(l, t).to(l, b).to(r, b),
            Attributes::class("frame"),
        );
    }
}

/// Draws the sample of a legend at a place.
pub(super) type Sample<'a> = dyn Fn(&mut Pen, (f64, f64)) + 'a;

/// One entry of a legend: how to draw its sample, and its words.
pub(super) struct Entry<'a> {
    pub label: &'a str,
    pub sample: Box<Sample<'a>>,
}

/// Rows of entries that fit a width.
fn rows<'e, 'a>(entries: &'e [Entry<'a>], width: f64) -> Vec<Vec<(f64, &'e Entry<'a>)>> {
    let mut rows: Vec<Vec<(f64, &Entry)>> = Vec::new();
    let mut x = f64::INFINITY;
    for entry in entries {
        let needs = 34.0 + text_width(entry.label, TEXT) + 14.0;
        if x + needs > width {
            rows.push(Vec::new());
            x = 0.0;
        }
        if let Some(row) = rows.last_mut() {
            row.push((x, entry));
        }
        x += needs;
    }
    rows
}

/// The height that a legend needs.
pub(super) fn legend_height(entries: &[Entry<'_>], width: f64) -> f64 {
    rows(entries, width).len() as f64 * LEGEND_LINE + 4.0
}

/// Draws a legend from the top down.
pub(super) fn draw_legend(pen: &mut Pen, entries: &[Entry<'_>], width: f64) {
    for (k, row) in rows(entries, width).into_iter().enumerate() {
        let y = 12.0 + k as f64 * LEGEND_LINE;
        for (x, entry) in row {
            (entry.sample)(pen, (x + 4.0, y - 4.0));
            pen.text((x + 34.0, y), Anchor::Start, "legend", entry.label);
        }
    }
}
