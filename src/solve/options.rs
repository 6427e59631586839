//! What a caller may choose about a solve; the defaults meet the accuracy that the handbook promises.

/// Choices of one solve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Most Newton steps of one hydraulic attempt before the next start is tried.
    pub newton_steps: usize,
    /// Most outer passes of flow and heat.
    pub passes: usize,
    /// Largest change of any temperature between passes that counts as agreed, K.
    pub agreed_k: f64,
    /// Temperature from which iteration starts (warm or cold), K; `None` takes the mean temperature
    /// of what cools the loop (the air of the case for a core).
    pub start_k: Option<f64>,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            newton_steps: 40,
            passes: 60,
            agreed_k: AGREED_K,
            start_k: None,
        }
    }
}

/// A flow changes by about 2 % a kelvin in cold laminar glycol, so this keeps flows agreed to 1e-9 of themselves.
const AGREED_K: f64 = 3.0e-8;
