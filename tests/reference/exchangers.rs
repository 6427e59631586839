//! Exchanger effectiveness, worked exchangers and louvred fins against published values.
//!
//! Row ids are those of `validation.md`; marks as in `friction.rs`. Gap 4: no published worked example of
//! a louvred fin was found, F3 is self-made.

use super::table::{close, numbers};
use loopwright::correlation::effectiveness::{Arrangement, effectiveness, ntu};
use loopwright::correlation::fins::{
    LouvredFin, louvred_colburn_factor, louvred_friction, louvred_friction_as_printed,
};

/// Half a unit of the sixth decimal.
const SIXTH_DECIMAL: f64 = 5.1e-7;

#[test]
fn f1_every_arrangement_agrees_with_the_libraries() {
    // Mason's series by scipy at 1e-12; ht 1.2.0 at 1e-8 of the full effectiveness (its quadrature
    // and small-Cr cancellation are the larger errors).
    let rows = numbers(include_str!("data/mason1955_effectiveness.csv"));
    assert_eq!(rows.len(), 140);
    for row in rows {
        let (n, cr) = (row[0], row[1]);
        let got = |arrangement| effectiveness(arrangement, n, cr);
        close(
            got(Arrangement::CrossflowUnmixed),
            row[2],
            1e-12,
            &format!("series {n} {cr}"),
        );
        let library = [
            (Arrangement::CrossflowUnmixed, row[3]),
            (Arrangement::CounterFlow, row[4]),
            (Arrangement::ParallelFlow, row[5]),
            (Arrangement::CrossflowMinMixed, row[6]),
            (Arrangement::CrossflowMaxMixed, row[7]),
        ];
        for (arrangement, expected) in library {
            let off = (got(arrangement) - expected).abs();
            assert!(off < 1e-8, "{arrangement:?} {n} {cr}: off by {off:.1e}");
        }
    }
}

#[test]
fn f1_effectiveness_table() {
    // F1 [C]: NTU, Cr, unmixed exact, Cmin mixed, Cmax mixed, counterflow; nine decimals.
    const ROWS: [[f64; 6]; 18] = [
        [
            0.25,
            0.25,
            0.215224259,
            0.215216777,
            0.215194279,
            0.215670075,
        ],
        [
            0.25,
            0.75,
            0.203904909,
            0.203844831,
            0.203824746,
            0.205073435,
        ],
        [0.25, 1., 0.198543926, 0.198443019, 0.198443019, 0.200000000],
        [
            0.5,
            0.25,
            0.375094429,
            0.375005475,
            0.374736316,
            0.377588926,
        ],
        [
            0.5,
            0.75,
            0.341594768,
            0.340944565,
            0.340725806,
            0.347511394,
        ],
        [0.5, 1., 0.326329977, 0.325287996, 0.325287996, 0.333333333],
        [1., 0.25, 0.588011326, 0.587201983, 0.584703810, 0.598286024],
        [1., 0.75, 0.510308647, 0.505155280, 0.503398709, 0.531857488],
        [1., 1., 0.476222388, 0.468536395, 0.468536395, 0.500000000],
        [2., 0.25, 0.797422306, 0.792759922, 0.777594334, 0.822765806],
        [2., 0.75, 0.671080292, 0.645067076, 0.636226403, 0.721826991],
        [2., 1., 0.614247239, 0.578807252, 0.578807252, 0.666666667],
        [3., 0.25, 0.888457476, 0.878826732, 0.845780349, 0.918811274],
        [3., 0.75, 0.749406397, 0.696629678, 0.679548921, 0.817117778],
        [3., 1., 0.681291108, 0.613341317, 0.613341317, 0.750000000],
        [5., 0.25, 0.959074277, 0.942385489, 0.879544927, 0.982257374],
        [5., 0.75, 0.829251218, 0.728006290, 0.700320427, 0.908770543],
        [5., 1., 0.750903981, 0.629633437, 0.629633437, 0.833333333],
    ];
    for [n, cr, unmixed, min_mixed, max_mixed, counter] in ROWS {
        for (arrangement, expected) in [
            (Arrangement::CrossflowUnmixed, unmixed),
            (Arrangement::CrossflowMinMixed, min_mixed),
            (Arrangement::CrossflowMaxMixed, max_mixed),
            (Arrangement::CounterFlow, counter),
        ] {
            let got = effectiveness(arrangement, n, cr);
            // The table is equal to the library within 2e-9, its printed digits to half a unit.
            assert!(
                (got - expected).abs() < 2e-9,
                "{arrangement:?} {n} {cr}: {got} {expected}"
            );
        }
    }
}

#[test]
fn f1_the_common_approximation_is_not_the_series() {
    let approximation =
        |n: f64, cr: f64| 1.0 - ((n.powf(0.22) / cr) * ((-cr * n.powf(0.78)).exp() - 1.0)).exp();
    let excess =
        |n, cr| approximation(n, cr) / effectiveness(Arrangement::CrossflowUnmixed, n, cr) - 1.0;
    assert!((excess(0.25, 1.0) + 0.038).abs() < 0.0005);
    assert!((excess(3.0, 0.5) - 0.011).abs() < 0.0005);
}

#[test]
fn f4_car_radiator() {
    // Cengel, Heat and Mass Transfer, ex. 11.6 [R2]: Q 62.93 kW, U 3347 W/m2K (F read from a chart as
    // 0.97); exact series 3345.857 and F 0.970355 [C]. Tolerance 0.2 %.
    let water: f64 = 0.6 * 4195.0;
    let heat = water * 25.0;
    assert!((heat - 62.93e3).abs() < 6.0);
    let air = heat / 20.0;
    let n = ntu(Arrangement::CrossflowUnmixed, 25.0 / 70.0, water / air).expect("reachable");
    let area = 40.0 * std::f64::consts::PI * 0.005 * 0.65;
    let u = n * water / area;
    close(u, 3347.0, 0.002, "printed");
    close(u, 3345.857, 2e-7, "exact series");
    let log_mean = (50.0 - 45.0) / (50.0f64 / 45.0).ln();
    assert!((log_mean - 47.5).abs() < 0.05);
    assert!((heat / (u * area * log_mean) - 0.970355).abs() < 5.1e-7);
}

#[test]
fn f4_gas_to_water() {
    // Incropera et al., ex. 11.3 [R2]: effectiveness 0.75, Cr 0.45, NTU 2.1 from a chart, 39.7 m2;
    // exact series 2.080839, 39.300 m2 [C].
    let heat: f64 = 4197.0 * 90.0;
    let gas = heat / 200.0;
    let cr = gas / 4197.0;
    let wanted = heat / (gas * 265.0);
    assert!((wanted - 0.75).abs() < 0.006 && (cr - 0.45).abs() < 1e-12);
    let n = ntu(Arrangement::CrossflowUnmixed, wanted, cr).expect("reachable");
    assert!((n - 2.080839).abs() < SIXTH_DECIMAL, "{n}");
    assert!((n * gas / 100.0 - 39.300).abs() < 5.1e-4);
    close(n, 2.1, 0.02, "chart");
}

#[test]
fn f4_gas_to_water_rated() {
    // Incropera et al., ex. 11.4 [R2]: NTU 2.67, Cr 0.357, 0.82 from a chart, 2.64e5 W; exact 0.835787
    // [C], so the chart reading is 2 % low.
    let n = 4000.0 / 1500.0;
    let cr = 1500.0 / 4197.0;
    let e = effectiveness(Arrangement::CrossflowUnmixed, n, cr);
    assert!((e - 0.835787).abs() < SIXTH_DECIMAL, "{e}");
    close(e, 0.82, 0.02, "chart");
    close(e * 1500.0 * 215.0, 2.64e5, 0.025, "heat");
}

#[test]
fn f4_oil_heated_by_steam() {
    // Holman, ex. 10.9 [R2]: about 0.8, reduction 34 %; formula NTU 2.162069, 0.831421, 131707.4 W,
    // 31.91 % of 193440 W [C].
    let oil: f64 = 0.725 * 1900.0;
    let n = 275.0 * 10.83 / oil;
    assert!((n - 2.162069).abs() < SIXTH_DECIMAL);
    let e = effectiveness(Arrangement::CrossflowMaxMixed, n, oil / (5.2 * 1860.0));
    assert!((e - 0.831421).abs() < SIXTH_DECIMAL, "{e}");
    let heat = e * oil * 115.0;
    assert!((heat - 131707.4).abs() < 0.051, "{heat}");
    assert!((1.0 - heat / 193440.0 - 0.3191).abs() < 5.1e-5);
}

#[test]
fn f4_air_heated_by_water() {
    // Holman, ex. 10.11 [R2]: 40.33 kW into air from 15.55 to 29.44 degC, water in at 82.22, U 227,
    // A 9.29, both unmixed -> water out about 21 degC, read from a chart: 3 K.
    let heat = 40.33e3;
    let air = heat / (29.44 - 15.55);
    let short = |out: f64| {
        let water = heat / (82.22 - out);
        let e = effectiveness(
            Arrangement::CrossflowUnmixed,
            227.0 * 9.29 / water,
            water / air,
        );
        e * (82.22 - 15.55) - (82.22 - out)
    };
    let (mut low, mut high) = (15.6, 60.0);
    assert!(short(low) < 0.0 && short(high) > 0.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if short(middle) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    assert!((low - 21.0).abs() < 3.0, "{low}");
}

#[test]
fn f4_counterflow_water_heater() {
    // Cengel, Heat and Mass Transfer, ex. 11.8 [R2]: 0.4286, NTU 0.652362, 5.1129 m2 (exact).
    let (cold, hot) = (1.2 * 4180.0, 2.0 * 4310.0);
    let n = ntu(Arrangement::CounterFlow, 60.0 / 140.0, cold / hot).expect("reachable");
    assert!((n - 0.652362).abs() < SIXTH_DECIMAL, "{n}");
    assert!((n * cold / 640.0 - 5.1129).abs() < 5.1e-5);
}

#[test]
fn f3_louvred_fins() {
    // F3: self-made case; formulas [R2], the blend [M]. Nine decimals are printed.
    let fin = LouvredFin {
        louvre_angle_deg: 27.0,
        fin_pitch_m: 1.4e-3,
        louvre_pitch_m: 1.2e-3,
        fin_length_m: 8e-3,
        fin_depth_m: 32e-3,
        louvre_length_m: 6.8e-3,
        tube_depth_m: 32e-3,
        tube_pitch_m: 10e-3,
        tube_thickness_m: 2e-3,
        fin_thickness_m: 0.08e-3,
        hydraulic_diameter_m: 2.26609442e-3,
    };
    const ROWS: [(f64, f64, f64); 8] = [
        (100., 0.041284019, 0.244729889),
        (149., 0.033956326, 0.172742291),
        (151., 0.033735198, 0.183760680),
        (200., 0.029395258, 0.151115192),
        (300., 0.024098641, 0.116754141),
        (500., 0.018762326, 0.087268507),
        (1000., 0.013359247, 0.061712057),
        (2000., 0.009512119, 0.045608673),
    ];
    for (re, j, f) in ROWS {
        let got = louvred_colburn_factor(re, &fin);
        assert!((got - j).abs() < 1e-9, "{re}: {got}");
        // The hydraulic diameter is printed to 5e-10 of itself and enters with its third power.
        let got = louvred_friction_as_printed(re, &fin);
        close(got, f, 1e-8, &format!("f at {re}"));
    }
    // The blend removes the jump at 150 and meets the pieces at its ends.
    for edge in [130.0, 150.0, 230.0] {
        let below = louvred_friction(edge * (1.0 - 1e-10), &fin);
        close(
            louvred_friction(edge * (1.0 + 1e-10), &fin),
            below,
            1e-8,
            "continuous",
        );
    }
    for re in [100.0, 300.0] {
        assert_eq!(
            louvred_friction(re, &fin),
            louvred_friction_as_printed(re, &fin)
        );
    }
    let rises = (0..200).all(|k| {
        let (a, b) = (100.0 + f64::from(k), 101.0 + f64::from(k));
        louvred_friction(b, &fin) * b * b > louvred_friction(a, &fin) * a * a
    });
    assert!(rises, "the drop of the blended fin rises with velocity");
}
