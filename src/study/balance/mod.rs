//! Balancing: a drilled disc at the start of each branch, so that flows meet a target with one branch left open.

mod bench;
mod bore;
mod drill;
mod question;
mod real;
mod run;
mod settle;

pub use bore::{Bore, bore_for};
pub use drill::{Drill, DrillSet, Named, fraction, nearest};
pub use question::{
    BalanceAnswer, BalanceQuestion, BalanceState, Disc, Reached, STRAINER_BORE_M, Target, Tolerance,
};
pub use run::run;
