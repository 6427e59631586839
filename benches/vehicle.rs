//! How long a solve takes, from a cold start, with the network built before. Every answer is asserted first.
//!
//! `vehicle/flows/bookmobile` is the same vehicle with its coolant at one temperature: the flows of both loops and the air, each
//! solved once. What heat costs is the time of the whole over it.
//!
//! `header/laws/64` is what the laws of the same header cost when each is evaluated once, the least that any solver
//! of it must pay: times over it are comparable between machines.

use criterion::{Criterion, Throughput};
use loopwright::correlation::tees::tee;
use loopwright::design::Source;
use loopwright::network::{Network, NodeKind};
use loopwright::quantity::Temperature;
use loopwright::solve::{CaseState, Linearised, LoopState, SlopesRoom, Solution, Solver, Unknown};
use std::hint::black_box;

const BOOKMOBILE: &str = include_str!("../networks/bookmobile.json");
const HEADER_MODULES: usize = 64;

/// A bank of `modules` of one circuit each on a pump and a tank, at one temperature.
fn header(modules: usize) -> String {
    format!(
        r#"{{ "format": 1, "title": "header of {modules}",
          "coolants": {{ "mix": {{ "ethylene_glycol": {{ "volume_fraction": 0.5 }} }} }},
          "modules": {{ "module": {{ "circuits": 1,
            "pressure_drop": {{ "coolant": "mix", "temperature": "25 degC",
              "points": [["0.5 L/min", "1.2 kPa"], ["1 L/min", "2.9 kPa"], ["2 L/min", "8.4 kPa"]] }} }} }},
          "loops": {{ "battery": {{ "coolant": "mix",
            "parts": {{
              "tank": {{ "expansion_tank": {{}} }},
              "pump": {{ "pump": {{ "curve": [["0 L/min", "60 kPa"], ["60 L/min", "40 kPa"], ["120 L/min", "0 kPa"]] }} }},
              "bank": {{ "bank": {{ "module": "module", "count": {modules},
                "header": {{ "square": {{ "outside": "50 mm", "wall": "2 mm" }} }}, "port_pitch": "45 mm",
                "layout": "opposite_end", "tail": {{ "bore": "8 mm", "length": "0.35 m" }} }} }} }},
            "runs": [["tank", "pump", "bank", "tank"]] }} }},
          "cases": {{ "cold": {{ "air": "25 degC", "coolant_temperature": "25 degC" }} }} }}"#
    )
}

fn network(text: &str) -> Network {
    let source = Source::read(text).unwrap_or_else(|faults| {
        let list: Vec<&str> = faults.iter().map(|f| f.message.as_str()).collect();
        panic!("{}", list.join("\n"))
    });
    Network::build(&source.design).unwrap_or_else(|error| panic!("{error}"))
}

/// The same network with the coolant of its first case at a stated temperature, so that flows alone are solved.
fn flows_alone(text: &str) -> Network {
    let mut source = Source::read(text).unwrap_or_else(|_| panic!("the sample is sound"));
    if let Some(case) = source.design.cases.values_mut().next() {
        case.coolant_temperature = Some(Temperature::from_celsius(40.0));
    }
    let network = Network::build(&source.design).unwrap_or_else(|error| panic!("{error}"));
    let mut solver = Solver::new(&network);
    let solution = solver.solve(&network.cases()[0]);
    let solution = solution.unwrap_or_else(|error| panic!("{error}"));
    for name in solution.loop_names() {
        assert!(solution.closure(name).is_some_and(|c| c.is_met()), "{name}");
    }
    network
}

/// Refuses to time a wrong answer.
fn assert_answer(network: &Network, owner: &str, bank: &str, max_over_min: f64) {
    let mut solver = Solver::new(network);
    let solution = solver
        .solve(&network.cases()[0])
        .unwrap_or_else(|error| panic!("{error}"));
    for name in solution.loop_names() {
        assert!(solution.closure(name).is_some_and(|c| c.is_met()), "{name}");
    }
    let effort = solution.effort();
    assert!(effort.newton_iterations_max <= 15, "{effort:?}");
    let banks = solution.banks(owner);
    let found = banks
        .iter()
        .find(|b| b.id == bank)
        .and_then(|b| b.max_over_min)
        .unwrap_or(f64::NAN);
    assert!(
        (found / max_over_min - 1.0).abs() < 1e-3,
        "{bank}: largest over smallest flow {found}, was {max_over_min}"
    );
    println!(
        "{}: {} Newton steps at most, {} factorisations",
        network.title(),
        effort.newton_iterations_max,
        effort.factorisations
    );
}

fn solve_raw(solver: &mut Solver<'_>, network: &Network) -> CaseState {
    solver
        .solve_raw(black_box(&network.cases()[0]))
        .unwrap_or_else(|error| panic!("{error}"))
}

/// The slopes of a solution, with what an earlier one left.
fn linearised<'n>(solution: &'n Solution<'n>, room: SlopesRoom) -> Linearised<'n> {
    Linearised::resumed(black_box(solution), room).unwrap_or_else(|error| panic!("{error}"))
}

/// Every law and every tee of a solved loop, once.
fn all_laws(state: &LoopState) -> f64 {
    let net = &state.circuit.net;
    let mut sum = 0.0;
    for (branch, flow) in net.branches.iter().zip(&state.flow.flow_kg_s) {
        for e in branch.elements.clone() {
            for law in &net.laws[net.elements[e].laws.clone()] {
                let drop = law.drop(*flow, &state.fluid.elements[e]);
                sum += drop.drop_pa + drop.slope_pa_s_kg;
            }
        }
    }
    for (node, density) in net.nodes.iter().zip(&state.fluid.node_density_kg_m3) {
        if let NodeKind::Tee(node) = &node.kind {
            let flows = node.flows_in(&state.flow.flow_kg_s);
            sum += tee(node.model, &node.shape, *density, flows).excess_pa[2];
        }
    }
    sum
}

fn main() {
    let mut criterion = Criterion::default().configure_from_args();

    let bookmobile = network(BOOKMOBILE);
    assert_answer(&bookmobile, "battery", "mid", 1.178_586);
    let mut solver = Solver::new(&bookmobile);
    let mut group = criterion.benchmark_group("vehicle/solve");
    group.throughput(Throughput::Elements(1));
    group.bench_function("bookmobile", |b| {
        b.iter(|| solve_raw(&mut solver, &bookmobile))
    });
    group.finish();

    let flows_alone = flows_alone(BOOKMOBILE);
    let mut flows_solver = Solver::new(&flows_alone);
    let mut group = criterion.benchmark_group("vehicle/flows");
    group.bench_function("bookmobile", |b| {
        b.iter(|| solve_raw(&mut flows_solver, &flows_alone))
    });
    group.finish();

    let solution = solver
        .solve_silently(&bookmobile.cases()[0])
        .unwrap_or_else(|error| panic!("{error}"));
    let mut group = criterion.benchmark_group("vehicle/slopes");
    group.bench_function("bookmobile", |b| {
        let mut room = SlopesRoom::default();
        b.iter(|| room = linearised(&solution, std::mem::take(&mut room)).into_room())
    });
    group.bench_function("from_scratch", |b| {
        b.iter(|| Linearised::new(&solution).is_ok())
    });
    let mut slopes = linearised(&solution, SlopesRoom::default());
    let module = [(
        Unknown::Module {
            circuit: 0,
            module: 15,
        },
        1.0,
    )];
    group.bench_function("gradient", |b| b.iter(|| slopes.gradient(&module).is_ok()));
    group.finish();

    let header = network(&header(HEADER_MODULES));
    assert_answer(&header, "battery", "bank", 1.093_322);
    let mut solver = Solver::new(&header);
    let solved = solve_raw(&mut solver, &header);
    let mut group = criterion.benchmark_group("header/solve");
    group.throughput(Throughput::Elements(1));
    group.bench_function("64", |b| b.iter(|| solve_raw(&mut solver, &header)));
    group.finish();

    let mut group = criterion.benchmark_group("header/laws");
    group.throughput(Throughput::Elements(1));
    group.bench_function("64", |b| b.iter(|| all_laws(black_box(&solved.loops[0]))));
    group.finish();

    criterion.final_summary();
}
