//! The matrix of slopes against central differences of all equations, which know nothing of the chain of elements.

use super::super::solver::Solver;
use super::*;
use crate::design::Source;
use std::collections::BTreeMap;

/// A step of each unknown: flows by themselves, pressures by their span, openings, the rest in kelvin.
fn steps(at: &Linearised<'_>) -> Vec<f64> {
    let vehicle = &at.vehicle;
    let mut steps = vec![3e-3; at.z.len()];
    for (l, places) in vehicle.places.loops.iter().enumerate() {
        let (most, span) = vehicle.scales.loops[l];
        for j in 0..vehicle.circuits[l].net.branches.len() {
            let place = places.flow + j;
            steps[place] = 1e-5 * at.z[place].abs().max(1e-3 * most);
        }
        for place in places.pressure.iter().flatten() {
            steps[*place] = 1e-4 * span;
        }
        let count = vehicle.circuits[l].thermostats.len();
        steps[places.opening..places.opening + count].fill(1e-5);
    }
    steps
}

fn is_flow(at: &Linearised<'_>, place: usize) -> bool {
    let loops = at.vehicle.places.loops.iter().zip(&at.vehicle.circuits);
    let mut flows = loops.map(|(at, circuit)| at.flow..at.flow + circuit.net.branches.len());
    flows.any(|flows| flows.contains(&place))
}

/// Compares every slope of every steady case that is solved; returns how many. Where a flow is next to nothing, differences
/// step over its reversal, and what they then say is not compared.
fn compare(name: &str, text: &str) -> usize {
    let source = Source::read(text).unwrap_or_else(|e| panic!("{name}: {e:?}"));
    let network = Network::build(&source.design).unwrap_or_else(|e| panic!("{name}: {e:?}"));
    let mut compared = 0;
    for case in network.cases().iter().filter(|c| c.time.is_none()) {
        let Ok(solution) = Solver::new(&network).solve_silently(case) else {
            continue;
        };
        let mut at = Linearised::new(&solution).unwrap_or_else(|e| panic!("{name}: {e}"));
        let mut taken: BTreeMap<(usize, usize), f64> = BTreeMap::new();
        for (place, slope) in at.slopes.entries() {
            *taken.entry(place).or_default() += slope;
        }
        let steps = steps(&at);
        let mut z = at.z.clone();
        for (column, step) in steps.into_iter().enumerate() {
            let here = z[column];
            if is_flow(&at, column) && here.abs() < 2.0 * step {
                continue;
            }
            let mut beside = |to: f64| {
                z[column] = to;
                at.vehicle.set_openings(&z);
                residual(&mut at.vehicle, &z)
            };
            let (above, below) = (beside(here + step), beside(here - step));
            beside(here);
            for row in 0..z.len() {
                let difference = (above[row] - below[row]) / (2.0 * step);
                let slope = taken.get(&(row, column)).copied().unwrap_or(0.0);
                // Curvature over the step, and round-off of rows of order one and of enthalpies of a few hundred kelvin.
                let owed = 1e-5 * slope.abs().max(difference.abs()) + 3e-13 / step;
                assert!(
                    (slope - difference).abs() <= owed,
                    "{name} {}: row {row} over {column} ({here:e}): {slope:e} and {difference:e}",
                    case.name
                );
                compared += 1;
            }
        }
    }
    compared
}

#[test]
fn slopes_of_every_sample_are_those_of_all_equations() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("networks");
    let files = std::fs::read_dir(folder).unwrap_or_else(|e| panic!("{e}"));
    let mut compared = 0;
    for file in files {
        let path = file.unwrap_or_else(|e| panic!("{e}")).path();
        if path.extension().is_some_and(|e| e == "json") {
            let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{e}"));
            compared += compare(&path.display().to_string(), &text);
        }
    }
    assert!(compared > 400_000, "{compared}");
}

/// A bookmobile whose battery loop flows against its branches, through hoses that lose heat.
#[test]
fn slopes_against_the_branches_are_those_of_all_equations() {
    let text = include_str!("../../../networks/bookmobile.json");
    let mut document: serde_json::Value =
        serde_json::from_str(text).unwrap_or_else(|e| panic!("{e}"));
    let battery = &mut document["loops"]["battery"];
    if let Some(run) = battery["runs"][0].as_array_mut() {
        run.reverse();
    }
    let mut hoses = 0;
    if let Some(parts) = battery["parts"].as_object_mut() {
        for hose in parts.values_mut().filter_map(|part| part.get_mut("hose")) {
            hose["conductance_per_length"] = "1.5 W/(m K)".into();
            hoses += 1;
        }
    }
    assert!(hoses > 3, "{hoses}");
    let compared = compare("bookmobile, backwards", &document.to_string());
    assert!(compared > 50_000, "{compared}");
}

/// Water that is drawn in warm, past a plate and up a hill, and let out where cold water could come in.
#[test]
fn slopes_of_what_enters_from_outside_are_those_of_all_equations() {
    let text = r#"{ "format": 1, "title": "t", "coolants": { "water": { "water": {} } },
      "loops": { "l": { "coolant": "water",
        "parts": { "in": { "draw": { "inflow": "4 L/min", "temperature": "30 degC" } },
                   "warm": { "plate": { "pressure_drop": { "kv": "0.5 m3/h" } } },
                   "hill": { "hose": { "bore": "10 mm", "length": "3 m", "conductance_per_length": "2 W/(m K)" } },
                   "out": { "open_end": { "elevation": "2 m", "temperature": "12 degC" } } },
        "runs": [["in", "warm", "hill", "out"]] } },
      "cases": { "c": { "air": "20 degC", "heat": { "l.warm": "300 W" } } } }"#;
    let compared = compare("drawn", text);
    assert_eq!(compared, 16);
}

#[test]
fn slopes_in_a_room_that_was_used_are_the_same_to_the_last_bit() {
    let text = include_str!("../../../networks/bookmobile.json");
    let source = Source::read(text).unwrap_or_else(|e| panic!("{e:?}"));
    let network = Network::build(&source.design).unwrap_or_else(|e| panic!("{e:?}"));
    let cases = network.cases().iter().filter(|c| c.time.is_none());
    let mut room = SlopesRoom::default();
    let mut compared = 0;
    for case in cases.clone().chain(cases) {
        let solution = Solver::new(&network).solve_silently(case);
        let solution = solution.unwrap_or_else(|e| panic!("{e}"));
        let module = [(
            Unknown::Module {
                circuit: 0,
                module: 3,
            },
            1.0,
        )];
        let felt = |at: &mut Linearised<'_>| -> Vec<f64> {
            let gradient = at.gradient(&module).unwrap_or_else(|e| panic!("{e}"));
            (0..network.loops()[0].modules.len())
                .map(|m| gradient.over_module_heat(0, m))
                .collect()
        };
        let mut used = Linearised::resumed(&solution, room).unwrap_or_else(|e| panic!("{e}"));
        let mut fresh = Linearised::new(&solution).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(felt(&mut used), felt(&mut fresh));
        compared += 1;
        room = used.into_room();
    }
    assert!(compared >= 4, "{compared}");
}
