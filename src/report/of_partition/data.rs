//! Every cut as JSON and as comma-separated rows; SI units in the names of keys and columns.

use crate::report::csv::{Csv, number as field};
use crate::report::json::{error_json, limits_json, num, opt};
use crate::study::LimitSide;
use crate::study::partition::{Cut, CutCase, CutCore, Need, PartitionAnswer, Remedy, Tight};
use serde_json::{Map, Value, json};

/// Every cut, with both cores and all limits in every case.
pub fn partition_json(title: &str, answer: &PartitionAnswer) -> Value {
    let cuts: Vec<Value> = answer.cuts.iter().map(|c| cut_json(answer, c)).collect();
    let limits: Vec<Value> = answer
        .tracks
        .iter()
        .map(|t| {
            json!({
                "case": t.case,
                "limit": t.limit,
                "subject": t.subject,
                "side": match t.side { LimitSide::Min => "min", LimitSide::Max => "max" },
                "counts": t.counts,
                "met_with_tubes": t.met.map(|(first, last)| [first, last]),
                "normalised_margin_k": t.range_k.map(|(low, high)| json!([num(low), num(high)])),
            })
        })
        .collect();
    let needs: Vec<Value> = answer.needs.iter().map(need_json).collect();
    json!({
        "format": 1,
        "title": title,
        "radiator": answer.radiator,
        "cores": answer.cores,
        "loops": answer.owners,
        "tubes": answer.tube_count,
        "lost_tubes": answer.lost_tubes,
        "spare_tubes": answer.spare_tubes,
        "tube_pitch_m": num(answer.pitch_m),
        "placeholders": answer.placeholders,
        "own_tubes": answer.own_tubes,
        "window": answer.window().map(|(first, last)| json!({
            "first": first, "last": last, "whole": answer.window_is_whole(),
        })),
        "best": answer.best_cut().map(|c| c.tubes),
        "limits": limits,
        "needs": needs,
        "cuts": cuts,
    })
}

fn cut_json(answer: &PartitionAnswer, cut: &Cut) -> Value {
    let walls: Vec<Value> = cut
        .walls
        .iter()
        .map(|w| {
            json!({
                "after": w.after,
                "before": w.before,
                "lost_tubes": w.lost_tubes,
                "first_plate_m": num(w.first_plate_m),
                "second_plate_m": num(w.second_plate_m),
                "middle_m": num(w.middle_m()),
            })
        })
        .collect();
    let mut worst_of = Map::new();
    for (core, worst) in answer.cores.iter().zip(&cut.worst_of) {
        worst_of.insert(core.clone(), tight_json(worst.as_ref()));
    }
    let mut cases = Map::new();
    for case in &cut.cases {
        cases.insert(case.case.clone(), case_json(case));
    }
    json!({
        "tubes": cut.tubes,
        "fits": cut.fits,
        "walls": walls,
        "worst": tight_json(cut.worst.as_ref()),
        "worst_of": worst_of,
        "cases": cases,
    })
}

fn tight_json(tight: Option<&Tight>) -> Value {
    tight.map_or(Value::Null, |t| {
        json!({
            "normalised_margin_k": num(t.margin_k),
            "limit": t.limit,
            "subject": t.subject,
            "case": t.case,
        })
    })
}

fn case_json(case: &CutCase) -> Value {
    match &case.outcome {
        Ok(state) => {
            let mut cores = Map::new();
            for core in &state.cores {
                cores.insert(core.core.clone(), core_json(core));
            }
            json!({
                "air_temperature_k": num(case.air_k),
                "cores": cores,
                "limits": limits_json(&state.limits),
            })
        }
        Err(error) => json!({ "air_temperature_k": num(case.air_k), "error": error_json(error) }),
    }
}

fn core_json(core: &CutCore) -> Value {
    json!({
        "loop": core.owner,
        "tubes": core.tubes,
        "inlet_temperature_k": num(core.coolant_inlet_k),
        "outlet_temperature_k": num(core.coolant_outlet_k),
        "heat_rejected_w": num(core.heat_w),
        "conductance_w_k": opt(core.conductance_w_k),
        "pressure_drop_pa": num(core.pressure_drop_pa),
        "mass_flow_kg_s": num(core.mass_flow_kg_s),
        "face_velocity_m_s": num(core.face_velocity_m_s),
    })
}

fn need_json(need: &Need) -> Value {
    let (remedy, factor) = match need.remedy {
        Remedy::HeatPerKelvin(factor) => ("heat_per_kelvin", Some(factor)),
        Remedy::Flow => ("flow", None),
        Remedy::Chiller => ("chiller", None),
    };
    json!({
        "loop": need.owner,
        "tubes": need.tubes,
        "case": need.case,
        "limit": need.limit,
        "subject": need.subject,
        "missed_by_k": num(need.missed_by_k),
        "conductance_w_k": num(need.conductance_w_k),
        "remedy": remedy,
        "heat_per_kelvin_factor": opt(factor),
        "heat_share": opt(need.heat_share),
    })
}

/// One row a cut, case and core. Empty fields are values that do not exist; `error` says why a case has no answer.
pub fn partition_csv(answer: &PartitionAnswer) -> String {
    let mut csv = Csv::new(&[
        "tubes_first",
        "tubes_second",
        "first_plate_m",
        "second_plate_m",
        "fits",
        "case",
        "core",
        "loop",
        "tubes",
        "inlet_temperature_k",
        "outlet_temperature_k",
        "heat_rejected_w",
        "conductance_w_k",
        "pressure_drop_pa",
        "mass_flow_kg_s",
        "face_velocity_m_s",
        "loop_normalised_margin_k",
        "loop_tightest_limit",
        "loop_tightest_subject",
        "loop_tightest_case",
        "error",
    ]);
    for cut in &answer.cuts {
        let wall = cut.walls.iter().find(|w| w.after == answer.cores[0]);
        for case in &cut.cases {
            for k in 0..answer.cores.len() {
                let core = case.outcome.as_ref().ok().map(|s| &s.cores[k]);
                let tight = cut.worst_of[k].as_ref();
                let text = |f: fn(&Tight) -> &str| tight.map(f).unwrap_or_default().to_owned();
                csv.row([
                    cut.tubes[0].to_string(),
                    cut.tubes[1].to_string(),
                    field(wall.map(|w| w.first_plate_m)),
                    field(wall.map(|w| w.second_plate_m)),
                    cut.fits.to_string(),
                    case.case.clone(),
                    answer.cores[k].clone(),
                    answer.owners[k].clone(),
                    cut.tubes[k].to_string(),
                    field(core.map(|c| c.coolant_inlet_k)),
                    field(core.map(|c| c.coolant_outlet_k)),
                    field(core.map(|c| c.heat_w)),
                    field(core.and_then(|c| c.conductance_w_k)),
                    field(core.map(|c| c.pressure_drop_pa)),
                    field(core.map(|c| c.mass_flow_kg_s)),
                    field(core.map(|c| c.face_velocity_m_s)),
                    field(tight.map(|t| t.margin_k)),
                    text(|t| t.limit),
                    text(|t| &t.subject),
                    text(|t| &t.case),
                    case.outcome
                        .as_ref()
                        .err()
                        .map(ToString::to_string)
                        .unwrap_or_default(),
                ]);
            }
        }
    }
    csv.finish()
}
