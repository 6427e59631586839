//! What is asked of a balance, and its answer.

use super::drill::{Drill, DrillSet, Named};
use crate::solve::SolveError;

/// A hole smaller than this clogs without a strainer, m (common practice, no source).
pub const STRAINER_BORE_M: f64 = 2.5e-3;

/// What the flows are to be.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Target {
    /// All alike.
    #[default]
    Equal,
    /// In proportion to the heat of each branch.
    Heat,
}

/// What to balance.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BalanceQuestion {
    /// The loop (default: the only one with banks).
    pub owner: Option<String>,
    /// Only these banks (default: all of the loop, against each other too).
    pub banks: Vec<String>,
    /// What the flows are to be.
    pub target: Target,
    /// Thickness of the discs, m (default 1.5 mm).
    pub thickness_m: Option<f64>,
    /// The drills at hand.
    pub drills: DrillSet,
    /// Largest deviation from the target to hold, warm and cold (default: the design's `module_flow_deviation`, or 0.05).
    pub within: Option<f64>,
    /// Least flow that each branch must get, warm, m3/s (default: none).
    pub least_flow_m3_s: Option<f64>,
    /// Cold coolant, K (default -20 degC, or 3 K above freezing).
    pub cold_k: Option<f64>,
    /// Warm coolant, at which the discs are sized, K (default 50 degC).
    pub warm_k: Option<f64>,
    /// Only these cases (default: all steady ones); the first with heat gives the heat of the branches.
    pub cases: Vec<String>,
}

/// What a hole drilled off its size does to its branch, warm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tolerance {
    /// Change of the branch's flow with a hole 0.1 mm smaller, as a share.
    pub smaller: Option<f64>,
    /// The same, 0.1 mm larger.
    pub larger: Option<f64>,
}

/// One branch and its disc.
#[derive(Clone, Debug, PartialEq)]
pub struct Disc {
    /// The bank.
    pub bank: String,
    /// The port of the supply header, counted from 1.
    pub port: u32,
    /// The first circuit of the branch: `mid.module 3.circuit 1`.
    pub circuit: String,
    /// Inside diameter of the pipe that it sits in, m.
    pub pipe_bore_m: f64,
    /// Share of the whole flow that it is to get.
    pub share: f64,
    /// Flow over target before, warm and cold.
    pub before: (f64, f64),
    /// The hole that meets the target, m; none for the branch left open.
    pub exact_m: Option<f64>,
    /// Drop that it is to take, Pa.
    pub drop_pa: f64,
    /// The drill that is taken; none where the branch is left open.
    pub drill: Option<Drill>,
    /// The nearest inch drills to the exact hole.
    pub named: Option<Named>,
    /// Flow over target with the drills, warm and cold.
    pub after: (f64, f64),
    /// Flow with the drills, warm, m3/s.
    pub flow_m3_s: f64,
    /// What 0.1 mm does.
    pub tolerance: Tolerance,
}

impl Disc {
    /// Whether the hole wants a strainer before it.
    pub fn wants_strainer(&self) -> bool {
        self.drill
            .as_ref()
            .is_some_and(|d| d.bore_m < STRAINER_BORE_M)
    }
}

/// What a state of the banks comes to.
#[derive(Clone, Debug, PartialEq)]
pub struct BalanceState {
    /// Largest distance of a branch from its target, as a share, warm.
    pub warm_deviation: f64,
    /// The same, cold.
    pub cold_deviation: f64,
    /// Flow of all branches together, warm, m3/s.
    pub warm_flow_m3_s: f64,
    /// The same, cold, m3/s.
    pub cold_flow_m3_s: f64,
    /// Loss over each bank, warm, Pa.
    pub bank_drop_pa: Vec<(String, f64)>,
    /// Hottest less coldest module over the banks, by case with heat, K.
    pub spread_k: Vec<(String, f64)>,
    /// Cases without an answer.
    pub failures: Vec<(String, SolveError)>,
}

/// How far the target was reached.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reached {
    /// Within the bound, warm and cold.
    Yes,
    /// Warm, but not cold: laminar branches divide cold coolant otherwise.
    WarmOnly,
    /// The exact holes meet it, the drills do not.
    NotWithDrills,
    /// The flows meet the target, but each gets less than asked: the pump gives no more.
    TooLittleFlow,
    /// No holes meet it: the closest is told.
    No,
}

/// The answer.
#[derive(Clone, Debug, PartialEq)]
pub struct BalanceAnswer {
    /// The loop.
    pub owner: String,
    /// The banks.
    pub banks: Vec<String>,
    /// What the flows are to be.
    pub target: Target,
    /// The case whose heat gives the target, for [`Target::Heat`].
    pub heat_case: Option<String>,
    /// Cold and warm coolant, K.
    pub range_k: (f64, f64),
    /// Thickness of the discs, m.
    pub thickness_m: f64,
    /// Largest deviation to hold, and whether it was stated.
    pub within: (f64, bool),
    /// Least flow asked of each branch, m3/s.
    pub least_flow_m3_s: Option<f64>,
    /// The drills at hand.
    pub drills: DrillSet,
    /// One entry a branch, in the order of the ports.
    pub discs: Vec<Disc>,
    /// Before.
    pub before: BalanceState,
    /// With the exact holes: largest distance from the target, warm.
    pub exact_deviation: f64,
    /// With the drills.
    pub after: BalanceState,
    /// Steps of the search for exact holes.
    pub steps: usize,
    /// How far the target was reached.
    pub reached: Reached,
    /// Cases in time, which are not compared.
    pub in_time: Vec<String>,
    /// Parts, modules and radiators whose numbers are placeholders.
    pub placeholders: Vec<String>,
}

impl BalanceAnswer {
    /// The smallest flow of a branch, warm, m3/s.
    pub fn smallest_flow_m3_s(&self) -> f64 {
        let flows = self.discs.iter().map(|d| d.flow_m3_s);
        flows.fold(f64::INFINITY, f64::min)
    }
}
