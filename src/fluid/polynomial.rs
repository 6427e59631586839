//! One coolant at one composition: four polynomials in temperature.
//!
//! The common form behind water and every glycol mix, so that evaluation is a few multiplications
//! and one exponential. Coefficients are made in `water` and `glycol`.

use super::property::Properties;

/// Coefficients per property, lowest power first; the fit of water needs all eight.
pub(super) const TERMS: usize = 8;

/// Ice point, K: zero of the polynomials' variable and of enthalpy.
pub(super) const ICE_POINT_K: f64 = 273.15;

/// Kelvin per unit of the polynomials' variable.
const SCALE_K: f64 = 100.0;

/// Integrals of the powers from 0 to 1, so that none is divided by at every evaluation.
const INTEGRALS: [f64; TERMS] = [
    1.0,
    1.0 / 2.0,
    1.0 / 3.0,
    1.0 / 4.0,
    1.0 / 5.0,
    1.0 / 6.0,
    1.0 / 7.0,
    1.0 / 8.0,
];

/// `theta = (T - 273.15 K) / 100 K`, the variable of every polynomial here.
pub(super) fn theta(temperature_k: f64) -> f64 {
    (temperature_k - ICE_POINT_K) / SCALE_K
}

pub(super) fn horner<const N: usize>(coefficients: &[f64; N], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

/// Density, logarithm of viscosity, specific heat and conductivity in powers of `theta`.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct PropertyPolynomials {
    pub(super) density: [f64; TERMS],
    pub(super) ln_viscosity: [f64; TERMS],
    pub(super) specific_heat: [f64; TERMS],
    pub(super) conductivity: [f64; TERMS],
}

impl PropertyPolynomials {
    /// Properties at a temperature; the caller keeps it inside the range.
    pub(super) fn properties(&self, temperature_k: f64) -> Properties {
        let x = theta(temperature_k);
        Properties {
            density_kg_m3: horner(&self.density, x),
            viscosity_pa_s: horner(&self.ln_viscosity, x).exp(),
            specific_heat_j_kg_k: horner(&self.specific_heat, x),
            conductivity_w_m_k: horner(&self.conductivity, x),
        }
    }

    pub(super) fn specific_heat_j_kg_k(&self, temperature_k: f64) -> f64 {
        horner(&self.specific_heat, theta(temperature_k))
    }

    /// Exact integral of the specific heat from the ice point.
    pub(super) fn enthalpy_j_kg(&self, temperature_k: f64) -> f64 {
        let x = theta(temperature_k);
        let terms = self.specific_heat.iter().zip(&INTEGRALS).rev();
        let sum = terms.fold(0.0, |sum, (c, share)| sum * x + c * share);
        sum * x * SCALE_K
    }

    /// Enthalpy with the specific heat: the two of [`Self::enthalpy_j_kg`] and [`Self::specific_heat_j_kg_k`], side by side, so
    /// that neither sum waits for the other.
    pub(super) fn enthalpy_and_specific_heat(&self, temperature_k: f64) -> (f64, f64) {
        let x = theta(temperature_k);
        let terms = self.specific_heat.iter().zip(&INTEGRALS).rev();
        let (sum, specific_heat) = terms.fold((0.0, 0.0), |(sum, own), (c, share)| {
            (sum * x + c * share, own * x + c)
        });
        (sum * x * SCALE_K, specific_heat)
    }

    /// `(1 - weight) self + weight other`, coefficient by coefficient: linear in density, heat
    /// capacity, conductivity and the logarithm of viscosity.
    pub(super) fn blend(&self, other: &Self, weight: f64) -> Self {
        let mix = |a: &[f64; TERMS], b: &[f64; TERMS]| {
            std::array::from_fn(|i| (1.0 - weight) * a[i] + weight * b[i])
        };
        Self {
            density: mix(&self.density, &other.density),
            ln_viscosity: mix(&self.ln_viscosity, &other.ln_viscosity),
            specific_heat: mix(&self.specific_heat, &other.specific_heat),
            conductivity: mix(&self.conductivity, &other.conductivity),
        }
    }
}
