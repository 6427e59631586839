//! Looped networks: pipes in parallel, three loops, the two-loop benchmark. Validation C6, C7.

use loopwright::fluid::Coolant;

use super::{Answer, Bench, G, G_METRIC, Pipe, close, prints};

/// Maurer (2024) [R], exact [C] with nu 2.94e-7 m2/s: two pipes in parallel between two points, ks 0.025 mm.
#[test]
fn c6_two_pipes_in_parallel() {
    let (density, nu) = (958.0, 2.94e-7);
    let pipe = |bore_m, length_m| Pipe {
        bore_m,
        length_m,
        roughness_m: 2.5e-5,
        ..Pipe::default()
    };
    let answer = Bench::new(density, density * nu)
        .methods(r#", "friction_factor": "colebrook""#)
        .draw("in", 0.0, -0.5)
        .reservoir("out", 0.0)
        .pipe("small", "in", "out", &pipe(0.2, 400.0))
        .pipe("large", "in", "out", &pipe(0.3, 600.0))
        .solve();
    prints(answer.flow("small"), 0.149_691, 1e-6, "200 mm");
    prints(answer.flow("large"), 0.350_309, 1e-6, "300 mm");
    prints(answer.flow("small"), 0.15, 0.01, "200 mm as printed");
    prints(answer.flow("large"), 0.35, 0.01, "300 mm as printed");
    let area = |d: f64| std::f64::consts::FRAC_PI_4 * d * d;
    prints(answer.flow("small") / area(0.2), 4.8, 0.1, "velocity");
    prints(answer.flow("large") / area(0.3), 5.0, 0.1, "velocity");
    prints(answer.head("in", G_METRIC), 29.9992, 1e-4, "head");
    prints(answer.head("in", G_METRIC), 30.0, 0.1, "head as printed");
}

const BORES_M: [f64; 10] = [0.3, 0.2, 0.2, 0.2, 0.2, 0.15, 0.25, 0.15, 0.15, 0.25];
const LENGTHS_M: [f64; 10] = [250., 100., 125., 125., 100., 100., 125., 100., 100., 125.];
const ENDS: [&str; 10] = ["AB", "BC", "CD", "DE", "EA", "DG", "GF", "FE", "CH", "HG"];

fn three_loops(bench: Bench, roughness_m: f64, factors: &[f64; 10]) -> Answer {
    let mut bench = bench
        .reservoir("A", 0.0)
        .draw("D", 0.0, 0.04)
        .draw("F", 0.0, 0.02)
        .draw("H", 0.0, 0.02);
    for node in ["B", "C", "E", "G"] {
        bench = bench.joint(node, 0.0);
    }
    for (k, ends) in ENDS.iter().enumerate() {
        let pipe = Pipe {
            bore_m: BORES_M[k],
            length_m: LENGTHS_M[k],
            factor: factors[k],
            roughness_m,
            ..Pipe::default()
        };
        let (from, to) = (&ends[..1], &ends[1..]);
        bench = bench.pipe(&format!("pipe {}", k + 1), from, to, &pipe);
    }
    bench.solve()
}

/// Converged flows to their last digit; the book's, after three sweeps, to 2.3e-4.
fn compare(answer: &Answer, converged: [f64; 10], digit: f64, printed: [f64; 10]) {
    for (k, (converged, printed)) in converged.into_iter().zip(printed).enumerate() {
        let flow = answer.flow(&format!("pipe {}", k + 1));
        prints(flow, converged, digit, ENDS[k]);
        assert!((flow - printed).abs() < 2.3e-4, "{}: {flow}", ENDS[k]);
    }
}

/// Maurer (2024) [R], three loops with stated factors; converged values [C]. The book stops after three sweeps, up to
/// 2.3e-4 off.
#[test]
fn c6_three_loops_with_stated_factors() {
    let f = [
        0.01879, 0.02075, 0.02075, 0.02075, 0.02075, 0.02233, 0.01964, 0.02233, 0.02233, 0.01964,
    ];
    let answer = three_loops(Bench::stated(), 0.0, &f);
    let converged = [
        0.038_227_958,
        0.038_227_958,
        0.023_152_713,
        -0.025_646_839,
        -0.041_772_042,
        0.008_799_552,
        0.003_874_797,
        -0.016_125_203,
        0.015_075_245,
        -0.004_924_755,
    ];
    let printed = [
        0.0383, 0.0383, 0.0232, -0.0258, -0.0417, 0.0090, 0.0041, -0.0159, 0.0151, -0.0049,
    ];
    compare(&answer, converged, 1e-9, printed);
}

/// The same with ks 0.25 mm and Colebrook, nu 1.023e-6 m2/s (the book prints no nu); converged values [C].
#[test]
fn c6_three_loops_with_roughness() {
    let bench = Bench::new(1000.0, 1.023e-3).methods(r#", "friction_factor": "colebrook""#);
    let answer = three_loops(bench, 0.25e-3, &[0.0; 10]);
    let converged = [
        0.038_116_3,
        0.038_116_3,
        0.023_009_3,
        -0.025_665_6,
        -0.041_883_7,
        0.008_674_9,
        0.003_781_9,
        -0.016_218_1,
        0.015_107_0,
        -0.004_893_0,
    ];
    let printed = [
        0.0382, 0.0382, 0.0230, -0.0258, -0.0418, 0.0088, 0.0040, -0.0160, 0.0152, -0.0048,
    ];
    compare(&answer, converged, 1e-7, printed);
}

/// Alperovits and Shamir (1977), the sample `two-loop-town.json`. Against the same equation (w 10.67, exponent of the
/// bore 4.8704) solved by SciPy [C]: flows 1e-8, heads 1e-6 m. Against the table with w 10.667 and exponent 4.871:
/// the exponent alone moves flows by 3e-5 of the small ones and heads by 13 mm. The published heads [M].
#[test]
fn c7_the_two_loop_benchmark() {
    let rho = Coolant::water()
        .properties(288.15)
        .expect("water at 15 degC")
        .density_kg_m3;
    let text = include_str!("../../../networks/two-loop-town.json");
    let answer = Answer::of(text, "town", rho);
    let table = include_str!("../data/alperovits1977_two_loop.csv");
    let rows: Vec<Vec<f64>> = table
        .lines()
        .filter(|l| l.starts_with("10."))
        .map(|l| l.split(',').map(|c| c.parse().expect("a number")).collect())
        .collect();
    assert_eq!((rows.len(), rows[1][0]), (2, 10.67));
    let published = [53.25, 30.46, 43.45, 33.81, 30.44, 30.55];
    let (mut flow_off, mut head_off) = (0.0_f64, 0.0_f64);
    for k in 0..8 {
        let flow = answer.flow(&format!("pipe {}", k + 1)) * 3600.0;
        flow_off = flow_off.max((flow / rows[1][2 + k] - 1.0).abs());
        assert!(
            (flow - rows[0][2 + k]).abs() < 0.01,
            "pipe {}: {flow}",
            k + 1
        );
    }
    for (k, published) in published.into_iter().enumerate() {
        let head = answer.head(&format!("node {}", k + 2), G);
        head_off = head_off.max((head - rows[1][10 + k]).abs());
        assert!(
            (head - rows[0][10 + k]).abs() < 0.014,
            "node {}: {head}",
            k + 2
        );
        assert!(
            (head - published).abs() < 0.005 + 0.014,
            "node {}: {head}",
            k + 2
        );
    }
    println!("two-loop benchmark: flows {flow_off:.1e}, heads {head_off:.1e} m");
    assert!(flow_off < 1e-8, "{flow_off}");
    assert!(head_off < 1e-6, "{head_off}");
    close(answer.flow("pipe 1") * 3600.0, 1120.0, 1e-12, "inflow");
}
