//! What a builder should know about an answer: one function a kind of finding, each with cause, effect and next step.

use super::air_findings::{air, cores};
use super::case_state::Carried;
use super::exchange::LIMIT_BLEND;
use super::second::second_findings;
use super::solution::Solution;
use super::states::PartState;
use crate::correlation::convection::{LAMINAR_END_RE, TURBULENT_START_RE};
use crate::correlation::hazen_williams_outside_range;
use crate::finding::{Finding, FindingKind};
use crate::id::Subject;
use crate::network::Passage;
use crate::part::{Law, MachineRegion};
use crate::quantity::{Kind, show_both};

/// Reynolds numbers between which flow may be laminar or turbulent (Churchill, 1977, bends between them).
const TRANSITION: (f64, f64) = (2000.0, 4000.0);
/// Measured points are trusted between these multiples of their span.
const TRUSTED_SPAN: (f64, f64) = (0.5, 1.5);
/// Kinematic viscosity above which a pump falls short of its curve by an amount nobody printed, m2/s.
const VISCOUS_M2_S: f64 = 10e-6;
/// Margin to boiling below which the builder is told, K.
const BOILING_MARGIN_K: f64 = 5.0;
/// Share of free flow below which a pump's flow counts as none.
const DEAD_HEAD_SHARE: f64 = 1e-6;

/// All findings of a solution.
pub(super) fn findings(solution: &Solution<'_>) -> Vec<Finding> {
    let mut found = solution.case().findings.clone();
    let names: Vec<String> = solution.loop_names().map(str::to_owned).collect();
    for name in &names {
        let parts = solution.parts(name);
        transition(name, parts, &mut found);
        measured_spans(solution, name, parts, &mut found);
        pumps(solution, name, &mut found);
        hazen_williams(solution, name, parts, &mut found);
        check_valves(solution, name, &mut found);
        coolant(solution, name, parts, &mut found);
        regimes(solution, name, parts, &mut found);
        heat_left_out(solution, name, &mut found);
        limited_exchangers(solution, name, &mut found);
        transitional_films(solution, name, &mut found);
    }
    second_findings(solution, &mut found);
    air(solution, &mut found);
    cores(solution, &mut found);
    found
}

/// `a`, `b` and 5 more.
fn list(names: &[&str]) -> String {
    let shown: Vec<String> = names.iter().take(3).map(|n| format!("`{n}`")).collect();
    match names.len() {
        0..=3 => shown.join(", "),
        n => format!("{} and {} more", shown.join(", "), n - 3),
    }
}

fn transition(owner: &str, parts: &[PartState], found: &mut Vec<Finding>) {
    let between: Vec<&str> = parts
        .iter()
        .filter(|p| {
            p.reynolds
                .is_some_and(|re| re > TRANSITION.0 && re < TRANSITION.1)
        })
        .map(|p| p.id.as_str())
        .collect();
    if let Some(first) = between.first() {
        let subject = if between.len() == 1 {
            Subject::part(owner, *first)
        } else {
            Subject::whole(owner)
        };
        found.push(Finding::new(
            FindingKind::TransitionalFlow,
            subject,
            format!(
                "flow in {} is neither surely laminar nor surely turbulent (Re {:.0} to {:.0}), so its loss may be up to twice or half of what is given",
                list(&between),
                TRANSITION.0,
                TRANSITION.1
            ),
        ));
    }
}

fn measured_spans(
    solution: &Solution<'_>,
    owner: &str,
    parts: &[PartState],
    found: &mut Vec<Finding>,
) {
    let Some(state) = solution.loop_state(owner) else {
        return;
    };
    let mut outside: Vec<&str> = Vec::new();
    let mut worst = (1.0_f64, 0.0);
    for (element, part) in state.circuit.net.elements.iter().zip(parts) {
        let Some((low, high)) = element.measured_span_m3_s else {
            continue;
        };
        let flow = part.volume_flow_m3_s.abs();
        if flow < TRUSTED_SPAN.0 * low || flow > TRUSTED_SPAN.1 * high {
            let off = if flow > high {
                flow / high
            } else {
                low / flow.max(1e-12)
            };
            if off > worst.0 {
                worst = (off, if flow > high { 1.0 } else { -1.0 });
            }
            outside.push(&part.id);
        }
    }
    if let Some(first) = outside.first() {
        let subject = if outside.len() == 1 {
            Subject::part(owner, *first)
        } else {
            Subject::whole(owner)
        };
        let side = if worst.1 > 0.0 {
            "above the highest"
        } else {
            "below the lowest"
        };
        found.push(Finding::new(
            FindingKind::OutsideMeasuredSpan,
            subject,
            format!(
                "the flow in {} lies up to {:.1} times {side} measured point, where the fitted drop is a guess; measure a point nearer",
                list(&outside),
                worst.0
            ),
        ));
    }
}

fn pumps(solution: &Solution<'_>, owner: &str, found: &mut Vec<Finding>) {
    let Some(state) = solution.loop_state(owner) else {
        return;
    };
    for (pump, machine) in solution.pumps(owner).iter().zip(&state.circuit.machines) {
        let subject = Subject::part(owner, &pump.id);
        match pump.region {
            MachineRegion::Stopped => found.push(Finding::new(
                FindingKind::StoppedMachine,
                subject.clone(),
                "the pump stands still and is taken as an open resistance estimated from its curve; give `stopped_loss` if it matters",
            )),
            MachineRegion::Backwards => found.push(Finding::new(
                FindingKind::BackwardsThroughMachine,
                subject.clone(),
                "coolant is pushed backwards through the running pump; its curve says nothing there; look for a stronger pump against it, or add a check valve",
            )),
            MachineRegion::BeyondLastPoint => found.push(Finding::new(
                FindingKind::BeyondCurve,
                subject.clone(),
                "the pump moves more than the last point of its curve, where the curve is a guess; add a point at the free flow",
            )),
            MachineRegion::OnCurve => {
                if pump.share_of_free_flow.is_some_and(|s| s.abs() < DEAD_HEAD_SHARE) {
                    found.push(Finding::new(
                        FindingKind::DeadHead,
                        subject.clone(),
                        "the pump runs against a closed path and moves nothing; it will heat the coolant in it until something gives",
                    ));
                }
            }
        }
        let fluid = &state.fluid.elements[machine.element];
        let nu = fluid.kinematic_viscosity_m2_s();
        if nu > VISCOUS_M2_S && pump.region != MachineRegion::Stopped {
            found.push(Finding::new(
                FindingKind::ViscousPump,
                subject,
                format!(
                    "the coolant has {:.0} mm2/s at the pump; above {:.0} mm2/s a pump falls short of its curve, by how much nobody printed",
                    nu * 1e6,
                    VISCOUS_M2_S * 1e6
                ),
            ));
        }
    }
}

fn hazen_williams(
    solution: &Solution<'_>,
    owner: &str,
    parts: &[PartState],
    found: &mut Vec<Finding>,
) {
    let Some(state) = solution.loop_state(owner) else {
        return;
    };
    let net = &state.circuit.net;
    let mut outside: Vec<&str> = Vec::new();
    for (e, part) in parts.iter().enumerate() {
        for law in &net.laws[net.elements[e].laws.clone()] {
            let Law::HazenWilliams(pipe) = law else {
                continue;
            };
            let nu = state.fluid.elements[e].kinematic_viscosity_m2_s();
            let reynolds = part.reynolds.unwrap_or(0.0);
            if hazen_williams_outside_range(pipe.bore_m, reynolds, nu).is_some() {
                outside.push(&part.id);
            }
        }
    }
    if !outside.is_empty() {
        found.push(Finding::new(
            FindingKind::HazenWilliamsRange,
            Subject::whole(owner),
            format!(
                "Hazen-Williams was made for water near room temperature, turbulent, in bores above about 50 mm; {} lie outside, so their losses may be far off; choose `darcy_weisbach`",
                list(&outside)
            ),
        ));
    }
}

fn check_valves(solution: &Solution<'_>, owner: &str, found: &mut Vec<Finding>) {
    let Some(state) = solution.loop_state(owner) else {
        return;
    };
    let net = &state.circuit.net;
    let most = state
        .flow
        .flow_kg_s
        .iter()
        .fold(0.0, |m: f64, v| m.max(v.abs()));
    for (branch, flow) in net.branches.iter().zip(&state.flow.flow_kg_s) {
        let shut = matches!(branch.passage, Passage::OneWay { .. })
            && flow.abs() <= 1e-9 * most.max(1e-12);
        if shut {
            let valve = net.elements[branch.elements.clone()]
                .iter()
                .find(|e| e.kind == "check_valve");
            if let Some(valve) = valve {
                found.push(Finding::new(
                    FindingKind::ShutCheckValve,
                    Subject::part(owner, valve.id.as_str()),
                    "the check valve is shut: pressure holds it back or does not reach its cracking pressure, so nothing flows in its branch",
                ));
            }
        }
    }
}

fn coolant(solution: &Solution<'_>, owner: &str, parts: &[PartState], found: &mut Vec<Finding>) {
    let Some(state) = solution.loop_state(owner) else {
        return;
    };
    let coolant = &state.circuit.coolant;
    let hottest = parts.iter().max_by(|a, b| {
        let heat = |p: &PartState| p.inlet_temperature_k.max(p.outlet_temperature_k);
        heat(a).total_cmp(&heat(b))
    });
    if let (Some(part), Some(limit)) = (hottest, coolant.caution_above_k()) {
        let k = part.inlet_temperature_k.max(part.outlet_temperature_k);
        if k > limit {
            found.push(Finding::new(
                FindingKind::ExtrapolatedProperty,
                Subject::part(owner, &part.id),
                format!(
                    "the coolant reaches {}; above {} only its density is published and the rest is extrapolated",
                    show_both(Kind::Temperature, k),
                    show_both(Kind::Temperature, limit)
                ),
            ));
        }
    }
    if let Some(nearest) = solution.boiling_margin(owner) {
        let k = nearest.margin_k;
        if k < BOILING_MARGIN_K {
            found.push(Finding::new(
                FindingKind::NearBoiling,
                Subject::part(owner, &nearest.id),
                format!(
                    "the coolant there is {} its boiling point at the pressure there; raise the tank or the cap pressure, or cool it",
                    if k < 0.0 {
                        format!("{} above", show_both(Kind::TemperatureDifference, -k))
                    } else {
                        format!("within {} of", show_both(Kind::TemperatureDifference, k))
                    }
                ),
            ));
        }
    }
    if let Some(freezing) = coolant.freezing_k()
        && solution.case().air_temperature_k < freezing
    {
        found.push(Finding::new(
            FindingKind::NearFreezing,
            Subject::whole(owner),
            format!(
                "the air of this case, {}, is below the freezing point of the coolant, {}; it may freeze when the vehicle stands; try more glycol",
                show_both(Kind::Temperature, solution.case().air_temperature_k),
                show_both(Kind::Temperature, freezing)
            ),
        ));
    }
}

/// Branches of one bank partly laminar, partly turbulent.
fn regimes(solution: &Solution<'_>, owner: &str, parts: &[PartState], found: &mut Vec<Finding>) {
    let Some(state) = solution.loop_state(owner) else {
        return;
    };
    for bank in &state.circuit.banks {
        let tails: Vec<f64> = parts
            .iter()
            .filter(|p| p.kind == "hose" && p.id.starts_with(&format!("{}.module", bank.name)))
            .filter_map(|p| p.reynolds)
            .collect();
        let laminar = tails.iter().filter(|re| **re < TRANSITION.0).count();
        let turbulent = tails.iter().filter(|re| **re > TRANSITION.1).count();
        if laminar > 0 && turbulent > 0 {
            found.push(Finding::new(
                FindingKind::MixedRegime,
                Subject::part(owner, &bank.name),
                "some of its branches are laminar and some turbulent, so the shares of flow change with temperature; look for a larger header or smaller ports",
            ));
        }
    }
}

fn heat_left_out(solution: &Solution<'_>, owner: &str, found: &mut Vec<Finding>) {
    if solution.carried(owner) == Some(Carried::LeftOut) {
        found.push(Finding::new(
            FindingKind::HeatLeftOut,
            Subject::whole(owner),
            "nothing takes heat out of this loop and nothing but the pump brings any, so it is solved at the temperature of the air and the pump's heat is left out",
        ));
    }
}

/// Films of channels between laminar and turbulent.
fn transitional_films(solution: &Solution<'_>, owner: &str, found: &mut Vec<Finding>) {
    let Some(state) = solution.loop_state(owner) else {
        return;
    };
    let circuit = &state.circuit;
    let branches = circuit.net.branch_of_elements();
    let modules = circuit
        .modules
        .iter()
        .flat_map(|m| m.circuits.iter().map(move |e| (*e, m.contact)));
    let plates = circuit.plates.iter().map(|p| (p.element, p.contact));
    let between: Vec<&str> = modules
        .chain(plates)
        .filter(|(e, contact)| {
            let flow = state.flow.flow_kg_s[branches[*e]];
            contact
                .channel_reynolds(flow, &state.fluid.elements[*e])
                .is_some_and(|re| re > LAMINAR_END_RE && re < TURBULENT_START_RE)
        })
        .map(|(e, _)| circuit.net.elements[e].id.as_str())
        .collect();
    if let Some(first) = between.first() {
        let subject = if between.len() == 1 {
            Subject::part(owner, *first)
        } else {
            Subject::whole(owner)
        };
        found.push(Finding::new(
            FindingKind::TransitionalFlow,
            subject,
            format!(
                "the channels of {} are neither surely laminar nor surely turbulent (Re {LAMINAR_END_RE:.0} to {TURBULENT_START_RE:.0}), so the resistance of their film may be up to twice or half of what is taken",
                list(&between)
            ),
        ));
    }
}

/// Exchangers that take as much as they can.
fn limited_exchangers(solution: &Solution<'_>, owner: &str, found: &mut Vec<Finding>) {
    let Some(state) = solution.loop_state(owner) else {
        return;
    };
    for tie in state.circuit.exchangers.iter() {
        let taken_w = -state.heat.heat_w[tie.element];
        if state.carried == Carried::Solved && taken_w >= (1.0 - LIMIT_BLEND) * tie.limit_w {
            found.push(Finding::new(
                FindingKind::ExchangerAtLimit,
                Subject::part(owner, state.circuit.net.elements[tie.element].id.as_str()),
                format!(
                    "it takes {}, all that its `heat_limit` of {} allows, so its coolant is warmer than its size would make it; a larger one, or less heat, would help",
                    show_both(Kind::Power, taken_w),
                    show_both(Kind::Power, tie.limit_w)
                ),
            ));
        }
    }
}
