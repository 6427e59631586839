//! `loopwright schema`: the JSON Schema of a design file, of a stock list or of an answer.

use super::args::SchemaArgs;
use super::exit::Exit;
use super::output;
use loopwright::design::{schema, stock_schema};
use loopwright::report::answer_schema;

/// Runs the verb.
pub fn run(args: &SchemaArgs) -> Exit {
    match args.of.as_str() {
        "design" => output::json(schema()),
        "stock" => output::json(stock_schema()),
        answer => match answer_schema(answer) {
            Some(schema) => output::json(&schema),
            None => {
                output::message(&format!("error: there is no schema of `{answer}`"));
                return Exit::WrongInput;
            }
        },
    }
    Exit::Answered
}
