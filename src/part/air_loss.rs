//! Losses of the air before and behind a face: grille, duct, shroud, way out. Stated or measured, never from geometry.

use super::law::TwoTerm;
use crate::correlation::valve::{two_term_fit, two_term_from_point};
use crate::quantity::{Area, PressureDifference, VolumeFlow};
use serde::{Deserialize, Serialize};

/// Velocity at which the smallest linear share of a loss equals its quadratic one; it keeps the slope finite at rest, m/s.
const RESTING_VELOCITY_M_S: f64 = 1.0e-6;

/// What all the air of a radiator loses before and behind its face.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct AirLosses {
    /// Grille before the face.
    pub grille: Option<AirLoss>,
    /// Duct before the face.
    pub duct: Option<AirLoss>,
    /// Way out of the bay, behind fans and uncovered face.
    pub exit: Option<AirLoss>,
}

/// A loss of air, in one of two ways: a `loss_coefficient` on an `area` (default: the face), or `points`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct AirLoss {
    /// Loss over the velocity head in `area`.
    #[cfg_attr(test, schemars(range(min = 0.0, max = 10000.0)))]
    pub loss_coefficient: Option<f64>,
    /// The area that `loss_coefficient` refers to (default: the whole face, for a shroud the face it covers).
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub area: Option<Area>,
    /// Measured air flow and pressure drop, each above zero, for air of 20 degC at sea level; one alone is read as quadratic.
    #[cfg_attr(test, schemars(length(min = 1, max = 1000)))]
    pub points: Option<Vec<(VolumeFlow, PressureDifference)>>,
}

impl AirLoss {
    /// The law of the loss: `K rho/2 (Q/A)^2`, or `a mu Q + b rho Q^2` through the points.
    ///
    /// `face_m2` is the area where none is stated; viscosity and density are those of the reference air. A tiny linear
    /// share, equal to the quadratic one at 1e-6 m/s, keeps the slope finite at rest. Any flow, either way alike.
    ///
    /// Source: the definition of a loss coefficient; the fit is that of every measured drop.
    ///
    /// # Errors
    /// A sentence naming the keys that are missing or stand against each other, or why the points cannot be fitted.
    pub fn law(
        &self,
        face_m2: f64,
        viscosity_pa_s: f64,
        density_kg_m3: f64,
    ) -> Result<TwoTerm, String> {
        let area_m2 = self.area.map_or(face_m2, |a| a.m2());
        let (a, b) = match (self.loss_coefficient, &self.points) {
            (Some(_), Some(_)) => return Err(
                "cannot tell which loss holds because `loss_coefficient` and `points` are given; keep one"
                    .into(),
            ),
            (None, None) => {
                return Err("cannot tell the loss because none is given; give `loss_coefficient` or `points`".into());
            }
            (None, Some(_)) if self.area.is_some() => return Err(
                "cannot use `area` with `points`, which hold for the whole flow; keep `points` alone".into(),
            ),
            (Some(_), None) if area_m2 <= 0.0 => return Err(
                "cannot use `loss_coefficient` because nothing is covered whose area it could refer to; give `area`"
                    .into(),
            ),
            (Some(k), None) => (0.0, 0.5 * k / (area_m2 * area_m2)),
            (None, Some(points)) => {
                let plain: Vec<(f64, f64)> =
                    points.iter().map(|(q, dp)| (q.m3_s(), dp.pa())).collect();
                let fit = match plain[..] {
                    [point] => two_term_from_point(point, 0.0, viscosity_pa_s, density_kg_m3),
                    _ => two_term_fit(&plain, viscosity_pa_s, density_kg_m3),
                }
                .map_err(|e| e.to_string())?;
                (fit.a, fit.b)
            }
        };
        let resting = b * density_kg_m3 * RESTING_VELOCITY_M_S * area_m2.max(1e-6) / viscosity_pa_s;
        Ok(TwoTerm::symmetric(a.max(resting).max(1e-6), b))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The definition of a loss coefficient: K = 2 at 3 m/s in air of 1.2 kg/m3 is 10.8 Pa.
    #[test]
    fn a_coefficient_is_a_share_of_the_velocity_head_and_one_point_is_read_as_quadratic() {
        let loss = AirLoss {
            loss_coefficient: Some(2.0),
            area: Some(Area::from_m2(0.1)),
            points: None,
        };
        let law = loss.law(1.0, 1.8e-5, 1.2).expect("a law");
        let drop = |law: &TwoTerm, q: f64| law.a * 1.8e-5 * q + law.b * 1.2 * q * q;
        assert!((drop(&law, 0.3) / 10.8 - 1.0).abs() < 1e-5);
        let point = AirLoss {
            points: Some(vec![(
                VolumeFlow::from_m3_s(0.3),
                PressureDifference::from_pa(10.8),
            )]),
            ..AirLoss::default()
        };
        let law = point.law(0.1, 1.8e-5, 1.2).expect("a law");
        assert!((drop(&law, 0.6) / 43.2 - 1.0).abs() < 1e-5);
    }

    #[test]
    fn a_loss_said_twice_or_not_at_all_is_refused() {
        let both = AirLoss {
            loss_coefficient: Some(1.0),
            area: None,
            points: Some(Vec::new()),
        };
        for loss in [both, AirLoss::default()] {
            assert!(loss.law(1.0, 1.8e-5, 1.2).is_err());
        }
        let bare = AirLoss {
            loss_coefficient: Some(1.0),
            ..AirLoss::default()
        };
        assert!(bare.law(0.0, 1.8e-5, 1.2).is_err(), "no area");
    }
}
