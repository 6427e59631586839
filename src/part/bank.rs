//! Bank: two headers and the modules between them. Expanded into segments, tees, tails and circuits by `network`.

use super::conduit::{
    Conduit, DRAWN_TUBE_ROUGHNESS_M, InsideSizes, RoundSection, SMOOTH_TUBE_C, Section,
    SquareSection,
};
use super::hose::Tail;
use super::record::two_end_part;
use super::tee::TeeLosses;
use crate::correlation::tees::TeeShape;
use crate::quantity::{Current, Length};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A header tube: exactly one of `round`, `square`, `rectangle`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Header {
    /// A round tube.
    pub round: Option<RoundSection>,
    /// A square tube.
    pub square: Option<SquareSection>,
    /// A rectangular tube, by its inside sizes.
    pub rectangle: Option<InsideSizes>,
    /// Wall roughness (default 1.5 um: drawn tube).
    #[schemars(extend("x-at-least" = 0))]
    pub roughness: Option<Length>,
}

impl Header {
    /// The section, where exactly one is given.
    ///
    /// # Errors
    /// A sentence saying what to give.
    pub fn section(&self) -> Result<Section, String> {
        match (&self.round, &self.square, &self.rectangle) {
            (Some(s), None, None) => Ok(Section::Round(s.clone())),
            (None, Some(s), None) => Ok(Section::Square(s.clone())),
            (None, None, Some(s)) => Ok(Section::Rectangle(s.clone())),
            _ => Err("cannot tell the header's section: give exactly one of `round`, `square` and `rectangle`".into()),
        }
    }

    /// One piece of the header between two ports.
    ///
    /// # Errors
    /// A sentence saying what is wrong with the section.
    pub fn segment(&self, length_m: f64) -> Result<Conduit, String> {
        Ok(Conduit {
            shape: self.section()?.shape().map_err(|e| e.reason)?,
            length_m,
            roughness_m: self.roughness.map_or(DRAWN_TUBE_ROUGHNESS_M, |r| r.m()),
            hazen_williams_c: SMOOTH_TUBE_C,
            parallel: 1.0,
        })
    }
}

/// Where the return header is drawn off, seen from the end at which the supply header is fed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Layout {
    /// In and out at the same end.
    #[default]
    SameEnd,
    /// In at one end, out at the other.
    OppositeEnd,
}

two_end_part! {
    /// Bank: a supply header, modules in parallel, a return header.
    pub struct Bank {
        /// The module, by its name under `modules`.
        pub module: String,
        /// How many modules.
        #[schemars(range(min = 1, max = 10000))]
        pub count: u32,
        /// Both headers, where they are alike.
        pub header: Option<Header>,
        /// The supply header, where it differs from the return header.
        pub supply_header: Option<Header>,
        /// The return header, where it differs from the supply header.
        pub return_header: Option<Header>,
        /// Distance between neighbouring ports along a header; every circuit has a port of its own.
        #[schemars(extend("x-above" = 0))]
        pub port_pitch: Length,
        /// Distance from the fed end of a header to its first port (default: the pitch).
        #[schemars(extend("x-above" = 0))]
        pub first_port: Option<Length>,
        /// Inside diameter of a port (default: the bore of its tail).
        #[schemars(extend("x-above" = 0))]
        pub port_bore: Option<Length>,
        /// Where the return header is drawn off (default: the same end).
        pub layout: Option<Layout>,
        /// Supply and return tail of every circuit, where they are alike.
        pub tail: Option<Tail>,
        /// Supply tail of every circuit, where it differs from the return tail.
        pub supply_tail: Option<Tail>,
        /// Return tail of every circuit, where it differs from the supply tail.
        pub return_tail: Option<Tail>,
        /// Current through each module, in place of the case's `module_current` (parallel strings).
        pub current: Option<Current>,
        /// Loss coefficients of the header tees, in place of those of the design.
        pub losses: Option<TeeLosses>,
    }
}

/// The two sides of a bank.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// From the inlet to the modules.
    Supply,
    /// From the modules to the outlet.
    Return,
}

impl Side {
    /// The word used in the names of expanded parts.
    pub fn word(self) -> &'static str {
        match self {
            Self::Supply => "supply",
            Self::Return => "return",
        }
    }
}

impl Bank {
    /// The header of one side.
    ///
    /// # Errors
    /// A sentence naming the keys to give.
    pub fn header_of(&self, side: Side) -> Result<&Header, String> {
        let own = match side {
            Side::Supply => &self.supply_header,
            Side::Return => &self.return_header,
        };
        match (own, &self.header) {
            (Some(own), None) => Ok(own),
            (None, Some(both)) => Ok(both),
            (Some(_), Some(_)) => Err(format!(
                "cannot use both `header` and `{}_header`; give `header` alone, or `supply_header` and `return_header`",
                side.word()
            )),
            (None, None) => Err(format!(
                "cannot tell the {} header: give `header`, or `supply_header` and `return_header`",
                side.word()
            )),
        }
    }

    /// The tail of one side; a bank without tails has its modules straight on the header.
    ///
    /// # Errors
    /// A sentence naming the keys that stand against each other.
    pub fn tail_of(&self, side: Side) -> Result<Option<&Tail>, String> {
        let own = match side {
            Side::Supply => &self.supply_tail,
            Side::Return => &self.return_tail,
        };
        match (own, &self.tail) {
            (Some(_), Some(_)) => Err(format!(
                "cannot use both `tail` and `{}_tail`; give `tail` alone, or `supply_tail` and `return_tail`",
                side.word()
            )),
            (own, both) => Ok(own.as_ref().or(both.as_ref())),
        }
    }

    /// Port diameter of one side, m.
    ///
    /// # Errors
    /// A sentence when neither a port bore nor a tail says it.
    pub fn port_bore_m(&self, side: Side) -> Result<f64, String> {
        match (self.port_bore, self.tail_of(side)?) {
            (Some(bore), _) => Ok(bore.m()),
            (None, Some(tail)) => Ok(tail.bore.m()),
            (None, None) => {
                Err("cannot tell the port's bore: give `port_bore`, or a `tail`".into())
            }
        }
    }

    /// The tees of one side's header.
    ///
    /// # Errors
    /// A sentence when the port does not fit into the header.
    pub fn tee_shape(&self, side: Side) -> Result<TeeShape, String> {
        let header = self.header_of(side)?.segment(1.0)?;
        let port = self.port_bore_m(side)?;
        let width = header.smallest_width_m();
        if port > width * (1.0 + 1e-9) {
            return Err(format!(
                "a port of {:.1} mm does not fit into a {} header of {:.1} mm inside; try a larger header or a smaller port",
                port * 1e3,
                side.word(),
                width * 1e3
            ));
        }
        Ok(TeeShape {
            a_area_m2: header.shape.area_m2(),
            b_area_m2: header.shape.area_m2(),
            side_area_m2: 0.25 * std::f64::consts::PI * port * port,
            angle_rad: std::f64::consts::FRAC_PI_2,
        })
    }
}
