//! How long bare networks take, from ten dozen branches to a million, beside what nothing can be quicker than: the laws,
//! and one factorisation by the sparse library. Every answer is asserted before the clock starts.
//!
//! Names are `room/what/size`; arguments are beginnings of names. Without an argument the grid of a million is left out.

#[allow(dead_code)]
mod networks;

use faer::prelude::Solve;
use faer::sparse::{SparseColMat, Triplet};
use faer::{Mat, Side};
use loopwright::correlation::{DuctBatch, DuctSums, EntranceFriction, InstructionSet};
use loopwright::design::Source;
use loopwright::network::{Network, Pipework};
use loopwright::solve::{PipeStart, PipeworkSolver, Solver};
use networks::{MODULE, duct, grid, header, side, water};
use std::hint::black_box;
use std::time::Instant;

type Outcome = Result<(), Box<dyn std::error::Error>>;

/// Least time of one call over `rounds` of `calls`, s.
fn least(rounds: usize, calls: usize, mut work: impl FnMut()) -> f64 {
    work();
    (0..rounds)
        .map(|_| {
            let begun = Instant::now();
            (0..calls).for_each(|_| work());
            begun.elapsed().as_secs_f64() / calls as f64
        })
        .fold(f64::INFINITY, f64::min)
}

fn say(name: &str, seconds: f64, note: &str) {
    let (value, unit) = if seconds < 1e-6 {
        (seconds * 1e9, "ns")
    } else if seconds < 1e-3 {
        (seconds * 1e6, "us")
    } else {
        (seconds * 1e3, "ms")
    };
    println!("{name:<28} {value:>9.3} {unit}  {note}");
}

/// Churchill's factor with its slope by logarithms and exponentials, one duct at a time: what a careful loop costs.
fn scalar_churchill(re: f64, roughness: f64, laminar: f64) -> (f64, f64) {
    let smooth = (0.9 * (7.0 / re).ln()).exp();
    let argument = smooth + 0.27 * roughness;
    let root = -2.457 * argument.ln();
    let d_root = 2.457 * 0.9 * smooth / (re * argument);
    let root_15 = root.powi(15);
    let bend = (37530.0 / re).powi(16);
    let sum = root_15 * root + bend;
    let d_sum = 16.0 * (root_15 * d_root - bend / re);
    let turbulent = 1.0 / (sum * sum.sqrt());
    let d_turbulent = -1.5 * turbulent * d_sum / sum;
    let laminar_12 = (laminar / (8.0 * re)).powi(12);
    let total = laminar_12 + turbulent;
    let value = 8.0 * (total.ln() * (1.0 / 12.0)).exp();
    let slope = value * (d_turbulent - 12.0 * laminar_12 / re) / (12.0 * total);
    (value * re * re, re * (2.0 * value + re * slope))
}

/// Seconds a law: scalar, four lanes, best.
fn law_times() -> [f64; 3] {
    const COUNT: usize = 1024;
    let flow: Vec<f64> = (0..COUNT)
        .map(|k| 10f64.powf(-4.0 + 4.0 * k as f64 / COUNT as f64))
        .collect();
    let water = water();
    let shape = duct(MODULE);
    let mut batch = DuctBatch::new(EntranceFriction::Off);
    for k in 0..COUNT {
        batch.push(k as u32, &shape, water.density_kg_m3, water.viscosity_pa_s);
    }
    batch.finish();
    let re_per_flow = MODULE.bore_m / (water.viscosity_pa_s * shape.area_m2);
    let (mut drop_pa, mut slope) = (vec![0.0; COUNT], vec![0.0; COUNT]);
    let scalar = least(9, 50, || {
        for k in 0..COUNT {
            let re = flow[k] * re_per_flow;
            (drop_pa[k], slope[k]) = scalar_churchill(re, 2.5e-4, 64.0);
        }
        black_box((&drop_pa, &slope));
    });
    let [four, best] = [InstructionSet::FourLanes, InstructionSet::Best].map(|set| {
        least(9, 50, || {
            let sums = DuctSums {
                flow: &flow,
                unit_kg_s: 1.0,
                drop_pa: &mut drop_pa,
                slope_pa_s_kg: &mut slope,
            };
            batch.add_drops(set, sums);
        })
    });
    [scalar, four, best].map(|t| t / COUNT as f64)
}

/// Factorisation and solution of a symmetric band of `size` rows, in place: the ladder of a header, ordered by ports.
fn band(size: usize, width: usize) -> impl FnMut() {
    let mut matrix = vec![0.0; size * (width + 1)];
    let mut x = vec![0.0; size];
    move || {
        for row in matrix.chunks_exact_mut(width + 1) {
            row.fill(-1.0);
            row[0] = 2.0 * width as f64 + 0.5;
        }
        x.fill(1.0);
        for k in 0..size {
            let inverse = 1.0 / matrix[k * (width + 1)];
            for a in 1..=width.min(size - 1 - k) {
                let factor = matrix[k * (width + 1) + a] * inverse;
                for b in a..=width.min(size - 1 - k) {
                    let value = factor * matrix[k * (width + 1) + b];
                    matrix[(k + a) * (width + 1) + b - a] -= value;
                }
                x[k + a] -= factor * x[k];
            }
        }
        for k in (0..size).rev() {
            let mut left = x[k];
            for a in 1..=width.min(size - 1 - k) {
                left -= matrix[k * (width + 1) + a] * x[k + a];
            }
            x[k] = left / matrix[k * (width + 1)];
        }
        black_box(&x);
    }
}

/// One factorisation and solution by faer of the Laplacian of a network, the pattern analysed before, s.
fn faer_once(pipework: &Pipework, rounds: usize) -> Result<f64, Box<dyn std::error::Error>> {
    let mut place = vec![usize::MAX; pipework.nodes()];
    let mut free = 0;
    for (n, place) in place.iter_mut().enumerate() {
        if pipework.stated_inflow_m3_s(n).is_some() {
            *place = free;
            free += 1;
        }
    }
    let mut entries = Vec::new();
    let mut random = networks::Random(7);
    for ends in pipework.ends() {
        let c = 0.5 + random.next();
        let [a, b] = ends.map(|n| place[n.index()]);
        for end in [a, b].into_iter().filter(|e| *e != usize::MAX) {
            entries.push(Triplet::new(end, end, c));
        }
        if a != usize::MAX && b != usize::MAX {
            entries.push(Triplet::new(a.max(b), a.min(b), -c));
        }
    }
    let matrix = SparseColMat::<usize, f64>::try_new_from_triplets(free, free, &entries)
        .map_err(|e| format!("{e:?}"))?;
    let symbolic =
        faer::sparse::linalg::solvers::SymbolicLlt::try_new(matrix.symbolic(), Side::Lower)
            .map_err(|e| format!("{e:?}"))?;
    let rhs = Mat::<f64>::from_fn(free, 1, |i, _| 1.0 + (i % 7) as f64);
    Ok(least(rounds, 1, || {
        let factors = faer::sparse::linalg::solvers::Llt::try_new_with_symbolic(
            symbolic.clone(),
            matrix.as_ref(),
            Side::Lower,
        );
        if let Ok(factors) = factors {
            black_box(factors.solve(&rhs));
        }
    }))
}

/// Bench of a header: cold, warm, and over the floor of its laws and its ladder.
fn header_bench(modules: usize, laws: [f64; 3]) -> Outcome {
    let pipework = header(modules)?;
    let branches = pipework.branches();
    let mut solver = PipeworkSolver::new(pipework);
    let flows = solver.solve(PipeStart::Cold)?;
    // What benches/scripts/header.py finds for 64 modules, kg/s through the pump and the first module.
    if modules == 64 {
        for (got, wanted) in [
            (flows.flow_kg_s[0], PUMP_KG_S),
            (flows.flow_kg_s[2], FIRST_KG_S),
        ] {
            assert!((got / wanted - 1.0).abs() < 1e-7, "{got} {wanted}");
        }
    }
    let note = format!(
        "{} steps, {} factorisations, {} law passes",
        flows.steps, flows.factorisations, flows.law_passes
    );
    let cold = least(9, 200, || {
        black_box(solver.solve(PipeStart::Cold).is_ok());
    });
    say(&format!("header/cold/{modules}"), cold, &note);
    let mut turn = false;
    let warm = least(9, 200, || {
        turn = !turn;
        solver.set_pump_speed(if turn { 0.98 } else { 1.0 });
        black_box(solver.solve(PipeStart::Last).is_ok());
    });
    say(
        &format!("header/warm/{modules}"),
        warm,
        &format!("2 % of pump speed away; {:.2} of cold", warm / cold),
    );
    solver.set_pump_speed(1.0);
    solver.solve(PipeStart::Cold)?;
    let slopes = least(9, 200, || {
        black_box(solver.flow_slopes(0).is_some());
    });
    say(
        &format!("header/slopes/{modules}"),
        slopes,
        &format!(
            "one flow over every loss and inflow; {:.2} of cold",
            slopes / cold
        ),
    );
    let ladder = least(9, 200, band(2 * modules + 3, 2));
    for (law, name) in laws.into_iter().zip(["scalar", "four lanes", "best"]) {
        let floor = 6.0 * branches as f64 * law + 5.0 * ladder;
        let note = format!(
            "{name}: 6 law passes and 5 ladders; cold over it {:.2}",
            cold / floor
        );
        say(&format!("header/floor/{modules}"), floor, &note);
    }
    Ok(())
}

/// Cold variants of a header, one solver a thread, each variant by its pump speed: over the floor of one variant.
fn sweep_bench(modules: usize, law: f64) -> Outcome {
    const VARIANTS: usize = 100_000;
    let pipework = header(modules)?;
    let branches = pipework.branches();
    let ladder = least(9, 200, band(2 * modules + 3, 2));
    let floor = 6.0 * branches as f64 * law + 5.0 * ladder;
    for threads in [1, 2] {
        let begun = Instant::now();
        let solved: usize = std::thread::scope(|scope| {
            let work = |first: usize| {
                let mut solver = PipeworkSolver::new(pipework.clone());
                let mine = (first..VARIANTS).step_by(threads);
                mine.filter(|&k| {
                    solver.set_pump_speed(0.5 + 0.5 * k as f64 / VARIANTS as f64);
                    let flows = solver.solve(PipeStart::Cold);
                    flows.is_ok_and(|f| f.history.last().is_some_and(|left| *left < 1e-9))
                })
                .count()
            };
            let crew: Vec<_> = (0..threads).map(|t| scope.spawn(move || work(t))).collect();
            crew.into_iter().map(|t| t.join().unwrap_or(0)).sum()
        });
        let wall = begun.elapsed().as_secs_f64();
        assert_eq!(solved, VARIANTS);
        let note = format!(
            "{threads} threads, {:.0} variants/s, wall x threads over their floors {:.2}",
            VARIANTS as f64 / wall,
            wall * threads as f64 / (VARIANTS as f64 * floor)
        );
        say(&format!("sweep/header/{modules}"), wall, &note);
    }
    Ok(())
}

/// Reading a design of many parts, building its network, and solving it.
fn read_bench(parts: usize) -> Outcome {
    let text = networks::ladder_text(parts);
    let begun = Instant::now();
    let source = Source::read(&text).map_err(|faults| format!("{:?}", faults.first()))?;
    let read = begun.elapsed().as_secs_f64();
    let size = text.len() as f64 / 1e6;
    say(
        &format!("design/read/{parts}"),
        read,
        &format!("{size:.1} MB of text, {}", peak()),
    );
    let begun = Instant::now();
    let network = Network::build(&source.design)?;
    say(
        &format!("design/build/{parts}"),
        begun.elapsed().as_secs_f64(),
        &peak(),
    );
    let begun = Instant::now();
    let state = Solver::new(&network).solve_raw(&network.cases()[0])?;
    let flow = &state.loops[0].flow;
    assert!(flow.history.last().is_some_and(|left| *left < 1e-9));
    say(
        &format!("design/solve/{parts}"),
        begun.elapsed().as_secs_f64(),
        &format!("{} steps, {}", flow.steps, peak()),
    );
    Ok(())
}

/// Flows that `benches/scripts/header.py` finds.
const PUMP_KG_S: f64 = 1.554_498_792_498_34;
const FIRST_KG_S: f64 = 0.029_683_240_579_902_1;

fn grid_bench(branches: usize) -> Result<f64, Box<dyn std::error::Error>> {
    let pipework = grid(side(branches))?;
    let rounds = if branches > 500_000 { 2 } else { 5 };
    let one = if branches > 500_000 {
        f64::NAN
    } else {
        faer_once(&pipework, rounds)?
    };
    let begun = Instant::now();
    let mut solver = PipeworkSolver::new(pipework);
    let analysed = begun.elapsed().as_secs_f64();
    let flows = solver.solve(PipeStart::Cold)?;
    assert!(flows.history.last().is_some_and(|left| *left < 1e-10));
    let note = format!(
        "{} steps, {} factorisations, {} law passes",
        flows.steps, flows.factorisations, flows.law_passes
    );
    let cold = least(rounds, 1, || {
        black_box(solver.solve(PipeStart::Cold).is_ok());
    });
    say(&format!("grid/cold/{branches}"), cold, &note);
    let note = format!(
        "cold over it {:.2}, with the analysis {:.2}",
        cold / one,
        (cold + analysed) / one
    );
    if one.is_finite() {
        say(&format!("grid/faer_once/{branches}"), one, &note);
    }
    say(&format!("grid/analysis/{branches}"), analysed, &peak());
    Ok(cold)
}

/// Peak memory of the process so far, where the system tells it.
fn peak() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|l| l.starts_with("VmHWM"));
    line.map_or(String::new(), |l| {
        l.split_whitespace().collect::<Vec<_>>().join(" ")
    })
}

fn main() -> Outcome {
    let wanted: Vec<String> = std::env::args()
        .skip(1)
        .filter(|a| !a.starts_with('-'))
        .collect();
    let asked = |name: &str| wanted.iter().any(|w| name.starts_with(w.as_str()));
    let all = wanted.is_empty();
    let fluid = water();
    println!(
        "water {} kg/m3, {} Pa s",
        fluid.density_kg_m3, fluid.viscosity_pa_s
    );
    let laws = law_times();
    for (law, name) in laws.into_iter().zip(["scalar", "four_lanes", "best"]) {
        say(
            &format!("law/{name}/1"),
            law,
            &format!("{:.2} of scalar", law / laws[0]),
        );
    }
    for modules in [64, 512] {
        if all || asked(&format!("header/{modules}")) {
            header_bench(modules, laws)?;
        }
    }
    if all || asked("sweep/header/64") {
        sweep_bench(64, laws[1])?;
    }
    if all || asked("design/read/1e5") {
        read_bench(100_000)?;
    }
    let mut times = Vec::new();
    for branches in [1_000, 10_000, 100_000, 1_000_000] {
        if (all && branches < 1_000_000) || asked(&format!("grid/{branches}")) {
            times.push((branches as f64, grid_bench(branches)?));
        }
    }
    if let (Some(first), Some(last)) = (times.first(), times.last())
        && times.len() > 1
    {
        let exponent = (last.1 / first.1).ln() / (last.0 / first.0).ln();
        println!("growth exponent {} -> {}: {exponent:.2}", first.0, last.0);
    }
    Ok(())
}
