//! `loopwright partition`: where to cut a radiator between two loops.

use super::args::PartitionArgs;
use super::exit::Exit;
use super::input::load;
use super::output::{self, Form};
use super::size::in_seasons;
use loopwright::report::{partition_csv, partition_json, partition_report};
use loopwright::study::partition::{self, PartitionQuestion};

/// Runs the verb: 0 where a cut fits, 1 where none does, 3 where no cut has an answer in every case.
pub fn run(args: &PartitionArgs) -> Exit {
    let loaded = match load(&args.design) {
        Ok(loaded) => loaded,
        Err(exit) => return exit,
    };
    let (design, cases) = match in_seasons(&loaded, &args.design, &args.season) {
        Ok(asked) => asked,
        Err(exit) => return exit,
    };
    let question = PartitionQuestion {
        radiator: args.radiator.clone(),
        between: args.between.clone(),
        cases,
    };
    let answer = match partition::run(&design, &question) {
        Ok(answer) => answer,
        Err(error) => {
            output::message(&format!("error: {error}"));
            return Exit::WrongInput;
        }
    };
    output::answer(
        Form::of(args.design.json, args.csv),
        || partition_json(&loaded.design.title, &answer),
        || partition_csv(&answer),
        || partition_report(&loaded.design.title, &answer, loaded.family),
    );
    if !answer.is_answered() {
        Exit::NoSolution
    } else if answer.window().is_none() {
        Exit::No
    } else {
        Exit::Answered
    }
}
