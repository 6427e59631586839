//! How wide a text will be, and where an axis has its marks. Widths err to the wide side, so that what is laid out by
//! them does not run together in another typeface.

/// Width of a text in a size, in the units of the drawing.
///
/// Widths of letters are rounded up from those of a wide sans-serif face; no source.
pub(super) fn text_width(text: &str, size: f64) -> f64 {
    let em: f64 = text
        .chars()
        .map(|c| match c {
            'i' | 'j' | 'l' | '\'' | '.' | ',' | ':' | ';' | '|' | '!' => 0.33,
            ' ' | 'f' | 't' | 'r' | '(' | ')' | '-' | '/' | 'I' | '[' | ']' => 0.42,
            'm' | 'M' | 'W' | '%' | '@' => 1.0,
            'w' | 'G' | 'O' | 'Q' | 'N' | 'D' | 'H' | 'U' => 0.84,
            c if c.is_ascii_lowercase() || c.is_ascii_digit() => 0.645,
            c if c.is_ascii() => 0.72,
            _ => 0.9,
        })
        .sum();
    em * size
}

/// A text shortened to a width, with dots where something is left out.
pub(super) fn shortened(text: &str, size: f64, width: f64) -> String {
    if text_width(text, size) <= width {
        return text.to_owned();
    }
    let mut kept = String::new();
    for c in text.chars() {
        if text_width(&kept, size) + text_width(&c.to_string(), size) + size > width {
            break;
        }
        kept.push(c);
    }
    kept.trim_end().to_owned() + "\u{2026}"
}

/// A linear scale with round marks.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Axis {
    /// First and last value.
    pub ends: (f64, f64),
    /// Values of the marks.
    pub marks: Vec<f64>,
    decimals: usize,
}

impl Axis {
    /// An axis over these values with about this many marks; a span of nothing is widened.
    pub fn over(values: impl Iterator<Item = f64>, wanted: usize) -> Self {
        let (mut low, mut high) = values
            .filter(|v| v.is_finite())
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
                (l.min(v), h.max(v))
            });
        if low > high {
            (low, high) = (0.0, 1.0);
        }
        let least = 1e-9 * low.abs().max(high.abs()).max(1e-9);
        if high - low < least {
            let more = 0.05 * high.abs().max(1e-6);
            (low, high) = (low - more, high + more);
        }
        let step = round_step((high - low) / wanted.max(1) as f64);
        let first = (low / step + 1e-9).floor();
        let last = (high / step - 1e-9).ceil();
        let count = (last - first).clamp(1.0, 50.0) as usize;
        let decimals = (-(step.log10() + 1e-9).floor()).clamp(0.0, 9.0) as usize;
        let marks = (0..=count).map(|k| (first + k as f64) * step).collect();
        Self {
            ends: (first * step, (first + count as f64) * step),
            marks,
            decimals,
        }
    }

    /// Share of the way along the axis.
    pub fn share(&self, value: f64) -> f64 {
        (value - self.ends.0) / (self.ends.1 - self.ends.0)
    }

    /// The text of a mark.
    pub fn label(&self, value: f64) -> String {
        let text = format!("{value:.*}", self.decimals);
        if text.trim_start_matches(['-', '0', '.']).is_empty() {
            text.trim_start_matches('-').to_owned()
        } else {
            text
        }
    }
}

/// The next of 1, 2, 2.5 and 5 times a power of ten.
fn round_step(rough: f64) -> f64 {
    let power = 10.0_f64.powf(rough.log10().floor());
    let lead = rough / power;
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .find(|s| *s >= lead - 1e-9)
        .unwrap_or(10.0);
    step * power
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_round_and_hold_every_value() {
        let axis = Axis::over([0.3, 9.7].into_iter(), 5);
        assert_eq!(axis.marks, [0.0, 2.0, 4.0, 6.0, 8.0, 10.0]);
        assert_eq!(axis.label(2.0), "2");
        let from_zero = Axis::over([0.0, 30.0].into_iter(), 6);
        assert_eq!(from_zero.ends, (0.0, 30.0));
        let fine = Axis::over([0.101, 0.104].into_iter(), 4);
        assert_eq!(fine.label(fine.marks[1]), "0.102");
        assert!(fine.ends.0 <= 0.101 && fine.ends.1 >= 0.104);
    }

    #[test]
    fn nothing_and_one_value_still_make_an_axis() {
        for values in [vec![], vec![5.0], vec![0.0, f64::NAN]] {
            let axis = Axis::over(values.into_iter(), 4);
            assert!(
                axis.ends.1 > axis.ends.0 && axis.marks.len() >= 2,
                "{axis:?}"
            );
        }
    }

    #[test]
    fn a_shortened_text_fits() {
        let text = shortened("a very long name of a hose", 10.0, 80.0);
        assert!(
            text_width(&text, 10.0) <= 80.0 && text.ends_with('\u{2026}'),
            "{text}"
        );
    }
}
