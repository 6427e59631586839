//! What a solve of a bare network costs in counts, not in seconds: steps, factorisations and evaluations of all laws.
//! The networks are those of `benches/`. Bounds lie a step or more above the counts of November 2026 (`benches/README.md`), but
//! for a warm start, whose counts are those.

#[path = "../benches/networks/mod.rs"]
#[allow(dead_code)]
mod networks;

use loopwright::design::Source;
use loopwright::network::{Network, Pipework};
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
    within(&cold, [5, 6, 7], "cold");
    assert!(imbalance(&pipework, &cold) < 1e-9);
    let factorisations = cold.factorisations;
    solver.set_pump_speed(0.98);
    let warm = solver.solve(PipeStart::Last)?;
    // The laws are known where it begins, but for the pump's.
    within(&warm, [3, 2, 3], "warm");
    assert!(warm.factorisations < factorisations);
    let found = warm.flow_kg_s.to_vec();
    for (got, wanted) in found.iter().zip(solver.solve(PipeStart::Cold)?.flow_kg_s) {
        assert!((got / wanted - 1.0).abs() < 1e-9, "{got} {wanted}");
    }
    // To and fro, and past slopes, which write unknowns in scales of their own.
    for speed in [0.3, 1.0, 2.0, 1.0, 1e-3, 1.0] {
        solver.set_pump_speed(speed);
        let warm = solver.solve(PipeStart::Last)?;
        assert!(imbalance(&pipework, &warm) < 1e-9, "{speed}");
        let found = warm.flow_kg_s.to_vec();
        assert!(solver.flow_slopes(0).is_some());
        let mut alone = PipeworkSolver::new(pipework.clone());
        alone.set_pump_speed(speed);
        for (got, wanted) in found.iter().zip(alone.solve(PipeStart::Cold)?.flow_kg_s) {
            assert!((got / wanted - 1.0).abs() < 2e-9, "{speed}: {got} {wanted}");
        }
    }
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

/// The adjoint of a bare network against central differences of whole solves, over what enters at its nodes. The outside reference is the definition of a slope.
#[test]
fn slopes_of_a_flow_are_those_of_whole_solves_and_cost_one_factorisation() -> Outcome {
    slopes_are_those_of_solves(1_000, 97)?;
    // Factorised by the library, after steps on the factors of an earlier matrix.
    slopes_are_those_of_solves(10_000, 2_001)
}

fn slopes_are_those_of_solves(branches: usize, every: usize) -> Outcome {
    let pipework = networks::grid(networks::side(branches))?;
    let free = (0..pipework.nodes()).filter(|n| pipework.stated_inflow_m3_s(*n).is_some());
    let nodes: Vec<usize> = free.step_by(every).collect();
    let mut solver = PipeworkSolver::new(pipework.clone());
    solver.solve(PipeStart::Cold)?;
    let watched = 321;
    let slopes = solver
        .flow_slopes(watched)
        .ok_or("slopes")?
        .over_inflow
        .to_vec();
    assert!(solver.flow_slopes(1_000_000).is_none());
    let builder_nodes: Vec<_> = pipework.ends().flatten().collect();
    let rho = networks::water().density_kg_m3;
    let most = slopes.iter().fold(0.0, |m: f64, s| m.max(s.abs()));
    assert!(most > 1e-3 && nodes.len() > 1);
    for n in nodes {
        let node = *builder_nodes
            .iter()
            .find(|b| b.index() == n)
            .ok_or("a node")?;
        let stated = pipework.stated_inflow_m3_s(n).ok_or("stated")?;
        let step = 1e-6;
        let mut ends = [0.0; 2];
        for (end, sign) in ends.iter_mut().zip([-1.0, 1.0]) {
            solver.set_inflow(node, stated + sign * step);
            *end = solver.solve(PipeStart::Cold)?.flow_kg_s[watched];
        }
        solver.set_inflow(node, stated);
        let solved = (ends[1] - ends[0]) / (2.0 * step * rho);
        assert!(
            (solved - slopes[n]).abs() < 1e-5 * most,
            "{n}: {solved} and {}",
            slopes[n]
        );
    }
    Ok(())
}

/// Reading and building go over a design a fixed number of times: ten times the parts take well under forty times as long,
/// where a walk over all parts for each part takes a hundred. Wide bounds, for a machine that has other work.
#[test]
fn a_design_of_ten_times_the_parts_takes_no_more_than_some_forty_times_as_long() -> Outcome {
    let time = |parts: usize| -> Result<f64, Box<dyn std::error::Error>> {
        let text = networks::ladder_text(parts);
        let mut least = f64::INFINITY;
        for _ in 0..3 {
            let begun = std::time::Instant::now();
            let source = Source::read(&text).map_err(|f| format!("{:?}", f.first()))?;
            let network = Network::build(&source.design)?;
            assert!(network.loops()[0].net.elements.len() > parts / 2);
            least = least.min(begun.elapsed().as_secs_f64());
        }
        Ok(least)
    };
    let (short, long) = (time(2_000)?, time(20_000)?);
    assert!(long < 40.0 * short, "{short} s, {long} s");
    Ok(())
}
