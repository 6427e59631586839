//! Case by case: limits with verdicts, findings, and the tables of parts and modules.

use super::first::{form_of, margin_form};
use super::{Pack, Sink};
use crate::quantity::Kind;
use crate::report::of_solution::case_line;
use crate::report::page::{Field, Form, Sheet, pointer};
use crate::solve::{Carried, Solution};
use crate::study::LimitSide;
use crate::study::cases::SolvedCase;

pub(super) fn write(pack: &Pack<'_, '_>, sink: &mut Sink<'_>) {
    for case in &pack.job.cases {
        let name = &case.case.name;
        sink.html.heading(2, &format!("Case {name}"));
        let line = case_line(&case.case, pack.facts.units.first());
        sink.html.say(&line);
        match &case.outcome {
            Err(error) => sink.html.say(&format!("No answer: {error}")),
            Ok((solution, ..)) => {
                limits(pack, sink, name);
                peaks(pack, sink, case);
                let found: Vec<String> = solution
                    .findings()
                    .iter()
                    .map(|f| format!("{}: {}", f.subject, f.text))
                    .collect();
                if !found.is_empty() {
                    sink.html.heading(3, "To be looked at");
                    sink.html.list(&found);
                }
                for owner in solution.loop_names() {
                    parts(pack, sink, solution, owner);
                    modules(pack, sink, solution, owner);
                }
                cores(pack, sink, solution);
            }
        }
    }
}

fn limits(pack: &Pack<'_, '_>, sink: &mut Sink<'_>, case: &str) {
    let Some(rows) = pack
        .job
        .check
        .cases
        .iter()
        .find(|c| c.case == case)
        .and_then(|c| c.limits.as_ref().ok())
    else {
        return;
    };
    let mut sheet = Sheet::new(format!("limits_{case}"), format!("Limits in case {case}"))
        .words("limit", "limit")
        .words("of", "subject")
        .words("verdict", "verdict")
        .numbers("value", "value_si", Form::Ratio)
        .words("wanted", "side")
        .numbers("bound", "bound_si", Form::Ratio)
        .numbers("margin", "margin_si", Form::Ratio)
        .words("limited by", "limited_by");
    let mut advice = Vec::new();
    for (k, row) in rows.iter().enumerate() {
        let base = format!("{}/{k}", pointer(&["check", "cases", case, "limits"]));
        let form = form_of(row.measure);
        let side = match row.side {
            LimitSide::Min => "at least",
            LimitSide::Max => "at most",
        };
        sheet.row(vec![
            row.limit.replace('_', " ").into(),
            row.subject.clone().into(),
            Field::Verdict(Some(row.verdict), row.verdict.word().into()),
            pack.facts.under(&base, "value", form).into(),
            side.into(),
            pack.facts.under(&base, "bound", form).into(),
            pack.facts
                .under(&base, "margin", margin_form(row.measure))
                .into(),
            row.limited_by.clone().into(),
        ]);
        if !row.advice.is_empty() {
            advice.push(format!(
                "{} of {}: {}",
                row.limit.replace('_', " "),
                row.subject,
                row.advice
            ));
        }
    }
    sink.sheet(&sheet);
    sink.html.list(&advice);
}

fn peaks(pack: &Pack<'_, '_>, sink: &mut Sink<'_>, case: &SolvedCase<'_>) {
    if case.march.is_none() {
        return;
    }
    let base = pointer(&["cases", &case.case.name, "time", "peaks"]);
    let Some(list) = pack.facts.root.pointer(&base).and_then(|v| v.as_array()) else {
        return;
    };
    let mut sheet = Sheet::new(
        format!("peaks_{}", case.case.name),
        "Highest temperatures and when",
    )
    .words("of", "subject")
    .words("what", "of")
    .numbers("highest", "temperature_k", Form::Degrees)
    .numbers("after", "time_s", Form::Minutes);
    // Of the modules, the hottest of each loop alone.
    let hottest: Vec<String> = case
        .march
        .iter()
        .flat_map(|m| m.hottest_modules())
        .map(|l| format!("{}.{}", l.owner, l.part))
        .collect();
    for (k, peak) in list.iter().enumerate() {
        let (of, subject) = (
            peak["of"].as_str().unwrap_or_default(),
            peak["subject"].as_str().unwrap_or_default(),
        );
        if of == "module" && !hottest.iter().any(|h| h == subject) {
            continue;
        }
        let at = format!("{base}/{k}");
        sheet.row(vec![
            subject.into(),
            of.replace('_', " ").into(),
            pack.facts.under(&at, "temperature_k", Form::Degrees).into(),
            pack.facts.under(&at, "time_s", Form::Minutes).into(),
        ]);
    }
    sink.sheet(&sheet);
    sink.html.say("The tables below show the state at the end of the case; limits are judged on the worst of all times.");
}

fn parts(pack: &Pack<'_, '_>, sink: &mut Sink<'_>, solution: &Solution<'_>, owner: &str) {
    let case = &solution.case().name;
    let mut sheet = Sheet::new(
        format!("parts_{case}_{owner}"),
        format!("Loop {owner} in case {case}"),
    )
    .words("part", "part")
    .words("kind", "kind")
    .numbers("flow", "volume_flow_m3_s", Form::Column(Kind::VolumeFlow))
    .numbers(
        "drop",
        "pressure_drop_pa",
        Form::Column(Kind::PressureDifference),
    )
    .numbers("velocity", "velocity_m_s", Form::Column(Kind::Velocity))
    .numbers("in", "inlet_temperature_k", Form::Degrees)
    .numbers("out", "outlet_temperature_k", Form::Degrees)
    .numbers("device", "part_temperature_k", Form::Degrees)
    .numbers("heat in", "heat_w", Form::Column(Kind::Power))
    .words("origin", "origin");
    let banks: Vec<String> = solution
        .banks(owner)
        .iter()
        .map(|b| format!("{}.", b.id))
        .collect();
    for part in solution.parts(owner) {
        if banks.iter().any(|b| part.id.starts_with(b.as_str())) {
            continue;
        }
        let base = pointer(&["cases", case, "loops", owner, "parts", &part.id]);
        let at = |key: &str, form: Form| -> Field { pack.facts.under(&base, key, form).into() };
        sheet.row(vec![
            part.id.clone().into(),
            part.kind.replace('_', " ").into(),
            at("volume_flow_m3_s", Form::Column(Kind::VolumeFlow)),
            at("pressure_drop_pa", Form::Column(Kind::PressureDifference)),
            at("velocity_m_s", Form::Column(Kind::Velocity)),
            at("inlet_temperature_k", Form::Degrees),
            at("outlet_temperature_k", Form::Degrees),
            at("part_temperature_k", Form::Degrees),
            at("heat_w", Form::Column(Kind::Power)),
            part.origin.map_or("-", |o| o.word()).into(),
        ]);
    }
    sink.sheet(&sheet);
}

fn modules(pack: &Pack<'_, '_>, sink: &mut Sink<'_>, solution: &Solution<'_>, owner: &str) {
    let case = &solution.case().name;
    let solved = solution.carried(owner) == Some(Carried::Solved);
    for bank in solution.banks(owner) {
        let base = pointer(&["cases", case, "loops", owner, "banks", &bank.id]);
        let mut sheet = Sheet::new(
            format!("modules_{case}_{owner}_{}", bank.id),
            format!("Modules of {} in case {case}", bank.id),
        )
        .words("module", "module")
        .numbers("of mean", "branch_flow_over_mean", Form::Percent1)
        .numbers(
            "supply",
            "supply_static_gauge_pressure_pa",
            Form::Column(Kind::GaugePressure),
        )
        .numbers(
            "return",
            "return_static_gauge_pressure_pa",
            Form::Column(Kind::GaugePressure),
        );
        if solved {
            sheet = sheet.numbers("module", "module_temperature_k", Form::Degrees);
        }
        for k in 0..bank.branch_flow_over_mean.len() {
            let port = bank.module_port[k];
            let at = |key: &str, place: Option<usize>, form: Form| -> Field {
                place
                    .and_then(|p| pack.facts.figure(&format!("{base}/{key}/{p}"), form))
                    .into()
            };
            let gauge = Form::Column(Kind::GaugePressure);
            let mut row = vec![
                format!("{}", k + 1).into(),
                at("branch_flow_over_mean", Some(k), Form::Percent1),
                at("supply_static_gauge_pressure_pa", port, gauge),
                at("return_static_gauge_pressure_pa", port, gauge),
            ];
            if solved {
                row.push(at("module_temperature_k", Some(k), Form::Degrees));
            }
            sheet.row(row);
        }
        sink.sheet(&sheet);
    }
}

fn cores(pack: &Pack<'_, '_>, sink: &mut Sink<'_>, solution: &Solution<'_>) {
    let case = &solution.case().name;
    for radiator in solution.network().radiators() {
        let mut sheet = Sheet::new(
            format!("cores_{case}_{}", radiator.name),
            format!("Radiator {} in case {case}", radiator.name),
        )
        .words("core", "core")
        .words("loop", "loop")
        .numbers("heat out", "heat_rejected_w", Form::Column(Kind::Power))
        .numbers("coolant in", "inlet_temperature_k", Form::Degrees)
        .numbers("out", "outlet_temperature_k", Form::Degrees)
        .numbers("air out", "air_outlet_temperature_k", Form::Degrees)
        .numbers("face", "face_velocity_m_s", Form::Column(Kind::Velocity))
        .numbers("effectiveness", "effectiveness", Form::Percent);
        for core in solution.cores(&radiator.name) {
            let base = pointer(&[
                "cases",
                case,
                "radiators",
                &radiator.name,
                "cores",
                &core.core,
            ]);
            let at = |key: &str, form: Form| -> Field { pack.facts.under(&base, key, form).into() };
            sheet.row(vec![
                core.core.clone().into(),
                core.owner.clone().into(),
                at("heat_rejected_w", Form::Column(Kind::Power)),
                at("inlet_temperature_k", Form::Degrees),
                at("outlet_temperature_k", Form::Degrees),
                at("air_outlet_temperature_k", Form::Degrees),
                at("face_velocity_m_s", Form::Column(Kind::Velocity)),
                at("effectiveness", Form::Percent),
            ]);
        }
        sink.sheet(&sheet);
    }
}
