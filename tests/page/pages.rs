//! Pages to look at: those of every sample, and of made-up designs.

use serde_json::Value;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;

/// A page with the answer it was made from.
pub struct Page {
    pub name: String,
    pub html: String,
    pub answer: Value,
}

/// The program in the folder of the manifest.
pub fn run(arguments: &[&str], design: Option<&str>) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_loopwright"))
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let mut input = child.stdin.take().expect("a pipe");
    let text = design.unwrap_or_default().to_owned();
    // Written beside, so that a page larger than the pipe does not wait for us.
    let writer = std::thread::spawn(move || {
        let _ = input.write_all(text.as_bytes());
    });
    let output = child.wait_with_output().expect("it ends");
    writer.join().expect("it was written");
    output
}

/// The page of a design and its answer.
pub fn page(name: &str, file: &str, design: Option<&str>, more: &[&str]) -> Page {
    let mut arguments = vec!["report", file, "-o", "-"];
    arguments.extend(more);
    let output = run(&arguments, design);
    let code = output.status.code();
    assert!(
        matches!(code, Some(0 | 1)),
        "{name}: {code:?} {}",
        String::from_utf8_lossy(&output.stderr)
    );
    let answer = run(&["report", file, "--json"], design);
    Page {
        name: name.to_owned(),
        html: String::from_utf8(output.stdout).expect("UTF-8"),
        answer: serde_json::from_slice(&answer.stdout).expect("JSON"),
    }
}

pub fn samples() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("networks");
    let mut found: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("the folder of samples")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|e| e == "json"))
        .collect();
    found.sort();
    found
}

/// The pages of all samples in their own units, of the bookmobile in both, and of banks of 2, 60 and 256 modules; made once.
pub fn all() -> &'static [Page] {
    static PAGES: OnceLock<Vec<Page>> = OnceLock::new();
    PAGES.get_or_init(|| {
        let mut pages: Vec<Page> = samples()
            .iter()
            .map(|path| {
                let name = path
                    .file_stem()
                    .expect("a name")
                    .to_string_lossy()
                    .into_owned();
                page(
                    &name,
                    &path.to_string_lossy(),
                    None,
                    &["--date", "2026-05-04"],
                )
            })
            .collect();
        pages.push(page(
            "both units",
            "networks/bookmobile.json",
            None,
            &["--units", "both"],
        ));
        for count in [2, 60, 256] {
            let name = format!("{count} modules");
            pages.push(page(&name, "-", Some(&bank(count)), &[]));
        }
        pages
    })
}

/// A pump, one bank of so many modules and an exchanger.
pub fn bank(count: usize) -> String {
    format!(
        r#"{{ "format": 1, "title": "Bank of {count}", "coolants": {{ "mix": {{ "ethylene_glycol": {{ "volume_fraction": 0.5 }} }} }},
  "modules": {{ "m": {{ "pressure_drop": {{ "coolant": "mix", "temperature": "25 degC", "points": [["0.5 L/min", "1.2 kPa"], ["2 L/min", "8.4 kPa"]] }},
     "heat": "20 W", "thermal_resistance": "0.03 K/W", "origin": "measured" }} }},
  "loops": {{ "battery": {{ "coolant": "mix", "parts": {{
     "tank": {{ "expansion_tank": {{ "elevation": "1 m" }} }},
     "pump": {{ "pump": {{ "curve": [["0 L/min", "60 kPa"], ["{flow} L/min", "0 kPa"]], "elevation": "0.3 m" }} }},
     "feed": {{ "hose": {{ "bore": "40 mm", "length": "1 m" }} }},
     "box": {{ "bank": {{ "module": "m", "count": {count}, "header": {{ "round": {{ "bore": "60 mm" }} }}, "port_pitch": "20 mm", "tail": {{ "bore": "8 mm", "length": "0.3 m" }} }} }},
     "chiller": {{ "exchanger": {{ "pressure_drop": {{ "kv": "{flow} m3/h" }}, "conductance": "{ua} W/K", "stream": {{ "temperature": "18 degC" }} }} }},
     "home": {{ "hose": {{ "bore": "40 mm", "length": "1 m" }} }} }},
     "runs": [["tank", "pump", "feed", "box", "chiller", "home", "tank"]] }} }},
  "cases": {{ "cruise": {{ "air": "25 degC" }} }},
  "limits": {{ "module_temperature": {{ "max": "45 degC" }}, "module_flow_deviation": {{ "max": 0.1 }}, "hose_velocity": {{ "max": "2 m/s" }} }} }}"#,
        flow = 4 * count,
        ua = 20 * count
    )
}
