//! The program around the library: files, environment, standard streams and exit codes live here and nowhere else.

mod args;
mod balance;
mod check;
mod compare;
mod exit;
mod explain;
mod hash;
mod input;
mod layout;
mod manual;
mod new;
mod output;
mod partition;
mod progress;
mod report;
mod schema;
mod sensitivity;
mod size;
mod size_args;
mod solve;
mod sweep;
mod terminal;
mod write;

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
        Verb::New(new) => new::run(&new),
        Verb::Explain(explain) => explain::run(&explain),
        Verb::Sweep(sweep) => sweep::run(&sweep),
        Verb::Sensitivity(sensitivity) => sensitivity::run(&sensitivity),
        Verb::Compare(compare) => compare::run(&compare),
        Verb::Size(verb) => size::run(&verb),
        Verb::Balance(balance) => balance::run(&balance),
        Verb::Report(report) => report::run(&report),
        Verb::Schema(args) => schema::run(&args),
        Verb::Manual(manual) => manual::run(&manual),
    }
    .into()
}
