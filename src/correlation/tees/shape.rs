//! What a tee is: its model, its three areas and its angle, and the check of both.
//!
//! Not the losses themselves: those are one model a file.

use core::f64::consts::{FRAC_PI_2, PI};
use core::fmt;

/// How far an angle may be from 90 degrees and still count as square: round-off of a unit conversion.
const SQUARE_TOLERANCE_RAD: f64 = 1e-6;

/// The loss model of a tee.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum TeeModel {
    /// Any angle: dividing after Bassett, Winterbone and Pearson (2001), combining by momentum balance.
    #[default]
    Momentum,
    /// The 90-degree set of Crane TP-410 (2009).
    Handbook,
    /// The momentum factors of classical manifold theory, on `rho v^2 / 2`.
    Coefficients {
        /// Factor `k_i` of the dividing run: 1 is ideal recovery.
        dividing: f64,
        /// Factor `k_e` of the combining run: 2 is a joining flow without momentum along the run.
        combining: f64,
    },
    /// All three total pressures are equal.
    Lossless,
}

/// One of the three legs of a tee; its place is the index used in every array of this room.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum TeeLeg {
    /// One end of the straight run.
    A,
    /// The other end of the straight run.
    B,
    /// The lateral.
    Side,
}

impl TeeLeg {
    /// The legs in the order of every array of this room.
    pub const ALL: [Self; 3] = [Self::A, Self::B, Self::Side];

    /// The place of this leg in `[a, b, side]`.
    #[must_use]
    pub const fn index(self) -> usize {
        match self {
            Self::A => 0,
            Self::B => 1,
            Self::Side => 2,
        }
    }
}

/// Three flow areas and one angle.
///
/// The side axis makes `angle_rad` with the outward axis of end `b`, hence `pi - angle_rad` with
/// that of end `a`. Flow between `a` and `side`, either way, turns by `angle_rad`; flow between `b`
/// and `side` turns by `pi - angle_rad`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TeeShape {
    /// Flow area of end `a`, m2.
    pub a_area_m2: f64,
    /// Flow area of end `b`, m2.
    pub b_area_m2: f64,
    /// Flow area of the side leg, m2.
    pub side_area_m2: f64,
    /// Angle between the side leg and end `b`, rad, above 0 and below pi.
    pub angle_rad: f64,
}

impl TeeShape {
    /// Flow area of one leg, m2.
    #[must_use]
    pub const fn area_m2(&self, leg: TeeLeg) -> f64 {
        match leg {
            TeeLeg::A => self.a_area_m2,
            TeeLeg::B => self.b_area_m2,
            TeeLeg::Side => self.side_area_m2,
        }
    }

    /// Angle by which flow turns on its way between one end of the run and the side leg, rad.
    ///
    /// With the outward axes `e_b = (1, 0)`, `e_a = (-1, 0)`, `e_s = (cos angle, sin angle)`, flow
    /// entering at `a` moves along `-e_a = e_b` and leaves along `e_s`: it turns by `angle_rad`.
    /// Flow entering at the side moves along `-e_s` and leaves at `a` along `e_a`: the same angle.
    /// For end `b` both ways give `pi - angle_rad`. The side leg itself has no turning: 0.
    #[must_use]
    pub fn turning_rad(&self, end: TeeLeg) -> f64 {
        match end {
            TeeLeg::A => self.angle_rad,
            TeeLeg::B => PI - self.angle_rad,
            TeeLeg::Side => 0.0,
        }
    }
}

/// Why a tee cannot be computed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TeeError {
    /// A flow area is not a positive finite number.
    Area {
        /// The leg.
        leg: TeeLeg,
        /// What was given, m2.
        area_m2: f64,
    },
    /// The angle does not lie between 0 and pi.
    Angle {
        /// What was given, rad.
        angle_rad: f64,
    },
    /// The handbook set holds for 90 degrees only.
    HandbookAngle {
        /// What was given, rad.
        angle_rad: f64,
    },
    /// A momentum factor is not a finite number.
    Factor {
        /// What was given.
        value: f64,
    },
}

impl fmt::Display for TeeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Area { leg, area_m2 } => {
                let name = match leg {
                    TeeLeg::A => "end a",
                    TeeLeg::B => "end b",
                    TeeLeg::Side => "the side leg",
                };
                write!(
                    f,
                    "cannot compute a tee because the flow area of {name} is not above zero: got \
                     {area_m2} m2; try the bore of that leg"
                )
            }
            Self::Angle { angle_rad } => write!(
                f,
                "cannot compute a tee because its angle lies outside 0 to 180 degrees: got {} \
                 degrees; try the angle between the side leg and end b",
                angle_rad.to_degrees()
            ),
            Self::HandbookAngle { angle_rad } => write!(
                f,
                "cannot use the handbook tee model because its coefficients hold for 90 degrees \
                 only: got {} degrees; try the momentum model",
                angle_rad.to_degrees()
            ),
            Self::Factor { value } => write!(
                f,
                "cannot compute a tee because a momentum factor is not a finite number: got \
                 {value}; try 0.6 to 1 dividing, 1.1 to 2 combining"
            ),
        }
    }
}

impl core::error::Error for TeeError {}

/// Checks that a model can be used on a shape.
///
/// # Errors
/// [`TeeError`] when an area is not above zero, the angle is not between 0 and pi, the handbook
/// model meets another angle than 90 degrees, or a momentum factor is not finite.
///
/// ```
/// use loopwright::correlation::tees::{TeeModel, TeeShape, tee_check};
/// let wye = TeeShape { a_area_m2: 3e-4, b_area_m2: 3e-4, side_area_m2: 2e-4, angle_rad: 0.8 };
/// assert!(tee_check(TeeModel::Momentum, &wye).is_ok());
/// let refusal = tee_check(TeeModel::Handbook, &wye).unwrap_err();
/// assert!(refusal.to_string().contains("90 degrees only: got 45.8"));
/// ```
pub fn tee_check(model: TeeModel, shape: &TeeShape) -> Result<(), TeeError> {
    for leg in TeeLeg::ALL {
        let area_m2 = shape.area_m2(leg);
        if !(area_m2.is_finite() && area_m2 > 0.0) {
            return Err(TeeError::Area { leg, area_m2 });
        }
    }
    let angle_rad = shape.angle_rad;
    if !(angle_rad > 0.0 && angle_rad < PI) {
        return Err(TeeError::Angle { angle_rad });
    }
    match model {
        TeeModel::Handbook if (angle_rad - FRAC_PI_2).abs() > SQUARE_TOLERANCE_RAD => {
            Err(TeeError::HandbookAngle { angle_rad })
        }
        TeeModel::Coefficients {
            dividing,
            combining,
        } => [dividing, combining]
            .into_iter()
            .find(|value| !value.is_finite())
            .map_or(Ok(()), |value| Err(TeeError::Factor { value })),
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SQUARE: TeeShape = TeeShape {
        a_area_m2: 3e-4,
        b_area_m2: 3e-4,
        side_area_m2: 2e-4,
        angle_rad: FRAC_PI_2,
    };

    #[test]
    fn every_model_accepts_a_square_tee() {
        for model in [
            TeeModel::default(),
            TeeModel::Handbook,
            TeeModel::Lossless,
            TeeModel::Coefficients {
                dividing: 1.0,
                combining: 2.0,
            },
        ] {
            assert_eq!(tee_check(model, &SQUARE), Ok(()));
        }
    }

    #[test]
    fn a_bad_area_angle_or_factor_is_refused_by_name() {
        let mut shape = SQUARE;
        shape.side_area_m2 = 0.0;
        assert_eq!(
            tee_check(TeeModel::Momentum, &shape),
            Err(TeeError::Area {
                leg: TeeLeg::Side,
                area_m2: 0.0
            })
        );
        shape = SQUARE;
        shape.b_area_m2 = f64::NAN;
        assert!(matches!(
            tee_check(TeeModel::Momentum, &shape),
            Err(TeeError::Area { leg: TeeLeg::B, .. })
        ));
        for angle_rad in [0.0, PI, -1.0, f64::NAN] {
            shape = SQUARE;
            shape.angle_rad = angle_rad;
            assert!(matches!(
                tee_check(TeeModel::Lossless, &shape),
                Err(TeeError::Angle { .. })
            ));
        }
        let model = TeeModel::Coefficients {
            dividing: 1.0,
            combining: f64::INFINITY,
        };
        assert!(matches!(
            tee_check(model, &SQUARE),
            Err(TeeError::Factor { .. })
        ));
    }

    /// The angle between two directions, from the axes written out as vectors.
    fn angle_between(u: [f64; 2], v: [f64; 2]) -> f64 {
        (u[0] * v[0] + u[1] * v[1]).clamp(-1.0, 1.0).acos()
    }

    #[test]
    fn turning_angles_follow_from_the_axes() {
        for angle_rad in [0.3, FRAC_PI_2, 2.6] {
            let shape = TeeShape {
                angle_rad,
                ..SQUARE
            };
            let side_out = [angle_rad.cos(), angle_rad.sin()];
            let side_in = [-side_out[0], -side_out[1]];
            for (end, out) in [(TeeLeg::A, [-1.0, 0.0]), (TeeLeg::B, [1.0, 0.0])] {
                let inward = [-out[0], -out[1]];
                let turning = shape.turning_rad(end);
                assert!((turning - angle_between(inward, side_out)).abs() < 1e-12);
                assert!((turning - angle_between(side_in, out)).abs() < 1e-12);
            }
        }
    }
}
