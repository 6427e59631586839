//! The `loopwright` program: parse the arguments, run the verb, return the exit code.

mod cli;

fn main() -> std::process::ExitCode {
    cli::run()
}
