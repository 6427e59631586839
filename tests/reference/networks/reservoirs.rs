//! Pipes between reservoirs: series, parallel, three reservoirs. Validation C1 to C5.

use super::{Answer, Bench, CFS, FOOT_M, G, G_FEET, G_METRIC, Pipe, close, prints};

/// Worked values computed to eight digits.
const EXACT: f64 = 1e-8;
/// Half a unit of the seventh significant digit and the laminar term of stated factors.
const SEVEN_DIGITS: f64 = 1e-7;

fn stated(bore_m: f64, length_m: f64, factor: f64) -> Pipe {
    Pipe {
        bore_m,
        length_m,
        factor,
        ..Pipe::default()
    }
}

/// Daugherty and Franzini, example 8.8 [R2], exact value [C] with g 9.81.
#[test]
fn c1_three_pipes_in_series() {
    let answer = Bench::stated()
        .reservoir("high", 10.0 * G_METRIC / G)
        .reservoir("low", 0.0)
        .hose("one", &stated(0.3, 300.0, 0.019))
        .hose("two", &stated(0.2, 150.0, 0.021))
        .hose("three", &stated(0.25, 250.0, 0.020))
        .run(&["high", "one", "two", "three", "low"])
        .solve();
    prints(answer.flow("two"), 0.084, 0.001, "C1 as printed");
    // The listed value has seven digits.
    close(answer.flow("two"), 0.083_617_66, 6e-8, "C1");
    let area = |d: f64| std::f64::consts::FRAC_PI_4 * d * d;
    let k = [
        (300.0, 0.3, 0.019),
        (150.0, 0.2, 0.021),
        (250.0, 0.25, 0.020),
    ]
    .iter()
    .map(|(l, d, f)| f * l / d / (2.0 * G_METRIC * area(*d) * area(*d)))
    .sum::<f64>();
    close(
        answer.flow("two"),
        (10.0 / k).sqrt(),
        EXACT,
        "C1, closed form",
    );
}

/// Daugherty and Franzini, example 8.9 [R2]; exact values [C] with g 32.2 ft/s2, 62.4 lbf/ft3.
#[test]
fn c2_two_parallel_pipes_and_one_in_series() {
    let high = |feet: f64| feet * FOOT_M * G_FEET / G;
    let inch = FOOT_M / 12.0;
    let answer = Bench::stated()
        .reservoir("high", high(200.0))
        .reservoir("low", high(50.0))
        .joint("junction", high(120.0))
        .pipe(
            "A",
            "high",
            "junction",
            &stated(6.0 * inch, 2000.0 * FOOT_M, 0.020),
        )
        .pipe(
            "B",
            "high",
            "junction",
            &stated(4.0 * inch, 1600.0 * FOOT_M, 0.032),
        )
        .pipe(
            "C",
            "junction",
            "low",
            &stated(8.0 * inch, 4000.0 * FOOT_M, 0.024),
        )
        .solve();
    for (pipe, exact, printed) in [
        ("A", 1.528_155_6, 1.528),
        ("B", 0.490_156_1, 0.490),
        ("C", 2.018_311_7, 2.018),
    ] {
        close(answer.flow(pipe) / CFS, exact, SEVEN_DIGITS, pipe);
        prints(answer.flow(pipe) / CFS, printed, 0.001, pipe);
    }
    let psi = answer.head("junction", G_FEET) / FOOT_M * 62.4 / 144.0;
    prints(psi, 2.06, 0.01, "junction, psi");
    prints(psi, 2.060_36, 0.000_01, "junction, psi, exact");
}

/// Munson et al., example 8.14 [R2], as the sample `three-reservoirs.json`. The sample's heights are plain feet, so
/// flows are those of g 32.2 ft/s2 times the root of the gravities; the junction's head has no g in it.
#[test]
fn c3_three_reservoirs() {
    let answer = Answer::of(
        include_str!("../../../networks/three-reservoirs.json"),
        "mains",
        1000.0,
    );
    let root = (G / G_FEET).sqrt();
    for (pipe, exact, printed, spread) in [
        ("pipe A", 12.506_314, 12.5, 0.004),
        // The book's 2.26 carries rounding of a quartic.
        ("pipe B", 2.232_817, 2.26, 0.015),
        ("pipe C", 10.273_497, 10.3, 0.005),
    ] {
        let cfs = answer.flow(pipe) / CFS / root;
        close(cfs, exact, 3e-7, pipe);
        close(cfs, printed, spread, pipe);
    }
    let head = answer.head("junction", G) / FOOT_M;
    prints(head, 21.254_991, 2e-6, "junction, ft");
}

/// Douglas, example 14.4 [R2]; Fanning factor 0.01, so Darcy 0.04; exact values [C] with g 9.81.
#[test]
fn c4_three_reservoirs_from_one_main() {
    let high = |m: f64| m * G_METRIC / G;
    let answer = Bench::stated()
        .reservoir("A", high(24.0))
        .reservoir("B", high(8.0))
        .reservoir("C", high(0.0))
        .joint("D", 0.0)
        .pipe("AD", "A", "D", &stated(0.12, 120.0, 0.04))
        .pipe("DB", "D", "B", &stated(0.075, 60.0, 0.04))
        .pipe("DC", "D", "C", &stated(0.060, 40.0, 0.04))
        .solve();
    for (pipe, exact, printed) in [
        ("AD", 0.020_588_49, 0.0206),
        ("DB", 0.010_517_47, 0.0105),
        ("DC", 0.010_071_02, 0.0101),
    ] {
        close(answer.flow(pipe), exact, 6e-7, pipe);
        prints(answer.flow(pipe), printed, 0.0001, pipe);
    }
}

/// Douglas, example 14.3 [R2]: two pipes between reservoirs 10 m apart, entry and exit K 1.5; exact [C], g 9.81.
#[test]
fn c5_two_parallel_pipes_with_entry_and_exit() {
    let pipe = |bore_m| Pipe {
        loss: 1.5,
        ..stated(bore_m, 100.0, 0.032)
    };
    let answer = Bench::stated()
        .reservoir("high", 10.0 * G_METRIC / G)
        .reservoir("low", 0.0)
        .pipe("small", "high", "low", &pipe(0.050))
        .pipe("large", "high", "low", &pipe(0.100))
        .solve();
    let (small, large) = (answer.flow("small"), answer.flow("large"));
    close(small, 0.003_398_277, 2e-7, "50 mm");
    close(large, 0.019_007_149, 5e-8, "100 mm");
    prints(small, 0.0034, 0.0001, "50 mm as printed");
    prints(large, 0.0190, 0.0001, "100 mm as printed");
    prints(small + large, 0.0224, 0.0001, "sum as printed");
    // The printed equivalent single pipe of 106 mm carries the sum by friction alone, to the digits of its bore.
    let single = Bench::stated()
        .reservoir("high", 10.0 * G_METRIC / G)
        .reservoir("low", 0.0)
        .pipe("one", "high", "low", &stated(0.106, 100.0, 0.032))
        .solve();
    close(single.flow("one"), small + large, 0.012, "equivalent pipe");
}

/// Douglas, example 14.7 [R2]: h = f L Q^2/(3 d^5), f 0.006, that is a Darcy factor of `f pi^2 g/24` with the g of
/// the crate; exact [C].
#[test]
fn c5_a_branched_main() {
    let factor = 0.006 * std::f64::consts::PI.powi(2) * G / 24.0;
    let pipe = |bore_m, length_m| stated(bore_m, length_m, factor);
    let answer = Bench::stated()
        .reservoir("A", 100.0)
        .reservoir("D", 60.0)
        .joint("B", 0.0)
        .joint("C", 0.0)
        .pipe("A1", "A", "B", &pipe(0.1, 30.0))
        .pipe("A2", "A", "B", &pipe(0.125, 30.0))
        .pipe("BC", "B", "C", &pipe(0.15, 60.0))
        .pipe("left", "C", "D", &pipe(0.1, 30.0))
        .pipe("right", "C", "D", &pipe(0.1, 30.0))
        .solve();
    close(answer.flow("BC"), 0.101_594_7, 5e-7, "main");
    prints(answer.flow("BC"), 0.1016, 0.0001, "main as printed");
    close(answer.head("C", G), 75.482_230, 1e-8, "head at C");
    prints(answer.head("C", G), 75.48, 0.01, "head at C as printed");
}
