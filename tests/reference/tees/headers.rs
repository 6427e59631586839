//! Headers of many coefficient tees against the momentum theory of manifolds.

use std::f64::consts::FRAC_PI_2;

use loopwright::correlation::tees::{TeeModel, TeeShape, tee};

use super::rows;

const HEADERS: &str = include_str!("../data/bajura1976_momentum_headers.csv");

/// A header of `n` tees a side, solved by Newton: branch flows over their mean.
///
/// Unit density, supply area and inflow; the return's area is `1 / a`; a branch loses `ZETA` heads.
fn header(n: usize, row: &[f64]) -> Vec<f64> {
    const ZETA: f64 = 3.0;
    let [layout, mz, k_i, k_e, a, f] = row[..6] else {
        panic!("six inputs")
    };
    let model = TeeModel::Coefficients {
        dividing: k_i,
        combining: k_e,
    };
    let mean = 1.0 / n as f64;
    let branch_area = (mz * ZETA).sqrt() * mean;
    let supply = TeeShape {
        a_area_m2: 1.0,
        b_area_m2: 1.0,
        side_area_m2: branch_area,
        angle_rad: FRAC_PI_2,
    };
    let back = TeeShape {
        a_area_m2: 1.0 / a,
        b_area_m2: 1.0 / a,
        ..supply
    };
    let order: Vec<usize> = if layout == 0.0 {
        (0..n).rev().collect()
    } else {
        (0..n).collect()
    };
    let residual = |x: &[f64]| -> Vec<f64> {
        let mut out = vec![x[n]; n + 1];
        let (mut p, mut w) = (0.0, x[..n].iter().sum::<f64>() * mean);
        out[n] = w - 1.0;
        for i in 0..n {
            let m = x[i] * mean;
            // The last tee has nothing beyond it: exactly nothing, whatever the sum rounds to.
            let on = if i + 1 == n { 0.0 } else { w - m };
            let e = tee(model, &supply, 1.0, [on + m, -on, -m]).excess_pa;
            out[i] += p + e[2] - e[0] - 0.5 * ZETA * (m / branch_area) * (m / branch_area).abs();
            p += e[1] - e[0] - f * mean * on * on;
            w = on;
        }
        let (mut p, mut w) = (0.0, 0.0);
        for &i in &order {
            let m = x[i] * mean;
            let e = tee(model, &back, 1.0, [w, -(w + m), m]).excess_pa;
            out[i] -= p + e[2] - e[0];
            w += m;
            p += e[1] - e[0] - f * mean * a * a * w * w;
        }
        out
    };
    let mut x = vec![1.0; n + 1];
    x[n] = 0.0;
    for _ in 0..40 {
        let r = residual(&x);
        let columns: Vec<Vec<f64>> = (0..=n)
            .map(|j| {
                let mut y = x.clone();
                y[j] += 1e-7;
                let s = residual(&y);
                r.iter().zip(s).map(|(r, s)| (s - r) / 1e-7).collect()
            })
            .collect();
        let step = solved(columns, r);
        let size = step.iter().fold(0f64, |m, s| m.max(s.abs()));
        x.iter_mut().zip(step).for_each(|(x, s)| *x -= s);
        if size < 1e-12 {
            break;
        }
    }
    let left = residual(&x).iter().fold(0f64, |m, r| m.max(r.abs()));
    assert!(left < 1e-10, "header of {n} not solved: {left:.1e}");
    x.truncate(n);
    x
}

/// Solves a dense system given by columns; Gauss with pivoting.
fn solved(mut columns: Vec<Vec<f64>>, mut right: Vec<f64>) -> Vec<f64> {
    let n = right.len();
    for k in 0..n {
        let pivot = (k..n)
            .max_by(|&i, &j| columns[k][i].abs().total_cmp(&columns[k][j].abs()))
            .expect("rows remain");
        columns.iter_mut().for_each(|column| column.swap(k, pivot));
        right.swap(k, pivot);
        for i in k + 1..n {
            let factor = columns[k][i] / columns[k][k];
            columns[k..].iter_mut().for_each(|c| c[i] -= factor * c[k]);
            right[i] -= factor * right[k];
        }
    }
    for k in (0..n).rev() {
        right[k] /= columns[k][k];
        for i in 0..k {
            right[i] -= columns[k][i] * right[k];
        }
    }
    right
}

/// Discrete headers as printed in validation D2: first and last of 12, first and last of 96.
const PRINTED_HEADERS: [[f64; 4]; 11] = [
    [1.15501, 0.91435, 1.17410, 0.91390],
    [1.55976, 0.70999, 1.63292, 0.70964],
    [1.51477, 0.73128, 1.58158, 0.73084],
    [0.76767, 1.13557, 0.74044, 1.13685],
    [0.78799, 1.24686, 0.77423, 1.26997],
    [0.53565, 1.56479, 0.50699, 1.62047],
    [0.67179, 1.31380, 0.64442, 1.33730],
    [1.22223, 0.88818, 1.25234, 0.88758],
    [0.80797, 1.25281, 0.79852, 1.27856],
    [1.21298, 0.91345, 1.24663, 0.91285],
    [1.03726, 1.03726, 1.04709, 1.04709],
];

#[test]
fn discrete_headers_of_coefficient_tees_agree_with_the_printed_ones() {
    // Five printed decimals. At 96 branches the first takes 1 % of the flow: a wide blend at the
    // resting side leg would show here.
    let mut worst = 0f64;
    for (row, printed) in rows(HEADERS).iter().zip(PRINTED_HEADERS) {
        for (n, pair) in [(12, &printed[..2]), (96, &printed[2..])] {
            let u = header(n, row);
            for (got, want) in [(u[0], pair[0]), (u[n - 1], pair[1])] {
                worst = worst.max((got - want).abs());
                assert!(
                    (got - want).abs() <= 6e-6,
                    "{row:?} of {n}: {got} for {want}"
                );
            }
        }
    }
    println!("discrete headers: worst {worst:.1e}");
}

#[test]
fn headers_of_coefficient_tees_tend_to_the_momentum_equation_as_one_over_n() {
    for row in rows(HEADERS) {
        // Against the ends of the theory's header, and against the theory at the branch's own place.
        let (mut at_ends, mut at_places) = (Vec::new(), Vec::new());
        for (n, column) in [(12, 11), (24, 13), (48, 15)] {
            let u = header(n, &row);
            let off = |first: f64, last: f64| (u[0] - first).abs().max((u[n - 1] - last).abs());
            at_ends.push(off(row[6], row[10]));
            at_places.push(off(row[column], row[column + 1]));
        }
        println!(
            "{:?}: ends {at_ends:.6?}, places {at_places:.6?}",
            &row[..6]
        );
        // Four times the branches: a quarter of the error at the ends, a sixteenth at the place.
        assert!(at_ends[2] < 0.27 * at_ends[0], "{row:?}: {at_ends:?}");
        assert!(at_places[2] < 0.08 * at_places[0], "{row:?}: {at_places:?}");
        assert!(at_places[0] < 1.0 / 144.0, "{row:?}: {at_places:?}");
    }
}
