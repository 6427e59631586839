//! Every pump, supply and case as JSON and as comma-separated rows; SI units in the names of keys and columns.

use super::pump::why;
use crate::quantity::UnitFamily;
use crate::report::csv::{Csv, number as field};
use crate::report::json::{error_json, limits_json, num, opt};
use crate::study::size::pump::{DutyPoint, PumpAnswer, PumpRun};
use crate::study::{Judged, LimitKey};
use serde_json::{Map, Value, json};

/// Every trial with its limits.
pub fn size_pump_json(title: &str, answer: &PumpAnswer) -> Value {
    let best = answer.best();
    let trials: Vec<Value> = answer
        .trials
        .iter()
        .map(|t| {
            json!({
                "pump": t.name,
                "arrangement": t.arrangement.code(),
                "rated_voltage_v": opt(t.rated_v),
                "fits": t.fits,
                "electrical_power_w": opt(t.electrical_w()),
                "why": why(t, best, UnitFamily::Metric),
                "runs": t.runs.iter().map(run_json).collect::<Vec<_>>(),
            })
        })
        .collect();
    json!({
        "format": 1,
        "title": title,
        "loop": answer.owner,
        "pump": answer.pump,
        "supply_v": answer.supplies_v,
        "cases": answer.cases,
        "in_time": answer.in_time,
        "placeholders": answer.placeholders,
        "best": best.map(|b| json!({ "pump": b.name, "arrangement": b.arrangement.code() })),
        "demand": {
            "least": duty_json(&answer.demand.least),
            "most": duty_json(&answer.demand.most),
            "nearest": duty_json(&answer.demand.nearest),
        },
        "limits_counted": keys_json(&answer.counting.counts),
        "limits_not_mended": keys_json(&answer.counting.hopeless),
        "trials": trials,
    })
}

pub(super) fn keys_json(keys: &[LimitKey]) -> Value {
    keys.iter()
        .map(|k| json!({ "limit": k.limit, "subject": k.subject }))
        .collect()
}

fn duty_json(points: &[DutyPoint]) -> Value {
    points
        .iter()
        .map(|p| json!({ "case": p.case, "volume_flow_m3_s": num(p.flow_m3_s), "pressure_rise_pa": num(p.rise_pa) }))
        .collect()
}

fn run_json(run: &PumpRun) -> Value {
    let mut cases = Map::new();
    for judged in &run.cases {
        let mut value = judged_json(judged);
        if let Some(point) = run.points.iter().find(|p| p.case == judged.case) {
            value["volume_flow_m3_s"] = num(point.flow_m3_s);
            value["pressure_rise_pa"] = num(point.rise_pa);
            value["shut_off_rise_pa"] = num(point.shut_off_rise_pa);
            value["share_of_free_flow"] = opt(point.share_of_free_flow);
            value["hydraulic_power_w"] = num(point.hydraulic_w);
            value["electrical_power_w"] = opt(point.electrical_w);
            value["efficiency"] = opt(point.efficiency);
        }
        cases.insert(judged.case.clone(), value);
    }
    json!({
        "supply_v": opt(run.supply_v),
        "speed": num(run.speed),
        "fits": run.fits,
        "normalised_margin_k": opt(run.worst.as_ref().map(|w| w.margin_k)),
        "cases": cases,
    })
}

pub(super) fn judged_json(judged: &Judged) -> Value {
    match &judged.outcome {
        Ok(rows) => json!({ "limits": limits_json(rows) }),
        Err(error) => json!({ "error": error_json(error) }),
    }
}

/// One row a pump, arrangement, supply and case.
pub fn size_pump_csv(answer: &PumpAnswer) -> String {
    let mut csv = Csv::new(&[
        "rank",
        "pump",
        "arrangement",
        "supply_v",
        "speed",
        "case",
        "volume_flow_m3_s",
        "pressure_rise_pa",
        "share_of_free_flow",
        "electrical_power_w",
        "efficiency",
        "run_fits",
        "run_normalised_margin_k",
    ]);
    for (k, trial) in answer.trials.iter().enumerate() {
        for run in &trial.runs {
            for point in &run.points {
                csv.row([
                    (k + 1).to_string(),
                    trial.name.clone(),
                    trial.arrangement.code().to_owned(),
                    field(run.supply_v),
                    field(run.speed),
                    point.case.clone(),
                    field(point.flow_m3_s),
                    field(point.rise_pa),
                    field(point.share_of_free_flow),
                    field(point.electrical_w),
                    field(point.efficiency),
                    run.fits.to_string(),
                    field(run.worst.as_ref().map(|w| w.margin_k)),
                ]);
            }
        }
    }
    csv.finish()
}
