//! The numbers of a design that can be moved by a little, and the same design with one of them moved.

use serde_json::Value;

use super::adjust::{Adjustable, Checked, Setting, record_of};
use crate::place::Place;
use crate::quantity::{Kind, UnitFamily, text_si};

/// Keys whose values say nothing of the vehicle itself.
const NO_KNOBS: [&str; 8] = [
    "$schema", "format", "title", "note", "origin", "units", "limits", "methods",
];

/// How far a knob is moved for one step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum KnobStep {
    /// By a hundredth of itself.
    Percent,
    /// By one kelvin.
    Kelvin,
}

impl KnobStep {
    /// As it is printed: `+1 %` or `+1 K`.
    pub fn text(self) -> &'static str {
        match self {
            Self::Percent => "+1 %",
            Self::Kelvin => "+1 K",
        }
    }
}

/// A number of a design that can be moved, or a column of a table that moves as a whole.
#[derive(Clone, Debug, PartialEq)]
pub struct Knob {
    /// Its path; of a table's column with `[*]` for the rows, such as `...pump.curve[*][1]`.
    pub path: String,
    /// Its value as it stands in the design; of a column, how many there are.
    pub text: String,
    /// What it measures, if it is a quantity.
    pub kind: Option<Kind>,
    /// Its value, SI; none of a column.
    pub value: Option<f64>,
    /// How far one step goes.
    pub step: KnobStep,
    record: Place,
    places: Vec<(Place, Value)>,
}

impl Knob {
    /// Its value after so many steps, as it would stand in a file; none of a column.
    pub fn text_after(&self, steps: f64) -> Option<String> {
        let (_, value) = self.places.first().filter(|_| self.value.is_some())?;
        Some(match moved(value, steps)? {
            Value::String(text) => text,
            other => other.to_string(),
        })
    }

    /// So many steps, or a little more, so that the value after them has three digits: what a builder would buy or cut.
    /// Columns and fractions go by whole steps.
    pub fn rounded(&self, steps: f64) -> f64 {
        let outward = |x: f64, up: bool| if up { x.ceil() } else { x.floor() };
        let plain = match self.places.first() {
            Some((_, Value::Number(n))) if self.value.is_some() => n.as_f64(),
            Some((_, Value::String(text))) if self.value.is_some() => {
                split_plain(text).map(|(plain, _)| plain)
            }
            _ => None,
        };
        let Some(plain) = plain.filter(|_| self.step == KnobStep::Percent) else {
            return outward(steps, steps > 0.0);
        };
        let wanted = plain * (1.0 + 0.01 * steps);
        if wanted == 0.0 || !wanted.is_finite() {
            return steps;
        }
        let unit = 10.0_f64.powi(wanted.abs().log10().floor() as i32 - 2);
        // A value that has three digits already, but for round-off, stays.
        let slack = 1e-9 * (wanted - plain).signum();
        let digits = outward(wanted / unit - slack, wanted > plain);
        100.0 * (digits * unit / plain - 1.0)
    }

    fn settings(&self, steps: f64) -> Option<Vec<Setting>> {
        let settings = self.places.iter().map(|(place, value)| {
            let value = if steps == 0.0 {
                value.clone()
            } else {
                moved(value, steps)?
            };
            let (place, record) = (place.clone(), self.record.clone());
            Some(Setting::new(place, record, value, self.kind))
        });
        settings.collect()
    }
}

impl Adjustable {
    /// Every number that can be moved by a little, in the order of the file: quantities and ratios of parts, modules,
    /// radiators, coolants and of the cases that `wanted` takes. Whole numbers and zeros are left out, since neither has
    /// a hundredth; a column of a table is one knob.
    pub fn knobs(&self, wanted: &dyn Fn(&str) -> bool) -> Vec<Knob> {
        let mut found = Vec::new();
        let Value::Object(root) = self.value() else {
            return found;
        };
        for (key, value) in root.iter().filter(|(k, _)| !NO_KNOBS.contains(&k.as_str())) {
            let place = Place::root().key(key);
            match (key.as_str(), value) {
                ("cases", Value::Object(cases)) => {
                    for (name, case) in cases.iter().filter(|(name, _)| wanted(name)) {
                        collect(case, &place.key(name), &mut found);
                    }
                }
                _ => collect(value, &place, &mut found),
            }
        }
        found
    }

    /// The design with one of its knobs moved by so many steps; none where the value cannot stand there, such as part of
    /// a whole number. The knob stays there until it is moved again: by no steps, it is back.
    pub fn with_knob(&mut self, knob: &Knob, steps: f64) -> Option<&Checked> {
        if self.turn(&knob.settings(steps)?).is_ok() {
            return Some(self.design());
        }
        let _ = self.turn(&knob.settings(0.0)?);
        None
    }
}

fn collect(value: &Value, place: &Place, found: &mut Vec<Knob>) {
    match value {
        Value::Object(map) => {
            for (key, inner) in map.iter().filter(|(k, _)| !NO_KNOBS.contains(&k.as_str())) {
                collect(inner, &place.key(key), found);
            }
        }
        Value::Array(rows) if rows.iter().all(Value::is_array) => columns(rows, place, found),
        Value::Array(rows) => {
            for (k, inner) in rows.iter().enumerate() {
                collect(inner, &place.index(k), found);
            }
        }
        value => found.extend(single(value, place)),
    }
}

/// What a table gives over its first column: each further column as a whole.
fn columns(rows: &[Value], place: &Place, found: &mut Vec<Knob>) {
    let width = rows.iter().filter_map(Value::as_array).map(Vec::len).min();
    for column in 1..width.unwrap_or(0) {
        let cells = rows.iter().enumerate().map(|(row, cells)| {
            let place = place.index(row).index(column);
            (place, cells[column].clone())
        });
        let cells: Vec<(Place, Value)> = cells.collect();
        let moved: Vec<(Place, Value)> = (cells.iter())
            .filter(|(place, value)| single(value, place).is_some())
            .cloned()
            .collect();
        let numbers = cells.iter().all(|(_, value)| number(value).is_some());
        if let (true, Some((first, value))) = (numbers, moved.first()) {
            found.push(Knob {
                path: format!("{place}[*][{column}]"),
                text: format!("{} values", rows.len()),
                kind: number(value).and_then(|(kind, _)| kind),
                value: None,
                step: step_of(value),
                record: record_of(first),
                places: moved,
            });
        }
    }
}

/// Kind and value of what is a number.
fn number(value: &Value) -> Option<(Option<Kind>, f64)> {
    match value {
        Value::Number(n) => n.as_f64().map(|v| (None, v)),
        Value::String(text) => {
            let mut kinds = Kind::ALL.iter();
            kinds.find_map(|kind| kind.parse(text).ok().map(|si| (Some(*kind), si)))
        }
        _ => None,
    }
}

fn single(value: &Value, place: &Place) -> Option<Knob> {
    let (kind, si) = number(value)?;
    if si == 0.0 {
        return None;
    }
    Some(Knob {
        path: place.to_string(),
        text: match value {
            Value::String(text) => text.clone(),
            other => other.to_string(),
        },
        kind,
        value: Some(si),
        step: step_of(value),
        record: record_of(place),
        places: vec![(place.clone(), value.clone())],
    })
}

fn step_of(value: &Value) -> KnobStep {
    let point = |text: &str| text.contains("deg") && Kind::Temperature.parse(text).is_ok();
    match value {
        Value::String(text) if point(text) => KnobStep::Kelvin,
        _ => KnobStep::Percent,
    }
}

/// A value after so many steps.
fn moved(value: &Value, steps: f64) -> Option<Value> {
    let (kind, si) = number(value)?;
    let text = match value {
        Value::String(text) => text,
        _ => return Some(Value::from(si * (1.0 + 0.01 * steps))),
    };
    if step_of(value) == KnobStep::Kelvin {
        let si = Kind::Temperature.parse(text).ok()? + steps;
        return Some(Value::from(text_si(
            Kind::Temperature,
            si,
            UnitFamily::Metric,
        )));
    }
    let factor = 1.0 + 0.01 * steps;
    // The unit as it is written, since a pressure may be gauge or absolute in it.
    Some(Value::from(match split_plain(text) {
        Some((plain, unit)) => format!("{}{unit}", tidy(plain * factor)),
        None => text_si(kind?, si * factor, UnitFamily::Metric),
    }))
}

/// Without the last digits, which are round-off.
fn tidy(x: f64) -> f64 {
    format!("{x:.13e}").parse().unwrap_or(x)
}

/// A plain number and what follows it; none for a fraction.
fn split_plain(text: &str) -> Option<(f64, &str)> {
    let end = text.find(|c: char| !(c.is_ascii_digit() || "+-.".contains(c)))?;
    let (digits, unit) = text.split_at(end);
    let fraction = unit
        .trim_start()
        .starts_with(|c: char| c.is_ascii_digit() || c == '/');
    let exponent = unit.starts_with(['e', 'E']);
    digits
        .parse()
        .ok()
        .filter(|_| !fraction && !exponent)
        .map(|n| (n, unit))
}

/// Whether a place of the design still holds what a knob was made from.
#[cfg(test)]
fn holds(adjustable: &Adjustable, knob: &Knob) -> bool {
    (knob.places.iter())
        .all(|(place, value)| super::path::at(adjustable.value(), place) == Some(value))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::Source;

    fn sample() -> Adjustable {
        let text = include_str!("../../networks/bookmobile.json");
        let source = Source::read(text).expect("sound");
        Adjustable::new(&source.design).expect("sound")
    }

    #[test]
    fn every_kind_of_number_of_a_design_is_a_knob_and_words_are_none() {
        let knobs = sample().knobs(&|case| case == "hot hill");
        let named = |path: &str| knobs.iter().find(|k| k.path == path);
        for (path, step) in [
            ("loops.battery.parts.out.hose.bore", KnobStep::Percent),
            (
                "loops.battery.parts.pump.pump.curve[*][1]",
                KnobStep::Percent,
            ),
            (
                "loops.battery.parts.pump.pump.efficiency",
                KnobStep::Percent,
            ),
            (
                "loops.battery.parts.mid.bank.tail.fittings[0].barb.bore",
                KnobStep::Percent,
            ),
            ("cases.hot hill.air", KnobStep::Kelvin),
            ("cases.hot hill.heat.\"drive.motor\"", KnobStep::Percent),
            ("radiators.nose.face_width", KnobStep::Percent),
            (
                "coolants.mix.ethylene_glycol.volume_fraction",
                KnobStep::Percent,
            ),
            (
                "modules.reused module.thermal_resistance",
                KnobStep::Percent,
            ),
        ] {
            assert_eq!(named(path).map(|k| k.step), Some(step), "{path}");
        }
        for path in [
            "title",
            "cases.fast road.air",
            "cases.parked charge.travel_speed",
            "limits.hose_velocity.max",
            "loops.battery.coolant",
        ] {
            assert_eq!(named(path), None, "{path}");
        }
    }

    #[test]
    fn a_knob_moves_its_value_alone_and_comes_back_to_the_bit() {
        let mut adjustable = sample();
        let before = adjustable.clone();
        for knob in adjustable.clone().knobs(&|_| true) {
            let whole = knob.text.parse::<u64>().is_ok();
            let moved = adjustable.with_knob(&knob, 0.5).cloned();
            if let Some(moved) = moved {
                assert_ne!(moved, *before.design(), "{}", knob.path);
            } else {
                assert!(whole, "{} = {} cannot be moved", knob.path, knob.text);
            }
            adjustable.with_knob(&knob, 0.0);
            assert!(holds(&adjustable, &knob), "{}", knob.path);
            assert_eq!(adjustable.design(), before.design(), "{}", knob.path);
        }
    }

    #[test]
    fn a_text_is_moved_in_its_own_unit() {
        let at = |text: &str, steps: f64| moved(&Value::from(text), steps);
        assert_eq!(at("20 kPa gauge", 5.0), Some(Value::from("21 kPa gauge")));
        assert_eq!(at("200 mm", -50.0), Some(Value::from("100 mm")));
        assert_eq!(at("3/4 in", 100.0), Some(Value::from("38.1 mm")));
        assert_eq!(at("35 degC", 2.0), Some(Value::from("37 degC")));
        assert_eq!(at("out", 1.0), None);
    }

    #[test]
    fn a_builder_gets_three_digits_and_never_less_than_asked() {
        let mut knobs = sample().knobs(&|_| false).into_iter();
        let bore = knobs.find(|k| k.path == "loops.battery.parts.out.hose.bore");
        let bore = bore.expect("the sample has it");
        let after = |steps: f64| bore.text_after(bore.rounded(steps)).expect("a number");
        assert_eq!(after(14.21), "18.3 mm");
        assert_eq!(after(-3.01), "15.5 mm");
        assert_eq!(after(25.0), "20 mm");
    }
}
