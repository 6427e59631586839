//! Shapes of `report --json`: `solve` and `check`, and what the job pack adds.

use super::shape::{
    Definitions, any, count, joined, list, maybe, named, number, numbers, record, refer, text,
    truth, tuple,
};
use super::solved::solve;
use serde_json::Value;

pub(super) fn definitions() -> Definitions {
    vec![
        ("report", solve(true)),
        ("job", job()),
        ("machine", machine()),
        ("cut_list", cut_list()),
        ("fill", fill()),
        ("bucket", bucket()),
    ]
}

fn job() -> Value {
    let change = record(&[
        ("change", text()),
        ("value", number()),
        ("margin", number()),
    ]);
    let limiting = record(&[
        ("case", text()),
        ("limit", text()),
        ("subject", text()),
        ("value", maybe(number())),
        ("bound", number()),
        ("margin", maybe(number())),
        ("verdict", refer("verdict")),
        ("changes_tried", count()),
        ("best_change", maybe(change)),
    ]);
    let cut = record(&[
        ("tubes", list(count())),
        ("fits", truth()),
        ("margins_k", tuple(maybe(number()), 2)),
    ]);
    let window = record(&[
        ("radiator", text()),
        ("cores", list(text())),
        ("loops", list(text())),
        ("own_tubes", count()),
        ("best_tubes", maybe(count())),
        ("window", maybe(tuple(count(), 2))),
        ("cuts", list(cut)),
    ]);
    let face = record(&[("cores", named(record(&[("face_m2", number())])))]);
    record(&[
        ("drawn_case", maybe(text())),
        (
            "verdicts",
            named(record(&[("limits", count()), ("missed", count())])),
        ),
        ("limiting", list(limiting)),
        ("loops", named(of_loop())),
        ("fans", list(refer("machine"))),
        ("cut_list", refer("cut_list")),
        ("bucket", refer("bucket")),
        ("partition", maybe(window)),
        ("faces", named(face)),
        (
            "origins",
            named(record(&[("count", count()), ("subjects", list(text()))])),
        ),
    ])
}

fn of_loop() -> Value {
    let step = record(&[
        ("id", text()),
        ("kind", text()),
        ("inlet_static_gauge_pressure_pa", number()),
        ("outlet_static_gauge_pressure_pa", number()),
        ("shut_off_static_gauge_pressure_pa", maybe(number())),
    ]);
    let eater = record(&[
        ("id", text()),
        ("kind", text()),
        ("power_w", number()),
        ("share", number()),
    ]);
    record(&[
        ("pumps", list(refer("machine"))),
        ("pressure_along", list(step)),
        ("pressure_eaters", list(eater)),
        ("fill", maybe(refer("fill"))),
    ])
}

/// A pump or fan with the lines that it works against.
fn machine() -> Value {
    let points = || list(tuple(number(), 2));
    let line = record(&[
        ("label", text()),
        ("fluid_temperature_k", number()),
        ("flow_m3_s_and_loss_pa", points()),
        ("works_at_m3_s", maybe(number())),
        ("works_at_pa", maybe(number())),
    ]);
    record(&[
        ("owner", text()),
        ("id", text()),
        ("flow_m3_s_and_rise_pa", points()),
        ("against", list(line)),
    ])
}

fn fill() -> Value {
    let part = record(&[
        ("id", text()),
        ("lowest_m", number()),
        ("highest_m", number()),
    ]);
    let point = record(&[
        ("height_m", number()),
        ("parts", list(text())),
        ("vents_by_itself", truth()),
    ]);
    let leg = record(&[
        ("id", text()),
        ("fall_m", number()),
        ("velocity_m_s", number()),
        ("carries_bubbles", truth()),
    ]);
    record(&[
        ("heights_known", truth()),
        ("from_below", list(part)),
        ("high_points", list(point)),
        ("falling_legs", list(leg)),
    ])
}

fn cut_list() -> Value {
    let hose = record(&[
        ("loop", text()),
        ("id", text()),
        ("count", count()),
        ("bore_m", number()),
        ("length_m", number()),
    ]);
    let stock = record(&[
        ("bore_m", number()),
        ("length_m", number()),
        ("pieces", count()),
        ("clamps", count()),
    ]);
    let fitting = record(&[
        ("kind", text()),
        ("hose_bore_m", number()),
        ("bore_m", maybe(number())),
        ("count", count()),
    ]);
    let header = joined(
        &[
            ("loop", text()),
            ("bank", text()),
            ("side", text()),
            ("spigots", count()),
            ("spigots_at_m", list(number())),
            ("hole_is_stated", truth()),
            ("drill_64ths_in", count()),
        ],
        &numbers(&[
            "inside_width_m",
            "inside_height_m",
            "length_m",
            "port_bore_m",
            "hole_m",
            "drill_m",
        ]),
    );
    record(&[
        ("hoses", list(hose)),
        ("hose_stock", list(stock)),
        ("fittings", list(fitting)),
        ("headers", list(header)),
    ])
}

fn bucket() -> Value {
    let branch = record(&[
        ("id", text()),
        ("port", count()),
        ("volume_flow_m3_s", number()),
        ("flow_over_mean", number()),
        ("seconds_per_litre", maybe(number())),
        ("tolerance_s", maybe(number())),
    ]);
    let sheet = record(&[
        ("loop", text()),
        ("bank", text()),
        ("volume_flow_m3_s", number()),
        ("seconds_per_ten_litres", maybe(number())),
        ("branches", list(branch)),
    ]);
    any(vec![
        record(&[("water_temperature_k", number()), ("banks", list(sheet))]),
        record(&[("water_temperature_k", number()), ("error", text())]),
    ])
}
