//! The two ends of the season at which flows are compared: cold and warm coolant, all at one temperature.

use super::error::StudyError;
use crate::fluid::Coolant;
use crate::network::Case;
use crate::quantity::{Kind, show_both};

/// Cold coolant unless the caller says otherwise, K.
const COLD_K: f64 = 253.15;
/// Warm coolant of a battery loop, K.
const WARM_K: f64 = 323.15;
/// Distance kept from the coldest temperature a coolant is known at, K.
const ABOVE_FREEZING_K: f64 = 3.0;

/// Cold and warm coolant, K.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Spell {
    pub(super) cold_k: f64,
    pub(super) warm_k: f64,
}

/// The temperatures asked for, or -20 degC (3 K above freezing at least) and 50 degC.
pub(super) fn spell(
    coolant: &Coolant,
    cold_k: Option<f64>,
    warm_k: Option<f64>,
) -> Result<Spell, StudyError> {
    let (low, high) = coolant.range_k();
    for asked in [cold_k, warm_k].into_iter().flatten() {
        if !(low..=high).contains(&asked) {
            return Err(StudyError::Value {
                reason: format!(
                    "cannot compare flows there because the coolant is not known at that temperature: got {}, limit {} to {}",
                    show_both(Kind::Temperature, asked),
                    show_both(Kind::Temperature, low),
                    show_both(Kind::Temperature, high)
                ),
            });
        }
    }
    let cold_k = cold_k.unwrap_or(COLD_K.max(low + ABOVE_FREEZING_K).min(high));
    Ok(Spell {
        cold_k,
        warm_k: warm_k.unwrap_or(WARM_K.max(cold_k).min(high)),
    })
}

impl Case {
    /// The same case with all coolant at one temperature, flows alone.
    pub(super) fn at_coolant(&self, coolant_k: f64) -> Self {
        Self {
            coolant_temperature_k: Some(coolant_k),
            time: None,
            ..self.clone()
        }
    }
}
