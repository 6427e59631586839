//! Heat transfer inside ducts: Nusselt numbers laminar, turbulent and between.
//!
//! All on the hydraulic diameter with bulk properties; no viscosity-ratio correction. Sources: Shah
//! and London (1978), Hausen (1943), Sieder and Tate (1936), Gnielinski (1976), Dittus and Boelter
//! (1930).

use super::friction::{Sloped, bridge_log_log};

/// What the wall imposes on a laminar stream.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum WallCondition {
    /// Constant wall temperature (T).
    #[default]
    Temperature,
    /// Constant heat per length, wall temperature even around the section (H1).
    HeatFlux,
}

/// The section as the laminar heat-transfer constants see it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DuctSection {
    /// A round bore.
    Round,
    /// A rectangle or, approximately, a flat tube.
    Rectangle {
        /// Short over long side, 0 to 1.
        aspect: f64,
    },
}

/// End of the laminar law of [`duct_nusselt`].
pub const LAMINAR_END_RE: f64 = 2300.0;
/// Start of the turbulent law of [`duct_nusselt`].
pub const TURBULENT_START_RE: f64 = 4000.0;
/// Round bore at constant wall temperature, Shah and London (1978), rounded.
const ROUND_NU_T: f64 = 3.66;
/// Round bore at constant heat flux, exact.
const ROUND_NU_H: f64 = 48.0 / 11.0;
/// A duct shorter than its diameter counts as one diameter long.
const SMALLEST_LENGTH_RATIO: f64 = 1.0;

/// Nusselt number of developed laminar flow.
///
/// Round: 3.66 (T), 48/11 (H1). Rectangle, `a` short over long side:
/// `Nu_T = 7.541 (1 - 2.610a + 4.970a^2 - 5.119a^3 + 2.702a^4 - 0.548a^5)`,
/// `Nu_H1 = 8.235 (1 - 2.0421a + 3.0853a^2 - 2.4765a^3 + 1.0578a^4 - 0.1861a^5)`.
///
/// Range: `a` 0 to 1, clamped. Source: R. K. Shah and A. L. London, 1978 (from memory; H1 confirmed
/// against ht 1.2.0).
pub fn laminar_nusselt(section: DuctSection, wall: WallCondition) -> f64 {
    match (section, wall) {
        (DuctSection::Round, WallCondition::Temperature) => ROUND_NU_T,
        (DuctSection::Round, WallCondition::HeatFlux) => ROUND_NU_H,
        (DuctSection::Rectangle { aspect }, WallCondition::Temperature) => {
            7.541 * polynomial(aspect, [-0.548, 2.702, -5.119, 4.970, -2.610])
        }
        (DuctSection::Rectangle { aspect }, WallCondition::HeatFlux) => {
            8.235 * polynomial(aspect, [-0.1861, 1.0578, -2.4765, 3.0853, -2.0421])
        }
    }
}

/// `1 + c1 a + ... + c5 a^5`, highest first.
fn polynomial(aspect: f64, coefficients: [f64; 5]) -> f64 {
    let a = aspect.clamp(0.0, 1.0);
    1.0 + a * coefficients.iter().fold(0.0, |sum, c| sum * a + c)
}

/// Hausen's thermal entry in a round duct at constant wall temperature, mean over the length.
///
/// `Nu = 3.66 + 0.0668 Gz / (1 + 0.04 Gz^(2/3))`, `Gz = Re Pr D/L`.
/// Range: laminar; 0.2 to 1.6 % above the exact Graetz solution. Source: H. Hausen, Z. VDI
/// Beih. Verfahrenstechnik 4, 1943.
pub fn hausen(graetz: f64) -> f64 {
    ROUND_NU_T + hausen_excess(graetz).value
}

/// Hausen's excess with its slope in the Graetz number.
fn hausen_excess(graetz: f64) -> Sloped {
    if graetz <= 0.0 {
        return Sloped {
            value: 0.0,
            slope: 0.0668,
        };
    }
    let root = graetz.cbrt();
    let denominator = 1.0 + 0.04 * root * root;
    let value = 0.0668 * graetz / denominator;
    Sloped {
        value,
        slope: (0.0668 - value * 0.04 * 2.0 / (3.0 * root)) / denominator,
    }
}

/// Sieder and Tate's laminar entry, without the viscosity ratio.
///
/// `Nu = 1.86 Gz^(1/3)`. Range: short ducts, result above about 3.66. Source: E. N. Sieder and G. E.
/// Tate, Ind. Eng. Chem. 28, 1936.
pub fn sieder_tate(graetz: f64) -> f64 {
    1.86 * graetz.max(0.0).cbrt()
}

/// Gnielinski's turbulent Nusselt number of a long smooth duct.
///
/// `Nu = (f/8)(Re - 1000) Pr / (1 + 12.7 sqrt(f/8) (Pr^(2/3) - 1))`, `f = (0.79 ln Re - 1.64)^-2`.
/// Range: Re 3000 to 5e6, Pr 0.5 to 2000; below Re 3000 the value there (the formula falls to zero
/// at 1000). Source: V. Gnielinski, Int. Chem. Eng. 16, 1976.
///
/// ```
/// use loopwright::correlation::convection::gnielinski;
/// assert!((gnielinski(1e4, 5.0).value - 69.912472).abs() < 5e-7);
/// ```
pub fn gnielinski(reynolds: f64, prandtl: f64) -> Sloped {
    let re = reynolds.max(3000.0);
    let inverse_root = 0.79 * re.ln() - 1.64;
    let root_eighth = 1.0 / (inverse_root * 8f64.sqrt());
    let d_root = -root_eighth * 0.79 / (re * inverse_root);
    let pr_term = 12.7 * (prandtl.cbrt() * prandtl.cbrt() - 1.0);
    let denominator = 1.0 + pr_term * root_eighth;
    let value = root_eighth * root_eighth * (re - 1000.0) * prandtl / denominator;
    let log_slope =
        2.0 * d_root / root_eighth + 1.0 / (re - 1000.0) - pr_term * d_root / denominator;
    Sloped {
        value,
        slope: if reynolds < re {
            0.0
        } else {
            value * log_slope
        },
    }
}

/// Whether the stream is heated or cooled, for [`dittus_boelter`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum StreamHeat {
    /// The stream gets warmer.
    Heated,
    /// The stream gets colder.
    Cooled,
}

/// Dittus and Boelter's turbulent Nusselt number.
///
/// `Nu = 0.023 Re^0.8 Pr^n`, n 0.4 heated, 0.3 cooled. Range: Re above 1e4, Pr 0.7 to 160; for
/// checks only. Source: F. W. Dittus and L. M. K. Boelter, 1930, in McAdams' form.
pub fn dittus_boelter(reynolds: f64, prandtl: f64, stream: StreamHeat) -> f64 {
    let exponent = match stream {
        StreamHeat::Heated => 0.4,
        StreamHeat::Cooled => 0.3,
    };
    0.023 * reynolds.max(0.0).powf(0.8) * prandtl.powf(exponent)
}

/// Mean Nusselt number of a duct in any regime, with its slope in the Reynolds number.
///
/// Up to Re 2300: the developed constant of the section plus Hausen's entry excess (made for the
/// round bore at constant wall temperature; its use elsewhere is common practice, no source, and
/// too low for constant flux). From Re 4000: Gnielinski times his entry factor
/// `1 + (D/L)^(2/3)`. Between: `ln Nu` is a cubic of `ln Re` that meets value and slope at both ends
/// (common practice, no source). Continuous slope everywhere.
///
/// Units: all dimensionless. Range: any Re from 0, Pr above 0.5; `L/D` below 1 counts as 1. Between
/// Re 2300 and 4000 the true value is uncertain by a factor of two.
///
/// Sources: as the parts. At rest the developed laminar value.
///
/// ```
/// use loopwright::correlation::{DuctSection, WallCondition, duct_nusselt};
/// let nu = duct_nusselt(0.0, 5.0, DuctSection::Round, 100.0, WallCondition::Temperature);
/// assert_eq!(nu.value, 3.66);
/// ```
pub fn duct_nusselt(
    reynolds: f64,
    prandtl: f64,
    section: DuctSection,
    length_over_diameter: f64,
    wall: WallCondition,
) -> Sloped {
    let length_ratio = length_over_diameter.max(SMALLEST_LENGTH_RATIO);
    let laminar = |re: f64| {
        let graetz_per_re = prandtl / length_ratio;
        let excess = hausen_excess(re * graetz_per_re);
        Sloped {
            value: laminar_nusselt(section, wall) + excess.value,
            slope: excess.slope * graetz_per_re,
        }
    };
    let turbulent = |re: f64| {
        let long = gnielinski(re, prandtl);
        let entry = 1.0 + length_ratio.cbrt().powi(-2);
        Sloped {
            value: long.value * entry,
            slope: long.slope * entry,
        }
    };
    let re = reynolds.max(0.0);
    if re <= LAMINAR_END_RE {
        laminar(re)
    } else if re >= TURBULENT_START_RE {
        turbulent(re)
    } else {
        bridge_log_log(
            re,
            (LAMINAR_END_RE, laminar(LAMINAR_END_RE)),
            (TURBULENT_START_RE, turbulent(TURBULENT_START_RE)),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SECTIONS: [DuctSection; 3] = [
        DuctSection::Round,
        DuctSection::Rectangle { aspect: 0.06 },
        DuctSection::Rectangle { aspect: 1.0 },
    ];

    #[test]
    fn value_and_slope_are_continuous_and_agree_with_a_difference() {
        for section in SECTIONS {
            for wall in [WallCondition::Temperature, WallCondition::HeatFlux] {
                for pr in [0.7, 5.0, 30.0, 200.0] {
                    for ratio in [0.3, 10.0, 400.0] {
                        let nu = |re: f64| duct_nusselt(re, pr, section, ratio, wall);
                        for edge in [LAMINAR_END_RE, TURBULENT_START_RE] {
                            let (a, b) = (nu(edge * (1.0 - 1e-12)), nu(edge * (1.0 + 1e-12)));
                            assert!((a.value / b.value - 1.0).abs() < 1e-10);
                            assert!((a.slope - b.slope).abs() < 1e-9 * (a.value / edge));
                        }
                        for re in [1.0, 100.0, 2000.0, 2500.0, 3100.0, 3900.0, 5000.0, 1e6] {
                            let h = re * 1e-5;
                            let difference = (nu(re + h).value - nu(re - h).value) / (2.0 * h);
                            let got = nu(re);
                            assert!(got.value > 0.0);
                            assert!((got.slope - difference).abs() < 1e-7 * got.value / re);
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn no_flow_gives_the_developed_laminar_value() {
        for section in SECTIONS {
            let nu = duct_nusselt(0.0, 5.0, section, 50.0, WallCondition::HeatFlux);
            assert_eq!(nu.value, laminar_nusselt(section, WallCondition::HeatFlux));
            assert!(nu.slope.is_finite());
        }
    }
}
