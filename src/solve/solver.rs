//! The solver of a network: it keeps the analysis of each graph between cases and hands out solutions.

use super::case_state::CaseState;
use super::couple::{Near, Workspaces, solve_case, solve_from};
use super::error::SolveError;
use super::findings::findings;
use super::options::Options;
use super::solution::Solution;
use super::transient::{MarchEffort, MarchError, Moment, TimeOptions, VehicleMarch, march};
use crate::network::{Case, Network};

/// What a solver keeps between solves: the analysis of every graph and room for numbers; by default of no graph.
#[derive(Default)]
pub struct SolverRoom(Workspaces);

/// Solves the cases of one network; the symbolic analysis of every graph is made once.
///
/// ```
/// use loopwright::{design::Source, network::Network, solve::Solver};
/// let text = r#"{ "format": 1, "title": "bucket", "coolants": { "water": { "water": {} } },
///   "loops": { "bench": { "coolant": "water",
///     "parts": { "mains": { "open_end": { "pressure": "20 kPa" } }, "bucket": { "open_end": {} },
///                "hose": { "hose": { "bore": "12 mm", "length": "3 m" } } },
///     "runs": [["mains", "hose", "bucket"]] } },
///   "cases": { "cold tap": { "air": "12 degC" } } }"#;
/// let source = Source::read(text).unwrap();
/// let network = Network::build(&source.design).unwrap();
/// let mut solver = Solver::new(&network);
/// let solution = solver.solve(&network.cases()[0]).unwrap();
/// let hose = solution.part("bench", "hose").unwrap();
/// assert!((hose.pressure_drop_pa - 20e3).abs() < 1e-3 && hose.mass_flow_kg_s > 0.1);
/// assert!(solution.closure("bench").unwrap().is_met());
/// ```
pub struct Solver<'n> {
    pub(super) network: &'n Network,
    pub(super) options: Options,
    pub(super) workspaces: Workspaces,
}

impl<'n> Solver<'n> {
    /// A solver with the default options.
    pub fn new(network: &'n Network) -> Self {
        Self::with_options(network, Options::default())
    }

    /// A solver with options of its own.
    pub fn with_options(network: &'n Network, options: Options) -> Self {
        Self {
            network,
            options,
            workspaces: Workspaces::new(network),
        }
    }

    /// The network that it solves.
    pub fn network(&self) -> &'n Network {
        self.network
    }

    /// A solver that takes over what another one kept of a network: where the two have the same graphs, nothing is analysed
    /// again, and the answers are the same to the last bit.
    pub fn resumed(network: &'n Network, room: SolverRoom) -> Self {
        if !room.0.fit(network) {
            return Self::new(network);
        }
        Self {
            network,
            options: Options::default(),
            workspaces: room.0,
        }
    }

    /// What the solver keeps between solves, for [`Solver::resumed`].
    pub fn into_room(self) -> SolverRoom {
        SolverRoom(self.workspaces)
    }

    /// Lends what the solver keeps, to solve networks with the same graphs by [`Solver::resumed`]; what comes back is kept.
    pub(crate) fn lend<T>(&mut self, with: impl FnOnce(&mut SolverRoom) -> T) -> T {
        let mut room = SolverRoom(std::mem::take(&mut self.workspaces));
        let answer = with(&mut room);
        self.workspaces = if room.0.fit(self.network) {
            room.0
        } else {
            Workspaces::new(self.network)
        };
        answer
    }

    /// Solves a case from a solution of the same case in a network that differs in the laws of `changed` loops alone: to
    /// the owed accuracy the numbers of [`Solver::solve`], without findings. Loops that no change reaches are taken over.
    ///
    /// # Errors
    /// As [`Solver::solve`].
    pub fn solve_near(
        &mut self,
        near: &Solution<'_>,
        changed: &[usize],
    ) -> Result<Solution<'n>, SolveError> {
        let state = &near.state;
        let near_by = Near { state, changed };
        let (network, options) = (self.network, &self.options);
        // The state of a march stores heat and is near nothing steady.
        let same = state.loops.len() == network.loops().len()
            && state.loops.iter().all(|l| l.storing_w.is_empty());
        let state = match same.then(|| {
            let room = &mut self.workspaces;
            solve_from(network, near.case(), options, room, Some(near_by))
        }) {
            Some(Ok(state)) => state,
            _ => solve_case(network, near.case(), options, &mut self.workspaces)?,
        };
        Ok(Solution::of_state(network, &near.case, state))
    }

    /// How closely temperatures of two passes agree before a solve ends, K; at first 3e-8, by which flows agree to 1e-9.
    pub(crate) fn agree_to(&mut self, agreed_k: f64) {
        self.options.agreed_k = agreed_k;
    }

    /// Solves a case.
    ///
    /// # Errors
    /// [`SolveError`] where the case has no steady state, lies beyond the coolant's range, or does not settle.
    pub fn solve(&mut self, case: &Case) -> Result<Solution<'n>, SolveError> {
        let mut solution = self.solve_silently(case)?;
        solution.findings = findings(&solution);
        Ok(solution)
    }

    /// Solves a case to the same numbers without looking for findings, for studies that read numbers alone.
    ///
    /// # Errors
    /// As [`Solver::solve`].
    pub fn solve_silently(&mut self, case: &Case) -> Result<Solution<'n>, SolveError> {
        let state = self.solve_raw(case)?;
        Ok(Solution::of_state(self.network, case, state))
    }

    /// Marches a case in time and hands every state that is kept to `each`, with its time in s; returns the last one and
    /// the effort. A case without a duration gives `None`.
    ///
    /// # Errors
    /// [`SolveError`] where a stage has no answer, the coolant leaves its range, or the steps run out.
    #[allow(clippy::type_complexity)]
    pub fn march(
        &mut self,
        case: &Case,
        options: &TimeOptions,
        each: &mut dyn FnMut(f64, &Solution<'n>, Moment),
    ) -> Result<Option<(Solution<'n>, MarchEffort)>, SolveError> {
        let Some(span) = case.time else {
            return Ok(None);
        };
        let network = self.network;
        let seen =
            |vehicle: &VehicleMarch<'_>| Solution::of_state(network, case, vehicle.case_state());
        let (mut vehicle, mut y) = VehicleMarch::new(
            network,
            case,
            span,
            options.tolerance_k,
            &self.options,
            &mut self.workspaces,
        )?;
        let effort = march(
            &mut vehicle,
            &mut y,
            span.duration_s,
            options,
            &mut |vehicle, time_s, _, moment| each(time_s, &seen(vehicle), moment),
        )
        .map_err(|error| match error {
            MarchError::Stage(error) => error,
            MarchError::TooManySteps(time_s) => SolveError::TooManySteps {
                case: case.name.clone(),
                time_s,
                duration_s: span.duration_s,
                steps: options.most_steps,
            },
        })?;
        let mut solution = seen(&vehicle);
        solution.findings = findings(&solution);
        Ok(Some((solution, effort)))
    }

    /// Solves a case and returns the raw numbers alone, without views and findings.
    ///
    /// # Errors
    /// As [`Solver::solve`].
    pub fn solve_raw(&mut self, case: &Case) -> Result<CaseState, SolveError> {
        solve_case(self.network, case, &self.options, &mut self.workspaces)
    }
}
