//! Every case of every sample closes mass, energy and pressure, within the effort that the handbook promises.

use crate::documents::each_case;
use std::path::Path;

/// Most Newton steps of any one hydraulic solve (physics page, "Accuracy the solver owes").
pub const MOST_STEPS: usize = 15;
/// Most passes of flow and heat (same place).
pub const MOST_PASSES: usize = 12;

#[test]
fn every_case_of_every_sample_closes_within_the_promised_effort() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("networks");
    let mut solved = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "json") {
            continue;
        }
        let document = serde_json::from_str(&std::fs::read_to_string(&path).unwrap()).unwrap();
        let file = path.display();
        each_case(&document, |case, outcome| {
            let solution = outcome.unwrap_or_else(|error| panic!("{file}, {case}: {error}"));
            for name in solution.loop_names() {
                let closure = solution.closure(name).unwrap();
                assert!(closure.is_met(), "{file}, {case}, {name}: {closure:?}");
            }
            let effort = solution.effort();
            let within = effort.newton_iterations_max <= MOST_STEPS && effort.passes <= MOST_PASSES;
            assert!(within, "{file}, {case}: {effort:?}");
            solved += 1;
        });
    }
    assert!(solved > 0);
}
