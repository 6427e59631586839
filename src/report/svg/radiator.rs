//! A divided radiator seen from the front, in proportion: its cores across the tubes, what was lost to new tank walls,
//! and the shrouds with their fans.

use super::pen::{Anchor, Attributes, Path, Pen, place};
use super::plan::Label;
use super::ruler::text_width;

/// One core.
pub(in crate::report) struct FaceCore {
    /// Share of the face across the tubes.
    pub share: f64,
    /// Lines beside it.
    pub label: Vec<Label>,
}

/// One fan with its shroud.
pub(in crate::report) struct FaceFan {
    /// Share of each core inside the shroud, in the order of the cores.
    pub covers: Vec<f64>,
    /// Lines under the face.
    pub label: Vec<Label>,
}

/// The radiator.
pub(in crate::report) struct RadiatorFace {
    pub title: Label,
    /// Width over height of the face.
    pub aspect: f64,
    /// Whether tubes run from side to side, so that cores lie above one another.
    pub lying_tubes: bool,
    pub cores: Vec<FaceCore>,
    pub fans: Vec<FaceFan>,
}

const LINE: f64 = 15.0;
const TEXT: f64 = 11.0;

impl RadiatorFace {
    /// Draws it at the origin; returns markup, width and height.
    pub fn draw(&self) -> (String, f64, f64) {
        let (wide, high) = if self.aspect >= 1.25 {
            (240.0, (240.0 / self.aspect).max(60.0))
        } else {
            ((190.0 * self.aspect).max(60.0), 190.0)
        };
        let top = 26.0;
        let mut pen = Pen::new(0.0, 0.0, "r", "", "");
        pen.rich((0.0, 12.0), Anchor::Start, "name", &self.title.markup);
        let used: f64 = self.cores.iter().map(|c| c.share).sum();
        let gaps = self.cores.len().saturating_sub(1).max(1) as f64;
        let lost = (1.0 - used).max(0.0) / gaps;
        pen.rect((0.0, top), (wide, high), "lost");
        let mut from = 0.0;
        let mut spans = Vec::new();
        for (k, core) in self.cores.iter().enumerate() {
            let to = (from + core.share).min(1.0);
            spans.push((from, to));
            self.core(&mut pen, (wide, high, top), (from, to), k);
            from = to + lost;
        }
        pen.rect((0.0, top), (wide, high), "outline");
        self.shrouds(&mut pen, (wide, high, top), &spans);
        let mut width = wide.max(text_width(&self.title.plain, TEXT + 1.0));
        let mut below = top + high + 18.0;
        if self.lying_tubes {
            // Beside their bands, pushed apart where bands are thin.
            let mut free = top;
            for (core, span) in self.cores.iter().zip(&spans) {
                let middle = top + high * 0.5 * (span.0 + span.1);
                let tall = LINE * core.label.len() as f64;
                let mut y = (middle - 0.5 * tall).max(free);
                free = y + tall + 6.0;
                pen.path(
                    Path::from(wide + 1.0, middle).to(wide + 12.0, y + 0.5 * tall),
                    Attributes::class("leader"),
                );
                for line in &core.label {
                    y += LINE;
                    pen.rich((wide + 16.0, y - 4.0), Anchor::Start, "small", &line.markup);
                    width = width.max(wide + 16.0 + text_width(&line.plain, TEXT));
                }
            }
            below = below.max(free + 8.0);
        } else {
            for core in &self.cores {
                for line in &core.label {
                    pen.rich((0.0, below), Anchor::Start, "small", &line.markup);
                    width = width.max(text_width(&line.plain, TEXT));
                    below += LINE;
                }
                below += 4.0;
            }
        }
        for fan in &self.fans {
            for line in &fan.label {
                pen.rich((0.0, below), Anchor::Start, "small", &line.markup);
                width = width.max(text_width(&line.plain, TEXT));
                below += LINE;
            }
        }
        (pen.body(), width, below)
    }

    /// A rectangle given by its span across the tubes and its span along them.
    fn area(
        &self,
        (wide, high, top): (f64, f64, f64),
        across: (f64, f64),
        along: (f64, f64),
    ) -> [f64; 4] {
        if self.lying_tubes {
            [
                wide * along.0,
                top + high * across.0,
                wide * (along.1 - along.0),
                high * (across.1 - across.0),
            ]
        } else {
            [
                wide * across.0,
                top + high * along.0,
                wide * (across.1 - across.0),
                high * (along.1 - along.0),
            ]
        }
    }

    fn core(&self, pen: &mut Pen, face: (f64, f64, f64), span: (f64, f64), k: usize) {
        let [x, y, w, h] = self.area(face, span, (0.0, 1.0));
        pen.rect((x, y), (w, h), &format!("core c{}", k % 3));
        // A few lines stand for the tubes.
        let lines = ((if self.lying_tubes { h } else { w }) / 7.0).floor() as usize;
        for line in 1..lines {
            let share = line as f64 / lines as f64;
            if self.lying_tubes {
                pen.line((x, y + h * share), (x + w, y + h * share), "tube");
            } else {
                pen.line((x + w * share, y), (x + w * share, y + h), "tube");
            }
        }
    }

    /// Shrouds beside one another, each as much of every core as it covers.
    fn shrouds(&self, pen: &mut Pen, face: (f64, f64, f64), spans: &[(f64, f64)]) {
        let mut passed = vec![0.0; spans.len()];
        for fan in &self.fans {
            let mut corner: Option<[f64; 4]> = None;
            for (k, cover) in fan.covers.iter().enumerate().filter(|c| *c.1 > 0.0) {
                let Some(span) = spans.get(k) else { continue };
                let [x, y, w, h] =
                    self.area(face, *span, (passed[k], (passed[k] + cover).min(1.0)));
                passed[k] += cover;
                corner = Some(match corner {
                    None => [x, y, x + w, y + h],
                    Some(c) => [c[0].min(x), c[1].min(y), c[2].max(x + w), c[3].max(y + h)],
                });
            }
            let Some([a, b, c, d]) = corner else { continue };
            let (x, y) = (0.5 * (a + c), 0.5 * (b + d));
            pen.rect((a + 2.0, b + 2.0), (c - a - 4.0, d - b - 4.0), "shroud");
            let r = (0.5 * (c - a).min(d - b) - 6.0).max(4.0);
            pen.circle((x, y), r, "fan");
            // Three blades.
            for turn in [0.0_f64, 120.0, 240.0] {
                let spin = format!("rotate({} {} {})", place(turn), place(x), place(y));
                let blade = Path::from(x, y)
                    .arc(0.6 * r, x + 0.55 * r, y - 0.65 * r)
                    .close();
                pen.path(blade, Attributes::class("blade").with("transform", &spin));
            }
        }
    }
}
