//! `loopwright sensitivity`: what moves the answers, and by how much.

use super::args::SensitivityArgs;
use super::exit::Exit;
use super::input::load;
use super::output::{self, Form};
use super::size::refuse;
use loopwright::report::{
    Keys, Remedies, SensitivityTold, sensitivity_csv, sensitivity_json, sensitivity_report,
};
use loopwright::study::sensitivity::{self, RemedySearch, SensitivityQuestion};

/// Changes told of each missed limit.
const REMEDIES: usize = 3;

/// Runs the verb: 0 where any case has slopes, 3 where none has.
pub fn run(args: &SensitivityArgs) -> Exit {
    let loaded = match load(&args.design) {
        Ok(loaded) => loaded,
        Err(exit) => return exit,
    };
    let question = SensitivityQuestion {
        cases: args.design.cases.clone(),
        outputs: args.output.clone(),
        inputs: args.input.clone(),
    };
    let answer = match sensitivity::run(&loaded.design, &question, &Keys) {
        Ok(answer) => answer,
        Err(error) => return refuse(&error),
    };
    let mut found = Remedies::new();
    let mut search = None;
    for case in &answer.cases {
        let worst = case.outputs.as_ref().ok().and_then(|o| o.first());
        let Some(worst) = worst.filter(|output| output.is_missed()) else {
            continue;
        };
        if search.is_none() {
            search = match RemedySearch::new(&loaded.design) {
                Ok(search) => Some(search),
                Err(error) => return refuse(&error.into()),
            };
        }
        if let Some(search) = &mut search {
            let list = search.find(&answer, &case.case, worst, REMEDIES);
            found.push((case.case.clone(), list));
        }
    }
    let told = SensitivityTold {
        inputs: args.top,
        every_limit: args.every_limit,
    };
    let title = &loaded.design.title;
    output::answer(
        Form::of(args.design.json, args.csv),
        || sensitivity_json(title, &answer, &found),
        || sensitivity_csv(&answer),
        || sensitivity_report(title, &answer, &found, told, loaded.family),
    );
    if answer.is_answered() {
        Exit::Answered
    } else {
        Exit::NoSolution
    }
}
