//! `loopwright solve`: what flows where, how hot, for every case.

use super::args::SolveArgs;
use super::exit::Exit;
use super::input::load;
use super::output;
use super::terminal;
use loopwright::report::{
    Report, case_charts, case_report, closing, failure_report, opening, solve_csv, solve_json,
    time_json, time_report, volume_report,
};
use loopwright::study::cases::{self, SecondLook};
use loopwright::study::volume;

/// Runs the verb.
pub fn run(typed: &SolveArgs) -> Exit {
    let args = &typed.design;
    let loaded = match load(args) {
        Ok(loaded) => loaded,
        Err(exit) => return exit,
    };
    let limits = loaded.design.limits.clone().unwrap_or_default();
    let answers = cases::run(&loaded.network, &limits, &args.cases, SecondLook::Yes);
    let failed = answers.iter().any(|a| a.outcome.is_err());
    let solved: Vec<_> = answers
        .iter()
        .filter_map(|a| a.outcome.as_ref().ok().map(|(solution, ..)| solution))
        .collect();
    let volumes = volume::run(&loaded.network, &solved);
    if args.json {
        let mut named = Vec::new();
        let mut marches = Vec::new();
        for answer in answers {
            let name = answer.case.name;
            marches.extend(answer.march.map(|march| (name.clone(), time_json(&march))));
            named.push((name, answer.outcome));
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
        for answer in &answers {
            whole.blocks.extend(match (&answer.outcome, &answer.march) {
                (Ok((_, _, bands)), Some(march)) => time_report(march, bands, loaded.family).blocks,
                (Ok((solution, rows, bands)), None) => {
                    case_report(solution, rows, bands, loaded.family).blocks
                }
                (Err(error), _) => failure_report(&answer.case, error, loaded.family).blocks,
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
