//! What a builder should know about the air of an answer and its cores.

use super::case_state::Carried;
use super::solution::Solution;
use super::states::CoreState;
use crate::finding::{Finding, FindingKind};
use crate::id::Subject;
use crate::network::CoreTie;
use crate::part::{AirConductance, MachineRegion};
use crate::quantity::{Kind, show_both};

/// A core whose air is this little cooler than its coolant cannot be told from one at rest, K.
const NO_DIFFERENCE_K: f64 = 1e-6;

pub(super) fn air(solution: &Solution<'_>, found: &mut Vec<Finding>) {
    for radiator in solution.network().radiators() {
        for fan in solution.fans(&radiator.name) {
            let subject = Subject::part(&radiator.name, &fan.name);
            let (kind, text) = match fan.region {
                MachineRegion::Stopped if fan.volume_flow_m3_s < 0.0 => (
                    FindingKind::BackwardsThroughMachine,
                    "air of the bay flows backwards through the standing fan and back out through another; a flap on this fan, or a shroud of its own, would stop that",
                ),
                MachineRegion::Stopped => (
                    FindingKind::StoppedMachine,
                    "the fan stands still and is taken as an open resistance estimated from its curve",
                ),
                MachineRegion::Backwards => (
                    FindingKind::BackwardsThroughMachine,
                    "air is pushed backwards through the running fan",
                ),
                MachineRegion::BeyondLastPoint => (
                    FindingKind::BeyondCurve,
                    "ram air pushes more through the fan than its free flow; there the turning fan is a guess between helping and holding back",
                ),
                MachineRegion::OnCurve => continue,
            };
            found.push(Finding::new(kind, subject, text));
        }
    }
}

pub(super) fn cores(solution: &Solution<'_>, found: &mut Vec<Finding>) {
    let case = solution.case();
    for radiator in solution.network().radiators() {
        for core in solution.cores(&radiator.name) {
            let subject = Subject::part(&radiator.name, &core.core);
            if core.air_mass_flow_kg_s < 0.0 {
                found.push(Finding::new(
                    FindingKind::BackwardsAir,
                    subject.clone(),
                    "air flows backwards through this core and enters at the temperature of the bay",
                ));
            }
            let tie = (solution.network().cores().iter()).find(|t| {
                t.core == core.core
                    && solution.network().radiators()[t.radiator].name == radiator.name
            });
            if let Some(tie) = tie {
                core_ranges(tie, &core, &subject, found);
            }
            if solution.carried(&core.owner) != Some(Carried::Solved) {
                continue;
            }
            let air_k = (core.air_inlet_temperature_k).unwrap_or(case.air_temperature_k);
            let difference = core.inlet_temperature_k - air_k;
            if core.heat_rejected_w < 0.0 && difference < -NO_DIFFERENCE_K {
                found.push(Finding::new(
                    FindingKind::CoreCannotCool,
                    subject,
                    format!(
                        "the coolant enters this core {} below the air, so the core warms it; a radiator cannot cool below its air: a chiller, or thermal mass for a short time, could",
                        show_both(Kind::TemperatureDifference, -difference)
                    ),
                ));
            }
        }
    }
}

/// Fins and dimples beyond the Reynolds numbers they were measured at.
pub(super) fn core_ranges(
    tie: &CoreTie,
    core: &CoreState,
    subject: &Subject,
    found: &mut Vec<Finding>,
) {
    let sides = &core.sides;
    if let (AirConductance::Fins(face), Some((least, most))) = (&tie.air_side, sides.air_reynolds) {
        let (low, high) = face.reynolds_range();
        if least < low || most > high {
            let (off, side) = if most > high {
                (most, "above")
            } else {
                (least, "below")
            };
            found.push(Finding::new(
                FindingKind::FinRange,
                subject.clone(),
                format!(
                    "the air between the fins runs at Re {off:.0}, {side} the {low:.0} to {high:.0} their correlations were made for, so heat and drop of the air side are continued beyond them"
                ),
            ));
        }
    }
    if let Some(dimpled) = &tie.dimpled {
        let text = if dimpled
            .up_to_reynolds
            .is_some_and(|up_to| sides.reynolds > up_to)
        {
            "beyond the Reynolds numbers of the factors of its dimples, which are held"
        } else if sides.reynolds < dimpled.above_reynolds {
            "below the Reynolds number from which the factors of its dimples hold in full, so they count in part or not at all"
        } else {
            return;
        };
        found.push(Finding::new(
            FindingKind::DimpleRange,
            subject.clone(),
            format!("the coolant runs at Re {:.0}, {text}", sides.reynolds),
        ));
    }
}
