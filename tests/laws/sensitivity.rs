//! Slopes of a coupled answer against central differences of whole solves: every sample, every steady case, every number of
//! the answer, every number of the design.
//!
//! The outside reference is the definition of a slope: two solves a small step apart know nothing of the linearisation.

use loopwright::correlation::DuctShape;
use loopwright::design::{Adjustable, Knob, KnobStep, Source};
use loopwright::network::{Case, Network};
use loopwright::part::Law;
use loopwright::report::Keys;
use loopwright::solve::{Linearised, Solution, Solver, Unknown};
use loopwright::study::{Readout, Solved};
use std::collections::BTreeMap;
use std::path::PathBuf;

/// Step of the differences of whole solves, in steps of a knob.
const WIDE: f64 = 0.05;
/// Step at which the tangent is read.
const NARROW: f64 = 0.01;

fn samples() -> Vec<PathBuf> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("networks");
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("the samples are there")
        .map(|entry| entry.expect("readable").path())
        .filter(|path| path.extension().is_some_and(|e| e == "json"))
        .collect();
    files.sort();
    files
}

fn numbers(solution: &Solution<'_>) -> BTreeMap<String, f64> {
    let solved = Solved {
        solution: solution.clone(),
        limits: Vec::new(),
        march: None,
    };
    Keys.every(&solved).into_iter().collect()
}

fn case_of<'n>(network: &'n Network, name: &str) -> &'n Case {
    let mut cases = network.cases().iter();
    cases.find(|c| c.name == name).expect("the same cases")
}

fn at(base: &mut Adjustable, knob: &Knob, steps: f64) -> Option<Network> {
    let network = base
        .with_knob(knob, steps)
        .and_then(|design| Network::build_checked(design).ok());
    base.with_knob(knob, 0.0);
    network
}

/// Worst disagreement over what is owed, with its name.
#[derive(Default)]
struct Worst {
    share: f64,
    name: String,
    compared: usize,
}

fn compare(path: &PathBuf, every: usize, offset: usize, worst: &mut Worst) {
    let file = path
        .file_name()
        .expect("a file")
        .to_string_lossy()
        .into_owned();
    let text = std::fs::read_to_string(path).expect("readable");
    let source = Source::read(&text).expect("sound");
    let mut base = Adjustable::new(&source.design).expect("sound");
    let network = Network::build(&source.design).expect("sound");
    for case in network.cases().iter().filter(|c| c.time.is_none()) {
        let solution = match Solver::new(&network).solve_silently(case) {
            Ok(solution) => solution,
            Err(_) => continue,
        };
        let mut slopes = Linearised::new(&solution).expect("slopes");
        // Passes end where no temperature moves by 3e-8 K; of stacked cores they gain a tenth of a digit each.
        assert!(
            slopes.residual() < 1e-5,
            "{file} {}: residual {}",
            case.name,
            slopes.residual()
        );
        let here = numbers(&solution);
        let knobs = base.knobs(&|name| name == case.name);
        for knob in knobs.iter().skip(offset).step_by(every) {
            let Some([l, m]) = at(&mut base, knob, -NARROW)
                .zip(at(&mut base, knob, NARROW))
                .map(|(a, b)| [a, b])
            else {
                continue;
            };
            let [Some(ll), Some(mm)] = [-WIDE, WIDE].map(|s| at(&mut base, knob, s)) else {
                continue;
            };
            let tangent =
                slopes.moved((&l, case_of(&l, &case.name)), (&m, case_of(&m, &case.name)));
            let tangent = tangent.expect("same graph").map(|s| numbers(&s));
            let [Ok(a), Ok(b)] = [&ll, &mm].map(|n| {
                Solver::new(n)
                    .solve_silently(case_of(n, &case.name))
                    .map(|s| numbers(&s))
            }) else {
                continue;
            };
            // Tables of coolants have kinks at their rows, where a slope depends on the side.
            let flat = if knob.step == KnobStep::Kelvin {
                1e-3
            } else {
                2e-5
            };
            for (path, value) in &here {
                let read = |map: &BTreeMap<String, f64>| map.get(path).copied();
                let (Some(x), Some(y), Some(u), Some(v)) =
                    (read(&tangent[0]), read(&tangent[1]), read(&a), read(&b))
                else {
                    continue;
                };
                let slope = (y - x) / (2.0 * NARROW);
                let solved = (v - u) / (2.0 * WIDE);
                // Curvature of both differences, and what passes agree to over the step.
                let owed =
                    flat * slope.abs().max(solved.abs()) + 2e-6 * Keys.scale(path, value.abs());
                let share = (slope - solved).abs() / owed;
                worst.compared += 1;
                if share > worst.share || share.is_nan() {
                    worst.share = share;
                    worst.name = format!(
                        "{file} {}: {path} over {}: {slope:e} and {solved:e}, value {value:e}",
                        case.name, knob.path
                    );
                }
            }
        }
    }
}

/// Every ninth number of each file, beginning at another place in each, keeps this within a few seconds; all of them were
/// compared while this was written (`LOOPWRIGHT_SLOPES=all`).
#[test]
fn slopes_of_every_sample_are_those_of_whole_solves() {
    let all = std::env::var("LOOPWRIGHT_SLOPES").is_ok_and(|v| v == "all");
    let every = if all { 1 } else { 9 };
    let mut compared = 0;
    for (k, path) in samples().iter().enumerate() {
        let mut worst = Worst::default();
        compare(path, every, k % every, &mut worst);
        println!(
            "{:8} compared, worst {:.3} of what is owed: {}",
            worst.compared, worst.share, worst.name
        );
        assert!(worst.share <= 1.0, "{}", worst.name);
        compared += worst.compared;
    }
    assert!(compared > 50_000, "{compared}");
}

/// The adjoint against the tangent: the same slopes by the matrix turned over. A hose's length acts through its wall friction
/// alone.
#[test]
fn one_gradient_holds_what_all_tangents_say() {
    let text = include_str!("../../networks/bookmobile.json");
    let source = Source::read(text).unwrap();
    let network = Network::build(&source.design).unwrap();
    let case = case_of(&network, "hot hill");
    let solution = Solver::new(&network).solve_silently(case).unwrap();
    let circuit = network
        .loops()
        .iter()
        .position(|l| l.name == "battery")
        .unwrap();
    let state = solution.loop_state("battery").unwrap();
    let mut slopes = Linearised::new(&solution).unwrap();
    let hottest = (0..state.heat.module_k.len())
        .max_by(|a, b| state.heat.module_k[*a].total_cmp(&state.heat.module_k[*b]))
        .unwrap();
    let mut base = Adjustable::new(&source.design).unwrap();
    let knobs = base.knobs(&|_| false);
    let mut compared = 0;
    for part in ["feed", "out", "back", "return", "suction"] {
        let knob = knobs
            .iter()
            .find(|k| k.path == format!("loops.battery.parts.{part}.hose.length"));
        let knob = knob.unwrap();
        let [less, more] = [-NARROW, NARROW].map(|s| at(&mut base, knob, s).unwrap());
        let name = &case.name;
        let moved = slopes.moved((&less, case_of(&less, name)), (&more, case_of(&more, name)));
        let module = |s: &Solution<'_>| s.loop_state("battery").unwrap().heat.module_k[hottest];
        let [below, above] = moved.unwrap();
        let tangent = (module(&above) - module(&below)) / (2.0 * NARROW);
        let net = &state.circuit.net;
        let element = net
            .elements
            .iter()
            .position(|e| e.id.as_str() == part)
            .unwrap();
        let branch = net
            .branches
            .iter()
            .position(|b| b.elements.contains(&element))
            .unwrap();
        let fluid = &state.fluid.elements[element];
        let lost = |share: f64| -> f64 {
            let laws = net.laws[net.elements[element].laws.clone()].iter();
            let ducts = laws.filter_map(|law| match law {
                Law::Duct(duct) => Some(Law::Duct(DuctShape {
                    length_m: duct.length_m * (1.0 + share),
                    ..*duct
                })),
                _ => None,
            });
            ducts
                .map(|law| law.drop(state.flow.flow_kg_s[branch], fluid).drop_pa)
                .sum()
        };
        let added_pa = (lost(1e-4) - lost(-1e-4)) / 2e-4 * 0.01;
        let gradient = slopes.gradient(&[(
            Unknown::Module {
                circuit,
                module: hottest,
            },
            1.0,
        )]);
        let adjoint = gradient.unwrap().over_loss(circuit, branch) * added_pa;
        assert!(
            (adjoint - tangent).abs() <= 1e-5 * tangent.abs() && tangent > 0.0,
            "{part}: {adjoint} and {tangent}"
        );
        compared += 1;
    }
    assert_eq!(compared, 5);
}

/// Measured drops of a module, all raised by a hundredth, raise the losses of all its circuits by as much.
#[test]
fn losses_of_elements_move_answers_as_what_they_were_measured_by() {
    let text = include_str!("../../networks/bench-header.json");
    let source = Source::read(text).unwrap();
    let network = Network::build(&source.design).unwrap();
    let case = case_of(&network, "cold water");
    let solution = Solver::new(&network).solve_silently(case).unwrap();
    let mut slopes = Linearised::new(&solution).unwrap();
    let mut base = Adjustable::new(&source.design).unwrap();
    let knobs = base.knobs(&|_| false);
    let mut drops = knobs.iter().filter(|k| k.path.starts_with("modules."));
    let drops = drops.find(|k| k.path.ends_with("pressure_drop.points[*][1]"));
    let [less, more] = [-NARROW, NARROW].map(|s| at(&mut base, drops.unwrap(), s).unwrap());
    let name = &case.name;
    let moved = slopes.moved((&less, case_of(&less, name)), (&more, case_of(&more, name)));
    let [below, above] = moved.unwrap();
    let circuit = &network.loops()[0];
    let modules = || circuit.modules.iter().flat_map(|m| &m.circuits);
    assert!(modules().count() > 4);
    for branch in 0..circuit.net.branches.len() {
        let flow = |s: &Solution<'_>| s.loop_state("bench").unwrap().flow.flow_kg_s[branch];
        let tangent = (flow(&above) - flow(&below)) / (2.0 * NARROW) / 0.01;
        let unknown = Unknown::Flow { circuit: 0, branch };
        let gradient = slopes.gradient(&[(unknown, 1.0)]).unwrap();
        let adjoint: f64 = modules().map(|e| gradient.over_element_loss(0, *e)).sum();
        assert!(
            (adjoint - tangent).abs() <= 1e-6 * tangent.abs() && tangent != 0.0,
            "{branch}: {adjoint} and {tangent}"
        );
    }
}

/// Heat given to one module moves it and no other module of its bank by more.
#[test]
fn a_watt_in_a_module_is_felt_there_most() {
    let text = include_str!("../../networks/bookmobile.json");
    let source = Source::read(text).unwrap();
    let network = Network::build(&source.design).unwrap();
    let solution = Solver::new(&network)
        .solve_silently(case_of(&network, "hot hill"))
        .unwrap();
    let mut slopes = Linearised::new(&solution).unwrap();
    let circuit = network
        .loops()
        .iter()
        .position(|l| l.name == "battery")
        .unwrap();
    let output = [(Unknown::Module { circuit, module: 3 }, 1.0)];
    let gradient = slopes.gradient(&output).unwrap();
    let count = network.loops()[circuit].modules.len();
    let felt: Vec<f64> = (0..count)
        .map(|m| gradient.over_module_heat(circuit, m))
        .collect();
    // Its own path of heat, 0.03 K/W, and what the whole loop warms by.
    assert!(felt[3] > 0.03 && felt.iter().all(|f| *f > 0.0), "{felt:?}");
    assert!(
        felt.iter().enumerate().all(|(m, f)| m == 3 || *f < felt[3]),
        "{felt:?}"
    );
}
