//! `loopwright explain`: what a word of the program means.

use super::args::ExplainArgs;
use super::exit::Exit;
use super::output;
use loopwright::explain::{Topic, find, topics};
use loopwright::report::{topic_json, topic_list_report, topic_report};

/// Runs the verb.
pub fn run(args: &ExplainArgs) -> Exit {
    let Some(name) = args.topic.as_deref().filter(|_| !args.list) else {
        if args.json {
            output::json(&topic_json(&topics().iter().collect::<Vec<&Topic>>()));
        } else {
            output::report(&topic_list_report());
        }
        return Exit::Answered;
    };
    match find(name) {
        Ok(found) => {
            if args.json {
                output::json(&topic_json(&found));
            } else {
                output::report(&topic_report(&found));
            }
            Exit::Answered
        }
        Err(error) => {
            output::message(&format!("error: {error}"));
            Exit::WrongInput
        }
    }
}
