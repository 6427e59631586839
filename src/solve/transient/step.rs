//! One step in time of stored heat: the singly diagonally implicit Runge-Kutta method of two stages and order two.
//! It knows stored heat, heat gained and kelvin; no hose, no module.
//!
//! `dS(y)/dt = R(t, y)`; rows that store nothing are conditions `R = 0` (index 1). With `g = 1 - 1/sqrt 2`:
//! `S1 = S + g h R1`, `S2 = S + (1 - g) h R1 + g h R2`, the new state is stage 2: L-stable, stiffly accurate, and what is
//! stored is what was gained. Source: Alexander (1977), SIAM J. Numer. Anal. 14:1006, section 2 (from memory; the order is
//! shown by halving the step in `tests/reference/transient.rs`).

/// Share of a step in front of its first stage, `1 - 1/sqrt 2`.
pub const STAGE_SHARE: f64 = 1.0 - std::f64::consts::FRAC_1_SQRT_2;

/// Heat that came in and went out, W or J.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Through {
    /// Brought in from outside.
    pub gained: f64,
    /// Taken out.
    pub lost: f64,
}

impl Through {
    fn add(&mut self, weight: f64, other: Self) {
        self.gained += weight * other.gained;
        self.lost += weight * other.lost;
    }
}

/// Something that stores heat: temperatures `y` in K, stored heat `S(y)` in J, heat gained `R(t, y)` in W.
pub trait Storing {
    /// Why a stage can have no answer.
    type Error;
    /// Stored heat of every row, J; 0 in a row that stores nothing.
    fn stored_j(&self, y: &[f64]) -> Vec<f64>;
    /// Makes `y` fit the conditions of rows that store nothing and returns the heat gained, W.
    ///
    /// # Errors
    /// Where there is no such state.
    fn start(&mut self, time_s: f64, y: &mut [f64]) -> Result<Vec<f64>, Self::Error>;
    /// Finds `y` with `S(y) - base = weight R(t, y)`, from a guess; the matrix of its slopes is kept for [`Self::kelvin`].
    ///
    /// # Errors
    /// Where there is no such state, or none was found.
    fn stage(
        &mut self,
        time_s: f64,
        weight_s: f64,
        base_j: &[f64],
        y: &mut [f64],
    ) -> Result<(), Self::Error>;
    /// Turns a misfit of stored heat into one of temperature with the matrix of the last stage, `S' - weight R'`.
    ///
    /// # Errors
    /// Where the matrix has no inverse.
    fn kelvin(&mut self, misfit: &mut [f64]) -> Result<(), Self::Error>;
    /// Heat through the outside at the last stage, W; only for the books.
    fn through_w(&self) -> Through {
        Through::default()
    }
    /// Called with every state that is kept.
    ///
    /// # Errors
    /// Where the state is no answer.
    fn keep(&mut self, _time_s: f64) -> Result<(), Self::Error> {
        Ok(())
    }
}

/// What a step led to.
pub(super) struct Stepped {
    /// Temperatures at its end, K.
    pub y: Vec<f64>,
    /// How fast they change there, K/s, as a guess for the next step.
    pub slope_k_s: Vec<f64>,
    /// Heat gained at its end, W.
    pub rate_w: Vec<f64>,
    /// Estimate of its error, the largest of all rows, K.
    pub error_k: f64,
    /// Heat through the outside during the step, J.
    pub through_j: Through,
}

/// One step from `y`, where `rate_w` is gained.
///
/// `slope_k_s` is how fast the temperatures changed before, a guess of which the answer is independent but for the
/// agreement of its stages. The error is estimated by the quadrature of order three through the rates at 0, `g` and 1, taken to kelvin with the
/// matrix of the last stage, which also damps what is stiff.
pub(super) fn step<P: Storing>(
    problem: &mut P,
    time_s: f64,
    h: f64,
    y: &[f64],
    (rate_w, slope_k_s): (&[f64], &[f64]),
) -> Result<Stepped, P::Error> {
    let g = STAGE_SHARE;
    let weight = g * h;
    let before = problem.stored_j(y);
    let mut through_j = Through::default();
    // Where temperatures go on as they did is near the answer of a stage.
    let mut stage: Vec<f64> = (y.iter().zip(slope_k_s))
        .map(|(k, slope)| k + weight * slope)
        .collect();
    problem.stage(time_s + weight, weight, &before, &mut stage)?;
    through_j.add((1.0 - g) * h, problem.through_w());
    let first = rates(&problem.stored_j(&stage), &before, weight);
    let base: Vec<f64> = before
        .iter()
        .zip(&first)
        .map(|(s, r)| s + (1.0 - g) * h * r)
        .collect();
    let early = stage.clone();
    for (k, before) in stage.iter_mut().zip(y) {
        *k += (*k - before) * (1.0 / g - 1.0);
    }
    problem.stage(time_s + h, weight, &base, &mut stage)?;
    through_j.add(weight, problem.through_w());
    let second = rates(&problem.stored_j(&stage), &base, weight);
    let b1 = 1.0 / (6.0 * g * (1.0 - g));
    let b2 = (2.0 - 3.0 * g) / (6.0 * (1.0 - g));
    let b0 = 1.0 - b1 - b2;
    let mut misfit: Vec<f64> = (0..y.len())
        .map(|k| h * (b0 * rate_w[k] + (b1 - 1.0 + g) * first[k] + (b2 - g) * second[k]))
        .collect();
    problem.kelvin(&mut misfit)?;
    let error_k = misfit.iter().fold(0.0, |m: f64, e| m.max(e.abs()));
    let slopes = stage.iter().zip(&early);
    Ok(Stepped {
        slope_k_s: slopes.map(|(b, a)| (b - a) / (h - weight)).collect(),
        y: stage,
        rate_w: second,
        error_k,
        through_j,
    })
}

fn rates(after: &[f64], before: &[f64], weight_s: f64) -> Vec<f64> {
    let pairs = after.iter().zip(before);
    pairs.map(|(a, b)| (a - b) / weight_s).collect()
}
