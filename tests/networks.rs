//! Every sample design: it reads, builds and solves, its closures and effort are as good as owed, and it can be printed.

use loopwright::design::Source;
use loopwright::network::{Case, Network};
use loopwright::quantity::UnitFamily;
use loopwright::report::{Paint, case_report, closing, opening, render, solve_json};
use loopwright::solve::{Carried, Solution, Solver};
use loopwright::study::band::Bands;
use loopwright::study::cases::{self, SecondLook};
use loopwright::study::judge;
use serde_json::Value;
use std::path::{Path, PathBuf};

/// Newton steps that any one hydraulic solve may take.
const STEPS_OWED: usize = 15;
/// Passes of flow and heat that a loop may take.
const PASSES_OWED: usize = 12;

fn samples() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("networks");
    let mut found: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("the folder of samples")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|e| e == "json"))
        .collect();
    found.sort();
    assert!(!found.is_empty(), "no sample was found");
    found
}

/// A design read from a file of samples; a refusal is shown by its messages.
fn read(path: &Path) -> Source {
    let bytes = std::fs::read(path).expect("a readable sample");
    Source::read_bytes(&bytes).unwrap_or_else(|faults| {
        let list: Vec<String> = faults
            .iter()
            .map(|f| format!("{}: {}", f.place, f.message))
            .collect();
        panic!("{}: {}", path.display(), list.join("\n"))
    })
}

#[test]
fn every_sample_solves_within_the_closures_and_the_effort_owed() {
    for path in samples() {
        let source = read(&path);
        let network =
            Network::build(&source.design).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        let mut solver = Solver::new(&network);
        assert!(!network.cases().is_empty(), "{}: no case", path.display());
        for case in network.cases() {
            let what = format!("{}, {}", path.display(), case.name);
            let solution = answer(&mut solver, case);
            for name in solution.loop_names() {
                let closure = solution.closure(name).expect("a loop");
                assert!(closure.is_met(), "{what}, {name}: {closure:?}");
            }
            let effort = solution.effort();
            assert!(
                effort.newton_iterations_max <= STEPS_OWED && effort.passes <= PASSES_OWED,
                "{what}: {effort:?}"
            );
        }
    }
}

#[test]
fn every_sample_solves_to_the_same_bits_again() {
    for path in samples() {
        let source = read(&path);
        let once = numbers(&source);
        assert_eq!(once, numbers(&source), "{}", path.display());
    }
}

/// The steady answer of a case, or the end of its march in time.
fn answer<'n>(solver: &mut Solver<'n>, case: &Case) -> Solution<'n> {
    let outcome = match solver.march(case, &Default::default(), &mut |_, _, _| {}) {
        Ok(None) => solver.solve(case),
        Ok(Some((end, _))) => Ok(end),
        Err(error) => Err(error),
    };
    outcome.unwrap_or_else(|e| panic!("{}: {e}", case.name))
}

/// Bits of every flow and pressure of a design.
fn numbers(source: &Source) -> Vec<u64> {
    let network = Network::build(&source.design).expect("a sample");
    let mut solver = Solver::new(&network);
    let mut bits = Vec::new();
    for case in network.cases() {
        let solution = answer(&mut solver, case);
        let names: Vec<String> = solution.loop_names().map(str::to_owned).collect();
        for one in names.iter().filter_map(|n| solution.loop_state(n)) {
            bits.extend(one.flow.flow_kg_s.iter().map(|v| v.to_bits()));
            bits.extend(one.flow.node_pa.iter().map(|v| v.to_bits()));
            bits.extend(one.heat.node_k.iter().map(|v| v.to_bits()));
        }
    }
    bits
}

#[test]
fn every_sample_is_printed_in_both_families_of_units() {
    for path in samples() {
        let source = read(&path);
        let limits = source.design.limits.clone().unwrap_or_default();
        let network = Network::build(&source.design).expect("a sample");
        let bands = Bands::new(&network);
        let mut solver = Solver::new(&network);
        for family in [UnitFamily::Metric, UnitFamily::Us] {
            let mut report = opening(&network);
            for case in network.cases() {
                let solution = answer(&mut solver, case);
                let rows = judge(&solution, &limits);
                let bands = bands.of(&solution, &mut Default::default());
                report
                    .blocks
                    .extend(case_report(&solution, &rows, &bands, family).blocks);
            }
            report.blocks.extend(closing().blocks);
            let text = render(&report, Paint::Plain);
            assert!(text.contains(network.title()), "{}", path.display());
            for bad in ["NaN", "inf"] {
                let found = text
                    .split(|c: char| !c.is_alphanumeric())
                    .any(|word| word == bad);
                assert!(!found, "{}: {bad} in\n{text}", path.display());
            }
        }
    }
}

#[test]
fn cases_solved_together_give_the_bits_of_each_alone() {
    for path in samples() {
        let source = read(&path);
        let limits = source.design.limits.clone().unwrap_or_default();
        let network = Network::build(&source.design).expect("a sample");
        let together = cases::run(&network, &limits, &[], SecondLook::Yes);
        assert_eq!(together.len(), network.cases().len());
        for (one, case) in together.into_iter().zip(network.cases()) {
            let name = [case.name.clone()];
            let alone = cases::run(&network, &limits, &name, SecondLook::Yes);
            let [alone] = <[_; 1]>::try_from(alone).ok().expect("one case");
            assert_eq!(one.case.name, case.name);
            let text =
                |outcome| solve_json(&network, &[(case.name.clone(), outcome)], &[]).to_string();
            let pair = (text(one.outcome), text(alone.outcome));
            assert!(pair.0 == pair.1, "{}: {}", path.display(), case.name);
            let steps = alone.march.map(|m| (m.effort.steps, m.lines));
            assert_eq!(one.march.map(|m| (m.effort.steps, m.lines)), steps);
        }
    }
}

#[test]
fn the_json_of_every_sample_has_a_number_wherever_one_must_be() {
    for path in samples() {
        let source = read(&path);
        let limits = source.design.limits.clone().unwrap_or_default();
        let network = Network::build(&source.design).expect("a sample");
        let bands = Bands::new(&network);
        let mut solver = Solver::new(&network);
        let mut cases = Vec::new();
        let mut solved = Vec::new();
        for case in network.cases() {
            let solution = answer(&mut solver, case);
            for name in solution.loop_names() {
                if solution.carried(name) == Some(Carried::Solved) {
                    solved.push((case.name.clone(), name.to_owned()));
                }
            }
            let rows = judge(&solution, &limits);
            let bands = bands.of(&solution, &mut Default::default());
            cases.push((case.name.clone(), Ok((solution, rows, bands))));
        }
        let answer = solve_json(&network, &cases, &[]);
        let mut missing = Vec::new();
        // A module that is not there has no flow and no temperature.
        let whole = network
            .loops()
            .iter()
            .all(|l| l.modules.iter().all(|m| !m.circuits.is_empty()));
        for (name, case) in answer["cases"].as_object().expect("cases") {
            let heated = |one: &str| solved.iter().any(|(c, l)| c == name && l == one);
            missing.extend(missing_numbers(name, case, &heated));
        }
        if !whole {
            missing.retain(|line| !line.contains("over_mean") && !line.contains("module_temp"));
        }
        assert!(
            missing.is_empty(),
            "{}:\n{}",
            path.display(),
            missing.join("\n")
        );
    }
}

/// Paths of numbers that are not there; `heated` says whether heat was carried in a loop.
fn missing_numbers(name: &str, case: &Value, heated: &dyn Fn(&str) -> bool) -> Vec<String> {
    let mut missing = Vec::new();
    let mut need = |value: &Value, keys: &[&str], what: String| {
        for key in keys {
            let found = &value[key];
            let whole = found.is_number()
                || found
                    .as_array()
                    .is_some_and(|list| !list.is_empty() && list.iter().all(Value::is_number));
            if !whole {
                missing.push(format!("{name}, {what}: `{key}` is {found}"));
            }
        }
    };
    need(
        &case["effort"],
        &[
            "newton_iterations_max",
            "passes",
            "factorisations",
            "residual",
        ],
        "effort".into(),
    );
    for (one, value) in case["loops"].as_object().expect("loops") {
        let mut closures = vec!["mass_kg_s", "pressure_pa"];
        if heated(one) {
            closures.push("energy_w");
        }
        need(&value["closure"], &closures, format!("{one}.closure"));
        for (id, part) in value["parts"].as_object().expect("parts") {
            let keys: &[&str] = if part.get("mass_flow_kg_s").is_some() {
                &[
                    "mass_flow_kg_s",
                    "volume_flow_m3_s",
                    "pressure_drop_pa",
                    "inlet_total_pressure_pa",
                    "outlet_total_pressure_pa",
                    "inlet_static_gauge_pressure_pa",
                    "outlet_static_gauge_pressure_pa",
                    "inlet_temperature_k",
                    "outlet_temperature_k",
                    "heat_w",
                ]
            } else {
                &["total_pressure_pa", "temperature_k", "inflow_kg_s"]
            };
            need(part, keys, format!("{one}.{id}"));
        }
        for (id, bank) in value["banks"].as_object().expect("banks") {
            let mut keys = vec![
                "branch_flow_over_mean",
                "circuit_flow_over_mean",
                "deviation",
            ];
            if heated(one) {
                keys.extend(["module_temperature_k", "module_temperature_spread_k"]);
            }
            need(bank, &keys, format!("{one}.{id}"));
        }
    }
    for (radiator, value) in case["radiators"].as_object().expect("radiators") {
        for (core, values) in value["cores"].as_object().expect("cores") {
            need(
                values,
                &["heat_rejected_w", "air_mass_flow_kg_s"],
                format!("{radiator}.{core}"),
            );
        }
    }
    for row in case["limits"].as_array().expect("limits") {
        let keys: &[&str] = if row["verdict"] == "no_value" {
            &["bound"]
        } else {
            &["value", "bound", "margin"]
        };
        need(row, keys, format!("{} of {}", row["limit"], row["subject"]));
    }
    missing
}
