//! Random networks against SciPy's root of the same equations. Validation C8 [C].
//!
//! Twelve open networks with draws, six closed ones with a pump and a tank, 20 to 200 pipes, Churchill and minor
//! losses, laminar to turbulent; six hold a bridge to a ring that nothing feeds, so that its flow is exactly zero.
//! `scripts/networks.py` writes the design and its answer, from the equations alone. Measured: flows within 1.3e-12 of
//! the largest, pressures within 2.9e-13 of the span, at most 7 Newton steps.

use super::bench::AMBIENT_PA;
use loopwright::{design::Source, network::Network, solve::Solver};

/// Flows, over the largest.
const FLOW_OWED: f64 = 1e-9;
/// Pressures, over their span.
const PRESSURE_OWED: f64 = 1e-8;

fn names() -> Vec<String> {
    let numbered = |kind: &str, n: usize| -> Vec<String> {
        (1..=n).map(|k| format!("{kind}_{k:02}")).collect()
    };
    [numbered("open", 12), numbered("closed", 6)].concat()
}

#[test]
fn c8_random_networks_agree_with_an_independent_root() {
    let (mut worst_flow, mut worst_pressure, mut bridges, mut steps) = (0.0_f64, 0.0_f64, 0, 0);
    for name in names() {
        let folder = format!("{}/tests/reference/data/random", env!("CARGO_MANIFEST_DIR"));
        let read = |end: &str| {
            std::fs::read_to_string(format!("{folder}/{name}.{end}"))
                .unwrap_or_else(|e| panic!("{name}.{end}: {e}"))
        };
        let (design, answer) = (read("json"), read("csv"));
        let source = Source::read(&design).unwrap_or_else(|e| panic!("{name}: {e:?}"));
        let network = Network::build(&source.design).unwrap_or_else(|e| panic!("{name}: {e:?}"));
        let mut solver = Solver::new(&network);
        let solution = solver
            .solve(&network.cases()[0])
            .unwrap_or_else(|e| panic!("{name}: {e}"));
        assert!(solution.closure("net").expect("a loop").is_met(), "{name}");
        steps = steps.max(solution.effort().newton_iterations_max);
        let (parts, points) = (solution.parts("net"), solution.points("net"));
        let (mut flows, mut pressures) = (Vec::new(), Vec::new());
        for line in answer.lines().filter(|l| l.starts_with(['p', 'n'])) {
            let Some((id, value)) = line.split_once(',').filter(|(id, _)| *id != "name") else {
                continue;
            };
            let value: f64 = value.parse().expect("a number");
            if id.starts_with('p') {
                let part = parts.iter().find(|p| p.id == id).expect("a pipe");
                flows.push((part.mass_flow_kg_s, value));
            } else {
                let point = points.iter().find(|p| p.id == id).expect("a node");
                pressures.push((point.total_pressure_pa - AMBIENT_PA, value));
            }
        }
        assert_eq!(
            (flows.len(), pressures.len()),
            (source.design.loops["net"].runs.len(), points.len())
        );
        let largest = flows.iter().fold(0.0, |m: f64, f| m.max(f.1.abs()));
        let high = pressures.iter().fold(f64::MIN, |m, p| m.max(p.1));
        let low = pressures.iter().fold(f64::MAX, |m, p| m.min(p.1));
        bridges += usize::from(answer.contains("is a bridge") && flows.iter().any(|f| f.1 == 0.0));
        let off = |pairs: &[(f64, f64)], over: f64| {
            pairs
                .iter()
                .fold(0.0, |m: f64, (a, b)| m.max((a - b).abs() / over))
        };
        let (flow, pressure) = (off(&flows, largest), off(&pressures, high - low));
        println!(
            "{name}: {} pipes, flows {flow:.1e}, pressures {pressure:.1e}, {steps} steps",
            flows.len()
        );
        assert!(flow <= FLOW_OWED, "{name}: flows {flow:.2e}");
        assert!(
            pressure <= PRESSURE_OWED,
            "{name}: pressures {pressure:.2e}"
        );
        worst_flow = worst_flow.max(flow);
        worst_pressure = worst_pressure.max(pressure);
    }
    println!(
        "worst: flows {worst_flow:.1e}, pressures {worst_pressure:.1e}; {steps} Newton steps at most"
    );
    assert_eq!(bridges, 6);
}
