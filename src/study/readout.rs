//! What a study reads off a solved case. The study solves and knows no key of any answer; a readout knows the keys and
//! solves nothing. [`report::Keys`](crate::report::Keys) reads by the keys of `solve --json`.

use super::limit_row::LimitRow;
use super::limits::judge;
use super::time::{self, TimeAnswer};
use crate::design::Limits;
use crate::network::Case;
use crate::solve::{Solution, SolveError, Solver};

/// A case that was solved, or marched where it has a duration.
#[derive(Clone, Debug)]
pub struct Solved<'n> {
    /// The steady state, or the state at the end of a march.
    pub solution: Solution<'n>,
    /// Its limits; empty where nobody asked for them.
    pub limits: Vec<LimitRow>,
    /// The march, for a case with a duration.
    pub march: Option<TimeAnswer<'n>>,
}

/// Whether limits are judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Judging {
    /// They are.
    Yes,
    /// They are left out.
    No,
}

/// Solves or marches a case without findings and bands.
///
/// # Errors
/// As [`Solver::solve`] and [`Solver::march`].
pub fn solve_case<'n>(
    solver: &mut Solver<'n>,
    case: &Case,
    limits: &Limits,
    judged: Judging,
) -> Result<Solved<'n>, SolveError> {
    if let Some(march) = time::run(solver, case, limits)? {
        return Ok(Solved {
            solution: march.end.clone(),
            limits: march.limits.clone(),
            march: Some(march),
        });
    }
    let solution = solver.solve_silently(case)?;
    let limits = match judged {
        Judging::Yes => judge(&solution, limits),
        Judging::No => Vec::new(),
    };
    Ok(Solved {
        solution,
        limits,
        march: None,
    })
}

/// Reads numbers off a solved case, by a path behind the name of the case (`loops.battery.banks.mid.deviation`).
pub trait Readout: Sync {
    /// The numbers at some paths, `None` where a value does not exist in this case.
    ///
    /// # Errors
    /// For each path by itself, why it can be no number in any case.
    fn numbers(&self, solved: &Solved<'_>, paths: &[&str]) -> Vec<Result<Option<f64>, String>>;

    /// Whether a path needs the limits judged.
    fn judged(&self, path: &str) -> Judging;

    /// Paths worth reading where nobody said which.
    fn usual(&self, solved: &Solved<'_>) -> Vec<String>;

    /// Every number of the answer that a builder would compare, with its path.
    fn every(&self, solved: &Solved<'_>) -> Vec<(String, f64)>;

    /// What a change at a path is measured against, where the larger of the two magnitudes is given.
    fn scale(&self, path: &str, magnitude: f64) -> f64;
}
