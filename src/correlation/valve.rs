//! Pressure-drop laws of measured parts and valves: Kv, Cv and the fit of two terms to points.
//!
//! `dp = a mu Q + b rho Q|Q|` carries a measurement to another coolant and temperature: `a` in 1/m3,
//! `b` in 1/m4. Not a valve's behaviour (cracking, lift): that belongs to the part.

use std::fmt;

/// Water density of the definition of Kv, kg/m3.
const KV_DENSITY_KG_M3: f64 = 1000.0;
/// Pressure drop of the definition of Kv, 1 bar in Pa.
const KV_DROP_PA: f64 = 1e5;
/// Pressure drop of the definition of Cv, 1 psi in Pa.
const CV_DROP_PA: f64 = 6_894.757_293_168;
/// One US gallon per minute in m3/h.
const GPM_M3_H: f64 = 3.785_411_784e-3 * 60.0;
/// Smallest Kv for which a law is formed, m3/h; a smaller one gives this one's.
const SMALLEST_KV_M3_H: f64 = 1e-9;

/// The quadratic coefficient b of a valve in `dp = b rho Q|Q|`, 1/m4.
///
/// `dp = 1e5 Pa (rho/1000) (Q/Kv)^2`, Q and Kv in m3/h.
///
/// Units: Kv in m3/h. Range: Kv above 0; at and below 1e-9 m3/h the value there, so that it stays
/// finite: a shut valve is a closed branch.
///
/// Source: IEC 60534-2-1, definition of the flow coefficient.
///
/// ```
/// use loopwright::correlation::quadratic_from_kv;
/// // Kv 1 at 20 L/min of water: 144 kPa.
/// let q = 20e-3 / 60.0;
/// let dp_pa: f64 = quadratic_from_kv(1.0) * 1000.0 * q * q;
/// assert!((dp_pa - 144_000.0).abs() < 1e-6);
/// ```
pub fn quadratic_from_kv(kv_m3_h: f64) -> f64 {
    let kv_m3_s = kv_m3_h.max(SMALLEST_KV_M3_H) / 3600.0;
    KV_DROP_PA / (KV_DENSITY_KG_M3 * kv_m3_s * kv_m3_s)
}

/// Kv in m3/h at 1 bar from Cv in US gpm at 1 psi: `Kv = 0.8650 Cv`.
///
/// Source: exact from the definitions of the units; `Cv = 1.156099 Kv`.
pub fn kv_from_cv(cv_gpm: f64) -> f64 {
    cv_gpm * GPM_M3_H * (KV_DROP_PA / CV_DROP_PA).sqrt()
}

/// The law `dp = a mu Q + b rho Q|Q|` of a part with its misfit to the points it came from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoTermFit {
    /// Laminar coefficient, 1/m3.
    pub a: f64,
    /// Quadratic coefficient, 1/m4.
    pub b: f64,
    /// Largest relative distance of the law from a point, `|dp_law / dp_point - 1|`.
    pub misfit: f64,
}

impl TwoTermFit {
    /// Pressure drop at a signed volume flow and its slope: Pa and Pa s/m3.
    pub fn drop_pa(&self, flow_m3_s: f64, density_kg_m3: f64, viscosity_pa_s: f64) -> (f64, f64) {
        let linear = self.a * viscosity_pa_s;
        let quadratic = self.b * density_kg_m3 * flow_m3_s.abs();
        ((linear + quadratic) * flow_m3_s, linear + 2.0 * quadratic)
    }
}

/// Why no law could be fitted to points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FitError {
    /// There is no point.
    NoPoints,
    /// A number that must be positive and finite is not.
    NotPositive {
        /// What the number is.
        what: &'static str,
        /// Place of the point in the list, from 0; 0 for the liquid's own numbers.
        point: usize,
        /// The number.
        value: f64,
    },
    /// All points have one flow, so the laminar share cannot be told from them.
    OneFlow {
        /// That flow, m3/s.
        flow_m3_s: f64,
    },
    /// The laminar share is outside 0 to 1.
    Share {
        /// The share.
        share: f64,
    },
}

impl fmt::Display for FitError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("cannot fit a pressure-drop law because ")?;
        match self {
            Self::NoPoints => {
                out.write_str("there are no points: got 0, limit 1; try a bench point")
            }
            Self::NotPositive { what, point, value } => write!(
                out,
                "the {what} of point {} must be above zero: got {value}, limit 0; try a bench \
                 reading at a higher flow",
                point + 1
            ),
            Self::OneFlow { flow_m3_s } => write!(
                out,
                "all points have the same flow: got {} L/min only, limit two flows; try a second \
                 flow or a laminar share",
                flow_m3_s * 6e4
            ),
            Self::Share { share } => write!(
                out,
                "the laminar share is outside its range: got {share}, limit 0 to 1; try 0 and 1 \
                 for both extremes"
            ),
        }
    }
}

impl std::error::Error for FitError {}

/// Fits `dp = a mu Q + b rho Q|Q|`, both coefficients not negative, to measured points.
///
/// Minimises the sum of `(dp_law/dp_point - 1)^2`, so each point counts by its relative error and a
/// small flow is worth as much as a large one. If the free minimum has a negative coefficient, that
/// one is zero and the other is fitted alone (exact for two unknowns: the function is convex).
///
/// Units: points `(m3/s, Pa)`, viscosity Pa s and density kg/m3 of the measurement.
/// Range: at least two different flows; one flow says nothing about the share of the two terms, use
/// [`two_term_from_point`].
///
/// Source: the form is Forchheimer's (1901), linear least squares; common practice.
///
/// # Errors
/// [`FitError`] without points, with a flow, drop, viscosity or density that is not above zero, or
/// with a single flow.
///
/// ```
/// use loopwright::correlation::two_term_fit;
/// let points = [(1e-5, 2e2), (2e-5, 6e2)]; // 100 Pa at 1e-5 of each term
/// let fit = two_term_fit(&points, 1e-3, 1000.0).unwrap();
/// assert!((fit.a * 1e-3 * 1e-5 - 100.0).abs() < 1e-9 && fit.misfit < 1e-12);
/// assert!(two_term_fit(&[], 1e-3, 1000.0).is_err());
/// ```
pub fn two_term_fit(
    points: &[(f64, f64)],
    viscosity_pa_s: f64,
    density_kg_m3: f64,
) -> Result<TwoTermFit, FitError> {
    check_liquid(viscosity_pa_s, density_kg_m3)?;
    let &(first_flow, _) = points.first().ok_or(FitError::NoPoints)?;
    for (index, &point) in points.iter().enumerate() {
        check_point(index, point)?;
    }
    if points.iter().all(|p| (p.0 / first_flow - 1.0).abs() < 1e-9) {
        return Err(FitError::OneFlow {
            flow_m3_s: first_flow,
        });
    }
    // Columns of the relative system: law / measured = a x + b y, wanted 1.
    let scale_x = viscosity_pa_s * first_flow;
    let scale_y = density_kg_m3 * first_flow * first_flow;
    let columns: Vec<(f64, f64)> = points
        .iter()
        .map(|&(q, dp)| {
            let r = q / first_flow;
            (scale_x * r / dp, scale_y * r * r / dp)
        })
        .collect();
    let dot = |f: &dyn Fn(&(f64, f64)) -> f64| columns.iter().map(f).sum::<f64>();
    let (xx, xy) = (dot(&|c| c.0 * c.0), dot(&|c| c.0 * c.1));
    let (yy, x1, y1) = (dot(&|c| c.1 * c.1), dot(&|c| c.0), dot(&|c| c.1));
    // Gram-Schmidt: y less its part along x, so nearly equal flows keep their digits.
    let along = xy / xx;
    let across = dot(&|c| (c.1 - along * c.0).powi(2));
    let b = dot(&|c| c.1 - along * c.0) / across;
    let a = (x1 - b * xy) / xx;
    let (a, b) = if b < 0.0 || !b.is_finite() {
        (x1 / xx, 0.0)
    } else if a < 0.0 {
        (0.0, y1 / yy)
    } else {
        (a, b)
    };
    let misfit = columns
        .iter()
        .map(|c| (a * c.0 + b * c.1 - 1.0).abs())
        .fold(0.0, f64::max);
    Ok(TwoTermFit { a, b, misfit })
}

/// The law through one point when the laminar share of its drop is known or assumed.
///
/// `a mu Q = share dp`, `b rho Q^2 = (1 - share) dp`.
///
/// Units as [`two_term_fit`]; `laminar_share` 0 (all quadratic) to 1 (all laminar). Where the share
/// is not known, the two extremes bound the law.
///
/// # Errors
/// [`FitError`] for a share outside 0 to 1 or numbers that are not above zero.
pub fn two_term_from_point(
    point: (f64, f64),
    laminar_share: f64,
    viscosity_pa_s: f64,
    density_kg_m3: f64,
) -> Result<TwoTermFit, FitError> {
    check_liquid(viscosity_pa_s, density_kg_m3)?;
    check_point(0, point)?;
    if !(0.0..=1.0).contains(&laminar_share) {
        return Err(FitError::Share {
            share: laminar_share,
        });
    }
    let (flow, dp) = point;
    Ok(TwoTermFit {
        a: laminar_share * dp / (viscosity_pa_s * flow),
        b: (1.0 - laminar_share) * dp / (density_kg_m3 * flow * flow),
        misfit: 0.0,
    })
}

fn check_liquid(viscosity_pa_s: f64, density_kg_m3: f64) -> Result<(), FitError> {
    positive("viscosity", 0, viscosity_pa_s)?;
    positive("density", 0, density_kg_m3)
}

fn check_point(index: usize, (flow, dp): (f64, f64)) -> Result<(), FitError> {
    positive("flow", index, flow)?;
    positive("pressure drop", index, dp)
}

fn positive(what: &'static str, point: usize, value: f64) -> Result<(), FitError> {
    if value > 0.0 && value.is_finite() {
        Ok(())
    } else {
        Err(FitError::NotPositive { what, point, value })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MU: f64 = 3.3e-3;
    const RHO: f64 = 1070.0;

    fn points_of(a: f64, b: f64, flows: &[f64]) -> Vec<(f64, f64)> {
        flows
            .iter()
            .map(|&q| (q, a * MU * q + b * RHO * q * q))
            .collect()
    }

    #[test]
    fn exact_points_give_back_their_law() -> Result<(), FitError> {
        for (a, b) in [(5e9, 3e12), (5e9, 0.0), (0.0, 3e12)] {
            let fit = two_term_fit(&points_of(a, b, &[8e-6, 1.6e-5, 3.3e-5]), MU, RHO)?;
            assert!(
                (fit.a - a).abs() <= 1e-10 * 5e9 && (fit.b - b).abs() <= 1e-10 * 3e12,
                "{fit:?}"
            );
            assert!(fit.misfit < 1e-12);
        }
        Ok(())
    }

    #[test]
    fn a_law_steeper_than_quadratic_is_all_quadratic_and_a_flatter_one_all_laminar()
    -> Result<(), FitError> {
        let cubic = two_term_fit(&[(1e-5, 1e3), (2e-5, 8e3)], MU, RHO)?;
        assert!(cubic.a == 0.0 && cubic.b > 0.0 && cubic.misfit > 0.1);
        let root = two_term_fit(&[(1e-5, 1e3), (2e-5, 1.4e3)], MU, RHO)?;
        assert!(root.b == 0.0 && root.a > 0.0 && root.misfit > 0.1);
        Ok(())
    }

    #[test]
    fn the_fit_is_a_minimum_of_the_relative_error() -> Result<(), FitError> {
        let points = [(8.3e-6, 1.2e3), (1.67e-5, 2.9e3), (3.33e-5, 8.4e3)];
        let fit = two_term_fit(&points, MU, RHO)?;
        let cost = |a: f64, b: f64| -> f64 {
            let law = TwoTermFit { a, b, misfit: 0.0 };
            points
                .iter()
                .map(|&(q, dp)| (law.drop_pa(q, RHO, MU).0 / dp - 1.0).powi(2))
                .sum()
        };
        let best = cost(fit.a, fit.b);
        for (da, db) in [(1e-3, 0.0), (-1e-3, 0.0), (0.0, 1e-3), (0.0, -1e-3)] {
            assert!(cost(fit.a * (1.0 + da), fit.b * (1.0 + db)) > best);
        }
        Ok(())
    }

    #[test]
    fn one_point_passes_through_itself_at_any_share() -> Result<(), FitError> {
        for share in [0.0, 0.3, 1.0] {
            let fit = two_term_from_point((2e-5, 4e3), share, MU, RHO)?;
            assert!((fit.drop_pa(2e-5, RHO, MU).0 - 4e3).abs() < 1e-9);
            assert!((fit.drop_pa(-2e-5, RHO, MU).0 + 4e3).abs() < 1e-9);
        }
        Ok(())
    }

    #[test]
    fn bad_points_are_refused_by_name() {
        assert_eq!(two_term_fit(&[], MU, RHO), Err(FitError::NoPoints));
        assert!(matches!(
            two_term_fit(&[(1e-5, 1e3)], MU, RHO),
            Err(FitError::OneFlow { .. })
        ));
        let bad = two_term_fit(&[(1e-5, 1e3), (2e-5, -1.0)], MU, RHO);
        assert!(matches!(bad, Err(FitError::NotPositive { point: 1, .. })));
        assert!(two_term_fit(&[(1e-5, 1e3), (f64::NAN, 1.0)], MU, RHO).is_err());
        assert!(two_term_fit(&[(1e-5, 1e3), (2e-5, 2e3)], 0.0, RHO).is_err());
        assert!(matches!(
            two_term_from_point((1e-5, 1e3), 1.5, MU, RHO),
            Err(FitError::Share { .. })
        ));
        let text = FitError::OneFlow { flow_m3_s: 2e-5 }.to_string();
        assert!(text.starts_with("cannot fit a pressure-drop law because all points"));
    }
}
