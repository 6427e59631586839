//! Slopes as they are taken, place by place.

/// Step of a temperature, K: properties bend over tens of kelvin, so the curvature costs 1e-8, round-off 1e-9.
pub const STEP_K: f64 = 3.0e-3;

/// Half the difference of a function a step up and a step down, over the step.
pub fn over_kelvin(of: impl Fn(f64) -> f64) -> f64 {
    (of(STEP_K) - of(-STEP_K)) / (2.0 * STEP_K)
}

/// Slopes of all rows over all unknowns; a place may repeat.
#[derive(Default)]
pub struct Matrix {
    /// Row and column.
    pub positions: Vec<(usize, usize)>,
    /// Slopes.
    pub values: Vec<f64>,
}

impl Matrix {
    /// Takes everything out.
    pub fn clear(&mut self) {
        self.positions.clear();
        self.values.clear();
    }

    /// Adds a slope.
    pub fn put(&mut self, row: usize, column: usize, slope: f64) {
        self.positions.push((row, column));
        self.values.push(slope);
    }
}
