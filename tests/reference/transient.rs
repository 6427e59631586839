//! Marching in time: validation H1 to H8 (analytic [D], textbooks [R2]), the order shown by halving the step, and whole
//! designs: what comes in less what goes out is stored, a long march ends at the steady answer, nothing stays as it is.

use loopwright::design::Source;
use loopwright::network::Network;
use loopwright::solve::transient::{StepChoice, Storing, TimeOptions, march};
use loopwright::solve::{SolveError, Solver};
use loopwright::study::{Verdict, time};
use std::f64::consts::TAU;

/// A few bodies that store heat, and what they gain.
struct Bodies<'a> {
    capacity_j_k: &'a [f64],
    gain_w: &'a dyn Fn(f64, &[f64]) -> Vec<f64>,
    matrix: Vec<Vec<f64>>,
}

/// Solves a small dense system; Gauss with row exchange.
fn solve(matrix: &[Vec<f64>], rhs: &mut [f64]) {
    let n = rhs.len();
    let mut a = matrix.to_vec();
    for c in 0..n {
        let pivot = (c..n).max_by(|&i, &j| a[i][c].abs().total_cmp(&a[j][c].abs()));
        let pivot = pivot.expect("a row");
        a.swap(c, pivot);
        rhs.swap(c, pivot);
        for r in c + 1..n {
            let share = a[r][c] / a[c][c];
            let above = a[c].clone();
            a[r].iter_mut()
                .zip(above)
                .for_each(|(x, p)| *x -= share * p);
            rhs[r] -= share * rhs[c];
        }
    }
    for c in (0..n).rev() {
        let known: f64 = (c + 1..n).map(|k| a[c][k] * rhs[k]).sum();
        rhs[c] = (rhs[c] - known) / a[c][c];
    }
}

impl Storing for Bodies<'_> {
    type Error = ();

    fn stored_j(&self, y: &[f64]) -> Vec<f64> {
        self.capacity_j_k
            .iter()
            .zip(y)
            .map(|(c, k)| c * k)
            .collect()
    }

    fn start(&mut self, time_s: f64, y: &mut [f64]) -> Result<Vec<f64>, ()> {
        let base = self.stored_j(y);
        self.stage(time_s, 1e-9, &base, y)?;
        Ok((self.gain_w)(time_s, y))
    }

    fn stage(&mut self, time_s: f64, weight_s: f64, base: &[f64], y: &mut [f64]) -> Result<(), ()> {
        let n = y.len();
        let off = |s: &Self, y: &[f64]| -> Vec<f64> {
            let gain = (s.gain_w)(time_s, y);
            let stored = s.stored_j(y);
            (0..n)
                .map(|k| stored[k] - base[k] - weight_s * gain[k])
                .collect()
        };
        for _ in 0..20 {
            let here = off(self, y);
            self.matrix = vec![vec![0.0; n]; n];
            for c in 0..n {
                let mut moved = y.to_vec();
                moved[c] += 1e-3;
                let there = off(self, &moved);
                for r in 0..n {
                    self.matrix[r][c] = (there[r] - here[r]) / 1e-3;
                }
            }
            let mut change = here;
            solve(&self.matrix, &mut change);
            y.iter_mut().zip(&change).for_each(|(k, d)| *k -= d);
            if change.iter().all(|d| d.abs() < 1e-10) {
                return Ok(());
            }
        }
        Err(())
    }

    fn kelvin(&mut self, misfit: &mut [f64]) -> Result<(), ()> {
        solve(&self.matrix, misfit);
        Ok(())
    }
}

fn marched(
    capacity: &[f64],
    gain: &dyn Fn(f64, &[f64]) -> Vec<f64>,
    from: &[f64],
    duration_s: f64,
    step: StepChoice,
) -> Vec<f64> {
    let mut bodies = Bodies {
        capacity_j_k: capacity,
        gain_w: gain,
        matrix: Vec::new(),
    };
    let options = TimeOptions {
        stops: 1,
        tolerance_k: 1e-7,
        step,
        ..TimeOptions::default()
    };
    let mut y = from.to_vec();
    march(
        &mut bodies,
        &mut y,
        duration_s,
        &options,
        &mut |_, _, _, _| {},
    )
    .expect("it ends");
    y
}

/// Values at 600, 1200, 2500, 5000 and 20000 s, held within 1e-4 K by a tolerance of 1e-7 K a step.
fn table(
    name: &str,
    capacity: &[f64],
    gain: &dyn Fn(f64, &[f64]) -> Vec<f64>,
    expected: &[&[f64]],
) {
    let from = vec![20.0; capacity.len()];
    for (time, row) in [600.0, 1200.0, 2500.0, 5000.0, 20000.0]
        .iter()
        .zip(expected)
    {
        let y = marched(capacity, gain, &from, *time, StepChoice::Controlled);
        for (got, wanted) in y.iter().zip(*row) {
            assert!(
                (got - wanted).abs() < 1e-4,
                "{name} at {time} s: {got} against {wanted}"
            );
        }
    }
}

/// Error at the end of a march falls by four where the step is halved: order two. Returns the orders seen.
fn order(
    name: &str,
    capacity: &[f64],
    gain: &dyn Fn(f64, &[f64]) -> Vec<f64>,
    (from, duration, exact): (&[f64], f64, &[f64]),
) {
    let off = |parts: f64| {
        let y = marched(
            capacity,
            gain,
            from,
            duration,
            StepChoice::Fixed(duration / parts),
        );
        y.iter()
            .zip(exact)
            .fold(0.0, |m: f64, (a, b)| m.max((a - b).abs()))
    };
    let errors = [off(40.0), off(80.0), off(160.0)];
    let orders = [errors[0] / errors[1], errors[1] / errors[2]].map(f64::log2);
    println!("{name}: errors {errors:?} K, orders {orders:.3?}");
    assert!(
        orders.iter().all(|o| (1.85..2.25).contains(o)),
        "{name}: {errors:?} {orders:?}"
    );
}

#[test]
fn h1_an_adiabatic_mass_is_exact() {
    let y = marched(
        &[2e5],
        &|_, _| vec![3000.0],
        &[25.0],
        600.0,
        StepChoice::Controlled,
    );
    assert!((y[0] - 34.0).abs() < 1e-9, "{y:?}");
}

#[test]
fn h2_h3_h7_one_mass_agrees_and_the_order_is_two() {
    let h2 = |_: f64, y: &[f64]| vec![2000.0 - 80.0 * (y[0] - 25.0)];
    table(
        "H2",
        &[2e5],
        &h2,
        &[
            &[26.401164],
            &[31.436498],
            &[38.963617],
            &[45.939942],
            &[49.989936],
        ],
    );
    order(
        "H2",
        &[2e5],
        &h2,
        (&[20.0], 2500.0, &[50.0 - 30.0 * (-1.0_f64).exp()]),
    );
    let mcp = 0.15 * 3300.0;
    let g = mcp * (1.0 - (-600.0_f64 / mcp).exp());
    let h3 = move |_: f64, y: &[f64]| vec![2000.0 - g * (y[0] - 25.0)];
    table(
        "H3",
        &[2e5],
        &h3,
        &[
            &[26.963477],
            &[29.417094],
            &[30.612714],
            &[30.750196],
            &[30.752000],
        ],
    );
    let top = 25.0 + 2000.0 / g;
    order(
        "H3",
        &[2e5],
        &h3,
        (
            &[20.0],
            600.0,
            &[top + (20.0 - top) * (-600.0 * g / 2e5).exp()],
        ),
    );
    let h7 = |_: f64, y: &[f64]| {
        vec![150.0 * 150.0 * 0.1 * (1.0 - 0.01 * (y[0] - 25.0)) - 80.0 * (y[0] - 25.0)]
    };
    table(
        "H7",
        &[2e5],
        &h7,
        &[
            &[27.134450],
            &[32.380288],
            &[39.467136],
            &[44.872965],
            &[46.950267],
        ],
    );
    let (top, tau) = (25.0 + 2250.0 / 102.5, 2e5 / 102.5);
    order(
        "H7",
        &[2e5],
        &h7,
        (
            &[20.0],
            2000.0,
            &[top + (20.0 - top) * f64::exp(-2000.0 / tau)],
        ),
    );
}

#[test]
fn h4_two_masses_agree_and_one_of_them_may_have_no_mass() {
    let gain = |_: f64, y: &[f64]| {
        let across = 300.0 * (y[0] - y[1]);
        vec![2000.0 - across, across - 120.0 * (y[1] - 25.0)]
    };
    table(
        "H4",
        &[1.8e5, 2e4],
        &gain,
        &[
            &[26.648150, 25.837976],
            &[31.780450, 29.584202],
            &[39.113002, 34.936460],
            &[45.340789, 39.482316],
            &[48.329835, 41.664113],
        ],
    );
    // Without the second mass its row is a condition: one mass behind 300 and 120 W/K in series.
    let ua = 300.0 * 120.0 / 420.0;
    let (top, tau) = (25.0 + 2000.0 / ua, 1.8e5 / ua);
    let first = top + (20.0 - top) * f64::exp(-2500.0 / tau);
    let exact = [first, (300.0 * first + 120.0 * 25.0) / 420.0];
    order(
        "H4 without the second mass",
        &[1.8e5, 0.0],
        &gain,
        (&[20.0, 20.0], 2500.0, &exact),
    );
}

#[test]
fn h5_a_slug_of_coolant_cools_along_its_pipe() {
    // 1.2 L at 12 L/min takes 6 s; 0.2 kg/s of 3400 J/(kg K) hold 4080 J/K for so long.
    let gain = |_: f64, y: &[f64]| vec![-5.0 * (y[0] - 20.0)];
    let y = marched(
        &[0.2 * 3400.0 * 6.0],
        &gain,
        &[60.0],
        6.0,
        StepChoice::Controlled,
    );
    assert!((y[0] - 59.706961022).abs() < 1e-6, "{y:?}");
}

#[test]
fn h6_a_swinging_heat_is_followed_with_its_lag() {
    let gain =
        |t: f64, y: &[f64]| vec![1000.0 * (1.0 + (TAU * t / 600.0).sin()) - 80.0 * (y[0] - 25.0)];
    let exact = |t: f64| 37.5 + 0.477116893 * (TAU * (t - 146.354210) / 600.0).sin();
    let y = marched(&[2e5], &gain, &[exact(0.0)], 1350.0, StepChoice::Controlled);
    assert!(
        (y[0] - exact(1350.0)).abs() < 1e-5,
        "{y:?} against {}",
        exact(1350.0)
    );
    order(
        "H6",
        &[2e5],
        &gain,
        (&[exact(0.0)], 1350.0, &[exact(1350.0)]),
    );
}

#[test]
fn h8_two_thermocouples_of_textbooks() {
    // Incropera 5.1: sphere, h D^2 pi against rho c pi D^3 / 6, per unit of surface.
    let c = 8500.0 * 400.0 * 7.058824e-4 / 6.0;
    let gain = |_: f64, y: &[f64]| vec![400.0 * (200.0 - y[0])];
    let y = marched(&[c], &gain, &[25.0], 5.164786, StepChoice::Controlled);
    assert!((y[0] - 199.0).abs() < 1e-4, "{y:?}");
    // Cengel 4.1: 99 % of the way in 9.94 s.
    let c = 8500.0 * 320.0 * 1e-3 / 6.0;
    let gain = |_: f64, y: &[f64]| vec![210.0 * (1.0 - y[0])];
    let y = marched(&[c], &gain, &[0.0], 9.94, StepChoice::Controlled);
    assert!((y[0] - 0.99).abs() < 5e-5, "{y:?}");
}

fn bookmobile(case: &str) -> Network {
    let text = include_str!("../../networks/bookmobile.json");
    let mut document: serde_json::Value = serde_json::from_str(text).expect("JSON");
    let cases: serde_json::Value = serde_json::from_str(case).expect("JSON");
    document["cases"] = serde_json::json!({ "case": cases });
    let source = Source::read(&document.to_string()).unwrap_or_else(|e| panic!("{e:?}"));
    Network::build(&source.design).unwrap_or_else(|e| panic!("{e}"))
}

const BURST: &str = r#"{ "air": "38 degC", "travel_speed": "25 km/h", "module_current": "220 A", "duration": "10 min",
    "start_temperature": "38 degC", "heat": { "drive.motor": "6 kW" } }"#;

/// All temperatures at the end of a march of the bookmobile, K.
fn end_of(network: &Network, options: &TimeOptions) -> (Vec<f64>, f64) {
    let mut solver = Solver::new(network);
    let case = &network.cases()[0];
    let found = solver.march(case, options, &mut |_, _, _| {});
    let (end, effort) = found.unwrap_or_else(|e| panic!("{e}")).expect("a duration");
    let mut all = Vec::new();
    for name in ["battery", "drive"] {
        let state = end.loop_state(name).expect("a loop");
        assert!(
            end.closure(name).expect("a loop").is_met(),
            "{name}: {:?}",
            end.closure(name)
        );
        all.extend(
            state
                .heat
                .node_k
                .iter()
                .chain(&state.heat.module_k)
                .chain(&state.heat.plate_k),
        );
    }
    (all, effort.imbalance())
}

fn apart(a: &[f64], b: &[f64]) -> f64 {
    a.iter()
        .zip(b)
        .fold(0.0, |m: f64, (x, y)| m.max((x - y).abs()))
}

#[test]
fn what_comes_in_less_what_goes_out_is_stored_and_the_default_tolerance_is_enough() {
    let network = bookmobile(BURST);
    let tight = TimeOptions {
        tolerance_k: 1e-5,
        ..TimeOptions::default()
    };
    let (exact, imbalance) = end_of(&network, &tight);
    assert!(imbalance.abs() <= 1e-6, "{imbalance:e}");
    let (usual, imbalance) = end_of(&network, &TimeOptions::default());
    println!(
        "imbalance {imbalance:.1e}, default against tight {:.1e} K",
        apart(&usual, &exact)
    );
    assert!(
        imbalance.abs() <= 1e-6 && apart(&usual, &exact) < 1e-2,
        "{:e}",
        apart(&usual, &exact)
    );
}

#[test]
fn a_long_march_ends_at_the_steady_answer() {
    let network = bookmobile(
        r#"{ "air": "38 degC", "travel_speed": "35 km/h", "module_current": "140 A", "duration": "40 h",
        "start_temperature": "20 degC", "heat": { "drive.motor": "3.5 kW", "drive.inverter": "0.9 kW" } }"#,
    );
    let mut solver = Solver::new(&network);
    let steady = solver
        .solve(&network.cases()[0])
        .unwrap_or_else(|e| panic!("{e}"));
    let (end, _) = end_of(&network, &TimeOptions::default());
    let mut wanted = Vec::new();
    for name in ["battery", "drive"] {
        let state = steady.loop_state(name).expect("a loop");
        wanted.extend(state.heat.node_k.iter().chain(&state.heat.module_k));
        let plates = steady.parts(name).iter().filter(|p| p.kind == "plate");
        let mut devices: Vec<(usize, f64)> = Vec::new();
        for plate in plates {
            let place = state
                .circuit
                .plates
                .iter()
                .position(|p| state.circuit.net.elements[p.element].id.as_str() == plate.id);
            devices.push((
                place.expect("a plate"),
                plate.part_temperature_k.expect("a device"),
            ));
        }
        devices.sort_by_key(|d| d.0);
        wanted.extend(devices.iter().map(|d| d.1));
    }
    assert_eq!(end.len(), wanted.len());
    println!("long march against steady {:.1e} K", apart(&end, &wanted));
    assert!(apart(&end, &wanted) < 1e-4, "{:e}", apart(&end, &wanted));
}

#[test]
fn without_heat_nothing_moves() {
    let network = bookmobile(
        r#"{ "air": "30 degC", "duration": "1 h", "start_temperature": "30 degC",
        "pump_speed": { "battery.pump": 0, "drive.pump": 0 } }"#,
    );
    let (end, _) = end_of(&network, &TimeOptions::default());
    assert!(end.iter().all(|k| (k - 303.15).abs() < 1e-6), "{end:?}");
}

#[test]
fn a_device_at_rest_heats_by_its_own_mass() {
    // 500 W into 55 kg of 480 J/(kg K) for 6 minutes, the pump standing: 6.818 K, less 0.003 K that warm coolant carries off
    // by its own lift.
    let network = bookmobile(
        r#"{ "air": "30 degC", "duration": "6 min", "start_temperature": "30 degC", "heat": { "drive.motor": "500 W" },
        "pump_speed": { "battery.pump": 0, "drive.pump": 0 } }"#,
    );
    let (end, _) = end_of(&network, &TimeOptions::default());
    let hottest = end.iter().copied().fold(0.0, f64::max);
    assert!(
        (hottest - 303.15 - 500.0 * 360.0 / (55.0 * 480.0)).abs() < 1e-2,
        "{hottest}"
    );
}

#[test]
fn steps_run_out_with_a_reason() {
    let network = bookmobile(BURST);
    let few = TimeOptions {
        most_steps: 3,
        ..TimeOptions::default()
    };
    let mut solver = Solver::new(&network);
    let error = solver.march(&network.cases()[0], &few, &mut |_, _, _| {});
    assert!(matches!(
        error,
        Err(SolveError::TooManySteps { steps: 3, .. })
    ));
}

#[test]
fn what_only_thermal_mass_carries_is_told_apart() {
    let network = bookmobile(BURST);
    let text = r#"{ "module_temperature": { "max": "42 degC" }, "coolant_inlet": { "drive.inverter": { "max": "65 degC" } },
        "module_flow_deviation": { "max": 9 } }"#;
    let limits = serde_json::from_str(text).expect("limits");
    let mut solver = Solver::new(&network);
    let answer = time::run(&mut solver, &network.cases()[0], &limits);
    let answer = answer
        .unwrap_or_else(|e| panic!("{e}"))
        .expect("a duration");
    let at = |limit: &str| {
        answer
            .limits
            .iter()
            .position(|r| r.limit == limit)
            .expect("a row")
    };
    let (module, inlet) = (at("module_temperature"), at("coolant_inlet"));
    assert_eq!(answer.limits[module].verdict, Verdict::Met);
    assert!(
        answer.limits[module]
            .advice
            .contains("passes for this duration"),
        "{:?}",
        answer.limits[module]
    );
    assert_eq!(answer.in_time[module].reached_s, None);
    assert_eq!(answer.limits[inlet].verdict, Verdict::Missed);
    let reached = answer.in_time[inlet].reached_s.expect("reached");
    assert!((300.0..500.0).contains(&reached), "{reached}");
}
