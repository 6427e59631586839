//! Published correlations as pure functions of numbers: friction, fittings, tees, valves, heat transfer.
//!
//! Every file holds one family and names its sources. Nothing here knows a coolant, a part or a
//! network: densities, viscosities and lengths come in as SI `f64`, drops and coefficients go out,
//! with their slopes where the solver needs them.

pub mod area_change;
pub mod convection;
pub mod core_streams;
mod crossflow;
pub mod dimples;
pub mod duct;
mod duct_batch;
pub mod effectiveness;
pub mod entrance;
pub mod fin_channels;
pub mod fins;
pub mod fittings;
pub mod friction;
pub mod hazen_williams;
pub mod laminar;
pub mod orifice;
pub mod tees;
pub mod valve;

pub use area_change::{Directional, SharpEdge, barb, bore_step};
pub use convection::{DuctSection, WallCondition, duct_nusselt};
pub use core_streams::{CoreStreams, core_conductance_w_k, core_effectiveness};
pub use duct::{DuctShape, duct_drop_pa};
pub use duct_batch::{DuctBatch, DuctSums, InstructionSet};
pub use effectiveness::{Arrangement, EffectivenessError, effectiveness, ntu};
pub use entrance::EntranceFriction;
pub use fin_channels::FinChannels;
pub use fittings::{TwoConstant, loss_drop_pa};
pub use friction::{FrictionModel, Sloped, friction_factor};
pub use hazen_williams::{
    HazenWilliamsLimit, hazen_williams_drop_pa, hazen_williams_outside_range,
};
pub use laminar::SectionShape;
pub use orifice::{IsoOrifice, OrificeError, iso_5167_orifice, restrictor_loss};
pub use valve::{FitError, TwoTermFit, quadratic_from_kv, two_term_fit, two_term_from_point};
