//! `loopwright compare`: two designs side by side.

use super::args::CompareArgs;
use super::exit::Exit;
use super::input::{bytes_of, family, known_case, load_bytes, load_file};
use super::output::{self, Form};
use loopwright::design::Design;
use loopwright::report::{Keys, Told, compare_csv, compare_json, compare_report};
use loopwright::study::compare::{self, CompareQuestion};

/// Runs the verb: 1 where a limit is missed that was not before, 3 where a case has no answer in either.
pub fn run(args: &CompareArgs) -> Exit {
    let (first, second) = match both(args) {
        Ok(both) => both,
        Err(exit) => return exit,
    };
    for case in &args.cases {
        let known = first.cases.keys().chain(second.cases.keys());
        if let Err(exit) = known_case(case, known.map(String::as_str)) {
            return exit;
        }
    }
    let question = CompareQuestion {
        cases: args.cases.clone(),
        threshold: args.threshold,
    };
    let answer = match compare::run(&first, &second, &question, &Keys) {
        Ok(answer) => answer,
        Err(error) => {
            output::message(&format!("error: {error}"));
            return Exit::WrongInput;
        }
    };
    let told = if args.all { Told::All } else { Told::Most };
    output::answer(
        Form::of(args.json, args.csv),
        || compare_json(&answer),
        || compare_csv(&answer),
        || compare_report(&answer, told, family(args.units, &first)),
    );
    if answer.is_worse() {
        Exit::No
    } else if !answer.is_answered() {
        Exit::NoSolution
    } else {
        Exit::Answered
    }
}

/// The two designs; a file that serves for both is read once.
fn both(args: &CompareArgs) -> Result<(Design, Design), Exit> {
    let name = args.file.display().to_string();
    let bytes = bytes_of(&args.file)?;
    let (first, _) = load_bytes(&bytes, &name, &[])?;
    let (second, _) = match &args.other {
        Some(other) => load_file(other, &args.set)?,
        None => load_bytes(&bytes, &name, &args.set)?,
    };
    Ok((first, second))
}
