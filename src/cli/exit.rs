//! Exit codes: the whole list.

use std::process::ExitCode;

/// How the program ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exit {
    /// The question was answered.
    Answered,
    /// The answer is no: a limit is missed.
    No,
    /// The arguments or the design are wrong.
    WrongInput,
    /// No solution was found.
    NoSolution,
    /// The user ended it before the end; what was printed is whole.
    Interrupted,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(match exit {
            Exit::Answered => 0,
            Exit::No => 1,
            Exit::WrongInput => 2,
            Exit::NoSolution => 3,
            // What shells report for a program that is ended by Ctrl-C.
            Exit::Interrupted => 130,
        })
    }
}
