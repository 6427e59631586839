//! Elimination of a small sparse matrix as one flat list of operations, made once per pattern: pivots on the diagonal,
//! no search, no allocation. Whoever calls it looks at the residual; nothing here can tell a poor pivot from a good one.

use super::general::Singular;
use super::order::Order;

/// A pivot this small is none.
const LEAST_PIVOT: f64 = 1e-250;

/// Whether the values are symmetric; the pattern always is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Symmetry {
    /// Only one triangle is kept.
    Symmetric,
    /// Both are.
    Unsymmetric,
}

/// A matrix with its factors in place.
///
/// Each pivot owns a block of values: the diagonal, its row of `U`, and for unsymmetric values its column of `L`.
pub struct Flat {
    symmetry: Symmetry,
    place: Vec<u32>,
    start: Vec<u32>,
    pattern_start: Vec<u32>,
    pattern: Vec<u32>,
    targets: Vec<u32>,
    values: Vec<f64>,
    inverse: Vec<f64>,
    y: Vec<f64>,
}

impl Flat {
    /// The list of operations of an order.
    pub fn new(order: &Order, symmetry: Symmetry) -> Self {
        let size = order.order.len();
        let mut place = vec![0_u32; size];
        for (k, &unknown) in order.order.iter().enumerate() {
            place[unknown as usize] = k as u32;
        }
        let (mut start, mut pattern_start) = (vec![0_u32], vec![0_u32]);
        let mut pattern = Vec::new();
        let sides = match symmetry {
            Symmetry::Symmetric => 1,
            Symmetry::Unsymmetric => 2,
        };
        for (k, row) in order.rows.iter().enumerate() {
            let from = pattern.len();
            pattern.extend(row.iter().map(|&unknown| place[unknown as usize]));
            pattern[from..].sort_unstable();
            pattern_start.push(pattern.len() as u32);
            start.push(start[k] + 1 + sides * row.len() as u32);
        }
        let mut flat = Self {
            symmetry,
            place,
            start,
            pattern_start,
            pattern,
            targets: Vec::new(),
            values: Vec::new(),
            inverse: vec![0.0; size],
            y: vec![0.0; size],
        };
        flat.values = vec![0.0; flat.start[size] as usize];
        let mut targets = Vec::new();
        for k in 0..size {
            let row = flat.row(k);
            let after = flat.start[k + 1];
            for (a, &i) in row.iter().enumerate() {
                let first = match symmetry {
                    Symmetry::Symmetric => a,
                    Symmetry::Unsymmetric => 0,
                };
                for &j in &row[first..] {
                    targets.push(flat.slot_of_places(i as usize, j as usize) - after);
                }
            }
        }
        flat.targets = targets;
        flat
    }

    fn row(&self, k: usize) -> &[u32] {
        &self.pattern[self.pattern_start[k] as usize..self.pattern_start[k + 1] as usize]
    }

    fn slot_of_places(&self, i: usize, j: usize) -> u32 {
        let (first, last) = (i.min(j), i.max(j));
        if first == last {
            return self.start[first];
        }
        let row = self.row(first);
        let at = row.partition_point(|&c| (c as usize) < last) as u32;
        let lower = match self.symmetry {
            Symmetry::Unsymmetric if i > j => row.len() as u32,
            _ => 0,
        };
        self.start[first] + 1 + lower + at
    }

    /// The slot of row `i`, column `j`, which must lie in the pattern.
    pub fn slot(&self, i: usize, j: usize) -> u32 {
        self.slot_of_places(self.place[i] as usize, self.place[j] as usize)
    }

    /// The values, to be written before each factorisation.
    pub fn values(&mut self) -> &mut [f64] {
        &mut self.values
    }

    /// Multiplications of one factorisation.
    #[cfg(test)]
    pub fn work(&self) -> usize {
        self.targets.len()
    }

    /// Factorises the present values in place.
    ///
    /// # Errors
    /// [`Singular`] at a pivot that is nothing or not finite.
    pub fn factorise(&mut self) -> Result<(), Singular> {
        let mut targets = self.targets.as_slice();
        for k in 0..self.inverse.len() {
            let count = (self.pattern_start[k + 1] - self.pattern_start[k]) as usize;
            let (head, tail) = self.values.split_at_mut(self.start[k + 1] as usize);
            let block = &mut head[self.start[k] as usize..];
            let pivot = block[0];
            if !(pivot.abs() > LEAST_PIVOT && pivot.is_finite()) {
                return Err(Singular);
            }
            let inverse = 1.0 / pivot;
            self.inverse[k] = inverse;
            match self.symmetry {
                Symmetry::Symmetric => {
                    let row = &block[1..];
                    for a in 0..count {
                        let factor = row[a] * inverse;
                        let (now, later) = targets.split_at(count - a);
                        targets = later;
                        for (&t, v) in now.iter().zip(&row[a..]) {
                            tail[t as usize] -= factor * v;
                        }
                    }
                }
                Symmetry::Unsymmetric => {
                    let (row, column) = block[1..].split_at_mut(count);
                    for l in column {
                        let factor = *l * inverse;
                        *l = factor;
                        let (now, later) = targets.split_at(count);
                        targets = later;
                        for (&t, v) in now.iter().zip(row.iter()) {
                            tail[t as usize] -= factor * v;
                        }
                    }
                }
            }
        }
        Ok(())
    }

    /// What pivot `k` meets, and behind the pivot its row of `U`; for unsymmetric values its column of `L` follows.
    fn met(&self, k: usize) -> (&[u32], &[f64]) {
        let block = &self.values[self.start[k] as usize + 1..self.start[k + 1] as usize];
        (self.row(k), block)
    }

    /// Solves for a right-hand side in place.
    pub fn solve(&mut self, rhs: &mut [f64]) {
        let mut y = self.enter(rhs);
        for k in 0..y.len() {
            let (row, block) = self.met(k);
            let (entries, share) = match self.symmetry {
                Symmetry::Symmetric => (block, y[k] * self.inverse[k]),
                Symmetry::Unsymmetric => (&block[row.len()..], y[k]),
            };
            for (&c, l) in row.iter().zip(entries) {
                y[c as usize] -= l * share;
            }
        }
        for k in (0..y.len()).rev() {
            let (row, block) = self.met(k);
            let mut left = y[k];
            for (&c, u) in row.iter().zip(block) {
                left -= u * y[c as usize];
            }
            y[k] = left * self.inverse[k];
        }
        self.leave(y, rhs);
    }

    /// Solves with the matrix turned over, by the same factors, in place.
    pub fn solve_turned(&mut self, rhs: &mut [f64]) {
        if self.symmetry == Symmetry::Symmetric {
            return self.solve(rhs);
        }
        let mut y = self.enter(rhs);
        for k in 0..y.len() {
            let (row, block) = self.met(k);
            y[k] *= self.inverse[k];
            let known = y[k];
            for (&c, u) in row.iter().zip(block) {
                y[c as usize] -= u * known;
            }
        }
        for k in (0..y.len()).rev() {
            let (row, block) = self.met(k);
            let mut left = y[k];
            for (&c, l) in row.iter().zip(&block[row.len()..]) {
                left -= l * y[c as usize];
            }
            y[k] = left;
        }
        self.leave(y, rhs);
    }

    /// A right-hand side in the order of elimination, in the room kept for it.
    fn enter(&mut self, rhs: &[f64]) -> Vec<f64> {
        let mut y = std::mem::take(&mut self.y);
        for (&place, value) in self.place.iter().zip(rhs) {
            y[place as usize] = *value;
        }
        y
    }

    /// Gives a solution back in its own order, and the room.
    fn leave(&mut self, y: Vec<f64>, rhs: &mut [f64]) {
        for (&place, value) in self.place.iter().zip(rhs) {
            *value = y[place as usize];
        }
        self.y = y;
    }
}

#[cfg(test)]
mod tests {
    use super::super::order::{Diagonal, order};
    use super::*;
    use nalgebra::{DMatrix, DVector};

    /// A pattern of a ring with chords, and values with a strong diagonal.
    fn sample(size: usize, symmetry: Symmetry) -> (Vec<Vec<u32>>, DMatrix<f64>) {
        let mut dense = DMatrix::zeros(size, size);
        for k in 0..size {
            for (step, value) in [(1, -1.0), (5, -0.3)] {
                let other = (k + step) % size;
                dense[(k, other)] = value - 0.01 * k as f64;
                dense[(other, k)] = match symmetry {
                    Symmetry::Symmetric => value - 0.01 * k as f64,
                    Symmetry::Unsymmetric => 0.7 * value,
                };
            }
            dense[(k, k)] = 4.0 + 0.1 * k as f64;
        }
        let neighbours = (0..size)
            .map(|i| {
                (0..size)
                    .filter(|&j| i != j && dense[(i, j)] != 0.0)
                    .map(|j| j as u32)
                    .collect()
            })
            .collect();
        (neighbours, dense)
    }

    /// The oracle is nalgebra's dense LU with pivoting.
    #[test]
    fn solutions_agree_with_a_dense_pivoting_lu() {
        for symmetry in [Symmetry::Symmetric, Symmetry::Unsymmetric] {
            for size in [11, 30, 57] {
                let (neighbours, dense) = sample(size, symmetry);
                let order = order(neighbours, &vec![Diagonal::Node; size], usize::MAX)
                    .unwrap_or_else(|| panic!("no limit"));
                let mut flat = Flat::new(&order, symmetry);
                for i in 0..size {
                    for j in 0..size {
                        if dense[(i, j)] != 0.0 {
                            let slot = flat.slot(i, j) as usize;
                            flat.values()[slot] = dense[(i, j)];
                        }
                    }
                }
                let wanted = DVector::from_fn(size, |k, _| (k as f64).sin());
                let mut found: Vec<f64> = (&dense * &wanted).iter().copied().collect();
                let mut turned: Vec<f64> = (dense.transpose() * &wanted).iter().copied().collect();
                assert_eq!(flat.factorise(), Ok(()));
                flat.solve(&mut found);
                flat.solve_turned(&mut turned);
                let oracle = dense.lu().solve(&(&sample(size, symmetry).1 * &wanted));
                let oracle = oracle.unwrap_or_else(|| panic!("regular"));
                for k in 0..size {
                    assert!((found[k] - oracle[k]).abs() < 1e-13, "{size} {k}");
                    assert!((turned[k] - wanted[k]).abs() < 1e-13, "{size} {k}");
                }
                assert!(flat.work() > 0);
            }
        }
    }

    #[test]
    fn a_pivot_of_nothing_is_refused() {
        let order = order(vec![vec![1], vec![0]], &[Diagonal::Node; 2], 100)
            .unwrap_or_else(|| panic!("small"));
        let mut flat = Flat::new(&order, Symmetry::Symmetric);
        let (a, b, ab) = (flat.slot(0, 0), flat.slot(1, 1), flat.slot(0, 1));
        for (slot, value) in [(a, 1.0), (b, 1.0), (ab, -1.0)] {
            flat.values()[slot as usize] = value;
        }
        assert_eq!(flat.factorise(), Err(Singular));
    }
}
