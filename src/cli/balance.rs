//! `loopwright balance`: a restrictor for each branch, as drill sizes, warm and cold.

use super::exit::Exit;
use super::input::load;
use super::output::{self, Form};
use super::size::{in_seasons, refuse};
use super::size_args::{BalanceArgs, DrillName, TargetName};
use loopwright::quantity::{Length, Temperature, UnitFamily, VolumeFlow};
use loopwright::report::{balance_csv, balance_json, balance_report};
use loopwright::study::balance::{self, BalanceQuestion, DrillSet, Reached, Target};

/// Runs the verb: 0 where the target is reached, 1 where it is not.
pub fn run(args: &BalanceArgs) -> Exit {
    let loaded = match load(&args.design) {
        Ok(loaded) => loaded,
        Err(exit) => return exit,
    };
    let (design, cases) = match in_seasons(&loaded, &args.design, &args.season) {
        Ok(asked) => asked,
        Err(exit) => return exit,
    };
    let drills = match (args.drills, loaded.family) {
        (Some(DrillName::Metric), _) | (None, UnitFamily::Metric) => DrillSet::Metric,
        (Some(DrillName::Inch), _) | (None, UnitFamily::Us) => DrillSet::Inch,
    };
    let question = BalanceQuestion {
        owner: args.owner.clone(),
        banks: args.banks.clone(),
        target: match args.target {
            TargetName::Equal => Target::Equal,
            TargetName::Heat => Target::Heat,
        },
        thickness_m: args.thickness.map(Length::m),
        drills,
        within: args.within,
        least_flow_m3_s: args.flow.map(VolumeFlow::m3_s),
        cold_k: args.cold.map(Temperature::k),
        warm_k: args.warm.map(Temperature::k),
        cases,
    };
    let answer = match balance::run(&design, &question) {
        Ok(answer) => answer,
        Err(error) => return refuse(&error),
    };
    output::answer(
        Form::of(args.design.json, args.csv),
        || balance_json(&design.title, &answer),
        || balance_csv(&answer),
        || balance_report(&design.title, &answer, loaded.family),
    );
    if answer.reached == Reached::Yes {
        Exit::Answered
    } else {
        Exit::No
    }
}
