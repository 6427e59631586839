//! A coolant: properties, enthalpy, freezing and boiling by temperature.
//!
//! One front for water, glycol mixes and user tables. It knows no pressure but that of the vapour:
//! liquid properties depend on temperature alone.

use std::sync::Arc;

use super::error::FluidError;
use super::glycol::{self, Fraction, Glycol, GlycolSource};
use super::polynomial::{ICE_POINT_K, PropertyPolynomials};
use super::property::{Properties, held};
use super::table::{BoilingPoint, PropertyTable, TableRow};
use super::water;

/// Lowest temperature of the glycol data, K (-35 degC).
const LOWEST_GLYCOL_K: f64 = 238.15;

/// Highest temperature of water and glycol mixes, K (110 degC).
const HIGHEST_K: f64 = 383.15;

/// Above this temperature, K (100 degC), glycol properties other than density are extrapolated.
const GLYCOL_DATA_END_K: f64 = 373.15;

/// Boiling points a table's vapour pressure may be scaled from, K: inside water's line.
const TABLE_BOILING_K: std::ops::RangeInclusive<f64> = 273.15..=643.15;

/// Newton steps allowed for the inverse of enthalpy; three or four suffice.
const INVERSE_STEPS: usize = 60;
/// Steps of Newton from a temperature that is near, before the search in a bracket.
const NEAR_STEPS: usize = 4;
/// A step of Newton after which nothing is left, K: heat capacity changes by less than a hundredth a kelvin.
const NEAR_K: f64 = 1.0e-6;

#[derive(Clone, Debug, PartialEq)]
enum Law {
    Polynomials(Arc<PropertyPolynomials>),
    Table(Arc<PropertyTable>),
}

impl Law {
    fn properties(&self, temperature_k: f64) -> Properties {
        match self {
            Self::Polynomials(law) => law.properties(temperature_k),
            Self::Table(law) => law.properties(temperature_k),
        }
    }

    fn specific_heat_j_kg_k(&self, temperature_k: f64) -> f64 {
        match self {
            Self::Polynomials(law) => law.specific_heat_j_kg_k(temperature_k),
            Self::Table(law) => law.specific_heat_j_kg_k(temperature_k),
        }
    }

    /// Enthalpy above the law's own datum, J/kg, and specific heat.
    fn enthalpy_and_specific_heat(&self, temperature_k: f64) -> (f64, f64) {
        match self {
            Self::Polynomials(law) => law.enthalpy_and_specific_heat(temperature_k),
            Self::Table(law) => law.enthalpy_and_specific_heat(temperature_k),
        }
    }

    fn enthalpy_j_kg(&self, temperature_k: f64) -> f64 {
        match self {
            Self::Polynomials(law) => law.enthalpy_j_kg(temperature_k),
            Self::Table(law) => law.enthalpy_j_kg(temperature_k),
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Composition {
    Water,
    Mix {
        glycol: Glycol,
        fraction: Fraction,
        source: GlycolSource,
    },
    Table {
        rows: usize,
    },
}

/// One end of the liquid range, beyond which properties are held.
#[derive(Clone, Copy, Debug, PartialEq)]
struct End {
    temperature_k: f64,
    enthalpy_j_kg: f64,
    specific_heat_j_kg_k: f64,
}

impl End {
    fn enthalpy_j_kg(self, temperature_k: f64) -> f64 {
        self.enthalpy_j_kg + self.specific_heat_j_kg_k * (temperature_k - self.temperature_k)
    }

    fn temperature_k(self, enthalpy_j_kg: f64) -> f64 {
        self.temperature_k + (enthalpy_j_kg - self.enthalpy_j_kg) / self.specific_heat_j_kg_k
    }
}

/// A liquid coolant of one composition.
///
/// Cheap to clone (the data are shared) and evaluated without allocation. Its properties are
/// positive, finite and continuous at every temperature the solver may try; only
/// [`Coolant::properties`] refuses one outside the range.
///
/// How sure: two published sources of glycol data differ at the same composition by up to 12 % in
/// viscosity, 4 % in conductivity and 2 % in heat capacity. Water is sure to about 1 % in viscosity
/// and better in the rest (from memory).
///
/// Measured agreement (`tests/reference/coolants.rs`): glycol against the published fits, 10..60 %
/// and -34..100 degC, relative 1e-9 (the coefficients are theirs); water against the IAPWS
/// formulations, 0..110 degC, density 1e-6, viscosity 3e-5, heat capacity 1.2e-5, conductivity 8e-6;
/// ethylene glycol against ASHRAE's printed densities, 0.13 % up to 93 degC and 0.12 % at
/// 110 degC; freezing points against the printed ones, 0.91 K.
#[derive(Clone, Debug, PartialEq)]
pub struct Coolant {
    law: Law,
    composition: Composition,
    lowest: End,
    highest: End,
    /// The law's own enthalpy at the ice point, J/kg.
    datum_j_kg: f64,
    freezing_k: Option<f64>,
    /// Vapour pressure over that of pure water.
    vapour_share: f64,
}

impl Coolant {
    fn new(
        law: Law,
        composition: Composition,
        range_k: (f64, f64),
        freezing_k: Option<f64>,
        vapour_share: f64,
    ) -> Self {
        let end = |temperature_k| End {
            temperature_k,
            enthalpy_j_kg: law.enthalpy_j_kg(temperature_k),
            specific_heat_j_kg_k: law.specific_heat_j_kg_k(temperature_k),
        };
        let (lowest, highest) = (end(range_k.0), end(range_k.1));
        let mut coolant = Self {
            law,
            composition,
            lowest,
            highest,
            datum_j_kg: 0.0,
            freezing_k,
            vapour_share,
        };
        coolant.datum_j_kg = coolant.enthalpy_j_kg(ICE_POINT_K);
        coolant.lowest.enthalpy_j_kg -= coolant.datum_j_kg;
        coolant.highest.enthalpy_j_kg -= coolant.datum_j_kg;
        coolant
    }

    /// Water without additives, 0 to 110 degC.
    ///
    /// Polynomials of degree 7 in temperature, fitted to the IAPWS formulations at 300 kPa (Wagner
    /// and Pruss, 2002; IAPWS R12-08; IAPWS R15-11). Above 100 degC it is liquid only under pressure:
    /// see [`Coolant::boiling_k`].
    ///
    /// ```
    /// use loopwright::fluid::{Coolant, FluidError};
    ///
    /// // IAPWS at 300 kPa and 25 degC: 997.137 kg/m3, 0.88999 mPa s.
    /// let water = Coolant::water().properties(298.15)?;
    /// assert!((water.density_kg_m3 - 997.137).abs() < 2e-3);
    /// assert!((water.viscosity_pa_s - 0.88999e-3).abs() < 5e-8);
    /// # Ok::<(), FluidError>(())
    /// ```
    pub fn water() -> Self {
        Self::new(
            Law::Polynomials(Arc::new(water::POLYNOMIALS)),
            Composition::Water,
            (water::FREEZING_K, HIGHEST_K),
            Some(water::FREEZING_K),
            1.0,
        )
    }

    /// Glycol and water by the ASHRAE data, 0 to 60 % by volume.
    ///
    /// The same as [`Coolant::glycol_from`] with [`GlycolSource::Ashrae`].
    ///
    /// # Errors
    ///
    /// [`FluidError::Fraction`] outside 0 to 60 % by volume (a mass fraction is converted first).
    ///
    /// ```
    /// use loopwright::fluid::{Coolant, FluidError, Fraction, Glycol};
    ///
    /// let mix = Coolant::glycol(Glycol::Ethylene, Fraction::Volume(0.5))?;
    /// assert_eq!(mix.describe(), "ethylene glycol and water, 50 % by volume (52.7 % by mass)");
    /// // The published fit at 25 degC: 1071.1 kg/m3, 3.322 mPa s, 3300 J/(kg K), 0.3840 W/(m K).
    /// let at_25 = mix.properties(298.15)?;
    /// assert!((at_25.density_kg_m3 - 1071.1).abs() < 0.05);
    /// assert!((at_25.viscosity_pa_s - 3.322e-3).abs() < 5e-7);
    ///
    /// let refused = mix.properties(393.15).expect_err("refused").to_string();
    /// assert!(refused.contains("got 120.00 degC, limits -35.00 degC and 110.00 degC"));
    /// # Ok::<(), FluidError>(())
    /// ```
    pub fn glycol(glycol: Glycol, fraction: Fraction) -> Result<Self, FluidError> {
        Self::glycol_from(glycol, fraction, GlycolSource::default())
    }

    /// Glycol and water by a chosen source.
    ///
    /// Polynomials of degree 3 in temperature and 5 in fraction (viscosity: of its logarithm),
    /// linear in fraction between water and the 10 % mix. Range: from the freezing point or
    /// -35 degC, whichever is higher, to 110 degC; above 100 degC continued by the same polynomials
    /// (see [`Coolant::caution_above_k`]). A fraction on the other basis is converted by ideal mixing
    /// at 20 degC.
    ///
    /// Source: Bell, Wronski, Quoilin and Lemort (2014), Ind. Eng. Chem. Res. 53:2498: their fits to
    /// ASHRAE Handbook Fundamentals (volume) and Melinder (2010) (mass).
    ///
    /// # Errors
    ///
    /// [`FluidError::Fraction`] outside 0 to 60 % on the source's own basis.
    pub fn glycol_from(
        glycol: Glycol,
        fraction: Fraction,
        source: GlycolSource,
    ) -> Result<Self, FluidError> {
        let mix = glycol::mix(glycol, fraction, source)?;
        Ok(Self::new(
            Law::Polynomials(Arc::new(mix.polynomials)),
            Composition::Mix {
                glycol,
                fraction,
                source,
            },
            (mix.freezing_k.max(LOWEST_GLYCOL_K), HIGHEST_K),
            Some(mix.freezing_k),
            mix.water_mole_fraction,
        ))
    }

    /// A coolant from the user's own table.
    ///
    /// Shape-preserving cubics in temperature, the logarithm for viscosity. Range: the table, cut at
    /// the freezing point if that is higher. Without a boiling point the vapour pressure is that of
    /// water, the safe side for anything less volatile.
    ///
    /// Source: Fritsch and Carlson (1980), SIAM J. Numer. Anal. 17:238.
    ///
    /// # Errors
    ///
    /// Fewer than two rows; rows that do not rise in temperature; a property that is not positive; a
    /// freezing point at or above the last row; a boiling point off water's saturation line.
    pub fn table(
        rows: &[TableRow],
        freezing_k: Option<f64>,
        boiling: Option<BoilingPoint>,
    ) -> Result<Self, FluidError> {
        let table = PropertyTable::new(rows)?;
        let (mut lowest_k, highest_k) = (table.start_k(), table.end_k());
        if let Some(freezing_k) = freezing_k {
            if !(freezing_k > 0.0 && freezing_k < highest_k) {
                return Err(FluidError::TableFreezing {
                    freezing_k,
                    highest_k,
                });
            }
            lowest_k = lowest_k.max(freezing_k);
        }
        let vapour_share = match boiling {
            None => 1.0,
            Some(BoilingPoint {
                temperature_k,
                pressure_pa,
            }) => {
                let sound = TABLE_BOILING_K.contains(&temperature_k)
                    && pressure_pa > 0.0
                    && pressure_pa.is_finite();
                if !sound {
                    return Err(FluidError::TableBoiling {
                        temperature_k,
                        pressure_pa,
                    });
                }
                pressure_pa / water::saturation_pressure_pa(temperature_k)
            }
        };
        let composition = Composition::Table { rows: table.rows() };
        Ok(Self::new(
            Law::Table(Arc::new(table)),
            composition,
            (lowest_k, highest_k),
            freezing_k,
            vapour_share,
        ))
    }

    /// Lowest and highest liquid temperature allowed, K.
    pub fn range_k(&self) -> (f64, f64) {
        (self.lowest.temperature_k, self.highest.temperature_k)
    }

    /// Properties at a temperature inside the range.
    ///
    /// # Errors
    ///
    /// [`FluidError::Temperature`] outside [`Coolant::range_k`]; it names the value and the range.
    pub fn properties(&self, temperature_k: f64) -> Result<Properties, FluidError> {
        let (lowest_k, highest_k) = self.range_k();
        if !(lowest_k..=highest_k).contains(&temperature_k) {
            return Err(FluidError::Temperature {
                coolant: self.describe(),
                temperature_k,
                lowest_k,
                highest_k,
            });
        }
        Ok(self.law.properties(temperature_k))
    }

    /// Properties at any temperature, for the iterates of a solver.
    ///
    /// Equal to [`Coolant::properties`] inside the range and held at its ends outside; never fails,
    /// always positive and continuous. A temperature that is not a number counts as the low end.
    pub fn properties_extended(&self, temperature_k: f64) -> Properties {
        let (lowest_k, highest_k) = self.range_k();
        self.law
            .properties(held(temperature_k, lowest_k, highest_k))
    }

    /// The heat capacity of [`Coolant::properties_extended`] alone, J/(kg K).
    pub fn specific_heat_extended_j_kg_k(&self, temperature_k: f64) -> f64 {
        let (lowest_k, highest_k) = self.range_k();
        self.law
            .specific_heat_j_kg_k(held(temperature_k, lowest_k, highest_k))
    }

    /// Specific enthalpy above that at 273.15 K.
    ///
    /// `h(T) = integral of cp dT` from 273.15 K, J/kg; the exact integral of the heat capacity that
    /// [`Coolant::properties_extended`] returns, so it goes on with constant heat capacity outside
    /// the range. Work of pressure is left out (0.1 J/kg per 100 Pa).
    pub fn enthalpy_j_kg(&self, temperature_k: f64) -> f64 {
        if temperature_k < self.lowest.temperature_k {
            self.lowest.enthalpy_j_kg(temperature_k)
        } else if temperature_k > self.highest.temperature_k {
            self.highest.enthalpy_j_kg(temperature_k)
        } else {
            self.law.enthalpy_j_kg(temperature_k) - self.datum_j_kg
        }
    }

    /// [`Coolant::enthalpy_j_kg`] with [`Coolant::specific_heat_extended_j_kg_k`], J/kg and J/(kg K), to the same bits, at
    /// little more than the cost of one. Any temperature, as there.
    pub fn enthalpy_and_specific_heat(&self, temperature_k: f64) -> (f64, f64) {
        let (lowest_k, highest_k) = self.range_k();
        if (lowest_k..=highest_k).contains(&temperature_k) {
            let (enthalpy, specific_heat) = self.law.enthalpy_and_specific_heat(temperature_k);
            (enthalpy - self.datum_j_kg, specific_heat)
        } else {
            (
                self.enthalpy_j_kg(temperature_k),
                self.specific_heat_extended_j_kg_k(temperature_k),
            )
        }
    }

    /// Temperature of a specific enthalpy, K: the inverse of [`Coolant::enthalpy_j_kg`].
    ///
    /// Newton's method inside a shrinking bracket, to round-off; tests prove 1e-10 K there and back.
    pub fn temperature_from_enthalpy_k(&self, enthalpy_j_kg: f64) -> f64 {
        let (lowest, highest) = (self.lowest, self.highest);
        if enthalpy_j_kg <= lowest.enthalpy_j_kg {
            return lowest.temperature_k(enthalpy_j_kg);
        }
        if enthalpy_j_kg >= highest.enthalpy_j_kg {
            return highest.temperature_k(enthalpy_j_kg);
        }
        let (mut low, mut high) = self.range_k();
        let share =
            (enthalpy_j_kg - lowest.enthalpy_j_kg) / (highest.enthalpy_j_kg - lowest.enthalpy_j_kg);
        let mut t = low + share * (high - low);
        for _ in 0..INVERSE_STEPS {
            let excess = self.law.enthalpy_j_kg(t) - self.datum_j_kg - enthalpy_j_kg;
            if excess > 0.0 {
                high = t;
            } else {
                low = t;
            }
            let step = excess / self.law.specific_heat_j_kg_k(t);
            let newton = t - step;
            let next = if newton >= low && newton <= high {
                newton
            } else {
                0.5 * (low + high)
            };
            let settled = (next - t).abs() <= 2.0 * f64::EPSILON * t;
            t = next;
            if settled {
                break;
            }
        }
        t
    }

    /// The same from a temperature that is near, which saves most of the search; the two agree to round-off.
    pub fn temperature_from_enthalpy_near_k(&self, enthalpy_j_kg: f64, near_k: f64) -> f64 {
        let (low, high) = self.range_k();
        let mut t = near_k;
        for _ in 0..NEAR_STEPS {
            if !(low..=high).contains(&t) {
                break;
            }
            let (enthalpy, specific_heat) = self.law.enthalpy_and_specific_heat(t);
            let excess = enthalpy - self.datum_j_kg - enthalpy_j_kg;
            let step = excess / specific_heat;
            let next = t - step;
            // The error that is left goes with the square of the step.
            if step.abs() <= NEAR_K && (low..=high).contains(&next) {
                return next;
            }
            t = next;
        }
        self.temperature_from_enthalpy_k(enthalpy_j_kg)
    }

    /// Freezing point (first ice crystals), K; `None` for a table that states none.
    ///
    /// Glycol mixes stay pumpable slush somewhat below it, which is not modelled.
    pub fn freezing_k(&self) -> Option<f64> {
        self.freezing_k
    }

    /// Vapour pressure, Pa absolute.
    ///
    /// `p = x_w p_sat(T)`: Raoult's law, x_w the mole fraction of water and p_sat water's saturation
    /// line; the glycol's own vapour is neglected (about 1 % of the sum at 110 degC, from memory). For a table, p_sat times the factor of its
    /// boiling point. Held below -40 degC and above water's critical point.
    ///
    /// Source: saturation line IAPWS-IF97 (R7-97), region 4, eq. 30.
    pub fn vapour_pressure_pa(&self, temperature_k: f64) -> f64 {
        self.vapour_share * water::saturation_pressure_pa(temperature_k)
    }

    /// Temperature at which the coolant boils under an absolute pressure, K: the inverse of
    /// [`Coolant::vapour_pressure_pa`].
    ///
    /// ```
    /// use loopwright::fluid::Coolant;
    ///
    /// // Water boils at 99.61 degC under 1 bar (IAPWS-IF97: 372.755919 K).
    /// assert!((Coolant::water().boiling_k(1e5) - 372.755919).abs() < 1e-6);
    /// ```
    pub fn boiling_k(&self, absolute_pressure_pa: f64) -> f64 {
        water::saturation_temperature_k(absolute_pressure_pa / self.vapour_share)
    }

    /// Temperature above which properties are extrapolated, K: 373.15 for glycol mixes, of which only
    /// density is published above 100 degC; `None` for water and tables.
    pub fn caution_above_k(&self) -> Option<f64> {
        match self.composition {
            Composition::Mix { fraction, .. } if fraction.value() > 0.0 => Some(GLYCOL_DATA_END_K),
            _ => None,
        }
    }

    /// The glycol in the mix and its share by mass; `None` for water and tables.
    pub fn glycol_by_mass(&self) -> Option<(Glycol, f64)> {
        match self.composition {
            Composition::Mix {
                glycol, fraction, ..
            } => Some((glycol, fraction.by_mass(glycol))),
            _ => None,
        }
    }

    /// What the coolant is, in words.
    pub fn describe(&self) -> String {
        match self.composition {
            Composition::Water => "water".to_owned(),
            Composition::Mix {
                glycol,
                fraction,
                source,
            } => {
                let (other, basis) = match fraction {
                    Fraction::Volume(_) => (fraction.by_mass(glycol), "mass"),
                    Fraction::Mass(_) => (fraction.by_volume(glycol), "volume"),
                };
                let data = match source {
                    GlycolSource::Ashrae => "",
                    GlycolSource::Melinder => ", data of Melinder (2010)",
                };
                format!(
                    "{glycol} and water, {fraction} ({:.1} % by {basis}){data}",
                    other * 100.0
                )
            }
            Composition::Table { rows } => {
                let (lowest_k, highest_k) = self.range_k();
                format!(
                    "coolant table of {rows} rows, {:.1} to {:.1} degC",
                    lowest_k - ICE_POINT_K,
                    highest_k - ICE_POINT_K
                )
            }
        }
    }
}

#[cfg(test)]
#[path = "coolant_tests.rs"]
mod tests;
