//! How a solved case answers to a small change: the slopes of all its equations at once, flow, heat, properties, air and
//! what cores hand each other, factorised once. One back-substitution gives how the whole answer moves with an input
//! (the tangent), one with the matrix turned over how one output moves with everything (the adjoint).
//!
//! Slopes of losses over flows are those of the laws; those over temperatures, and of heat, are central differences of one
//! element at a time; everything between elements is exact. Held in `tests/laws/sensitivity.rs` against differences of whole
//! solves, to 2e-5 of a slope, and in `slopes_tests.rs` against differences of all equations.

mod chain;
mod cores;
mod course;
mod element;
mod gradient;
mod matrix;
mod places;
mod rows;
mod scales;
mod slopes;
mod state;
mod vehicle;

pub use gradient::{Gradient, Unknown};
pub use slopes::SlopesRoom;

use super::couple::{Workspaces, solve_airs};
use super::error::SolveError;
use super::options::Options;
use super::solution::Solution;
use crate::network::{Case, Network};
use rows::residual;
use slopes::Slopes;
use vehicle::Vehicle;

#[cfg(test)]
#[path = "slopes_tests.rs"]
mod tests;

/// Why a solved case, or a change of it, has no slopes.
#[derive(Clone, Debug, PartialEq)]
pub enum NoSlopes {
    /// The equations are singular there: some unknown is not determined by the others.
    Singular,
    /// The changed design has other nodes, branches or cores, or flows of air that turn round.
    OtherGraph,
    /// The case is one in time, and has no steady state to move.
    InTime,
    /// The changed design has no answer.
    Unsolved(SolveError),
}

impl std::fmt::Display for NoSlopes {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Singular => f.write_str("the equations are singular at this answer"),
            Self::OtherGraph => f.write_str("the change makes another network, so it has no slope"),
            Self::InTime => f.write_str(
                "a case with a duration has no steady state whose slopes could be taken",
            ),
            Self::Unsolved(error) => write!(f, "{error}"),
        }
    }
}

impl std::error::Error for NoSlopes {}

/// A solved case with the slopes of its equations, factorised.
pub struct Linearised<'n> {
    vehicle: Vehicle<'n>,
    z: Vec<f64>,
    slopes: Slopes,
    /// The analysis of the graphs, which those of changed designs share; made for the first of them.
    workspaces: Option<Workspaces>,
    options: Options,
}

impl<'n> Linearised<'n> {
    /// The slopes at a solution.
    ///
    /// # Errors
    /// [`NoSlopes::InTime`] for a case in time, [`NoSlopes::Singular`] where the equations leave an unknown open.
    pub fn new(solution: &'n Solution<'n>) -> Result<Self, NoSlopes> {
        Self::resumed(solution, SlopesRoom::default())
    }

    /// The same with what another one kept: where both are of the same graphs and flow the same ways, nothing is analysed
    /// again, and the slopes are the same to the last bit.
    ///
    /// # Errors
    /// As [`Linearised::new`].
    pub fn resumed(solution: &'n Solution<'n>, room: SlopesRoom) -> Result<Self, NoSlopes> {
        let state = &solution.state;
        if state.loops.iter().any(|l| !l.storing_w.is_empty()) {
            return Err(NoSlopes::InTime);
        }
        let vehicle = Vehicle::at_solution(solution.network, &solution.case, state);
        let mut z = vehicle.places.unknowns(state);
        let slopes = Slopes::new(&vehicle, &mut z, room)?;
        Ok(Self {
            vehicle,
            z,
            slopes,
            workspaces: None,
            options: Options::default(),
        })
    }

    /// What is kept between linearisations, for [`Linearised::resumed`].
    pub fn into_room(self) -> SlopesRoom {
        self.slopes.into_room()
    }

    /// Largest residual of the equations at the solution, over the largest flow or pressure, or in kelvin: how well the
    /// state that was solved meets the equations whose slopes are taken.
    pub fn residual(&mut self) -> f64 {
        let residual = residual(&mut self.vehicle, &self.z);
        residual.iter().fold(0.0, |m: f64, r| m.max(r.abs()))
    }

    /// How many unknowns there are.
    pub fn size(&self) -> usize {
        self.z.len()
    }

    /// The answers of two designs that differ from this one by a small step to either side, to first order in the step.
    /// Half the difference of any number read off them, over the step, is the slope of that number: no further solve is
    /// made but that of the air.
    ///
    /// # Errors
    /// [`NoSlopes`] where a changed design has another graph, or its air does not settle.
    pub fn moved<'m>(
        &mut self,
        less: (&'m Network, &'m Case),
        more: (&'m Network, &'m Case),
    ) -> Result<[Solution<'m>; 2], NoSlopes> {
        let mut less = self.changed(less)?;
        let mut more = self.changed(more)?;
        let mut step = residual(&mut more, &self.z);
        for (s, below) in step.iter_mut().zip(residual(&mut less, &self.z)) {
            *s = 0.5 * (*s - below);
        }
        self.slopes.solve(&mut step)?;
        let at = |sign: f64| -> Vec<f64> {
            let pairs = self.z.iter().zip(&step);
            pairs.map(|(z, step)| z + sign * step).collect()
        };
        Ok([less.solution(&at(1.0)), more.solution(&at(-1.0))])
    }

    /// The equations of a changed network and case at the present unknowns.
    fn changed<'m>(
        &mut self,
        (network, case): (&'m Network, &'m Case),
    ) -> Result<Vehicle<'m>, NoSlopes> {
        let own = self.vehicle.network;
        let workspaces = self.workspaces.get_or_insert_with(|| Workspaces::new(own));
        if !workspaces.fit(network) {
            return Err(NoSlopes::OtherGraph);
        }
        let airs = solve_airs(network, case, &self.options, workspaces);
        let airs = airs.map_err(NoSlopes::Unsolved)?;
        let vehicle = self.vehicle.changed(network, case, airs, &self.z);
        vehicle.ok_or(NoSlopes::OtherGraph)
    }
}
