//! The rest of the loop on a sample: shut-off, boiling and the thermostat in what a builder is told.

use loopwright::design::Source;
use loopwright::network::Network;
use loopwright::solve::Solver;
use loopwright::study::{Verdict, check, judge};

fn camper(touch: impl Fn(&str) -> String) -> Source {
    let text = touch(include_str!("../../networks/camper-heater.json"));
    Source::read(&text).unwrap_or_else(|e| panic!("{e:?}"))
}

#[test]
fn a_part_rated_above_its_running_pressure_is_missed_at_shut_off() {
    let source = camper(str::to_owned);
    let network = Network::build(&source.design).unwrap();
    let mut solver = Solver::new(&network);
    let solution = solver.solve(&network.cases()[0]).unwrap();
    let running = solution.part("heating", "heater").unwrap();
    let highest = running
        .inlet_static_gauge_pa
        .max(running.outlet_static_gauge_pa);
    let weak = format!("{} kPa", 1e-3 * highest + 2.0);
    let source =
        camper(|text| text.replace("\"max\": \"120 kPa\"", &format!("\"max\": \"{weak}\"")));
    let rows = judge(&solution, source.design.limits.as_ref().unwrap());
    let row = rows.iter().find(|r| r.limit == "part_pressure").unwrap();
    assert_eq!(row.verdict, Verdict::Missed);
    assert_eq!(row.limited_by, "heater, at shut-off, hot with cap");
    assert!(row.advice.contains("shut-off head"), "{}", row.advice);
}

#[test]
fn the_margin_to_boiling_is_judged_where_it_is_least() {
    let answer = check::run(&camper(str::to_owned).design, &[]).unwrap();
    for case in &answer.cases {
        let rows = case.limits.as_ref().unwrap();
        let row = rows.iter().find(|r| r.limit == "boiling_margin").unwrap();
        assert_eq!(row.verdict, Verdict::Met, "{}: {row:?}", case.case);
    }
    let strict = camper(|t| t.replace("\"min\": \"15 K\"", "\"min\": \"90 K\""));
    let answer = check::run(&strict.design, &[]).unwrap();
    let rows = answer.cases[1].limits.as_ref().unwrap();
    let row = rows.iter().find(|r| r.limit == "boiling_margin").unwrap();
    assert_eq!(row.verdict, Verdict::Missed);
    assert!(!row.limited_by.is_empty() && !row.advice.is_empty());
}

#[test]
fn the_thermostat_of_the_camper_is_shut_in_frost_and_open_on_the_hill() {
    let source = camper(str::to_owned);
    let network = Network::build(&source.design).unwrap();
    let mut solver = Solver::new(&network);
    let openings: Vec<f64> = network
        .cases()
        .iter()
        .map(|case| solver.solve(case).unwrap().thermostats("heating")[0].opening)
        .collect();
    assert_eq!(openings[0], 0.02);
    assert!(
        openings[1] > 0.05 && openings[1] < openings[2],
        "{openings:?}"
    );
}
