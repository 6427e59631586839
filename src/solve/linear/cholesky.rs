//! A large conductance matrix over nodes: the library's Cholesky in approximate-minimum-degree order, and conjugate
//! gradients on factors of an earlier matrix where the new one is near it. One thread, so that bits repeat.

use super::general::Singular;
use crate::solve::converge::largest;
use faer::dyn_stack::{MemBuffer, MemStack};
use faer::sparse::linalg::cholesky::{
    LltRef, SymbolicCholesky, SymmetricOrdering, factorize_symbolic_cholesky,
};
use faer::sparse::{SparseColMatRef, SymbolicSparseColMatRef};
use faer::{Conj, MatMut, Par, Side};

/// Steps of conjugate gradients that cost about as much as a factorisation.
const MOST_STEPS: usize = 4;
/// Mean change of the diagonal since the factors, over itself, beyond which gradients are not tried (set on grids, where they
/// led nowhere at 0.04 and ended in two or three steps at 1e-4).
const NEAR: f64 = 0.02;

/// A symmetric matrix, lower triangle by columns, diagonal first.
pub struct Cholesky {
    column_start: Vec<u32>,
    row_of: Vec<u32>,
    values: Vec<f64>,
    symbolic: SymbolicCholesky<u32>,
    factors: Vec<f64>,
    factor_buffer: MemBuffer,
    solve_buffer: MemBuffer,
    fresh: Freshness,
    vectors: [Vec<f64>; 4],
    factored_diagonal: Vec<f64>,
}

/// What the factors belong to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Freshness {
    /// Nothing that may be used.
    None,
    /// An earlier matrix.
    Stale,
    /// The present one.
    Fresh,
}

/// How a system was solved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Solved {
    /// By factors of this matrix.
    Directly,
    /// By steps on factors of an earlier one.
    ByGradients,
}

impl Cholesky {
    /// The matrix of a graph of `size` nodes with these edges (ends may be left out where they hold no unknown);
    /// returns the slot of each edge between two unknowns, `u32::MAX` for the others.
    ///
    /// # Errors
    /// [`Singular`] where the factors would be too many to count.
    pub fn new(size: usize, edges: &[[u32; 2]]) -> Result<(Self, Vec<u32>), Singular> {
        let joins = |e: &[u32; 2]| (e[0] as usize) < size && (e[1] as usize) < size && e[0] != e[1];
        // Columns by counting: the diagonal, then rows in rising order without doubles.
        let mut count = vec![1_u32; size + 1];
        for e in edges.iter().filter(|e| joins(e)) {
            count[e[0].min(e[1]) as usize] += 1;
        }
        let mut wide_start = vec![0_u32; size + 1];
        for k in 0..size {
            wide_start[k + 1] = wide_start[k] + count[k];
        }
        let mut wide = vec![0_u32; wide_start[size] as usize];
        let mut fill: Vec<u32> = wide_start[..size].to_vec();
        for k in 0..size {
            wide[fill[k] as usize] = k as u32;
            fill[k] += 1;
        }
        for e in edges.iter().filter(|e| joins(e)) {
            let column = e[0].min(e[1]) as usize;
            wide[fill[column] as usize] = e[0].max(e[1]);
            fill[column] += 1;
        }
        drop((count, fill));
        let mut column_start = vec![0_u32; size + 1];
        let mut kept = 0;
        for k in 0..size {
            let (from, to) = (wide_start[k] as usize, wide_start[k + 1] as usize);
            wide[from..to].sort_unstable();
            for at in from..to {
                if at == from || wide[at] != wide[at - 1] {
                    wide[kept] = wide[at];
                    kept += 1;
                }
            }
            column_start[k + 1] = kept as u32;
        }
        wide.truncate(kept);
        wide.shrink_to_fit();
        let row_of = wide;
        let slots = edges
            .iter()
            .map(|e| {
                if !joins(e) {
                    return u32::MAX;
                }
                let column = e[0].min(e[1]) as usize;
                let from = column_start[column] as usize;
                let rows = &row_of[from..column_start[column + 1] as usize];
                (from + rows.partition_point(|&r| r < e[0].max(e[1]))) as u32
            })
            .collect();
        let pattern =
            SymbolicSparseColMatRef::new_checked(size, size, &column_start, None, &row_of);
        let symbolic = factorize_symbolic_cholesky(
            pattern,
            Side::Lower,
            SymmetricOrdering::Amd,
            Default::default(),
        )
        .map_err(|_| Singular)?;
        let factor_buffer = MemBuffer::try_new(
            symbolic.factorize_numeric_llt_scratch::<f64>(Par::Seq, Default::default()),
        )
        .map_err(|_| Singular)?;
        let solve_buffer = MemBuffer::try_new(symbolic.solve_in_place_scratch::<f64>(1, Par::Seq))
            .map_err(|_| Singular)?;
        let made = Self {
            values: vec![0.0; row_of.len()],
            factors: vec![0.0; symbolic.len_val()],
            column_start,
            row_of,
            symbolic,
            factor_buffer,
            solve_buffer,
            fresh: Freshness::None,
            vectors: std::array::from_fn(|_| vec![0.0; size]),
            factored_diagonal: vec![0.0; size],
        };
        Ok((made, slots))
    }

    /// The slot of each diagonal, then the values: to be written before a factorisation.
    pub fn diagonal_and_values(&mut self) -> (&[u32], &mut [f64]) {
        self.fresh = match self.fresh {
            Freshness::None => Freshness::None,
            Freshness::Stale | Freshness::Fresh => Freshness::Stale,
        };
        (&self.column_start, &mut self.values)
    }

    /// Forgets the factors, so that what follows depends on nothing before it.
    pub fn forget(&mut self) {
        self.fresh = Freshness::None;
    }

    fn factorise(&mut self) -> Result<(), Singular> {
        self.fresh = Freshness::None;
        if self.values.iter().any(|v| !v.is_finite()) {
            return Err(Singular);
        }
        let size = self.vectors[0].len();
        let pattern = SymbolicSparseColMatRef::new_checked(
            size,
            size,
            &self.column_start,
            None,
            &self.row_of,
        );
        let matrix = SparseColMatRef::new(pattern, &self.values);
        self.symbolic
            .factorize_numeric_llt(
                &mut self.factors,
                matrix,
                Side::Lower,
                Default::default(),
                Par::Seq,
                MemStack::new(&mut self.factor_buffer),
                Default::default(),
            )
            .map_err(|_| Singular)?;
        self.fresh = Freshness::Fresh;
        let diagonals = self.column_start.iter().zip(&mut self.factored_diagonal);
        for (&slot, d) in diagonals {
            *d = self.values[slot as usize];
        }
        Ok(())
    }

    /// Whether the matrix is near the one that was factorised.
    fn is_near(&self) -> bool {
        let diagonals = self.column_start.iter().zip(&self.factored_diagonal);
        let change: f64 = diagonals
            .map(|(&slot, d)| (self.values[slot as usize] / d - 1.0).abs().min(1.0))
            .sum();
        change <= NEAR * self.factored_diagonal.len() as f64
    }

    fn apply_factors(&mut self, vector: usize) {
        let size = self.vectors[vector].len();
        LltRef::<u32, f64>::new(&self.symbolic, &self.factors).solve_in_place_with_conj(
            Conj::No,
            MatMut::from_column_major_slice_mut(&mut self.vectors[vector], size, 1),
            Par::Seq,
            MemStack::new(&mut self.solve_buffer),
        );
    }

    /// Solves for a right-hand side in place: on old factors where that is quick and no entry misses its own by more than
    /// `leave`, else on new ones.
    ///
    /// # Errors
    /// [`Singular`] where the matrix is not positive definite.
    pub fn solve(&mut self, rhs: &mut [f64], leave: f64) -> Result<Solved, Singular> {
        if self.fresh == Freshness::Stale && self.is_near() && self.by_gradients(rhs, leave) {
            return Ok(Solved::ByGradients);
        }
        let mut how = Solved::ByGradients;
        if self.fresh != Freshness::Fresh {
            self.factorise()?;
            how = Solved::Directly;
        }
        self.vectors[0].copy_from_slice(rhs);
        self.apply_factors(0);
        if self.vectors[0].iter().any(|v| !v.is_finite()) {
            self.fresh = Freshness::None;
            return Err(Singular);
        }
        rhs.copy_from_slice(&self.vectors[0]);
        Ok(how)
    }

    /// Conjugate gradients preconditioned by the old factors; gives up as soon as it cannot be quick.
    fn by_gradients(&mut self, rhs: &mut [f64], leave: f64) -> bool {
        const Z: usize = 0;
        const P: usize = 1;
        const R: usize = 2;
        const X: usize = 3;
        let begun = largest(rhs);
        if begun <= leave {
            rhs.fill(0.0);
            return true;
        }
        self.vectors[R].copy_from_slice(rhs);
        self.vectors[X].fill(0.0);
        self.vectors[P].fill(0.0);
        let mut rz_before = f64::INFINITY;
        for step in 1..=MOST_STEPS {
            let [z, _, r, _] = &mut self.vectors;
            z.copy_from_slice(r);
            self.apply_factors(Z);
            let [z, p, r, _] = &mut self.vectors;
            let rz = dot(r, z);
            let turn = rz / rz_before;
            rz_before = rz;
            for (p, z) in p.iter_mut().zip(z.iter()) {
                *p = z + turn * *p;
            }
            // The product overwrites Z, which P now holds.
            let mut product = std::mem::take(&mut self.vectors[Z]);
            self.multiply(&self.vectors[P], &mut product);
            let curvature = dot(&self.vectors[P], &product);
            self.vectors[Z] = product;
            if !(curvature > 0.0 && rz > 0.0 && rz.is_finite()) {
                return false;
            }
            let length = rz / curvature;
            let [product, p, r, x] = &mut self.vectors;
            for k in 0..x.len() {
                x[k] += length * p[k];
                r[k] -= length * product[k];
            }
            let left = largest(&self.vectors[R]);
            if left <= leave {
                rhs.copy_from_slice(&self.vectors[X]);
                return true;
            }
            // Steps that the decrease so far foretells.
            let rate = (left / begun).ln() / step as f64;
            if rate >= 0.0 || (leave / begun).ln() / rate > MOST_STEPS as f64 + 0.5 {
                return false;
            }
        }
        false
    }

    fn multiply(&self, x: &[f64], product: &mut [f64]) {
        product.fill(0.0);
        for (column, ends) in self.column_start.windows(2).enumerate() {
            let (from, to) = (ends[0] as usize, ends[1] as usize);
            let here = x[column];
            let mut sum = self.values[from] * here;
            for (&row, v) in self.row_of[from + 1..to]
                .iter()
                .zip(&self.values[from + 1..to])
            {
                sum += v * x[row as usize];
                product[row as usize] += v * here;
            }
            product[column] += sum;
        }
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
