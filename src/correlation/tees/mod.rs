//! Total-pressure losses of tees: three legs, any angle, any flow pattern, with their derivatives.
//!
//! [`tee`] gives the three total pressures for three flows, continuous with its slope over every
//! pattern and reversal. The coefficient functions of the published models stand beside it.
//! It knows no network, part or fluid: areas, an angle, a density and flows are all it sees.

mod blend;
mod coefficients;
mod handbook;
mod loss;
mod momentum;
mod pattern;
mod shape;

pub use blend::{ARM_BLEND_SHARE, SIDE_BLEND_SHARE, TeeState, tee, tee_eased};
pub use coefficients::{
    coefficients_combining_lateral, coefficients_combining_run, coefficients_dividing_lateral,
    coefficients_dividing_run,
};
pub use handbook::{
    HANDBOOK_BRIDGE_WIDTH, handbook_combining_lateral, handbook_combining_run,
    handbook_dividing_lateral, handbook_dividing_run,
};
pub use momentum::{
    momentum_combining_lateral, momentum_combining_run, momentum_dividing_lateral,
    momentum_dividing_run,
};
pub use pattern::TeePattern;
pub use shape::{TeeError, TeeLeg, TeeModel, TeeShape, tee_check};
