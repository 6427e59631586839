//! Liquid water: properties at 300 kPa and the saturation line.
//!
//! Properties are a fit of our own to the IAPWS formulations, made by
//! `tests/reference/scripts/coolants.py`; saturation is the equation of IAPWS-IF97 itself.

use super::polynomial::PropertyPolynomials;
use super::property::held;

/// Freezing point of water, K.
pub(super) const FREEZING_K: f64 = 273.15;

/// Liquid water at 300 kPa, degree 7 in `(T - 273.15 K) / 100 K`.
///
/// Range 0..120 degC. Largest misfit to the formulations there: density 1e-6, viscosity 3e-5,
/// specific heat 1.2e-5, conductivity 8e-6 (relative); tests prove 2e-6, 5e-5, 2e-5, 2e-5 up to
/// 110 degC. From 100 to 400 kPa the formulations themselves move by 0.015 % in density
/// and under 0.05 % in the rest.
///
/// Source: least-squares fit to values computed with CoolProp 8.0.0 from Wagner and Pruss (2002,
/// J. Phys. Chem. Ref. Data 31:387; IAPWS-95), Huber et al. (2009, JPCRD 38:101; IAPWS R12-08) and
/// Huber et al. (2012, JPCRD 41:033102; IAPWS R15-11).
pub(super) const POLYNOMIALS: PropertyPolynomials = PropertyPolynomials {
    density: [
        999.94503659789,
        6.5931290018652,
        -88.702249902189,
        88.713481046933,
        -91.306567939957,
        66.596935776676,
        -28.783949142593,
        5.3870174951138,
    ],
    ln_viscosity: [
        -6.3248398186208,
        -3.4792838148875,
        3.5626801947768,
        -4.2752868618588,
        4.42585056014,
        -3.1762913789453,
        1.3373755394474,
        -0.24512064455951,
    ],
    specific_heat: [
        4218.4081070574,
        -336.63017142348,
        1168.6739799127,
        -2315.224830859,
        2994.0917810385,
        -2370.6913458775,
        1058.5157368737,
        -201.95056878693,
    ],
    conductivity: [
        0.5558051915471,
        0.25542954386172,
        -0.27601055490163,
        0.36042226427932,
        -0.43902027485314,
        0.34359863785951,
        -0.15132109993136,
        0.028422336567396,
    ],
};

/// Coefficients n1..n10 of the saturation equation.
///
/// Source: IAPWS-IF97 (R7-97), region 4, table 34; typed from memory, then confirmed against the
/// printed check values and the 2002 formulation in the tests.
const N: [f64; 10] = [
    0.116_705_214_527_67e4,
    -0.724_213_167_032_06e6,
    -0.170_738_469_400_92e2,
    0.120_208_247_024_70e5,
    -0.323_255_503_223_33e7,
    0.149_151_086_135_30e2,
    -0.482_326_573_615_91e4,
    0.405_113_405_420_57e6,
    -0.238_555_575_678_49,
    0.650_175_348_447_98e3,
];

/// Lowest temperature of the saturation line here, K: below the coldest coolant.
const LOWEST_K: f64 = 233.15;

/// Critical temperature of water, K. Source: IAPWS-IF97.
const CRITICAL_K: f64 = 647.096;

/// Unit of pressure in IF97, Pa.
const MEGAPASCAL_PA: f64 = 1e6;

/// Saturation pressure of water.
///
/// `p = [2C / (-B + sqrt(B^2 - 4AC))]^4`, MPa, with A, B, C quadratic in
/// `v = T + n9 / (T - n10)`. Range 273.15..647.096 K; continued down to 233.15 K by the same
/// equation (within 0.3 % of Murphy and Koop, 2005, for supercooled water) and held at the ends.
///
/// Source: IAPWS-IF97 (R7-97), region 4, eq. 30.
pub(super) fn saturation_pressure_pa(temperature_k: f64) -> f64 {
    let t = held(temperature_k, LOWEST_K, CRITICAL_K);
    let v = t + N[8] / (t - N[9]);
    let a = v * v + N[0] * v + N[1];
    let b = N[2] * v * v + N[3] * v + N[4];
    let c = N[5] * v * v + N[6] * v + N[7];
    let root = 2.0 * c / (-b + (b * b - 4.0 * a * c).sqrt());
    root.powi(4) * MEGAPASCAL_PA
}

/// Saturation temperature of water: the exact inverse of [`saturation_pressure_pa`].
///
/// Units Pa, K. Held at the same ends.
///
/// Source: IAPWS-IF97 (R7-97), region 4, eq. 31.
pub(super) fn saturation_temperature_k(pressure_pa: f64) -> f64 {
    let lowest = saturation_pressure_pa(LOWEST_K);
    let highest = saturation_pressure_pa(CRITICAL_K);
    let beta = (held(pressure_pa, lowest, highest) / MEGAPASCAL_PA).powf(0.25);
    let e = beta * beta + N[2] * beta + N[5];
    let f = N[0] * beta * beta + N[3] * beta + N[6];
    let g = N[1] * beta * beta + N[4] * beta + N[7];
    let d = 2.0 * g / (-f - (f * f - 4.0 * e * g).sqrt());
    let sum = N[9] + d;
    0.5 * (sum - (sum * sum - 4.0 * (N[8] + N[9] * d)).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    // IAPWS-IF97 tables 35 and 36 (check values, from memory, confirmed by CoolProp's IF97).
    #[test]
    fn saturation_line_reproduces_the_printed_check_values() {
        for (t, p) in [
            (300.0, 0.353_658_941e4),
            (500.0, 0.263_889_776e7),
            (600.0, 0.123_443_146e8),
        ] {
            assert!((saturation_pressure_pa(t) / p - 1.0).abs() < 2e-9, "{t}");
        }
        for (p, t) in [(1e5, 372.755_919), (1e6, 453.035_632), (1e7, 584.149_488)] {
            assert!((saturation_temperature_k(p) / t - 1.0).abs() < 2e-9, "{p}");
        }
    }

    #[test]
    fn saturation_temperature_undoes_saturation_pressure_over_the_whole_line() {
        for i in 0..=410 {
            let t = 234.0 + f64::from(i);
            let back = saturation_temperature_k(saturation_pressure_pa(t));
            assert!((back - t).abs() < 1e-6, "{t} {back}");
        }
    }

    // Murphy and Koop (2005), Q. J. R. Meteorol. Soc. 131:1539, eq. 10 (from memory): vapour
    // pressure of supercooled water.
    #[test]
    fn saturation_line_continues_plausibly_below_the_ice_point() {
        for t in [233.15_f64, 243.15, 253.15, 263.15, 273.15] {
            let ln_p = 54.842763 - 6763.22 / t - 4.21 * t.ln()
                + 0.000367 * t
                + (0.0415 * (t - 218.8)).tanh()
                    * (53.878 - 1331.22 / t - 9.44523 * t.ln() + 0.014025 * t);
            let ratio = saturation_pressure_pa(t) / ln_p.exp();
            assert!((ratio - 1.0).abs() < 0.003, "{t} {ratio}");
        }
    }

    #[test]
    fn saturation_line_never_fails_outside_its_ends() {
        for t in [f64::NAN, f64::NEG_INFINITY, f64::INFINITY, 0.0, 1e9] {
            assert!(saturation_pressure_pa(t) > 0.0, "{t}");
            assert!(saturation_temperature_k(t) > 200.0, "{t}");
        }
    }
}
