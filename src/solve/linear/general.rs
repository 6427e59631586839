//! Sparse linear systems of fixed pattern: positions once, values and factors as often as needed.
//! The sparse library behind it is faer: sparse LU with partial pivoting and COLAMD ordering.

use faer::linalg::solvers::SolveCore;
use faer::sparse::linalg::solvers::{Lu, SymbolicLu};
use faer::sparse::{SparseColMatRef, SymbolicSparseColMatRef};
use faer::{Conj, MatMut};

/// A square sparse matrix of fixed pattern with its factors.
pub struct SparseSystem {
    size: usize,
    column_start: Vec<usize>,
    row_of: Vec<usize>,
    values: Vec<f64>,
    symbolic: Option<SymbolicLu<usize>>,
    factors: Option<Lu<usize, f64>>,
    scratch: Vec<f64>,
}

/// The matrix could not be factorised, or its solution is not finite.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Singular;

impl SparseSystem {
    /// A matrix with these positions (row, column), which may repeat; returns the slot of each position.
    pub fn new(size: usize, positions: &[(usize, usize)]) -> (Self, Vec<usize>) {
        let by_row = counted(size, 0..positions.len(), |k| positions[k].0);
        let order = counted(size, by_row.into_iter(), |k| positions[k].1);
        let mut slots = vec![0; positions.len()];
        let mut column_start = vec![0; size + 1];
        let mut row_of: Vec<usize> = Vec::with_capacity(positions.len());
        let mut last = None;
        for &k in &order {
            let (row, column) = positions[k];
            if last != Some((row, column)) {
                row_of.push(row);
                column_start[column + 1] = row_of.len();
                last = Some((row, column));
            }
            slots[k] = row_of.len() - 1;
        }
        for column in 0..size {
            column_start[column + 1] = column_start[column + 1].max(column_start[column]);
        }
        let values = vec![0.0; row_of.len()];
        let system = Self {
            size,
            column_start,
            row_of,
            values,
            symbolic: None,
            factors: None,
            scratch: vec![0.0; size],
        };
        (system, slots)
    }

    /// Sets all values to nothing.
    pub fn clear(&mut self) {
        self.values.fill(0.0);
    }

    /// Adds to the value in a slot.
    pub fn add(&mut self, slot: usize, value: f64) {
        self.values[slot] += value;
    }

    /// Factorises the present values; the analysis of the pattern is made at the first call.
    ///
    /// # Errors
    /// [`Singular`] where the library finds no pivot. It may miss a singular matrix: [`Self::solve`] checks again.
    pub fn factorise(&mut self) -> Result<(), Singular> {
        let pattern = SymbolicSparseColMatRef::new_checked(
            self.size,
            self.size,
            &self.column_start,
            None,
            &self.row_of,
        );
        let symbolic = match &self.symbolic {
            Some(symbolic) => symbolic.clone(),
            None => {
                let made = SymbolicLu::try_new(pattern).map_err(|_| Singular)?;
                self.symbolic = Some(made.clone());
                made
            }
        };
        if self.values.iter().any(|v| !v.is_finite()) {
            return Err(Singular);
        }
        let matrix = SparseColMatRef::new(pattern, &self.values);
        self.factors = Some(Lu::try_new_with_symbolic(symbolic, matrix).map_err(|_| Singular)?);
        Ok(())
    }

    /// Solves for a right-hand side in place, with one step of refinement.
    ///
    /// # Errors
    /// [`Singular`] where the solution is not finite: the library's LU accepts singular matrices.
    pub fn solve(&mut self, rhs: &mut [f64]) -> Result<(), Singular> {
        self.solve_either(rhs, false)
    }

    /// The same with the matrix turned over, by the same factors.
    ///
    /// # Errors
    /// As [`Self::solve`].
    pub fn solve_turned(&mut self, rhs: &mut [f64]) -> Result<(), Singular> {
        self.solve_either(rhs, true)
    }

    fn solve_either(&mut self, rhs: &mut [f64], turned: bool) -> Result<(), Singular> {
        let factors = self.factors.as_ref().ok_or(Singular)?;
        let size = self.size;
        let by_factors = |rhs: &mut [f64]| {
            let rhs = MatMut::from_column_major_slice_mut(rhs, size, 1);
            if turned {
                factors.solve_transpose_in_place_with_conj(Conj::No, rhs);
            } else {
                factors.solve_in_place_with_conj(Conj::No, rhs);
            }
        };
        self.scratch.copy_from_slice(rhs);
        by_factors(rhs);
        if rhs.iter().any(|v| !v.is_finite()) {
            return Err(Singular);
        }
        let correction = &mut self.scratch;
        for column in 0..size {
            for k in self.column_start[column]..self.column_start[column + 1] {
                let (row, value) = (self.row_of[k], self.values[k]);
                if turned {
                    correction[column] -= value * rhs[row];
                } else {
                    correction[row] -= value * rhs[column];
                }
            }
        }
        by_factors(correction);
        if correction.iter().all(|v| v.is_finite()) {
            for (x, c) in rhs.iter_mut().zip(correction.iter()) {
                *x += c;
            }
        }
        Ok(())
    }
}

/// Indices in the order of their keys, which are below `size`; those of one key stay as they come.
fn counted(
    size: usize,
    indices: impl ExactSizeIterator<Item = usize> + Clone,
    key: impl Fn(usize) -> usize,
) -> Vec<usize> {
    let mut next = vec![0; size + 1];
    indices.clone().for_each(|k| next[key(k) + 1] += 1);
    for at in 0..size {
        next[at + 1] += next[at];
    }
    let mut ordered = vec![0; indices.len()];
    for k in indices {
        let place = &mut next[key(k)];
        ordered[*place] = k;
        *place += 1;
    }
    ordered
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_small_unsymmetric_system_is_solved() {
        // [2 1 0; 0 3 1; 1 0 1] x = [3, 4, 2] has x = (1, 1, 1).
        let positions = [(0, 0), (0, 1), (1, 1), (1, 2), (2, 0), (2, 2), (0, 0)];
        let (mut system, slots) = SparseSystem::new(3, &positions);
        for (slot, value) in slots.iter().zip([1.5, 1.0, 3.0, 1.0, 1.0, 1.0, 0.5]) {
            system.add(*slot, value);
        }
        let mut x = [3.0, 4.0, 2.0];
        assert_eq!(system.factorise(), Ok(()));
        assert_eq!(system.solve(&mut x), Ok(()));
        assert!(x.iter().all(|v| (v - 1.0).abs() < 1e-15));
        // Turned over, [2 0 1; 1 3 0; 0 1 1] x = [3, 4, 2].
        let mut x = [3.0, 4.0, 2.0];
        assert_eq!(system.solve_turned(&mut x), Ok(()));
        assert!(x.iter().all(|v| (v - 1.0).abs() < 1e-15));
    }

    #[test]
    fn a_singular_system_is_refused_and_never_gives_a_number() {
        let (mut system, slots) = SparseSystem::new(2, &[(0, 0), (0, 1), (1, 0), (1, 1)]);
        for slot in slots {
            system.add(slot, 1.0);
        }
        let mut x = [1.0, 2.0];
        let refused = system.factorise().is_err() || system.solve(&mut x).is_err();
        assert!(refused, "{x:?}");
    }
}
