//! Three loops on stacked radiators against one coupled root in SciPy. Validation F5 [C], extended.
//!
//! `scripts/stacked.py` writes the design and its answer: a battery core before a radiator cut by face into two cores that
//! share a tank plate, grille and shroud losses, a fan that covers part of the rear, ram air past the rest. In the case
//! at a stand the uncovered face breathes backwards, from the bay, and that air mixes before the front face.
//! Coolant, hoses, pumps and tubes are those of `vehicle.rs`; all cores are laminar here.

use loopwright::{design::Source, network::Network, solve::Solver};

/// Flows of coolant, relative; as in `vehicle.rs`.
const FLOW_OWED: f64 = 1e-8;
/// Temperatures, K. They follow the air.
const TEMPERATURE_OWED_K: f64 = 5e-6;
/// Heats, relative to the largest of the case: the same.
const HEAT_OWED: f64 = 1e-6;
/// Air flows, relative to the largest. The crate's losses carry a linear share that equals the quadratic one at 1e-6 m/s.
const AIR_OWED: f64 = 1e-5;

#[test]
fn stacked_radiators_with_a_tank_plate_and_a_grille_agree_with_one_coupled_root() {
    let source =
        Source::read(include_str!("data/derived_stacked.json")).unwrap_or_else(|e| panic!("{e:?}"));
    let network = Network::build(&source.design).unwrap_or_else(|e| panic!("{e:?}"));
    let mut solver = Solver::new(&network);
    let rows: Vec<Vec<&str>> = include_str!("data/derived_stacked.csv")
        .lines()
        .filter(|l| !l.starts_with('#') && !l.starts_with("case"))
        .map(|l| l.split(',').collect())
        .collect();
    let [mut flow_off, mut kelvin_off, mut heat_off, mut air_off] = [0.0_f64; 4];
    for case in network.cases() {
        let solution = solver.solve(case).unwrap_or_else(|e| panic!("{e}"));
        let raw = solver.solve_raw(case).unwrap_or_else(|e| panic!("{e}"));
        for owner in ["battery", "drive", "aux"] {
            assert!(solution.closure(owner).expect("a loop").is_met());
        }
        for (path, closure) in solution.air_closures() {
            assert!(closure.is_met(), "{path}: {closure:?}");
        }
        let path = &network.air_paths()[0];
        let stream = |label: &str| {
            let found = path.net.elements.iter();
            let element = found.clone().position(|e| e.id.as_str() == label);
            let element = element.unwrap_or_else(|| {
                panic!(
                    "{label}: {:?}",
                    found.map(|e| e.id.as_str()).collect::<Vec<_>>()
                )
            });
            raw.airs[0].flow.flow_kg_s[path.net.branch_of_elements()[element]]
        };
        let core = |owner: &str| {
            let radiator = if owner == "battery" { "front" } else { "rear" };
            let mut cores = solution.cores(radiator).into_iter();
            cores.find(|c| c.core == owner).expect("a core")
        };
        let own: Vec<_> = rows.iter().filter(|r| r[0] == case.name).collect();
        let most_air = stream("front grille").abs();
        let mut seen = 0;
        for row in &own {
            let expected: f64 = row[2].parse().expect("a number");
            let words: Vec<&str> = row[1].split(' ').collect();
            seen += 1;
            match words[..] {
                ["flow", owner] => {
                    let got = solution.part(owner, "pump").expect("it").mass_flow_kg_s;
                    let off = (got / expected - 1.0).abs();
                    assert!(off < FLOW_OWED, "{row:?}: {got}, off {off:.2e}");
                    flow_off = flow_off.max(off);
                }
                ["to_air" | "leak", owner, ..] => {
                    let core = core(owner);
                    let leaks: f64 = core.tank_leaks.iter().map(|l| l.heat_w).sum();
                    let (got, sign) = match words[0] {
                        "leak" => (-leaks, "to aux"),
                        _ => (core.heat_rejected_w + leaks, "to air"),
                    };
                    let off = (got - expected).abs() / 3000.0;
                    assert!(off < HEAT_OWED, "{row:?} {sign}: {got}, off {off:.2e}");
                    heat_off = heat_off.max(off);
                }
                [what @ ("inlet" | "outlet" | "air_in" | "air_out"), owner] => {
                    let core = core(owner);
                    let got = match what {
                        "inlet" => core.inlet_temperature_k,
                        "outlet" => core.outlet_temperature_k,
                        "air_in" => core.air_inlet_temperature_k.expect("air"),
                        _ => core.air_outlet_temperature_k.expect("air"),
                    };
                    let off = (got - 273.15 - expected).abs();
                    assert!(off < TEMPERATURE_OWED_K, "{row:?}: {got}, off {off:.2e} K");
                    kelvin_off = kelvin_off.max(off);
                }
                _ => {
                    let label = match words[..] {
                        ["grille"] => "front grille".to_owned(),
                        ["stream", "lost"] => {
                            "front.battery before rear lost face uncovered".to_owned()
                        }
                        ["stream", "beside"] => "front.battery uncovered".to_owned(),
                        ["stream", owner, "covered"] => {
                            format!("front.battery before rear.{owner} under fan")
                        }
                        ["stream", owner, "open"] => {
                            format!("front.battery before rear.{owner} uncovered")
                        }
                        _ => panic!("{row:?}"),
                    };
                    let off = (stream(&label) - expected).abs() / most_air;
                    assert!(off < AIR_OWED, "{row:?}: off {off:.2e}");
                    air_off = air_off.max(off);
                }
            }
        }
        assert_eq!(seen, 26, "{}", case.name);
    }
    println!(
        "stacked: flows {flow_off:.1e}, temperatures {kelvin_off:.1e} K, heats {heat_off:.1e}, air {air_off:.1e}"
    );
}
