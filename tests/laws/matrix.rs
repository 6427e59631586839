//! The matrix of robustness: random designs at four flows, three temperatures and in six situations. Each is solved,
//! with every closure met, in few Newton steps: rest, a dead head, a shut branch and a stopped pump are solutions.

use crate::documents::network;
use crate::family::{Dice, random};
use loopwright::network::Case;
use loopwright::solve::Solver;
use serde_json::{Map, Value, json};

/// Designs of the matrix, by their seeds.
const DESIGNS: std::ops::Range<u64> = 0..200;
/// Flow over that of the design, as speed of its pumps.
const FLOWS: [f64; 4] = [0.01, 0.1, 1.0, 10.0];
/// Temperatures of all coolant, degC.
const TEMPERATURES: [f64; 3] = [-30.0, 25.0, 90.0];
/// A case may state five times the speed of a curve, so the curves of the matrix are those of twice the speed.
const CURVE_SPEED: f64 = 2.0;

/// What is done to a design.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Situation {
    /// A valve in one of its branches is shut.
    BranchShut,
    /// The first pump stands still, others run on.
    PumpStopped,
    /// A check valve holds back the pumps' delivery from their suction, another stands in some branch.
    CheckClosed,
    /// The pumps push the other way.
    Reversed,
    /// No pump turns.
    ZeroFlow,
    /// The one way through everything is shut behind the pumps.
    DeadHeaded,
}
use Situation::{BranchShut, CheckClosed, DeadHeaded, PumpStopped, Reversed, ZeroFlow};

/// Situations that are cases of one document, and those that need documents of their own.
const DOCUMENTS: [&[Situation]; 3] = [
    &[BranchShut, PumpStopped, ZeroFlow, DeadHeaded],
    &[CheckClosed],
    &[Reversed],
];

/// A design of the family, filled with glycol, with a gate before its cooler and a valve in one of its branches.
fn document(seed: u64, situations: &[Situation]) -> Value {
    let mut dice = Dice::new(seed ^ 0x6d61_7472_6978);
    let mut document = random(seed);
    document["loops"]["loop"]["coolant"] = json!("mix");
    let place = &mut document["loops"]["loop"];
    let mut runs: Vec<Vec<String>> = serde_json::from_value(place["runs"].take()).unwrap();
    let parts = place["parts"].as_object_mut().unwrap();
    parts.insert("gate".into(), json!({ "valve": { "kv": "8 m3/h" } }));
    parts.insert("cock".into(), json!({ "valve": { "kv": "3 m3/h" } }));
    // Any way between two tees or joints behind the pumps, but for the trunk's last piece.
    let inner: Vec<usize> = (0..runs.len())
        .filter(|r| {
            let ends = [&runs[*r][0], &runs[*r][runs[*r].len() - 1]];
            !ends
                .iter()
                .any(|e| ["tank", "suction", "delivery"].contains(&e.as_str()))
        })
        .collect();
    let branch = if inner.is_empty() {
        runs.iter()
            .position(|r| r[0] == "delivery" || r[r.len() - 1] == "delivery")
            .unwrap()
    } else {
        *dice.pick(&inner)
    };
    let at = runs[branch].len() - 1;
    runs[branch].insert(at, "cock".into());
    let check = |cracking: &str| json!({ "check_valve": { "pressure_drop": { "kv": "3 m3/h" }, "cracking_pressure": cracking } });
    if situations.contains(&CheckClosed) {
        let cracking: &str = dice.pick::<&str>(&["0 kPa", "2 kPa"]);
        parts.insert("flap".into(), check(cracking));
        runs[branch].insert(at, "flap".into());
        if dice.chance(0.5) {
            runs[branch].reverse();
        }
        parts.insert("past".into(), check("0.5 kPa"));
        runs.push(["suction", "past", "delivery"].map(Into::into).to_vec());
    }
    for run in &mut runs {
        if run.iter().any(|n| n == "cooler") {
            let behind = run.iter().position(|n| n == "cooler").unwrap();
            run.insert(behind, "gate".into());
        }
        let pumps = run.iter().any(|n| n.starts_with("pump "));
        if pumps && situations.contains(&Reversed) {
            run.reverse();
        }
    }
    for part in parts.values_mut() {
        if let Some(curve) = part.pointer_mut("/pump/curve") {
            for point in curve.as_array_mut().unwrap() {
                faster(&mut point[0], CURVE_SPEED);
                faster(&mut point[1], CURVE_SPEED * CURVE_SPEED);
            }
        }
    }
    let cases = cases(parts, situations);
    place["runs"] = json!(runs);
    document["cases"] = cases;
    document
}

/// Multiplies the number of a quantity.
fn faster(text: &mut Value, by: f64) {
    let (number, unit) = text.as_str().unwrap().split_once(' ').unwrap();
    *text = json!(format!("{} {unit}", by * number.parse::<f64>().unwrap()));
}

fn cases(parts: &Map<String, Value>, situations: &[Situation]) -> Value {
    let pumps = parts.iter().filter(|(_, part)| part.get("pump").is_some());
    let pumps: Vec<(String, f64)> = pumps
        .map(|(name, part)| {
            let speed = part["pump"]["speed"].as_f64().unwrap_or(1.0);
            (format!("loop.{name}"), speed)
        })
        .collect();
    let mut cases = Map::new();
    for situation in situations {
        for flow in FLOWS {
            for deg_c in TEMPERATURES {
                let speeds = pumps.iter().enumerate().map(|(k, (name, speed))| {
                    let stopped = *situation == ZeroFlow || (*situation == PumpStopped && k == 0);
                    let ratio = if stopped {
                        0.0
                    } else {
                        speed * flow / CURVE_SPEED
                    };
                    (name.clone(), json!(ratio))
                });
                let mut case = json!({ "air": "20 degC", "coolant_temperature": format!("{deg_c} degC"),
                    "pump_speed": speeds.collect::<Map<_, _>>() });
                match situation {
                    BranchShut => case["valve_opening"] = json!({ "loop.cock": 0 }),
                    DeadHeaded => case["valve_opening"] = json!({ "loop.gate": 0 }),
                    _ => {}
                }
                let name = format!("{situation:?} {} pct {deg_c} degC", 100.0 * flow);
                cases.insert(name, case);
            }
        }
    }
    Value::Object(cases)
}

/// Most Newton steps of any solve of the matrix.
const MOST: usize = 14;
/// Half of all solves take no more steps than this.
const MEDIAN: usize = 6;

#[test]
fn every_design_of_the_matrix_is_solved_at_any_flow_temperature_and_situation() {
    let clock = std::time::Instant::now();
    let (mut steps, mut bad) = (Vec::new(), Vec::new());
    for seed in DESIGNS {
        for situations in DOCUMENTS {
            let network = network(&document(seed, situations));
            let mut solver = Solver::new(&network);
            for case in network.cases() {
                match outcome(&mut solver, case) {
                    Ok(count) => {
                        if count > MOST {
                            bad.push(format!("{seed} {}: {count} steps", case.name));
                        }
                        steps.push(count);
                    }
                    Err(why) => bad.push(format!("{seed} {}: {why}", case.name)),
                }
            }
        }
    }
    steps.sort_unstable();
    let mut counts = vec![0; steps.last().unwrap() + 1];
    steps.iter().for_each(|s| counts[*s] += 1);
    let all = DESIGNS.count() * DOCUMENTS.concat().len() * FLOWS.len() * TEMPERATURES.len();
    println!(
        "{all} solves in {:?}, by steps: {counts:?}",
        clock.elapsed()
    );
    assert!(
        bad.is_empty(),
        "{} of {all}:\n{}",
        bad.len(),
        bad.join("\n")
    );
    assert_eq!(steps.len(), all);
    assert!(steps[all / 2] <= MEDIAN, "{counts:?}");
}

/// Newton steps of a case, or what is wrong with its answer.
fn outcome(solver: &mut Solver<'_>, case: &Case) -> Result<usize, String> {
    let clock = std::time::Instant::now();
    let solution = solver.solve_silently(case).map_err(|e| e.to_string())?;
    let closure = solution.closure("loop").unwrap();
    if !closure.is_met() {
        return Err(format!("{closure:?}"));
    }
    if clock.elapsed().as_secs_f64() > 2.0 {
        return Err(format!("{:?}", clock.elapsed()));
    }
    Ok(solution.effort().newton_iterations_max)
}
