//! Coolants as the design file writes them, and what they become.

use crate::fluid::{Coolant, FluidError, Fraction, Glycol, GlycolSource, Properties, TableRow};
use crate::quantity::{Density, DynamicViscosity, SpecificHeat, Temperature, ThermalConductivity};
use serde::{Deserialize, Serialize};

/// A coolant: water, a glycol mix, or a table of the maker's.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum CoolantRecord {
    /// Water.
    Water(NoChoices),
    /// Ethylene glycol and water.
    EthyleneGlycol(MixRecord),
    /// Propylene glycol and water.
    PropyleneGlycol(MixRecord),
    /// Properties from a table.
    Table(TableRecord),
}

/// Nothing to choose.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct NoChoices {}

/// The glycol in a mix: exactly one of `volume_fraction` and `mass_fraction`, 0 to 0.60.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct MixRecord {
    /// Glycol over the whole, by volume before mixing.
    #[cfg_attr(test, schemars(range(min = 0.0, max = 0.60)))]
    pub volume_fraction: Option<f64>,
    /// Glycol over the whole, by mass.
    #[cfg_attr(test, schemars(range(min = 0.0, max = 0.60)))]
    pub mass_fraction: Option<f64>,
    /// Whose measurements (default `ashrae`); the two differ by up to 12 % in viscosity.
    pub data: Option<GlycolData>,
}

/// Whose measurements of a glycol mix.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum GlycolData {
    /// The tables of the ASHRAE handbook.
    #[default]
    Ashrae,
    /// Melinder (2010).
    Melinder,
}

/// Properties from a maker's table, two rows or more with rising temperature.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct TableRecord {
    /// One row a temperature.
    #[cfg_attr(test, schemars(length(min = 2, max = 1000)))]
    pub rows: Vec<PropertyRow>,
    /// Freezing point, where known.
    pub freezing: Option<Temperature>,
}

/// Properties at one temperature.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct PropertyRow {
    /// Temperature of the row.
    pub temperature: Temperature,
    /// Density.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub density: Density,
    /// Dynamic viscosity.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub viscosity: DynamicViscosity,
    /// Heat capacity per mass.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub specific_heat: SpecificHeat,
    /// Thermal conductivity.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub conductivity: ThermalConductivity,
}

impl CoolantRecord {
    /// The key of the kind in a design file.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Water(_) => "water",
            Self::EthyleneGlycol(_) => "ethylene_glycol",
            Self::PropyleneGlycol(_) => "propylene_glycol",
            Self::Table(_) => "table",
        }
    }

    /// The coolant.
    ///
    /// # Errors
    /// A sentence: a fraction missing, given twice or out of range, or a table that does not rise.
    pub fn resolve(&self) -> Result<Coolant, String> {
        let text = |e: FluidError| e.to_string();
        match self {
            Self::Water(_) => Ok(Coolant::water()),
            Self::EthyleneGlycol(mix) => mix.resolve(Glycol::Ethylene),
            Self::PropyleneGlycol(mix) => mix.resolve(Glycol::Propylene),
            Self::Table(table) => {
                let rows: Vec<TableRow> = table
                    .rows
                    .iter()
                    .map(|r| TableRow {
                        temperature_k: r.temperature.k(),
                        properties: Properties {
                            density_kg_m3: r.density.kg_m3(),
                            viscosity_pa_s: r.viscosity.pa_s(),
                            specific_heat_j_kg_k: r.specific_heat.j_kg_k(),
                            conductivity_w_m_k: r.conductivity.w_m_k(),
                        },
                    })
                    .collect();
                Coolant::table(&rows, table.freezing.map(|t| t.k()), None).map_err(text)
            }
        }
    }
}

impl MixRecord {
    fn resolve(&self, glycol: Glycol) -> Result<Coolant, String> {
        let fraction = match (self.volume_fraction, self.mass_fraction) {
            (Some(volume), None) => Fraction::Volume(volume),
            (None, Some(mass)) => Fraction::Mass(mass),
            (None, None) => return Err(
                "cannot tell the mix because it has no fraction; give `volume_fraction` or `mass_fraction`"
                    .into(),
            ),
            (Some(volume), Some(mass)) => return Err(format!(
                "cannot tell the mix because both `volume_fraction` {volume} and `mass_fraction` {mass} are given; keep one"
            )),
        };
        let source = match self.data.unwrap_or_default() {
            GlycolData::Ashrae => GlycolSource::Ashrae,
            GlycolData::Melinder => GlycolSource::Melinder,
        };
        Coolant::glycol_from(glycol, fraction, source).map_err(|e| e.to_string())
    }
}
