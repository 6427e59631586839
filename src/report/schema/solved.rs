//! Shapes of `solve` and `check`, on which the other answers draw.

use super::shape::{
    Definitions, any, count, format, joined, list, maybe, maybe_numbers, named, number, numbers,
    one_of, record, refer, text, tuple,
};
use serde_json::Value;

pub(super) fn definitions() -> Definitions {
    let mut all = vec![
        ("solve", solve(false)),
        ("check", check()),
        ("volume", volume()),
        (
            "finding",
            record(&[("kind", text()), ("subject", text()), ("text", text())]),
        ),
        (
            "error",
            record(&[("kind", text()), ("subject", text()), ("text", text())]),
        ),
        ("failed_case", record(&[("error", refer("error"))])),
        ("limit", limit()),
        (
            "verdict",
            one_of(&["met", "provisional", "no_value", "missed"]),
        ),
        ("side", one_of(&["min", "max"])),
        (
            "layout_name",
            one_of(&["same_end", "opposite_end", "centre"]),
        ),
        (
            "limit_key",
            record(&[("limit", text()), ("subject", text())]),
        ),
        ("case", case()),
        ("loop", of_loop()),
        ("bank", bank()),
        ("hottest", hottest()),
        ("radiator", radiator()),
        ("core", core()),
        ("second_answer", second_answer()),
        ("time", time()),
        ("limit_time", limit_time()),
    ];
    all.extend(parts());
    all
}

/// `solve`, and the same with what a job pack adds.
pub(super) fn solve(pack: bool) -> Value {
    let mut keys = vec![
        ("format", format()),
        ("title", text()),
        ("placeholders", list(text())),
        ("findings", list(refer("finding"))),
        ("volumes", named(refer("volume"))),
        (
            "cases",
            named(any(vec![refer("case"), refer("failed_case")])),
        ),
    ];
    if pack {
        keys.push(("check", refer("check")));
        keys.push(("job", refer("job")));
    }
    record(&keys)
}

fn check() -> Value {
    let case = record(&[
        ("limits", list(refer("limit"))),
        ("findings", list(refer("finding"))),
        ("time?", record(&[("limits", list(refer("limit_time")))])),
        ("remedies?", list(refer("row_remedy"))),
    ]);
    record(&[
        ("format", format()),
        ("title", text()),
        ("verdict", maybe(refer("verdict"))),
        ("placeholders", list(text())),
        ("findings", list(refer("finding"))),
        ("cases", named(any(vec![case, refer("failed_case")]))),
    ])
}

fn volume() -> Value {
    let purchase = record(&[
        ("glycol", one_of(&["ethylene_glycol", "propylene_glycol"])),
        ("glycol_m3", number()),
        ("water_m3", number()),
    ]);
    let tank = record(&[
        ("id", text()),
        ("minimum_m3", number()),
        ("volume_m3", maybe(number())),
        ("gauge_pressure_pa", number()),
        ("cap_gauge_pressure_pa", maybe(number())),
    ]);
    joined(
        &[
            ("by_kind", named(number())),
            ("not_known", list(text())),
            ("purchase", maybe(purchase)),
            ("tank", maybe(tank)),
            ("findings", list(refer("finding"))),
        ],
        &numbers(&[
            "total_m3",
            "mass_kg",
            "coldest_temperature_k",
            "hottest_temperature_k",
            "growth_from_fill_m3",
            "growth_from_coldest_m3",
        ]),
    )
}

fn limit() -> Value {
    record(&[
        ("limit", text()),
        ("subject", text()),
        ("value", maybe(number())),
        ("side", refer("side")),
        ("bound", number()),
        ("margin", maybe(number())),
        ("verdict", refer("verdict")),
        ("limited_by", maybe(text())),
        ("advice", maybe(text())),
        ("band", maybe(tuple(number(), 2))),
    ])
}

fn case() -> Value {
    let effort = record(&[
        ("newton_iterations_max", count()),
        ("passes", count()),
        ("factorisations", count()),
        ("residual", number()),
    ]);
    record(&[
        ("air_temperature_k", number()),
        ("air_pressure_pa", number()),
        ("travel_speed_m_s", number()),
        ("loops", named(refer("loop"))),
        ("radiators", named(refer("radiator"))),
        ("limits", list(refer("limit"))),
        ("findings", list(refer("finding"))),
        ("second_answers", named(refer("second_answer"))),
        ("effort", effort),
        ("time?", refer("time")),
    ])
}

fn of_loop() -> Value {
    let shut_off = record(&[
        ("cold_temperature_k", number()),
        ("hot_temperature_k", number()),
        (
            "parts",
            named(record(&[
                ("cold_static_gauge_pressure_pa", number()),
                ("hot_static_gauge_pressure_pa", number()),
                ("hot_with_cap_static_gauge_pressure_pa", maybe(number())),
            ])),
        ),
    ]);
    let closure = record(&[
        ("mass_kg_s", number()),
        ("energy_w", maybe(number())),
        ("pressure_pa", number()),
    ]);
    record(&[
        ("parts", named(refer("any_part"))),
        ("banks", named(refer("bank"))),
        ("shut_off", maybe(shut_off)),
        ("boiling_margin_k", maybe(number())),
        ("module_flow_deviation", maybe(number())),
        ("module_temperature_spread_k", maybe(number())),
        ("hottest_module", maybe(refer("hottest"))),
        ("closure", closure),
    ])
}

/// A part, with what pumps, thermostats and exchangers add, and points.
fn parts() -> Definitions {
    let mut base = vec![("kind", text()), ("origin", maybe(text()))];
    base.extend(numbers(&[
        "mass_flow_kg_s",
        "volume_flow_m3_s",
        "pressure_drop_pa",
        "inlet_total_pressure_pa",
        "outlet_total_pressure_pa",
        "inlet_static_gauge_pressure_pa",
        "outlet_static_gauge_pressure_pa",
        "inlet_temperature_k",
        "outlet_temperature_k",
        "heat_w",
        "coolant_rise_k",
    ]));
    base.extend(maybe_numbers(&[
        "reynolds",
        "velocity_m_s",
        "part_temperature_k",
        "thermal_resistance_k_w",
    ]));
    let pump = [
        ("share_of_free_flow", maybe(number())),
        ("shut_off_rise_pa", number()),
        ("hydraulic_power_w", number()),
        ("speed_ratio", number()),
        ("inlet_margin_over_boiling_pa", number()),
    ];
    let thermostat = [
        ("opening", number()),
        ("bypass_opening", maybe(number())),
        ("sensed_temperature_k", number()),
    ];
    let exchanger = [
        ("effectiveness", maybe(number())),
        ("ntu", maybe(number())),
        ("heat_limit_w", maybe(number())),
        ("stream_temperature_k", number()),
    ];
    let state = numbers(&["total_pressure_pa", "temperature_k", "inflow_kg_s"]);
    let points = one_of(&["expansion_tank", "open_end", "joint", "draw"]);
    let legs = record(&numbers(&["a", "b", "side"]));
    let tee = [
        ("kind", one_of(&["tee"])),
        ("mass_flow_into_tee_kg_s", legs),
    ];
    let mut mixer = vec![("kind", one_of(&["mixing_thermostat"]))];
    mixer.extend(thermostat.clone());
    vec![
        (
            "any_part",
            any([
                "part",
                "pump_part",
                "thermostat_part",
                "exchanger_part",
                "point_part",
                "tee_part",
                "mixer_part",
            ]
            .map(refer)
            .to_vec()),
        ),
        ("part", record(&base)),
        ("pump_part", joined(&base, &pump)),
        ("thermostat_part", joined(&base, &thermostat)),
        ("exchanger_part", joined(&base, &exchanger)),
        ("point_part", joined(&[("kind", points)], &state)),
        ("tee_part", joined(&tee, &state)),
        ("mixer_part", joined(&mixer, &state)),
    ]
}

fn bank() -> Value {
    let worst = record(&[
        ("id", text()),
        ("flow_over_mean", number()),
        ("friction_pa", number()),
        ("momentum_pa", number()),
        ("cause", one_of(&["friction", "momentum", "branch"])),
    ]);
    let reading = record(&[
        ("reading", text()),
        ("deviation", number()),
        ("max_over_min", maybe(number())),
    ]);
    let band = record(&[
        ("deviation", tuple(number(), 2)),
        ("readings", list(reading)),
    ]);
    joined(
        &[
            ("branch_flow_over_mean", list(maybe(number()))),
            ("circuit_flow_over_mean", list(maybe(number()))),
            ("max_over_min", maybe(number())),
            ("module_temperature_k", maybe(list(maybe(number())))),
            ("module_temperature_spread_k", maybe(number())),
            ("hottest_module", maybe(refer("hottest"))),
            ("worst_branch", maybe(worst)),
            ("band", maybe(band)),
            ("supply_static_gauge_pressure_pa", list(number())),
            ("return_static_gauge_pressure_pa", list(number())),
        ],
        &numbers(&[
            "deviation",
            "pressure_drop_pa",
            "branch_loss_pa",
            "header_velocity_head_pa",
            "header_friction_pa",
            "header_area_over_port_area",
        ]),
    )
}

fn hottest() -> Value {
    let causes = one_of(&[
        "less_flow",
        "warmer_inlet",
        "more_heat",
        "weaker_film",
        "no_flow",
        "even",
    ]);
    joined(
        &[("id", text()), ("cause", causes)],
        &numbers(&[
            "temperature_k",
            "excess_over_mean_k",
            "less_flow_k",
            "warmer_inlet_k",
            "more_heat_k",
            "weaker_film_k",
            "rest_k",
            "flow_over_mean",
            "coolant_rise_k",
        ]),
    )
}

fn radiator() -> Value {
    let fan = record(&[
        ("volume_flow_m3_s", number()),
        ("pressure_rise_pa", number()),
        ("share_of_free_flow", maybe(number())),
    ]);
    record(&[
        ("behind", maybe(text())),
        ("cores", named(refer("core"))),
        ("fans", named(fan)),
    ])
}

fn core() -> Value {
    let mut keys = vec![
        ("loop", text()),
        ("tank_leak_w", named(number())),
        ("passes", count()),
        ("regime", text()),
    ];
    keys.extend(numbers(&[
        "heat_rejected_w",
        "air_mass_flow_kg_s",
        "face_velocity_m_s",
        "inlet_temperature_k",
        "outlet_temperature_k",
        "reynolds",
        "tube_velocity_m_s",
        "coolant_side_conductance_w_k",
        "air_side_conductance_w_k",
    ]));
    keys.extend(maybe_numbers(&[
        "effectiveness",
        "ntu",
        "air_inlet_temperature_k",
        "air_outlet_temperature_k",
        "tank_velocity_m_s",
        "fin_efficiency",
    ]));
    record(&keys)
}

fn second_answer() -> Value {
    let branch = joined(
        &[("id", text())],
        &numbers(&[
            "mass_flow_kg_s",
            "other_mass_flow_kg_s",
            "outlet_temperature_k",
            "other_outlet_temperature_k",
        ]),
    );
    record(&[
        ("start_temperature_k", number()),
        ("hottest_coolant_k", number()),
        ("other_hottest_coolant_k", number()),
        ("hottest_module_k", maybe(number())),
        ("other_hottest_module_k", maybe(number())),
        ("branches", list(branch)),
    ])
}

fn time() -> Value {
    let peak = record(&[
        (
            "of",
            one_of(&["module", "device", "coolant_inlet", "coolant_outlet"]),
        ),
        ("subject", text()),
        ("temperature_k", number()),
        ("time_s", number()),
    ]);
    record(&[
        ("duration_s", maybe(number())),
        ("start_temperature_k", maybe(number())),
        ("time_s", list(number())),
        ("hottest_module_k", named(list(number()))),
        ("device_k", named(list(number()))),
        ("core_inlet_k", named(list(number()))),
        ("peaks", list(peak)),
        ("limits", list(refer("limit_time"))),
        ("no_steady_answer", maybe(text())),
        (
            "energy",
            record(&numbers(&["gained_j", "lost_j", "stored_j", "imbalance"])),
        ),
        (
            "effort",
            record(&[
                ("steps", count()),
                ("rejected", count()),
                ("tolerance_k", number()),
            ]),
        ),
    ])
}

fn limit_time() -> Value {
    record(&[
        ("limit", text()),
        ("subject", text()),
        ("worst_time_s", number()),
        ("first_reached_s", maybe(number())),
        ("steady_value", maybe(number())),
        ("steady_verdict", maybe(refer("verdict"))),
    ])
}
