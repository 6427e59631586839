//! The coolant side of a radiator's tubes: dimples, tanks, how the passes meet the air, and what conductance they give.
//! The record of the tubes themselves is in `radiator.rs`.

use super::conduit::{Conduit, Section};
use super::law::Drop;
use super::origin::Origin;
use super::radiator::{Radiator, TubeDirection};
use crate::correlation::convection::{LAMINAR_END_RE, TURBULENT_START_RE};
use crate::correlation::dimples::enhancement;
use crate::correlation::{
    CoreStreams, DuctSection, DuctShape, SectionShape, WallCondition, duct_drop_pa, duct_nusselt,
};
use crate::fluid::Properties;
use serde::{Deserialize, Serialize};

/// Dimpled or turbulated tubes: what they multiply the smooth tube's heat transfer and friction by.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Dimpled {
    /// Heat transfer over that of the smooth tube.
    #[cfg_attr(test, schemars(range(min = 1.0, max = 10.0)))]
    pub heat_factor: f64,
    /// Friction over that of the smooth tube.
    #[cfg_attr(test, schemars(range(min = 1.0, max = 30.0)))]
    pub friction_factor: f64,
    /// Reynolds number from which both hold in full; below half of it the tube counts as smooth.
    #[cfg_attr(test, schemars(range(min = 50.0, max = 100000.0)))]
    pub above_reynolds: f64,
    /// Reynolds number up to which they were measured; a finding says where it is passed.
    #[cfg_attr(test, schemars(range(min = 100.0, max = 1000000.0)))]
    pub up_to_reynolds: Option<f64>,
    /// Where the factors come from.
    pub origin: Option<Origin>,
}

/// How coolant and air meet in the cores.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum CoreArrangement {
    /// Across each other, neither mixed: separate tubes and fins.
    #[default]
    BothUnmixed,
    /// Across each other, the air mixed along its path.
    AirMixed,
    /// Across each other, the coolant mixed along its path.
    CoolantMixed,
    /// Passes behind one another in the air, the last one first; each tube counts once across the face.
    CounterflowPasses,
}

impl CoreArrangement {
    /// The relation of effectiveness for a core of that many passes.
    pub fn streams(self, passes: u32) -> CoreStreams {
        match self {
            Self::BothUnmixed => CoreStreams::BothUnmixed,
            Self::AirMixed => CoreStreams::AirMixed,
            Self::CoolantMixed => CoreStreams::CoolantMixed,
            Self::CounterflowPasses => CoreStreams::CounterflowPasses { passes },
        }
    }
}

/// A tank of a core, by what its losses need.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TankShape {
    /// Area across the flow along the tank, m2.
    pub area_m2: f64,
    /// Its hydraulic diameter, m.
    pub diameter_m: f64,
    /// Width along the air, m.
    pub width_m: f64,
}

impl TankShape {
    /// The inside of a tank of this section.
    ///
    /// # Errors
    /// A sentence about a section that has no inside or is a ring.
    pub fn of(section: &Section) -> Result<Self, String> {
        let shape = section.shape().map_err(|e| e.reason)?;
        let width_m = match shape {
            SectionShape::Round { bore_m } => bore_m,
            SectionShape::Rectangle { width_m, .. } | SectionShape::FlatTube { width_m, .. } => {
                width_m
            }
            SectionShape::Annulus { .. } => {
                return Err("a tank is no ring; try `round` or `rectangle`".into());
            }
        };
        Ok(Self {
            area_m2: shape.area_m2(),
            diameter_m: shape.hydraulic_diameter_m(),
            width_m,
        })
    }
}

/// Whether a stream is laminar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Regime {
    /// Up to Re 2300.
    Laminar,
    /// Between Re 2300 and 4000, bridged.
    Transitional,
    /// From Re 4000.
    Turbulent,
}

impl Regime {
    /// The regime of heat transfer at a Reynolds number.
    pub fn at(reynolds: f64) -> Self {
        if reynolds <= LAMINAR_END_RE {
            Self::Laminar
        } else if reynolds < TURBULENT_START_RE {
            Self::Transitional
        } else {
            Self::Turbulent
        }
    }

    /// The word a report prints.
    pub fn word(self) -> &'static str {
        match self {
            Self::Laminar => "laminar",
            Self::Transitional => "transitional",
            Self::Turbulent => "turbulent",
        }
    }
}

/// Conductance from the coolant to the walls of all tubes of a core, W/K.
///
/// `h A`, `h = Nu k/D` by [`duct_nusselt`] at constant wall temperature, times the factor of dimples; `A` the wetted
/// surface of all passes. Range: as there.
///
/// Sources: as [`duct_nusselt`]; the factor of dimples is the user's.
pub fn coolant_conductance_w_k(
    conduit: &Conduit,
    dimpled: Option<&Dimpled>,
    flow_kg_s: f64,
    coolant: &Properties,
) -> f64 {
    let shape = &conduit.shape;
    let tubes = conduit.parallel;
    let d = shape.hydraulic_diameter_m();
    let velocity_mass = flow_kg_s.abs() / (shape.area_m2() * tubes);
    let reynolds = velocity_mass * d / coolant.viscosity_pa_s;
    let prandtl =
        coolant.viscosity_pa_s * coolant.specific_heat_j_kg_k / coolant.conductivity_w_m_k;
    let section = match shape {
        SectionShape::Round { .. } => DuctSection::Round,
        _ => DuctSection::Rectangle {
            aspect: shape.aspect(),
        },
    };
    let length = conduit.length_m;
    let nusselt = duct_nusselt(
        reynolds,
        prandtl,
        section,
        length / d,
        WallCondition::Temperature,
    )
    .value;
    let factor = dimpled.map_or(1.0, |x| {
        enhancement(reynolds, x.heat_factor, x.above_reynolds).value
    });
    factor
        * (nusselt * coolant.conductivity_w_m_k / d * shape.wetted_perimeter_m() * length * tubes)
}

/// Wall friction of dimpled tubes: that of the smooth duct times a factor that sets in with the Reynolds number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DimpledDuct {
    /// The smooth tube.
    pub duct: DuctShape,
    /// Friction over that of the smooth tube.
    pub factor: f64,
    /// Reynolds number from which it holds in full.
    pub above_reynolds: f64,
}

impl DimpledDuct {
    /// Drop and exact slope at a signed mass flow.
    pub fn drop(&self, flow_kg_s: f64, fluid: &Properties) -> Drop {
        let (drop_pa, slope, reynolds) = duct_drop_pa(
            flow_kg_s,
            fluid.density_kg_m3,
            fluid.viscosity_pa_s,
            &self.duct,
        );
        let factor = enhancement(reynolds, self.factor, self.above_reynolds);
        let re_per_flow = self.duct.hydraulic_diameter_m
            / (fluid.viscosity_pa_s * self.duct.area_m2 * self.duct.parallel);
        Drop {
            drop_pa: drop_pa * factor.value,
            slope_pa_s_kg: slope * factor.value + drop_pa.abs() * factor.slope * re_per_flow,
        }
    }
}

impl Radiator {
    /// Distance from tube to tube across the face, m: the face across the tubes over their count.
    pub fn tube_pitch_m(&self) -> f64 {
        let across = match self.tubes.direction.unwrap_or_default() {
            TubeDirection::Horizontal => self.face_height,
            TubeDirection::Vertical => self.face_width,
        };
        across.m() / f64::from(self.tubes.count.max(1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::correlation::{EntranceFriction, FrictionModel};
    use crate::fluid::Coolant;

    #[test]
    fn the_slope_of_dimpled_tubes_agrees_with_a_difference_and_does_not_jump() {
        let fluid = Coolant::water().properties_extended(333.15);
        let tube = DimpledDuct {
            duct: DuctShape {
                area_m2: 2.8e-5,
                hydraulic_diameter_m: 6e-3,
                length_m: 0.6,
                roughness_m: 1.5e-6,
                laminar_constant: 64.0,
                parallel: 20.0,
                model: FrictionModel::Churchill,
                entrance: EntranceFriction::On,
            },
            factor: 3.0,
            above_reynolds: 1200.0,
        };
        let flow_per_re = fluid.viscosity_pa_s * 2.8e-5 * 20.0 / 6e-3;
        let mut last = 0.0;
        for k in 1..400 {
            let flow = 10.3 * f64::from(k) * flow_per_re;
            let h = 1e-6 * flow;
            let at = |m: f64| tube.drop(m, &fluid);
            let difference = (at(flow + h).drop_pa - at(flow - h).drop_pa) / (2.0 * h);
            assert!(
                (at(flow).slope_pa_s_kg / difference - 1.0).abs() < 1e-6,
                "{k}"
            );
            assert!(at(flow).drop_pa > last);
            assert_eq!(at(-flow).drop_pa, -at(flow).drop_pa);
            last = at(flow).drop_pa;
        }
        for re in [600.0, 1200.0] {
            let slope = |re: f64| tube.drop(re * flow_per_re, &fluid).slope_pa_s_kg;
            assert!((slope(re * (1.0 - 1e-11)) / slope(re * (1.0 + 1e-11)) - 1.0).abs() < 1e-8);
        }
    }
}
