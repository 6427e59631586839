//! Bank: two headers and the modules between them. Expanded into segments, tees, tails and circuits by `network`.

use super::devices::Restrictor;
use super::header::{Header, HeaderEnd};
use super::hose::Tail;
use super::record::two_end_part;
use super::tee::TeeLosses;
use crate::quantity::{Current, Length};
use serde::{Deserialize, Serialize};

/// Where the return header is drawn off, seen from the end at which the supply header is fed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Layout {
    /// In and out at the same end.
    #[default]
    SameEnd,
    /// In at one end, out at the other.
    OppositeEnd,
    /// In and out at the middle.
    Centre,
}

two_end_part! {
    /// Bank: a supply header, modules in parallel, a return header.
    pub struct Bank {
        /// The module, by its name under `modules`.
        pub module: String,
        /// How many modules.
        #[cfg_attr(test, schemars(range(min = 1, max = 10000)))]
        pub count: u32,
        /// Modules one after another in each branch (default 1).
        #[cfg_attr(test, schemars(range(min = 1, max = 100)))]
        pub series: Option<u32>,
        /// Both headers, where they are alike.
        pub header: Option<Header>,
        /// The supply header, where it differs from the return header.
        pub supply_header: Option<Header>,
        /// The return header, where it differs from the supply header.
        pub return_header: Option<Header>,
        /// Distance between neighbouring ports along a header; every circuit has a port of its own.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub port_pitch: Option<Length>,
        /// Distance from the near end of a header to its first port (default: the pitch).
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub first_port: Option<Length>,
        /// Distance of every port from the near end, rising, in place of pitch and first port.
        pub port_positions: Option<Vec<Length>>,
        /// Rows of ports along a header (default 1); with 2, two ports lie opposite each other at every place.
        #[cfg_attr(test, schemars(range(min = 1, max = 4)))]
        pub rows: Option<u32>,
        /// Inside diameter of a port (default: the bore of its tail).
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub port_bore: Option<Length>,
        /// Outside diameter of a port's spigot (default: its bore and 3 mm), for its room on the header and what it
        /// blocks inside.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub port_outside: Option<Length>,
        /// How far the spigots stand into the header (default 0: flush).
        #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
        pub port_protrusion: Option<Length>,
        /// Where the return header is drawn off (default: the same end); or `feed` and `return` say it.
        pub layout: Option<Layout>,
        /// Where the supply header is fed, in place of `layout`.
        pub feed: Option<HeaderEnd>,
        /// Where the return header is drawn off, in place of `layout`.
        #[serde(rename = "return")]
        pub draw_off: Option<HeaderEnd>,
        /// Inside diameter where a header is fed or drawn off between ports (default: as wide as the header).
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub middle_bore: Option<Length>,
        /// Supply and return tail of every branch, where they are alike.
        pub tail: Option<Tail>,
        /// Supply tail of every branch, where it differs from the return tail.
        pub supply_tail: Option<Tail>,
        /// Return tail of every branch, where it differs from the supply tail.
        pub return_tail: Option<Tail>,
        /// Hose between two modules of a branch in series (default: none).
        pub link: Option<Tail>,
        /// Modules that differ from the rest: blocked, missing, another kind, other tails.
        #[serde(default)]
        pub exceptions: Vec<ModuleException>,
        /// Drilled discs at the start of branches, by port, to even out their flows.
        #[serde(default)]
        pub restrictors: Vec<PortRestrictor>,
        /// Current through each module, in place of the case's `module_current` (parallel strings).
        pub current: Option<Current>,
        /// Loss coefficients of the header tees, in place of those of the design.
        pub losses: Option<TeeLosses>,
    }
}

/// A module that differs from the rest of its bank.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ModuleException {
    /// Which module, counted from 1.
    #[cfg_attr(test, schemars(range(min = 1, max = 10000)))]
    pub place: u32,
    /// Another module, by its name under `modules`, with as many circuits.
    pub module: Option<String>,
    /// Blocked: nothing flows, but it is there and heats. Missing: its ports are capped.
    pub state: Option<ModuleFault>,
    /// Its supply tail.
    pub supply_tail: Option<Tail>,
    /// Its return tail.
    pub return_tail: Option<Tail>,
}

/// A drilled disc where a branch leaves the supply header.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct PortRestrictor {
    /// The port of the supply header, counted from 1 at the near end.
    #[cfg_attr(test, schemars(range(min = 1, max = 100000)))]
    pub port: u32,
    /// Diameter of the hole.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub bore: Length,
    /// Length of the hole, the thickness of the disc (default 1.5 mm).
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub thickness: Option<Length>,
}

/// Thickness of a disc where none is stated, m (common practice, no source).
pub const DISC_THICKNESS_M: f64 = 1.5e-3;

impl PortRestrictor {
    /// The restrictor in a pipe of this bore.
    pub fn in_pipe(&self, pipe_bore_m: f64) -> Restrictor {
        Restrictor {
            bore: self.bore,
            pipe_bore: Length::from_m(pipe_bore_m),
            thickness: self.thickness.unwrap_or(Length::from_m(DISC_THICKNESS_M)),
            elevation: None,
            inlet_elevation: None,
            outlet_elevation: None,
            origin: None,
        }
    }
}

/// What is wrong with a module.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum ModuleFault {
    /// The first circuit lets nothing through.
    FirstCircuitBlocked,
    /// No circuit lets anything through.
    Blocked,
    /// The module is not there and its ports are capped.
    Missing,
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

/// Wall of a spigot where only its bore is given, both sides together, m (common practice, no source).
const SPIGOT_WALLS_M: f64 = 3.0e-3;

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
                "cannot tell the {} header because none is given; give `header`, or `supply_header` and `return_header`",
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

    /// Outside diameter of a spigot of one side, m.
    ///
    /// # Errors
    /// As [`Bank::port_bore_m`].
    pub fn port_outside_m(&self, side: Side) -> Result<f64, String> {
        let bore = self.port_bore_m(side)?;
        Ok(self.port_outside.map_or(bore + SPIGOT_WALLS_M, |d| d.m()))
    }

    /// Where the headers are fed and drawn off.
    ///
    /// # Errors
    /// A sentence when `layout` stands beside `feed` or `return`.
    pub fn ends(&self) -> Result<(HeaderEnd, HeaderEnd), String> {
        match (self.layout, self.feed, self.draw_off) {
            (Some(_), Some(_), _) | (Some(_), _, Some(_)) => Err(
                "cannot use `layout` beside `feed` or `return`; keep `layout`, or say both ends"
                    .into(),
            ),
            (layout, None, None) => Ok(match layout.unwrap_or_default() {
                Layout::SameEnd => (HeaderEnd::NearEnd, HeaderEnd::NearEnd),
                Layout::OppositeEnd => (HeaderEnd::NearEnd, HeaderEnd::FarEnd),
                Layout::Centre => (HeaderEnd::Middle, HeaderEnd::Middle),
            }),
            (None, feed, draw_off) => Ok((
                feed.unwrap_or(HeaderEnd::NearEnd),
                draw_off.unwrap_or(HeaderEnd::NearEnd),
            )),
        }
    }
}
