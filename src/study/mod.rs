//! Studies: questions a builder asks, each with its inputs, `run` and an answer of its own. They compute and print nothing.

mod advice;
pub mod band;
pub mod check;
pub mod layout;
mod limits;
pub mod partition;
pub mod shut_off;
pub mod time;
pub mod volume;

pub use limits::{LimitRow, LimitSide, Measure, Verdict, judge};
