//! `loopwright new`: a first design to change.

use super::args::{NewArgs, NewKind, NewLoop, Units};
use super::exit::Exit;
use super::output;
use super::write::{Existing, whole};
use loopwright::quantity::UnitFamily;
use loopwright::starter::{Wish, WishError, WishedLoop, bench, header, vehicle};

/// Runs the verb.
pub fn run(args: &NewArgs) -> Exit {
    let units = match args.units {
        Some(Units::Us) => UnitFamily::Us,
        _ => UnitFamily::Metric,
    };
    let text = match text(args, units) {
        Ok(text) => text,
        Err(error) => {
            output::message(&format!("error: {error}"));
            return Exit::WrongInput;
        }
    };
    let Some(path) = &args.output else {
        output::result(&text);
        return Exit::Answered;
    };
    let existing = if args.force {
        Existing::Replace
    } else {
        Existing::Keep
    };
    match whole(path, text.as_bytes(), existing) {
        Ok(()) => {
            let name = path.display();
            output::message(&format!("wrote {name}; next: loopwright check {name}"));
            Exit::Answered
        }
        Err(error) => {
            output::message(&format!("error: {error}"));
            Exit::WrongInput
        }
    }
}

fn text(args: &NewArgs, units: UnitFamily) -> Result<String, WishError> {
    let basis = Wish::default();
    match args.kind {
        NewKind::Vehicle => vehicle(&Wish {
            modules: args.modules.unwrap_or(basis.modules),
            boxes: args.boxes.unwrap_or(basis.boxes),
            loops: args.loops.as_ref().map_or(basis.loops, |loops| {
                loops
                    .iter()
                    .map(|l| match l {
                        NewLoop::Battery => WishedLoop::Battery,
                        NewLoop::Drive => WishedLoop::Drive,
                    })
                    .collect()
            }),
            units,
        }),
        NewKind::Header => header(args.modules.unwrap_or(8), units),
        NewKind::Bench => Ok(bench(units)),
    }
}
