//! `loopwright schema`: the JSON Schema of a design file.

use super::exit::Exit;
use super::output;

/// Runs the verb.
pub fn run() -> Exit {
    output::json(loopwright::design::schema());
    Exit::Answered
}
