//! The program around the library: files, environment, standard streams and exit codes live here and nowhere else.

mod args;
mod check;
mod exit;
mod input;
mod layout;
mod output;
mod partition;
mod schema;
mod solve;

use args::{Args, Verb};
use clap::Parser;
use clap::error::ErrorKind;
use exit::Exit;

/// Parses the arguments, runs the verb and returns its exit code.
pub fn run() -> std::process::ExitCode {
    let args = match Args::try_parse() {
        Ok(args) => args,
        Err(error) => {
            let asked = matches!(
                error.kind(),
                ErrorKind::DisplayHelp | ErrorKind::DisplayVersion
            );
            // A closed pipe is not worth a message.
            let _ = error.print();
            return if asked {
                Exit::Answered
            } else {
                Exit::WrongInput
            }
            .into();
        }
    };
    match args.verb {
        Verb::Solve(solve) => solve::run(&solve),
        Verb::Check(check) => check::run(&check),
        Verb::Layout(layout) => layout::run(&layout),
        Verb::Partition(partition) => partition::run(&partition),
        Verb::Schema => schema::run(),
    }
    .into()
}
