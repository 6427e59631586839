//! A vehicle as something that stores heat: the same balance of enthalpy as the steady solve, with what is stored.
//!
//! Rows: nodes, modules and devices of every loop. A module or device stores mass times specific heat; each half of the
//! coolant of a branch (hoses, headers, tails, core tubes, and parts with `coolant_volume`) is stored at the node at that
//! end, mixed. Rows without mass follow at once. Flows, pumps, cores, exchangers and the air are quasi-steady: flows are
//! solved again with the properties of every stage. The stored mass is that at the start; what a tank holds beside the
//! stream is not counted, nor metal of hoses and radiators.

use super::circuit::{Around, LoopMarch};
use super::step::{Storing, Through};
use crate::id::Subject;
use crate::network::{Case, Network, TimeSpan};
use crate::solve::case_state::CaseState;
use crate::solve::couple::{Workspaces, solve_airs};
use crate::solve::error::SolveError;
use crate::solve::flow::FlowWorkspace;
use crate::solve::loop_heat::within_range;
use crate::solve::meeting::Meeting;
use crate::solve::options::Options;

/// Agreement of flow and heat over the tolerance of a step: what an implicit stage owes (Hairer and Wanner, 1996, section
/// IV.8, give a tenth to a thousandth; from memory).
const AGREED_SHARE: f64 = 1.0e-1;
/// Share of the duration before its end that is the end.
const ROUND_OFF: f64 = 1.0e-12;
/// Length of the stage that makes the start consistent, s.
const START_S: f64 = 1.0e-6;

/// All loops of a vehicle in time.
pub(in crate::solve) struct VehicleMarch<'a> {
    around: Around<'a>,
    loops: Vec<LoopMarch>,
    workspaces: &'a mut [FlowWorkspace],
    end_s: f64,
}

impl<'a> VehicleMarch<'a> {
    /// The vehicle at the start of a case, with its unknowns.
    pub fn new(
        network: &'a Network,
        case: &'a Case,
        span: TimeSpan,
        tolerance_k: f64,
        options: &'a Options,
        workspaces: &'a mut Workspaces,
    ) -> Result<(Self, Vec<f64>), SolveError> {
        let airs = solve_airs(network, case, options, workspaces)?;
        let loops: Vec<LoopMarch> = network
            .loops()
            .iter()
            .enumerate()
            .map(|(index, l)| LoopMarch::new(index, l.set_to(index, case), span.start_k))
            .collect();
        let size: usize = loops.iter().map(LoopMarch::size).sum();
        let meeting = Meeting::new(network, case, &airs);
        let reaches = meeting.reaches(network, &airs);
        let around = Around {
            network,
            case,
            options,
            airs,
            meeting,
            meets: reaches.iter().flatten().any(|r| *r),
            agreed_k: (AGREED_SHARE * tolerance_k).max(options.agreed_k),
            at_end: false,
        };
        let vehicle = Self {
            around,
            loops,
            workspaces: &mut workspaces.loops,
            end_s: span.duration_s,
        };
        Ok((vehicle, vec![span.start_k; size]))
    }

    /// The state last reached.
    pub fn case_state(&self) -> CaseState {
        CaseState {
            loops: self.loops.iter().map(|l| l.state.clone()).collect(),
            airs: self.around.airs.clone(),
            meeting: self.around.meeting.clone(),
        }
    }
}

impl Storing for VehicleMarch<'_> {
    type Error = SolveError;

    fn stored_j(&self, y: &[f64]) -> Vec<f64> {
        let mut stored = Vec::with_capacity(y.len());
        let mut rest = y;
        for l in &self.loops {
            let (own, others) = rest.split_at(l.size());
            l.stored_j(own, &mut stored);
            rest = others;
        }
        stored
    }

    fn start(&mut self, time_s: f64, y: &mut [f64]) -> Result<Vec<f64>, SolveError> {
        let base = self.stored_j(y);
        self.stage(time_s, START_S, &base, y)?;
        let mut rates = Vec::with_capacity(y.len());
        for l in &mut self.loops {
            rates.extend(l.rates_w(&self.around));
        }
        Ok(rates)
    }

    fn stage(
        &mut self,
        time_s: f64,
        weight_s: f64,
        base_j: &[f64],
        y: &mut [f64],
    ) -> Result<(), SolveError> {
        if time_s >= self.end_s * (1.0 - ROUND_OFF) {
            self.around.at_end = true;
            self.around.agreed_k = self.around.options.agreed_k;
        }
        for pass in 1..=self.around.options.passes {
            let before = y.to_vec();
            let mut at = 0;
            for (l, workspace) in self.loops.iter_mut().zip(self.workspaces.iter_mut()) {
                let own = at..at + l.size();
                at = own.end;
                let base = &base_j[own.clone()];
                l.go_on(time_s);
                l.stage(&self.around, workspace, weight_s, base, &mut y[own])?;
                l.note(&mut self.around);
            }
            let around = &mut self.around;
            around.meeting.follow(around.case, &around.airs);
            let change_k =
                (before.iter().zip(y.iter())).fold(0.0, |m: f64, (a, b)| m.max((a - b).abs()));
            if !around.meets || (pass > 1 && change_k <= around.agreed_k) {
                return Ok(());
            }
        }
        Err(self.loops.first().map_or(
            SolveError::HeatUnsettled {
                subject: Subject::whole(""),
                passes: self.around.options.passes,
                change_k: f64::NAN,
            },
            |l| l.unsettled(self.around.options.passes, f64::NAN),
        ))
    }

    fn kelvin(&mut self, misfit: &mut [f64]) -> Result<(), SolveError> {
        let mut rest = misfit;
        for l in &mut self.loops {
            let (own, others) = rest.split_at_mut(l.size());
            let unsettled = l.unsettled(0, f64::NAN);
            let matrix = &mut l.matrix;
            for (value, scale) in own.iter_mut().zip(&matrix.row_scale) {
                *value *= scale;
            }
            let solved = matrix.system.factorise();
            let solved = solved.and_then(|()| matrix.system.solve(own));
            solved.map_err(|_| unsettled)?;
            rest = others;
        }
        Ok(())
    }

    fn through_w(&self) -> Through {
        self.loops.iter().fold(Through::default(), |sum, l| {
            let own = l.through_w();
            Through {
                gained: sum.gained + own.gained,
                lost: sum.lost + own.lost,
            }
        })
    }

    fn keep(&mut self, time_s: f64) -> Result<(), SolveError> {
        for l in &self.loops {
            within_range(&l.state.circuit, &l.state.heat).map_err(|error| match error {
                SolveError::BeyondCoolantRange {
                    subject,
                    temperature_k,
                    range_k,
                } => SolveError::LeavesCoolantRange {
                    subject,
                    time_s,
                    temperature_k,
                    range_k,
                },
                other => other,
            })?;
        }
        Ok(())
    }
}
