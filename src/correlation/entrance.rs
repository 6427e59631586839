//! The extra pressure drop of a developing velocity profile behind the inlet of a short duct.
//!
//! Not the loss of the inlet edge itself (that is a fitting). Source: Shah and London (1978) and
//! Shah (1978), apparent friction factor in laminar ducts, with Hagenbach's factor as its limit.

use super::friction::Sloped;

/// Whether a duct pays for the developing flow behind its inlet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum EntranceFriction {
    /// The laminar entrance excess is added and faded out beyond transition.
    #[default]
    On,
    /// Developed friction from the inlet on.
    Off,
}

/// Reynolds number about which the laminar excess fades, common practice, no source.
pub(super) const FADE_RE: f64 = 3000.0;
/// Shah's leading coefficient: the apparent Fanning `f Re` is `3.44 / sqrt(x+)` near the inlet.
pub(super) const INLET_COEFFICIENT: f64 = 3.44;

/// One section of the table: `(Darcy laminar constant, Hagenbach factor K, shape constant C)`.
///
/// Shah and London, Laminar Flow Forced Convection in Ducts, 1978, rectangles of aspect 1, 1/2,
/// the round duct, aspect 1/5 and parallel plates; from memory. The annuli of the same tables
/// (inner over outer 0.05 and 0.1) fall within 4 % of the line between their neighbours, so the laminar
/// constant alone is taken to name the section.
const SECTIONS: [(f64, f64, f64); 5] = [
    (56.908, 1.43, 2.9e-4),
    (62.192, 1.28, 2.1e-4),
    (64.0, 1.25, 2.1e-4),
    (76.28, 0.931, 7.6e-5),
    (96.0, 0.674, 2.9e-5),
];

/// The entrance excess as a loss coefficient on the duct's own velocity head, with its slope in Re.
///
/// Laminar, with `y = Re D/L = 1/x+`: `K = [K_inf + C y (4 * 3.44 sqrt(y) - lam)] / (1 + C y^2)`,
/// which is `(f_app Re - f Re) L/(D Re)` of Shah's form. It tends to Hagenbach's `K_inf` in long
/// ducts and to `13.76 sqrt(x+)` in very short ones. Beyond transition it is multiplied by
/// `w = [1 + (Re/3000)^8]^(-1/8)`: 1 within 0.5 % up to Re 2000, `3000/Re` far above, so the excess
/// dies out while the total drop keeps rising with flow.
///
/// Units: dimensionless; `laminar_constant` is the Darcy `f Re`, clamped to the table (56.9 to 96).
/// Range: laminar, `L/D` from 0.3; 2 % of the source's apparent friction (from memory); beyond Re
/// 3000 it is a fade, not a correlation.
///
/// Source: R. K. Shah, "A correlation for laminar hydrodynamic entry length solutions for circular
/// and noncircular ducts", J. Fluids Eng. 100, 1978; R. K. Shah and A. L. London, 1978; both from
/// memory. The fade is common practice, no source.
///
/// ```
/// use loopwright::correlation::entrance::excess_loss;
/// // A long round duct pays Hagenbach's 1.25 velocity heads.
/// assert!((excess_loss(500.0, 2000.0, 64.0).value - 1.25).abs() < 0.005);
/// ```
pub fn excess_loss(reynolds: f64, length_over_diameter: f64, laminar_constant: f64) -> Sloped {
    let (hagenbach, c) = section_constants(laminar_constant);
    let y_per_re = 1.0 / length_over_diameter;
    let y = reynolds * y_per_re;
    let root = y.sqrt();
    let inlet = 4.0 * INLET_COEFFICIENT;
    let numerator = hagenbach + c * y * (inlet * root - laminar_constant);
    let d_numerator = c * (1.5 * inlet * root - laminar_constant);
    let denominator = 1.0 + c * y * y;
    let k = numerator / denominator;
    let k_slope = (d_numerator - k * 2.0 * c * y) / denominator * y_per_re;
    let fade = fade(reynolds);
    Sloped {
        value: k * fade.value,
        slope: k_slope * fade.value + k * fade.slope,
    }
}

fn fade(reynolds: f64) -> Sloped {
    let ratio = reynolds / FADE_RE;
    if ratio < 1.0 {
        let power = ratio.powi(8);
        let value = 1.0 / eighth_root(1.0 + power);
        let slope = -value * ratio.powi(7) / (FADE_RE * (1.0 + power));
        return Sloped { value, slope };
    }
    let power = ratio.recip().powi(8);
    let value = 1.0 / (ratio * eighth_root(1.0 + power));
    Sloped {
        value,
        slope: -value / (reynolds * (1.0 + power)),
    }
}

fn eighth_root(x: f64) -> f64 {
    x.sqrt().sqrt().sqrt()
}

pub(super) fn section_constants(laminar_constant: f64) -> (f64, f64) {
    let (first, last) = (SECTIONS[0], SECTIONS[SECTIONS.len() - 1]);
    if laminar_constant <= first.0 {
        return (first.1, first.2);
    }
    for pair in SECTIONS.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        if laminar_constant <= b.0 {
            let t = (laminar_constant - a.0) / (b.0 - a.0);
            return (a.1 + t * (b.1 - a.1), a.2 + t * (b.2 - a.2));
        }
    }
    (last.1, last.2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_shahs_apparent_friction_less_the_developed_one() {
        for x in [1e-3, 0.01, 0.05, 0.2f64] {
            let (re, lam) = (400.0, 64.0);
            let apparent = 3.44 / x.sqrt()
                + (1.25 / (4.0 * x) + 16.0 - 3.44 / x.sqrt()) / (1.0 + 0.00021 / (x * x));
            let expected = (4.0 * apparent - lam) * x;
            let got = excess_loss(re, x * re, lam).value / fade(re).value;
            assert!((got - expected).abs() < 1e-12, "{x}: {got} {expected}");
        }
    }

    #[test]
    fn the_slope_agrees_with_a_central_difference() {
        for ratio in [0.3, 3.0, 30.0, 2000.0] {
            for lam in [50.0, 60.0, 64.0, 80.0, 96.0, 120.0] {
                for re in [0.1, 10.0, 500.0, 2500.0, 3300.0, 1e4, 1e7] {
                    let h = re * 1e-5;
                    let difference = (excess_loss(re + h, ratio, lam).value
                        - excess_loss(re - h, ratio, lam).value)
                        / (2.0 * h);
                    let k = excess_loss(re, ratio, lam);
                    assert!(
                        (k.slope - difference).abs() < 1e-8 * k.value / re + 1e-7 * k.slope.abs()
                    );
                    assert!(k.value > 0.0);
                }
            }
        }
    }

    #[test]
    fn annuli_fall_on_the_line_between_their_neighbours() {
        // Shah and London (1978), annuli of radius ratio 0.05 and 0.1; from memory.
        for (lam, hagenbach) in [(86.27, 0.830), (89.37, 0.784)] {
            assert!((section_constants(lam).0 / hagenbach - 1.0).abs() < 0.04);
        }
    }
}
