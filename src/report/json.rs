//! Answers as JSON: stable keys with SI units in their names, `null` for a value that does not exist.

use super::of_sensitivity::remedy_json;
use super::of_time::limit_times_json;
use crate::finding::Finding;
use crate::network::Network;
use crate::solve::{
    Carried, Cause, HotCause, HottestModule, PartState, PointState, SecondAnswer, Solution,
    SolveError, WorstBranch,
};
use crate::study::band::Band;
use crate::study::check::{CheckAnswer, RowRemedy};
use crate::study::shut_off;
use crate::study::volume::LoopVolume;
use crate::study::{LimitRow, LimitSide, Verdict};
use serde_json::{Map, Value, json};

/// A number, or null where it is not finite.
pub(super) fn num(value: f64) -> Value {
    serde_json::Number::from_f64(value).map_or(Value::Null, Value::Number)
}

pub(super) fn opt(value: Option<f64>) -> Value {
    value.map_or(Value::Null, num)
}

pub(super) fn nums(values: &[f64]) -> Value {
    values.iter().map(|v| num(*v)).collect()
}

/// The outcome of one case: a solution with its judged limits and bands, or why there is none.
pub type CaseOutcome<'n> = Result<(Solution<'n>, Vec<LimitRow>, Vec<Band>), SolveError>;

/// Everything that was solved: one entry a case, in the order of the design.
pub fn solve_json(
    network: &Network,
    cases: &[(String, CaseOutcome<'_>)],
    volumes: &[LoopVolume],
) -> Value {
    let mut map = Map::new();
    for (name, outcome) in cases {
        let value = match outcome {
            Ok((solution, limits, bands)) => case_json(solution, limits, bands),
            Err(error) => json!({ "error": error_json(error) }),
        };
        map.insert(name.clone(), value);
    }
    json!({
        "format": 1,
        "title": network.title(),
        "placeholders": network.placeholders(),
        "findings": findings_json(network.findings()),
        "volumes": volumes_json(volumes),
        "cases": map,
    })
}

fn volumes_json(volumes: &[LoopVolume]) -> Value {
    let mut map = Map::new();
    for volume in volumes {
        let kinds: Map<String, Value> = volume
            .kinds
            .iter()
            .map(|(kind, m3)| (format!("{kind}_m3"), num(*m3)))
            .collect();
        let value = json!({
            "by_kind": kinds,
            "not_known": volume.unknown,
            "total_m3": num(volume.total_m3),
            "mass_kg": num(volume.mass_kg),
            "purchase": volume.purchase.map(|p| json!({
                "glycol": p.glycol.to_string().replace(' ', "_"),
                "glycol_m3": num(p.glycol_m3),
                "water_m3": num(p.water_m3),
            })),
            "coldest_temperature_k": num(volume.coldest_k),
            "hottest_temperature_k": num(volume.hottest_k),
            "growth_from_fill_m3": num(volume.growth_from_fill_m3),
            "growth_from_coldest_m3": num(volume.growth_from_cold_m3),
            "tank": volume.tank.as_ref().map(|t| json!({
                "id": t.id,
                "minimum_m3": num(t.minimum_m3),
                "volume_m3": opt(t.volume_m3),
                "gauge_pressure_pa": num(t.gauge_pa),
                "cap_gauge_pressure_pa": opt(t.cap_pa),
            })),
            "findings": findings_json(&volume.findings),
        });
        map.insert(volume.owner.clone(), value);
    }
    Value::Object(map)
}

fn shut_off_json(solution: &Solution<'_>, name: &str) -> Value {
    let Some(whole) = shut_off::of(solution, name) else {
        return Value::Null;
    };
    let parts: Map<String, Value> = whole
        .parts
        .iter()
        .map(|p| {
            let value = json!({
                "cold_static_gauge_pressure_pa": num(p.cold_gauge_pa),
                "hot_static_gauge_pressure_pa": num(p.hot_gauge_pa),
                "hot_with_cap_static_gauge_pressure_pa": opt(p.capped_gauge_pa),
            });
            (p.id.clone(), value)
        })
        .collect();
    json!({
        "cold_temperature_k": num(whole.cold_k),
        "hot_temperature_k": num(whole.hot_k),
        "parts": parts,
    })
}

pub(super) fn error_json(error: &SolveError) -> Value {
    json!({ "kind": error.code(), "subject": error.subject().to_string(), "text": error.to_string() })
}

fn findings_json(found: &[Finding]) -> Value {
    found
        .iter()
        .map(|f| json!({ "kind": f.kind.code(), "subject": f.subject.to_string(), "text": f.text }))
        .collect()
}

pub(super) fn case_json(solution: &Solution<'_>, limits: &[LimitRow], bands: &[Band]) -> Value {
    let mut loops = Map::new();
    for name in solution.loop_names() {
        loops.insert(name.to_owned(), loop_json(solution, name, bands));
    }
    let mut radiators = Map::new();
    for radiator in solution.network().radiators() {
        radiators.insert(
            radiator.name.clone(),
            radiator_json(solution, &radiator.name),
        );
    }
    let effort = solution.effort();
    let case = solution.case();
    json!({
        "air_temperature_k": num(case.air_temperature_k),
        "air_pressure_pa": num(case.air.pressure_pa()),
        "travel_speed_m_s": num(case.travel_speed_m_s),
        "loops": loops,
        "radiators": radiators,
        "limits": limits_json(limits),
        "findings": findings_json(solution.findings()),
        "second_answers": seconds_json(solution.second_answers()),
        "effort": {
            "newton_iterations_max": effort.newton_iterations_max,
            "passes": effort.passes,
            "factorisations": effort.factorisations,
            "residual": num(solution.residual()),
        },
    })
}

fn loop_json(solution: &Solution<'_>, name: &str, bands: &[Band]) -> Value {
    let solved = solution.carried(name) == Some(Carried::Solved);
    let mut parts = Map::new();
    for point in solution.points(name) {
        parts.insert(point.id.clone(), point_json(&point));
    }
    for part in solution.parts(name) {
        parts.insert(part.id.clone(), part_json(part));
    }
    for pump in solution.pumps(name) {
        if let Some(Value::Object(part)) = parts.get_mut(&pump.id) {
            part.insert("share_of_free_flow".into(), opt(pump.share_of_free_flow));
            part.insert("shut_off_rise_pa".into(), num(pump.shut_off_rise_pa));
            part.insert("hydraulic_power_w".into(), num(pump.hydraulic_w));
            part.insert("speed_ratio".into(), num(pump.speed));
            part.insert(
                "inlet_margin_over_boiling_pa".into(),
                num(pump.inlet_margin_over_boiling_pa),
            );
        }
    }
    for thermostat in solution.thermostats(name) {
        if let Some(Value::Object(part)) = parts.get_mut(&thermostat.id) {
            part.insert("opening".into(), num(thermostat.opening));
            part.insert("bypass_opening".into(), opt(thermostat.bypass_opening));
            part.insert(
                "sensed_temperature_k".into(),
                num(thermostat.inlet_temperature_k),
            );
        }
    }
    for exchanger in solution.exchangers(name) {
        if let Some(Value::Object(part)) = parts.get_mut(&exchanger.id) {
            part.insert(
                "effectiveness".into(),
                opt(exchanger.effectiveness.filter(|_| solved)),
            );
            part.insert("ntu".into(), opt(exchanger.ntu));
            part.insert("heat_limit_w".into(), opt(exchanger.limit_w));
            part.insert(
                "stream_temperature_k".into(),
                num(exchanger.stream_temperature_k),
            );
        }
    }
    let boiling = solution.boiling_margin(name).filter(|_| solved);
    let mut banks = Map::new();
    for bank in solution.banks(name) {
        let (temperatures, spread) = if solved {
            (
                nums(&bank.module_temperature_k),
                num(bank.module_temperature_spread_k),
            )
        } else {
            (Value::Null, Value::Null)
        };
        banks.insert(
            bank.id.clone(),
            json!({
                "branch_flow_over_mean": nums(&bank.branch_flow_over_mean),
                "circuit_flow_over_mean": nums(&bank.circuit_flow_over_mean),
                "max_over_min": opt(bank.max_over_min),
                "deviation": num(bank.deviation),
                "module_temperature_k": temperatures,
                "module_temperature_spread_k": spread,
                "hottest_module": hottest_json(solution.hottest_of_bank(name, &bank.id).filter(|_| solved)),
                "pressure_drop_pa": num(bank.drop_pa),
                "branch_loss_pa": num(bank.branch_loss_pa),
                "header_velocity_head_pa": num(bank.header_head_pa),
                "header_friction_pa": num(bank.header_friction_pa),
                "worst_branch": bank.worst.as_ref().map(worst_json),
                "band": bands.iter().find(|b| b.owner == name && b.bank == bank.id).map(band_json),
                "header_area_over_port_area": num(bank.area_ratio),
                "supply_static_gauge_pressure_pa": nums(&bank.supply_static_gauge_pa),
                "return_static_gauge_pressure_pa": nums(&bank.return_static_gauge_pa),
            }),
        );
    }
    let closure = solution.closure(name).unwrap_or_default();
    json!({
        "parts": parts,
        "banks": banks,
        "shut_off": shut_off_json(solution, name),
        "boiling_margin_k": opt(boiling.map(|b| b.margin_k)),
        "module_flow_deviation": opt(solution.loop_deviation(name)),
        "module_temperature_spread_k": opt(solution.loop_spread_k(name).filter(|_| solved)),
        "hottest_module": hottest_json(solution.hottest_of_loop(name).filter(|_| solved)),
        "closure": {
            "mass_kg_s": num(closure.mass_kg_s),
            "energy_w": if solved { num(closure.energy_w) } else { Value::Null },
            "pressure_pa": num(closure.pressure_pa),
        },
    })
}

fn hottest_json(hottest: Option<HottestModule>) -> Value {
    let Some(hottest) = hottest else {
        return Value::Null;
    };
    json!({
        "id": hottest.id,
        "temperature_k": num(hottest.temperature_k),
        "excess_over_mean_k": num(hottest.excess_k),
        "less_flow_k": num(hottest.less_flow_k),
        "warmer_inlet_k": num(hottest.warmer_inlet_k),
        "more_heat_k": num(hottest.more_heat_k),
        "weaker_film_k": num(hottest.weaker_film_k),
        "rest_k": num(hottest.rest_k),
        "flow_over_mean": num(hottest.flow_over_mean),
        "coolant_rise_k": num(hottest.coolant_rise_k),
        "cause": match hottest.cause {
            HotCause::LessFlow => "less_flow",
            HotCause::WarmerInlet => "warmer_inlet",
            HotCause::MoreHeat => "more_heat",
            HotCause::WeakerFilm => "weaker_film",
            HotCause::NoFlow => "no_flow",
            HotCause::Even => "even",
        },
    })
}

fn seconds_json(seconds: &[SecondAnswer]) -> Value {
    let mut map = Map::new();
    for second in seconds {
        let branches: Vec<Value> = second
            .branches
            .iter()
            .map(|b| {
                json!({
                    "id": b.id,
                    "mass_flow_kg_s": num(b.mass_flow_kg_s[0]),
                    "other_mass_flow_kg_s": num(b.mass_flow_kg_s[1]),
                    "outlet_temperature_k": num(b.outlet_temperature_k[0]),
                    "other_outlet_temperature_k": num(b.outlet_temperature_k[1]),
                })
            })
            .collect();
        let value = json!({
            "start_temperature_k": num(second.start_k),
            "hottest_coolant_k": num(second.hottest_k[0]),
            "other_hottest_coolant_k": num(second.hottest_k[1]),
            "hottest_module_k": opt(second.hottest_module_k.map(|k| k[0])),
            "other_hottest_module_k": opt(second.hottest_module_k.map(|k| k[1])),
            "branches": branches,
        });
        map.insert(second.owner.clone(), value);
    }
    Value::Object(map)
}

fn worst_json(worst: &WorstBranch) -> Value {
    json!({
        "id": worst.id,
        "flow_over_mean": num(worst.over_mean),
        "friction_pa": num(worst.friction_pa),
        "momentum_pa": num(worst.momentum_pa),
        "cause": match worst.cause {
            Cause::Friction => "friction",
            Cause::Momentum => "momentum",
            Cause::Branch => "branch",
        },
    })
}

fn band_json(band: &Band) -> Value {
    let (low, high) = band.deviation();
    let readings: Vec<Value> = band
        .readings
        .iter()
        .map(|r| json!({ "reading": r.label, "deviation": num(r.deviation), "max_over_min": opt(r.max_over_min) }))
        .collect();
    json!({ "deviation": nums(&[low, high]), "readings": readings })
}

pub(super) fn part_json(part: &PartState) -> Value {
    json!({
        "kind": part.kind,
        "origin": part.origin.map(|o| o.word().replace(' ', "_")),
        "mass_flow_kg_s": num(part.mass_flow_kg_s),
        "volume_flow_m3_s": num(part.volume_flow_m3_s),
        "pressure_drop_pa": num(part.pressure_drop_pa),
        "inlet_total_pressure_pa": num(part.inlet_total_pressure_pa),
        "outlet_total_pressure_pa": num(part.outlet_total_pressure_pa),
        "inlet_static_gauge_pressure_pa": num(part.inlet_static_gauge_pa),
        "outlet_static_gauge_pressure_pa": num(part.outlet_static_gauge_pa),
        "inlet_temperature_k": num(part.inlet_temperature_k),
        "outlet_temperature_k": num(part.outlet_temperature_k),
        "heat_w": num(part.heat_w),
        "reynolds": opt(part.reynolds),
        "velocity_m_s": opt(part.velocity_m_s),
        "part_temperature_k": opt(part.part_temperature_k),
        "coolant_rise_k": num(part.outlet_temperature_k - part.inlet_temperature_k),
        "thermal_resistance_k_w": opt(part.resistance_k_w),
    })
}

fn point_json(point: &PointState) -> Value {
    let mut value = json!({
        "kind": point.kind,
        "total_pressure_pa": num(point.total_pressure_pa),
        "temperature_k": num(point.temperature_k),
        "inflow_kg_s": num(point.inflow_kg_s),
    });
    if let (Some([a, b, side]), Value::Object(map)) = (point.leg_flow_kg_s, &mut value) {
        let legs = json!({ "a": num(a), "b": num(b), "side": num(side) });
        map.insert("mass_flow_into_tee_kg_s".into(), legs);
    }
    value
}

pub(super) fn radiator_json(solution: &Solution<'_>, radiator: &str) -> Value {
    let mut cores = Map::new();
    for core in solution.cores(radiator) {
        cores.insert(
            core.core.clone(),
            json!({
                "loop": core.owner,
                "heat_rejected_w": num(core.heat_rejected_w),
                "effectiveness": opt(core.effectiveness),
                "ntu": opt(core.ntu),
                "air_mass_flow_kg_s": num(core.air_mass_flow_kg_s),
                "face_velocity_m_s": num(core.face_velocity_m_s),
                "air_inlet_temperature_k": opt(core.air_inlet_temperature_k),
                "air_outlet_temperature_k": opt(core.air_outlet_temperature_k),
                "tank_leak_w": core.tank_leaks.iter().map(|l| (l.from.clone(), num(l.heat_w))).collect::<Map<_, _>>(),
                "inlet_temperature_k": num(core.inlet_temperature_k),
                "outlet_temperature_k": num(core.outlet_temperature_k),
                "passes": core.sides.passes,
                "regime": core.sides.regime.word(),
                "reynolds": num(core.sides.reynolds),
                "tube_velocity_m_s": num(core.sides.tube_velocity_m_s),
                "tank_velocity_m_s": opt(core.sides.tank_velocity_m_s),
                "coolant_side_conductance_w_k": num(core.sides.coolant_side_w_k),
                "air_side_conductance_w_k": num(core.sides.air_side_w_k),
                "fin_efficiency": opt(core.sides.fin_efficiency),
            }),
        );
    }
    let mut fans = Map::new();
    for fan in solution.fans(radiator) {
        fans.insert(
            fan.name.clone(),
            json!({
                "volume_flow_m3_s": num(fan.volume_flow_m3_s),
                "pressure_rise_pa": num(fan.pressure_rise_pa),
                "share_of_free_flow": opt(fan.share_of_free_flow),
            }),
        );
    }
    let radiators = solution.network().radiators();
    let behind = (radiators.iter().find(|r| r.name == radiator))
        .and_then(|r| r.behind)
        .map(|front| radiators[front].name.clone());
    json!({ "behind": behind, "cores": cores, "fans": fans })
}

pub(super) fn limits_json(rows: &[LimitRow]) -> Value {
    rows.iter()
        .map(|row| {
            json!({
                "limit": row.limit,
                "subject": row.subject,
                "value": opt(row.value),
                "side": match row.side { LimitSide::Min => "min", LimitSide::Max => "max" },
                "bound": num(row.bound),
                "margin": opt(row.margin),
                "verdict": row.verdict.code(),
                "limited_by": row.limited_by,
                "advice": row.advice,
                "band": row.band.map(|(low, high)| nums(&[low, high])),
            })
        })
        .collect()
}

fn row_remedy_json(rows: &[LimitRow], found: &RowRemedy) -> Value {
    let mut value = remedy_json(&found.knob, &found.remedy);
    value["limit"] = rows[found.row].limit.into();
    value["subject"] = rows[found.row].subject.as_str().into();
    value
}

/// The answer of a check.
pub fn check_json(title: &str, answer: &CheckAnswer) -> Value {
    let mut cases = Map::new();
    for case in &answer.cases {
        let value = match &case.limits {
            Ok(rows) => {
                let mut value = json!({ "limits": limits_json(rows), "findings": findings_json(&case.findings) });
                if !case.in_time.is_empty() {
                    value["time"] = json!({ "limits": limit_times_json(rows, &case.in_time) });
                }
                if !case.remedies.is_empty() {
                    value["remedies"] = case
                        .remedies
                        .iter()
                        .map(|r| row_remedy_json(rows, r))
                        .collect();
                }
                value
            }
            Err(error) => json!({ "error": error_json(error) }),
        };
        cases.insert(case.case.clone(), value);
    }
    json!({
        "format": 1,
        "title": title,
        "verdict": answer.verdict().map(Verdict::code),
        "placeholders": answer.placeholders,
        "findings": findings_json(&answer.findings),
        "cases": cases,
    })
}
