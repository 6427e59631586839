//! Seasons: the same duty in other weather. Each case of a design becomes one case a season, with other air, another
//! start or another altitude; the studies then answer for all of them at once.

use super::error::StudyError;
use crate::design::{CaseRecord, Design};
use crate::network::Network;
use crate::quantity::{Length, Temperature};

/// Distance kept from the coldest temperature a coolant is known at, K.
const ABOVE_FREEZING_K: f64 = 3.0;
/// Characters of a case's name that are kept before the season's.
const KEPT_OF_NAME: usize = 40;

/// How a season finds the coolant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SeasonStart {
    /// Warmed by the duty, as the case would find it.
    Running,
    /// All coolant as cold as the air, flows alone: the first minute after a night outside.
    Soaked,
}

/// How long the duty lasts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SeasonDuty {
    /// As the case says.
    AsWritten,
    /// For good: a case in time becomes steady, as for a boat or a tractor at constant power.
    Constant,
}

/// One season.
#[derive(Clone, Debug, PartialEq)]
pub struct Season {
    /// Its name, which follows the case's.
    pub name: String,
    /// Air, K (default: the case's own).
    pub air_k: Option<f64>,
    /// How the coolant is found.
    pub start: SeasonStart,
    /// Height above sea level, m (default: the case's own).
    pub altitude_m: Option<f64>,
    /// How long the duty lasts.
    pub duty: SeasonDuty,
}

/// The seasons that can be asked for by name: cold soak (-20 degC, coolant as cold), mild (15 degC), hot (40 degC),
/// high (30 degC at 2000 m), constant load (the case's own weather, steady). The temperatures are common practice, no source.
pub fn built_in() -> Vec<Season> {
    let season = |name: &str, air_celsius: Option<f64>| Season {
        name: name.to_owned(),
        air_k: air_celsius.map(|c| Temperature::from_celsius(c).k()),
        start: SeasonStart::Running,
        altitude_m: None,
        duty: SeasonDuty::AsWritten,
    };
    vec![
        Season {
            start: SeasonStart::Soaked,
            ..season("cold soak", Some(-20.0))
        },
        season("mild", Some(15.0)),
        season("hot", Some(40.0)),
        Season {
            altitude_m: Some(2000.0),
            ..season("high", Some(30.0))
        },
        Season {
            duty: SeasonDuty::Constant,
            ..season("constant load", None)
        },
    ]
}

/// The design with one case for each of its cases (or of those named) and each season, named `case - season`.
///
/// A soaked case is never colder than 3 K above what every coolant stands. A bay temperature keeps its distance from
/// the air. A case in time starts from the season's air.
///
/// # Errors
/// [`StudyError`] where the design makes no network, or a case is not there.
///
/// ```
/// use loopwright::{design::Source, study::season};
/// let text = include_str!("../../networks/bookmobile.json");
/// let design = Source::read(text).unwrap().design;
/// let year = season::apply(&design, &season::built_in(), &["hot hill".to_owned()]).unwrap();
/// assert_eq!(year.cases.len(), 5);
/// assert!(year.cases.contains_key("hot hill - cold soak"));
/// ```
pub fn apply(design: &Design, seasons: &[Season], only: &[String]) -> Result<Design, StudyError> {
    if let Some(case) = only.iter().find(|c| !design.cases.contains_key(*c)) {
        return Err(StudyError::unknown("case", case, design.cases.keys()));
    }
    let network = Network::build(design)?;
    let coldest_k = network
        .loops()
        .iter()
        .map(|l| l.coolant.range_k().0 + ABOVE_FREEZING_K)
        .fold(0.0, f64::max);
    let mut changed = design.clone();
    changed.cases.clear();
    for (name, case) in &design.cases {
        if !only.is_empty() && !only.contains(name) {
            continue;
        }
        let kept: String = name.chars().take(KEPT_OF_NAME).collect();
        for season in seasons {
            let full = format!("{} - {}", kept.trim_end(), season.name);
            changed.cases.insert(full, season.of(case, coldest_k));
        }
    }
    Ok(changed)
}

impl Season {
    /// A case in this season.
    fn of(&self, case: &CaseRecord, coldest_k: f64) -> CaseRecord {
        let mut record = case.clone();
        if let Some(air_k) = self.air_k {
            if let Some(bay) = record.bay_temperature {
                let apart_k = bay.k() - record.air.k();
                record.bay_temperature = Some(Temperature::from_k(air_k + apart_k));
            }
            record.air = Temperature::from_k(air_k);
            if record.start_temperature.is_some() {
                record.start_temperature = Some(Temperature::from_k(air_k.max(coldest_k)));
            }
        }
        if let Some(altitude_m) = self.altitude_m {
            record.altitude = Some(Length::from_m(altitude_m));
        }
        if self.duty == SeasonDuty::Constant || self.start == SeasonStart::Soaked {
            record.duration = None;
            record.start_temperature = None;
        }
        if self.start == SeasonStart::Soaked {
            record.coolant_temperature = Some(Temperature::from_k(record.air.k().max(coldest_k)));
        }
        record
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::design::Source;

    #[test]
    fn a_burst_becomes_steady_under_constant_load_and_starts_from_the_air_of_other_seasons() {
        let text = include_str!("../../networks/bookmobile.json");
        let design = Source::read(text).unwrap().design;
        let year = apply(&design, &built_in(), &["tow burst".to_owned()]).unwrap();
        let steady = &year.cases["tow burst - constant load"];
        assert!(steady.duration.is_none() && steady.start_temperature.is_none());
        assert_eq!(steady.air, design.cases["tow burst"].air);
        let hot = &year.cases["tow burst - hot"];
        assert!(
            hot.start_temperature
                .is_some_and(|t| (t.celsius() - 40.0).abs() < 1e-9)
        );
        let soaked = &year.cases["tow burst - cold soak"];
        assert!(
            soaked
                .coolant_temperature
                .is_some_and(|t| (t.celsius() + 20.0).abs() < 1e-9)
        );
        assert!(Network::build(&year).is_ok());
    }

    #[test]
    fn a_soak_stays_above_what_water_stands_and_a_case_that_is_not_there_is_named() {
        let text = include_str!("../../networks/bench-header.json").replace(
            "\"ethylene_glycol\": { \"volume_fraction\": 0.5 }",
            "\"water\": {}",
        );
        let design = Source::read(&text).unwrap().design;
        let first = design.cases.keys().next().cloned().unwrap();
        let year = apply(&design, &built_in()[..1], &[first]).unwrap();
        assert!(Network::build(&year).is_ok());
        let missing = apply(&design, &built_in(), &["no such case".to_owned()]);
        assert!(missing.is_err_and(|e| e.to_string().contains("no such case")));
    }
}
