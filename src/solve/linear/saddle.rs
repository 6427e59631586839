//! The linear system of a flow network: a row for each branch, `own dm + pull (dp_from - dp_to) = r`, and one for each
//! free node, inflow less outflow. Tees tie the rows of the branches that meet there.
//!
//! Branches with a loss and no tie are eliminated at once, which leaves a matrix of conductances over nodes. Tied
//! branches, and those whose slope may be nothing, stay in it as unknowns. Every solution is held against the whole
//! system: it is refined where it is inexact, and found again by a pivoting LU where it is wrong.

use super::cholesky::Solved;
use super::flat::Symmetry;
use super::general::Singular;
use super::pattern::{Fallback, NO_PLACE, Path, Pivot, SaddleShape, analyse, whole};
use crate::solve::converge::{self, in_lanes};

/// Residual over the right-hand side that needs no refinement: a step need not be exact, the next one makes up for it, and the
/// last one, of some 1e-5, is out by 1e-14.
pub const EXACT: f64 = 1.0e-9;
/// Residual over the right-hand side beyond which the pivoting LU is asked.
const USABLE: f64 = 1.0e-6;
/// Most refinements before the pivoting LU.
const REFINEMENTS: usize = 3;
/// Least slope, over the largest, that a branch is divided by on the way to Cholesky: a pump alone may have none. What that
/// leaves of its row, about as much, goes with one refinement.
const LEAST_OWN: f64 = 1.0e-9;

/// The system with its factors.
pub struct Saddle {
    shape: SaddleShape,
    own: Vec<f64>,
    pull: Vec<f64>,
    tied: Vec<f64>,
    /// One over `own`, of the branches that are eliminated.
    inverse: Vec<f64>,
    kept_place: Vec<u32>,
    path: Path,
    fallback: Option<Fallback>,
    state: State,
    factorisations: usize,
    nodal: Vec<f64>,
    wanted: Vec<f64>,
    misfit: Vec<f64>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum State {
    Unfactorised,
    OwnPath,
    Fallback,
}

impl Saddle {
    /// The empty system of a network; the pattern is analysed here.
    pub fn new(shape: SaddleShape) -> Self {
        let branches = shape.ends.len();
        let (path, kept_place) = analyse(&shape);
        let kept = kept_place.iter().filter(|p| **p != NO_PLACE).count();
        let size = branches + shape.free;
        let (nodal, misfit) = (vec![0.0; shape.free + kept], vec![0.0; size]);
        Self {
            own: vec![0.0; branches],
            inverse: vec![0.0; branches],
            pull: vec![0.0; branches],
            tied: vec![0.0; shape.ties.len()],
            kept_place,
            path,
            fallback: None,
            state: State::Unfactorised,
            factorisations: 0,
            nodal,
            wanted: vec![0.0; size],
            misfit,
            shape,
        }
    }

    /// Whether the branches can be divided by what they could when the pattern was analysed.
    pub fn has_pivots(&self, pivots: impl Iterator<Item = Pivot>) -> bool {
        pivots.eq(self.shape.pivots.iter().copied())
    }

    /// Whether a solution is closer than a step with the factors of another needs; sparse Cholesky keeps its factors itself.
    pub fn is_exact(&self) -> bool {
        !matches!(self.path, Path::Cholesky { .. })
    }

    /// Forgets what earlier solves left, so that equal solves have equal bits.
    pub fn begin(&mut self) {
        self.state = State::Unfactorised;
        if let Path::Cholesky { cholesky, .. } = &mut self.path {
            cholesky.forget();
        }
    }

    /// Sets all values to nothing.
    pub fn clear(&mut self) {
        self.own.fill(0.0);
        self.pull.fill(0.0);
        self.tied.fill(0.0);
    }

    /// Sets the row of a branch.
    pub fn set_branch(&mut self, branch: usize, own: f64, pull: f64) {
        self.own[branch] = own;
        self.pull[branch] = pull;
    }

    /// Adds to the slope of a branch over its own flow.
    pub fn add_own(&mut self, branch: usize, value: f64) {
        self.own[branch] += value;
    }

    /// Adds to a tie, by its place in the list of the shape.
    pub fn add_tie(&mut self, tie: usize, value: f64) {
        self.tied[tie] += value;
    }

    /// How many times a matrix was factorised.
    pub fn factorisations(&self) -> usize {
        self.factorisations
    }

    /// All values, row by row.
    #[cfg(test)]
    pub fn dense(&self) -> Vec<Vec<f64>> {
        let branches = self.own.len();
        let size = branches + self.shape.free;
        let mut rows = vec![vec![0.0; size]; size];
        for (j, ends) in self.shape.ends.iter().enumerate() {
            rows[j][j] = self.own[j];
            for (end, sign) in ends.iter().zip([1.0, -1.0]) {
                if *end != NO_PLACE {
                    let node = branches + *end as usize;
                    rows[j][node] += sign * self.pull[j];
                    rows[node][j] -= sign;
                }
            }
        }
        for ((row, column), value) in self.shape.ties.iter().zip(&self.tied) {
            rows[*row as usize][*column as usize] += value;
        }
        rows
    }

    /// Factorises the present values.
    ///
    /// # Errors
    /// [`Singular`] where neither the quick way nor the pivoting LU finds pivots.
    pub fn factorise(&mut self) -> Result<(), Singular> {
        match self.assemble() {
            Ok(()) => {
                self.state = State::OwnPath;
                Ok(())
            }
            Err(Singular) => self.fall_back(),
        }
    }

    fn assemble(&mut self) -> Result<(), Singular> {
        for (inverse, own) in self.inverse.iter_mut().zip(&self.own) {
            *inverse = 1.0 / own;
        }
        match &mut self.path {
            Path::Flat {
                flat,
                edges,
                kept,
                ties,
                symmetry,
            } => {
                let values = flat.values();
                values.fill(0.0);
                for &(j, [from, to, upper, lower]) in edges.iter() {
                    let j = j as usize;
                    let conductance = -self.pull[j] * self.inverse[j];
                    if from != NO_PLACE {
                        values[from as usize] += conductance;
                    }
                    if to != NO_PLACE {
                        values[to as usize] += conductance;
                    }
                    if upper != NO_PLACE {
                        values[upper as usize] -= conductance;
                        if lower != upper {
                            values[lower as usize] -= conductance;
                        }
                    }
                }
                for &(j, slots) in kept.iter() {
                    let j = j as usize;
                    // Divided by its pull, the row mirrors its column.
                    let (own, pull) = match symmetry {
                        Symmetry::Symmetric => (self.own[j] / self.pull[j], 1.0),
                        Symmetry::Unsymmetric => (self.own[j], self.pull[j]),
                    };
                    values[slots.own as usize] += own;
                    for (end, sign) in [1.0, -1.0].into_iter().enumerate() {
                        let (row, column) = (slots.row[end], slots.column[end]);
                        if row != NO_PLACE {
                            values[row as usize] += sign * pull;
                            if row != column {
                                values[column as usize] += sign;
                            }
                        }
                    }
                }
                for (&slot, value) in ties.iter().zip(&self.tied) {
                    values[slot as usize] += value;
                }
                self.factorisations += 1;
                flat.factorise()
            }
            Path::Cholesky { cholesky, slots } => {
                let least = LEAST_OWN * converge::largest(&self.own);
                for (j, own) in self.own.iter().enumerate() {
                    if self.shape.pivots[j] == Pivot::Weak && own.abs() < least {
                        self.inverse[j] = -self.pull[j].signum() / least;
                    }
                }
                let (diagonal, values) = cholesky.diagonal_and_values();
                values.fill(0.0);
                for (j, (&[from, to], &slot)) in
                    self.shape.ends.iter().zip(slots.iter()).enumerate()
                {
                    let conductance = -self.pull[j] * self.inverse[j];
                    if from == to {
                        continue;
                    }
                    for end in [from, to] {
                        if end != NO_PLACE {
                            values[diagonal[end as usize] as usize] += conductance;
                        }
                    }
                    if slot != NO_PLACE {
                        values[slot as usize] -= conductance;
                    }
                }
                // Whether the old factors will do is seen at the right-hand side.
                Ok(())
            }
            Path::General => Err(Singular),
        }
    }

    /// Solves for a right-hand side in place. Where factors of an earlier matrix serve a large one, the share `leave` of
    /// the largest entry may be left.
    ///
    /// # Errors
    /// [`Singular`] where the solution is not finite or does not meet the system.
    pub fn solve(&mut self, rhs: &mut [f64], leave: f64) -> Result<(), Singular> {
        let scale = largest(rhs);
        if scale == 0.0 {
            return Ok(());
        }
        if !scale.is_finite() {
            return Err(Singular);
        }
        if self.state == State::OwnPath {
            self.wanted.copy_from_slice(rhs);
            let usable = match self.path {
                Path::Cholesky { .. } => leave.max(EXACT),
                Path::Flat { .. } | Path::General => EXACT,
            };
            let mut wanted = std::mem::take(&mut self.wanted);
            let met = self.solve_refined(rhs, &mut wanted, scale, usable);
            self.wanted = wanted;
            if met {
                return Ok(());
            }
            rhs.copy_from_slice(&self.wanted);
            self.fall_back()?;
        }
        match (&mut self.fallback, self.state) {
            (Some(fallback), State::Fallback) => fallback.system.solve(rhs),
            _ => Err(Singular),
        }
    }

    /// Solves and refines; whether the result meets the system.
    fn solve_refined(
        &mut self,
        rhs: &mut [f64],
        wanted: &mut [f64],
        scale: f64,
        exact: f64,
    ) -> bool {
        if self.solve_once(rhs, exact * scale).is_err() {
            return false;
        }
        let mut before = f64::INFINITY;
        for turn in 0..=REFINEMENTS {
            self.misfit(rhs, wanted);
            let misfit = largest(&self.misfit) / scale;
            if misfit <= exact {
                return true;
            }
            // No better than before, or not a number: as good as it gets.
            if turn == REFINEMENTS || misfit.is_nan() || misfit > 0.5 * before {
                return misfit <= USABLE.max(exact);
            }
            before = misfit;
            let mut correction = std::mem::take(&mut self.misfit);
            let solved = self.solve_once(&mut correction, exact * scale);
            if solved.is_ok() {
                for (x, c) in rhs.iter_mut().zip(&correction) {
                    *x += c;
                }
            }
            self.misfit = correction;
            if solved.is_err() {
                return misfit <= USABLE.max(exact);
            }
        }
        false
    }

    /// One elimination of branches, solution over nodes that need not be closer than `leave`, and return to branches.
    fn solve_once(&mut self, rhs: &mut [f64], leave: f64) -> Result<(), Singular> {
        let branches = self.own.len();
        let (flows, nodes) = rhs.split_at_mut(branches);
        for (y, r) in self.nodal.iter_mut().zip(nodes.iter()) {
            *y = -r;
        }
        // Without a kept branch there are no places, and each branch has none.
        let places = || {
            let known = self.kept_place.iter().copied();
            known.chain(std::iter::repeat(NO_PLACE))
        };
        let symmetric = matches!(
            self.path,
            Path::Flat {
                symmetry: Symmetry::Symmetric,
                ..
            }
        );
        let branches = flows.iter_mut().zip(&self.shape.ends);
        let values = self.inverse.iter().zip(&self.pull);
        for (((flow, &[from, to]), (inverse, pull)), kept) in branches.zip(values).zip(places()) {
            if kept != NO_PLACE {
                let divisor = if symmetric { *pull } else { 1.0 };
                self.nodal[kept as usize] = *flow / divisor;
                continue;
            }
            let passed = *flow * inverse;
            *flow = passed;
            if to != NO_PLACE {
                self.nodal[to as usize] += passed;
            }
            if from != NO_PLACE {
                self.nodal[from as usize] -= passed;
            }
        }
        match &mut self.path {
            Path::Flat { flat, .. } => flat.solve(&mut self.nodal),
            Path::Cholesky { cholesky, .. } => {
                if cholesky.solve(&mut self.nodal, leave)? == Solved::Directly {
                    self.factorisations += 1;
                }
            }
            Path::General => return Err(Singular),
        }
        let level = |end: u32| {
            if end == NO_PLACE {
                0.0
            } else {
                self.nodal[end as usize]
            }
        };
        let branches = flows.iter_mut().zip(&self.shape.ends);
        let values = self.inverse.iter().zip(&self.pull);
        for (((flow, &[from, to]), (inverse, pull)), kept) in branches.zip(values).zip(places()) {
            if kept != NO_PLACE {
                *flow = self.nodal[kept as usize];
            } else {
                *flow -= pull * (level(from) - level(to)) * inverse;
            }
        }
        nodes.copy_from_slice(&self.nodal[..self.shape.free]);
        Ok(())
    }

    /// Writes what a solution leaves of a right-hand side.
    fn misfit(&mut self, x: &[f64], wanted: &[f64]) {
        let branches = self.own.len();
        self.misfit.copy_from_slice(wanted);
        let (rows, nodes) = self.misfit.split_at_mut(branches);
        let level = |end: u32| {
            if end == NO_PLACE {
                0.0
            } else {
                x[branches + end as usize]
            }
        };
        let values = self.own.iter().zip(&self.pull);
        let branches = rows.iter_mut().zip(&self.shape.ends).zip(x);
        for (((row, &[from, to]), flow), (own, pull)) in branches.zip(values) {
            *row -= own * flow + pull * (level(from) - level(to));
            if from != NO_PLACE {
                nodes[from as usize] += flow;
            }
            if to != NO_PLACE {
                nodes[to as usize] -= flow;
            }
        }
        for (&(row, column), value) in self.shape.ties.iter().zip(&self.tied) {
            rows[row as usize] -= value * x[column as usize];
        }
    }

    /// Factorises the whole system by the pivoting LU.
    fn fall_back(&mut self) -> Result<(), Singular> {
        self.state = State::Unfactorised;
        let shape = &self.shape;
        let fallback = self.fallback.get_or_insert_with(|| whole(shape));
        fallback.system.clear();
        let mut slots = fallback.slots.iter();
        let mut add = |value: f64| {
            if let Some(slot) = slots.next() {
                fallback.system.add(*slot, value);
            }
        };
        for (j, ends) in shape.ends.iter().enumerate() {
            add(self.own[j]);
            for (end, sign) in ends.iter().zip([1.0, -1.0]) {
                if *end != NO_PLACE {
                    add(sign * self.pull[j]);
                    add(-sign);
                }
            }
        }
        self.tied.iter().for_each(|value| add(*value));
        self.factorisations += 1;
        fallback.system.factorise()?;
        self.state = State::Fallback;
        Ok(())
    }
}

/// The largest absolute entry; not a number where any entry is none.
fn largest(values: &[f64]) -> f64 {
    let sum: f64 = in_lanes(values, |sum, v| sum + v).iter().sum();
    if sum.is_nan() {
        f64::NAN
    } else {
        converge::largest(values)
    }
}

#[cfg(test)]
#[path = "saddle_tests.rs"]
mod tests;
