//! Studies: questions a builder asks, each with its inputs, `run` and an answer of its own. They compute and print nothing.

mod advice;
pub mod balance;
pub mod band;
pub mod bucket;
pub mod cases;
pub mod check;
pub mod compare;
mod crew;
pub mod cut_list;
mod error;
pub mod fill;
pub mod job;
mod judged;
pub mod layout;
pub mod ledger;
mod limit_row;
pub mod limiting;
mod limits;
pub mod partition;
mod readout;
pub mod season;
pub mod sensitivity;
pub mod shut_off;
pub mod size;
mod spell;
pub mod sweep;
pub mod system_curve;
pub mod time;
pub mod volume;

pub use crew::on_all_threads;
pub use error::StudyError;
pub use judged::{Counting, Floor, Judged, LimitKey, Weighed};
pub use limit_row::{LimitRow, LimitSide, Measure, Verdict};
pub use limits::judge;
pub use readout::{Judging, Readout, Solved, solve_case};
