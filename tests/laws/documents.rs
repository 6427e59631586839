//! Design documents built in code, and the way from a document to its solved cases.

use loopwright::design::Source;
use loopwright::network::Network;
use loopwright::solve::{Solution, SolveError, Solver};
use serde_json::{Value, json};

/// The network of a document; a refusal is shown with the document.
pub fn network(document: &Value) -> Network {
    let text = document.to_string();
    let source = Source::read(&text).unwrap_or_else(|faults| panic!("{faults:?}\n{text}"));
    Network::build(&source.design).unwrap_or_else(|error| panic!("{error}\n{text}"))
}

/// Solves every case of a document and hands each outcome, with the name of its case, to `see`.
pub fn each_case(document: &Value, mut see: impl FnMut(&str, Result<Solution<'_>, SolveError>)) {
    let network = network(document);
    let mut solver = Solver::new(&network);
    for case in network.cases() {
        see(
            &case.name,
            match solver.march(case, &Default::default(), &mut |_, _, _| {}) {
                Ok(None) => solver.solve(case),
                Ok(Some((end, _))) => Ok(end),
                Err(error) => Err(error),
            },
        );
    }
}

/// Solves the only case of a document that has an answer, and reads something off it.
pub fn read<T>(document: &Value, see: impl FnOnce(&Solution<'_>) -> T) -> T {
    let network = network(document);
    let solution = Solver::new(&network)
        .solve(&network.cases()[0])
        .unwrap_or_else(|error| panic!("{error}\n{document}"));
    see(&solution)
}

/// A design of one loop named `loop` with these parts, runs and cases, filled with a mix of half ethylene glycol.
pub fn design(parts: Value, runs: Value, cases: Value) -> Value {
    json!({
        "format": 1, "title": "made in code",
        "coolants": { "mix": { "ethylene_glycol": { "volume_fraction": 0.5 } }, "water": { "water": {} } },
        "modules": { "cell": module() },
        "loops": { "loop": { "coolant": "mix", "parts": parts, "runs": runs } },
        "cases": cases
    })
}

/// A module of one circuit with a heat that falls with temperature.
pub fn module() -> Value {
    json!({
        "circuits": 1,
        "pressure_drop": { "coolant": "mix", "temperature": "25 degC",
            "points": [["0.5 L/min", "1.2 kPa"], ["1 L/min", "2.9 kPa"], ["2 L/min", "8.4 kPa"]] },
        "resistance": [["0 degC", "6 mohm"], ["25 degC", "3 mohm"], ["45 degC", "2.4 mohm"]],
        "thermal_resistance": "0.03 K/W"
    })
}

/// A pump with this rise at no flow and this flow at no rise.
pub fn pump(shut_off_kpa: f64, free_l_min: f64) -> Value {
    let point = |share: f64, rise: f64| {
        json!([
            format!("{} L/min", share * free_l_min),
            format!("{} kPa", rise * shut_off_kpa)
        ])
    };
    json!({ "pump": { "curve": [point(0.0, 1.0), point(0.4, 0.85), point(0.8, 0.4), point(1.0, 0.0)] } })
}

/// A hose.
pub fn hose(bore_mm: f64, length_m: f64) -> Value {
    json!({ "hose": { "bore": format!("{bore_mm} mm"), "length": format!("{length_m} m") } })
}

/// A tee.
pub fn tee(straight_mm: f64, side_mm: f64) -> Value {
    json!({ "tee": { "straight_bore": format!("{straight_mm} mm"), "side_bore": format!("{side_mm} mm") } })
}

/// A plate with a measured drop.
pub fn plate() -> Value {
    json!({ "plate": { "pressure_drop": { "coolant": "mix", "temperature": "25 degC",
        "points": [["4 L/min", "2.1 kPa"], ["8 L/min", "7.2 kPa"], ["12 L/min", "15.2 kPa"]] },
        "thermal_resistance": "0.02 K/W" } })
}

/// A bank of `count` modules of the kind `cell`.
pub fn bank(count: usize, layout: &str) -> Value {
    json!({ "bank": { "module": "cell", "count": count, "layout": layout,
        "header": { "square": { "outside": "25 mm", "wall": "2 mm" } }, "port_pitch": "45 mm",
        "tail": { "bore": "8 mm", "length": "0.35 m", "fittings": [{ "barb": { "bore": "6 mm", "count": 2 } }] } } })
}

/// An exchanger to a large stream.
pub fn chiller(stream_deg_c: f64) -> Value {
    json!({ "exchanger": { "conductance": "400 W/K", "stream": { "temperature": format!("{stream_deg_c} degC") },
        "pressure_drop": { "kv": "3 m3/h" } } })
}
