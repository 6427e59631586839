//! Ethylene and propylene glycol mixed with water, 0 to 60 %.
//!
//! Turns a composition into one set of polynomials in temperature and a freezing point. The numbers
//! are in `glycol_ashrae` and `glycol_melinder`; this file is what they mean.

use std::fmt;

use super::error::FluidError;
use super::polynomial::{PropertyPolynomials, TERMS, horner};
use super::{glycol_ashrae, glycol_melinder, water};

/// Which glycol.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Glycol {
    /// Ethylene glycol (1,2-ethanediol); poisonous.
    Ethylene,
    /// Propylene glycol (1,2-propanediol).
    Propylene,
}

impl Glycol {
    /// Density of the pure liquid at 20 degC, kg/m3. Handbook values, as used to convert between
    /// the two bases; no single source recorded.
    pub fn density_at_20_c_kg_m3(self) -> f64 {
        match self {
            Self::Ethylene => 1113.0,
            Self::Propylene => 1036.0,
        }
    }

    /// Molar mass, g/mol. C2H6O2 and C3H8O2 from standard atomic weights.
    fn molar_mass_g_mol(self) -> f64 {
        match self {
            Self::Ethylene => 62.068,
            Self::Propylene => 76.095,
        }
    }
}

impl fmt::Display for Glycol {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Ethylene => "ethylene glycol",
            Self::Propylene => "propylene glycol",
        })
    }
}

/// Share of glycol in the mix, 0 to 1, with its basis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fraction {
    /// Volume of pure glycol at 20 degC over the sum of both volumes before mixing.
    Volume(f64),
    /// Mass of glycol over mass of mix.
    Mass(f64),
}

/// Density of water at 20 degC, kg/m3.
const WATER_AT_20_C_KG_M3: f64 = 998.2;

/// Molar mass of water, g/mol.
const WATER_MOLAR_MASS_G_MOL: f64 = 18.015;

impl Fraction {
    /// The bare number.
    pub fn value(self) -> f64 {
        match self {
            Self::Volume(x) | Self::Mass(x) => x,
        }
    }

    /// The same mix by mass, by ideal mixing of the pure liquids at 20 degC.
    ///
    /// `w = x rho_g / (x rho_g + (1 - x) rho_w)`, with 1113 (ethylene), 1036 (propylene) and
    /// 998.2 kg/m3 (water). Dimensionless, for 0..1. Derived; volumes are those before mixing, so
    /// the shrinking of real mixes does not enter.
    ///
    /// ```
    /// use loopwright::fluid::{Fraction, Glycol};
    ///
    /// let mass = Fraction::Volume(0.5).by_mass(Glycol::Ethylene);
    /// assert!((mass - 0.5272).abs() < 5e-5);
    /// ```
    pub fn by_mass(self, glycol: Glycol) -> f64 {
        match self {
            Self::Mass(w) => w,
            Self::Volume(x) => {
                let part = x * glycol.density_at_20_c_kg_m3();
                part / (part + (1.0 - x) * WATER_AT_20_C_KG_M3)
            }
        }
    }

    /// The same mix by volume: the inverse of [`Fraction::by_mass`].
    pub fn by_volume(self, glycol: Glycol) -> f64 {
        match self {
            Self::Volume(x) => x,
            Self::Mass(w) => {
                let part = w / glycol.density_at_20_c_kg_m3();
                part / (part + (1.0 - w) / WATER_AT_20_C_KG_M3)
            }
        }
    }
}

impl fmt::Display for Fraction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (x, basis) = match self {
            Self::Volume(x) => (x, "volume"),
            Self::Mass(x) => (x, "mass"),
        };
        let percent = format!("{:.1}", x * 100.0);
        let percent = percent.strip_suffix(".0").unwrap_or(&percent);
        write!(f, "{percent} % by {basis}")
    }
}

/// Whose data the mix follows; the two differ by up to 12 % in viscosity.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum GlycolSource {
    /// ASHRAE Handbook Fundamentals data, native to volume fractions.
    #[default]
    Ashrae,
    /// Melinder (2010), native to mass fractions.
    Melinder,
}

/// Freezing point as a polynomial in `fraction - 0.35`.
pub(super) enum FreezingFit {
    /// Of the temperature, K.
    Temperature([f64; 6]),
    /// Of the logarithm of the temperature in K.
    LogTemperature([f64; 6]),
}

/// Polynomials in `theta = (T - 273.15 K) / 100 K` (outer index) and `fraction - 0.35` (inner).
pub(super) struct GlycolFit {
    pub(super) density: [[f64; 6]; 4],
    pub(super) ln_viscosity: [[f64; 6]; 4],
    pub(super) specific_heat: [[f64; 6]; 4],
    pub(super) conductivity: [[f64; 6]; 4],
    pub(super) freezing: FreezingFit,
}

/// Zero of the fraction variable.
const FRACTION_BASE: f64 = 0.35;

/// Lowest fraction the published fits are read at; below it the mix is blended with water.
const LOWEST_FRACTION: f64 = 0.10;

/// Highest fraction of the published fits, on their native basis.
const HIGHEST_FRACTION: f64 = 0.60;

/// One composition, ready to evaluate.
#[derive(Debug)]
pub(super) struct Mix {
    pub(super) polynomials: PropertyPolynomials,
    pub(super) freezing_k: f64,
    /// Mole fraction of water, the Raoult factor of its vapour pressure.
    pub(super) water_mole_fraction: f64,
}

fn at_fraction(rows: &[[f64; 6]; 4], x: f64) -> [f64; TERMS] {
    let mut collapsed = [0.0; TERMS];
    for (to, row) in collapsed.iter_mut().zip(rows) {
        *to = horner(row, x - FRACTION_BASE);
    }
    collapsed
}

impl GlycolFit {
    fn polynomials(&self, x: f64) -> PropertyPolynomials {
        PropertyPolynomials {
            density: at_fraction(&self.density, x),
            ln_viscosity: at_fraction(&self.ln_viscosity, x),
            specific_heat: at_fraction(&self.specific_heat, x),
            conductivity: at_fraction(&self.conductivity, x),
        }
    }

    fn freezing_k(&self, x: f64) -> f64 {
        match &self.freezing {
            FreezingFit::Temperature(c) => horner(c, x - FRACTION_BASE),
            FreezingFit::LogTemperature(c) => horner(c, x - FRACTION_BASE).exp(),
        }
    }
}

/// Collapses the published fit to one composition.
///
/// Between 10 and 60 % (volume for ASHRAE, mass for Melinder): the published polynomials. Below
/// 10 %: linear in the fraction between water and the 10 % mix, for density, the logarithm of
/// viscosity, heat capacity, conductivity and freezing point, so that 0 % is water exactly. The
/// bridge is ours, no source; against Melinder's own fit, which goes on to 0 %, it is within 1.7 % in
/// viscosity, 0.7 % in conductivity, 0.2 % in heat capacity, 0.1 % in density and 0.25 K in freezing
/// point (compared at 2.5, 5 and 7.5 %).
///
/// Source: Bell, Wronski, Quoilin and Lemort (2014), Ind. Eng. Chem. Res. 53:2498 (CoolProp), fits
/// to ASHRAE Handbook Fundamentals and to Melinder (2010), Properties of Secondary Working Fluids
/// for Indirect Systems.
///
/// # Errors
///
/// [`FluidError::Fraction`] outside 0 to 60 % on the source's native basis, or not a number.
pub(super) fn mix(
    glycol: Glycol,
    fraction: Fraction,
    source: GlycolSource,
) -> Result<Mix, FluidError> {
    let (fit, x, native_limit) = match source {
        GlycolSource::Ashrae => (
            match glycol {
                Glycol::Ethylene => &glycol_ashrae::ETHYLENE,
                Glycol::Propylene => &glycol_ashrae::PROPYLENE,
            },
            fraction.by_volume(glycol),
            Fraction::Volume(HIGHEST_FRACTION),
        ),
        GlycolSource::Melinder => (
            match glycol {
                Glycol::Ethylene => &glycol_melinder::ETHYLENE,
                Glycol::Propylene => &glycol_melinder::PROPYLENE,
            },
            fraction.by_mass(glycol),
            Fraction::Mass(HIGHEST_FRACTION),
        ),
    };
    // One part in 1e12 forgives the round-off of a converted limit.
    if !(fraction.value() >= 0.0 && x <= HIGHEST_FRACTION * (1.0 + 1e-12)) {
        return Err(FluidError::Fraction {
            mix: format!("{glycol} and water"),
            given: fraction,
            limit: match fraction {
                Fraction::Volume(_) => Fraction::Volume(native_limit.by_volume(glycol)),
                Fraction::Mass(_) => Fraction::Mass(native_limit.by_mass(glycol)),
            },
        });
    }
    let weight = (x / LOWEST_FRACTION).min(1.0);
    let read_at = x.max(LOWEST_FRACTION);
    let polynomials = water::POLYNOMIALS.blend(&fit.polynomials(read_at), weight);
    let freezing_k = (1.0 - weight) * water::FREEZING_K + weight * fit.freezing_k(read_at);
    let w = fraction.by_mass(glycol);
    let water_moles = (1.0 - w) / WATER_MOLAR_MASS_G_MOL;
    let glycol_moles = w / glycol.molar_mass_g_mol();
    Ok(Mix {
        polynomials,
        freezing_k,
        water_mole_fraction: water_moles / (water_moles + glycol_moles),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    // Ideal mixing table of the validation set, printed to four digits.
    #[test]
    fn volume_converts_to_mass_as_tabulated_and_back() {
        for (glycol, table) in [
            (Glycol::Ethylene, [21.80, 32.33, 42.64, 52.72, 62.58]),
            (Glycol::Propylene, [20.60, 30.79, 40.90, 50.93, 60.89]),
        ] {
            for (i, percent) in table.iter().enumerate() {
                let x = 0.2 + 0.1 * i as f64;
                let w = Fraction::Volume(x).by_mass(glycol);
                assert!((w * 100.0 - percent).abs() < 0.005, "{glycol} {x}");
                let back = Fraction::Mass(w).by_volume(glycol);
                assert!((back - x).abs() < 1e-15, "{glycol} {x}");
            }
        }
    }

    #[test]
    fn a_mix_is_continuous_where_the_bridge_to_water_begins() {
        for source in [GlycolSource::Ashrae, GlycolSource::Melinder] {
            for glycol in [Glycol::Ethylene, Glycol::Propylene] {
                let at = |x| {
                    let fraction = match source {
                        GlycolSource::Ashrae => Fraction::Volume(x),
                        GlycolSource::Melinder => Fraction::Mass(x),
                    };
                    mix(glycol, fraction, source).expect("accepted")
                };
                let (below, above) = (at(0.1 - 1e-12), at(0.1 + 1e-12));
                let (a, b) = (
                    below.polynomials.properties(300.0),
                    above.polynomials.properties(300.0),
                );
                assert!((a.viscosity_pa_s / b.viscosity_pa_s - 1.0).abs() < 1e-10);
                assert!((a.density_kg_m3 / b.density_kg_m3 - 1.0).abs() < 1e-10);
                assert!((below.freezing_k - above.freezing_k).abs() < 1e-8);
                assert_eq!(at(0.0).polynomials, water::POLYNOMIALS);
                assert_eq!(at(0.0).freezing_k, water::FREEZING_K);
            }
        }
    }

    #[test]
    fn a_fraction_outside_the_data_is_refused_on_the_basis_it_was_given() {
        let error = mix(
            Glycol::Ethylene,
            Fraction::Volume(0.6),
            GlycolSource::Melinder,
        )
        .expect_err("refused");
        assert_eq!(
            error.to_string(),
            "cannot mix ethylene glycol and water because the fraction is outside the published data: \
             got 60 % by volume, limits 0 and 57.4 % by volume; try a fraction between them"
        );
        for bad in [-0.01, 0.63, f64::NAN, f64::INFINITY] {
            for fraction in [Fraction::Volume(bad), Fraction::Mass(bad)] {
                let refused = mix(Glycol::Propylene, fraction, GlycolSource::Ashrae);
                assert!(refused.is_err(), "{fraction}");
            }
        }
    }
}
