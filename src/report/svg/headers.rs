//! Columns over the modules or ports of a bank: flows with their band, temperatures, pressures along both headers.

use super::chart::{Entry, Frame, Look, TEXT, draw_legend, legend_height};
use super::lines::Threshold;
use super::pen::{Anchor, Attributes, Path, Pen};
use super::ruler::{Axis, text_width};

/// One value a column.
pub(in crate::report) struct ColumnSeries {
    pub label: String,
    pub look: Look,
    /// `NaN` where there is none.
    pub values: Vec<f64>,
    /// Lowest and highest where a band is known.
    pub bands: Vec<(f64, f64)>,
    /// Whether the values are joined by a line, or stand as columns from the base.
    pub joined: Joined,
}

/// How values are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::report) enum Joined {
    Line,
    Columns,
}

/// The chart.
pub(in crate::report) struct ColumnChart<'a> {
    pub id: &'a str,
    pub title: &'a str,
    pub description: &'a str,
    pub x_title: &'a str,
    pub y_title: &'a str,
    pub series: Vec<ColumnSeries>,
    pub thresholds: Vec<Threshold>,
    pub band_label: &'a str,
    /// Value at which columns stand.
    pub base: Option<f64>,
}

const WIDTH: f64 = 640.0;
const PLOT: f64 = 250.0;

impl ColumnChart<'_> {
    /// Draws it.
    pub fn draw(&self) -> String {
        let count = self
            .series
            .iter()
            .map(|s| s.values.len())
            .max()
            .unwrap_or(0);
        let values = self.series.iter().flat_map(|s| {
            let bands = s.bands.iter().flat_map(|b| [b.0, b.1]);
            s.values.iter().copied().chain(bands)
        });
        let limits = self.thresholds.iter().map(|t| t.value);
        let y = Axis::over(values.chain(limits).chain(self.base), 6);
        let x = Axis::over([0.5, count as f64 + 0.5].into_iter(), 8);
        let entries = self.entries();
        let top = legend_height(&entries, WIDTH);
        let height = top + PLOT + 8.0;
        let mut pen = Pen::new(WIDTH, height, self.id, self.title, self.description);
        draw_legend(&mut pen, &entries, WIDTH);
        let mut frame = Frame::new(WIDTH, height, top + 8.0, x, y);
        frame.x.ends = (0.5, count as f64 + 0.5);
        frame.draw_y(&mut pen, self.y_title);
        for series in &self.series {
            self.draw_series(&mut pen, &frame, series, count);
        }
        for limit in &self.thresholds {
            let y = frame.py(limit.value);
            pen.line((frame.left, y), (frame.left + frame.width, y), "limit");
        }
        frame.draw_box(&mut pen);
        draw_numbers(&mut pen, &frame, count);
        frame.draw_x_title(&mut pen, self.x_title);
        pen.finish()
    }

    fn draw_series(&self, pen: &mut Pen, frame: &Frame, series: &ColumnSeries, count: usize) {
        let step = frame.width / count.max(1) as f64;
        let at = |k: usize| frame.px(k as f64 + 1.0);
        if series.joined == Joined::Columns {
            let base = frame.py(self.base.unwrap_or(frame.y.ends.0).max(frame.y.ends.0));
            let wide = (0.66 * step).clamp(0.8, 26.0);
            for (k, value) in series
                .values
                .iter()
                .enumerate()
                .filter(|(_, v)| v.is_finite())
            {
                let y = frame.py(*value);
                pen.rect(
                    (at(k) - 0.5 * wide, y.min(base)),
                    (wide, (y - base).abs().max(0.6)),
                    "bar",
                );
            }
        } else {
            let mut path: Option<Path> = None;
            for (k, value) in series
                .values
                .iter()
                .enumerate()
                .filter(|(_, v)| v.is_finite())
            {
                let (x, y) = (at(k), frame.py(*value));
                path = Some(match path {
                    Some(path) => path.to(x, y),
                    None => Path::from(x, y),
                });
            }
            if let Some(path) = path {
                pen.path(path, Attributes::class(&series.look.stroke()));
            }
            if step > 7.0 {
                for (k, value) in series
                    .values
                    .iter()
                    .enumerate()
                    .filter(|(_, v)| v.is_finite())
                {
                    series.look.draw_marker(pen, (at(k), frame.py(*value)));
                }
            }
        }
        for (k, (low, high)) in series.bands.iter().enumerate() {
            if low.is_finite() && high.is_finite() {
                let (x, half) = (at(k), (0.2 * step).clamp(0.0, 4.0));
                let (a, b) = (frame.py(*low), frame.py(*high));
                let whisker = Path::from(x, a).to(x, b).jump(x - half, a).to(x + half, a);
                pen.path(
                    whisker.jump(x - half, b).to(x + half, b),
                    Attributes::class("whisker"),
                );
            }
        }
    }

    fn entries(&self) -> Vec<Entry<'_>> {
        let mut entries: Vec<Entry<'_>> = Vec::new();
        for series in &self.series {
            let (look, joined) = (series.look, series.joined);
            entries.push(Entry {
                label: &series.label,
                sample: Box::new(move |pen, (x, y)| match joined {
                    Joined::Columns => pen.rect((x + 7.0, y - 5.0), (10.0, 10.0), "bar"),
                    Joined::Line => {
                        pen.line((x, y), (x + 24.0, y), &look.stroke());
                        look.draw_marker(pen, (x + 12.0, y));
                    }
                }),
            });
        }
        if self.series.iter().any(|s| !s.bands.is_empty()) {
            entries.push(Entry {
                label: self.band_label,
                sample: Box::new(|pen, (x, y)| {
                    let path = Path::from(x + 12.0, y - 6.0).to(x + 12.0, y + 6.0);
                    let path = path.jump(x + 8.0, y - 6.0).to(x + 16.0, y - 6.0);
                    let path = path.jump(x + 8.0, y + 6.0).to(x + 16.0, y + 6.0);
                    pen.path(path, Attributes::class("whisker"));
                }),
            });
        }
        for limit in &self.thresholds {
            entries.push(Entry {
                label: &limit.label,
                sample: Box::new(|pen, (x, y)| pen.line((x, y), (x + 24.0, y), "limit")),
            });
        }
        entries
    }
}

/// Numbers of the columns, as many as have room.
fn draw_numbers(pen: &mut Pen, frame: &Frame, count: usize) {
    let step = frame.width / count.max(1) as f64;
    let widest = text_width(&count.to_string(), TEXT) + 8.0;
    let rough = (widest / step).ceil().max(1.0) as usize;
    let every = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000]
        .into_iter()
        .find(|n| *n >= rough)
        .unwrap_or(rough);
    let base = frame.top + frame.height;
    for k in (1..=count).filter(|k| *k == 1 || k % every == 0) {
        // The first has its number unless the next one stands too near.
        if k == 1 && every > 1 && step * (every - 1) as f64 <= widest {
            continue;
        }
        let x = frame.px(k as f64);
        pen.line((x, base), (x, base + 4.0), "frame");
        pen.text((x, base + 18.0), Anchor::Middle, "tick", &k.to_string());
    }
}
