//! A stock list: pumps, hoses and header tubes that a shop has or can buy. It is read with the same care as a design:
//! strict JSON, units on every value, every independent mistake with its place. It chooses nothing.

use super::guard::check;
use super::published::published;
use super::read::parse;
use super::rules;
use super::show::{Fault, FaultCode};
use super::syntax::{Document, read_bytes, read_text};
use crate::part::{Origin, RoundSection, SquareSection};
use crate::place::Place;
use crate::quantity::{Density, Length, Power, PressureDifference, Voltage, VolumeFlow};
use indexmap::IndexMap;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::sync::OnceLock;

/// A stock list.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Stock {
    /// Version of the file format; this is 1.
    #[cfg_attr(test, schemars(range(min = 1, max = 1)))]
    pub format: u32,
    /// What the list is called.
    #[cfg_attr(test, schemars(length(min = 1, max = 200)))]
    pub title: String,
    /// Pumps by name.
    #[serde(default)]
    #[cfg_attr(test, schemars(extend("x-names" = true)))]
    pub pumps: IndexMap<String, StockPump>,
    /// Hoses by name.
    #[serde(default)]
    #[cfg_attr(test, schemars(extend("x-names" = true)))]
    pub hoses: IndexMap<String, StockHose>,
    /// Header tubes by name.
    #[serde(default)]
    #[cfg_attr(test, schemars(extend("x-names" = true)))]
    pub headers: IndexMap<String, StockHeader>,
    /// Bores of header ports to try.
    #[serde(default)]
    pub port_bores: Vec<Length>,
}

/// A pump of a stock list. Its curve holds for water at 20 degC.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct StockPump {
    /// Flow and pressure rise, two points or more, flow rising and rise falling, from no flow on.
    #[cfg_attr(test, schemars(length(min = 2, max = 1000)))]
    pub curve: Vec<(VolumeFlow, PressureDifference)>,
    /// Voltage for which the curve holds; without it the supply is taken not to matter.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub rated_voltage: Option<Voltage>,
    /// Hydraulic over electrical power.
    #[cfg_attr(test, schemars(range(min = 0.01, max = 1.0)))]
    pub efficiency: Option<f64>,
    /// Electrical power at the rated voltage; an alternative to `efficiency`.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub electrical_power: Option<Power>,
    /// Where the numbers come from.
    pub origin: Option<Origin>,
}

/// A hose of a stock list.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct StockHose {
    /// Inside diameter.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub bore: Length,
    /// Wall (default 4 mm).
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub wall: Option<Length>,
    /// Density of the wall (default 1200 kg/m3, reinforced rubber).
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub density: Option<Density>,
    /// Where the numbers come from.
    pub origin: Option<Origin>,
}

/// A header tube of a stock list: `round` or `square`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct StockHeader {
    /// A round tube.
    pub round: Option<RoundSection>,
    /// A square tube.
    pub square: Option<SquareSection>,
    /// Density of the wall (default 2700 kg/m3, aluminium).
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub density: Option<Density>,
    /// Where the numbers come from.
    pub origin: Option<Origin>,
}

/// The JSON Schema (2020-12) of a stock list, generated from the record types.
pub fn stock_schema() -> &'static Value {
    static SCHEMA: OnceLock<Value> = OnceLock::new();
    SCHEMA.get_or_init(|| published(rules::stock()))
}

impl Stock {
    /// Reads a stock list from text.
    ///
    /// # Errors
    /// Every independent mistake of the text, each with its place and spot.
    ///
    /// ```
    /// use loopwright::design::Stock;
    /// let text = include_str!("../../networks/stock/pumps.json");
    /// assert!(Stock::read(text).unwrap().pumps.len() > 3);
    /// let rising = r#"{ "format": 1, "title": "shelf",
    ///   "pumps": { "odd": { "curve": [["0 L/min", "10 kPa"], ["5 L/min", "12 kPa"]] } } }"#;
    /// let faults = Stock::read(rising).unwrap_err();
    /// assert_eq!(faults[0].place.to_string(), "pumps.odd.curve[1]");
    /// ```
    pub fn read(text: &str) -> Result<Self, Vec<Fault>> {
        Self::decode(&read_text(text)?)
    }

    /// Reads a stock list from the bytes of a file; they must be UTF-8.
    ///
    /// # Errors
    /// As [`Stock::read`].
    pub fn read_bytes(bytes: &[u8]) -> Result<Self, Vec<Fault>> {
        Self::decode(&read_bytes(bytes)?)
    }

    fn decode(document: &Document) -> Result<Self, Vec<Fault>> {
        let faults = check(document, rules::stock(), &parse);
        if !faults.is_empty() {
            return Err(faults);
        }
        let stock = Self::deserialize(&document.value()).map_err(|error| {
            vec![Fault::new(
                FaultCode::WrongType,
                Place::root(),
                None,
                format!("cannot decode the stock list: {error}"),
            )]
        })?;
        let faults = stock.rules(document);
        if faults.is_empty() {
            Ok(stock)
        } else {
            Err(faults)
        }
    }

    /// What the schema cannot say: curves that begin at no flow and fall, one power, one section.
    fn rules(&self, document: &Document) -> Vec<Fault> {
        let mut faults = Vec::new();
        let mut refuse = |code: &'static str, place: &Place, message: String, help: &str| {
            let spot = document.spot(place);
            faults.push(
                Fault::new(FaultCode::Rule(code), place.clone(), Some(spot), message)
                    .with_help(help),
            );
        };
        for (name, pump) in &self.pumps {
            let at = Place::root().key("pumps").key(name);
            if let Some((index, message, help)) = curve_fault(&pump.curve) {
                refuse("bad-curve", &at.key("curve").index(index), message, help);
            }
            if pump.efficiency.is_some() && pump.electrical_power.is_some() {
                refuse(
                    "bad-part",
                    &at.key("efficiency"),
                    "cannot use both `efficiency` and `electrical_power`".to_owned(),
                    "try keeping the one that was measured",
                );
            }
        }
        for (name, header) in &self.headers {
            let at = Place::root().key("headers").key(name);
            let shape = match (&header.round, &header.square) {
                (Some(round), None) => crate::part::Section::Round(round.clone()).shape(),
                (None, Some(square)) => crate::part::Section::Square(square.clone()).shape(),
                _ => {
                    refuse(
                        "bad-part",
                        &at,
                        "a header tube needs exactly one of `round` and `square`".to_owned(),
                        "try giving the one that the tube is",
                    );
                    continue;
                }
            };
            if let Err(error) = shape {
                refuse(
                    "bad-part",
                    &at,
                    error.reason,
                    "try measuring the tube again",
                );
            }
        }
        faults
    }
}

/// The first point of a pump curve that cannot be, with what is wrong and what to try.
fn curve_fault(
    points: &[(VolumeFlow, PressureDifference)],
) -> Option<(usize, String, &'static str)> {
    if let Some((flow, _)) = points.first()
        && flow.m3_s() != 0.0
    {
        return Some((
            0,
            format!("the curve must begin at no flow, but begins at {flow}"),
            "try adding the shut-off point, such as [\"0 L/min\", \"50 kPa\"]",
        ));
    }
    for (index, pair) in points.windows(2).enumerate() {
        let ((q0, p0), (q1, p1)) = (pair[0], pair[1]);
        if q1.m3_s() <= q0.m3_s() {
            return Some((
                index + 1,
                format!("the flow must rise from point to point, but goes from {q0} to {q1}"),
                "try writing the points in rising order of flow",
            ));
        }
        if p1.pa() >= p0.pa() {
            return Some((
                index + 1,
                format!(
                    "the curve must fall, but its rise goes from {p0} to {p1} as the flow grows"
                ),
                "try reading the curve again from no flow on; leave out a dip at small flow",
            ));
        }
    }
    points
        .iter()
        .position(|(_, rise)| rise.pa() < 0.0)
        .map(|index| {
            (
                index,
                format!("a rise of {} is below zero", points[index].1),
                "try ending the curve where the rise is zero",
            )
        })
}
