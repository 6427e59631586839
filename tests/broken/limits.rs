//! Text that is too large, too deep or not text at all, made here rather than kept; and several mistakes in one file.

use crate::files::build;
use loopwright::design::{DEEPEST, Fault, FaultCode, LARGEST_BYTES};

fn all(text: &str) -> Vec<Fault> {
    match build(text.as_bytes()) {
        Ok(_) => panic!("it is not sound"),
        Err(faults) => faults,
    }
}

fn only(bytes: &[u8]) -> Fault {
    match build(bytes) {
        Ok(_) => panic!("it is not sound"),
        Err(faults) => {
            assert_eq!(faults.len(), 1, "{faults:#?}");
            faults.into_iter().next().expect("one fault")
        }
    }
}

#[test]
fn a_file_nested_a_hundred_deep_is_refused_at_the_bracket_that_is_too_deep() {
    let text = format!("{}1{}", "[".repeat(100), "]".repeat(100));
    let fault = only(text.as_bytes());
    assert_eq!(fault.code, FaultCode::TooDeep);
    assert_eq!(fault.span, Some(DEEPEST..DEEPEST + 1));
    assert!(fault.message.contains("limit 64"), "{fault}");
}

#[test]
fn a_file_of_fifty_megabytes_is_refused_by_its_size() {
    let text = format!("{{ \"title\": \"{}\" }}", "x".repeat(50_000_000));
    assert!(text.len() > LARGEST_BYTES);
    let fault = only(text.as_bytes());
    assert_eq!(fault.code, FaultCode::TooLarge);
    assert!(
        fault.message.contains("got 47.7 MB, limit 32 MB"),
        "{fault}"
    );
    assert!(fault.help.is_some());
}

#[test]
fn bytes_that_are_no_text_are_refused_with_their_line() {
    let fault = only(b"{ \"format\": 1,\n\"title\": \"\xff\xfe\" }");
    assert_eq!(fault.code, FaultCode::BadEncoding);
    assert!(fault.message.contains("line 2"), "{fault}");
}

/// Five independent mistakes of values.
const VALUES: &str = r#"{
  "format": 1,
  "title": "Many slips",
  "coolants": { "mix": { "ethylene_glycol": { "volume_fraction": 5 } } },
  "loops": { "drive": {
    "coolant": "mix",
    "parts": {
      "tank": { "expansion_tank": { "elevaton": "1 m" } },
      "pump": { "pump": { "curve": [["0 L/min", "50 kPa"], ["30 L/min", "0 m"]] } },
      "home": { "hose": { "bore": "19", "length": "2 m" } }
    },
    "runs": [["tank", "pump", "home", "tank"]] } },
  "cases": { "hill": { "air": 30 } }
}"#;

#[test]
fn independent_mistakes_of_values_are_all_told_in_one_pass() {
    let faults = all(VALUES);
    let places: Vec<String> = faults.iter().map(|fault| fault.place.to_string()).collect();
    assert_eq!(
        places,
        [
            "coolants.mix.ethylene_glycol.volume_fraction",
            "loops.drive.parts.tank.expansion_tank.elevaton",
            "loops.drive.parts.pump.pump.curve[1][1]",
            "loops.drive.parts.home.hose.bore",
            "cases.hill.air",
        ]
    );
}

/// Five independent mistakes of names and runs.
const NAMES: &str = r#"{
  "format": 1,
  "title": "Many slips of names",
  "coolants": { "mix": { "ethylene_glycol": {} } },
  "loops": {
    "drive": {
      "coolant": "mixx",
      "parts": {
        "tank": { "expansion_tank": {} },
        "spare": { "hose": { "bore": "19 mm", "length": "2 m" } },
        "home": { "hose": { "bore": "19 mm", "length": "2 m" } }
      },
      "runs": [["tank", "hom", "tank"], ["tank", "home"]]
    }
  },
  "cases": { "hill": { "air": "30 degC" } }
}"#;

#[test]
fn independent_mistakes_of_names_are_all_told_in_one_pass() {
    let faults = all(NAMES);
    let places: Vec<String> = faults.iter().map(|fault| fault.place.to_string()).collect();
    assert_eq!(
        places,
        [
            "coolants.mix.ethylene_glycol",
            "loops.drive.coolant",
            "loops.drive.parts.spare",
            "loops.drive.runs[0][1]",
            "loops.drive.runs[1][1]",
        ]
    );
}

/// Independent mistakes of parts, which only lowering can see.
const PARTS: &str = r#"{
  "format": 1,
  "title": "Many slips of parts",
  "coolants": { "mix": { "ethylene_glycol": { "volume_fraction": 0.5 } } },
  "loops": { "drive": {
    "coolant": "mix",
    "parts": {
      "tank": { "expansion_tank": {} },
      "pump": { "pump": { "curve": [["0 L/min", "50 kPa"], ["30 L/min", "60 kPa"]] } },
      "home": { "hose": { "length": "2 m" } },
      "gate": { "valve": {} }
    },
    "runs": [["tank", "pump", "home", "gate", "tank"]] } },
  "cases": { "hill": { "air": "30 degC", "coolant_temperature": "300 degC", "heat": { "drive.pump": "1 kW" } } },
  "limits": { "hose_velocity": {}, "part_flow": { "drive.none": { "min": "1 L/min" } } }
}"#;

#[test]
fn independent_mistakes_of_parts_are_all_told_in_one_pass() {
    let faults = all(PARTS);
    let places: Vec<String> = faults.iter().map(|fault| fault.place.to_string()).collect();
    assert_eq!(
        places,
        [
            "loops.drive.parts.pump.pump.curve[1]",
            "loops.drive.parts.home.hose",
            "loops.drive.parts.gate.valve",
        ]
    );
}
