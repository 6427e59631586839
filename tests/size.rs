//! Sizing from a stock list: adding rules, affinity, exact search against brute force, and answers of "no".

use loopwright::design::{Design, Source, Stock};
use loopwright::network::Network;
use loopwright::part::Part;
use loopwright::quantity::{Power, PressureDifference, VolumeFlow};
use loopwright::solve::Solver;
use loopwright::study::size::header::{self, HeaderQuestion};
use loopwright::study::size::hose::{self, HoseQuestion};
use loopwright::study::size::pump::{self, Arrangement, PumpQuestion};
use loopwright::study::{Verdict, check};

/// A series loop with a plate, a keel cooler and two hose sizes; one pump.
const LOOP: &str = r#"{ "format": 1, "title": "skiff", "coolants": { "mix": { "ethylene_glycol": { "volume_fraction": 0.4 } } },
  "loops": { "drive": { "coolant": "mix",
    "parts": { "tank": { "expansion_tank": { "elevation": "0.8 m" } },
      "pump": { "pump": { "curve": [["0 L/min", "40 kPa"], ["10 L/min", "30 kPa"], ["20 L/min", "0 kPa"]], "elevation": "0.3 m" } },
      "out": { "hose": { "bore": "16 mm", "length": "2 m", "fittings": [{ "barb": { "bore": "13 mm", "count": 2 } }] } },
      "motor": { "plate": { "pressure_drop": { "coolant": "mix", "temperature": "25 degC", "points": [["4 L/min", "2.6 kPa"], ["8 L/min", "8.9 kPa"]] }, "thermal_resistance": "0.01 K/W" } },
      "keel": { "exchanger": { "pressure_drop": { "kv": "2.5 m3/h" }, "conductance": "250 W/K", "stream": { "temperature": "18 degC" } } },
      "home": { "hose": { "bore": "16 mm", "length": "3 m" } } },
    "runs": [["tank", "pump", "out", "motor", "keel", "home", "tank"]] } },
  "cases": { "cruise": { "air": "25 degC", "heat": { "drive.motor": "3 kW" } }, "slow": { "air": "25 degC", "heat": { "drive.motor": "1 kW" } } },
  "limits": { "part_flow": { "drive.motor": { "min": "8 L/min" } }, "hose_velocity": { "max": "1.6 m/s" } } }"#;

fn design(text: &str) -> Design {
    Source::read(text).expect("a sound design").design
}

fn shelf(pumps: &str) -> Stock {
    Stock::read(&format!(
        r#"{{ "format": 1, "title": "shelf", "pumps": {{ {pumps} }} }}"#
    ))
    .expect("a sound list")
}

const SMALL: &str = r#""small": { "rated_voltage": "12 V", "electrical_power": "20 W", "curve": [["0 L/min", "22 kPa"], ["6 L/min", "17 kPa"], ["12 L/min", "0 kPa"]] }"#;

/// Flow and rise of each pump of the loop, two of them written out in full.
fn written_out(text: &str) -> Vec<(f64, f64)> {
    let design = design(text);
    let network = Network::build(&design).expect("a network");
    let case = network
        .cases()
        .iter()
        .find(|c| c.name == "cruise")
        .expect("the case");
    let solution = Solver::new(&network).solve(case).expect("an answer");
    let pumps = solution.pumps("drive").into_iter();
    pumps
        .map(|p| (p.volume_flow_m3_s, p.pressure_rise_pa))
        .collect()
}

fn of(answer: &pump::PumpAnswer, arrangement: Arrangement, supply_v: f64) -> &pump::PumpPoint {
    let trial = answer
        .trials
        .iter()
        .find(|t| t.arrangement == arrangement)
        .expect("it was tried");
    let run = trial
        .runs
        .iter()
        .find(|r| r.supply_v == Some(supply_v))
        .expect("the supply");
    run.points
        .iter()
        .find(|p| p.case == "cruise")
        .expect("the case")
}

/// Source: the adding rules of alike pumps (common practice): the pair as one curve equals two pumps written out.
#[test]
fn pairs_equal_two_pumps_written_out_in_series_and_in_parallel() {
    let question = PumpQuestion {
        supplies_v: vec![12.0],
        ..PumpQuestion::default()
    };
    let answer = pump::run(&design(LOOP), &shelf(SMALL), &question).expect("an answer");
    let curve = r#""curve": [["0 L/min", "22 kPa"], ["6 L/min", "17 kPa"], ["12 L/min", "0 kPa"]], "electrical_power": "20 W", "elevation": "0.3 m""#;
    let own = r#""pump": { "pump": { "curve": [["0 L/min", "40 kPa"], ["10 L/min", "30 kPa"], ["20 L/min", "0 kPa"]], "elevation": "0.3 m" } }"#;
    let two =
        format!(r#""pump": {{ "pump": {{ {curve} }} }}, "second": {{ "pump": {{ {curve} }} }}"#);
    let series = LOOP.replace(own, &two).replace(
        r#""tank", "pump", "out""#,
        r#""tank", "pump", "second", "out""#,
    );
    let own_pumps = written_out(&series);
    let pair = of(&answer, Arrangement::Series, 12.0);
    let rise: f64 = own_pumps.iter().map(|p| p.1).sum();
    // The second pump stands in coolant that the first has warmed by hundredths of a kelvin.
    assert!(
        (pair.flow_m3_s / own_pumps[0].0 - 1.0).abs() < 1e-4,
        "{} {own_pumps:?}",
        pair.flow_m3_s
    );
    assert!(
        (pair.rise_pa / rise - 1.0).abs() < 1e-4,
        "{} {rise}",
        pair.rise_pa
    );
    let joints = format!(
        r#"{two}, "a": {{ "joint": {{}} }}, "b": {{ "joint": {{}} }}, "stub": {{ "hose": {{ "bore": "40 mm", "length": "1 mm" }} }}"#
    );
    let parallel = LOOP.replace(own, &joints).replace(
        r#"["tank", "pump", "out", "motor", "keel", "home", "tank"]"#,
        r#"["tank", "stub", "a"], ["a", "pump", "b"], ["a", "second", "b"], ["b", "out", "motor", "keel", "home", "tank"]"#,
    );
    let own_pumps = written_out(&parallel);
    let pair = of(&answer, Arrangement::Parallel, 12.0);
    let flow: f64 = own_pumps.iter().map(|p| p.0).sum();
    // The stub costs a few Pa in 20 kPa.
    assert!(
        (pair.flow_m3_s / flow - 1.0).abs() < 1e-3,
        "{} {flow}",
        pair.flow_m3_s
    );
    assert!(
        (pair.rise_pa / own_pumps[0].1 - 1.0).abs() < 1e-3,
        "{} {own_pumps:?}",
        pair.rise_pa
    );
}

/// Source: affinity laws (common practice): at a speed `n` a pump does `n^2 H(Q/n)`.
#[test]
fn a_supply_below_the_rated_voltage_follows_the_affinity_laws() {
    let question = PumpQuestion {
        supplies_v: vec![9.0],
        ..PumpQuestion::default()
    };
    let answer = pump::run(&design(LOOP), &shelf(SMALL), &question).expect("an answer");
    let slow = of(&answer, Arrangement::One, 9.0);
    // The same pump with its curve written down for three quarters of the speed, at any supply.
    let n = 0.75;
    let scaled: Vec<(VolumeFlow, PressureDifference)> = [(0.0, 22.0), (6.0, 17.0), (12.0, 0.0)]
        .map(|(q, p)| {
            (
                VolumeFlow::from_m3_s(n * q / 60_000.0),
                PressureDifference::from_pa(n * n * p * 1e3),
            )
        })
        .to_vec();
    let mut other = design(LOOP);
    if let Some(Part::Pump(pump)) = other.loops["drive"].parts.get_mut("pump") {
        pump.curve = scaled;
        pump.electrical_power = Some(Power::from_w(20.0 * n * n * n));
    }
    let network = Network::build(&other).expect("a network");
    let case = network
        .cases()
        .iter()
        .find(|c| c.name == "cruise")
        .expect("the case");
    let solution = Solver::new(&network).solve(case).expect("an answer");
    let own = solution.part("drive", "pump").expect("the pump");
    // Both give the coolant the same heat, so nothing but round-off and the solver's closure is left.
    assert!(
        (slow.flow_m3_s / own.volume_flow_m3_s - 1.0).abs() < 1e-7,
        "{} {}",
        slow.flow_m3_s,
        own.volume_flow_m3_s
    );
    assert!((slow.rise_pa / -own.pressure_drop_pa - 1.0).abs() < 1e-7);
    assert!((slow.electrical_w.expect("it is stated") - 20.0 * n.powi(3)).abs() < 1e-9);
    assert!(
        slow.share_of_free_flow
            .is_some_and(|s| (s - slow.flow_m3_s * 60_000.0 / (12.0 * n)).abs() < 1e-9)
    );
}

#[test]
fn the_duty_told_is_the_edge_of_the_limit_and_losers_say_why() {
    let question = PumpQuestion {
        supplies_v: vec![12.0],
        ..PumpQuestion::default()
    };
    let answer = pump::run(&design(LOOP), &shelf(SMALL), &question).expect("an answer");
    let least = &answer.demand.least;
    let smallest = least
        .iter()
        .map(|p| p.flow_m3_s * 60_000.0)
        .fold(f64::INFINITY, f64::min);
    // `part_flow` asks for 8 L/min.
    assert!((smallest - 8.0).abs() < 0.02, "{smallest}");
    let one = answer
        .trials
        .iter()
        .find(|t| t.arrangement == Arrangement::One)
        .expect("it was tried");
    let worst = one.runs[0].worst.as_ref().expect("a limit decides");
    assert!(!one.fits && worst.limit == "part_flow" && worst.margin_k < 0.0);
    assert!(
        answer
            .best()
            .is_some_and(|b| b.arrangement != Arrangement::One)
    );
}

#[test]
fn a_temperature_below_the_sea_is_beyond_every_pump_and_the_nearest_duty_is_told() {
    let cold = LOOP.replace(
        r#""part_flow": { "drive.motor": { "min": "8 L/min" } }"#,
        r#""device_temperature": { "drive.motor": { "max": "15 degC" } }"#,
    );
    let question = PumpQuestion {
        supplies_v: vec![12.0],
        ..PumpQuestion::default()
    };
    let answer = pump::run(&design(&cold), &shelf(SMALL), &question).expect("an answer");
    assert!(answer.best().is_none() && answer.demand.least.is_empty());
    assert!(!answer.demand.nearest.is_empty());
    assert_eq!(
        answer.demand.nearest_worst.as_ref().map(|w| w.limit),
        Some("device_temperature")
    );
}

#[test]
fn the_lightest_set_of_hoses_equals_brute_force() {
    let design = design(LOOP);
    let sizes = [("a", 10.0), ("b", 13.0), ("c", 16.0), ("d", 19.0)];
    let list: Vec<String> = sizes
        .iter()
        .map(|(n, b)| format!(r#""{n}": {{ "bore": "{b} mm" }}"#))
        .collect();
    let text = format!(
        r#"{{ "format": 1, "title": "hoses", "hoses": {{ {} }} }}"#,
        list.join(", ")
    );
    let stock = Stock::read(&text).expect("a sound list");
    // Two groups: the bypass has a hose of its own.
    let mut forked = design.clone();
    fork(&mut forked);
    let answer = hose::run(&forked, &stock, &HoseQuestion::default()).expect("an answer");
    assert!(
        answer.end.exact && answer.groups.len() == 2,
        "{:?}",
        answer.groups.iter().map(|g| &g.name).collect::<Vec<_>>()
    );
    // Brute force: every pair of sizes, built and judged by `check`, the mass from the groups' own figures.
    let mut lightest: Option<(f64, [f64; 2])> = None;
    let mut all = Vec::new();
    for first in sizes {
        for second in sizes {
            let mut changed = forked.clone();
            for (name, part) in &mut changed.loops["drive"].parts {
                let bore = if answer.groups[0].parts.contains(name) {
                    first.1
                } else {
                    second.1
                };
                if let Part::Hose(hose) = part {
                    let own = hose.bore.expect("a round hose").m();
                    for fitting in &mut hose.fittings {
                        if let loopwright::part::Fitting::Barb(barb) = fitting {
                            barb.bore =
                                loopwright::Length::from_m(barb.bore.m() * bore * 1e-3 / own);
                        }
                    }
                    hose.bore = Some(loopwright::Length::from_m(bore * 1e-3));
                }
            }
            let choice = |g: usize, bore: f64| {
                let of = answer.groups[g].choices.iter();
                of.clone()
                    .find(|c| (c.bore_m - bore * 1e-3).abs() < 1e-9)
                    .expect("the size")
            };
            let (a, b) = (choice(0, first.1), choice(1, second.1));
            all.push((
                a.mass_kg + b.mass_kg,
                a.pressure_pa + b.pressure_pa,
                a.velocity_m_s.max(b.velocity_m_s),
            ));
            let judged = check::run(&changed, &[]).expect("a network");
            let met = judged.verdict().is_some_and(|v| v != Verdict::Missed);
            let mass = a.mass_kg + b.mass_kg;
            if met && lightest.is_none_or(|(m, _)| mass < m) {
                lightest = Some((mass, [first.1, second.1]));
            }
        }
    }
    let (mass, bores) = lightest.expect("some set meets the limits");
    let best = answer.best.as_ref().expect("some set meets the limits");
    assert!(
        (best.set.mass_kg - mass).abs() < 1e-12,
        "{} {mass} {bores:?}",
        best.set.mass_kg
    );
    for (g, bore) in bores.iter().enumerate() {
        let got = answer.groups[g].choices[best.set.picks[g]].bore_m;
        assert!((got - bore * 1e-3).abs() < 1e-9, "{got} {bore}");
    }
    // The Pareto set by brute force over the same sums.
    all.retain(|s| s.2 <= answer.velocity_m_s);
    let beaten = |s: &(f64, f64, f64)| {
        all.iter()
            .any(|o| (o.0 < s.0 && o.1 <= s.1) || (o.0 <= s.0 && o.1 < s.1))
    };
    let mut front: Vec<f64> = all.iter().filter(|s| !beaten(s)).map(|s| s.0).collect();
    front.sort_by(f64::total_cmp);
    let got: Vec<f64> = answer.front.iter().map(|s| s.mass_kg).collect();
    assert_eq!(got.len(), front.len(), "{got:?} {front:?}");
    assert!(got.iter().zip(&front).all(|(a, b)| (a - b).abs() < 1e-12));
}

/// A bypass with a hose of its own beside the motor.
fn fork(design: &mut Design) {
    let text = LOOP
        .replace(r#""home": {"#, r#""a": { "joint": {} }, "b": { "joint": {} }, "by": { "hose": { "bore": "10 mm", "length": "2 m", "fittings": [{ "loss": { "coefficient": 30 } }] } }, "home": {"#)
        .replace(
            r#"["tank", "pump", "out", "motor", "keel", "home", "tank"]"#,
            r#"["tank", "pump", "out", "a"], ["a", "motor", "keel", "b"], ["a", "by", "b"], ["b", "home", "tank"]"#,
        );
    *design = Source::read(&text).expect("a sound design").design;
}

#[test]
fn a_search_that_stops_early_says_how_far_it_may_be_off() {
    let design = Source::read(include_str!("../networks/bookmobile.json"))
        .expect("sound")
        .design;
    let stock = Stock::read(include_str!("../networks/stock/hoses.json")).expect("sound");
    let question = HoseQuestion {
        owner: Some("battery".into()),
        most_trials: Some(40),
        cases: vec!["hot hill".into()],
        ..HoseQuestion::default()
    };
    let answer = hose::run(&design, &stock, &question).expect("an answer");
    assert!(!answer.end.exact && answer.end.solved <= 40 && answer.end.bound_kg.is_finite());
    if let Some(best) = &answer.best {
        assert!(best.set.mass_kg >= answer.end.bound_kg);
    }
    // The Pareto set rises in mass and falls in pressure.
    assert!(answer.front.len() > 5);
    assert!(
        answer
            .front
            .windows(2)
            .all(|w| w[1].mass_kg > w[0].mass_kg && w[1].pressure_pa < w[0].pressure_pa)
    );
}

#[test]
fn the_smallest_header_is_the_lightest_of_those_that_hold_the_limit() {
    let design = Source::read(include_str!("../networks/header-same-end.json"))
        .expect("sound")
        .design;
    let stock = Stock::read(include_str!("../networks/stock/headers.json")).expect("sound");
    let answer = header::run(&design, &stock, &HeaderQuestion::default()).expect("an answer");
    assert_eq!(
        answer.trials.len(),
        stock.headers.len() * 3 * stock.port_bores.len()
    );
    let holds = |t: &header::HeaderTrial| {
        t.outcome
            .as_ref()
            .is_ok_and(|f| f.cold_deviation.max(f.warm_deviation) <= answer.deviation.0)
    };
    let lightest = answer
        .trials
        .iter()
        .filter(|t| holds(t))
        .filter_map(|t| Some(t.outcome.as_ref().ok()?.mass_kg))
        .fold(f64::INFINITY, f64::min);
    let best = answer.best().expect("one holds it");
    assert!(best.outcome.as_ref().is_ok_and(|f| f.mass_kg == lightest));
    // The winner put into the design by hand gives what was told.
    let network = Network::build(&design).expect("a network");
    assert!(network.loops()[0].banks[0].area_ratio > 0.0);
    assert!(answer.own.as_ref().is_some_and(|o| o.warm_deviation > 0.0));
}

/// The program on a stock list that is wrong, and on one from which nothing fits.
#[test]
fn a_rising_curve_is_refused_at_its_place_and_nothing_that_fits_is_a_no() {
    let folder = std::env::temp_dir().join(format!("loopwright-stock-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder");
    let run = |list: &str| {
        let path = folder.join("list.json");
        std::fs::write(&path, list).expect("it is written");
        let path = path.to_string_lossy().into_owned();
        let arguments = [
            "size",
            "pump",
            "networks/harbour-launch.json",
            "--pump",
            "drive.pump",
            "--stock",
            &path,
        ];
        std::process::Command::new(env!("CARGO_BIN_EXE_loopwright"))
            .args(arguments)
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .output()
            .expect("it runs")
    };
    let rising = run(
        r#"{ "format": 1, "title": "t", "pumps": { "odd": { "curve": [["0 L/min", "10 kPa"], ["5 L/min", "12 kPa"]] } } }"#,
    );
    let message = String::from_utf8_lossy(&rising.stderr).into_owned();
    assert_eq!(rising.status.code(), Some(2), "{message}");
    assert!(
        message.contains("12 kPa") && message.contains("list.json:1:"),
        "{message}"
    );
    let misspelt = run(r#"{ "format": 1, "title": "t", "pumps": { "odd": { "curv": [] } } }"#);
    let message = String::from_utf8_lossy(&misspelt.stderr).into_owned();
    assert_eq!(misspelt.status.code(), Some(2), "{message}");
    assert!(message.contains("`curve`"), "{message}");
    let weak = run(
        r#"{ "format": 1, "title": "t", "pumps": { "drip": { "curve": [["0 L/min", "5 kPa"], ["5 L/min", "0 kPa"]] } } }"#,
    );
    let text = String::from_utf8_lossy(&weak.stdout).into_owned();
    assert_eq!(weak.status.code(), Some(1), "{text}");
    assert!(text.contains("What the loop asks of any pump"), "{text}");
    std::fs::remove_dir_all(&folder).expect("it is removed");
}

#[test]
fn the_stock_lists_of_the_repository_are_sound_and_named_in_its_table() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("networks/stock");
    let mut met = 0;
    for entry in std::fs::read_dir(folder).expect("the folder") {
        let path = entry.expect("an entry").path();
        let bytes = std::fs::read(&path).expect("a file");
        Stock::read_bytes(&bytes).unwrap_or_else(|f| panic!("{}: {f:?}", path.display()));
        met += 1;
    }
    assert_eq!(met, 3);
}

#[test]
fn a_list_and_a_pump_that_are_not_there_are_named() {
    let stock = Stock::read(r#"{ "format": 1, "title": "empty" }"#).expect("sound");
    let error = pump::run(&design(LOOP), &stock, &PumpQuestion::default()).expect_err("no pump");
    assert!(
        error.to_string().contains("pump in the stock list"),
        "{error}"
    );
    let question = PumpQuestion {
        pump: Some("drive.pumpp".into()),
        ..PumpQuestion::default()
    };
    let error = pump::run(&design(LOOP), &shelf(SMALL), &question).expect_err("no such pump");
    assert!(
        error.to_string().contains("did you mean `drive.pump`"),
        "{error}"
    );
}

/// A radiator too small for the inverter's limit is no licence for hoses that starve it: seen as a "yes" for 6 mm.
#[test]
fn hoses_leave_a_limit_that_no_hose_mends_no_worse_than_it_is() {
    let design = Source::read(include_str!("../networks/bookmobile.json"))
        .expect("sound")
        .design;
    let stock = Stock::read(include_str!("../networks/stock/hoses.json")).expect("sound");
    let question = HoseQuestion {
        owner: Some("drive".into()),
        cases: vec!["hot hill".into()],
        ..HoseQuestion::default()
    };
    let answer = hose::run(&design, &stock, &question).expect("an answer");
    let inlet = |rows: &[loopwright::study::LimitRow]| {
        let row = rows.iter().find(|r| r.limit == "coolant_inlet");
        row.and_then(|r| r.value).expect("it is judged")
    };
    let hopeless = &answer.counting.hopeless;
    assert!(hopeless.iter().any(|k| k.limit == "coolant_inlet"));
    let own = check::run(&design, &["hot hill".to_owned()]).expect("a network");
    let now = inlet(own.cases[0].limits.as_ref().expect("an answer"));
    let best = answer.best.expect("the design's own size is on the list");
    let then = inlet(best.cases[0].outcome.as_ref().expect("an answer"));
    assert!(then <= now + 1e-5, "{then} {now}");
    // The design's own 16 mm is on the list, so the lightest is no heavier.
    let own_size = answer.groups[0].choices.iter().find(|c| c.name == "16 mm");
    assert!(own_size.is_some_and(|c| best.set.mass_kg <= c.mass_kg + 1e-12));
}
