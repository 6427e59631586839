//! The air path of a radiator: the same flow equations with air as the fluid, before any loop is solved.
//! Air is taken at the density of the case's air throughout; what it gains in the cores does not move it.

use super::case_state::{AirState, ambient_pa};
use super::error::SolveError;
use super::flow::{FlowWorkspace, solve_flows};
use super::hydraulic::FluidState;
use super::options::Options;
use crate::network::{AirPath, Case};

/// Solves an air path that is set to the case.
///
/// # Errors
/// [`SolveError::FlowsUnsettled`] where Newton does not settle.
pub fn solve_air(
    path: AirPath,
    case: &Case,
    options: &Options,
    workspace: &mut FlowWorkspace,
) -> Result<AirState, SolveError> {
    let fluid = FluidState::uniform(&path.net, case.air.properties());
    let flow = solve_flows(
        &path.net,
        &path.radiator,
        &fluid,
        ambient_pa(case),
        None,
        workspace,
        options,
    )?;
    Ok(AirState { path, flow })
}
