//! The air side of a radiator in one of four ways: a stated law, louvred or plain fins, or a rating.
//! The stated law is in `radiator.rs`, fins are in `fins.rs`; what a rating becomes is found where its coolant is known.

use super::fins::{FaceHeat, FinnedFace};
use super::radiator::{AirSide, ConductanceLaw};
use crate::fluid::Properties;
use crate::quantity::{
    Power, PressureDifference, Temperature, TemperatureDifference, Velocity, VolumeFlow,
};
use serde::{Deserialize, Serialize};

/// Exponent of the face velocity where a rating gives none: `h` of louvred fins goes with the 0.51st power
/// (`j` with `Re^-0.49`, Chang and Wang, 1997).
pub const RATED_EXPONENT: f64 = 0.5;

/// Heat that was measured or printed at stated flows and temperatures.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Rating {
    /// Heat from coolant to air.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub heat: Power,
    /// Coolant in less air in.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub inlet_temperature_difference: TemperatureDifference,
    /// The coolant of the rating, by its name under `coolants`.
    pub coolant: String,
    /// Temperature at which the coolant came in.
    pub coolant_temperature: Temperature,
    /// Coolant through the rated tubes, measured at its inlet.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub coolant_flow: VolumeFlow,
    /// Air through the rated face, at inlet density and sea level.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub air_flow: Option<VolumeFlow>,
    /// Velocity of that air before the face, instead of `air_flow`.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub face_velocity: Option<Velocity>,
    /// How many tubes the rated radiator or core had (default: `count`, the whole radiator); its face is their share.
    #[cfg_attr(test, schemars(range(min = 1, max = 100000)))]
    pub tubes: Option<u32>,
    /// Passes of the rated radiator or core (default 1).
    #[cfg_attr(test, schemars(range(min = 1, max = 12)))]
    pub passes: Option<u32>,
    /// Exponent of the face velocity in the conductance of the air side (default 0.5).
    #[cfg_attr(test, schemars(range(min = 0.1, max = 1.0)))]
    pub exponent: Option<f64>,
    /// Air pressure drop at the rated flow, instead of `pressure_drop`.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub air_pressure_drop: Option<PressureDifference>,
    /// Coolant pressure drop at the rated flow: compared with that of the tubes, not used.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub coolant_pressure_drop: Option<PressureDifference>,
}

/// Which way the conductance of the air side is stated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AirWay {
    /// `conductance_per_face_area`.
    Stated,
    /// `louvred_fins`.
    Louvred,
    /// `plain_fins`.
    Plain,
    /// `rating`.
    Rated,
}

impl AirSide {
    /// The way in which the air side is stated.
    ///
    /// # Errors
    /// A sentence about ways that stand twice or are missing.
    pub fn way(&self) -> Result<AirWay, String> {
        let ways = [
            (
                "conductance_per_face_area",
                self.conductance_per_face_area.is_some(),
                AirWay::Stated,
            ),
            ("louvred_fins", self.louvred_fins.is_some(), AirWay::Louvred),
            ("plain_fins", self.plain_fins.is_some(), AirWay::Plain),
            ("rating", self.rating.is_some(), AirWay::Rated),
        ];
        let given: Vec<_> = ways.iter().filter(|(_, is, _)| *is).collect();
        let (name, way) = match given[..] {
            [(name, _, way)] => (*name, *way),
            [] => {
                return Err("cannot tell the air side because no way of stating it is given; give `conductance_per_face_area`, `louvred_fins`, `plain_fins` or `rating`".into());
            }
            [(a, ..), (b, ..), ..] => {
                return Err(format!(
                    "cannot use both `{a}` and `{b}` because each alone gives the air side; keep the one that was measured"
                ));
            }
        };
        let rated_drop = self
            .rating
            .as_ref()
            .is_some_and(|r| r.air_pressure_drop.is_some());
        match (way, self.pressure_drop.is_some()) {
            (AirWay::Louvred | AirWay::Plain, true) => Err(format!(
                "cannot use both `{name}` and `pressure_drop` because the fins give their own drop; keep the fins"
            )),
            (AirWay::Stated, false) => Err(
                "cannot tell what the air loses because `pressure_drop` is not given; give it, such as { \"linear\": \"9 Pa s/m\", \"quadratic\": \"6 Pa s2/m2\" }"
                    .into(),
            ),
            (AirWay::Rated, true) if rated_drop => Err(
                "cannot use both `pressure_drop` and the `air_pressure_drop` of the rating; keep one"
                    .into(),
            ),
            (AirWay::Rated, false) if !rated_drop => Err(
                "cannot tell what the air loses because the rating has no `air_pressure_drop`; give it, or `pressure_drop` beside the rating"
                    .into(),
            ),
            _ => Ok(way),
        }
    }
}

/// The conductance of an air side, resolved.
#[derive(Clone, Debug, PartialEq)]
pub enum AirConductance {
    /// `U = U1 u^n` on the face, stated or from a rating.
    Law(ConductanceLaw),
    /// Fins of known geometry.
    Fins(Box<FinnedFace>),
}

impl AirConductance {
    /// Conductance of a strip of face at a face velocity.
    pub fn at(&self, face_m_s: f64, face_m2: f64, air: &Properties) -> FaceHeat {
        match self {
            Self::Law(law) => FaceHeat {
                conductance_w_k: law.at_1_m_s.w_m2_k() * face_m_s.powf(law.exponent) * face_m2,
                ..FaceHeat::default()
            },
            Self::Fins(face) => face.heat(face_m_s, face_m2, air),
        }
    }
}
