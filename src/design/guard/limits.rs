//! The limits of a number or quantity, and which of them a value breaks.

use serde_json::Value;

use super::shape::Shape;

impl Shape<'_> {
    /// The limit that a value breaks, as it stands after "must be".
    pub(super) fn broken_limit(&self, value: f64) -> Option<String> {
        let unit = if self.word("x-quantity").is_some() {
            " in SI units"
        } else {
            ""
        };
        self.layers.iter().find_map(|layer| {
            let bound =
                |ours: &str, theirs: &str| layer.get(ours).or_else(|| layer.get(theirs))?.as_f64();
            let above = bound("x-above", "exclusiveMinimum");
            let below = bound("x-below", "exclusiveMaximum");
            let (lowest, highest) = width(layer.get("format").and_then(Value::as_str));
            let at_least = bound("x-at-least", "minimum").or(lowest);
            let at_most = bound("x-at-most", "maximum").or(highest);
            let met = above.is_none_or(|limit| value > limit)
                && below.is_none_or(|limit| value < limit)
                && at_least.is_none_or(|limit| value >= limit)
                && at_most.is_none_or(|limit| value <= limit);
            if met {
                return None;
            }
            if let Some(text) = layer.get("x-limit-text").and_then(Value::as_str) {
                return Some(text.to_owned());
            }
            if let (Some(low), Some(high), None, None) = (at_least, at_most, above, below) {
                return Some(if low == high {
                    format!("{low}{unit}")
                } else {
                    format!("from {low} to {high}{unit}")
                });
            }
            let number = |limit: f64| {
                if limit == 0.0 {
                    "zero".to_owned()
                } else {
                    format!("{limit}{unit}")
                }
            };
            let words = [
                ("greater than", above),
                ("at least", at_least),
                ("less than", below),
                ("at most", at_most),
            ];
            let said = words
                .iter()
                .filter_map(|(word, limit)| limit.map(|limit| format!("{word} {}", number(limit))));
            Some(said.collect::<Vec<_>>().join(" and "))
        })
    }
}

/// The range of a whole number that its record holds in few bits.
fn width(format: Option<&str>) -> (Option<f64>, Option<f64>) {
    match format {
        Some("int8") => (Some(f64::from(i8::MIN)), Some(f64::from(i8::MAX))),
        Some("int16") => (Some(f64::from(i16::MIN)), Some(f64::from(i16::MAX))),
        Some("int32") => (Some(f64::from(i32::MIN)), Some(f64::from(i32::MAX))),
        Some("uint8") => (None, Some(f64::from(u8::MAX))),
        Some("uint16") => (None, Some(f64::from(u16::MAX))),
        Some("uint32") => (None, Some(f64::from(u32::MAX))),
        _ => (None, None),
    }
}
