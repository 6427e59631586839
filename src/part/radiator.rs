//! Radiator: one face, cut into cores for several loops, with its fans and the ram air of travel.
//! A core knows both its sides and no neighbour; loops and air are joined by the solver.

use super::air_loss::{AirLoss, AirLosses};
use super::air_side::Rating;
use super::conduit::{Conduit, DRAWN_TUBE_ROUGHNESS_M, SMOOTH_TUBE_C, Section};
use super::cut::{FaceOffset, FaceRectangle};
use super::drop::PressureDrop;
use super::fins::{LouvredFins, PlainFins};
use super::origin::Origin;
use super::tank_leak::TankLeak;
use super::tubes::{CoreArrangement, Dimpled};
use crate::quantity::{
    HeatTransferCoefficient, Length, LinearResistance, PressureDifference, QuadraticResistance,
    VolumeFlow,
};
use indexmap::IndexMap;
use serde::{Deserialize, Serialize};

/// A radiator whose tubes are shared among cores.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Radiator {
    /// Width of the finned face.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub face_width: Length,
    /// Height of the finned face.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub face_height: Length,
    /// The coolant tubes.
    pub tubes: Tubes,
    /// Inside of the tanks across the flow along them, width along the air (default: large, so that the tubes' entrance and exit are all they cost).
    pub tank_section: Option<Section>,
    /// How coolant and air meet (default `both_unmixed`).
    pub arrangement: Option<CoreArrangement>,
    /// The cores, in order from one tank end.
    #[cfg_attr(test, schemars(extend("x-names" = true, "minProperties" = 1)))]
    pub cores: IndexMap<String, Core>,
    /// Tubes blocked by the new tank walls; their fins are still in the air.
    #[cfg_attr(test, schemars(range(max = 1000)))]
    pub lost_tubes: Option<u32>,
    /// What the air meets.
    pub air_side: AirSide,
    /// Fans behind or before the face.
    #[serde(default)]
    pub fans: Vec<Fan>,
    /// Pressure of travel.
    pub ram: Option<Ram>,
    /// Grille and duct before the face, way out of the bay behind it.
    pub air_losses: Option<AirLosses>,
    /// The radiator straight before this one: its air is breathed here.
    pub behind: Option<String>,
    /// Where this face lies behind that of the radiator before it (default: middle behind middle).
    pub offset: Option<FaceOffset>,
    /// Heat that leaks through the plates between neighbouring tanks.
    #[serde(default)]
    pub tank_leaks: Vec<TankLeak>,
    /// Height of the cores above the datum.
    pub elevation: Option<Length>,
    /// Where the numbers come from.
    pub origin: Option<Origin>,
}

/// The coolant tubes of a radiator.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Tubes {
    /// How many in the whole radiator, side by side across the face.
    #[cfg_attr(test, schemars(range(min = 1, max = 100000)))]
    pub count: u32,
    /// Inside of one tube.
    pub inside: Section,
    /// Length of one tube from tank to tank.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub length: Length,
    /// Wall roughness (default 1.5 um).
    #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
    pub roughness: Option<Length>,
    /// Which way the tubes run (default horizontal): the cut lies across it.
    pub direction: Option<TubeDirection>,
    /// Dimples that stir the coolant.
    pub dimpled: Option<Dimpled>,
}

/// Which way the tubes run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum TubeDirection {
    /// Side to side; tanks left and right.
    #[default]
    Horizontal,
    /// Top to bottom; tanks above and below.
    Vertical,
}

/// One core: its share of the tubes, as a number of whole tubes or as a rectangle of the face.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Core {
    /// Whole tubes of this core; beside `face` only where fewer than lie in it carry coolant.
    #[cfg_attr(test, schemars(range(min = 1, max = 100000)))]
    pub tubes: Option<u32>,
    /// The rectangle of the face that is this core.
    pub face: Option<FaceRectangle>,
    /// Length of one tube of a core cut by `face` (default: that of the radiator in proportion to the rectangle).
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub tube_length: Option<Length>,
    /// How often the coolant crosses the face (default 1).
    #[cfg_attr(test, schemars(range(min = 1, max = 12)))]
    pub passes: Option<u32>,
}

/// What the air meets in the face, in one of four ways: `conductance_per_face_area`, `louvred_fins`, `plain_fins` or
/// `rating`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct AirSide {
    /// Conductance of the air side alone, fins included.
    pub conductance_per_face_area: Option<ConductanceLaw>,
    /// Louvred fins by their sizes.
    pub louvred_fins: Option<LouvredFins>,
    /// Fins without louvres by their sizes.
    pub plain_fins: Option<PlainFins>,
    /// Heat at stated flows.
    pub rating: Option<Rating>,
    /// Resistance of the core to air; fins give their own.
    pub pressure_drop: Option<AirPressureDrop>,
}

/// `U = U1 u^n` on the face area, `u` the face velocity in m/s at inlet density.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ConductanceLaw {
    /// Conductance at a face velocity of 1 m/s.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub at_1_m_s: HeatTransferCoefficient,
    /// Exponent of the face velocity.
    #[cfg_attr(test, schemars(range(min = 0.1, max = 1.0)))]
    pub exponent: f64,
}

/// `dp = linear u + quadratic u^2`, for air of 20 degC at sea level; scaled by viscosity and density.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct AirPressureDrop {
    /// Share proportional to the face velocity.
    #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
    pub linear: LinearResistance,
    /// Share proportional to its square.
    #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
    pub quadratic: QuadraticResistance,
}

/// A fan and its shroud.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Fan {
    /// Name (default `fan 1`, `fan 2`, ...), for `fan_speed` in a case.
    #[cfg_attr(test, schemars(length(min = 1, max = 60)))]
    pub name: Option<String>,
    /// Share of each core's face inside this fan's shroud.
    #[cfg_attr(test, schemars(extend("x-names" = true)))]
    pub face_share_covered: IndexMap<String, Share>,
    /// Air flow and pressure rise, flow rising and rise falling, for air of 20 degC at sea level.
    #[cfg_attr(test, schemars(length(min = 2, max = 1000)))]
    pub curve: Vec<(VolumeFlow, PressureDifference)>,
    /// Equal fans on this shroud (default 1).
    #[cfg_attr(test, schemars(range(min = 1, max = 100)))]
    pub count: Option<u32>,
    /// Speed over the speed of the curve (default 1; a case may override it).
    #[cfg_attr(test, schemars(range(min = 0.0, max = 5.0)))]
    pub speed: Option<f64>,
    /// Resistance of the standing fan to air, in place of the estimate from its curve.
    pub stopped_loss: Option<PressureDrop>,
    /// The shroud it sits on, by any name: fans of one shroud draw from one plenum (default: a shroud of its own).
    #[cfg_attr(test, schemars(length(min = 1, max = 60)))]
    pub shroud: Option<String>,
    /// What the air to this fan loses in its shroud.
    pub shroud_loss: Option<AirLoss>,
}

/// A share from 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(transparent)]
#[cfg_attr(test, schemars(inline))]
pub struct Share(#[cfg_attr(test, schemars(range(min = 0.0, max = 1.0)))] pub f64);

/// Pressure of travel and what the air loses behind the face.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Ram {
    /// Pressure across the whole air path over `rho v^2 / 2` of travel.
    #[cfg_attr(test, schemars(range(min = 0.0, max = 2.0)))]
    pub pressure_coefficient: f64,
    /// Loss behind the face over `rho u^2 / 2` of the face velocity.
    #[cfg_attr(test, schemars(range(min = 0.0, max = 1000.0)))]
    pub exit_loss: f64,
}

impl Radiator {
    /// Face area of the whole radiator, m2.
    pub fn face_area_m2(&self) -> f64 {
        self.face_width.m() * self.face_height.m()
    }

    /// The coolant passage of a core, all passes in series.
    ///
    /// # Errors
    /// A sentence about the tube section, or about passes that leave a pass without tubes.
    pub fn core_conduit(&self, core: &Core) -> Result<Conduit, String> {
        // That a core has a tube at all is for the checks of the cut.
        self.conduit_of(
            self.core_tubes(core).max(1),
            core.passes.unwrap_or(1),
            self.core_tube_length_m(core),
        )
    }

    /// The coolant passage of that many tubes of a length, all passes in series.
    ///
    /// # Errors
    /// As [`Radiator::core_conduit`].
    pub fn conduit_of(
        &self,
        tubes: u32,
        passes: u32,
        tube_length_m: f64,
    ) -> Result<Conduit, String> {
        let in_depth = self.arrangement == Some(CoreArrangement::CounterflowPasses);
        if tubes < passes && !in_depth {
            return Err(format!(
                "cannot make {passes} passes of {tubes} tubes; try fewer passes"
            ));
        }
        Ok(Conduit {
            shape: self.tubes.inside.shape().map_err(|e| e.reason)?,
            length_m: tube_length_m * f64::from(passes),
            roughness_m: self
                .tubes
                .roughness
                .map_or(DRAWN_TUBE_ROUGHNESS_M, |r| r.m()),
            hazen_williams_c: SMOOTH_TUBE_C,
            // Passes in depth stand behind each tube of the face, passes in the face share its tubes.
            parallel: if in_depth {
                f64::from(tubes)
            } else {
                f64::from(tubes) / f64::from(passes)
            },
        })
    }

    /// The name of a fan, as given or by its place.
    pub fn fan_name(&self, index: usize) -> String {
        self.fans
            .get(index)
            .and_then(|f| f.name.clone())
            .unwrap_or_else(|| format!("fan {}", index + 1))
    }
}
