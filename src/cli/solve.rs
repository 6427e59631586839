//! `loopwright solve`: what flows where, how hot, for every case.

use super::args::DesignArgs;
use super::exit::Exit;
use super::input::load;
use super::output;
use loopwright::network::Case;
use loopwright::report::{
    Report, case_report, closing, failure_report, opening, solve_json, volume_report,
};
use loopwright::solve::Solver;
use loopwright::study::band::Bands;
use loopwright::study::{judge, volume};

/// Runs the verb.
pub fn run(args: &DesignArgs) -> Exit {
    let loaded = match load(args) {
        Ok(loaded) => loaded,
        Err(exit) => return exit,
    };
    let limits = loaded.design.limits.clone().unwrap_or_default();
    let bands = match Bands::new(&loaded.design) {
        Ok(bands) => bands,
        Err(error) => {
            output::message(&format!("error: {error}"));
            return Exit::WrongInput;
        }
    };
    let mut solver = Solver::new(&loaded.network);
    let asked = |case: &&Case| args.cases.is_empty() || args.cases.contains(&case.name);
    let answers: Vec<_> = loaded
        .network
        .cases()
        .iter()
        .filter(asked)
        .map(|case| {
            let outcome = solver.solve(case).map(|solution| {
                let rows = judge(&solution, &limits);
                let bands = bands.of(&loaded.network, &case.name);
                (solution, rows, bands)
            });
            (case, outcome)
        })
        .collect();
    let failed = answers.iter().any(|(_, outcome)| outcome.is_err());
    let solved: Vec<_> = answers
        .iter()
        .filter_map(|(_, outcome)| outcome.as_ref().ok().map(|(solution, ..)| solution))
        .collect();
    let volumes = volume::run(&loaded.network, &solved);
    if args.json {
        let named: Vec<_> = answers
            .into_iter()
            .map(|(case, outcome)| (case.name.clone(), outcome))
            .collect();
        output::json(&solve_json(&loaded.network, &named, &volumes));
    } else {
        let mut whole: Report = opening(&loaded.network);
        for (case, outcome) in &answers {
            whole.blocks.extend(match outcome {
                Ok((solution, rows, bands)) => {
                    case_report(solution, rows, bands, loaded.family).blocks
                }
                Err(error) => failure_report(case, error, loaded.family).blocks,
            });
        }
        let coolant = volume_report(&volumes, loaded.family);
        whole.blocks.extend(coolant.blocks);
        whole.blocks.extend(closing().blocks);
        output::report(&whole);
    }
    if failed {
        Exit::NoSolution
    } else {
        Exit::Answered
    }
}
