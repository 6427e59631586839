//! Shapes of the studies: sizes, balance, layouts, cuts, sweeps, comparisons; and of `explain`.

use super::shape::{
    Definitions, any, count, format, joined, list, maybe, maybe_numbers, named, number, numbers,
    one_of, record, refer, text, truth, tuple,
};
use serde_json::Value;

pub(super) fn definitions() -> Definitions {
    vec![
        ("size-pump", size_pump()),
        ("size-hose", size_hose()),
        ("size-header", size_header()),
        ("balance", balance()),
        ("layout", layout()),
        ("partition", partition()),
        ("sweep", sweep_line()),
        ("compare", compare()),
        ("explain", explain()),
        (
            "judged_case",
            any(vec![
                record(&[("limits", list(refer("limit")))]),
                refer("failed_case"),
            ]),
        ),
        ("tight", tight()),
        ("arrangement", one_of(&["one", "series", "parallel"])),
    ]
}

/// The keys with which a study begins.
pub(super) fn head(rest: Vec<(&'static str, Value)>) -> Value {
    joined(&[("format", format()), ("title", text())], &rest)
}

fn size_pump() -> Value {
    let point = [
        ("volume_flow_m3_s", number()),
        ("pressure_rise_pa", number()),
        ("shut_off_rise_pa", number()),
        ("share_of_free_flow", maybe(number())),
        ("hydraulic_power_w", number()),
        ("electrical_power_w", maybe(number())),
        ("efficiency", maybe(number())),
    ];
    let run = record(&[
        ("supply_v", maybe(number())),
        ("speed", number()),
        ("fits", truth()),
        ("normalised_margin_k", maybe(number())),
        (
            "cases",
            named(any(vec![
                joined(&[("limits", list(refer("limit")))], &point),
                refer("failed_case"),
            ])),
        ),
    ]);
    let trial = record(&[
        ("pump", text()),
        ("arrangement", refer("arrangement")),
        ("rated_voltage_v", maybe(number())),
        ("fits", truth()),
        ("electrical_power_w", maybe(number())),
        ("why", text()),
        ("runs", list(run)),
    ]);
    let duty = list(record(&[
        ("case", text()),
        ("volume_flow_m3_s", number()),
        ("pressure_rise_pa", number()),
    ]));
    head(vec![
        ("loop", text()),
        ("pump", text()),
        ("supply_v", list(number())),
        ("cases", list(text())),
        ("in_time", list(text())),
        ("placeholders", list(text())),
        (
            "best",
            maybe(record(&[
                ("pump", text()),
                ("arrangement", refer("arrangement")),
            ])),
        ),
        (
            "demand",
            record(&[
                ("least", duty.clone()),
                ("most", duty.clone()),
                ("nearest", duty),
            ]),
        ),
        ("limits_counted", list(refer("limit_key"))),
        ("limits_not_mended", list(refer("limit_key"))),
        ("trials", list(trial)),
    ])
}

fn size_hose() -> Value {
    let set = [
        ("hoses", named(text())),
        ("pressure_pa", number()),
        ("mass_kg", number()),
        ("coolant_m3", number()),
    ];
    let solved = joined(
        &set,
        &[
            ("fits", truth()),
            ("normalised_margin_k", maybe(number())),
            ("worse_than_now_k", maybe(number())),
            ("cases", named(refer("judged_case"))),
        ],
    );
    let size = joined(
        &[("hose", text()), ("falling_velocity_m_s", maybe(number()))],
        &numbers(&[
            "bore_m",
            "pressure_pa",
            "velocity_m_s",
            "coolant_m3",
            "mass_kg",
        ]),
    );
    let group = record(&[
        ("group", text()),
        ("parts", list(text())),
        ("own_bore_m", number()),
        ("sizes", list(size)),
        ("refused", list(tuple(text(), 2))),
    ]);
    let search = record(&[
        ("sets", number()),
        ("solved", count()),
        ("exact", truth()),
        ("bound_kg", number()),
    ]);
    head(vec![
        ("loop", text()),
        ("governing_case", text()),
        ("in_time", list(text())),
        ("placeholders", list(text())),
        ("velocity_limit_m_s", number()),
        ("groups", list(group)),
        ("front", list(record(&set))),
        ("best", maybe(solved.clone())),
        ("nearest", maybe(solved)),
        ("search", search),
        ("limits_counted", list(refer("limit_key"))),
        ("limits_not_mended", list(refer("limit_key"))),
    ])
}

fn size_header() -> Value {
    let figures = joined(
        &[("module_temperature_spread_k", maybe(number()))],
        &numbers(&[
            "cold_deviation",
            "warm_deviation",
            "cold_drop_pa",
            "warm_drop_pa",
            "coolant_m3",
            "mass_kg",
        ]),
    );
    let choice = [
        ("header", text()),
        ("layout", refer("layout_name")),
        ("port_bore_m", number()),
    ];
    let trial = joined(
        &choice,
        &[
            ("fits", truth()),
            ("figures", maybe(figures.clone())),
            ("refused", maybe(text())),
        ],
    );
    head(vec![
        ("loop", text()),
        ("bank", text()),
        ("cold_temperature_k", number()),
        ("warm_temperature_k", number()),
        ("deviation_limit", number()),
        ("spread_limit_k", maybe(number())),
        ("in_time", list(text())),
        ("placeholders", list(text())),
        ("own", maybe(figures)),
        ("best", maybe(record(&choice))),
        ("trials", list(trial)),
    ])
}

fn balance() -> Value {
    let state = record(&[
        ("warm_deviation", number()),
        ("cold_deviation", number()),
        ("warm_volume_flow_m3_s", number()),
        ("cold_volume_flow_m3_s", number()),
        ("bank_drop_pa", named(number())),
        ("module_temperature_spread_k", named(number())),
        ("errors", named(refer("error"))),
    ]);
    let disc = record(&[("port", count()), ("bore", text()), ("thickness", text())]);
    let mut branch = vec![
        ("bank", text()),
        ("port", count()),
        ("circuit", text()),
        ("drill", maybe(text())),
        ("fraction", maybe(text())),
        ("number", maybe(text())),
        ("letter", maybe(text())),
        ("wants_strainer", truth()),
    ];
    branch.extend(numbers(&[
        "pipe_bore_m",
        "share",
        "warm_flow_over_target_before",
        "cold_flow_over_target_before",
        "pressure_drop_pa",
        "warm_flow_over_target",
        "cold_flow_over_target",
        "warm_volume_flow_m3_s",
    ]));
    branch.extend(maybe_numbers(&[
        "exact_bore_m",
        "drill_bore_m",
        "flow_change_0_1_mm_smaller",
        "flow_change_0_1_mm_larger",
    ]));
    let reached = one_of(&[
        "yes",
        "warm_only",
        "not_with_drills",
        "too_little_flow",
        "no",
    ]);
    head(vec![
        ("loop", text()),
        ("banks", list(text())),
        ("target", one_of(&["equal", "heat"])),
        ("heat_case", maybe(text())),
        ("cold_temperature_k", number()),
        ("warm_temperature_k", number()),
        ("thickness_m", number()),
        ("drills", one_of(&["metric", "inch"])),
        ("deviation_limit", number()),
        ("least_flow_m3_s", maybe(number())),
        ("reached", reached),
        ("exact_deviation", number()),
        ("before", state.clone()),
        ("after", state),
        ("in_time", list(text())),
        ("placeholders", list(text())),
        ("restrictors", named(list(disc))),
        ("branches", list(record(&branch))),
    ])
}

fn layout() -> Value {
    let name = || refer("layout_name");
    let row = record(&[
        ("layout", name()),
        ("present", truth()),
        ("cold_deviation", maybe(number())),
        ("warm_deviation", maybe(number())),
        ("warm_pressure_drop_pa", maybe(number())),
        ("module_temperature_spread_k", maybe(number())),
    ]);
    let change = record(&[
        ("temperature_k", number()),
        ("colder", name()),
        ("warmer", name()),
    ]);
    let bank = record(&[
        ("loop", text()),
        ("bank", text()),
        ("cold_k", number()),
        ("warm_k", number()),
        ("most_even", maybe(name())),
        ("layouts", list(row)),
        ("changes", list(change.clone())),
        ("changes_between_ends", list(change)),
    ]);
    head(vec![("case", text()), ("banks", list(bank))])
}

fn tight() -> Value {
    maybe(record(&[
        ("normalised_margin_k", number()),
        ("limit", text()),
        ("subject", text()),
        ("case", text()),
    ]))
}

fn partition() -> Value {
    let track = record(&[
        ("case", text()),
        ("limit", text()),
        ("subject", text()),
        ("side", refer("side")),
        ("counts", truth()),
        ("met_with_tubes", maybe(tuple(count(), 2))),
        ("normalised_margin_k", maybe(tuple(number(), 2))),
    ]);
    let need = record(&[
        ("loop", text()),
        ("tubes", tuple(count(), 2)),
        ("case", text()),
        ("limit", text()),
        ("subject", text()),
        ("missed_by_k", number()),
        ("conductance_w_k", number()),
        ("remedy", one_of(&["heat_per_kelvin", "flow", "chiller"])),
        ("heat_per_kelvin_factor", maybe(number())),
        ("heat_share", maybe(number())),
    ]);
    let window = record(&[("first", count()), ("last", count()), ("whole", truth())]);
    head(vec![
        ("radiator", text()),
        ("cores", list(text())),
        ("loops", list(text())),
        ("tubes", count()),
        ("lost_tubes", count()),
        ("spare_tubes", count()),
        ("tube_pitch_m", number()),
        ("placeholders", list(text())),
        ("own_tubes", count()),
        ("window", maybe(window)),
        ("best", maybe(list(count()))),
        ("limits", list(track)),
        ("needs", list(need)),
        ("cuts", list(cut())),
    ])
}

fn cut() -> Value {
    let wall = record(&[
        ("after", text()),
        ("before", text()),
        ("lost_tubes", count()),
        ("first_plate_m", number()),
        ("second_plate_m", number()),
        ("middle_m", number()),
    ]);
    let core = joined(
        &[
            ("loop", text()),
            ("tubes", count()),
            ("conductance_w_k", maybe(number())),
        ],
        &numbers(&[
            "inlet_temperature_k",
            "outlet_temperature_k",
            "heat_rejected_w",
            "pressure_drop_pa",
            "mass_flow_kg_s",
            "face_velocity_m_s",
        ]),
    );
    let case = any(vec![
        record(&[
            ("air_temperature_k", number()),
            ("cores", named(core)),
            ("limits", list(refer("limit"))),
        ]),
        record(&[("air_temperature_k", number()), ("error", refer("error"))]),
    ]);
    record(&[
        ("tubes", list(count())),
        ("fits", truth()),
        ("walls", list(wall)),
        ("worst", refer("tight")),
        ("worst_of", named(refer("tight"))),
        ("cases", named(case)),
    ])
}

fn sweep_line() -> Value {
    record(&[
        ("point", count()),
        ("inputs", named(any(vec![text(), number(), truth()]))),
        ("inputs_si", named(maybe(number()))),
        ("outputs", named(maybe(number()))),
        ("failure", maybe(text())),
    ])
}

fn compare() -> Value {
    let side = maybe(record(&[
        ("value", maybe(number())),
        ("bound", number()),
        ("margin", maybe(number())),
        ("verdict", refer("verdict")),
    ]));
    let pair = [
        ("limit", maybe(text())),
        ("subject", maybe(text())),
        ("before", side.clone()),
        ("after", side),
    ];
    let flip = joined(
        &pair,
        &[
            ("case", text()),
            ("flip", one_of(&["to_missed", "from_missed", "other"])),
        ],
    );
    let moved = record(&[
        ("path", text()),
        ("before", maybe(number())),
        ("after", maybe(number())),
        ("share", maybe(number())),
    ]);
    let case = record(&[
        ("first_failure", maybe(text())),
        ("second_failure", maybe(text())),
        ("compared", count()),
        ("moved", list(moved)),
        ("limits", list(record(&pair))),
    ]);
    let input = record(&[
        ("path", text()),
        ("before", maybe(text())),
        ("after", maybe(text())),
    ]);
    record(&[
        ("format", format()),
        ("titles", tuple(text(), 2)),
        ("same", truth()),
        ("threshold", number()),
        ("inputs", list(input)),
        ("flipped", list(flip)),
        ("cases", named(case)),
    ])
}

fn explain() -> Value {
    let key = record(&[
        ("key", text()),
        ("example", maybe(text())),
        ("meaning", text()),
        ("required", truth()),
    ]);
    let topic = record(&[
        (
            "kind",
            one_of(&["refusal", "finding", "limit", "part", "law"]),
        ),
        ("topic", text()),
        ("meaning", text()),
        ("formula", maybe(text())),
        ("range", maybe(text())),
        ("source", maybe(text())),
        ("advice", maybe(text())),
        ("keys", list(key)),
    ]);
    record(&[("format", format()), ("topics", list(topic))])
}
