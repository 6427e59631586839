//! Sections and conduits: the inside of hoses, tubes and headers, and the fittings on them, as the builder writes them.
//! The losses themselves are in `correlation`; here a record is lowered to laws.

use super::law::{HazenWilliams, Law, TwoTerm};
use crate::correlation::area_change::{exit, sharp_entrance};
use crate::correlation::fittings::{ElbowMake, elbow_45, elbow_90};
use crate::correlation::{
    Directional, DuctShape, EntranceFriction, FrictionModel, SectionShape, SharpEdge, TwoConstant,
    barb, bore_step,
};
use crate::quantity::Length;
use serde::{Deserialize, Serialize};

/// Roughness of drawn or extruded tube and of rubber hose, m (handbook value for drawn tubing, 1.5 um).
pub const DRAWN_TUBE_ROUGHNESS_M: f64 = 1.5e-6;
/// Hazen-Williams coefficient of smooth tube and hose where the design gives none (common practice, no source).
pub const SMOOTH_TUBE_C: f64 = 140.0;
/// Reynolds number at which a stated friction factor's laminar term equals its turbulent one: small enough to leave
/// the stated factor alone, large enough for a finite slope at rest (our choice).
const STATED_FRICTION_LAMINAR_REYNOLDS: f64 = 1.0e-4;

/// How wall friction is reckoned throughout a design.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WallFriction {
    /// Darcy-Weisbach or Hazen-Williams.
    pub law: PipeLaw,
    /// The friction factor of Darcy-Weisbach.
    pub factor: FrictionModel,
    /// Whether short ducts pay for their developing flow.
    pub entrance: EntranceFriction,
}

/// The law of wall friction, chosen once per design.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum PipeLaw {
    /// Darcy-Weisbach with a friction factor: any fluid, laminar or turbulent.
    #[default]
    DarcyWeisbach,
    /// Hazen-Williams: water near room temperature, turbulent, bores above about 50 mm.
    HazenWilliams,
}

/// The inside of a tube.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Section {
    /// A round tube.
    Round(RoundSection),
    /// A square tube.
    Square(SquareSection),
    /// A rectangular passage, by its inside sizes.
    Rectangle(InsideSizes),
    /// A flat tube with half-round ends, by its inside sizes.
    Flat(InsideSizes),
    /// The ring between two tubes.
    Annulus(AnnulusSection),
}

/// A round tube: `bore`, or `outside` and `wall`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct RoundSection {
    /// Inside diameter.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub bore: Option<Length>,
    /// Outside diameter.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub outside: Option<Length>,
    /// Wall thickness.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub wall: Option<Length>,
}

/// A square tube: `inside`, or `outside` and `wall`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct SquareSection {
    /// Inside width.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub inside: Option<Length>,
    /// Outside width.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub outside: Option<Length>,
    /// Wall thickness.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub wall: Option<Length>,
}

/// Inside width and height of a passage.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct InsideSizes {
    /// Inside width (the longer side of a flat tube).
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub width: Length,
    /// Inside height.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub height: Length,
}

/// The passage between an inner and an outer tube.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct AnnulusSection {
    /// Outside diameter of the inner tube.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub inner: Length,
    /// Inside diameter of the outer tube.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub outer: Length,
}

/// Why a section has no inside.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SectionError {
    /// What is wrong, in the builder's words.
    pub reason: String,
}

fn from_outside(
    inside: Option<Length>,
    outside: Option<Length>,
    wall: Option<Length>,
    name: &str,
) -> Result<f64, SectionError> {
    let refuse = |reason: String| Err(SectionError { reason });
    match (inside, outside, wall) {
        (Some(inside), None, None) => Ok(inside.m()),
        (None, Some(outside), Some(wall)) if 2.0 * wall.m() < outside.m() => {
            Ok(outside.m() - 2.0 * wall.m())
        }
        (None, Some(outside), Some(wall)) => refuse(format!(
            "a tube of {outside} outside with {wall} wall has no inside; try a thinner wall"
        )),
        (Some(inside), _, _) => refuse(format!(
            "cannot tell the inside of the tube because `{name}` {inside} stands beside `outside` or `wall`; keep `{name}` alone"
        )),
        (None, Some(outside), None) => refuse(format!(
            "cannot tell the inside of a tube of {outside} outside because its wall is not given; give `wall` too"
        )),
        (None, None, _) => refuse(format!(
            "cannot tell the inside of the tube because no diameter or width is given; give `{name}` alone, or `outside` and `wall`"
        )),
    }
}

impl Section {
    /// The shape of the passage.
    ///
    /// # Errors
    /// [`SectionError`] when sizes are missing, stand twice or leave no inside.
    pub fn shape(&self) -> Result<SectionShape, SectionError> {
        match self {
            Self::Round(s) => Ok(SectionShape::Round {
                bore_m: from_outside(s.bore, s.outside, s.wall, "bore")?,
            }),
            Self::Square(s) => {
                let side = from_outside(s.inside, s.outside, s.wall, "inside")?;
                Ok(SectionShape::Rectangle {
                    width_m: side,
                    height_m: side,
                })
            }
            Self::Rectangle(s) => Ok(SectionShape::Rectangle {
                width_m: s.width.m(),
                height_m: s.height.m(),
            }),
            Self::Flat(s) if s.height.m() <= s.width.m() => Ok(SectionShape::FlatTube {
                width_m: s.width.m(),
                height_m: s.height.m(),
            }),
            Self::Flat(s) => Err(SectionError {
                reason: format!(
                    "a flat tube is at least as wide as high: got width {}, height {}; try to swap them",
                    s.width, s.height
                ),
            }),
            Self::Annulus(s) if s.inner.m() < s.outer.m() => Ok(SectionShape::Annulus {
                inner_m: s.inner.m(),
                outer_m: s.outer.m(),
            }),
            Self::Annulus(s) => Err(SectionError {
                reason: format!(
                    "the inner tube fills the outer one: got inner {}, outer {}",
                    s.inner, s.outer
                ),
            }),
        }
    }

    /// A round bore.
    pub fn bore(bore: Length) -> Self {
        Self::Round(RoundSection {
            bore: Some(bore),
            ..RoundSection::default()
        })
    }
}

/// One kind of fitting on a hose, with how many there are.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Fitting {
    /// A 90 degree elbow, short (bend radius about the bore).
    #[serde(rename = "elbow_90")]
    Elbow90(Count),
    /// A 90 degree elbow with a long radius (1.5 times the bore or more).
    #[serde(rename = "long_elbow_90")]
    LongElbow90(Count),
    /// A 45 degree elbow.
    #[serde(rename = "elbow_45")]
    Elbow45(Count),
    /// A mitred 90 degree corner.
    #[serde(rename = "mitre_90")]
    Mitre90(Count),
    /// A hose barb or spigot: contraction into its bore and expansion out of it.
    Barb(BoreCount),
    /// A sharp-edged entrance from a tank or large box.
    Entrance(Count),
    /// An exit into a tank or large box.
    Exit(Count),
    /// A sudden change from the hose bore to another bore that stays (the next part has it).
    ReducerTo(BoreCount),
    /// Any fitting with a known loss coefficient on the velocity head in the hose.
    Loss(LossCount),
}

/// How many fittings.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Count {
    /// How many (default 1).
    #[cfg_attr(test, schemars(range(min = 1, max = 1000)))]
    pub count: Option<u32>,
}

/// A fitting with a bore of its own.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct BoreCount {
    /// Inside diameter of the fitting.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub bore: Length,
    /// How many (default 1).
    #[cfg_attr(test, schemars(range(min = 1, max = 1000)))]
    pub count: Option<u32>,
}

/// A fitting with a stated loss coefficient.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct LossCount {
    /// Loss coefficient on the velocity head in the hose.
    #[cfg_attr(test, schemars(range(min = 0.0)))]
    pub coefficient: f64,
    /// How many (default 1).
    #[cfg_attr(test, schemars(range(min = 1, max = 1000)))]
    pub count: Option<u32>,
}

/// Reynolds number at which `K1/Re` equals `K` for a stated coefficient (common practice, no source).
pub const STATED_LAMINAR_REYNOLDS: f64 = 50.0;

fn either_way(loss: TwoConstant) -> Directional {
    one_way(loss, loss)
}

fn one_way(forward: TwoConstant, backward: TwoConstant) -> Directional {
    Directional { forward, backward }
}

impl Fitting {
    /// The loss on a conduit of this shape.
    pub fn loss(&self, shape: &SectionShape) -> TwoTerm {
        let (d, area) = (shape.hydraulic_diameter_m(), shape.area_m2());
        let edge = SharpEdge::default();
        let (one, count): (Directional, _) = match self {
            Self::Elbow90(c) => (either_way(elbow_90(ElbowMake::Short, d)), c.count),
            Self::LongElbow90(c) => (either_way(elbow_90(ElbowMake::Long, d)), c.count),
            Self::Elbow45(c) => (either_way(elbow_45(ElbowMake::Long, d)), c.count),
            Self::Mitre90(c) => (either_way(elbow_90(ElbowMake::Mitre, d)), c.count),
            Self::Entrance(c) => (one_way(sharp_entrance(edge), exit()), c.count),
            Self::Exit(c) => (one_way(exit(), sharp_entrance(edge)), c.count),
            Self::Barb(b) => (barb(d, b.bore.m(), d, 0.0, edge), b.count),
            Self::ReducerTo(b) => (bore_step(d, b.bore.m(), edge), b.count),
            Self::Loss(l) => (
                either_way(TwoConstant {
                    k_laminar: STATED_LAMINAR_REYNOLDS * l.coefficient,
                    k_turbulent: l.coefficient,
                }),
                l.count,
            ),
        };
        // The laminar constants of both ways are alike but for area changes; the larger is taken.
        let k_laminar = one.forward.k_laminar.max(one.backward.k_laminar);
        TwoTerm::on_bore(
            k_laminar,
            one.forward.k_turbulent,
            one.backward.k_turbulent,
            d,
            area,
        )
        .times(f64::from(count.unwrap_or(1)))
    }
}

/// A conduit of known shape: what hoses, tails and header segments are lowered from.
#[derive(Clone, Debug, PartialEq)]
pub struct Conduit {
    /// Shape of the passage.
    pub shape: SectionShape,
    /// Length, m.
    pub length_m: f64,
    /// Wall roughness, m.
    pub roughness_m: f64,
    /// Hazen-Williams coefficient, used only where the design chose that law.
    pub hazen_williams_c: f64,
    /// Equal conduits side by side.
    pub parallel: f64,
}

impl Conduit {
    /// The law of its wall friction.
    pub fn friction(&self, friction: &WallFriction) -> Law {
        match friction.law {
            PipeLaw::DarcyWeisbach => Law::Duct(DuctShape {
                area_m2: self.shape.area_m2(),
                hydraulic_diameter_m: self.shape.hydraulic_diameter_m(),
                length_m: self.length_m,
                roughness_m: self.roughness_m,
                laminar_constant: self.shape.laminar_constant(),
                parallel: self.parallel,
                model: friction.factor,
                entrance: friction.entrance,
            }),
            PipeLaw::HazenWilliams => Law::HazenWilliams(HazenWilliams {
                length_m: self.length_m,
                bore_m: self.shape.hydraulic_diameter_m(),
                c: self.hazen_williams_c,
                parallel: self.parallel,
            }),
        }
    }

    /// A stated Darcy friction factor in place of a law.
    pub fn stated_friction(&self, factor: f64) -> Law {
        let (d, area) = (self.shape.hydraulic_diameter_m(), self.shape.area_m2());
        let k = factor * self.length_m / d;
        Law::TwoTerm(
            TwoTerm::on_bore(STATED_FRICTION_LAMINAR_REYNOLDS * k, k, k, d, area)
                .shared_by(self.parallel),
        )
    }

    /// The smallest inside width, m.
    pub fn smallest_width_m(&self) -> f64 {
        match self.shape {
            SectionShape::Round { bore_m } => bore_m,
            SectionShape::Rectangle { width_m, height_m }
            | SectionShape::FlatTube { width_m, height_m } => width_m.min(height_m),
            SectionShape::Annulus { inner_m, outer_m } => 0.5 * (outer_m - inner_m),
        }
    }

    /// Coolant held, m3.
    pub fn volume_m3(&self) -> f64 {
        self.shape.area_m2() * self.length_m * self.parallel
    }
}
