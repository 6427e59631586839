//! The air side of a radiator, resolved: conductance and drop of its face, whichever way they are stated.

use super::lower::{Outcome, Surroundings};
use super::rating;
use crate::correlation::SectionShape;
use crate::finding::{Finding, FindingKind};
use crate::fluid::air::Air;
use crate::id::Subject;
use crate::network::error::{NetworkError, Rule};
use crate::part::{
    AirConductance, AirPressureDrop, AirWay, FinError, FinnedFace, Law, Radiator, TwoTerm,
};
use crate::place::Place;

/// Air for which core resistance and fan curves are stated: 20 degC at sea level.
pub(super) const REFERENCE_AIR_K: f64 = 293.15;
/// Face velocity at which the smallest linear share equals the quadratic one; it keeps the slope finite at rest, m/s.
const RESTING_VELOCITY_M_S: f64 = 1.0e-3;

/// What a face does to the air and with its heat.
pub(super) struct Face {
    pub conductance: AirConductance,
    pub drop: FaceDrop,
    pub findings: Vec<Finding>,
}

/// What the air loses in a face.
pub(super) enum FaceDrop {
    /// `linear u + quadratic u^2` of reference air.
    Stated(AirPressureDrop),
    /// Fins of known geometry.
    Fins(Box<FinnedFace>),
}

/// The air side of a radiator whose tubes have a section.
pub(super) fn resolve(
    name: &str,
    radiator: &Radiator,
    around: &Surroundings<'_>,
    place: &Place,
) -> Outcome<Face> {
    let at = place.key("air_side");
    let record = &radiator.air_side;
    let refuse = |text: String| NetworkError::new(Rule::BadPart, &at, text, "");
    let fins = |made: Result<FinnedFace, FinError>, key: &str| {
        let face = made
            .map_err(|e| NetworkError::new(Rule::BadPart, &at.key(key).key(e.key), e.reason, ""))?;
        let mut findings = Vec::new();
        let outside = face.outside_geometry();
        if !outside.is_empty() {
            findings.push(Finding::new(
                FindingKind::FinRange,
                Subject::whole(name),
                format!(
                    "the correlations of louvred fins were not made for {}; heat and drop of the air side may be further off than their 15 %; measure or find a rating",
                    outside.join(", ")
                ),
            ));
        }
        Ok(Face {
            conductance: AirConductance::Fins(Box::new(face)),
            drop: FaceDrop::Fins(Box::new(face)),
            findings,
        })
    };
    let way = record.way().map_err(refuse)?;
    let pitch_m = radiator.tube_pitch_m();
    match (way, record) {
        (AirWay::Louvred, side) => {
            let height_m = flat_height_m(radiator, &at.key("louvred_fins"))?;
            match &side.louvred_fins {
                Some(record) => fins(record.face(pitch_m, height_m), "louvred_fins"),
                None => Err(nothing(&at)),
            }
        }
        (AirWay::Plain, side) => {
            let height_m = flat_height_m(radiator, &at.key("plain_fins"))?;
            match &side.plain_fins {
                Some(record) => fins(record.face(pitch_m, height_m), "plain_fins"),
                None => Err(nothing(&at)),
            }
        }
        (AirWay::Stated, side) => match (&side.conductance_per_face_area, &side.pressure_drop) {
            (Some(law), Some(drop)) => Ok(Face {
                conductance: AirConductance::Law(law.clone()),
                drop: FaceDrop::Stated(drop.clone()),
                findings: Vec::new(),
            }),
            _ => Err(nothing(&at)),
        },
        (AirWay::Rated, side) => match &side.rating {
            Some(record) => rating::resolve(name, radiator, record, around, &at.key("rating")),
            None => Err(nothing(&at)),
        },
    }
}

/// A way without its record, which [`crate::part::AirSide::way`] excludes; said plainly rather than by a panic.
fn nothing(place: &Place) -> NetworkError {
    NetworkError::new(
        Rule::BadPart,
        place,
        "cannot tell the air side",
        "give `rating`",
    )
}

/// Inside height of flat tubes, m; fins from geometry are for these alone.
fn flat_height_m(radiator: &Radiator, place: &Place) -> Outcome<f64> {
    match radiator.tubes.inside.shape() {
        Ok(
            SectionShape::FlatTube { width_m, height_m }
            | SectionShape::Rectangle { width_m, height_m },
        ) => Ok(width_m.min(height_m)),
        Ok(_) => Err(NetworkError::new(
            Rule::BadPart,
            place,
            "cannot use the correlations of these fins because they were made for flat tubes and the tubes are not flat",
            "try `rating`, or a stated `conductance_per_face_area`",
        )),
        Err(e) => Err(NetworkError::new(Rule::BadPart, place, e.reason, "")),
    }
}

impl Face {
    /// The laws of a strip of face, with what the air loses behind it over the velocity head of the face.
    pub fn laws(&self, face_m2: f64, exit_loss: f64) -> Vec<Law> {
        match &self.drop {
            FaceDrop::Stated(drop) => vec![Law::TwoTerm(stated(drop, face_m2, exit_loss))],
            FaceDrop::Fins(face) => face.laws(face_m2, exit_loss),
        }
    }
}

fn stated(drop: &AirPressureDrop, face_m2: f64, exit: f64) -> TwoTerm {
    let reference = Air::at(REFERENCE_AIR_K, 0.0).map(|a| a.properties());
    let (density, viscosity) =
        reference.map_or((1.204, 1.81e-5), |p| (p.density_kg_m3, p.viscosity_pa_s));
    let quadratic = drop.quadratic.pa_s2_m2();
    let linear = drop
        .linear
        .pa_s_m()
        .max(quadratic * RESTING_VELOCITY_M_S)
        .max(1e-6);
    TwoTerm::symmetric(
        linear / (face_m2 * viscosity),
        (quadratic / density + 0.5 * exit) / (face_m2 * face_m2),
    )
}
