//! Drilled restrictors: a thick sharp-edged orifice in a pipe, and the orifice standard as a check.
//!
//! Balancing restrictors are far below the range of ISO 5167; the standard is here only to check
//! the other formula where both hold.

use std::f64::consts::PI;
use std::fmt;

use super::fittings::TwoConstant;

/// Friction factor of the short bore in the turbulent term; Idelchik's suggestion, from memory.
const BORE_FRICTION_FACTOR: f64 = 0.02;
/// Smallest bore ratio for which the formula is formed; a smaller hole counts as this one.
const SMALLEST_BORE_RATIO: f64 = 1e-3;

/// Loss of a drilled restrictor on the velocity head of the pipe it sits in.
///
/// Turbulent, with `m = (d/D)^2` and `l = t/d`:
/// `K = [0.5 (1-m)^0.75 + tau (1-m)^1.375 + (1-m)^2 + 0.02 l] / m^2`,
/// `tau = (2.4 - l) 10^-phi` (zero above `l` = 2.4), `phi = 0.25 + 0.535 l^8 / (0.05 + l^7)`.
/// Laminar, creeping flow through a hole of finite length, `dp = mu Q (3 + 8 t/(pi r)) / r^3`:
/// `K1 = 4 pi (D/d)^3 (3 + 16 t/(pi d))`.
///
/// Units: m. Range: `d` up to `D` (a larger hole counts as `D`: friction only), thickness from 0;
/// sharp edges. Turbulent part for bore Re above about 1e3; the sum in between is common practice,
/// no source.
///
/// Source: I. E. Idelchik, Handbook of Hydraulic Resistance, diagram 4-15, thick-edged orifice,
/// from memory; its thin-plate limit agrees with ISO 5167-2 at Re 1e5 within 1 % for `d/D` 0.3 to 0.5
/// and 6 % at 0.7 (tested).
/// Laminar part: Z. Dagan, S. Weinbaum and R. Pfeffer, J. Fluid Mech. 115, 1982, from memory; its
/// parts are exact (Sampson, 1891, for a thin wall; Poiseuille for a long one).
///
/// ```
/// use loopwright::correlation::restrictor_loss;
/// let thin = restrictor_loss(0.050, 0.100, 0.0);
/// // ISO 5167-2 at Re 1e5: 29.81.
/// assert!((thin.k_turbulent / 29.80874 - 1.0).abs() < 0.01);
/// ```
pub fn restrictor_loss(bore_m: f64, pipe_bore_m: f64, thickness_m: f64) -> TwoConstant {
    let ratio = (bore_m / pipe_bore_m).clamp(SMALLEST_BORE_RATIO, 1.0);
    let area_ratio = ratio * ratio;
    let thickness = thickness_m.max(0.0) / (ratio * pipe_bore_m);
    let gap = 1.0 - area_ratio;
    let on_bore = 0.5 * gap.powf(0.75)
        + edge_interaction(thickness) * gap.powf(1.375)
        + gap * gap
        + BORE_FRICTION_FACTOR * thickness;
    // The two end effects vanish with the step; the bore's own Poiseuille term stays.
    let creeping = 4.0 * PI * (3.0 * gap + 16.0 * thickness / PI);
    TwoConstant {
        k_laminar: creeping / (ratio * area_ratio),
        k_turbulent: on_bore / (area_ratio * area_ratio),
    }
}

/// Idelchik's `tau(l)`: 1.35 for a thin plate, 0 for a thick one.
fn edge_interaction(thickness: f64) -> f64 {
    if thickness >= 2.4 {
        return 0.0;
    }
    let seventh = thickness.powi(7);
    let phi = 0.25 + 0.535 * seventh * thickness / (0.05 + seventh);
    (2.4 - thickness) * 10f64.powf(-phi)
}

/// What ISO 5167-2 gives for an orifice plate with corner taps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IsoOrifice {
    /// Discharge coefficient C.
    pub discharge_coefficient: f64,
    /// Tap pressure difference on the pipe's velocity head.
    pub tap_coefficient: f64,
    /// Permanent loss over the tap pressure difference.
    pub permanent_share: f64,
    /// Permanent loss coefficient on the pipe's velocity head.
    pub loss_coefficient: f64,
}

/// Why ISO 5167-2 does not hold for an orifice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OrificeError {
    /// The hole is smaller than 12.5 mm.
    Bore {
        /// Hole, m.
        bore_m: f64,
    },
    /// The pipe is outside 50 to 1000 mm.
    Pipe {
        /// Pipe bore, m.
        pipe_bore_m: f64,
    },
    /// The bore ratio is outside 0.1 to 0.75.
    BoreRatio {
        /// Hole over pipe bore.
        bore_ratio: f64,
    },
    /// The pipe Reynolds number is too low.
    Reynolds {
        /// Pipe Reynolds number.
        reynolds: f64,
        /// Its lower limit at this bore ratio.
        limit: f64,
    },
}

impl fmt::Display for OrificeError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("cannot use ISO 5167-2 because ")?;
        match self {
            Self::Bore { bore_m } => {
                write!(
                    out,
                    "the hole is too small: got {} mm, limit 12.5 mm",
                    bore_m * 1e3
                )?;
            }
            Self::Pipe { pipe_bore_m } => write!(
                out,
                "the pipe is outside its range: got {} mm, limit 50 to 1000 mm",
                pipe_bore_m * 1e3
            )?,
            Self::BoreRatio { bore_ratio } => write!(
                out,
                "the bore ratio is outside its range: got {bore_ratio}, limit 0.1 to 0.75"
            )?,
            Self::Reynolds { reynolds, limit } => write!(
                out,
                "the Reynolds number is too low: got {reynolds:.0}, limit {limit:.0}"
            )?,
        }
        out.write_str("; try the restrictor formula")
    }
}

impl std::error::Error for OrificeError {}

/// Discharge coefficient and permanent loss of an orifice plate with corner taps.
///
/// Reader-Harris/Gallagher: `C = 0.5961 + 0.0261 b^2 - 0.216 b^8 + 0.000521 (1e6 b/Re)^0.7
/// + (0.0188 + 0.0063 A) b^3.5 (1e6/Re)^0.3 + 0.011 (0.75 - b)(2.8 - D/25.4 mm)` (last term below
/// 71.12 mm only), `A = (19000 b/Re)^0.8`. Permanent share
/// `(r - C b^2)/(r + C b^2)`, loss `(r/(C b^2) - 1)^2`, `r = sqrt(1 - b^4 (1 - C^2))`.
///
/// Units: m; Reynolds number of the pipe.
/// Range: hole from 12.5 mm, pipe 50 to 1000 mm, `b` 0.1 to 0.75, Re from 5000 (`b` up to 0.56) or
/// `16000 b^2`; an error outside.
///
/// Source: ISO 5167-2:2003, 5.3 and 5.4, as coded in fluids 1.3.1.
///
/// # Errors
/// [`OrificeError`] names the first limit that is missed.
pub fn iso_5167_orifice(
    bore_m: f64,
    pipe_bore_m: f64,
    reynolds: f64,
) -> Result<IsoOrifice, OrificeError> {
    let b = bore_m / pipe_bore_m;
    if !(0.050..=1.0).contains(&pipe_bore_m) {
        return Err(OrificeError::Pipe { pipe_bore_m });
    }
    if !(0.1..=0.75).contains(&b) {
        return Err(OrificeError::BoreRatio { bore_ratio: b });
    }
    if bore_m < 0.0125 {
        return Err(OrificeError::Bore { bore_m });
    }
    let limit = if b <= 0.56 { 5000.0 } else { 16000.0 * b * b };
    if reynolds.is_nan() || reynolds < limit {
        return Err(OrificeError::Reynolds { reynolds, limit });
    }
    let square = b * b;
    let fourth = square * square;
    let a = (19000.0 * b / reynolds).powf(0.8);
    let mut c = 0.5961 + 0.0261 * square - 0.216 * fourth * fourth
        + 0.000521 * (1e6 * b / reynolds).powf(0.7)
        + (0.0188 + 0.0063 * a) * b.powf(3.5) * (1e6 / reynolds).powf(0.3);
    if pipe_bore_m < 0.07112 {
        c += 0.011 * (0.75 - b) * (2.8 - pipe_bore_m / 0.0254);
    }
    let root = (1.0 - fourth * (1.0 - c * c)).sqrt();
    let jet = c * square;
    Ok(IsoOrifice {
        discharge_coefficient: c,
        tap_coefficient: (1.0 - fourth) / (jet * jet),
        permanent_share: (root - jet) / (root + jet),
        loss_coefficient: (root / jet - 1.0) * (root / jet - 1.0),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_smaller_hole_always_costs_more() {
        for thickness in [0.0, 0.001, 0.01] {
            let mut last = TwoConstant {
                k_laminar: f64::INFINITY,
                k_turbulent: f64::INFINITY,
            };
            for k in 1..=40 {
                let loss = restrictor_loss(0.016 * f64::from(k) / 40.0, 0.016, thickness);
                assert!(loss.k_turbulent < last.k_turbulent && loss.k_laminar < last.k_laminar);
                last = loss;
            }
        }
    }

    #[test]
    fn a_hole_as_wide_as_the_pipe_costs_only_its_friction() {
        let loss = restrictor_loss(0.016, 0.016, 0.016);
        assert!((loss.k_laminar - 64.0).abs() < 1e-12);
        assert!((loss.k_turbulent - 0.02).abs() < 1e-15);
    }

    #[test]
    fn the_thin_plate_is_the_squared_form_of_the_same_handbook() {
        // Idelchik's sharp-edged orifice: K = (0.707 (1-m)^0.375 + 1 - m)^2 / m^2, from memory.
        let m: f64 = 0.25;
        let thin = (0.707 * (1.0 - m).powf(0.375) + 1.0 - m).powi(2) / (m * m);
        let ours = restrictor_loss(0.008, 0.016, 0.0).k_turbulent;
        assert!((ours / thin - 1.0).abs() < 0.03, "{ours} {thin}");
    }

    #[test]
    fn the_laminar_part_is_poiseuille_for_a_long_bore() {
        let loss = restrictor_loss(0.004, 0.016, 4.0).on_pipe_to_bore();
        assert!((loss / (64.0 * 1000.0) - 1.0).abs() < 1e-3);
    }

    impl TwoConstant {
        fn on_pipe_to_bore(self) -> f64 {
            self.on_bore(0.016, 0.004).k_laminar
        }
    }

    #[test]
    fn the_standard_refuses_a_balancing_orifice_by_name() {
        let message = iso_5167_orifice(0.004, 0.016, 9000.0).map_err(|e| e.to_string());
        assert_eq!(
            message,
            Err(
                "cannot use ISO 5167-2 because the pipe is outside its range: got 16 mm, \
                 limit 50 to 1000 mm; try the restrictor formula"
                    .to_owned()
            )
        );
        assert!(matches!(
            iso_5167_orifice(0.05, 0.1, 4000.0),
            Err(OrificeError::Reynolds { .. })
        ));
        assert!(matches!(
            iso_5167_orifice(0.09, 0.1, 1e5),
            Err(OrificeError::BoreRatio { .. })
        ));
        assert!(matches!(
            iso_5167_orifice(0.006, 0.05, 1e5),
            Err(OrificeError::Bore { .. })
        ));
        assert!(iso_5167_orifice(f64::NAN, 0.1, 1e5).is_err());
    }
}
