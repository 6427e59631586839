//! Lines over a numeric axis: curves with their working points, limits as thresholds, a shaded span.

use super::chart::{Entry, Frame, Look, draw_legend, legend_height};
use super::pen::{Attributes, Path, Pen};
use super::ruler::Axis;

/// One line of a chart.
pub(in crate::report) struct Series {
    pub label: String,
    pub look: Look,
    pub points: Vec<(f64, f64)>,
    pub marked: Marker,
}

/// Whether a series is a line or single points.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::report) enum Marker {
    /// A line without markers.
    None,
    /// Points without a line.
    Alone,
}

/// A limit: a line across the chart.
pub(in crate::report) struct Threshold {
    pub label: String,
    pub value: f64,
}

/// A shaded span of the horizontal axis, or an upright line where both ends are one.
pub(in crate::report) struct Span {
    pub label: String,
    pub ends: (f64, f64),
}

/// The chart.
pub(in crate::report) struct LineChart<'a> {
    pub id: &'a str,
    pub title: &'a str,
    pub description: &'a str,
    pub x_title: &'a str,
    pub y_title: &'a str,
    pub series: Vec<Series>,
    pub thresholds: Vec<Threshold>,
    pub spans: Vec<Span>,
    /// Whether the vertical axis begins at zero.
    pub from_zero: FromZero,
}

/// Whether the vertical axis begins at zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::report) enum FromZero {
    Yes,
    No,
}

const WIDTH: f64 = 640.0;
const PLOT: f64 = 300.0;

impl LineChart<'_> {
    /// Draws it.
    pub fn draw(&self) -> String {
        let points = || self.series.iter().flat_map(|s| s.points.iter().copied());
        let ends = self.spans.iter().flat_map(|s| [s.ends.0, s.ends.1]);
        let x = Axis::over(points().map(|p| p.0).chain(ends), 8);
        let zero = (self.from_zero == FromZero::Yes).then_some(0.0);
        let limits = self.thresholds.iter().map(|t| t.value);
        let y = Axis::over(points().map(|p| p.1).chain(limits).chain(zero), 6);
        let entries = self.entries();
        let top = legend_height(&entries, WIDTH);
        let height = top + PLOT + 8.0;
        let mut pen = Pen::new(WIDTH, height, self.id, self.title, self.description);
        draw_legend(&mut pen, &entries, WIDTH);
        let frame = Frame::new(WIDTH, height, top + 8.0, x, y);
        for (k, span) in self.spans.iter().enumerate() {
            let (a, b) = (frame.px(span.ends.0), frame.px(span.ends.1));
            if b - a > 0.5 {
                pen.rect((a, frame.top), (b - a, frame.height), "span");
            } else {
                let class = format!("upright u{}", k % 3);
                pen.line((a, frame.top), (a, frame.top + frame.height), &class);
            }
        }
        frame.draw_y(&mut pen, self.y_title);
        frame.draw_x(&mut pen, self.x_title);
        for limit in &self.thresholds {
            let y = frame.py(limit.value);
            pen.line((frame.left, y), (frame.left + frame.width, y), "limit");
        }
        for series in &self.series {
            draw_series(&mut pen, &frame, series);
        }
        frame.draw_box(&mut pen);
        pen.finish()
    }

    fn entries(&self) -> Vec<Entry<'_>> {
        let mut entries: Vec<Entry<'_>> = Vec::new();
        for series in &self.series {
            let (look, marked) = (series.look, series.marked);
            entries.push(Entry {
                label: &series.label,
                sample: Box::new(move |pen, (x, y)| {
                    if marked != Marker::Alone {
                        pen.line((x, y), (x + 24.0, y), &look.stroke());
                    }
                    if marked != Marker::None {
                        look.draw_marker(pen, (x + 12.0, y));
                    }
                }),
            });
        }
        for limit in &self.thresholds {
            entries.push(Entry {
                label: &limit.label,
                sample: Box::new(|pen, (x, y)| pen.line((x, y), (x + 24.0, y), "limit")),
            });
        }
        for (k, span) in self.spans.iter().enumerate() {
            let line = span.ends.1 - span.ends.0 <= 0.0;
            entries.push(Entry {
                label: &span.label,
                sample: Box::new(move |pen, (x, y)| {
                    if line {
                        let class = format!("upright u{}", k % 3);
                        pen.line((x + 12.0, y - 6.0), (x + 12.0, y + 6.0), &class);
                    } else {
                        pen.rect((x, y - 5.0), (24.0, 10.0), "span");
                    }
                }),
            });
        }
        entries
    }
}

fn draw_series(pen: &mut Pen, frame: &Frame, series: &Series) {
    if series.marked != Marker::Alone {
        // A value that does not exist breaks the line.
        let mut path: Option<Path> = None;
        for point in &series.points {
            if !(point.0.is_finite() && point.1.is_finite()) {
                if let Some(done) = path.take() {
                    pen.path(done, Attributes::class(&series.look.stroke()));
                }
                continue;
            }
            let (x, y) = frame.at(*point);
            path = Some(match path {
                Some(path) => path.to(x, y),
                None => Path::from(x, y),
            });
        }
        if let Some(done) = path {
            pen.path(done, Attributes::class(&series.look.stroke()));
        }
    }
    if series.marked != Marker::None {
        for point in series
            .points
            .iter()
            .filter(|p| p.0.is_finite() && p.1.is_finite())
        {
            series.look.draw_marker(pen, frame.at(*point));
        }
    }
}
