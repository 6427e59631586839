//! Every case of every sample with a radiator, over air of -30 to 50 degC and 0 to 130 km/h. Each cell is solved with its
//! closures met, but for those that a lumped balance of heat, reckoned from the design file alone, shows to lie beyond
//! the coolant's range, to have no way out for heat, or heat where nothing flows: there the reason must be that one.
//! `LOOPWRIGHT_GRID=fine` walks the air by 2 K and the speed by 5 km/h.

#[path = "grid/lumped.rs"]
mod lumped;

use loopwright::design::Source;
use loopwright::network::{Case, Network};
use loopwright::solve::{Solution, SolveError, Solver};
use lumped::{Expected, LEAST_FLOW, WARM_K, expected};
use serde_json::{Map, Value, json};
use std::path::{Path, PathBuf};

/// Newton steps that any one hydraulic solve may take, and passes of flow and heat (physics page).
const MOST_STEPS: usize = 15;
const MOST_PASSES: usize = 12;
/// Share of cells that the lumped bounds may leave open. It was set after 5 % were measured: a cell this close to the end of
/// the range is one in which coolant flow and air flow, which the bounds know roughly, decide.
const MOST_OPEN: f64 = 0.08;

/// Samples with a radiator, by the folder.
fn vehicles() -> Vec<(PathBuf, Value)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("networks");
    let mut found: Vec<(PathBuf, Value)> = std::fs::read_dir(folder)
        .expect("the folder of samples")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|e| e == "json"))
        .map(|path| {
            let text = std::fs::read_to_string(&path).expect("a readable sample");
            let document = serde_json::from_str(&text).expect("JSON");
            (path, document)
        })
        .filter(|(_, document): &(PathBuf, Value)| document.get("radiators").is_some())
        .collect();
    found.sort_by(|a, b| a.0.cmp(&b.0));
    assert!(found.len() >= 2, "too few vehicles were found");
    found
}

/// The temperatures of the air in degC and the speeds in km/h.
fn grid() -> (Vec<i32>, Vec<i32>) {
    if std::env::var("LOOPWRIGHT_GRID").is_ok_and(|v| v == "fine") {
        let air = (-30..=50).step_by(2).collect();
        (air, (0..=130).step_by(5).collect())
    } else {
        let air = (-30..=50).step_by(10).collect();
        (air, vec![0, 5, 20, 50, 90, 130])
    }
}

/// The document with one case a cell. A case of limited length is taken as it is and, besides, as one that lasts.
fn with_cells(document: &Value) -> Value {
    let mut cells = Map::new();
    let (air, speeds) = grid();
    for (name, case) in document["cases"].as_object().expect("cases") {
        let mut lasting = case.clone();
        let timed = lasting.as_object_mut().is_some_and(|c| {
            c.remove("start_temperature");
            c.remove("duration").is_some()
        });
        let kinds = [(name.clone(), case), (format!("{name} lasting"), &lasting)];
        for (name, case) in kinds.iter().take(if timed { 2 } else { 1 }) {
            for t in &air {
                for v in &speeds {
                    let mut cell = (*case).clone();
                    cell["air"] = json!(format!("{t} degC"));
                    cell["travel_speed"] = json!(format!("{v} km/h"));
                    cells.insert(format!("{name} at {t} degC {v} km-h"), cell);
                }
            }
        }
    }
    let mut document = document.clone();
    document["cases"] = Value::Object(cells);
    document
}

fn answer<'n>(solver: &mut Solver<'n>, case: &Case) -> Result<Solution<'n>, SolveError> {
    match solver.march(case, &Default::default(), &mut |_, _, _| {}) {
        Ok(None) => solver.solve(case),
        Ok(Some((end, _))) => Ok(end),
        Err(error) => Err(error),
    }
}

/// What is wrong with a cell, if anything.
fn fault(found: &Result<Solution<'_>, SolveError>, expected: &Expected) -> Option<String> {
    match (found, expected) {
        (Ok(_), Expected::Refused(code)) => Some(format!("solved, expected {code}")),
        (Ok(solution), _) => {
            for name in solution.loop_names() {
                let closure = solution.closure(name).expect("a loop");
                if !closure.is_met() {
                    return Some(format!("{name}: {closure:?}"));
                }
            }
            if let Some(text) = little_flow(solution) {
                return Some(text);
            }
            let effort = solution.effort();
            (effort.newton_iterations_max > MOST_STEPS || effort.passes > MOST_PASSES)
                .then(|| format!("{effort:?}"))
        }
        (Err(error), Expected::Solved) => Some(format!("expected to be solved: {error}")),
        (Err(error), Expected::Refused(code)) => {
            (error.code() != *code).then(|| format!("expected {code}: {error}"))
        }
        (Err(error), Expected::Open { ranges_k }) => {
            let (owner, at) = match error {
                SolveError::BeyondCoolantRange {
                    subject,
                    temperature_k,
                    ..
                }
                | SolveError::LeavesCoolantRange {
                    subject,
                    temperature_k,
                    ..
                } => (subject.to_string(), *temperature_k),
                other => return Some(format!("a range was expected: {other}")),
            };
            let within = ranges_k.iter().any(|(name, low, high)| {
                owner.starts_with(&format!("{name}.")) && (*low..=*high).contains(&at)
            });
            (!within).then(|| format!("{owner} at {at} K, reckoned {ranges_k:?}"))
        }
    }
}

/// The premise of the lumped bounds, where it does not hold.
fn little_flow(solution: &Solution<'_>) -> Option<String> {
    solution.loop_names().find_map(|name| {
        let state = solution.loop_state(name)?;
        let coldest = state
            .heat
            .node_k
            .iter()
            .copied()
            .fold(f64::INFINITY, f64::min);
        let share: f64 = solution
            .pumps(name)
            .iter()
            .filter_map(|p| p.share_of_free_flow)
            .sum();
        (coldest > WARM_K && share < LEAST_FLOW)
            .then(|| format!("{name}: warm, and {share} of the pump's free flow"))
    })
}

#[test]
fn every_cell_of_air_and_speed_is_solved_or_refused_for_the_reason_that_the_design_gives() {
    let (mut wrong, mut cells, mut open, mut solved, mut passes, mut steps) =
        (Vec::new(), 0, 0, 0, 0, 0);
    for (path, document) in vehicles() {
        let document = with_cells(&document);
        let text = document.to_string();
        let source = Source::read(&text).unwrap_or_else(|f| panic!("{}: {f:?}", path.display()));
        let network =
            Network::build(&source.design).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        let mut solver = Solver::new(&network);
        for case in network.cases() {
            cells += 1;
            let expected = expected(&document, &document["cases"][&case.name], &network);
            let found = answer(&mut solver, case);
            if let Ok(solution) = &found {
                solved += 1;
                passes = passes.max(solution.effort().passes);
                steps = steps.max(solution.effort().newton_iterations_max);
            }
            open += usize::from(matches!(expected, Expected::Open { .. }));
            if let Some(fault) = fault(&found, &expected) {
                wrong.push(format!("{}, {}: {fault}", path.display(), case.name));
            }
        }
    }
    println!(
        "grid: {cells} cells, {solved} solved, {open} left open by the lumped bounds, at most {steps} Newton steps and {passes} passes, {} wrong",
        wrong.len()
    );
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(open as f64 <= MOST_OPEN * cells as f64, "{open} of {cells}");
}
