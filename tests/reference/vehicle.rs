//! A whole vehicle, two loops on one divided radiator, against one coupled root in SciPy. Validation F5 [C].
//!
//! `scripts/vehicle.py` writes the design and its answer: pumps and fan by PCHIP, hoses by Churchill, cores by the exact
//! crossflow series, ram air, covered and uncovered strips, battery heat falling with temperature, coolant of CoolProp.
//! The three cases meet laminar and turbulent cores; none works on the bridge from Re 2300 to 4000, which is the
//! crate's own. Cores are of rectangular tubes, whose laminar constant is exact on both sides.
//!
//! Measured: flows within 5.3e-11, temperatures within 7.7e-11 K, air within 1.2e-12.

use loopwright::{design::Source, network::Network, solve::Solver};

/// Flows, relative. What limits it: the passes of flow and heat end when no temperature moves by 3e-8 K.
const FLOW_OWED: f64 = 1e-8;
/// Temperatures, K; as above, and the flow and heat that follow.
const TEMPERATURE_OWED_K: f64 = 1e-6;
/// Air flows, relative: no pass, Newton alone.
const AIR_OWED: f64 = 1e-9;

#[test]
fn a_vehicle_agrees_with_one_coupled_root() {
    let source =
        Source::read(include_str!("data/derived_vehicle.json")).unwrap_or_else(|e| panic!("{e:?}"));
    let network = Network::build(&source.design).unwrap_or_else(|e| panic!("{e:?}"));
    let mut solver = Solver::new(&network);
    let rows: Vec<Vec<&str>> = include_str!("data/derived_vehicle.csv")
        .lines()
        .filter(|l| !l.starts_with('#') && !l.starts_with("case"))
        .map(|l| l.split(',').collect())
        .collect();
    let (mut flow_off, mut kelvin_off, mut air_off) = (0.0_f64, 0.0_f64, 0.0_f64);
    for case in network.cases() {
        let solution = solver.solve(case).unwrap_or_else(|e| panic!("{e}"));
        let raw = solver.solve_raw(case).unwrap_or_else(|e| panic!("{e}"));
        let air = &raw.airs[0].flow;
        for owner in ["battery", "drive"] {
            assert!(solution.closure(owner).expect("a loop").is_met());
        }
        let mut seen = 0;
        for row in rows.iter().filter(|r| r[0] == case.name) {
            let expected: f64 = row[2].parse().expect("a number");
            let words: Vec<&str> = row[1].splitn(3, ' ').collect();
            seen += 1;
            match words[..] {
                ["air", core, strip] => {
                    let path = &network.air_paths()[0];
                    let label = match strip {
                        "covered" => format!("nose.{core} under fan"),
                        _ => format!("nose.{core} uncovered"),
                    };
                    let element = path
                        .net
                        .elements
                        .iter()
                        .position(|e| e.id.as_str() == label);
                    let element = element.expect("a strip");
                    let branch = path.net.branch_of_elements()[element];
                    let got = air.flow_kg_s[branch];
                    let off = (got - expected).abs() / expected.abs().max(0.01);
                    assert!(off < AIR_OWED, "{row:?}: {got}");
                    air_off = air_off.max(off);
                }
                ["flow", ..] => {
                    let (owner, part) = if row[1] == "flow motor" {
                        ("drive", "motor")
                    } else {
                        ("battery", &row[1][5..])
                    };
                    let got = solution.part(owner, part).expect("a part").mass_flow_kg_s;
                    let off = (got / expected - 1.0).abs();
                    assert!(off < FLOW_OWED, "{row:?}: {got}, off {off:.2e}");
                    flow_off = flow_off.max(off);
                }
                [owner, what, part] => {
                    let state = solution.part(owner, part).expect("a part");
                    let got = match what {
                        "inlet" => state.inlet_temperature_k,
                        "outlet" => state.outlet_temperature_k,
                        _ => state.part_temperature_k.expect("a module"),
                    };
                    let off = (got - 273.15 - expected).abs();
                    assert!(off < TEMPERATURE_OWED_K, "{row:?}: {got}, off {off:.2e} K");
                    kelvin_off = kelvin_off.max(off);
                }
                _ => panic!("{row:?}"),
            }
        }
        assert_eq!(seen, 20, "{}", case.name);
    }
    println!("vehicle: flows {flow_off:.1e}, temperatures {kelvin_off:.1e} K, air {air_off:.1e}");
}
