//! `loopwright size`: which pump, hose bores or header tube from a stock list.

use super::args::DesignArgs;
use super::exit::Exit;
use super::input::{Loaded, load, load_stock};
use super::output;
use super::size_args::{
    SeasonArgs, SizeHeaderArgs, SizeHoseArgs, SizePumpArgs, SizeVerb, StockArgs,
};
use loopwright::design::{Design, Stock};
use loopwright::quantity::{Length, PressureDifference, Temperature, Voltage};
use loopwright::report::{
    size_header_csv, size_header_json, size_header_report, size_hose_csv, size_hose_json,
    size_hose_report, size_pump_csv, size_pump_json, size_pump_report,
};
use loopwright::study::size::header::{self, HeaderQuestion};
use loopwright::study::size::hose::{self, HoseQuestion};
use loopwright::study::size::pump::{self, PumpQuestion};
use loopwright::study::{StudyError, season};

/// Runs the verb: 0 where something fits, 1 where nothing does, 3 where nothing has an answer.
pub fn run(verb: &SizeVerb) -> Exit {
    match verb {
        SizeVerb::Pump(args) => pump(args),
        SizeVerb::Hose(args) => hose(args),
        SizeVerb::Header(args) => header(args),
    }
    .unwrap_or_else(|refused| refused)
}

/// The design in the seasons asked for, and the cases of it that are left to choose.
pub fn in_seasons(
    loaded: &Loaded,
    args: &DesignArgs,
    seasons: &SeasonArgs,
) -> Result<(Design, Vec<String>), Exit> {
    let seasons = seasons.seasons();
    if seasons.is_empty() {
        return Ok((loaded.design.clone(), args.cases.clone()));
    }
    match season::apply(&loaded.design, &seasons, &args.cases) {
        Ok(design) => Ok((design, Vec::new())),
        Err(error) => Err(refuse(&error)),
    }
}

/// Tells why a study cannot be asked.
pub fn refuse(error: &StudyError) -> Exit {
    output::message(&format!("error: {error}"));
    match error {
        StudyError::Solve(_) => Exit::NoSolution,
        _ => Exit::WrongInput,
    }
}

struct Asked {
    loaded: Loaded,
    design: Design,
    cases: Vec<String>,
    stock: Stock,
}

fn read(args: &StockArgs) -> Result<Asked, Exit> {
    let loaded = load(&args.design)?;
    let stock = load_stock(&args.stock)?;
    let (design, cases) = in_seasons(&loaded, &args.design, &args.season)?;
    Ok(Asked {
        loaded,
        design,
        cases,
        stock,
    })
}

fn verdict(fits: bool, is_answered: bool) -> Exit {
    match (fits, is_answered) {
        (true, _) => Exit::Answered,
        (false, true) => Exit::No,
        (false, false) => Exit::NoSolution,
    }
}

fn pump(args: &SizePumpArgs) -> Result<Exit, Exit> {
    let asked = read(&args.stock)?;
    let question = PumpQuestion {
        pump: args.pump.clone(),
        supplies_v: args.supplies.iter().map(|v| Voltage::v(*v)).collect(),
        cases: asked.cases.clone(),
    };
    let answer = pump::run(&asked.design, &asked.stock, &question).map_err(|e| refuse(&e))?;
    let title = &asked.design.title;
    output::answer(
        args.stock.form(),
        || size_pump_json(title, &answer),
        || size_pump_csv(&answer),
        || size_pump_report(title, &answer, asked.loaded.family),
    );
    Ok(verdict(answer.best().is_some(), answer.is_answered()))
}

fn hose(args: &SizeHoseArgs) -> Result<Exit, Exit> {
    let asked = read(&args.stock)?;
    let question = HoseQuestion {
        owner: args.owner.clone(),
        pressure_pa: args.pressure.map(PressureDifference::pa),
        most_trials: args.most,
        cases: asked.cases.clone(),
    };
    let answer = hose::run(&asked.design, &asked.stock, &question).map_err(|e| refuse(&e))?;
    let title = &asked.design.title;
    output::answer(
        args.stock.form(),
        || size_hose_json(title, &answer),
        || size_hose_csv(&answer),
        || size_hose_report(title, &answer, asked.loaded.family),
    );
    Ok(verdict(answer.best.is_some(), true))
}

fn header(args: &SizeHeaderArgs) -> Result<Exit, Exit> {
    let asked = read(&args.stock)?;
    let question = HeaderQuestion {
        bank: args.bank.clone(),
        port_bores_m: args.port_bores.iter().map(|b| Length::m(*b)).collect(),
        cold_k: args.cold.map(Temperature::k),
        warm_k: args.warm.map(Temperature::k),
        cases: asked.cases.clone(),
    };
    let answer = header::run(&asked.design, &asked.stock, &question).map_err(|e| refuse(&e))?;
    let title = &asked.design.title;
    output::answer(
        args.stock.form(),
        || size_header_json(title, &answer),
        || size_header_csv(&answer),
        || size_header_report(title, &answer, asked.loaded.family),
    );
    Ok(verdict(answer.best().is_some(), answer.is_answered()))
}
