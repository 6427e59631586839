//! `loopwright check`: does the design meet its limits.

use super::args::DesignArgs;
use super::exit::Exit;
use super::input::load;
use super::output;
use loopwright::report::{check_json, check_report, closing};
use loopwright::study::{Verdict, check};

/// Runs the verb.
pub fn run(args: &DesignArgs) -> Exit {
    let loaded = match load(args) {
        Ok(loaded) => loaded,
        Err(exit) => return exit,
    };
    let answer = match check::run(&loaded.design, &args.cases) {
        Ok(answer) => answer,
        Err(error) => {
            output::message(&format!("error: {error}"));
            return Exit::WrongInput;
        }
    };
    if args.json {
        output::json(&check_json(&loaded.design.title, &answer));
    } else {
        let mut report = check_report(&loaded.design.title, &answer, loaded.family);
        report.blocks.extend(closing().blocks);
        output::report(&report);
    }
    match answer.verdict() {
        None => Exit::NoSolution,
        Some(Verdict::Missed) => Exit::No,
        Some(_) => Exit::Answered,
    }
}
