//! Tees against the handbook and the printed coefficients; headers and laws in the files below.
//!
//! Data: `data/crane2009_tees.csv`, `data/bajura1976_momentum_headers.csv`, both written by
//! `scripts/tees.py`.

mod headers;
mod laws;

use std::f64::consts::FRAC_PI_2;

use loopwright::correlation::tees::{
    ARM_BLEND_SHARE, HANDBOOK_BRIDGE_WIDTH, TeeModel, TeeShape, handbook_combining_lateral,
    handbook_combining_run, handbook_dividing_lateral, handbook_dividing_run,
    momentum_combining_lateral, momentum_combining_run, momentum_dividing_lateral,
    momentum_dividing_run, tee, tee_check,
};

/// Half a unit of the tenth printed decimal.
const PRINTED_10: f64 = 5e-11;
/// Round-off of a formula of a few terms of order one.
const ROUND_OFF: f64 = 1e-12;
const DENSITY_KG_M3: f64 = 1050.0;

const CRANE: &str = include_str!("data/crane2009_tees.csv");

const MODELS: [TeeModel; 5] = [
    TeeModel::Momentum,
    TeeModel::Handbook,
    TeeModel::Coefficients {
        dividing: 0.75,
        combining: 1.3,
    },
    TeeModel::Coefficients {
        dividing: 1.0,
        combining: 2.0,
    },
    TeeModel::Lossless,
];

fn shape(a: f64, b: f64, side: f64, angle_deg: f64) -> TeeShape {
    TeeShape {
        a_area_m2: a * 1e-4,
        b_area_m2: b * 1e-4,
        side_area_m2: side * 1e-4,
        angle_rad: angle_deg.to_radians(),
    }
}

/// Shapes each model accepts: square ones for all, angles and reducing runs where allowed.
fn shapes(model: TeeModel) -> Vec<TeeShape> {
    [
        shape(3.0, 3.0, 3.0, 90.0),
        shape(3.0, 3.0, 1.5, 90.0),
        shape(3.0, 3.0, 0.4, 90.0),
        shape(3.0, 2.0, 1.2, 90.0),
        shape(3.0, 3.0, 2.0, 45.0),
        shape(3.0, 2.5, 1.0, 150.0),
    ]
    .into_iter()
    .filter(|shape| tee_check(model, shape).is_ok())
    .collect()
}

/// Rows of numbers of a table; a leading layout letter reads as 0 (U) or 1 (Z).
fn rows(table: &str) -> Vec<Vec<f64>> {
    table
        .lines()
        .filter(|line| !line.starts_with('#'))
        .skip(1)
        .map(|line| {
            line.split(',')
                .map(|cell| match cell {
                    "U" => 0.0,
                    "Z" => 1.0,
                    number => number.parse().expect("a number"),
                })
                .collect()
        })
        .collect()
}

fn near(got: f64, want: f64, tolerance: f64) -> bool {
    (got - want).abs() <= tolerance * want.abs().max(1.0)
}

#[test]
fn dividing_laterals_agree_with_the_printed_numbers_of_2001() {
    // Validation B3, ten decimals; psi = datum area over lateral area, 90 degrees.
    let shares = [0.0, 0.25, 0.5, 0.75, 1.0];
    for (psi, printed) in [
        (
            1.0,
            [1.0, 0.8711582838, 0.8673165676, 0.9884748515, 1.2346331353],
        ),
        (
            2.0,
            [1.0, 0.8673165676, 1.2346331353, 2.1019497029, 3.4692662705],
        ),
    ] {
        for (q, k) in shares.into_iter().zip(printed) {
            let got = momentum_dividing_lateral(q * psi, FRAC_PI_2);
            assert!((got - k).abs() <= PRINTED_10, "psi {psi} q {q}: {got}");
            // cos(3 pi / 8) = sqrt(2 - sqrt 2) / 2 without a cosine.
            let x: f64 = q * psi;
            let exact = 1.0 + x * x - x * (2.0 - 2f64.sqrt()).sqrt();
            assert!(near(got, exact, ROUND_OFF));
        }
    }
    for (s, k) in [
        (1.0, 0.0),
        (0.75, -0.0625),
        (0.5, 0.0),
        (0.25, 0.1875),
        (0.0, 0.5),
    ] {
        assert!(near(momentum_dividing_run(s), k, ROUND_OFF));
    }
}

#[test]
fn combining_momentum_at_90_degrees_is_the_handbook_lateral_with_a_factor_of_one() {
    // Validation B3: the same lateral as the handbook up to b2 = 0.35; run 2 q - q^2.
    for b2 in [0.1257, 0.25, 0.34] {
        for q in [0.0, 0.25, 0.4, 0.5, 1.0] {
            let k = momentum_combining_lateral(q, q / b2, FRAC_PI_2);
            assert!(near(k, handbook_combining_lateral(q, b2), ROUND_OFF));
            let k = momentum_combining_run(q, q / b2, FRAC_PI_2);
            assert!(near(k, 2.0 * q - q * q, ROUND_OFF));
        }
    }
}

#[test]
fn small_handbook_laterals_have_the_form_printed_by_idelchik() {
    // Validation B2, third edition, pp. 418 and 432: A' = 1, K's = 0; straight run 1.55 q - q^2.
    for b2 in [0.1, 0.25, 0.34] {
        for q in [0.0, 0.1, 0.5, 0.9] {
            let x: f64 = q / b2;
            assert!(near(
                handbook_dividing_lateral(q, b2),
                1.0 + x * x,
                ROUND_OFF
            ));
            assert!(near(
                handbook_combining_run(q, b2),
                1.55 * q - q * q,
                ROUND_OFF
            ));
        }
    }
}

#[test]
fn handbook_coefficients_agree_with_fluids() {
    let off = |q: f64, join: f64| q <= join || q >= join + HANDBOOK_BRIDGE_WIDTH;
    let (mut worst, mut on_bridge, mut compared) = (0f64, 0f64, 0);
    for row in rows(CRANE) {
        let [b2, q, dl, dr, cl, cr] = row[..] else {
            panic!("six columns")
        };
        for (got, want, plain) in [
            (handbook_dividing_lateral(q, b2), dl, true),
            (handbook_dividing_run(q, b2), dr, b2 <= 0.4 || off(q, 0.5)),
            (
                handbook_combining_lateral(q, b2),
                cl,
                b2 <= 0.35 || off(q, 0.4),
            ),
            (handbook_combining_run(q, b2), cr, true),
        ] {
            let error = (got - want).abs() / want.abs().max(1.0);
            if plain {
                worst = worst.max(error);
                compared += 1;
            } else {
                on_bridge = on_bridge.max(error);
            }
        }
    }
    println!("handbook: {compared} values, worst {worst:.1e}; on bridges {on_bridge:.1e}");
    assert!(compared > 2500 && worst <= 1e-10);
    assert!(on_bridge > 0.0 && on_bridge < 0.02);
}

#[test]
fn the_whole_tee_agrees_with_fluids_away_from_blends_and_bridges() {
    let mut worst = 0f64;
    for row in rows(CRANE) {
        let [b2, q, dl, dr, cl, cr] = row[..] else {
            panic!("six columns")
        };
        let bridge = (q > 0.4 && q < 0.42) || (q > 0.5 && q < 0.52);
        if !(ARM_BLEND_SHARE..=1.0 - ARM_BLEND_SHARE).contains(&q) || bridge {
            continue;
        }
        let shape = shape(2.0, 2.0, 2.0 * b2, 90.0);
        let flow = 0.3;
        let head = flow * flow / (2.0 * DENSITY_KG_M3 * shape.a_area_m2 * shape.a_area_m2);
        let run = |into: [f64; 3]| tee(TeeModel::Handbook, &shape, DENSITY_KG_M3, into).excess_pa;
        let (s, q) = (flow * (1.0 - q), flow * q);
        for p in [run([flow, -s, -q]), swapped(run([-s, flow, -q]))] {
            worst = worst.max(((p[0] - p[2]) / head - dl).abs() / dl.abs().max(1.0));
            worst = worst.max(((p[0] - p[1]) / head - dr).abs());
        }
        for p in [run([-flow, s, q]), swapped(run([s, -flow, q]))] {
            worst = worst.max(((p[2] - p[0]) / head - cl).abs() / cl.abs().max(1.0));
            worst = worst.max(((p[1] - p[0]) / head - cr).abs());
        }
    }
    println!("handbook through the whole tee: worst {worst:.1e}");
    assert!(worst > 0.0 && worst <= 1e-10);
}

fn swapped(p: [f64; 3]) -> [f64; 3] {
    [p[1], p[0], p[2]]
}
