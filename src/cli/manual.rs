//! `loopwright manual`: completions for a shell, and man pages, both made from the arguments themselves.

use super::args::{Args, ManualArgs};
use super::exit::Exit;
use super::output;
use clap::CommandFactory;

/// Runs the verb.
pub fn run(args: &ManualArgs) -> Exit {
    let mut command = Args::command();
    let mut bytes = Vec::new();
    if let Some(shell) = args.completions {
        clap_complete::generate(shell, &mut command, "loopwright", &mut bytes);
    } else {
        command.build();
        let page = match &args.verb {
            None => command,
            Some(verb) => match command.find_subcommand(verb) {
                Some(found) => found.clone(),
                None => {
                    output::message(&format!(
                        "error: no verb is called `{verb}`; try `loopwright --help`"
                    ));
                    return Exit::WrongInput;
                }
            },
        };
        if let Err(error) = clap_mangen::Man::new(page).render(&mut bytes) {
            output::message(&format!("error: cannot write the page: {error}"));
            return Exit::WrongInput;
        }
    }
    output::result(&String::from_utf8_lossy(&bytes));
    Exit::Answered
}
