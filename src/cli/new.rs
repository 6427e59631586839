//! `loopwright new`: a first design to change.

use super::args::{NewArgs, NewKind, NewLoop, Units};
use super::exit::Exit;
use super::output;
use super::write::{Existing, whole};
use loopwright::quantity::UnitFamily;
use loopwright::starter::{StockList, Wish, WishError, WishedLoop, bench, header, vehicle};

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
            let next = match stock(args.kind) {
                Some(list) => format!("size {} DESIGN --stock {name}", list.sizes()),
                None => format!("check {name}"),
            };
            output::message(&format!("wrote {name}; next: loopwright {next}"));
            Exit::Answered
        }
        Err(error) => {
            output::message(&format!("error: {error}"));
            Exit::WrongInput
        }
    }
}

/// The stock list of a kind, where it is one.
fn stock(kind: NewKind) -> Option<StockList> {
    match kind {
        NewKind::Pumps => Some(StockList::Pumps),
        NewKind::Hoses => Some(StockList::Hoses),
        NewKind::Headers => Some(StockList::Headers),
        NewKind::Vehicle | NewKind::Header | NewKind::Bench => None,
    }
}

fn text(args: &NewArgs, units: UnitFamily) -> Result<String, WishError> {
    if let Some(list) = stock(args.kind) {
        return Ok(list.text().to_owned());
    }
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
        _ => Ok(bench(units)),
    }
}
