//! A balance as JSON, with the discs as the design file writes them, and as comma-separated rows.

use crate::quantity::{Kind, UnitFamily, text_si};
use crate::report::csv::{Csv, number as field};
use crate::report::json::{error_json, num, opt};
use crate::study::balance::{BalanceAnswer, BalanceState, Disc, DrillSet, Reached, Target};
use serde_json::{Map, Value, json};

/// Every branch and both states.
pub fn balance_json(title: &str, answer: &BalanceAnswer) -> Value {
    let mut restrictors = Map::new();
    for bank in &answer.banks {
        let list: Vec<Value> = answer
            .discs
            .iter()
            .filter(|d| d.bank == *bank)
            .filter_map(|d| {
                let bore = text_si(Kind::Length, d.drill.as_ref()?.bore_m, UnitFamily::Metric);
                let thickness = text_si(Kind::Length, answer.thickness_m, UnitFamily::Metric);
                Some(json!({ "port": d.port, "bore": bore, "thickness": thickness }))
            })
            .collect();
        restrictors.insert(bank.clone(), Value::Array(list));
    }
    json!({
        "format": 1,
        "title": title,
        "loop": answer.owner,
        "banks": answer.banks,
        "target": match answer.target { Target::Equal => "equal", Target::Heat => "heat" },
        "heat_case": answer.heat_case,
        "cold_temperature_k": num(answer.range_k.0),
        "warm_temperature_k": num(answer.range_k.1),
        "thickness_m": num(answer.thickness_m),
        "drills": match answer.drills { DrillSet::Metric => "metric", DrillSet::Inch => "inch" },
        "deviation_limit": num(answer.within.0),
        "least_flow_m3_s": opt(answer.least_flow_m3_s),
        "reached": match answer.reached {
            Reached::Yes => "yes",
            Reached::WarmOnly => "warm_only",
            Reached::NotWithDrills => "not_with_drills",
            Reached::TooLittleFlow => "too_little_flow",
            Reached::No => "no",
        },
        "exact_deviation": num(answer.exact_deviation),
        "before": state_json(&answer.before),
        "after": state_json(&answer.after),
        "in_time": answer.in_time,
        "placeholders": answer.placeholders,
        "restrictors": restrictors,
        "branches": answer.discs.iter().map(disc_json).collect::<Vec<_>>(),
    })
}

fn state_json(state: &BalanceState) -> Value {
    let map = |list: &[(String, f64)]| -> Map<String, Value> {
        list.iter().map(|(k, v)| (k.clone(), num(*v))).collect()
    };
    let failures: Map<String, Value> = state
        .failures
        .iter()
        .map(|(case, error)| (case.clone(), error_json(error)))
        .collect();
    json!({
        "warm_deviation": num(state.warm_deviation),
        "cold_deviation": num(state.cold_deviation),
        "warm_volume_flow_m3_s": num(state.warm_flow_m3_s),
        "cold_volume_flow_m3_s": num(state.cold_flow_m3_s),
        "bank_drop_pa": map(&state.bank_drop_pa),
        "module_temperature_spread_k": map(&state.spread_k),
        "errors": failures,
    })
}

fn disc_json(disc: &Disc) -> Value {
    let named = disc.named.as_ref();
    json!({
        "bank": disc.bank,
        "port": disc.port,
        "circuit": disc.circuit,
        "pipe_bore_m": num(disc.pipe_bore_m),
        "share": num(disc.share),
        "warm_flow_over_target_before": num(disc.before.0),
        "cold_flow_over_target_before": num(disc.before.1),
        "exact_bore_m": opt(disc.exact_m),
        "pressure_drop_pa": num(disc.drop_pa),
        "drill": disc.drill.as_ref().map(|d| d.name.clone()),
        "drill_bore_m": opt(disc.drill.as_ref().map(|d| d.bore_m)),
        "fraction": named.map(|n| n.fraction.name.clone()),
        "number": named.and_then(|n| n.number.as_ref().map(|d| d.name.clone())),
        "letter": named.and_then(|n| n.letter.as_ref().map(|d| d.name.clone())),
        "warm_flow_over_target": num(disc.after.0),
        "cold_flow_over_target": num(disc.after.1),
        "warm_volume_flow_m3_s": num(disc.flow_m3_s),
        "flow_change_0_1_mm_smaller": opt(disc.tolerance.smaller),
        "flow_change_0_1_mm_larger": opt(disc.tolerance.larger),
        "wants_strainer": disc.wants_strainer(),
    })
}

/// One row a branch.
pub fn balance_csv(answer: &BalanceAnswer) -> String {
    let mut csv = Csv::new(&[
        "bank",
        "port",
        "circuit",
        "exact_bore_m",
        "drill",
        "drill_bore_m",
        "pressure_drop_pa",
        "warm_flow_over_target_before",
        "cold_flow_over_target_before",
        "warm_flow_over_target",
        "cold_flow_over_target",
        "warm_volume_flow_m3_s",
        "flow_change_0_1_mm_smaller",
        "flow_change_0_1_mm_larger",
    ]);
    for disc in &answer.discs {
        let drill = disc.drill.as_ref();
        csv.row([
            disc.bank.clone(),
            disc.port.to_string(),
            disc.circuit.clone(),
            field(disc.exact_m),
            drill.map_or("open".to_owned(), |d| d.name.clone()),
            field(drill.map(|d| d.bore_m)),
            field(disc.drop_pa),
            field(disc.before.0),
            field(disc.before.1),
            field(disc.after.0),
            field(disc.after.1),
            field(disc.flow_m3_s),
            field(disc.tolerance.smaller),
            field(disc.tolerance.larger),
        ]);
    }
    csv.finish()
}
