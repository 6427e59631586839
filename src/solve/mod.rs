//! The solver: flows and total pressures by Newton over a sparse matrix, heat as carried enthalpy, both in passes.
//! It knows networks, never documents, and prints nothing.

mod air;
mod air_findings;
mod air_view;
mod case_state;
mod closure;
mod converge;
mod couple;
mod draws;
mod error;
mod exchange;
mod findings;
mod flow;
mod gates;
mod header_view;
mod hottest;
mod hydraulic;
mod layout;
mod linear;
mod loop_heat;
mod loop_view;
mod margins;
mod meeting;
mod mix;
mod newton;
mod numbers;
mod options;
mod passes;
mod pipework;
mod plates;
mod second;
mod sensitivity;
mod sink;
mod solution;
mod solver;
mod states;
mod thermal;
mod thermostat;
pub mod transient;

pub use case_state::{AirState, Carried, CaseState, LoopState};
pub use closure::Closure;
pub use error::SolveError;
pub(crate) use header_view::first_farthest;
pub use header_view::{BankState, Cause, Unevenness, WorstBranch};
pub use hottest::{HotCause, HottestModule};
pub use margins::{BoilingMargin, ExchangerState, ThermostatState};
pub use meeting::{Meeting, Tanks};
pub use options::Options;
pub use pipework::{PipeFlows, PipeSlopes, PipeStart, PipeworkSolver};
pub use second::{BranchPair, SecondAnswer};
pub use sensitivity::{Gradient, Linearised, NoSlopes, SlopesRoom, Unknown};
pub use solution::Solution;
pub(crate) use solution::{deviation_of, spread_of};
pub use solver::{Solver, SolverRoom};
pub use states::{
    CoreSides, CoreState, EffortSum, FanState, LeakState, PartState, PointState, PumpState,
};
