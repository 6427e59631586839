//! The keys of `solve --json` as a readout for studies, and what each key measures.

use super::json::{case_json, part_json, radiator_json};
use super::of_time::time_json;
use crate::design::{at, locate};
use crate::place::{Place, Step};
use crate::quantity::Kind;
use crate::study::{Judging, LimitRow, Readout, Solved, Verdict};
use serde_json::Value;

/// Reads a solved case by the keys of `solve --json`, behind the name of the case. Beside these, `limits.NAME.margin`
/// (or `value`, `bound`) is that of the row of this limit with the smallest margin, and `limits.missed` counts the
/// limits that are missed.
#[derive(Clone, Copy, Debug, Default)]
pub struct Keys;

/// Parts of an answer that say how it was found, not what it is.
const NOT_COMPARED: [&str; 5] = ["effort", "closure", "findings", "limits", "band"];
/// Parts whose flow stands for a design without pump, module and limit.
const USUAL_PARTS: usize = 4;

impl Readout for Keys {
    fn numbers(&self, solved: &Solved<'_>, paths: &[&str]) -> Vec<Result<Option<f64>, String>> {
        let mut whole: Option<Value> = None;
        paths
            .iter()
            .map(|path| {
                let quick = of_limits(path, &solved.limits).or_else(|| quick(path, solved));
                if let Some(number) = quick {
                    return Ok(number);
                }
                let whole = whole.get_or_insert_with(|| answer(solved));
                number_at(whole, path)
            })
            .collect()
    }

    fn judged(&self, path: &str) -> Judging {
        if path.starts_with("limits") {
            Judging::Yes
        } else {
            Judging::No
        }
    }

    fn usual(&self, solved: &Solved<'_>) -> Vec<String> {
        let mut paths: Vec<String> = Vec::new();
        for row in &solved.limits {
            let path = format!("limits.{}.margin", row.limit);
            if !paths.contains(&path) {
                paths.push(path);
            }
        }
        if !paths.is_empty() {
            return paths;
        }
        let solution = &solved.solution;
        for name in solution.loop_names() {
            for pump in solution.pumps(name) {
                paths.push(format!("loops.{name}.parts.{}.volume_flow_m3_s", pump.id));
            }
            for bank in solution.banks(name) {
                paths.push(format!("loops.{name}.banks.{}.deviation", bank.id));
            }
        }
        if paths.is_empty() {
            for name in solution.loop_names() {
                let parts = solution.parts(name).iter().take(USUAL_PARTS);
                paths
                    .extend(parts.map(|p| format!("loops.{name}.parts.{}.volume_flow_m3_s", p.id)));
            }
        }
        paths
    }

    fn every(&self, solved: &Solved<'_>) -> Vec<(String, f64)> {
        let mut found = Vec::new();
        flatten(&answer(solved), &Place::root(), &mut found);
        found
    }

    fn scale(&self, path: &str, magnitude: f64) -> f64 {
        // Points of a scale whose zero is far away, then the least that counts of everything else.
        match Self::kind(path) {
            Some(Kind::Temperature) => 100.0,
            Some(Kind::AbsolutePressure) => 1e5,
            Some(Kind::TemperatureDifference) => magnitude.max(1.0),
            Some(Kind::GaugePressure | Kind::PressureDifference) => magnitude.max(1e3),
            Some(Kind::VolumeFlow) => magnitude.max(1e-6),
            Some(Kind::MassFlow) => magnitude.max(1e-3),
            Some(Kind::Velocity) => magnitude.max(0.01),
            Some(Kind::Power) => magnitude.max(10.0),
            Some(_) => magnitude.max(1e-9),
            None => magnitude.max(0.01),
        }
    }
}

impl Keys {
    /// What the number at a path measures, by the unit in its key; none for a ratio or a count.
    ///
    /// ```
    /// use loopwright::{quantity::Kind, report::Keys};
    /// assert_eq!(Keys::kind("loops.a.parts.p.volume_flow_m3_s"), Some(Kind::VolumeFlow));
    /// assert_eq!(Keys::kind("limits.module_temperature.margin"), Some(Kind::TemperatureDifference));
    /// assert_eq!(Keys::kind("loops.a.banks.b.deviation"), None);
    /// ```
    pub fn kind(path: &str) -> Option<Kind> {
        if let Some((limit, what)) = limit_path(path) {
            return limit_kind(limit, what);
        }
        let place: Place = path.parse().ok()?;
        let key = place.steps().iter().rev().find_map(|step| match step {
            Step::Key(key) => Some(key.as_str()),
            Step::Index(_) => None,
        })?;
        let is = |end: &str| key.ends_with(end);
        let kind = if is("_m3_s") {
            Kind::VolumeFlow
        } else if is("_kg_s") {
            Kind::MassFlow
        } else if is("_m_s") {
            Kind::Velocity
        } else if is("_spread_k") || is("_margin_k") {
            Kind::TemperatureDifference
        } else if is("_k") {
            Kind::Temperature
        } else if is("_gauge_pressure_pa") {
            Kind::GaugePressure
        } else if is("_total_pressure_pa") || key == "air_pressure_pa" {
            Kind::AbsolutePressure
        } else if is("_pa") {
            Kind::PressureDifference
        } else if is("_w") {
            Kind::Power
        } else if is("_m3") {
            Kind::Volume
        } else if is("_kg") {
            Kind::Mass
        } else if is("_s") {
            Kind::Duration
        } else {
            return None;
        };
        Some(kind)
    }
}

/// The answer of one case, as `solve --json` has it, without bands.
fn answer(solved: &Solved<'_>) -> Value {
    let mut value = case_json(&solved.solution, &solved.limits, &[]);
    if let (Some(march), Value::Object(map)) = (&solved.march, &mut value) {
        map.insert("time".into(), time_json(march));
    }
    value
}

/// What sweeps ask for most, read without making the whole answer; none where the path is no such one. A test holds each
/// of them against the whole answer.
fn quick(path: &str, solved: &Solved<'_>) -> Option<Option<f64>> {
    let place: Place = path.parse().ok()?;
    let keys: Option<Vec<&str>> = place
        .steps()
        .iter()
        .map(|step| match step {
            Step::Key(key) => Some(key.as_str()),
            Step::Index(_) => None,
        })
        .collect();
    let (solution, keys) = (&solved.solution, keys?);
    match keys.as_slice() {
        ["loops", owner, "parts", id @ .., key] => {
            let part = part_json(&solution.part(owner, &id.join("."))?);
            match part.get(*key)? {
                Value::Number(number) => Some(number.as_f64()),
                Value::Null => Some(None),
                _ => None,
            }
        }
        ["loops", owner, "banks", bank, "deviation"] => {
            let banks = solution.banks(owner);
            let bank = banks.iter().find(|b| b.id == *bank)?;
            Some(Some(bank.deviation).filter(|d| d.is_finite()))
        }
        ["loops", owner, "module_flow_deviation"] => {
            solution.loop_state(owner)?;
            Some(solution.loop_deviation(owner).filter(|d| d.is_finite()))
        }
        ["radiators", radiator, rest @ ..] if !rest.is_empty() => {
            let known = solution.network().radiators();
            known.iter().find(|r| r.name == *radiator)?;
            let mut whole = &radiator_json(solution, radiator);
            for key in rest {
                whole = whole.get(*key)?;
            }
            match whole {
                Value::Number(number) => Some(number.as_f64()),
                Value::Null => Some(None),
                _ => None,
            }
        }
        _ => None,
    }
}

fn number_at(whole: &Value, path: &str) -> Result<Option<f64>, String> {
    let place = locate(whole, path).map_err(|error| error.to_string())?;
    let banded = matches!(place.steps().last(), Some(Step::Key(key)) if key == "band");
    match at(whole, &place) {
        _ if banded => Err("bands are not reckoned in a study; see `solve`".to_owned()),
        Some(Value::Number(number)) => Ok(number.as_f64()),
        None | Some(Value::Null) => Ok(None),
        Some(Value::Object(map)) => Err(match map.keys().next() {
            Some(key) => {
                format!(
                    "it is an object; name a number inside it, such as `{}`",
                    place.key(key)
                )
            }
            None => "it is an empty object".to_owned(),
        }),
        Some(Value::Array(_)) => Err(format!(
            "it is a list; name one of its places, such as `{}`",
            place.index(0)
        )),
        Some(Value::String(text)) => Err(format!("it is the text `{text}`, not a number")),
        Some(Value::Bool(_)) => Err("it is no number".to_owned()),
    }
}

/// `limits.NAME.margin` taken apart.
fn limit_path(path: &str) -> Option<(&str, &str)> {
    let (limit, what) = path.strip_prefix("limits.")?.split_once('.')?;
    matches!(what, "margin" | "value" | "bound").then_some((limit, what))
}

/// A number of the limits as a whole; none where the path is no such one or no row has that name.
fn of_limits(path: &str, rows: &[LimitRow]) -> Option<Option<f64>> {
    if path == "limits.missed" {
        let missed = rows.iter().filter(|r| r.verdict == Verdict::Missed).count();
        return Some(Some(missed as f64));
    }
    let (limit, what) = limit_path(path)?;
    let mut named = rows.iter().filter(|r| r.limit == limit).peekable();
    named.peek()?;
    let margin = |row: &&LimitRow| row.margin.unwrap_or(f64::INFINITY);
    let worst = named.min_by(|a, b| margin(a).total_cmp(&margin(b)))?;
    Some(match what {
        "margin" => worst.margin,
        "value" => worst.value,
        _ => Some(worst.bound),
    })
}

fn limit_kind(limit: &str, what: &str) -> Option<Kind> {
    let (value, margin) = match limit {
        "module_temperature" | "coolant_inlet" | "coolant_outlet" | "device_temperature" => {
            (Kind::Temperature, Kind::TemperatureDifference)
        }
        "module_temperature_spread" | "freezing_margin" | "boiling_margin" => {
            (Kind::TemperatureDifference, Kind::TemperatureDifference)
        }
        "module_flow" | "part_flow" => (Kind::VolumeFlow, Kind::VolumeFlow),
        "hose_velocity" => (Kind::Velocity, Kind::Velocity),
        "part_pressure" => (Kind::GaugePressure, Kind::PressureDifference),
        "pump_inlet_margin_over_boiling" | "part_pressure_drop" => {
            (Kind::PressureDifference, Kind::PressureDifference)
        }
        _ => return None,
    };
    Some(if what == "margin" { margin } else { value })
}

fn flatten(value: &Value, place: &Place, found: &mut Vec<(String, f64)>) {
    match value {
        Value::Object(map) => {
            for (key, inner) in map {
                let within_time = place.last_key() == Some("time") && key != "peaks";
                if !NOT_COMPARED.contains(&key.as_str()) && !within_time {
                    flatten(inner, &place.key(key), found);
                }
            }
        }
        Value::Array(entries) => {
            for (index, inner) in entries.iter().enumerate() {
                flatten(inner, &place.index(index), found);
            }
        }
        Value::Number(number) => {
            if let Some(number) = number.as_f64() {
                found.push((place.to_string(), number));
            }
        }
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::Source;
    use crate::network::Network;
    use crate::solve::Solver;
    use crate::study::solve_case;

    #[test]
    fn every_number_of_the_answer_is_read_by_its_path_and_the_short_ways_agree_with_it() {
        let mut short = 0;
        for text in [
            include_str!("../../networks/bookmobile.json"),
            include_str!("../../networks/camper-heater.json"),
        ] {
            let design = Source::read(text).expect("sound").design;
            let network = Network::build(&design).expect("sound");
            let limits = design.limits.clone().unwrap_or_default();
            let mut solver = Solver::new(&network);
            let case = &network.cases()[0];
            let solved = solve_case(&mut solver, case, &limits, Judging::Yes).expect("an answer");
            let every = Keys.every(&solved);
            assert!(every.len() > 100, "{}", every.len());
            let whole = answer(&solved);
            // Some of each kind: a whole answer is made for each path that has no short way.
            for (path, value) in every.iter().step_by(7) {
                let place: Place = path.parse().expect("a path");
                let number = at(&whole, &place).and_then(Value::as_f64);
                assert_eq!(number, Some(*value), "{path}");
                let read = Keys.numbers(&solved, &[path]).pop().expect("one");
                assert_eq!(read, Ok(Some(*value)), "{path}");
            }
            for (path, value) in &every {
                if let Some(number) = quick(path, &solved) {
                    short += 1;
                    assert_eq!(number, Some(*value), "{path}");
                }
            }
        }
        assert!(short > 200, "only {short} short ways");
    }

    #[test]
    fn what_is_no_number_says_so() {
        let text = include_str!("../../networks/bookmobile.json");
        let design = Source::read(text).expect("sound").design;
        let network = Network::build(&design).expect("sound");
        let mut solver = Solver::new(&network);
        let limits = design.limits.clone().unwrap_or_default();
        let solved =
            solve_case(&mut solver, &network.cases()[0], &limits, Judging::Yes).expect("an answer");
        let read = |path: &str| Keys.numbers(&solved, &[path]).pop().expect("one");
        assert_eq!(
            read("loops.battery.parts.feed.kind"),
            Err("it is the text `hose`, not a number".to_owned())
        );
        assert!(read("loops.battery.banks.mid.band").is_err_and(|e| e.contains("not reckoned")));
        assert!(read("limits.module_temprature.margin").is_err());
        assert_eq!(read("loops.battery.parts.pump.reynolds"), Ok(None));
        assert!(read("loops.battery.parts.pump.share_of_free_flow").is_ok_and(|v| v.is_some()));
        assert!(
            read("loops.battery.parts.pmp.mass_flow_kg_s").is_err_and(
                |e| e.contains("did you mean `loops.battery.parts.pump.mass_flow_kg_s`")
            )
        );
    }
}
