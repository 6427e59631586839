//! Input that cannot be, and scales that lie far apart: what is refused says so by its code, what is solved is held
//! against a formula that is not the solver's.

use crate::documents::{design, each_case, hose, pump, read};
use loopwright::design::Source;
use loopwright::network::Network;
use loopwright::solve::Solver;
use serde_json::{Value, json};
use std::time::Instant;

/// The code of the first refusal of a document; none where it makes a network.
fn refusal(document: &Value) -> Option<String> {
    let source = match Source::read(&document.to_string()) {
        Ok(source) => source,
        Err(faults) => return Some(faults[0].code.text().to_owned()),
    };
    let error = Network::build(&source.design).err()?;
    let faults = error.into_faults(&source.document);
    Some(faults[0].code.text().to_owned())
}

fn at_20_deg_c() -> Value {
    json!({ "only": { "air": "20 degC", "coolant_temperature": "20 degC" } })
}

fn end(pressure: &str) -> Value {
    json!({ "open_end": { "pressure": pressure } })
}

#[test]
fn pressures_that_contradict_each_other_are_refused() {
    let parts = json!({ "a": end("10 kPa"), "b": end("0 kPa"), "j": { "joint": {} }, "h": hose(10.0, 1.0), "e": end("0 kPa") });
    let refused = Some("lossless-join".to_owned());
    for runs in [
        json!([["a", "b"], ["b", "h", "e"], ["a", "j"], ["j", "e"]]),
        json!([["a", "j"], ["j", "b"], ["j", "h", "e"]]),
    ] {
        assert_eq!(
            refusal(&design(parts.clone(), runs, at_20_deg_c())),
            refused
        );
    }
    // With a loss between them they are two reservoirs.
    let parts = json!({ "a": end("10 kPa"), "b": end("0 kPa"), "j": { "joint": {} }, "h": hose(10.0, 1.0), "g": hose(10.0, 1.0) });
    let runs = json!([["a", "h", "j"], ["j", "g", "b"]]);
    assert_eq!(refusal(&design(parts, runs, at_20_deg_c())), None);
}

#[test]
fn an_island_without_a_pressure_is_refused() {
    let parts = json!({ "a": end("10 kPa"), "b": end("0 kPa"), "h": hose(10.0, 1.0), "p": pump(50.0, 30.0), "g": hose(10.0, 1.0), "j": { "joint": {} } });
    let runs = json!([["a", "h", "b"], ["j", "p", "g", "j"]]);
    let refused = Some("no-pressure-reference".to_owned());
    assert_eq!(refusal(&design(parts, runs, at_20_deg_c())), refused);
}

#[test]
fn a_pump_that_is_forced_beyond_its_curve_is_told() {
    for (parts, forced) in [
        (
            json!({ "a": end("300 kPa"), "b": end("0 kPa"), "p": pump(50.0, 30.0), "h": hose(25.0, 1.0) }),
            true,
        ),
        (
            json!({ "a": end("0 kPa"), "b": { "draw": { "outflow": "60 L/min" } }, "p": pump(50.0, 30.0), "h": hose(25.0, 1.0) }),
            true,
        ),
        (
            json!({ "a": end("0 kPa"), "b": { "draw": { "outflow": "20 L/min" } }, "p": pump(50.0, 30.0), "h": hose(25.0, 1.0) }),
            false,
        ),
    ] {
        let document = design(parts, json!([["a", "p", "h", "b"]]), at_20_deg_c());
        each_case(&document, |_, outcome| {
            let solution = outcome.unwrap();
            let findings = solution.findings();
            assert_eq!(
                findings.iter().any(|f| f.kind.code() == "beyond-curve"),
                forced,
                "{findings:?}"
            );
            let pump = &solution.pumps("loop")[0];
            assert_eq!(pump.share_of_free_flow.unwrap() > 1.0, forced);
        });
    }
}

#[test]
fn numbers_that_would_overflow_are_refused_and_those_at_the_ends_are_solved_or_told() {
    let with = |pressure: &str, bore: &str, length: &str| {
        let parts = json!({ "a": end(pressure), "b": end("0 kPa"), "h": { "hose": { "bore": bore, "length": length } } });
        design(parts, json!([["a", "h", "b"]]), at_20_deg_c())
    };
    let refused = Some("out-of-range".to_owned());
    for (pressure, bore, length) in [
        ("1e300 kPa", "10 mm", "1 m"),
        ("1.1e24 Pa", "10 mm", "1 m"),
        ("10 kPa", "1e-300 mm", "1 m"),
        ("10 kPa", "1e30 m", "1 m"),
        ("10 kPa", "10 mm", "1e300 m"),
        ("10 kPa", "10 mm", "1e-25 m"),
    ] {
        assert_eq!(
            refusal(&with(pressure, bore, length)),
            refused,
            "{pressure} {bore} {length}"
        );
    }
    let draw = json!({ "a": end("0 kPa"), "b": { "draw": { "outflow": "1e300 L/min" } }, "h": hose(10.0, 1.0) });
    let draw = design(draw, json!([["a", "h", "b"]]), at_20_deg_c());
    assert_eq!(refusal(&draw), refused);
    // A pipe as wide as long pushed by as much resists so little that its flow lies too far from any start: an error names it.
    for (pressure, bore, length, solved) in [
        ("1e24 Pa", "10 mm", "1 m", true),
        ("10 kPa", "1e24 m", "1 m", true),
        ("10 kPa", "10 mm", "1e24 m", true),
        ("1e24 Pa", "1e24 m", "1e-24 m", false),
        ("1e-24 Pa", "10 mm", "1e24 m", true), // below the last place of the pressure of the air: at rest
        ("10 kPa", "1e-24 m", "1 m", true),
    ] {
        let document = with(pressure, bore, length);
        let source = Source::read(&document.to_string()).unwrap();
        let network = Network::build(&source.design).unwrap();
        let begun = Instant::now();
        let what = format!("{pressure} {bore} {length}");
        match Solver::new(&network).solve(&network.cases()[0]) {
            Ok(solution) => {
                assert!(solved, "{what}");
                let part = solution.part("loop", "h").unwrap();
                for value in [part.mass_flow_kg_s, part.pressure_drop_pa] {
                    assert!(value.is_finite() && value >= 0.0, "{what}: {part:?}");
                    assert!(value > 0.0 || pressure == "1e-24 Pa", "{what}");
                }
                assert!(solution.closure("loop").unwrap().is_met(), "{what}");
            }
            Err(error) => {
                assert_eq!(error.code(), "flows-unsettled", "{what}");
                assert!(
                    !solved && error.to_string().contains("loop.h"),
                    "{what}: {error}"
                );
            }
        }
        assert!(begun.elapsed().as_secs_f64() < 2.0, "{what}");
    }
}

/// Hagen and Poiseuille with Hagenbach's correction for the entrance: drop of a laminar pipe, Pa.
fn laminar_pa(flow_m3_s: f64, bore_m: f64, length_m: f64, fluid: [f64; 2]) -> f64 {
    let [density_kg_m3, viscosity_pa_s] = fluid;
    let velocity = flow_m3_s / (std::f64::consts::FRAC_PI_4 * bore_m.powi(2));
    32.0 * viscosity_pa_s * length_m * velocity / bore_m.powi(2)
        + 1.33 * 0.5 * density_kg_m3 * velocity.powi(2)
}

/// Source: Hagen-Poiseuille for the small pipe (any textbook of hydraulics) with 1.33 velocity heads for its entrance
/// (Hagenbach, 1860; from memory, 0.3 % here); that the flows sum for the rest.
#[test]
fn a_pipe_of_one_inch_beside_one_of_eighteen_shares_its_pressure() {
    let pipe = |bore: &str, length: &str| json!({ "hose": { "bore": bore, "length": length } });
    let parts = json!({ "a": end("10 kPa"), "b": end("0 kPa"), "j": { "joint": {} }, "k": { "joint": {} },
        "small": pipe("1 in", "300 m"), "large": pipe("18 in", "300 m"), "to": pipe("6 in", "8 m"), "from": pipe("6 in", "8 m") });
    let runs = json!([
        ["a", "to", "j"],
        ["j", "small", "k"],
        ["j", "large", "k"],
        ["k", "from", "b"]
    ]);
    let mut document = design(parts, runs, at_20_deg_c());
    document["loops"]["loop"]["coolant"] = json!("water");
    read(&document, |solution| {
        let [small, large, to] =
            ["small", "large", "to"].map(|id| solution.part("loop", id).unwrap());
        assert!(small.reynolds.unwrap() < 2000.0 && large.reynolds.unwrap() > 1e5);
        let apart = small.pressure_drop_pa / large.pressure_drop_pa - 1.0;
        assert!(apart.abs() < 1e-9, "{apart}");
        // Water at 20 degC: 998.2 kg/m3 and 1.0016 mPa s (IAPWS R6-95 and R12-08, from memory).
        let laminar = laminar_pa(small.volume_flow_m3_s, 0.0254, 300.0, [998.2, 1.0016e-3]);
        let apart = small.pressure_drop_pa / laminar - 1.0;
        assert!(apart.abs() < 1e-3, "{apart}");
        let apart = (small.mass_flow_kg_s + large.mass_flow_kg_s) / to.mass_flow_kg_s - 1.0;
        assert!(apart.abs() < 1e-9, "{apart}");
        assert!(solution.closure("loop").unwrap().is_met());
    });
}
