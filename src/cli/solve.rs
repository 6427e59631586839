//! `loopwright solve`: what flows where, how hot, for every case.

use super::args::SolveArgs;
use super::exit::Exit;
use super::input::load;
use super::output;
use super::terminal;
use loopwright::network::Case;
use loopwright::report::{
    Report, case_charts, case_report, closing, failure_report, opening, solve_csv, solve_json,
    time_json, time_report, volume_report,
};
use loopwright::solve::Solver;
use loopwright::study::band::Bands;
use loopwright::study::{judge, time, volume};

/// Runs the verb.
pub fn run(typed: &SolveArgs) -> Exit {
    let args = &typed.design;
    let loaded = match load(args) {
        Ok(loaded) => loaded,
        Err(exit) => return exit,
    };
    let limits = loaded.design.limits.clone().unwrap_or_default();
    let mut bands = Bands::new(&loaded.network);
    let mut solver = Solver::new(&loaded.network);
    let asked = |case: &&Case| args.cases.is_empty() || args.cases.contains(&case.name);
    let answers: Vec<_> = loaded
        .network
        .cases()
        .iter()
        .filter(asked)
        .map(|case| {
            let (outcome, march) = match time::run(&mut solver, case, &limits) {
                Ok(Some(march)) => {
                    let steady = march.steady.as_ref();
                    let steady = steady.map(|s| bands.of(s)).unwrap_or_default();
                    let answered = (march.end.clone(), march.limits.clone(), steady);
                    (Ok(answered), Some(march))
                }
                Ok(None) => {
                    let outcome = solver.solve_from_both_ends(case).map(|solution| {
                        let rows = judge(&solution, &limits);
                        let bands = bands.of(&solution);
                        (solution, rows, bands)
                    });
                    (outcome, None)
                }
                Err(error) => (Err(error), None),
            };
            (case, outcome, march)
        })
        .collect();
    let failed = answers.iter().any(|(_, outcome, _)| outcome.is_err());
    let solved: Vec<_> = answers
        .iter()
        .filter_map(|(_, outcome, _)| outcome.as_ref().ok().map(|(solution, ..)| solution))
        .collect();
    let volumes = volume::run(&loaded.network, &solved);
    if args.json {
        let mut named = Vec::new();
        let mut marches = Vec::new();
        for (case, outcome, march) in answers {
            marches.extend(march.map(|march| (&case.name, time_json(&march))));
            named.push((case.name.clone(), outcome));
        }
        let mut value = solve_json(&loaded.network, &named, &volumes);
        for (name, march) in marches {
            value["cases"][name.as_str()]["time"] = march;
        }
        output::json(&value);
    } else if typed.csv {
        output::result(&solve_csv(&solved));
    } else {
        let mut whole: Report = opening(&loaded.network);
        for (case, outcome, march) in &answers {
            whole.blocks.extend(match (outcome, march) {
                (Ok((_, _, bands)), Some(march)) => time_report(march, bands, loaded.family).blocks,
                (Ok((solution, rows, bands)), None) => {
                    case_report(solution, rows, bands, loaded.family).blocks
                }
                (Err(error), _) => failure_report(case, error, loaded.family).blocks,
            });
        }
        let coolant = volume_report(&volumes, loaded.family);
        whole.blocks.extend(coolant.blocks);
        whole.blocks.extend(closing().blocks);
        output::report(&whole);
        if let Some(marks) = terminal::marks(typed.chart) {
            for solution in &solved {
                let charts = case_charts(solution, loaded.family, terminal::width(), marks);
                output::result(&charts);
            }
        }
    }
    if failed {
        Exit::NoSolution
    } else {
        Exit::Answered
    }
}
