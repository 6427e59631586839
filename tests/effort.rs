//! What a solve of a bare network costs in counts, not in seconds: steps, factorisations and evaluations of all laws.
//! The networks are those of `benches/`. Bounds lie a step or more above the counts of November 2026 (`benches/README.md`).

#[path = "../benches/networks/mod.rs"]
#[allow(dead_code)]
mod networks;

use loopwright::network::Pipework;
use loopwright::solve::{PipeFlows, PipeStart, PipeworkSolver};

type Outcome = Result<(), Box<dyn std::error::Error>>;

/// Counts a solve may take: Newton steps, factorisations, evaluations of all laws.
fn within(flows: &PipeFlows<'_>, most: [usize; 3], what: &str) {
    let counts = [flows.steps, flows.factorisations, flows.law_passes];
    assert!(
        counts.iter().zip(most).all(|(got, most)| *got <= most),
        "{what}: {counts:?} over {most:?}, {:?}",
        flows.history
    );
}

/// Largest sum of flows at any node without a stated pressure, over the largest flow, recomputed from the results.
fn imbalance(pipework: &Pipework, flows: &PipeFlows<'_>) -> f64 {
    let mut sum = vec![0.0; pipework.nodes()];
    for (flow, [from, to]) in flows.flow_kg_s.iter().zip(pipework.ends()) {
        sum[from.index()] -= flow;
        sum[to.index()] += flow;
    }
    let most = flows.flow_kg_s.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
    let stated = |n: usize| pipework.stated_inflow_m3_s(n);
    let rho = networks::water().density_kg_m3;
    let worst = (0..sum.len())
        .filter_map(|n| stated(n).map(|q| (sum[n] + q * rho).abs()))
        .fold(0.0, f64::max);
    worst / most
}

#[test]
fn a_header_of_64_modules_takes_few_steps_and_a_warm_start_fewer() -> Outcome {
    let pipework = networks::header(64)?;
    assert_eq!(pipework.branches(), 196);
    let mut solver = PipeworkSolver::new(pipework.clone());
    let cold = solver.solve(PipeStart::Cold)?;
    within(&cold, [6, 7, 8], "cold");
    assert!(imbalance(&pipework, &cold) < 1e-9);
    let steps = cold.steps;
    solver.set_pump_speed(0.98);
    let warm = solver.solve(PipeStart::Last)?;
    within(&warm, [4, 4, 5], "warm");
    assert!(warm.steps < steps);
    Ok(())
}

#[test]
fn a_grid_of_a_thousand_and_one_of_forty_thousand_branches_take_few_steps() -> Outcome {
    for (branches, most) in [(1_000, [10, 11, 12]), (40_000, [10, 9, 12])] {
        let pipework = networks::grid(networks::side(branches))?;
        let mut solver = PipeworkSolver::new(pipework.clone());
        let cold = solver.solve(PipeStart::Cold)?;
        within(&cold, most, &format!("grid of {branches}"));
        assert!(imbalance(&pipework, &cold) < 1e-9);
        let first = cold.flow_kg_s.to_vec();
        let again = solver.solve(PipeStart::Cold)?;
        assert_eq!(first, again.flow_kg_s, "the same bits");
    }
    Ok(())
}
