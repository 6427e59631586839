//! The slopes of the flow equations against finite differences of their residuals, for every kind of part and every
//! tee model, both ways, away from joins by central differences and at joins from either side.

use super::*;
use crate::design::Source;
use crate::network::Network;

/// Disagreement allowed, over the sum of the magnitudes of a row: round-off and third derivatives of differences.
const SLOPE_TOLERANCE: f64 = 1.0e-6;

fn network(parts: &str, runs: &str, methods: &str) -> Network {
    let text = format!(
        r#"{{ "format": 1, "title": "t", {methods}
        "coolants": {{ "mix": {{ "ethylene_glycol": {{ "volume_fraction": 0.5 }} }} }},
        "loops": {{ "l": {{ "coolant": "mix", "parts": {{ "in": {{ "open_end": {{ "pressure": "20 kPa" }} }},
          "out": {{ "open_end": {{}} }}, {parts} }}, "runs": {runs} }} }},
        "cases": {{ "c": {{ "air": "20 degC" }} }} }}"#
    );
    let source = Source::read(&text).unwrap_or_else(|e| panic!("{e:?}\n{text}"));
    Network::build(&source.design).unwrap_or_else(|e| panic!("{e}\n{text}"))
}

/// How the residual is differenced.
#[derive(Clone, Copy)]
enum Difference {
    Central,
    FromAbove,
    FromBelow,
}

impl Difference {
    /// Step in scaled units; the blends of a tee are 500 times as wide as the smaller one.
    fn step(self) -> f64 {
        match self {
            Self::Central => 1e-6,
            Self::FromAbove | Self::FromBelow => 1e-5,
        }
    }
}

fn difference(
    equations: &mut FlowEquations<'_>,
    x: &[f64],
    k: usize,
    how: Difference,
    h: f64,
) -> Vec<f64> {
    let mut at = |step: f64| {
        let mut moved = x.to_vec();
        moved[k] += step;
        let mut residual = vec![0.0; x.len()];
        equations.evaluate(&moved, &mut residual, None);
        residual
    };
    let combine = |terms: Vec<(f64, Vec<f64>)>| {
        (0..x.len())
            .map(|r| terms.iter().map(|(w, v)| w * v[r]).sum::<f64>())
            .collect()
    };
    match how {
        Difference::Central => combine(vec![
            (8.0 / (12.0 * h), at(h)),
            (-8.0 / (12.0 * h), at(-h)),
            (-1.0 / (12.0 * h), at(2.0 * h)),
            (1.0 / (12.0 * h), at(-2.0 * h)),
        ]),
        Difference::FromAbove | Difference::FromBelow => {
            let h = if matches!(how, Difference::FromAbove) {
                h
            } else {
                -h
            };
            combine(vec![
                (-1.5 / h, at(0.0)),
                (2.0 / h, at(h)),
                (-0.5 / h, at(2.0 * h)),
            ])
        }
    }
}

/// The largest disagreement over all rows and columns, each over the magnitudes of its row.
fn disagreement(
    equations: &mut FlowEquations<'_>,
    matrix: &mut Saddle,
    x: &[f64],
    how: Difference,
) -> f64 {
    disagreement_over(equations, matrix, x, how, how.step())
}

/// The same with a step of its own, for laws that bend sharply near the point.
fn disagreement_over(
    equations: &mut FlowEquations<'_>,
    matrix: &mut Saddle,
    x: &[f64],
    how: Difference,
    step: f64,
) -> f64 {
    let mut residual = vec![0.0; x.len()];
    equations.evaluate(x, &mut residual, Some(matrix));
    let dense = matrix.dense();
    let size: Vec<f64> = dense
        .iter()
        .map(|row| row.iter().map(|v| v.abs()).sum())
        .collect();
    let mut worst = 0.0_f64;
    for (k, _) in x.iter().enumerate() {
        let column = difference(equations, x, k, how, step);
        for r in 0..x.len() {
            worst = worst.max((column[r] - dense[r][k]).abs() / size[r].max(1.0));
        }
    }
    worst
}

fn with_equations<T>(
    net: &FlowNet,
    fluid: Properties,
    run: impl FnOnce(&mut FlowEquations<'_>, &mut Saddle) -> T,
) -> T {
    let (layout, mut matrix) = Layout::new(net);
    let state = FluidState::uniform(net, fluid);
    let mut numbers = Numbers::default();
    let mut equations = FlowEquations::new(net, &layout, &mut numbers, &state, 101_325.0);
    assert!(equations.first_guess(1.0, &mut matrix).is_some());
    run(&mut equations, &mut matrix)
}

const DROP: &str = r#""pressure_drop": { "coolant": "mix", "temperature": "25 degC", "points": [["2 L/min", "1 kPa"], ["6 L/min", "5 kPa"]] }"#;

/// One part of every kind and law, with the methods that change it.
fn parts() -> Vec<(String, &'static str)> {
    let hose = r#""p": { "hose": { "bore": "12 mm", "length": "2 m", "fittings": [{ "elbow_90": { "count": 2 } }, { "barb": { "bore": "9 mm", "count": 2 } }, { "elbow_45": { "count": 1 } }] } }"#;
    let curve = r#""curve": [["0 L/min", "52 kPa"], ["12 L/min", "44 kPa"], ["24 L/min", "21 kPa"], ["30 L/min", "0 kPa"]]"#;
    let mut all: Vec<(String, &'static str)> = [
        "",
        r#""methods": { "entrance_friction": "off" },"#,
        r#""methods": { "friction_factor": "colebrook" },"#,
        r#""methods": { "friction_factor": "haaland" },"#,
        r#""methods": { "friction_factor": "swamee_jain" },"#,
        r#""methods": { "pipe_law": "hazen_williams" },"#,
    ]
    .into_iter()
    .map(|methods| (hose.to_owned(), methods))
    .collect();
    for part in [
        r#""p": { "hose": { "bore": "12 mm", "length": "2 m", "friction_factor": 0.03 } }"#.to_owned(),
        r#""p": { "hose": { "section": { "flat": { "width": "26 mm", "height": "2 mm" } }, "length": "2 m" } }"#.to_owned(),
        format!(r#""p": {{ "plate": {{ {DROP} }} }}"#),
        r#""p": { "restrictor": { "bore": "4 mm", "pipe_bore": "13 mm", "thickness": "3 mm" } }"#.to_owned(),
        r#""p": { "valve": { "kv": "2 m3/h", "opening": 0.4 } }"#.to_owned(),
        r#""p": { "check_valve": { "pressure_drop": { "cv": "3 gpm" }, "cracking_pressure": "2 kPa" } }"#.to_owned(),
        format!(r#""p": {{ "exchanger": {{ {DROP}, "conductance": "90 W/K", "stream": {{ "temperature": "10 degC" }} }} }}"#),
        format!(r#""p": {{ "pump": {{ {curve} }} }}"#),
        format!(r#""p": {{ "pump": {{ {curve}, "speed": 0.6 }} }}"#),
        format!(r#""p": {{ "pump": {{ {curve}, "speed": 0 }} }}"#),
        format!(r#""p": {{ "pump": {{ {curve}, "speed": 0, "stopped_loss": {{ "kv": "4 m3/h" }} }} }}"#),
    ] {
        all.push((part, ""));
    }
    all
}

#[test]
fn slopes_of_every_part_agree_with_central_differences_both_ways() {
    for (part, methods) in parts() {
        let runs = r#"[["in", "p", "meet"], ["meet", "tail", "out"]]"#;
        let parts = format!(
            r#""meet": {{ "joint": {{}} }}, "tail": {{ "hose": {{ "bore": "12 mm", "length": "1 m" }} }}, {part}"#
        );
        let network = network(&parts, runs, methods);
        let circuit = &network.loops()[0];
        for k in [253.15, 293.15, 363.15] {
            let fluid = circuit.coolant.properties_extended(k);
            with_equations(&circuit.net, fluid, |equations, matrix| {
                equations.flow_scale = 0.2;
                for flow in [-3.1, -1.07, -0.31, -0.013, 0.013, 0.17, 0.71, 1.37, 2.9] {
                    for pressure in [-0.7, 0.3] {
                        let x = [flow, 0.9 * flow, pressure];
                        let worst = disagreement(equations, matrix, &x, Difference::Central);
                        assert!(
                            worst < SLOPE_TOLERANCE,
                            "{worst:.1e} at {flow}, {k} K: {part} {methods}"
                        );
                    }
                }
            });
        }
    }
}

#[test]
fn slopes_of_every_part_agree_from_both_sides_at_rest_and_at_the_joins_of_a_pump_curve() {
    for (part, methods) in parts() {
        // Hazen-Williams has an infinite second derivative at rest, which one-sided differences feel.
        if methods.contains("hazen") || part.contains("check_valve") {
            continue;
        }
        let network = network(&part, r#"[["in", "p", "out"]]"#, methods);
        let circuit = &network.loops()[0];
        let fluid = circuit.coolant.properties_extended(293.15);
        with_equations(&circuit.net, fluid, |equations, matrix| {
            equations.flow_scale = 0.2;
            let l_min = fluid.density_kg_m3 / 60e3 / 0.2;
            let joins = if part.contains("pump") {
                vec![
                    0.0,
                    12.0 * l_min,
                    0.6 * 24.0 * l_min,
                    0.6 * 30.0 * l_min,
                    30.0 * l_min,
                ]
            } else {
                vec![0.0]
            };
            for join in joins {
                for how in [Difference::FromAbove, Difference::FromBelow] {
                    let worst = disagreement(equations, matrix, &[join], how);
                    assert!(
                        worst < SLOPE_TOLERANCE,
                        "{worst:.1e} at {join}: {part} {methods}"
                    );
                }
            }
        });
    }
}

/// Hazen-Williams bends without bound towards rest and its cubic meets the power law at 1 mm/s; a check valve's smooth
/// complement bends at rest over its slack. Both want a step far below the width of the bend.
#[test]
fn slopes_of_hazen_williams_and_of_a_check_valve_agree_from_both_sides_at_rest_and_at_their_join() {
    const STEP: f64 = 1e-8;
    let mut tried = 0;
    for (part, methods) in parts() {
        let hazen = methods.contains("hazen");
        if !hazen && !part.contains("check_valve") {
            continue;
        }
        let network = network(&part, r#"[["in", "p", "out"]]"#, methods);
        let circuit = &network.loops()[0];
        let fluid = circuit.coolant.properties_extended(293.15);
        with_equations(&circuit.net, fluid, |equations, matrix| {
            equations.flow_scale = 0.2;
            // 1 mm/s in the 12 mm hose, in scaled flow.
            let bend =
                1e-3 * std::f64::consts::FRAC_PI_4 * 0.012 * 0.012 * fluid.density_kg_m3 / 0.2;
            let points = if hazen {
                vec![0.0, bend, -bend]
            } else {
                vec![0.0]
            };
            for point in points {
                for how in [Difference::FromAbove, Difference::FromBelow] {
                    let worst = disagreement_over(equations, matrix, &[point], how, STEP);
                    assert!(
                        worst < SLOPE_TOLERANCE,
                        "{worst:.1e} at {point}: {part} {methods}"
                    );
                    tried += 1;
                }
            }
        });
    }
    assert_eq!(tried, 8);
}

const LEGS: &str = r#""side end": { "open_end": { "pressure": "5 kPa" } }, "one": { "hose": { "bore": "16 mm", "length": "1 m" } },
    "two": { "hose": { "bore": "16 mm", "length": "1 m" } }, "three": { "hose": { "bore": "10 mm", "length": "1 m" } }"#;

fn tee_network(losses: &str) -> Network {
    let parts = format!(
        r#"{LEGS}, "t": {{ "tee": {{ "straight_bore": "16 mm", "side_bore": "10 mm", {losses} }} }}"#
    );
    network(
        &parts,
        r#"[["in", "one", "t.a"], ["t.b", "two", "out"], ["side end", "three", "t.side"]]"#,
        "",
    )
}

const TEES: [&str; 6] = [
    r#""angle": "90 deg""#,
    r#""angle": "45 deg""#,
    r#""angle": "130 deg""#,
    r#""losses": "handbook""#,
    r#""losses": { "coefficients": { "dividing": 0.8, "combining": 1.7 } }"#,
    r#""losses": "none""#,
];

/// Flows into the legs `a`, `b`, `side`: every pattern, and both blends.
const LEG_FLOWS: [[f64; 3]; 14] = [
    [1.0, -0.7, -0.3],
    [-0.58, 1.0, -0.42],
    [0.7, -1.0, 0.3],
    [-1.0, 0.55, 0.45],
    [-0.5, -0.5, 1.0],
    [0.35, 0.65, -1.0],
    [1.0, -0.998, -0.002],
    [0.998, -1.0, 0.002],
    [-0.999, 1.0, -0.001],
    [0.02, -1.0, 0.98],
    [-0.03, -0.97, 1.0],
    [0.96, 0.04, -1.0],
    [1.0, -0.01, -0.99],
    [0.9, -0.6, -0.2],
];

#[test]
fn slopes_of_every_tee_model_agree_with_central_differences_in_every_pattern() {
    for losses in TEES {
        let network = tee_network(losses);
        let circuit = &network.loops()[0];
        let fluid = circuit.coolant.properties_extended(310.0);
        with_equations(&circuit.net, fluid, |equations, matrix| {
            equations.flow_scale = 0.3;
            for flow in LEG_FLOWS {
                for sign in [1.0, -1.0] {
                    let x = [sign * flow[0], -sign * flow[1], sign * flow[2], 0.2];
                    let worst = disagreement(equations, matrix, &x, Difference::Central);
                    assert!(
                        worst < SLOPE_TOLERANCE,
                        "{worst:.1e} at {flow:?} {sign}: {losses}"
                    );
                }
            }
        });
    }
}

#[test]
fn slopes_of_every_tee_model_agree_from_both_sides_at_the_edges_of_the_blends() {
    for losses in TEES {
        let network = tee_network(losses);
        let circuit = &network.loops()[0];
        let fluid = circuit.coolant.properties_extended(310.0);
        with_equations(&circuit.net, fluid, |equations, matrix| {
            equations.flow_scale = 0.3;
            for flow in [
                [1.0, -0.995, -0.005],
                [0.995, -1.0, 0.005],
                [0.05, -1.0, 0.95],
                [-0.05, 1.0, -0.95],
                [1.0, -1.0, 0.0],
                [1.0, 0.0, -1.0],
            ] {
                for sign in [1.0, -1.0] {
                    let x = [sign * flow[0], -sign * flow[1], sign * flow[2], 0.2];
                    for how in [Difference::FromAbove, Difference::FromBelow] {
                        let worst = disagreement(equations, matrix, &x, how);
                        assert!(
                            worst < SLOPE_TOLERANCE,
                            "{worst:.1e} at {flow:?} {sign}: {losses}"
                        );
                    }
                }
            }
        });
    }
}

#[test]
fn slopes_of_a_whole_vehicle_with_banks_and_of_its_air_agree_with_central_differences() {
    let text = include_str!("../../networks/bookmobile.json");
    let source = Source::read(text).unwrap_or_else(|e| panic!("{e:?}"));
    let network = Network::build(&source.design).unwrap_or_else(|e| panic!("{e}"));
    let case = &network.cases()[0];
    let nets = network
        .loops()
        .iter()
        .map(|l| (&l.net, l.coolant.properties_extended(300.0)));
    let airs = network
        .air_paths()
        .iter()
        .map(|a| (&a.net, case.air.properties()));
    for (net, fluid) in nets.chain(airs) {
        with_equations(net, fluid, |equations, matrix| {
            let mut x = equations.first_guess(1.0, matrix).unwrap_or_default();
            for turn in 0..4 {
                let worst = disagreement(equations, matrix, &x, Difference::Central);
                assert!(worst < SLOPE_TOLERANCE, "{worst:.1e}");
                for (k, v) in x.iter_mut().enumerate() {
                    *v = 0.8 * *v + 0.1 * ((3 * k + 7 * turn) as f64).sin();
                }
            }
        });
    }
}
