//! Pumps against a system. Validation C6, G4.

use super::{Bench, CFS, FOOT_M, G, G_FEET, Pipe, close, prints};

/// A parabola `a + c Q^2` in m over m3/s as a pump's curve, by so many points that the crate's cubic meets it.
fn parabola(a_m: f64, c: f64, last_m3_s: f64) -> String {
    let points: Vec<String> = (0..=400)
        .map(|k| {
            let q = last_m3_s * f64::from(k) / 400.0;
            let pa = 1000.0 * G * (a_m + c * q * q);
            format!(r#"["{q} m3/s", "{pa} Pa"]"#)
        })
        .collect();
    format!(
        r#"{{ "pump": {{ "curve": [{}], "curve_coolant": {{ "coolant": "fluid", "temperature": "20 degC" }} }} }}"#,
        points.join(", ")
    )
}

/// Maurer (2024) [R], exact [C]: h = 82.467352 - 0.2009368 Q^2 against 30 ft and K Q^2, K taken at 1 cfs by Colebrook.
/// Heads are the book's own feet: with `g/g_source` on every term the flow is that of the book.
#[test]
fn c6_a_pump_and_its_system() {
    let nu = 1.23e-5 * FOOT_M * FOOT_M;
    let main = Pipe {
        bore_m: 20.0 / 12.0 * FOOT_M,
        length_m: 3884.0 * FOOT_M,
        roughness_m: 0.0005 * FOOT_M,
        ..Pipe::default()
    };
    let probe = Bench::new(1000.0, 1000.0 * nu)
        .methods(r#", "friction_factor": "colebrook""#)
        .draw("in", 0.0, -CFS)
        .reservoir("out", 0.0)
        .pipe("main", "in", "out", &main)
        .solve();
    let k = probe.head("in", G_FEET) / FOOT_M;
    prints(k, 0.160_213, 1e-6, "K, ft/cfs2");
    prints(k, 0.160, 0.001, "K as printed");
    // The factor that loses K Q^2 feet under the crate's g.
    let area = std::f64::consts::FRAC_PI_4 * main.bore_m * main.bore_m;
    let factor = k * FOOT_M / (CFS * CFS) * 2.0 * G * area * area * main.bore_m / main.length_m;
    let pump = parabola(
        82.467_352 * FOOT_M,
        -0.200_936_8 * FOOT_M / (CFS * CFS),
        20.0 * CFS,
    );
    let answer = Bench::stated()
        .reservoir("low", 0.0)
        .reservoir("high", 30.0 * FOOT_M)
        .any("pump", &pump)
        .hose("main", &Pipe { factor, ..main })
        .run(&["low", "pump", "main", "high"])
        .solve();
    let q = answer.flow("pump") / CFS;
    close(q, 12.053_15, 1e-6, "flow, cfs");
    close(q, 12.051, 5e-4, "flow as printed (constants of the fit)");
    let h = 30.0 + k * q * q;
    close(h, 53.275_56, 1e-6, "head, ft");
    close(h, 53.285, 5e-4, "head as printed");
}

/// G4 [D]: h = 20 - 2e6 Q^2 a pump, system 1e7 Q^2; one, two in series, two in parallel.
#[test]
fn g4_pumps_alone_in_series_and_in_parallel() {
    let (bore_m, length_m) = (0.02, 10.0);
    let area = std::f64::consts::FRAC_PI_4 * bore_m * bore_m;
    let system = Pipe {
        bore_m,
        length_m,
        factor: 1e7 * 2.0 * G * area * area * bore_m / length_m,
        ..Pipe::default()
    };
    let pump = parabola(20.0, -2e6, 0.003);
    let bench = || {
        Bench::stated()
            .reservoir("low", 0.0)
            .reservoir("high", 0.0)
            .any("pump 1", &pump)
            .hose("pipe", &system)
    };
    let one = bench().run(&["low", "pump 1", "pipe", "high"]).solve();
    let series = bench()
        .any("pump 2", &pump)
        .run(&["low", "pump 1", "pump 2", "pipe", "high"])
        .solve();
    let parallel = bench()
        .any("pump 2", &pump)
        .joint("meet", 0.0)
        .run(&["low", "pump 1", "meet"])
        .run(&["low", "pump 2", "meet"])
        .run(&["meet", "pipe", "high"])
        .solve();
    for (answer, exact) in [
        (&one, 0.001_290_994_449),
        (&series, 0.001_690_308_509),
        (&parallel, 0.001_380_131_119),
    ] {
        close(answer.flow("pipe"), exact, 1e-6, "flow, m3/s");
    }
}
