//! `loopwright sweep`: any output against any input.

use super::args::SweepArgs;
use super::exit::Exit;
use super::input::load;
use super::output;
use super::progress::Progress;
use super::terminal;
use loopwright::report::{
    Keys, SweepDigest, closing, sweep_csv_head, sweep_csv_row, sweep_json_row,
};
use loopwright::study::sweep::{Sampling, Sweep, SweepQuestion};
use std::ops::ControlFlow;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Runs the verb: 0 where any point has an answer, 3 where none has, 130 where the user ended it.
pub fn run(args: &SweepArgs) -> Exit {
    let loaded = match load(&args.design) {
        Ok(loaded) => loaded,
        Err(exit) => return exit,
    };
    let question = SweepQuestion {
        vary: args.vary.clone(),
        sampling: args.sobol.map_or(Sampling::Grid, Sampling::Sobol),
        cases: args.design.cases.clone(),
        outputs: args.output.clone(),
        threads: args.threads.map_or(0, usize::from),
    };
    let sweep = match Sweep::new(&loaded.design, &question, &Keys) {
        Ok(sweep) => sweep,
        Err(error) => {
            output::message(&format!("error: {error}"));
            return Exit::WrongInput;
        }
    };
    let ended = ended_by_user();
    let mut progress = Progress::new(sweep.points());
    let mut digest = SweepDigest::new(&sweep, &loaded.design.title, loaded.family);
    let text = !args.csv && !args.design.json;
    let mut read = true;
    if args.csv {
        read = output::row(&sweep_csv_head(&sweep));
    }
    let answer = sweep.run(&mut |row| {
        if args.csv {
            read &= output::row(&sweep_csv_row(&sweep, &row));
        } else if args.design.json {
            read &= output::json_line(&sweep_json_row(&sweep, &row));
        } else {
            digest.take(&row);
        }
        progress.tell(row.point + 1);
        if !read || ended.load(Ordering::Relaxed) {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    });
    let spent = progress.end();
    if text {
        output::report(&digest.report(&answer));
        output::result(&digest.plots(terminal::glyphs()));
        output::report(&closing());
    }
    if let Some(spent) = spent {
        output::message(&format!(
            "{} points in {:.1} s: {:.0} a second on {} threads",
            answer.done,
            spent.as_secs_f64(),
            answer.done as f64 / spent.as_secs_f64(),
            answer.threads
        ));
    }
    if answer.done < answer.points && read {
        output::message(&format!(
            "interrupted: {} of {} points are done, and their rows are whole",
            answer.done, answer.points
        ));
        Exit::Interrupted
    } else if answer.done > 0 && answer.failed == answer.done {
        Exit::NoSolution
    } else {
        Exit::Answered
    }
}

/// A flag that Ctrl-C raises. Where no handler can be set, Ctrl-C ends the program as it always does.
fn ended_by_user() -> Arc<AtomicBool> {
    let flag = Arc::new(AtomicBool::new(false));
    let raised = Arc::clone(&flag);
    let _ = ctrlc::set_handler(move || raised.store(true, Ordering::Relaxed));
    flag
}
