//! What is done with one input of each fuzz target. `tests/corpus.rs` does the same with every kept input, without a fuzzer.

use loopwright::design::{Change, Source, Style, render};
use loopwright::network::Network;
use loopwright::quantity::{Kind, UnitFamily, text_si};
use loopwright::solve::{Linearised, NoSlopes, Solution, Solver, Unknown};
use serde_json::{Map, Value, json};

/// Bytes of a file: they are read and built, or refused in words; what was read writes and reads back as itself.
pub fn document(data: &[u8]) {
    match Source::read_bytes(data) {
        Ok(source) => {
            let again = source.design.to_value().to_string();
            let again = Source::read(&again).expect("what was read can be read again");
            if let Err(error) = Network::build(&again.design) {
                let faults = error.into_faults(&again.document);
                assert!(!faults.is_empty());
                let _ = render(&faults, "input", again.document.text(), Style::Plain);
            }
        }
        Err(faults) => {
            assert!(!faults.is_empty());
            let _ = render(
                &faults,
                "input",
                &String::from_utf8_lossy(data),
                Style::Plain,
            );
        }
    }
}

/// A text against every kind of quantity: what is read is finite and, written exactly, is read again as the same.
pub fn quantity(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else {
        return;
    };
    for kind in Kind::ALL {
        if let Ok(si) = kind.parse(text) {
            assert!(si.is_finite(), "{kind:?} `{text}`");
            for family in [UnitFamily::Metric, UnitFamily::Us] {
                let written = text_si(*kind, si, family);
                let again = kind.parse(&written);
                // An absolute pressure writes as one; the kind that takes both keeps no word for it here.
                if *kind != Kind::Pressure {
                    // degF and degC have different zeros, so a point takes a rounding on the way.
                    let room = 1e-12 * si.abs();
                    assert!(
                        again.is_ok_and(|a| (a - si).abs() <= room),
                        "{kind:?} `{text}` as `{written}`"
                    );
                }
            }
        }
    }
}

/// Changes of a design, one a line, as after `--set`: refused in words, or made so that the text is still JSON.
pub fn change(data: &[u8]) {
    const DESIGN: &str = include_str!("../networks/camper-heater.json");
    let Ok(text) = std::str::from_utf8(data) else {
        return;
    };
    let source = Source::read(DESIGN).expect("a sample");
    let changes: Vec<Change> = text
        .lines()
        .take(4)
        .filter_map(|l| l.parse().ok())
        .collect();
    if changes.is_empty() {
        return;
    }
    if let Ok(changed) = source.document.changed(&changes)
        && let Ok(source) = Source::read(&changed)
    {
        let _ = Network::build(&source.design);
    }
}

/// A small design made of the bytes: it is read, built and solved with its closures met and finite numbers, or refused.
pub fn solve(data: &[u8]) {
    let design = Bytes { data, at: 0 }.design();
    let text = design.to_string();
    let source = match Source::read(&text) {
        Ok(source) => source,
        Err(faults) => {
            panic!("the maker of designs made one that cannot be read: {faults:?}\n{text}")
        }
    };
    let Ok(network) = Network::build(&source.design) else {
        return;
    };
    let mut solver = Solver::new(&network);
    for case in network.cases() {
        let outcome = match solver.march(case, &Default::default(), &mut |_, _, _| {}) {
            Ok(None) => solver.solve(case),
            Ok(Some((end, _))) => Ok(end),
            Err(error) => Err(error),
        };
        match outcome {
            Ok(solution) => {
                judge(&solution, &text);
                slopes(&solution, &text);
            }
            Err(error) => assert!(!error.to_string().is_empty()),
        }
    }
}

fn judge(solution: &Solution<'_>, text: &str) {
    for name in solution.loop_names() {
        let closure = solution.closure(name).expect("a loop");
        assert!(closure.is_met(), "{closure:?}\n{text}");
        for part in solution.parts(name) {
            let numbers = [
                part.mass_flow_kg_s,
                part.volume_flow_m3_s,
                part.pressure_drop_pa,
                part.inlet_total_pressure_pa,
                part.outlet_total_pressure_pa,
                part.inlet_temperature_k,
                part.outlet_temperature_k,
                part.heat_w,
            ];
            assert!(numbers.iter().all(|v| v.is_finite()), "{part:?}\n{text}");
        }
    }
}

/// Slopes of every flow and temperature: finite, or none for a reason.
fn slopes(solution: &Solution<'_>, text: &str) {
    let mut at = match Linearised::new(solution) {
        Ok(at) => at,
        Err(NoSlopes::InTime | NoSlopes::Singular) => return,
        Err(other) => panic!("{other}\n{text}"),
    };
    let network = solution.network();
    for (circuit, own) in network.loops().iter().enumerate() {
        let branches = 0..own.net.branches.len();
        let nodes = 0..own.net.nodes.len();
        let flows = branches
            .clone()
            .map(|branch| Unknown::Flow { circuit, branch });
        let temperatures = nodes.clone().map(|node| Unknown::Node { circuit, node });
        for unknown in flows.chain(temperatures) {
            let Ok(gradient) = at.gradient(&[(unknown, 1.0)]) else {
                continue;
            };
            let over_losses = branches.clone().map(|b| gradient.over_loss(circuit, b));
            let over_heats = nodes.clone().map(|n| gradient.over_node_heat(circuit, n));
            for slope in over_losses.chain(over_heats) {
                assert!(slope.is_finite(), "{unknown:?}: {slope}\n{text}");
            }
        }
    }
}

/// Choices drawn from the bytes; zero where they have ended.
struct Bytes<'d> {
    data: &'d [u8],
    at: usize,
}

impl Bytes<'_> {
    fn next(&mut self) -> u8 {
        let byte = self.data.get(self.at).copied().unwrap_or(0);
        self.at += 1;
        byte
    }

    fn below(&mut self, limit: u8) -> u8 {
        self.next() % limit
    }

    /// From `low` to `high`, in equal ratios.
    fn spread(&mut self, low: f64, high: f64) -> f64 {
        low * (high / low).powf(f64::from(self.next()) / 255.0)
    }

    /// From `low` to `high`, in equal steps.
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * f64::from(self.next()) / 255.0
    }

    fn design(&mut self) -> Value {
        let coolant = match self.below(3) {
            0 => json!({ "water": {} }),
            1 => json!({ "ethylene_glycol": { "volume_fraction": self.between(0.0, 0.6) } }),
            _ => json!({ "propylene_glycol": { "volume_fraction": self.between(0.0, 0.6) } }),
        };
        let open = self.below(4) == 0;
        let (mut parts, mut runs) = (Map::new(), Vec::new());
        let (first, last) = if open {
            let pressure = format!("{} kPa", self.between(-20.0, 300.0));
            parts.insert("in".into(), json!({ "open_end": { "pressure": pressure } }));
            parts.insert("out".into(), json!({ "open_end": {} }));
            ("in", "out")
        } else {
            parts.insert("tank".into(), json!({ "expansion_tank": {} }));
            ("tank", "tank")
        };
        let mut heat = Map::new();
        if self.below(2) == 0 {
            let trunk = vec![first.to_owned()];
            let mut run = self.chain(trunk, &mut parts, &mut heat);
            run.push(last.to_owned());
            runs.push(run);
        } else {
            self.split(first, last, &mut parts, &mut runs, &mut heat);
        }
        let mut cases = Map::new();
        for k in 0..=self.below(2) {
            cases.insert(format!("case {k}"), self.case(&heat));
        }
        json!({
            "format": 1, "title": "made of bytes", "coolants": { "mix": coolant },
            "loops": { "loop": { "coolant": "mix", "parts": parts, "runs": runs } }, "cases": cases
        })
    }

    /// A trunk that divides into two or three branches at joints or tees.
    fn split(
        &mut self,
        first: &str,
        last: &str,
        parts: &mut Map<String, Value>,
        runs: &mut Vec<Vec<String>>,
        heat: &mut Map<String, Value>,
    ) {
        let tees = self.below(2) == 0;
        let (from, to) = if tees {
            for name in ["t", "u"] {
                let bores =
                    [self.spread(1.0, 60.0), self.spread(1.0, 60.0)].map(|b| format!("{b} mm"));
                parts.insert(
                    name.into(),
                    json!({ "tee": { "straight_bore": bores[0], "side_bore": bores[1] } }),
                );
            }
            (["t.a", "t.b", "t.side"], ["u.a", "u.b", "u.side"])
        } else {
            parts.insert("t".into(), json!({ "joint": {} }));
            parts.insert("u".into(), json!({ "joint": {} }));
            (["t", "t", "t"], ["u", "u", "u"])
        };
        let turn = usize::from(self.below(3));
        let end = |ends: [&str; 3], k: usize| ends[(k + turn) % 3].to_owned();
        let mut run = self.chain(vec![first.to_owned()], parts, heat);
        run.push(end(from, 0));
        runs.push(run);
        for k in 1..3 {
            let mut run = self.chain(vec![end(from, k)], parts, heat);
            run.push(end(to, k));
            runs.push(run);
        }
        let mut run = self.chain(vec![end(to, 0)], parts, heat);
        run.push(last.to_owned());
        runs.push(run);
    }

    fn chain(
        &mut self,
        mut run: Vec<String>,
        parts: &mut Map<String, Value>,
        heat: &mut Map<String, Value>,
    ) -> Vec<String> {
        for _ in 0..=self.below(3) {
            let name = format!("p{}", parts.len());
            let (part, takes_heat) = self.part();
            parts.insert(name.clone(), part);
            if takes_heat {
                heat.insert(
                    format!("loop.{name}"),
                    json!(format!("{} W", self.spread(1.0, 2e4))),
                );
            }
            run.push(name);
        }
        run
    }

    fn part(&mut self) -> (Value, bool) {
        let part = match self.below(8) {
            0 => {
                let (rise, flow) = (self.spread(0.1, 400.0), self.spread(0.1, 300.0));
                let points: Vec<Value> = [(0.0, 1.0), (0.5, 0.8), (1.0, 0.0)]
                    .iter()
                    .map(|(q, p)| {
                        json!([format!("{} L/min", q * flow), format!("{} kPa", p * rise)])
                    })
                    .collect();
                json!({ "pump": { "curve": points, "speed": self.between(0.0, 2.0) } })
            }
            1 => {
                let points = [[
                    format!("{} L/min", self.spread(0.1, 60.0)),
                    format!("{} kPa", self.spread(0.01, 200.0)),
                ]];
                let drop = json!({ "coolant": "mix", "temperature": "25 degC", "points": points });
                let plate = json!({ "plate": { "pressure_drop": drop, "thermal_resistance": format!("{} K/W", self.spread(1e-4, 0.5)) } });
                return (plate, true);
            }
            2 => {
                json!({ "valve": { "kv": format!("{} m3/h", self.spread(0.01, 50.0)), "opening": self.between(0.0, 1.0) } })
            }
            3 => {
                json!({ "check_valve": { "pressure_drop": { "kv": format!("{} m3/h", self.spread(0.05, 50.0)) },
                "cracking_pressure": format!("{} kPa", self.between(0.0, 60.0)) } })
            }
            4 => json!({ "exchanger": {
                "pressure_drop": { "kv": format!("{} m3/h", self.spread(0.1, 50.0)) },
                "conductance": format!("{} W/K", self.spread(1.0, 5000.0)),
                "stream": { "temperature": format!("{} degC", self.between(-20.0, 60.0)), "flow": format!("{} L/min", self.spread(0.1, 300.0)) } } }),
            5 => {
                json!({ "heater": { "pressure_drop": { "kv": format!("{} m3/h", self.spread(0.1, 50.0)) }, "heat": format!("{} W", self.spread(1.0, 9000.0)) } })
            }
            6 => {
                json!({ "restrictor": { "thickness": "1.5 mm", "bore": format!("{} mm", self.spread(0.5, 12.0)), "pipe_bore": format!("{} mm", self.spread(12.5, 50.0)) } })
            }
            _ => {
                json!({ "hose": { "bore": format!("{} mm", self.spread(0.5, 200.0)), "length": format!("{} m", self.spread(0.01, 200.0)),
                "fittings": [ { "elbow_90": { "count": 1 + self.below(4) } } ] } })
            }
        };
        (part, false)
    }

    fn case(&mut self, heat: &Map<String, Value>) -> Value {
        let mut case = json!({ "air": format!("{} degC", self.between(-40.0, 55.0)) });
        match self.below(4) {
            0 => {
                case["coolant_temperature"] = json!(format!("{} degC", self.between(-30.0, 105.0)))
            }
            1 => {
                case["heat"] = Value::Object(heat.clone());
                case["duration"] = json!(format!("{} s", self.spread(1.0, 3000.0)));
                case["start_temperature"] = json!(format!("{} degC", self.between(0.0, 60.0)));
            }
            _ => case["heat"] = Value::Object(heat.clone()),
        }
        case
    }
}
