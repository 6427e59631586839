//! Studies: questions a builder asks, each with its inputs, `run` and an answer of its own. They compute and print nothing.

mod advice;
pub mod band;
pub mod check;
pub mod compare;
pub mod layout;
mod limits;
pub mod partition;
mod readout;
pub mod shut_off;
pub mod sweep;
pub mod time;
pub mod volume;

pub use limits::{LimitRow, LimitSide, Measure, Verdict, judge};
pub use readout::{Judged, Readout, Solved, solve_case};
