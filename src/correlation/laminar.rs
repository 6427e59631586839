//! Shapes of duct sections: area, perimeter, hydraulic diameter and the laminar `f Re`.
//!
//! Not the friction factor itself. Exact solutions of developed laminar flow wherever there is one;
//! the flat tube is a fit to a solution made for this project.

use std::f64::consts::PI;

/// The inside shape of a duct.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SectionShape {
    /// A round bore.
    Round {
        /// Bore, m.
        bore_m: f64,
    },
    /// A rectangle with sharp corners.
    Rectangle {
        /// One inside side, m.
        width_m: f64,
        /// The other inside side, m.
        height_m: f64,
    },
    /// A flat tube: a rectangle whose short sides are half circles.
    FlatTube {
        /// Inside width over the rounded ends, m.
        width_m: f64,
        /// Inside height between the flat walls, m.
        height_m: f64,
    },
    /// The gap between two concentric round walls.
    Annulus {
        /// Outside diameter of the inner wall, m.
        inner_m: f64,
        /// Inside diameter of the outer wall, m.
        outer_m: f64,
    },
}

impl SectionShape {
    /// Flow area, m2.
    ///
    /// The sides of a rectangle or flat tube may come in either order.
    pub fn area_m2(&self) -> f64 {
        match *self {
            Self::Round { bore_m } => PI / 4.0 * bore_m * bore_m,
            Self::Rectangle { width_m, height_m } => width_m * height_m,
            Self::FlatTube { width_m, height_m } => {
                let (long, short) = ordered(width_m, height_m);
                short * (long - short) + PI / 4.0 * short * short
            }
            Self::Annulus { inner_m, outer_m } => {
                PI / 4.0 * (outer_m - inner_m) * (outer_m + inner_m)
            }
        }
    }

    /// Wetted perimeter, m.
    pub fn wetted_perimeter_m(&self) -> f64 {
        match *self {
            Self::Round { bore_m } => PI * bore_m,
            Self::Rectangle { width_m, height_m } => 2.0 * (width_m + height_m),
            Self::FlatTube { width_m, height_m } => {
                let (long, short) = ordered(width_m, height_m);
                2.0 * (long - short) + PI * short
            }
            Self::Annulus { inner_m, outer_m } => PI * (inner_m + outer_m),
        }
    }

    /// Hydraulic diameter, four areas over the wetted perimeter, m.
    pub fn hydraulic_diameter_m(&self) -> f64 {
        match *self {
            Self::Round { bore_m } => bore_m,
            Self::Annulus { inner_m, outer_m } => outer_m - inner_m,
            _ => 4.0 * self.area_m2() / self.wetted_perimeter_m(),
        }
    }

    /// The laminar constant of the section: Darcy `f Re` on the hydraulic diameter.
    ///
    /// ```
    /// use loopwright::correlation::SectionShape;
    /// let square = SectionShape::Rectangle { width_m: 0.021, height_m: 0.021 };
    /// assert!((square.laminar_constant() - 56.908308).abs() < 5e-7);
    /// ```
    pub fn laminar_constant(&self) -> f64 {
        match *self {
            Self::Round { .. } => ROUND_LAMINAR_CONSTANT,
            Self::Rectangle { width_m, height_m } => {
                let (long, short) = ordered(width_m, height_m);
                rectangle_laminar_constant(short / long)
            }
            Self::FlatTube { width_m, height_m } => {
                let (long, short) = ordered(width_m, height_m);
                flat_tube_laminar_constant(short / long)
            }
            Self::Annulus { inner_m, outer_m } => annulus_laminar_constant(inner_m / outer_m),
        }
    }

    /// Short side over long side: 1 for a round bore, 0 for an annulus (a folded slot).
    pub fn aspect(&self) -> f64 {
        match *self {
            Self::Round { .. } => 1.0,
            Self::Rectangle { width_m, height_m } | Self::FlatTube { width_m, height_m } => {
                let (long, short) = ordered(width_m, height_m);
                short / long
            }
            Self::Annulus { .. } => 0.0,
        }
    }
}

fn ordered(a: f64, b: f64) -> (f64, f64) {
    (a.max(b), a.min(b))
}

/// Darcy `f Re` of a round bore, exact (Hagen-Poiseuille).
pub const ROUND_LAMINAR_CONSTANT: f64 = 64.0;
/// Darcy `f Re` between wide parallel plates, exact.
pub const SLOT_LAMINAR_CONSTANT: f64 = 96.0;
/// Sum of 1/n^5 over the odd n, 31/32 of Riemann's zeta(5).
const ODD_FIFTH_POWER_SUM: f64 = 1.004_523_762_795_139_6;

/// Darcy `f Re` of a rectangle, exact.
///
/// `f Re = 96 / [(1 + a)^2 (1 - 192 a/pi^5 sum tanh(n pi/(2a))/n^5)]`, n odd, `a` short over long
/// side. The sum is split into its closed part and a remainder that falls like `exp(-n pi/a)`.
///
/// Range: `a` in 0..1, clamped. Source: Fourier series of Poisson's equation, derived here; square
/// 56.908308.
pub fn rectangle_laminar_constant(aspect: f64) -> f64 {
    let a = aspect.clamp(0.0, 1.0);
    let mut sum = ODD_FIFTH_POWER_SUM;
    if a > 0.0 {
        for n in [1.0, 3.0, 5.0, 7.0, 9.0, 11.0] {
            let n: f64 = n;
            sum -= 2.0 / (n.powi(5) * ((n * PI / a).exp() + 1.0));
        }
    }
    let blocked = 192.0 * a / PI.powi(5) * sum;
    SLOT_LAMINAR_CONSTANT / ((1.0 + a) * (1.0 + a) * (1.0 - blocked))
}

/// Darcy `f Re` of a rectangle by the published polynomial, within 0.06 % of the exact series.
///
/// `96 (1 - 1.3553a + 1.9467a^2 - 1.7012a^3 + 0.9564a^4 - 0.2537a^5)`. For checks; the program uses
/// [`rectangle_laminar_constant`]. Source: Shah and London, 1978 (from memory, confirmed against the
/// series).
pub fn rectangle_laminar_polynomial(aspect: f64) -> f64 {
    let a = aspect.clamp(0.0, 1.0);
    SLOT_LAMINAR_CONSTANT * polynomial(a, &[1.0, -1.3553, 1.9467, -1.7012, 0.9564, -0.2537])
}

/// Darcy `f Re` of a concentric annulus, exact, on the hydraulic diameter (outer less inner).
///
/// `f Re = 64 (1-k)^2 / [1 + k^2 + (1-k^2)/ln k]`, `k` inner over outer diameter; written with
/// `s = -ln k` as `128 sinh^2(s/2) / (cosh s - sinh(s)/s)`, and as a series near `k = 1`.
///
/// Range: `k` in 0..1, clamped: 0 gives the round bore's 64, 1 the slot's 96. Source: exact
/// solution, standard.
pub fn annulus_laminar_constant(radius_ratio: f64) -> f64 {
    let k = radius_ratio.clamp(0.0, 1.0);
    if k <= 0.0 {
        return ROUND_LAMINAR_CONSTANT;
    }
    let s = -k.ln();
    if s < 0.02 {
        let q = s * s;
        return SLOT_LAMINAR_CONSTANT * (1.0 + q / 12.0 + q * q / 360.0)
            / (1.0 + q / 10.0 + q * q / 280.0);
    }
    64.0 * (1.0 - k) * (1.0 - k) / (1.0 + k * k - (1.0 - k * k) / s)
}

/// Darcy `f Re` of a flat tube, a rectangle with half-circle ends.
///
/// `f Re = 96 (1 + c1 a + ... + c7 a^7)`, `a` height over overall width; exact at both ends (64 round,
/// 96 slot).
///
/// Range: `a` in 0..1, clamped; within 2e-5 of a numerical solution of Poisson's equation from
/// a = 0.05 to 1. Source: boundary-fitted solution made for this project,
/// `tests/reference/scripts/friction.py`; no published table was at hand.
pub fn flat_tube_laminar_constant(aspect: f64) -> f64 {
    SLOT_LAMINAR_CONSTANT * polynomial(aspect.clamp(0.0, 1.0), &FLAT_TUBE)
}

/// Least-squares fit of `tests/reference/data/derived_flat_tube_laminar.csv`; they sum to 2/3.
const FLAT_TUBE: [f64; 8] = [
    1.0,
    -0.996_625_1,
    1.098_335_2,
    -0.995_988_6,
    1.731_579_8,
    -2.241_295_9,
    1.426_831_1,
    -0.356_169_833_333_333_3,
];

fn polynomial(x: f64, coefficients: &[f64]) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_flat_tube_as_high_as_wide_is_a_round_bore() {
        let flat = SectionShape::FlatTube {
            width_m: 0.01,
            height_m: 0.01,
        };
        let round = SectionShape::Round { bore_m: 0.01 };
        assert!((flat.area_m2() / round.area_m2() - 1.0).abs() < 1e-14);
        assert!((flat.hydraulic_diameter_m() / 0.01 - 1.0).abs() < 1e-14);
        assert!((flat.laminar_constant() / round.laminar_constant() - 1.0).abs() < 1e-9);
    }

    #[test]
    fn the_sides_may_come_in_either_order() {
        for (a, b) in [(0.026, 0.0015), (0.02, 0.01)] {
            let flat = |width_m, height_m| SectionShape::FlatTube { width_m, height_m };
            let rectangle = |width_m, height_m| SectionShape::Rectangle { width_m, height_m };
            assert_eq!(flat(a, b).area_m2(), flat(b, a).area_m2());
            assert_eq!(flat(a, b).laminar_constant(), flat(b, a).laminar_constant());
            assert_eq!(
                rectangle(a, b).laminar_constant(),
                rectangle(b, a).laminar_constant()
            );
        }
    }

    #[test]
    fn limits_are_the_round_bore_and_the_slot() {
        assert!((rectangle_laminar_constant(1e-9) - 96.0).abs() < 1e-6);
        assert_eq!(rectangle_laminar_constant(0.0), 96.0);
        assert_eq!(annulus_laminar_constant(0.0), 64.0);
        assert!((annulus_laminar_constant(1.0) - 96.0).abs() < 1e-12);
        assert!(annulus_laminar_constant(1e-300) < 64.5);
    }

    #[test]
    fn the_annulus_series_meets_the_closed_form() {
        let k: f64 = (-0.02f64).exp();
        let below = annulus_laminar_constant(k * (1.0 - 1e-9));
        let above = annulus_laminar_constant(k * (1.0 + 1e-9));
        assert!((below / above - 1.0).abs() < 1e-10, "{below} {above}");
    }

    #[test]
    fn an_annulus_has_the_area_of_its_two_circles() {
        let gap = SectionShape::Annulus {
            inner_m: 0.01,
            outer_m: 0.03,
        };
        assert!((gap.area_m2() - PI / 4.0 * 8e-4).abs() < 1e-18);
        assert!((4.0 * gap.area_m2() / gap.wetted_perimeter_m() - 0.02).abs() < 1e-16);
    }
}
