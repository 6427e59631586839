//! A header tube: its section along its length, straight, tapered or stepped, and where it is fed or drawn off.

use super::conduit::{
    Conduit, DRAWN_TUBE_ROUGHNESS_M, InsideSizes, RoundSection, SMOOTH_TUBE_C, Section,
    SquareSection,
};
use crate::correlation::SectionShape;
use crate::quantity::Length;
use serde::{Deserialize, Serialize};

/// A header tube: exactly one of `round`, `square`, `rectangle`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Header {
    /// A round tube.
    pub round: Option<RoundSection>,
    /// A square tube.
    pub square: Option<SquareSection>,
    /// A rectangular tube, by its inside sizes.
    pub rectangle: Option<InsideSizes>,
    /// Wall roughness (default 1.5 um: drawn tube).
    #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
    pub roughness: Option<Length>,
    /// Whole inside length from the near end to the far end (default: the last port and as much beyond it as lies
    /// before the first).
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub length: Option<Length>,
    /// Section at the far end of a tapered header, of the same kind; sizes change evenly along the length.
    pub taper_to: Option<TubeSection>,
    /// Sections that begin at a port and hold to the far end or the next step.
    #[serde(default)]
    pub steps: Vec<HeaderStep>,
}

/// A tube by its section: exactly one of `round`, `square`, `rectangle`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct TubeSection {
    /// A round tube.
    pub round: Option<RoundSection>,
    /// A square tube.
    pub square: Option<SquareSection>,
    /// A rectangular tube, by its inside sizes.
    pub rectangle: Option<InsideSizes>,
}

/// A step in a header: another section from a port on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct HeaderStep {
    /// The first port, counted from 1 at the near end, that has the new section.
    #[cfg_attr(test, schemars(range(min = 2, max = 100000)))]
    pub from_port: u32,
    /// The new section.
    pub section: TubeSection,
}

/// Where a header is fed or drawn off. The near end is the one before port 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum HeaderEnd {
    /// At the near end.
    NearEnd,
    /// At the far end.
    FarEnd,
    /// In the middle, between the two middle ports.
    Middle,
    /// Between this port and the next, counted from 1 at the near end.
    AfterPort(u32),
}

impl TubeSection {
    /// The section, where exactly one is given.
    ///
    /// # Errors
    /// A sentence saying what to give.
    pub fn section(&self) -> Result<Section, String> {
        match (&self.round, &self.square, &self.rectangle) {
            (Some(s), None, None) => Ok(Section::Round(s.clone())),
            (None, Some(s), None) => Ok(Section::Square(s.clone())),
            (None, None, Some(s)) => Ok(Section::Rectangle(s.clone())),
            (None, None, None) => Err(
                "cannot tell the header's section because none is given; give `round`, `square` or `rectangle`".into(),
            ),
            _ => {
                let given = [
                    ("`round`", self.round.is_some()),
                    ("`square`", self.square.is_some()),
                    ("`rectangle`", self.rectangle.is_some()),
                ];
                let given: Vec<&str> = given.iter().filter(|g| g.1).map(|g| g.0).collect();
                Err(format!(
                    "cannot tell the header's section because {} are given; keep one",
                    given.join(" and ")
                ))
            }
        }
    }

    fn shape(&self) -> Result<SectionShape, String> {
        self.section()?.shape().map_err(|e| e.reason)
    }
}

impl Header {
    fn base(&self) -> TubeSection {
        TubeSection {
            round: self.round.clone(),
            square: self.square.clone(),
            rectangle: self.rectangle.clone(),
        }
    }

    /// The section at the near end.
    ///
    /// # Errors
    /// A sentence saying what to give.
    pub fn section(&self) -> Result<Section, String> {
        self.base().section()
    }

    /// The passage at a port (counted from 0) that lies at a share `along` of the header's length, 0 to 1.
    ///
    /// # Errors
    /// A sentence about the section, about a taper between unlike sections, or about taper and steps together.
    pub fn shape_at(&self, port: usize, along: f64) -> Result<SectionShape, String> {
        if self.taper_to.is_some() && !self.steps.is_empty() {
            return Err("cannot use both `taper_to` and `steps`; keep one".into());
        }
        let base = self.base().shape()?;
        if let Some(end) = &self.taper_to {
            return between(&base, &end.shape()?, along.clamp(0.0, 1.0));
        }
        let step = self
            .steps
            .iter()
            .filter(|s| s.from_port as usize <= port + 1)
            .max_by_key(|s| s.from_port);
        step.map_or(Ok(base), |s| s.section.shape())
    }

    /// A piece of header of this shape.
    pub fn piece(&self, shape: SectionShape, length_m: f64) -> Conduit {
        Conduit {
            shape,
            length_m,
            roughness_m: self.roughness.map_or(DRAWN_TUBE_ROUGHNESS_M, |r| r.m()),
            hazen_williams_c: SMOOTH_TUBE_C,
            parallel: 1.0,
        }
    }
}

/// The section a share of the way from one to another of the same kind.
fn between(from: &SectionShape, to: &SectionShape, along: f64) -> Result<SectionShape, String> {
    let mix = |a: f64, b: f64| a + along * (b - a);
    match (*from, *to) {
        (SectionShape::Round { bore_m: a }, SectionShape::Round { bore_m: b }) => {
            Ok(SectionShape::Round { bore_m: mix(a, b) })
        }
        (
            SectionShape::Rectangle {
                width_m: aw,
                height_m: ah,
            },
            SectionShape::Rectangle {
                width_m: bw,
                height_m: bh,
            },
        ) => Ok(SectionShape::Rectangle {
            width_m: mix(aw, bw),
            height_m: mix(ah, bh),
        }),
        _ => Err(
            "cannot taper between unlike sections; give `taper_to` the same kind as the header"
                .into(),
        ),
    }
}
