//! Wild networks: any graph of 2 to 200 parts with bores of 1 to 200 mm in one network, flows of 1e-6 to 1e-1 m3/s and
//! coolant from -34 to 109 degC. Each is solved with its closures met, or refused for the reason that its text predicts.

use crate::documents::{bank, design, hose, network, plate, tee};
use crate::family::Dice;
use loopwright::solve::Solver;
use serde_json::{Map, Value, json};

/// Networks, by their seeds.
const NETWORKS: u64 = 1000;
/// More of them, found among ten thousand, that are solved only where steps that creep end in a leap.
const CREPT: [u64; 4] = [1221, 8706, 9059, 9084];
/// Those of ten thousand that do not settle. They may be told so; an answer, if there is one, must close like any other.
const UNSETTLED: [u64; 3] = [4521, 8317, 9218];
/// With pressures of thousands to millions of bar. The finish of the first in its own scales comes to nothing: what its tees are
/// told of must still be in the scales that the equations have then. The others need a second finish.
const RESCALED: [u64; 3] = [9569, 78_957, 80_439];
/// Most time that a debug build may take for one of them, s.
const MOST_S: f64 = 5.0;

struct Wild {
    dice: Dice,
    parts: Map<String, Value>,
    runs: Vec<Vec<String>>,
}

impl Wild {
    /// A number between two, evenly in its logarithm.
    fn log(&mut self, low: f64, high: f64) -> f64 {
        self.dice.between(low.ln(), high.ln()).exp()
    }

    fn add(&mut self, kind: &str, part: Value) -> String {
        let name = format!("{kind} {}", self.parts.len());
        self.parts.insert(name.clone(), part);
        name
    }

    fn part(&mut self) -> String {
        match self.dice.below(12) {
            0..=5 => {
                let (bore, length) = (self.log(1.0, 200.0), self.log(0.05, 30.0));
                let mut hose = hose(bore, length);
                if self.dice.chance(0.3) {
                    hose["hose"]["fittings"] = json!([{ "elbow_90": { "count": 3 } }]);
                }
                self.add("hose", hose)
            }
            6 => {
                let pipe = self.log(2.0, 200.0);
                let bore = pipe * self.dice.between(0.15, 0.8);
                let part = json!({ "restrictor": { "bore": format!("{bore} mm"), "pipe_bore": format!("{pipe} mm"), "thickness": "3 mm" } });
                self.add("restrictor", part)
            }
            7 => {
                let opening = *self.dice.pick(&[0.0, 0.01, 0.3, 1.0]);
                let kv = self.log(0.01, 500.0);
                self.add(
                    "valve",
                    json!({ "valve": { "kv": format!("{kv} m3/h"), "opening": opening } }),
                )
            }
            8 => {
                let (kv, cracking) = (self.log(0.05, 500.0), *self.dice.pick(&[0.0, 0.3, 5.0]));
                let part = json!({ "check_valve": { "pressure_drop": { "kv": format!("{kv} m3/h") }, "cracking_pressure": format!("{cracking} kPa") } });
                self.add("check", part)
            }
            9 => {
                let count = 1 + self.dice.below(4);
                self.add("bank", bank(count, "same_end"))
            }
            _ => self.add("plate", plate()),
        }
    }

    fn pump(&mut self) -> String {
        let (kpa, l_min) = (self.log(0.05, 800.0), 60e3 * self.log(1e-6, 1e-1));
        let part = json!({ "pump": { "curve": [["0 L/min", format!("{kpa} kPa")],
            [format!("{} L/min", 0.5 * l_min), format!("{} kPa", 0.7 * kpa)], [format!("{l_min} L/min"), "0 kPa"]] } });
        self.add("pump", part)
    }
}

/// One network: a random tree of meeting points, more ways between them, and something that drives.
fn wild(seed: u64) -> Value {
    let mut wild = Wild {
        dice: Dice::new(seed ^ 0x7769_6c64),
        parts: Map::new(),
        runs: Vec::new(),
    };
    let most = *wild.dice.pick(&[2, 5, 12, 40, 110]);
    let count = 2 + wild.dice.below(most) / 2;
    let mut ways: Vec<[usize; 2]> = (1..count).map(|n| [wild.dice.below(n), n]).collect();
    for _ in 0..1 + wild.dice.below(count) {
        let (a, b) = (wild.dice.below(count), wild.dice.below(count));
        if a != b {
            ways.push([a, b]);
        }
    }
    wild.parts
        .insert("tank".into(), json!({ "expansion_tank": {} }));
    let mut names = vec!["tank".to_owned()];
    // Places of three ways are often tees, others joints, draws in and out, or an open end.
    let mut ends: Vec<Vec<String>> = vec![Vec::new(); count];
    for (n, ends) in ends.iter_mut().enumerate().skip(1) {
        let degree = ways.iter().flatten().filter(|end| **end == n).count();
        let name = if degree == 3 && wild.dice.chance(0.6) {
            let straight = wild.log(1.0, 200.0);
            let mut part = tee(straight, straight * wild.dice.between(0.1, 1.0));
            if wild.dice.chance(0.3) {
                part["tee"]["losses"] = json!("handbook");
            }
            let name = wild.add("tee", part);
            let mut legs = ["a", "b", "side"];
            legs.rotate_left(wild.dice.below(3));
            *ends = legs.iter().map(|leg| format!("{name}.{leg}")).collect();
            name
        } else if wild.dice.chance(0.08) {
            let key = *wild.dice.pick(&["inflow", "outflow"]);
            let flow = wild.log(1e-6, 1e-1);
            wild.add("draw", json!({ "draw": { key: format!("{flow} m3/s") } }))
        } else if wild.dice.chance(0.05) {
            let kpa = wild.dice.between(-50.0, 300.0);
            wild.add(
                "end",
                json!({ "open_end": { "pressure": format!("{kpa} kPa") } }),
            )
        } else {
            wild.add("joint", json!({ "joint": {} }))
        };
        names.push(name);
    }
    for (k, way) in ways.iter().enumerate() {
        let [from, to] = way.map(|n| ends[n].pop().unwrap_or_else(|| names[n].clone()));
        let mut run = vec![from];
        if k == 0 || wild.dice.chance(0.15) {
            run.push(wild.pump());
        }
        for _ in 0..1 + wild.dice.below(3) {
            run.push(wild.part());
        }
        run.push(to);
        wild.runs.push(run);
    }
    let deg_c = wild.dice.between(-34.0, 109.0);
    let case = json!({ "air": "20 degC", "coolant_temperature": format!("{deg_c} degC") });
    design(
        Value::Object(wild.parts),
        json!(wild.runs),
        json!({ "c": case }),
    )
}

/// Whether some draw has no way to or from any tank or open end, read off the text alone: a run with a shut valve passes
/// nothing, one with a check valve goes forward only. No other text may be refused.
fn lacks_a_way(document: &Value) -> bool {
    let circuit = &document["loops"]["loop"];
    let parts = circuit["parts"].as_object().unwrap();
    let point = |name: &str| name.split('.').next().unwrap_or(name).to_owned();
    let mut steps: Vec<(String, String)> = Vec::new();
    for run in circuit["runs"].as_array().unwrap() {
        let names: Vec<&str> = run
            .as_array()
            .unwrap()
            .iter()
            .filter_map(Value::as_str)
            .collect();
        let (from, to) = (point(names[0]), point(names[names.len() - 1]));
        let inside = || names[1..names.len() - 1].iter().map(|name| &parts[*name]);
        if inside().any(|part| part["valve"]["opening"] == json!(0.0)) {
            continue;
        }
        if !inside().any(|part| part.get("check_valve").is_some()) {
            steps.push((to.clone(), from.clone()));
        }
        steps.push((from, to));
    }
    let anchors = parts
        .iter()
        .filter(|(_, part)| part.get("expansion_tank").is_some() || part.get("open_end").is_some());
    let anchors: Vec<&String> = anchors.map(|(name, _)| name).collect();
    // Where coolant of an anchor may come to, or (`turned`) from where it may come to one.
    let reached = |turned: bool| -> Vec<String> {
        let mut known: Vec<String> = anchors.iter().map(|name| (*name).clone()).collect();
        while let Some(next) = steps.iter().find_map(|(from, to)| {
            let (from, to) = if turned { (to, from) } else { (from, to) };
            (known.contains(from) && !known.contains(to)).then(|| to.clone())
        }) {
            known.push(next);
        }
        known
    };
    let (out, back) = (reached(false), reached(true));
    parts.iter().any(|(name, part)| match part.get("draw") {
        Some(draw) if draw.get("outflow").is_some() => !out.contains(name),
        Some(_) => !back.contains(name),
        None => false,
    })
}

#[test]
fn wild_networks_are_solved_with_their_closures_met_or_refused_with_a_reason() {
    let clock = std::time::Instant::now();
    let (mut steps, mut refused, mut bad) = (Vec::new(), 0, Vec::new());
    let mut sizes = Vec::new();
    for seed in (0..NETWORKS).chain(CREPT).chain(UNSETTLED).chain(RESCALED) {
        let document = wild(seed);
        sizes.push(
            document["loops"]["loop"]["parts"]
                .as_object()
                .unwrap()
                .len(),
        );
        let network = network(&document);
        let mut solver = Solver::new(&network);
        let begun = std::time::Instant::now();
        match solver.solve(&network.cases()[0]) {
            Ok(solution) => {
                let closure = solution.closure("loop").unwrap();
                let finite = solution
                    .parts("loop")
                    .iter()
                    .all(|p| p.mass_flow_kg_s.is_finite() && p.pressure_drop_pa.is_finite());
                if !closure.is_met() || !finite {
                    bad.push((seed, "closure", format!("{closure:?}")));
                }
                steps.push(solution.effort().newton_iterations_max);
            }
            Err(e) if e.code() == "draw-without-way" && lacks_a_way(&document) => refused += 1,
            Err(e) if e.code() == "flows-unsettled" && UNSETTLED.contains(&seed) => {}
            Err(e) => bad.push((seed, e.code(), e.to_string())),
        }
        if begun.elapsed().as_secs_f64() > MOST_S {
            bad.push((seed, "time", format!("{:?}", begun.elapsed())));
        }
    }
    steps.sort_unstable();
    println!(
        "{NETWORKS} networks of {:?} to {:?} parts in {:?}: {refused} refused, {} bad, steps {:?} (half), {:?} (99 %), {:?} (most)",
        sizes.iter().min(),
        sizes.iter().max(),
        clock.elapsed(),
        bad.len(),
        steps[steps.len() / 2],
        steps[steps.len() * 99 / 100],
        steps.last()
    );
    assert!(bad.is_empty(), "{bad:#?}");
}
