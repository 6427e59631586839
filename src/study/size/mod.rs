//! Sizing from a stock list: which pump, which hose bores, which header tube.

pub mod header;
pub mod hose;
mod hose_climb;
mod hose_group;
mod hose_search;
pub mod pump;
mod pump_demand;
mod pump_trial;
