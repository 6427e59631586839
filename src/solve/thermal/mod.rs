//! Temperatures of one loop at known flows: enthalpy carried along branches, mixed at nodes, exchanged with parts.

mod part;
mod rows;
mod solve;
mod state;

pub use part::{HeatInput, part_heat, usable_w_k};
pub use rows::{Rows, balance, follow};
pub use solve::{HeatRoom, Wanted, left_after, solve_heat};
pub use state::{HeatState, RESTING_SHARE, forward_part, mixing_width};
