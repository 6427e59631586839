//! Properties that hold for any numbers: quantities survive being written and read, a pipe's flow follows its pressure,
//! two equal pipes share alike, and no text makes the reader panic.

#![allow(clippy::unwrap_used)]

use approx::assert_relative_eq;
use loopwright::design::Source;
use loopwright::network::Network;
use loopwright::quantity::{Length, Quantity, Temperature, UnitFamily, VolumeFlow};
use loopwright::solve::Solver;
use proptest::prelude::*;

/// A design of pipes between two open ends; each pipe has a bore in mm and a length in m.
fn design(pressure_kpa: f64, pipes: &[(f64, f64)], fluid: &str, air_c: f64) -> String {
    let hoses: Vec<String> = pipes
        .iter()
        .enumerate()
        .map(|(k, (bore, length))| {
            format!(
                r#""pipe {k}": {{ "hose": {{ "bore": "{bore} mm", "length": "{length} m" }} }}"#
            )
        })
        .collect();
    let runs: Vec<String> = (0..pipes.len())
        .map(|k| format!(r#"["high", "pipe {k}", "low"]"#))
        .collect();
    format!(
        r#"{{ "format": 1, "title": "pipes", "coolants": {{ "fluid": {fluid} }},
            "loops": {{ "rig": {{ "coolant": "fluid", "parts": {{
              "high": {{ "open_end": {{ "pressure": "{pressure_kpa} kPa" }} }}, "low": {{ "open_end": {{}} }}, {} }},
              "runs": [{}] }} }},
            "cases": {{ "case": {{ "air": "20 degC", "coolant_temperature": "{air_c} degC" }} }} }}"#,
        hoses.join(", "),
        runs.join(", ")
    )
}

fn flows(text: &str, count: usize) -> Vec<f64> {
    let source = Source::read(text).unwrap_or_else(|f| panic!("{f:?}"));
    let network = Network::build(&source.design).unwrap_or_else(|e| panic!("{e}"));
    let solution = Solver::new(&network)
        .solve(&network.cases()[0])
        .unwrap_or_else(|e| panic!("{e}"));
    assert!(solution.closure("rig").is_some_and(|c| c.is_met()));
    (0..count)
        .filter_map(|k| solution.part("rig", &format!("pipe {k}")))
        .map(|p| p.mass_flow_kg_s)
        .collect()
}

const GLYCOL: &str = r#"{ "ethylene_glycol": { "volume_fraction": 0.5 } }"#;

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn quantities_survive_being_written_in_either_family_and_read_again(v in 1e-6_f64..1e3, t in 200.0_f64..500.0) {
        for family in [UnitFamily::Metric, UnitFamily::Us] {
            let length: Length = Length::from_m(v).text(family).parse().unwrap();
            assert_relative_eq!(length.m(), v, max_relative = 2e-15);
            let flow: VolumeFlow = VolumeFlow::from_m3_s(v * 1e-3).text(family).parse().unwrap();
            assert_relative_eq!(flow.si(), v * 1e-3, max_relative = 2e-15);
            let point: Temperature = Temperature::from_k(t).text(family).parse().unwrap();
            assert_relative_eq!(point.k(), t, max_relative = 2e-15);
        }
    }

    #[test]
    fn more_pressure_moves_more_coolant_the_same_way(
        kpa in 0.01_f64..300.0, more in 1.01_f64..2.0, bore in 1.0_f64..200.0, length in 0.05_f64..50.0, c in -30.0_f64..100.0,
    ) {
        let one = flows(&design(kpa, &[(bore, length)], GLYCOL, c), 1)[0];
        let two = flows(&design(kpa * more, &[(bore, length)], GLYCOL, c), 1)[0];
        let back = flows(&design(-kpa, &[(bore, length)], GLYCOL, c), 1)[0];
        prop_assert!(one > 0.0 && two > one);
        assert_relative_eq!(back, -one, max_relative = 1e-9);
    }

    #[test]
    fn equal_pipes_share_alike_whatever_stands_beside_them(
        kpa in 0.1_f64..200.0, bore in 2.0_f64..60.0, other in 2.0_f64..200.0, length in 0.1_f64..20.0,
    ) {
        let three = flows(&design(kpa, &[(bore, length), (other, 1.0), (bore, length)], GLYCOL, 20.0), 3);
        assert_relative_eq!(three[0], three[2], max_relative = 1e-9);
    }

    #[test]
    fn no_text_makes_the_reader_panic(cut in 0_usize..6000, with in "\\PC{0,4}") {
        let text = include_str!("../networks/bookmobile.json");
        let at = (0..=cut.min(text.len())).rev().find(|k| text.is_char_boundary(*k)).unwrap_or(0);
        let spoilt = format!("{}{with}{}", &text[..at], &text[at..]);
        if let Ok(source) = Source::read(&spoilt) {
            let _ = Network::build(&source.design);
        }
    }
}
