//! The pack as JSON: what `solve` and `check` say, and under `job` what only the pack has. SI units in the keys.

use crate::correlation::SectionShape;
use crate::report::json::{CaseOutcome, check_json, num, opt, solve_json};
use crate::report::of_solution::eaters;
use crate::report::of_time::time_json;
use crate::study::bucket::BucketAnswer;
use crate::study::cut_list::CutList;
use crate::study::fill::FillSheet;
use crate::study::job::{Job, LoopPages};
use crate::study::ledger::LedgerStep;
use crate::study::limiting::Limiting;
use crate::study::partition::PartitionAnswer;
use crate::study::system_curve::MachineChart;
use serde_json::{Map, Value, json};

/// Everything that the pack says.
pub fn job_json(job: &Job<'_>) -> Value {
    let named: Vec<(String, CaseOutcome<'_>)> = job
        .cases
        .iter()
        .map(|c| (c.case.name.clone(), c.outcome.clone()))
        .collect();
    let mut value = solve_json(job.network, &named, &job.volumes);
    for case in &job.cases {
        if let Some(march) = &case.march {
            value["cases"][case.case.name.as_str()]["time"] = time_json(march);
        }
    }
    value["check"] = check_json(job.network.title(), &job.check);
    let mut loops = Map::new();
    for pages in &job.loops {
        loops.insert(pages.owner.clone(), loop_json(job, pages));
    }
    let origins: Map<String, Value> = job
        .origins
        .iter()
        .map(|o| {
            let key = o
                .origin
                .map_or("not_said".into(), |o| o.word().replace(' ', "_"));
            (
                key,
                json!({ "count": o.subjects.len(), "subjects": o.subjects }),
            )
        })
        .collect();
    let verdicts: Map<String, Value> = job
        .check
        .cases
        .iter()
        .map(|c| {
            let rows = c.limits.as_deref().unwrap_or_default();
            let missed = rows
                .iter()
                .filter(|r| r.verdict == crate::study::Verdict::Missed);
            (
                c.case.clone(),
                json!({ "limits": rows.len(), "missed": missed.count() }),
            )
        })
        .collect();
    value["job"] = json!({
        "drawn_case": job.cases.get(job.drawn).map(|c| c.case.name.clone()),
        "verdicts": verdicts,
        "limiting": job.limiting.iter().map(limiting_json).collect::<Vec<_>>(),
        "loops": loops,
        "fans": machines_json(&job.fans),
        "cut_list": cut_list_json(&job.cut_list),
        "bucket": bucket_json(&job.bucket),
        "partition": job.partition.as_ref().map(window_json),
        "faces": faces_json(job),
        "origins": origins,
    });
    value
}

fn limiting_json(limiting: &Limiting) -> Value {
    json!({
        "case": limiting.case,
        "limit": limiting.row.limit,
        "subject": limiting.row.subject,
        "value": opt(limiting.row.value),
        "bound": num(limiting.row.bound),
        "margin": opt(limiting.row.margin),
        "verdict": limiting.row.verdict.code(),
        "changes_tried": limiting.tried,
        "best_change": limiting.best.as_ref().map(|c| json!({
            "change": c.words, "value": num(c.value), "margin": num(c.margin),
        })),
    })
}

fn loop_json(job: &Job<'_>, pages: &LoopPages) -> Value {
    let eaten: Vec<Value> = job
        .drawn_solution()
        .map(|s| eaters(s, &pages.owner))
        .unwrap_or_default()
        .iter()
        .map(|e| json!({ "id": e.id, "kind": e.kind, "power_w": num(e.power_w), "share": num(e.share) }))
        .collect();
    json!({
        "pumps": machines_json(&pages.pumps),
        "pressure_along": pages.ledger.iter().map(step_json).collect::<Vec<_>>(),
        "pressure_eaters": eaten,
        "fill": pages.fill.as_ref().map(fill_json),
    })
}

fn machines_json(charts: &[MachineChart]) -> Value {
    let pairs = |points: &[(f64, f64)]| -> Value {
        points
            .iter()
            .map(|(q, p)| json!([num(*q), num(*p)]))
            .collect()
    };
    charts
        .iter()
        .map(|chart| {
            let lines: Vec<Value> = chart
                .lines
                .iter()
                .map(|l| {
                    json!({
                        "label": l.label,
                        "fluid_temperature_k": num(l.fluid_k),
                        "flow_m3_s_and_loss_pa": pairs(&l.points),
                        "works_at_m3_s": opt(l.works_at.map(|w| w.0)),
                        "works_at_pa": opt(l.works_at.map(|w| w.1)),
                    })
                })
                .collect();
            json!({ "owner": chart.owner, "id": chart.id,
                    "flow_m3_s_and_rise_pa": pairs(&chart.curve), "against": lines })
        })
        .collect()
}

fn step_json(step: &LedgerStep) -> Value {
    json!({
        "id": step.id,
        "kind": step.kind,
        "inlet_static_gauge_pressure_pa": num(step.inlet_gauge_pa),
        "outlet_static_gauge_pressure_pa": num(step.outlet_gauge_pa),
        "shut_off_static_gauge_pressure_pa": opt(step.shut_off_gauge_pa),
    })
}

fn fill_json(sheet: &FillSheet) -> Value {
    let order: Vec<Value> = sheet
        .order
        .iter()
        .map(|p| json!({ "id": p.id, "lowest_m": num(p.low_m), "highest_m": num(p.high_m) }))
        .collect();
    let points: Vec<Value> = sheet
        .high_points
        .iter()
        .map(|p| json!({ "height_m": num(p.height_m), "parts": p.parts, "vents_by_itself": p.vents }))
        .collect();
    let falling: Vec<Value> = sheet
        .falling
        .iter()
        .map(|l| {
            json!({ "id": l.id, "fall_m": num(l.fall_m), "velocity_m_s": num(l.velocity_m_s),
                    "carries_bubbles": l.carries })
        })
        .collect();
    json!({ "heights_known": sheet.has_heights, "from_below": order, "high_points": points, "falling_legs": falling })
}

fn cut_list_json(list: &CutList) -> Value {
    let hoses: Vec<Value> = list
        .hoses
        .iter()
        .map(|h| {
            json!({ "loop": h.owner, "id": h.id, "count": h.count, "bore_m": num(h.bore_m), "length_m": num(h.length_m) })
        })
        .collect();
    let stock: Vec<Value> = list
        .stock
        .iter()
        .map(|s| {
            json!({ "bore_m": num(s.bore_m), "length_m": num(s.length_m), "pieces": s.pieces, "clamps": s.clamps })
        })
        .collect();
    let fittings: Vec<Value> = list
        .fittings
        .iter()
        .map(|f| {
            json!({ "kind": f.kind, "hose_bore_m": num(f.hose_bore_m), "bore_m": opt(f.bore_m), "count": f.count })
        })
        .collect();
    let headers: Vec<Value> = list
        .headers
        .iter()
        .map(|h| {
            let (width, height) = inside_m(&h.inside);
            json!({
                "loop": h.owner, "bank": h.bank, "side": h.side.word(),
                "inside_width_m": num(width), "inside_height_m": num(height), "length_m": num(h.length_m),
                "spigots": h.ports_m.len(), "spigots_at_m": h.ports_m.iter().map(|p| num(*p)).collect::<Vec<_>>(),
                "port_bore_m": num(h.port_bore_m), "hole_m": num(h.hole_m), "hole_is_stated": h.hole_is_stated,
                "drill_m": num(h.drill_m), "drill_64ths_in": h.drill_64ths,
            })
        })
        .collect();
    json!({ "hoses": hoses, "hose_stock": stock, "fittings": fittings, "headers": headers })
}

/// Inside width and height, m.
pub(super) fn inside_m(shape: &SectionShape) -> (f64, f64) {
    match *shape {
        SectionShape::Round { bore_m } => (bore_m, bore_m),
        SectionShape::Rectangle { width_m, height_m }
        | SectionShape::FlatTube { width_m, height_m } => (width_m, height_m),
        SectionShape::Annulus { outer_m, .. } => (outer_m, outer_m),
    }
}

fn bucket_json(bucket: &BucketAnswer) -> Value {
    let sheets = match &bucket.sheets {
        Ok(sheets) => sheets,
        Err(error) => {
            return json!({ "water_temperature_k": num(bucket.water_k), "error": error.to_string() });
        }
    };
    let sheets: Vec<Value> = sheets
        .iter()
        .map(|sheet| {
            let branches: Vec<Value> = sheet
                .branches
                .iter()
                .map(|b| {
                    json!({ "id": b.id, "port": b.port, "volume_flow_m3_s": num(b.flow_m3_s), "flow_over_mean": num(b.over_mean),
                            "seconds_per_litre": opt(b.seconds), "tolerance_s": opt(b.tolerance_s) })
                })
                .collect();
            json!({ "loop": sheet.owner, "bank": sheet.bank, "volume_flow_m3_s": num(sheet.flow_m3_s),
                    "seconds_per_ten_litres": opt(sheet.ten_litres_s), "branches": branches })
        })
        .collect();
    json!({ "water_temperature_k": num(bucket.water_k), "banks": sheets })
}

fn window_json(answer: &PartitionAnswer) -> Value {
    let cuts: Vec<Value> = answer
        .cuts
        .iter()
        .map(|c| {
            let margin = |k: usize| opt(c.worst_of[k].as_ref().map(|t| t.margin_k));
            json!({ "tubes": c.tubes, "fits": c.fits, "margins_k": [margin(0), margin(1)] })
        })
        .collect();
    json!({
        "radiator": answer.radiator, "cores": answer.cores, "loops": answer.owners, "own_tubes": answer.own_tubes,
        "best_tubes": answer.best_cut().map(|c| c.tubes[0]),
        "window": answer.window().map(|(a, b)| [a, b]), "cuts": cuts,
    })
}

/// Share of each core in the face of its radiator.
fn faces_json(job: &Job<'_>) -> Value {
    let mut map = Map::new();
    for (index, radiator) in job.network.radiators().iter().enumerate() {
        let ties = || (job.network.cores().iter()).filter(|t| t.radiator == index);
        let cores: Map<String, Value> = ties()
            .map(|t| {
                let face: f64 = t.strips.iter().map(|s| s.face_m2).sum();
                (t.core.clone(), json!({ "face_m2": num(face) }))
            })
            .collect();
        map.insert(radiator.name.clone(), json!({ "cores": cores }));
    }
    Value::Object(map)
}
