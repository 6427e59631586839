//! A design whose values are turned again and again: each value is checked before, so that turning one costs the
//! reading of one record and no check of the whole document.

use std::ops::Deref;

use serde::Deserialize;
use serde_json::Value;

use super::change::ChangeError;
use super::document::Design;
use super::guard::check_value;
use super::levels::{Levels, Vary};
use super::path::{at, locate_new, nothing};
use super::read::{Source, parse};
use super::rules;
use super::show::{Fault, FaultCode};
use super::syntax::Document;
use crate::place::{Place, Step};
use crate::quantity::Kind;

/// A design whose every value has passed the check against the schema. It can be read, not written.
#[derive(Clone, Debug, PartialEq)]
pub struct Checked(Design);

impl Deref for Checked {
    type Target = Design;

    fn deref(&self) -> &Design {
        &self.0
    }
}

impl Checked {
    /// Reads a design from the bytes of a file, as [`Source::read_bytes`], with the promise that it passed the check.
    ///
    /// # Errors
    /// As [`Source::read_bytes`].
    pub fn read_bytes(bytes: &[u8]) -> Result<(Self, Document), Vec<Fault>> {
        let Source { design, document } = Source::read_bytes(bytes)?;
        Ok((Self(design), document))
    }

    /// The design alone.
    pub fn into_design(self) -> Design {
        self.0
    }
}

impl Design {
    /// The design with the promise that every value has passed [`Design::check`].
    ///
    /// # Errors
    /// As [`Design::check`].
    pub fn checked(&self) -> Result<Checked, Vec<Fault>> {
        self.check()?;
        Ok(Checked(self.clone()))
    }
}

/// A value that is turned, and what it goes through.
#[derive(Clone, Debug)]
pub struct Dial {
    place: Place,
    record: Place,
    levels: Levels,
    kind: Option<Kind>,
}

/// A dial with a value that fits it.
#[derive(Clone, Debug, PartialEq)]
pub struct Setting {
    place: Place,
    record: Place,
    value: Value,
    kind: Option<Kind>,
}

impl Dial {
    /// The path.
    pub fn place(&self) -> &Place {
        &self.place
    }

    /// The values it goes through.
    pub fn levels(&self) -> &Levels {
        &self.levels
    }

    /// What the values measure, if they are quantities.
    pub fn kind(&self) -> Option<Kind> {
        self.kind
    }

    /// The dial at one of its values, counted from 0.
    pub fn level(&self, k: usize) -> Setting {
        self.setting(self.levels.level(k))
    }

    /// The dial at a share of the way, 0 to 1.
    pub fn at_share(&self, share: f64) -> Setting {
        self.setting(self.levels.at_share(share))
    }

    fn setting(&self, value: Value) -> Setting {
        Setting {
            place: self.place.clone(),
            record: self.record.clone(),
            value,
            kind: self.kind,
        }
    }
}

impl Setting {
    pub(super) fn new(place: Place, record: Place, value: Value, kind: Option<Kind>) -> Self {
        Self {
            place,
            record,
            value,
            kind,
        }
    }

    /// The value as it would stand in a file, without quotes.
    pub fn text(&self) -> String {
        match &self.value {
            Value::String(text) => text.clone(),
            other => other.to_string(),
        }
    }

    /// The value as a number, in SI units where it is a quantity.
    pub fn si(&self) -> Option<f64> {
        match (&self.value, self.kind) {
            (Value::String(text), Some(kind)) => kind.parse(text).ok(),
            (value, _) => value.as_f64(),
        }
    }
}

/// A checked design with the value it was read from, of which single records are read again.
#[derive(Clone, Debug)]
pub struct Adjustable {
    value: Value,
    design: Checked,
}

impl Adjustable {
    /// A design to be adjusted.
    ///
    /// # Errors
    /// As [`Design::check`].
    pub fn new(design: &Design) -> Result<Self, Vec<Fault>> {
        Ok(Self {
            design: design.checked()?,
            value: design.to_value(),
        })
    }

    pub(super) fn value(&self) -> &Value {
        &self.value
    }

    /// The design as it stands.
    pub fn design(&self) -> &Checked {
        &self.design
    }

    /// Finds what is to be varied and checks its values: each of a list, both ends and one between of a range, since what
    /// the schema asks of a number is an interval.
    ///
    /// # Errors
    /// [`ChangeError`] where the path names nothing or no number, or a value cannot stand there.
    pub fn dial(&self, vary: &Vary) -> Result<Dial, ChangeError> {
        let place = locate_new(&self.value, &vary.path)?;
        let present = at(&self.value, &place);
        let mut levels = vary.levels.clone();
        if let Levels::Range {
            from, to, whole, ..
        } = &mut levels
        {
            if let Some(why) = present.and_then(|value| no_number(value, &place)) {
                return Err(ChangeError::Levels {
                    path: vary.path.clone(),
                    why,
                });
            }
            let integer = present.is_some_and(|v| v.is_u64() || v.is_i64());
            *whole = integer && from.fract() == 0.0 && to.fract() == 0.0;
        }
        let dial = Dial {
            record: record_of(&place),
            kind: levels.kind(),
            place,
            levels,
        };
        let tried: Vec<Value> = match &dial.levels {
            Levels::List(values) => values.clone(),
            levels => [0, 1, usize::MAX].map(|k| levels.level(k)).to_vec(),
        };
        for value in tried {
            self.try_value(&dial, &vary.path, value)?;
        }
        Ok(dial)
    }

    fn try_value(&self, dial: &Dial, path: &str, value: Value) -> Result<(), ChangeError> {
        let mut whole = self.value.clone();
        put(&mut whole, dial.place.steps(), value);
        let faults = check_value(&whole, rules::design(), &parse);
        let no_such_key = |f: &Fault| {
            matches!(f.code, FaultCode::UnknownKey | FaultCode::BadName) && f.place == dial.place
        };
        if faults.iter().any(no_such_key) {
            let typed = path.parse().map_err(super::path::PathError::Unreadable)?;
            return Err(nothing(&self.value, path, &typed).into());
        }
        if faults.is_empty() {
            return Ok(());
        }
        Err(ChangeError::Refused {
            path: path.to_owned(),
            faults,
        })
    }

    /// Turns dials of this design to new values.
    ///
    /// # Errors
    /// A fault where a record cannot be read, which the check of its values should have told before.
    pub fn turn(&mut self, settings: &[Setting]) -> Result<&Checked, Fault> {
        for setting in settings {
            put(
                &mut self.value,
                setting.place.steps(),
                setting.value.clone(),
            );
        }
        for (k, setting) in settings.iter().enumerate() {
            let done = settings[..k].iter().any(|s| s.record == setting.record);
            if !done {
                self.read_record(&setting.record).map_err(|error| {
                    Fault::new(
                        FaultCode::WrongType,
                        setting.record.clone(),
                        None,
                        format!("cannot read the record: {error}"),
                    )
                })?;
            }
        }
        Ok(&self.design)
    }

    fn read_record(&mut self, record: &Place) -> Result<(), serde_json::Error> {
        let Some(value) = at(&self.value, record) else {
            return Ok(());
        };
        let design = &mut self.design.0;
        let keys: Vec<&str> = record
            .steps()
            .iter()
            .map(|step| match step {
                Step::Key(key) => key.as_str(),
                Step::Index(_) => "",
            })
            .collect();
        match keys.as_slice() {
            ["loops", owner, "parts", part] => {
                let slot = (design.loops.get_mut(*owner)).and_then(|l| l.parts.get_mut(*part));
                read_into(slot, value)
            }
            ["cases", name] => read_into(design.cases.get_mut(*name), value),
            ["modules", name] => read_into(design.modules.get_mut(*name), value),
            ["radiators", name] => read_into(design.radiators.get_mut(*name), value),
            ["coolants", name] => read_into(design.coolants.get_mut(*name), value),
            _ => {
                *design = Design::deserialize(value)?;
                Ok(())
            }
        }
    }
}

fn read_into<'v, T: Deserialize<'v>>(
    slot: Option<&mut T>,
    value: &'v Value,
) -> Result<(), serde_json::Error> {
    if let Some(slot) = slot {
        *slot = T::deserialize(value)?;
    }
    Ok(())
}

/// The smallest record that holds a place and can be read alone.
pub(super) fn record_of(place: &Place) -> Place {
    let key = |k: usize| match place.steps().get(k) {
        Some(Step::Key(key)) => key.as_str(),
        _ => "",
    };
    let long = place.steps().len();
    let depth = match (key(0), key(2)) {
        ("loops", "parts") if long >= 5 => 4,
        ("cases" | "modules" | "radiators" | "coolants", _) if long >= 3 => 2,
        _ => 0,
    };
    place.steps()[..depth].iter().cloned().collect()
}

fn put(value: &mut Value, steps: &[Step], new: Value) {
    match (steps, value) {
        ([], value) => *value = new,
        ([Step::Key(key)], Value::Object(map)) => {
            map.insert(key.clone(), new);
        }
        ([Step::Key(key), rest @ ..], Value::Object(map)) => {
            if let Some(inner) = map.get_mut(key) {
                put(inner, rest, new);
            }
        }
        ([Step::Index(index), rest @ ..], Value::Array(entries)) => {
            if let Some(inner) = entries.get_mut(*index) {
                put(inner, rest, new);
            }
        }
        _ => {}
    }
}

/// Why a value that stands in the design is no number.
fn no_number(value: &Value, place: &Place) -> Option<String> {
    match value {
        Value::Number(_) => None,
        Value::String(text) if Kind::ALL.iter().any(|kind| kind.parse(text).is_ok()) => None,
        Value::String(text) => Some(format!(
            "it is the text `{text}`, and a range needs a number; give a list, such as `{place}={text},...`"
        )),
        Value::Object(map) => {
            let keys: Vec<&str> = map.keys().map(String::as_str).take(8).collect();
            Some(format!(
                "it is an object; name a number inside it, such as `{place}.{}`",
                keys.first().copied().unwrap_or("...")
            ))
        }
        Value::Array(_) => Some(format!(
            "it is a list; name one of its places, such as `{place}[0]`"
        )),
        _ => Some("it is no number".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::Source;

    fn adjustable() -> Adjustable {
        let text = include_str!("../../networks/bookmobile.json");
        let source = Source::read(text).expect("sound");
        Adjustable::new(&source.design).expect("sound")
    }

    fn dial(text: &str) -> Result<Dial, String> {
        let vary: Vary = text.parse().map_err(|e: ChangeError| e.to_string())?;
        adjustable().dial(&vary).map_err(|e| e.to_string())
    }

    #[test]
    fn a_turned_design_is_the_design_that_a_file_with_that_value_gives() {
        let text = include_str!("../../networks/bookmobile.json");
        let source = Source::read(text).expect("sound");
        for (vary, k) in [
            ("loops.battery.parts.out.hose.bore=13 mm..25 mm:7", 3),
            ("loops.battery.parts.mid.bank.count=3..9:3", 1),
            (
                "loops.battery.parts.pump.pump.curve[2][1]=18 kPa..22 kPa:4",
                2,
            ),
            ("cases.hot hill.heat.drive.motor=2 kW..4 kW:3", 2),
            ("cases.hot hill.altitude=0 m..2000 m:3", 1),
            ("radiators.nose.cores.battery.tubes=20..27:8", 5),
            ("coolants.mix.ethylene_glycol.volume_fraction=0.3..0.5:5", 2),
            (
                "modules.reused module.thermal_resistance=0.02 K/W..0.04 K/W:5",
                3,
            ),
            ("limits.module_flow_deviation.max=0.05..0.2:4", 2),
            ("loops.battery.parts.mid.bank.layout=same_end,centre", 1),
        ] {
            let dial = dial(vary).expect(vary);
            let setting = dial.level(k);
            let mut turned = adjustable();
            let design = turned.turn(std::slice::from_ref(&setting)).expect(vary);
            let change = format!("{}={}", dial.place(), setting.text());
            let by_file = source
                .document
                .changed(&[change.parse().expect("a change")])
                .expect("it fits");
            let by_file = Source::read(&by_file).expect("it is sound").design;
            assert_eq!(**design, by_file, "{vary}");
            assert_ne!(**design, source.design, "{vary}");
        }
    }

    /// A record is read again from the design's own text: that must not move a bit, whatever units the file has.
    #[test]
    fn a_design_written_and_read_again_is_the_same_to_the_bit() {
        for text in [
            include_str!("../../networks/harbour-launch.json"),
            include_str!("../../networks/three-reservoirs.json"),
            include_str!("../../networks/camper-heater.json"),
        ] {
            let design = Source::read(text).expect("sound").design;
            let again: Design = serde_json::from_value(design.to_value()).expect("it is a design");
            assert_eq!(again, design, "{}", design.title);
        }
    }

    #[test]
    fn two_dials_of_one_record_do_not_undo_each_other() {
        let bore = dial("loops.battery.parts.out.hose.bore=13 mm..25 mm:2").expect("a bore");
        let length = dial("loops.battery.parts.out.hose.length=1 m..2 m:2").expect("a length");
        let mut turned = adjustable();
        turned.turn(&[bore.level(0)]).expect("it fits");
        let design = turned.turn(&[length.level(1)]).expect("it fits").clone();
        let both = adjustable()
            .turn(&[bore.level(0), length.level(1)])
            .expect("they fit")
            .clone();
        assert_eq!(design, both);
    }

    #[test]
    fn what_cannot_be_varied_says_why() {
        for (vary, said) in [
            (
                "loops.battery.parts.out.hose.bore=1 psi..2 psi:3",
                "cannot change `loops.battery.parts.out.hose.bore`: a length is wanted, but `1 psi` is a pressure; try \"19 mm\" or \"3/4 in\"",
            ),
            (
                "loops.battery.parts.out.hose.bore=10..20:3",
                "cannot change `loops.battery.parts.out.hose.bore`: cannot read `10` for bore because a length needs its unit; write it as text with its unit, such as \"19 mm\"",
            ),
            (
                "loops.battery.parts.out.hose.bore=-1 mm..20 mm:3",
                "cannot change `loops.battery.parts.out.hose.bore`: bore is `-1 mm`, but must be greater than zero",
            ),
            (
                "loops.battery.coolant=1..2:3",
                "cannot vary `loops.battery.coolant` because it is the text `mix`, and a range needs a number; give a list, such as `loops.battery.coolant=mix,...`",
            ),
            (
                "loops.battery.parts.out.hose=1..2:3",
                "cannot vary `loops.battery.parts.out.hose` because it is an object; name a number inside it, such as `loops.battery.parts.out.hose.bore`",
            ),
            ("loops.battery.parts.mid.bank.count=3..9:4", ""),
            (
                "loops.battery.parts.mid.bank.count=3..9:3,",
                "cannot vary `loops.battery.parts.mid.bank.count` because the number of values must be a whole number: got `3,`",
            ),
            (
                "loops.battery.parts.out.hose.boer=1 mm..2 mm:3",
                "cannot find `loops.battery.parts.out.hose.boer` because `loops.battery.parts.out.hose` has no `boer` but `bore`, `length`, `fittings`; did you mean `loops.battery.parts.out.hose.bore`?",
            ),
        ] {
            match dial(vary) {
                Ok(_) => assert_eq!(said, "", "{vary}"),
                Err(error) => assert_eq!(error, said),
            }
        }
        let error = dial("loops.battery.parts.mid.bank.count=3..9:5").expect_err("4.5 modules");
        assert!(error.contains("4.5"), "{error}");
    }
}
