//! Hose: any round or rectangular conduit (rubber hose, tube, pipe) with its fittings.

use super::conduit::{
    Conduit, DRAWN_TUBE_ROUGHNESS_M, Fitting, SMOOTH_TUBE_C, Section, SectionError,
};
use super::record::two_end_part;
use crate::quantity::{Length, ThermalConductivity};
use serde::{Deserialize, Serialize};

two_end_part! {
    /// Hose, tube or pipe: `bore` for a round one, else `section`.
    pub struct Hose {
        /// Inside diameter of a round hose.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub bore: Option<Length>,
        /// Inside of a conduit that is not round.
        pub section: Option<Section>,
        /// Length along the middle.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub length: Length,
        /// Wall roughness (default 1.5 um: drawn tube, rubber).
        #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
        pub roughness: Option<Length>,
        /// A stated Darcy friction factor, in place of the friction law (textbook problems, a measured pipe).
        #[cfg_attr(test, schemars(extend("exclusiveMinimum" = 0, "maximum" = 10)))]
        pub friction_factor: Option<f64>,
        /// Hazen-Williams coefficient C, used where the design chose that law (default 140).
        #[cfg_attr(test, schemars(range(min = 20.0, max = 200.0)))]
        pub hazen_williams_c: Option<f64>,
        /// Heat lost to the surroundings per length and kelvin (default none); the surroundings are at the case's
        /// `bay_temperature`, or else at its air temperature.
        #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
        pub conductance_per_length: Option<ThermalConductivity>,
        /// Fittings on the hose, each with its count.
        #[serde(default)]
        pub fittings: Vec<Fitting>,
    }
}

/// A tail: the hose between a header's spigot and a module circuit, without a name of its own.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Tail {
    /// Inside diameter.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub bore: Length,
    /// Length along the middle.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub length: Length,
    /// Wall roughness (default 1.5 um: drawn tube, rubber).
    #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
    pub roughness: Option<Length>,
    /// Fittings on the tail, each with its count.
    #[serde(default)]
    pub fittings: Vec<Fitting>,
}

/// A bore or a section, never both and never neither.
///
/// # Errors
/// A sentence saying which to keep.
pub fn bore_or_section(
    bore: Option<Length>,
    section: Option<&Section>,
) -> Result<Section, SectionError> {
    match (bore, section) {
        (Some(bore), None) => Ok(Section::bore(bore)),
        (None, Some(section)) => Ok(section.clone()),
        (Some(_), Some(_)) => Err(SectionError {
            reason: "cannot use both `bore` and `section`; keep `bore` for a round hose".into(),
        }),
        (None, None) => Err(SectionError {
            reason:
                "cannot tell the inside because neither `bore` nor `section` is given; give `bore`, or `section` for a conduit that is not round"
                    .into(),
        }),
    }
}

impl Hose {
    /// The conduit of this hose.
    ///
    /// # Errors
    /// [`SectionError`] when bore or section cannot be used.
    pub fn conduit(&self) -> Result<Conduit, SectionError> {
        Ok(Conduit {
            shape: bore_or_section(self.bore, self.section.as_ref())?.shape()?,
            length_m: self.length.m(),
            roughness_m: self.roughness.map_or(DRAWN_TUBE_ROUGHNESS_M, |r| r.m()),
            hazen_williams_c: self.hazen_williams_c.unwrap_or(SMOOTH_TUBE_C),
            parallel: 1.0,
        })
    }
}

impl Tail {
    /// The conduit of this tail.
    ///
    /// # Errors
    /// [`SectionError`] never in practice; the signature is that of a hose.
    pub fn conduit(&self) -> Result<Conduit, SectionError> {
        Ok(Conduit {
            shape: Section::bore(self.bore).shape()?,
            length_m: self.length.m(),
            roughness_m: self.roughness.map_or(DRAWN_TUBE_ROUGHNESS_M, |r| r.m()),
            hazen_williams_c: SMOOTH_TUBE_C,
            parallel: 1.0,
        })
    }
}
