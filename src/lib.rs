//! Loopwright: the coolant loops of a battery vehicle as a network of pumps, hoses, headers, modules and divided
//! radiators, solved for flows, pressures and temperatures before anything is cut or welded.
//!
//! A design file goes in ([`design::Source`]), becomes a checked network ([`Network`]) and is solved case by case
//! ([`Solver`]); a [`Solution`] tells what flows where, how hot, and how well mass and energy close. [`study`] asks the
//! builder's questions of it, [`report`] says the answers. The [`handbook`] has the physics, the file and the checks.
//!
//! ```
//! use loopwright::{Network, Solver, design::Source};
//! let text = r#"{ "format": 1, "title": "bucket", "coolants": { "water": { "water": {} } },
//!   "loops": { "bench": { "coolant": "water",
//!     "parts": { "mains": { "open_end": { "pressure": "20 kPa" } }, "bucket": { "open_end": {} },
//!                "hose": { "hose": { "bore": "12 mm", "length": "3 m" } } },
//!     "runs": [["mains", "hose", "bucket"]] } },
//!   "cases": { "cold tap": { "air": "12 degC" } } }"#;
//! let source = Source::read(text).unwrap();
//! let network = Network::build(&source.design).unwrap();
//! let solution = Solver::new(&network).solve(&network.cases()[0]).unwrap();
//! assert!(solution.part("bench", "hose").unwrap().volume_flow_m3_s > 2e-4);
//! ```

pub mod correlation;
pub mod design;
pub mod explain;
pub mod finding;
pub mod fluid;
pub mod id;
pub mod network;
pub mod part;
pub mod place;
pub mod quantity;
pub mod report;
pub mod solve;
pub mod starter;
pub mod study;

pub use design::Design;
pub use finding::Finding;
pub use fluid::Coolant;
pub use id::PartId;
pub use network::{Case, Network};
pub use part::Part;
pub use place::Place;
pub use quantity::{
    AbsolutePressure, GaugePressure, Length, PressureDifference, Temperature,
    TemperatureDifference, UnitFamily, VolumeFlow,
};
pub use report::Report;
pub use solve::{Solution, SolveError, Solver};

/// The handbook: what is computed, how a design is written, and what the results were checked against.
pub mod handbook {
    #[doc = include_str!("handbook/physics.md")]
    pub mod physics {}
    #[doc = include_str!("handbook/file.md")]
    pub mod file {}
    #[doc = include_str!("handbook/partition.md")]
    pub mod partition {}
    #[doc = include_str!("handbook/studies.md")]
    pub mod studies {}
    #[doc = include_str!("handbook/tutorial.md")]
    pub mod tutorial {}
    #[doc = include_str!("handbook/validation.md")]
    pub mod validation {}
}

/// The examples of the README, compiled and run.
#[cfg(doctest)]
#[doc = include_str!("../README.md")]
struct Readme;
