//! A stated multiplier on a law of a smooth tube that sets in at a Reynolds number: dimpled and turbulated tubes.
//!
//! No published correlation for dimples is used: what they do depends on their depth and pitch, which nobody states
//! for a salvaged radiator. The factors are the user's.

use super::friction::Sloped;

/// Share of the stated Reynolds number below which dimples do nothing (our choice).
pub const DIMPLES_FROM: f64 = 0.5;

/// What a stated enhancement multiplies by, with its slope in the Reynolds number.
///
/// `1 + (F - 1) s`, `s = t^2 (3 - 2 t)`, `t = ln(2 Re/Re0)/ln 2` from 0 to 1: none up to half the stated Reynolds
/// number, all from it on, value and slope continuous.
///
/// Units: dimensionless. Range: any Re; `F` at least 1. Source: the factor is the user's, the blend is ours.
///
/// ```
/// use loopwright::correlation::dimples::enhancement;
/// assert_eq!(enhancement(500.0, 1.8, 1000.0).value, 1.0);
/// assert_eq!(enhancement(1000.0, 1.8, 1000.0).value, 1.8);
/// ```
pub fn enhancement(reynolds: f64, factor: f64, above_reynolds: f64) -> Sloped {
    let from = DIMPLES_FROM * above_reynolds;
    if reynolds.is_nan() || reynolds <= from {
        return Sloped {
            value: 1.0,
            slope: 0.0,
        };
    }
    if reynolds >= above_reynolds {
        return Sloped {
            value: factor,
            slope: 0.0,
        };
    }
    let span = -DIMPLES_FROM.ln();
    let t = (reynolds / from).ln() / span;
    Sloped {
        value: 1.0 + (factor - 1.0) * t * t * (3.0 - 2.0 * t),
        slope: (factor - 1.0) * 6.0 * t * (1.0 - t) / (span * reynolds),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_blend_is_smooth() {
        let at = |re: f64| enhancement(re, 2.5, 1200.0);
        for re in [550.0, 600.0, 601.0, 800.0, 1199.0, 1200.0, 3000.0] {
            let h = 1e-3;
            let difference = (at(re + h).value - at(re - h).value) / (2.0 * h);
            assert!((at(re).slope - difference).abs() < 1e-7, "{re}");
        }
        assert_eq!(at(f64::NAN).value, 1.0);
    }
}
