//! A sparse matrix with a strong diagonal, such as heat that streams carry, or with one that is strong once its neighbours
//! are eliminated, such as a whole vehicle: eliminated by a flat list without a search for pivots, made once per pattern.
//! Every solution is held against the matrix, and found again by the pivoting LU where it misses.

use super::flat::{Flat, Symmetry};
use super::general::{Singular, SparseSystem};
use super::order::{Diagonal, order};

/// Multiplications beyond which the pivoting LU is asked at once.
const MOST_WORK: usize = 3_000_000;
/// Misfit over the largest number of right-hand side and solution that is round-off.
const EXACT: f64 = 1.0e-14;
/// Misfit beyond which the pivoting LU is asked.
const USABLE: f64 = 1.0e-10;
/// Most refinements.
const REFINEMENTS: usize = 2;
/// A solution this many times its right-hand side may come of a pivot that is nothing but rounding.
const DOUBTFUL: f64 = 1.0e8;

/// Which way the matrix lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Way {
    Straight,
    Turned,
}

/// A matrix of a pattern that seldom changes.
#[derive(Default)]
pub struct StrongSystem {
    diagonals: Vec<Diagonal>,
    positions: Vec<(usize, usize)>,
    slots: Vec<u32>,
    flat: Option<Box<Flat>>,
    values: Vec<f64>,
    ready: bool,
    general: Option<Box<(SparseSystem, Vec<usize>)>>,
    wanted: Vec<f64>,
    misfit: Vec<f64>,
}

impl StrongSystem {
    /// Takes values at these positions (row, column), which may repeat; what was made for the same positions is kept.
    pub fn set(&mut self, size: usize, positions: &[(usize, usize)], values: &[f64]) {
        let strong = |d: &Diagonal| *d == Diagonal::Node;
        let alike = self.diagonals.len() == size && self.diagonals.iter().all(strong);
        if !alike || self.positions != positions {
            self.analyse(&vec![Diagonal::Node; size], positions);
        }
        self.take(values);
    }

    /// The same with what each unknown has on its diagonal: those that have nothing wait for a neighbour.
    pub fn set_with(
        &mut self,
        diagonals: &[Diagonal],
        positions: &[(usize, usize)],
        values: &[f64],
    ) {
        if self.diagonals != diagonals || self.positions != positions {
            self.analyse(diagonals, positions);
        }
        self.take(values);
    }

    fn take(&mut self, values: &[f64]) {
        self.values.clear();
        self.values.extend_from_slice(values);
        self.ready = false;
    }

    fn analyse(&mut self, diagonals: &[Diagonal], positions: &[(usize, usize)]) {
        let size = diagonals.len();
        self.diagonals.clear();
        self.diagonals.extend_from_slice(diagonals);
        self.positions.clear();
        self.positions.extend_from_slice(positions);
        self.general = None;
        let mut neighbours: Vec<Vec<u32>> = vec![Vec::new(); size];
        for &(row, column) in positions.iter().filter(|(r, c)| r != c) {
            neighbours[row].push(column as u32);
            neighbours[column].push(row as u32);
        }
        for list in &mut neighbours {
            list.sort_unstable();
            list.dedup();
        }
        let order = order(neighbours, diagonals, MOST_WORK);
        self.flat = order.map(|order| Box::new(Flat::new(&order, Symmetry::Unsymmetric)));
        self.slots.clear();
        if let Some(flat) = &self.flat {
            let slots = positions
                .iter()
                .map(|&(row, column)| flat.slot(row, column));
            self.slots.extend(slots);
        }
    }

    /// Factorises the present values.
    ///
    /// # Errors
    /// [`Singular`] where neither way finds pivots.
    pub fn factorise(&mut self) -> Result<(), Singular> {
        self.ready = false;
        if let Some(flat) = &mut self.flat {
            let into = flat.values();
            into.fill(0.0);
            for (&slot, value) in self.slots.iter().zip(&self.values) {
                into[slot as usize] += value;
            }
            self.ready = flat.factorise().is_ok();
        }
        if self.ready {
            return Ok(());
        }
        self.fall_back()
    }

    fn fall_back(&mut self) -> Result<(), Singular> {
        self.ready = false;
        let size = self.diagonals.len();
        let made = self
            .general
            .get_or_insert_with(|| Box::new(SparseSystem::new(size, &self.positions)));
        let (system, slots) = made.as_mut();
        system.clear();
        for (&slot, value) in slots.iter().zip(&self.values) {
            system.add(slot, *value);
        }
        system.factorise()
    }

    /// Solves for a right-hand side in place.
    ///
    /// # Errors
    /// [`Singular`] where the solution is not finite.
    pub fn solve(&mut self, rhs: &mut [f64]) -> Result<(), Singular> {
        self.solve_either(rhs, Way::Straight)
    }

    /// The same with the matrix turned over.
    ///
    /// # Errors
    /// As [`Self::solve`].
    pub fn solve_turned(&mut self, rhs: &mut [f64]) -> Result<(), Singular> {
        self.solve_either(rhs, Way::Turned)
    }

    fn solve_either(&mut self, rhs: &mut [f64], way: Way) -> Result<(), Singular> {
        if self.ready {
            self.wanted.clear();
            self.wanted.extend_from_slice(rhs);
            if self.solve_refined(rhs, way) {
                return Ok(());
            }
            rhs.copy_from_slice(&self.wanted);
            self.fall_back()?;
        }
        match (&mut self.general, way) {
            (Some(made), Way::Straight) => made.0.solve(rhs),
            (Some(made), Way::Turned) => made.0.solve_turned(rhs),
            (None, _) => Err(Singular),
        }
    }

    /// Solves by the flat list and refines; whether the result meets the matrix.
    fn solve_refined(&mut self, x: &mut [f64], way: Way) -> bool {
        let Some(flat) = &mut self.flat else {
            return false;
        };
        let by_list = |flat: &mut Flat, x: &mut [f64]| match way {
            Way::Straight => flat.solve(x),
            Way::Turned => flat.solve_turned(x),
        };
        let given = largest(x);
        by_list(flat, x);
        for turn in 0..=REFINEMENTS {
            let found = largest(x);
            if !found.is_finite() || found > DOUBTFUL * given {
                return found == 0.0 && given == 0.0;
            }
            self.misfit.clear();
            self.misfit.extend_from_slice(&self.wanted);
            for (&(row, column), value) in self.positions.iter().zip(&self.values) {
                match way {
                    Way::Straight => self.misfit[row] -= value * x[column],
                    Way::Turned => self.misfit[column] -= value * x[row],
                }
            }
            let misfit = largest(&self.misfit) / found.max(given);
            if misfit <= EXACT || given == 0.0 {
                return true;
            }
            if turn == REFINEMENTS || misfit.is_nan() {
                return misfit <= USABLE;
            }
            by_list(flat, &mut self.misfit);
            for (x, c) in x.iter_mut().zip(&self.misfit) {
                *x += c;
            }
        }
        false
    }
}

/// The largest absolute entry; not a number where any entry is none.
fn largest(values: &[f64]) -> f64 {
    values.iter().fold(0.0, |m: f64, v| {
        if v.is_nan() || m.is_nan() {
            f64::NAN
        } else {
            m.max(v.abs())
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::{DMatrix, DVector};

    /// A stream around a ring of nodes, one of which is cooled.
    fn ring(size: usize, cooled: f64) -> (Vec<(usize, usize)>, Vec<f64>) {
        let (mut positions, mut values) = (Vec::new(), Vec::new());
        for k in 0..size {
            positions.extend([(k, k), (k, (k + 1) % size), ((k + 1) % size, k)]);
            values.extend([-1.0, 1e-9, if k == 3 { 1.0 - cooled } else { 1.0 }]);
        }
        (positions, values)
    }

    /// The oracle is nalgebra's dense LU with pivoting.
    #[test]
    fn solutions_agree_with_a_dense_pivoting_lu_and_new_values_keep_the_pattern() {
        let mut system = StrongSystem::default();
        for cooled in [0.3, 0.05] {
            let (positions, values) = ring(12, cooled);
            system.set(12, &positions, &values);
            let mut dense = DMatrix::<f64>::zeros(12, 12);
            for (&(r, c), v) in positions.iter().zip(&values) {
                dense[(r, c)] += v;
            }
            let wanted = DVector::from_fn(12, |k, _| (k as f64).cos());
            let mut x: Vec<f64> = (&dense * &wanted).iter().copied().collect();
            let mut turned: Vec<f64> = (dense.transpose() * &wanted).iter().copied().collect();
            assert_eq!(system.factorise(), Ok(()));
            assert_eq!(system.solve(&mut x), Ok(()));
            assert_eq!(system.solve_turned(&mut turned), Ok(()));
            for x in [x, turned] {
                assert!(x.iter().zip(&wanted).all(|(a, b)| (a - b).abs() < 1e-12));
            }
            assert!(system.general.is_none(), "the flat list was enough");
        }
    }

    #[test]
    fn a_matrix_that_needs_pivots_is_solved_by_the_other_way() {
        let mut system = StrongSystem::default();
        system.set(2, &[(0, 0), (0, 1), (1, 0), (1, 1)], &[0.0, 1.0, 1.0, 1.0]);
        let mut x = [2.0, 5.0];
        assert_eq!(system.factorise(), Ok(()));
        assert_eq!(system.solve(&mut x), Ok(()));
        assert!(
            (x[0] - 3.0).abs() < 1e-14 && (x[1] - 2.0).abs() < 1e-14,
            "{x:?}"
        );
        // Where its diagonal is known to be empty, the list alone will do.
        let mut system = StrongSystem::default();
        system.set_with(
            &[Diagonal::EmptyNode, Diagonal::Loss],
            &[(0, 0), (0, 1), (1, 0), (1, 1)],
            &[0.0, 1.0, 2.0, 1.0],
        );
        let (mut x, mut turned) = ([2.0, 5.0], [2.0, 5.0]);
        assert_eq!(system.factorise(), Ok(()));
        assert_eq!(system.solve(&mut x), Ok(()));
        assert_eq!(system.solve_turned(&mut turned), Ok(()));
        assert_eq!((x, turned), ([1.5, 2.0], [4.0, 1.0]));
        assert!(system.general.is_none());
    }

    #[test]
    fn a_ring_that_nothing_cools_gives_no_number_that_could_be_taken_for_an_answer() {
        let (positions, values) = ring(8, 0.0);
        let mut system = StrongSystem::default();
        system.set(8, &positions, &values);
        let mut x = vec![1.0; 8];
        let solved = system.factorise().is_ok() && system.solve(&mut x).is_ok();
        assert!(!solved || x.iter().any(|v| v.abs() > 1e8), "{x:?}");
    }
}
