//! `loopwright layout`: same end, opposite end or centre, cold and warm.

use super::args::LayoutArgs;
use super::exit::Exit;
use super::input::load;
use super::output;
use loopwright::quantity::Temperature;
use loopwright::report::{layout_json, layout_report};
use loopwright::study::layout::{self, LayoutQuestion};

/// Runs the verb.
pub fn run(args: &LayoutArgs) -> Exit {
    let loaded = match load(&args.design) {
        Ok(loaded) => loaded,
        Err(exit) => return exit,
    };
    let question = LayoutQuestion {
        cold_k: args.cold.map(Temperature::k),
        warm_k: args.warm.map(Temperature::k),
    };
    let case = args
        .design
        .cases
        .first()
        .or_else(|| loaded.design.cases.keys().next())
        .cloned()
        .unwrap_or_default();
    let answers = match layout::run(&loaded.design, Some(&case), question) {
        Ok(answers) => answers,
        Err(error) => {
            output::message(&format!("error: {error}"));
            return Exit::WrongInput;
        }
    };
    if args.design.json {
        output::json(&layout_json(&loaded.design.title, &case, &answers));
    } else {
        output::report(&layout_report(
            &loaded.design.title,
            &case,
            &answers,
            loaded.family,
        ));
    }
    Exit::Answered
}
