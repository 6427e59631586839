//! How far to go between passes: Anderson acceleration on the temperatures of a loop (Anderson, 1965, J. ACM
//! 12:547-560), which turns the slow agreement of flow and heat into a fast one. Numbers only.

use super::thermal::HeatState;
use nalgebra::{DMatrix, DVector};

/// Passes remembered of one loop.
const DEPTH: usize = 4;
/// Passes remembered beyond that for each loop more that goes along.
const DEPTH_MORE: usize = 2;

/// Remembers earlier passes and proposes the next state.
pub struct Mixer {
    inputs: Vec<Vec<f64>>,
    changes: Vec<Vec<f64>>,
}

fn flatten(state: &HeatState) -> Vec<f64> {
    let mut flat = state.node_k.clone();
    flat.extend(&state.module_k);
    flat.extend(&state.upstream_k);
    flat.extend(&state.downstream_k);
    flat
}

fn write_back(state: &mut HeatState, flat: &[f64]) {
    let mut rest = flat;
    for part in [
        &mut state.node_k,
        &mut state.module_k,
        &mut state.upstream_k,
        &mut state.downstream_k,
    ] {
        let (head, tail) = rest.split_at(part.len());
        part.copy_from_slice(head);
        rest = tail;
    }
}

impl Mixer {
    /// Nothing remembered.
    pub fn new() -> Self {
        Self {
            inputs: Vec::new(),
            changes: Vec::new(),
        }
    }

    /// Replaces `state`, from which a pass made `next`, by the state to try next.
    pub fn mix(&mut self, state: &mut HeatState, next: HeatState) {
        self.mix_all(&mut [state], vec![next]);
    }

    /// The same for loops that go together, as one state.
    pub fn mix_all(&mut self, states: &mut [&mut HeatState], next: Vec<HeatState>) {
        let x: Vec<f64> = states.iter().flat_map(|s| flatten(s)).collect();
        let sizes: Vec<usize> = next.iter().map(|s| flatten(s).len()).collect();
        let g: Vec<f64> = next.iter().flat_map(flatten).collect();
        let f: Vec<f64> = g.iter().zip(&x).map(|(g, x)| g - x).collect();
        let depth = DEPTH + DEPTH_MORE * states.len().saturating_sub(1);
        for (state, next) in states.iter_mut().zip(next) {
            **state = next;
        }
        let mut proposal = g;
        let remembered = self.inputs.len();
        if remembered > 0 {
            let n = f.len();
            let df = DMatrix::from_fn(n, remembered, |r, c| f[r] - self.changes[c][r]);
            let rhs = DVector::from_column_slice(&f);
            let svd = df.svd(true, true);
            let largest = svd.singular_values.max();
            if let Ok(weights) = svd.solve(&rhs, 1e-8 * largest)
                && weights.iter().all(|w| w.is_finite() && w.abs() < 10.0)
            {
                for c in 0..remembered {
                    for r in 0..n {
                        let dx = x[r] - self.inputs[c][r];
                        let df = f[r] - self.changes[c][r];
                        proposal[r] -= weights[c] * (dx + df);
                    }
                }
                let mut rest = proposal.as_slice();
                for (state, size) in states.iter_mut().zip(sizes) {
                    let (own, others) = rest.split_at(size);
                    write_back(state, own);
                    rest = others;
                }
            }
        }
        self.inputs.push(x);
        self.changes.push(f);
        if self.inputs.len() > depth {
            self.inputs.remove(0);
            self.changes.remove(0);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_linear_map_of_two_modes_agrees_in_a_few_passes() {
        let state = |a: f64, b: f64| HeatState {
            node_k: vec![a, b],
            module_k: vec![],
            plate_k: vec![],
            upstream_k: vec![],
            downstream_k: vec![],
            heat_w: vec![],
        };
        // x' = A x + c with eigenvalues 0.8 and -0.6, fixed point (300, 310).
        let map = |s: &HeatState| {
            let (u, v) = (s.node_k[0] - 300.0, s.node_k[1] - 310.0);
            state(300.0 + 0.8 * u + 0.1 * v, 310.0 - 0.6 * v)
        };
        let mut mixer = Mixer::new();
        let mut x = state(280.0, 290.0);
        for _ in 0..6 {
            let next = map(&x);
            mixer.mix(&mut x, next);
        }
        assert!(
            (x.node_k[0] - 300.0).abs() < 1e-6 && (x.node_k[1] - 310.0).abs() < 1e-6,
            "{x:?}"
        );
    }
}
