//! Marching in time: an integrator for heat that is stored and exchanged, and a vehicle as such a thing.
//! `step.rs` and `control.rs` know no hose; `state.rs` does.

mod circuit;
mod control;
mod state;
mod step;
mod through;
mod told;

pub use control::{MarchEffort, MarchError, Moment, StepChoice, TimeOptions, march};
pub(super) use state::VehicleMarch;
pub use step::{STAGE_SHARE, Storing, Through};
