//! `loopwright solve`: what flows where, how hot, for every case.

use super::args::SolveArgs;
use super::exit::Exit;
use super::input::load;
use super::output;
use super::terminal;
use loopwright::report::{
    case_charts, case_report, closing, failure_report, opening, render, solve_csv, solve_json,
    time_json, time_report, volume_report,
};
use loopwright::study::cases::{self, SecondLook};
use loopwright::study::{on_all_threads, volume};
use std::io::IsTerminal;

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
        let family = loaded.family;
        let mut last = volume_report(&volumes, family);
        last.blocks.extend(closing().blocks);
        let paint = output::paint(std::io::stdout().is_terminal());
        let each = on_all_threads(&answers, |answer| {
            let report = match (&answer.outcome, &answer.march) {
                (Ok((_, _, bands)), Some(march)) => time_report(march, bands, family),
                (Ok((solution, rows, bands)), None) => case_report(solution, rows, bands, family),
                (Err(error), _) => failure_report(&answer.case, error, family),
            };
            render(&report, paint)
        });
        let first = render(&opening(&loaded.network), paint);
        let texts = std::iter::once(first).chain(each);
        let texts: Vec<String> = texts.chain([render(&last, paint)]).collect();
        output::result(&texts.join("\n"));
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
