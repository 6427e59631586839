//! Paths of heat and the mixing thermostat: a whole loop against one coupled root by SciPy, channels against the Nusselt
//! numbers of a reference library, losses against a hand calculation, the march with a thermostat against its steady end.

use loopwright::design::Source;
use loopwright::network::Network;
use loopwright::solve::Solver;
use loopwright::solve::transient::{StepChoice, TimeOptions};

const MIXING: &str = include_str!("data/derived_mixing.json");
/// Flows and openings, relative; temperatures, K. Round-off of the SciPy root and of passes; the brief asked for 1e-6.
const OWED: f64 = 1e-6;

/// Rows of a data file as text: comment lines and the heading left out.
fn rows(text: &str) -> Vec<Vec<&str>> {
    let lines = text.lines().filter(|line| !line.starts_with('#'));
    lines
        .skip(1)
        .map(|line| line.split(',').collect())
        .collect()
}

fn network(text: &str) -> Network {
    let source = Source::read(text).unwrap_or_else(|e| panic!("{e:?}"));
    Network::build(&source.design).unwrap_or_else(|e| panic!("{e}"))
}

#[test]
fn a_loop_with_a_mixing_thermostat_agrees_with_one_coupled_root() {
    let network = network(MIXING);
    let mut solver = Solver::new(&network);
    let table = rows(include_str!("data/derived_mixing.csv"));
    assert_eq!(table.len(), network.cases().len());
    let (mut flow_off, mut k_off) = (0.0_f64, 0.0_f64);
    for (case, row) in network.cases().iter().zip(&table) {
        assert_eq!(case.name, row[0]);
        let wanted: Vec<f64> = row[1..]
            .iter()
            .map(|v| v.parse().expect("a number"))
            .collect();
        let solution = solver
            .solve(case)
            .unwrap_or_else(|e| panic!("{}: {e}", case.name));
        assert!(solution.closure("warm").expect("a loop").is_met());
        let part = |id: &str| solution.part("warm", id).expect("a part");
        let thermostat = solution.thermostats("warm").remove(0);
        let flows = [
            (part("cooler").mass_flow_kg_s, wanted[0]),
            (part("past").mass_flow_kg_s, wanted[1]),
            (thermostat.opening, wanted[2]),
        ];
        for (got, wanted) in flows {
            flow_off = flow_off.max((got / wanted - 1.0).abs());
        }
        let kelvins = [
            (thermostat.inlet_temperature_k, wanted[3]),
            (part("motor").outlet_temperature_k, wanted[4]),
            (part("cooler").outlet_temperature_k, wanted[5]),
            (
                part("motor").part_temperature_k.expect("a device"),
                wanted[6],
            ),
        ];
        for (got, wanted) in kelvins {
            k_off = k_off.max((got - 273.15 - wanted).abs());
        }
        let bypass = thermostat.bypass_opening.expect("a bypass");
        assert!((thermostat.opening + bypass - 1.03).abs() < 1e-12);
    }
    println!("mixing thermostat: flows {flow_off:.1e}, temperatures {k_off:.1e} K");
    assert!(
        flow_off < OWED && k_off < OWED,
        "{flow_off:.1e} {k_off:.1e} K"
    );
}

/// Hausen (1943) and Gnielinski (1976) by ht 1.2.0: `scripts/thermal_paths.py`.
#[test]
fn the_channels_of_a_device_agree_with_published_nusselt_numbers() {
    for row in rows(include_str!("data/gnielinski1976_channel.csv")) {
        let wanted: Vec<f64> = row.iter().map(|v| v.parse().expect("a number")).collect();
        let text = format!(
            r#"{{ "format": 1, "title": "t", "coolants": {{ "plain": {{ "table": {{ "rows": [
              {{ "temperature": "-20 degC", "density": "1050 kg/m3", "viscosity": "1.2 mPa s", "specific_heat": "3500 J/(kg K)", "conductivity": "0.42 W/(m K)" }},
              {{ "temperature": "140 degC", "density": "1050 kg/m3", "viscosity": "1.2 mPa s", "specific_heat": "3500 J/(kg K)", "conductivity": "0.42 W/(m K)" }} ] }} }} }},
            "loops": {{ "l": {{ "coolant": "plain", "parts": {{
              "in": {{ "draw": {{ "inflow": "{} L/min", "temperature": "30 degC" }} }}, "out": {{ "open_end": {{}} }},
              "device": {{ "plate": {{ "pressure_drop": {{ "kv": "3 m3/h" }}, "heat": "800 W",
                "channel": {{ "section": {{ "round": {{ "bore": "6 mm" }} }}, "length": "0.4 m", "count": 5, "wall_resistance": "0.004 K/W" }} }} }} }},
              "runs": [["in", "device", "out"]] }} }},
            "cases": {{ "c": {{ "air": "20 degC" }} }} }}"#,
            row[0]
        );
        let network = network(&text);
        let solution = Solver::new(&network)
            .solve(&network.cases()[0])
            .unwrap_or_else(|e| panic!("{row:?}: {e}"));
        let device = solution.part("l", "device").expect("the device");
        let resistance = device.resistance_k_w.expect("a path of heat");
        assert!(
            (resistance / wanted[2] - 1.0).abs() < 1e-9,
            "{row:?}: {resistance}"
        );
        let part = device.part_temperature_k.expect("a device") - 273.15;
        assert!((part - wanted[3]).abs() < 1e-7, "{row:?}: {part}");
    }
}

/// By hand: rows 0, 1, 2 with 0, 100, 400 W give 31.25 W at half load (see `part/heat_table.rs`), 600 W at 2.5.
#[test]
fn a_device_gives_the_heat_of_its_table_and_says_where_the_table_ends() {
    let text = r#"{ "format": 1, "title": "t", "coolants": { "water": { "water": {} } },
      "loops": { "l": { "coolant": "water", "parts": {
        "in": { "draw": { "inflow": "4 L/min", "temperature": "30 degC" } }, "out": { "open_end": {} },
        "inverter": { "plate": { "pressure_drop": { "kv": "3 m3/h" }, "heat_over_load": [[0, "0 W"], [1, "100 W"], [2, "400 W"]] } } },
        "runs": [["in", "inverter", "out"]] } },
      "cases": { "half": { "air": "20 degC", "load": { "l.inverter": 0.5 } }, "over": { "air": "20 degC", "load": { "l.inverter": 2.5 } },
        "off": { "air": "20 degC" } } }"#;
    let network = network(text);
    let mut solver = Solver::new(&network);
    let mut seen = Vec::new();
    for case in network.cases() {
        let solution = solver.solve(case).unwrap_or_else(|e| panic!("{e}"));
        let heat = solution.part("l", "inverter").expect("it").heat_w;
        let codes: Vec<&str> = solution.findings().iter().map(|f| f.kind.code()).collect();
        seen.push((heat, codes.join(" ")));
    }
    let heats: Vec<f64> = seen.iter().map(|s| s.0).collect();
    assert!(
        (heats[0] - 31.25).abs() < 1e-9 && (heats[1] - 600.0).abs() < 1e-9 && heats[2] == 0.0,
        "{heats:?}"
    );
    assert!(!seen[0].1.contains("outside-table"), "{seen:?}");
    assert!(seen[1].1.contains("outside-table"), "{seen:?}");
    assert!(seen[2].1.contains("default"), "{seen:?}");
}

/// The same loop as above, marched: at its end it is where the steady solve is.
#[test]
fn a_march_with_a_thermostat_ends_at_the_steady_answer() {
    for heat in ["1000 W", "3000 W", "6000 W"] {
        let steady =
            format!(r#""c": {{ "air": "25 degC", "heat": {{ "warm.motor": "{heat}" }} }}"#);
        let timed = steady.replace(
            "\"heat\"",
            "\"duration\": \"5 h\", \"start_temperature\": \"15 degC\", \"heat\"",
        );
        let cases = format!(
            "\"cases\": {{ {steady}, {} }}",
            timed.replace("\"c\"", "\"t\"")
        );
        let head = MIXING.split("\"cases\"").next().expect("a head");
        let network = network(&format!("{head}{cases} }}"));
        let mut solver = Solver::new(&network);
        let steady = solver
            .solve(&network.cases()[0])
            .unwrap_or_else(|e| panic!("{e}"));
        let mut kept = 0;
        let (end, effort) = solver
            .march(
                &network.cases()[1],
                &TimeOptions::default(),
                &mut |_, _, _| kept += 1,
            )
            .unwrap_or_else(|e| panic!("{heat}: {e}"))
            .expect("a case in time");
        let at = |s: &loopwright::Solution<'_>| {
            let t = s.thermostats("warm").remove(0);
            let motor = s.part("warm", "motor").expect("it");
            [
                t.inlet_temperature_k,
                motor.part_temperature_k.unwrap_or(f64::NAN),
                100.0 * t.opening,
            ]
        };
        for (a, b) in at(&steady).into_iter().zip(at(&end)) {
            assert!((a - b).abs() < 2e-3, "{heat}: {a} {b}");
        }
        assert!(effort.imbalance().abs() < 1e-6, "{heat}: {effort:?}");
        println!(
            "march with thermostat, {heat}: {} steps, {kept} states",
            effort.steps
        );
    }
}

/// Order two, seen by halving a fixed step while the thermostat opens.
#[test]
fn the_order_of_the_march_is_kept_while_a_thermostat_opens() {
    let head = MIXING.split("\"cases\"").next().expect("a head");
    let text = format!(
        "{head}\"cases\": {{ \"t\": {{ \"air\": \"25 degC\", \"duration\": \"60 s\", \"start_temperature\": \"61 degC\", \"heat\": {{ \"warm.motor\": \"4 kW\" }} }} }} }}"
    );
    let network = network(&text);
    let mut solver = Solver::new(&network);
    let mut end = |parts: f64| {
        let options = TimeOptions {
            stops: 1,
            tolerance_k: 1e-7,
            step: StepChoice::Fixed(60.0 / parts),
            ..TimeOptions::default()
        };
        let (end, _) = solver
            .march(&network.cases()[0], &options, &mut |_, _, _| {})
            .unwrap_or_else(|e| panic!("{e}"))
            .expect("a case in time");
        let motor = end.part("warm", "motor").expect("it").part_temperature_k;
        let thermostat = end.thermostats("warm").remove(0);
        assert!(
            thermostat.opening > 0.04 && thermostat.opening < 0.95,
            "{thermostat:?}"
        );
        [motor.unwrap_or(f64::NAN), thermostat.inlet_temperature_k]
    };
    let fine = end(1280.0);
    let off = [40.0, 80.0, 160.0].map(|n| {
        let got = end(n);
        got.iter()
            .zip(&fine)
            .fold(0.0, |m: f64, (a, b)| m.max((a - b).abs()))
    });
    let orders = [(off[0] / off[1]).log2(), (off[1] / off[2]).log2()];
    println!("march with an opening thermostat: errors {off:?} K, orders {orders:.2?}");
    assert!(
        orders.iter().all(|o| (1.7..2.6).contains(o)),
        "{off:?} {orders:?}"
    );
}
