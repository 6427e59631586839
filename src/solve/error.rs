//! Why no answer could be given: typed, naming the part, with what to do.

use crate::id::Subject;
use crate::quantity::{Kind, show_both};
use std::fmt;

/// Why a case has no solution.
#[derive(Clone, Debug, PartialEq)]
pub enum SolveError {
    /// Heat enters a loop and nothing takes it out: no steady state exists.
    NoHeatSink {
        /// The loop.
        subject: Subject,
        /// Heat entering, W.
        heat_w: f64,
    },
    /// More heat than the exchangers of a loop may take: no steady state exists.
    BeyondHeatLimit {
        /// The exchanger with the largest limit.
        subject: Subject,
        /// Heat entering the loop, W.
        heat_w: f64,
        /// What all its exchangers may take, W.
        limit_w: f64,
    },
    /// Heat on a part through which nothing flows: no steady state exists.
    HeatWithoutFlow {
        /// The part.
        subject: Subject,
        /// Its heat, W.
        heat_w: f64,
    },
    /// The balance of heat lies beyond the range of the coolant.
    BeyondCoolantRange {
        /// The part or node.
        subject: Subject,
        /// Temperature that the balance wants, K.
        temperature_k: f64,
        /// Lowest and highest liquid temperature, K.
        range_k: (f64, f64),
    },
    /// What a draw states can neither come nor go, for everything around it is shut: no steady state exists.
    DrawWithoutWay {
        /// The draw.
        subject: Subject,
        /// What it states to enter (negative: to leave), m3/s.
        inflow_m3_s: f64,
    },
    /// The flows did not settle.
    FlowsUnsettled {
        /// The branch that is worst, by its first part.
        subject: Subject,
        /// Steps taken.
        steps: usize,
        /// Largest residual left, in units of the largest pressure or flow.
        residual: f64,
    },
    /// Flows and temperatures did not agree.
    HeatUnsettled {
        /// The loop.
        subject: Subject,
        /// Passes made.
        passes: usize,
        /// Largest change in the last pass, K.
        change_k: f64,
    },
    /// A march in time took more steps than it may.
    TooManySteps {
        /// The case.
        case: String,
        /// Time reached, s.
        time_s: f64,
        /// Time wanted, s.
        duration_s: f64,
        /// Steps taken, the most allowed.
        steps: usize,
    },
    /// A march in time that led out of the coolant's range.
    LeavesCoolantRange {
        /// The part or node.
        subject: Subject,
        /// When, s.
        time_s: f64,
        /// Temperature there, K.
        temperature_k: f64,
        /// Lowest and highest liquid temperature, K.
        range_k: (f64, f64),
    },
}

impl SolveError {
    /// The stable code.
    pub fn code(&self) -> &'static str {
        match self {
            Self::NoHeatSink { .. } => "no-heat-sink",
            Self::BeyondHeatLimit { .. } => "beyond-heat-limit",
            Self::HeatWithoutFlow { .. } => "heat-without-flow",
            Self::BeyondCoolantRange { .. } => "beyond-coolant-range",
            Self::DrawWithoutWay { .. } => "draw-without-way",
            Self::FlowsUnsettled { .. } => "flows-unsettled",
            Self::HeatUnsettled { .. } => "heat-unsettled",
            Self::TooManySteps { .. } => "too-many-steps",
            Self::LeavesCoolantRange { .. } => "leaves-coolant-range",
        }
    }

    /// The part, loop or node it is about.
    pub fn subject(&self) -> Subject {
        match self {
            Self::TooManySteps { case, .. } => Subject::whole(case),
            Self::NoHeatSink { subject, .. }
            | Self::BeyondHeatLimit { subject, .. }
            | Self::HeatWithoutFlow { subject, .. }
            | Self::BeyondCoolantRange { subject, .. }
            | Self::DrawWithoutWay { subject, .. }
            | Self::FlowsUnsettled { subject, .. }
            | Self::HeatUnsettled { subject, .. }
            | Self::LeavesCoolantRange { subject, .. } => subject.clone(),
        }
    }
}

impl fmt::Display for SolveError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoHeatSink { subject, heat_w } => write!(
                f,
                "cannot find a steady temperature for `{subject}` because {} enter it and nothing takes heat out; try a core or an exchanger, or solve flows alone with `coolant_temperature`",
                show_both(Kind::Power, *heat_w)
            ),
            Self::BeyondHeatLimit {
                subject,
                heat_w,
                limit_w,
            } => write!(
                f,
                "cannot find a steady temperature because the heat limit of `{subject}` is reached: got {} into its loop, limit {}; try a larger exchanger, a second one, or less heat",
                show_both(Kind::Power, *heat_w),
                show_both(Kind::Power, *limit_w)
            ),
            Self::HeatWithoutFlow { subject, heat_w } => write!(
                f,
                "cannot find a steady temperature for `{subject}` because {} enter it and no coolant flows; try opening its branch or taking the heat away",
                show_both(Kind::Power, *heat_w)
            ),
            Self::BeyondCoolantRange {
                subject,
                temperature_k,
                range_k,
            } => write!(
                f,
                "cannot answer for `{subject}` because its balance of heat lies at {}, beyond the coolant's range: limits {} and {}; try less heat, more flow, a larger core, or another coolant",
                show_both(Kind::Temperature, *temperature_k),
                show_both(Kind::Temperature, range_k.0),
                show_both(Kind::Temperature, range_k.1)
            ),
            Self::DrawWithoutWay {
                subject,
                inflow_m3_s,
            } => {
                let way = if *inflow_m3_s < 0.0 { "to" } else { "from" };
                write!(
                    f,
                    "cannot meet the flow of `{subject}` because shut valves and check valves leave it no way {way} it: got {}, limit none at all; try opening a valve or turning a check valve round",
                    show_both(Kind::VolumeFlow, inflow_m3_s.abs())
                )
            }
            Self::FlowsUnsettled {
                subject,
                steps,
                residual,
            } => write!(
                f,
                "cannot settle the flows because Newton left a residual of {residual:.1e} (scaled) near `{subject}` after {steps} steps; try looking for a bore or a curve that is off by orders of magnitude there"
            ),
            Self::TooManySteps {
                case,
                time_s,
                duration_s,
                steps,
            } => write!(
                f,
                "cannot march `{case}` to its end because {steps} steps led only to {:.3} of {:.3} minutes: got more than the limit of {steps}; try a shorter `duration`, or the steady answer without one",
                time_s / 60.0,
                duration_s / 60.0
            ),
            Self::LeavesCoolantRange {
                subject,
                time_s,
                temperature_k,
                range_k,
            } => write!(
                f,
                "cannot march on because `{subject}` leaves the coolant's range after {:.1} minutes: got {:.1} degC, limits {:.1} and {:.1} degC; try a shorter `duration`, less heat, more flow, or another coolant",
                time_s / 60.0,
                temperature_k - 273.15,
                range_k.0 - 273.15,
                range_k.1 - 273.15
            ),
            Self::HeatUnsettled {
                subject,
                passes,
                change_k,
            } => write!(
                f,
                "cannot settle the temperatures of `{subject}` because they still moved by {change_k:.1e} K after {passes} passes; try a warmer start or look for a part that is nearly at rest"
            ),
        }
    }
}

impl std::error::Error for SolveError {}
