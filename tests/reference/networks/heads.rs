//! Stated flow, wanted head: a household line, a pipe with fittings, Hazen-Williams pipes. Validation A4a, C5.

use super::{Bench, CFS, FOOT_M, G, G_FEET, G_METRIC, Pipe, close, prints};

/// A pound per square inch, Pa.
const PSI: f64 = 6_894.757_293_168;

/// Munson et al., example 8.8 [R2]; exact [C] with 1.94 slug/ft3 and 32.2 ft/s2. The faucet's jet is a loss of
/// `(A_pipe/A_faucet)^2` pipe heads; static pressure is read at the inlet.
#[test]
fn c5_a_household_line() {
    let slug_ft3 = 14.593_902_94 / CFS;
    let jet = (0.0625_f64 * 12.0 / 0.5).powi(4);
    for (factor, loss, exact, printed) in [
        (1e-9, 0.0, 10.7488, 10.7),
        (0.0215, 0.0, 21.2791, 21.3),
        (0.0215, 10.0 + 4.0 * 1.5 + 2.0, 30.4625, 30.5),
    ] {
        let line = Pipe {
            bore_m: 0.0625 * FOOT_M,
            length_m: 60.0 * FOOT_M,
            factor,
            loss: loss + jet,
            ..Pipe::default()
        };
        let answer = Bench::new(1.94 * slug_ft3, 1e-9)
            .draw("street", 0.0, -0.0267 * CFS)
            .reservoir("tap", 20.0 * FOOT_M * G_FEET / G)
            .pipe("line", "street", "tap", &line)
            .solve();
        let psi = answer.static_inlet_pa("line") / PSI;
        prints(psi, exact, 0.0001, "exact, psi");
        prints(psi, printed, 0.1, "printed, psi");
    }
}

/// Cengel and Cimbala, example 8-8 [R2]; Colebrook, exact [C] with g 9.81. The crate's minor losses carry a laminar
/// share `50 K/Re`, at this Re of 117000 4e-4 of 1.1 m: the tolerance on the exact head is a model's, 5e-4 m.
#[test]
fn c5_a_pipe_with_bends_and_a_valve() {
    let pipe = Pipe {
        bore_m: 0.05,
        length_m: 89.0,
        roughness_m: 0.26e-3,
        loss: 0.5 + 2.0 * 0.3 + 0.2 + 1.06,
        ..Pipe::default()
    };
    let answer = Bench::new(999.7, 1.307e-3)
        .methods(r#", "friction_factor": "colebrook""#)
        .draw("lake", 0.0, -0.006)
        .reservoir("tank", 4.0 * G_METRIC / G)
        .pipe("pipe", "lake", "tank", &pipe)
        .solve();
    let z1 = answer.head("lake", G_METRIC);
    prints(z1, 31.8, 0.1, "z1 as printed");
    assert!((z1 - 31.8246).abs() < 1e-3, "{z1}");
}

/// Vennard, example 9.10 [R2] in the SI form [C]; the US form gives 65.6810 ft, 0.15 % more.
#[test]
fn a4a_a_three_inch_pipe() {
    let gpm = 231.0 * (FOOT_M / 12.0_f64).powi(3) / 60.0;
    let pipe = Pipe {
        bore_m: 0.25 * FOOT_M,
        length_m: 3000.0 * FOOT_M,
        hazen_williams_c: 140.0,
        ..Pipe::default()
    };
    let answer = Bench::new(998.0, 1e-3)
        .methods(r#", "pipe_law": "hazen_williams""#)
        .draw("in", 0.0, -90.0 * gpm)
        .reservoir("out", 0.0)
        .pipe("pipe", "in", "out", &pipe)
        .solve();
    let feet = answer.head("in", G) / FOOT_M;
    prints(feet, 65.5797, 0.0001, "SI form");
    close(feet, 65.6810, 0.002, "US form");
    close(feet, 65.7, 0.0025, "as printed");
}

/// Vennard, example 9.16 [R2]: a loop along 2000 of 5000 ft of a 12 in line. The book's exponent is 1.85, the
/// crate's 1.852, so the gain follows the closed form with 1.852 and the book's to three digits.
#[test]
fn c5_looping_a_line() {
    let pipe = |feet: f64| Pipe {
        bore_m: FOOT_M,
        length_m: feet * FOOT_M,
        hazen_williams_c: 120.0,
        ..Pipe::default()
    };
    let law = r#", "pipe_law": "hazen_williams""#;
    let single = Bench::new(998.0, 1e-3)
        .methods(law)
        .draw("in", 0.0, -5.0 * CFS)
        .reservoir("out", 0.0)
        .pipe("line", "in", "out", &pipe(5000.0))
        .solve();
    let looped = Bench::new(998.0, 1e-3)
        .methods(law)
        .reservoir("in", single.head("in", G))
        .reservoir("out", 0.0)
        .joint("fork", 0.0)
        .pipe("line", "in", "fork", &pipe(3000.0))
        .pipe("old", "fork", "out", &pipe(2000.0))
        .pipe("new", "fork", "out", &pipe(2000.0))
        .solve();
    let cfs = looped.flow("line") / CFS;
    let gain = (5000.0 / (3000.0 + 2000.0 / 2.0_f64.powf(1.852))).powf(1.0 / 1.852);
    close(cfs, 5.0 * gain, 1e-9, "closed form");
    close(cfs, 6.012_495, 5e-4, "exponent 1.85");
    prints(cfs - 5.0, 1.0, 0.1, "gain as printed");
}
