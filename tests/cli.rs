//! The program from outside: what it prints where, what it returns, and that `README.md` shows its true output.

use serde_json::Value;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

const BOOKMOBILE: &str = "networks/bookmobile.json";

/// A bench with nothing wrong: mains, hose, bucket.
const BUCKET: &str = r#"{ "format": 1, "title": "bucket", "coolants": { "water": { "water": {} } },
  "loops": { "bench": { "coolant": "water",
    "parts": { "mains": { "open_end": { "pressure": "20 kPa" } }, "bucket": { "open_end": {} },
               "hose": { "hose": { "bore": "12 mm", "length": "3 m" } } },
    "runs": [["mains", "hose", "bucket"]] } },
  "cases": { "cold tap": { "air": "12 degC" } },
  "limits": { "hose_velocity": { "max": "5 m/s" } } }"#;

/// A closed loop with a heated plate and nothing that takes its heat out.
const NO_SINK: &str = r#"{ "format": 1, "title": "no radiator", "coolants": { "water": { "water": {} } },
  "loops": { "drive": { "coolant": "water",
    "parts": { "tank": { "expansion_tank": {} },
               "pump": { "pump": { "curve": [["0 L/min", "50 kPa"], ["20 L/min", "0 kPa"]] } },
               "motor": { "plate": { "pressure_drop": { "kv": "1 m3/h" } } } },
    "runs": [["tank", "pump", "motor", "tank"]] } },
  "cases": { "hill": { "air": "20 degC", "heat": { "drive.motor": "2 kW" } } },
  "limits": { "hose_velocity": { "max": "5 m/s" } } }"#;

/// The program in the folder of the manifest, with nothing on standard input.
fn program(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_loopwright"));
    command
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env_remove("NO_COLOR")
        .env_remove("CLICOLOR_FORCE")
        .stdin(Stdio::null());
    command
}

fn run(arguments: &[&str]) -> Output {
    program(arguments).output().expect("the program starts")
}

/// Runs a verb on a design given on standard input.
fn run_on(design: &str, arguments: &[&str]) -> Output {
    let mut child = program(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let mut input = child.stdin.take().expect("a pipe");
    input.write_all(design.as_bytes()).expect("it reads");
    drop(input);
    child.wait_with_output().expect("it ends")
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("UTF-8")
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("UTF-8")
}

fn code(output: &Output) -> i32 {
    output.status.code().expect("an exit code")
}

fn json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).expect("JSON on standard output")
}

#[test]
fn an_answer_goes_to_standard_output_with_code_0() {
    let solved = run(&["solve", BOOKMOBILE]);
    assert_eq!(code(&solved), 0, "{}", err(&solved));
    assert_eq!(err(&solved), "");
    let text = out(&solved);
    for word in [
        "hot hill",
        "parked charge",
        "Radiator nose",
        "High voltage kills",
    ] {
        assert!(text.contains(word), "no `{word}` in\n{text}");
    }
    let met = run_on(BUCKET, &["check", "-"]);
    assert_eq!(code(&met), 0, "{}{}", out(&met), err(&met));
}

#[test]
fn a_missed_limit_is_code_1() {
    let checked = run(&["check", BOOKMOBILE]);
    assert_eq!(code(&checked), 1);
    assert_eq!(err(&checked), "");
    assert!(out(&checked).contains("MISSED"));
}

#[test]
fn wrong_arguments_and_designs_are_code_2_and_go_to_standard_error() {
    let wrong: [&[&str]; 5] = [
        &[],
        &["dissolve"],
        &["solve"],
        &["solve", BOOKMOBILE, "--colour"],
        &["solve", BOOKMOBILE, "--units", "imperial"],
    ];
    for arguments in wrong {
        let output = run(arguments);
        assert_eq!(code(&output), 2, "{arguments:?}");
        assert_eq!(out(&output), "", "{arguments:?}");
        assert!(!err(&output).is_empty(), "{arguments:?}");
    }
    let misspelt = BUCKET.replace("\"title\"", "\"titel\"");
    let output = run_on(&misspelt, &["solve", "-"]);
    assert_eq!((code(&output), out(&output).as_str()), (2, ""));
    let message = err(&output);
    assert!(
        message.contains("titel") && message.contains("title"),
        "{message}"
    );
}

#[test]
fn heat_that_cannot_leave_is_code_3_for_either_verb() {
    for verb in ["solve", "check"] {
        let output = run_on(NO_SINK, &[verb, "-"]);
        assert_eq!(code(&output), 3, "{}{}", out(&output), err(&output));
        // Lines are wrapped: compare words.
        let text = out(&output)
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ");
        assert!(
            text.contains("2.00 kW (6820 Btu/h) enter it and nothing takes heat out"),
            "{text}"
        );
        let output = run_on(NO_SINK, &[verb, "-", "--json"]);
        assert_eq!(code(&output), 3);
        let error = &json(&output)["cases"]["hill"]["error"];
        assert_eq!(error["kind"], "no-heat-sink", "{error}");
    }
}

#[test]
fn a_missing_file_is_named() {
    let output = run(&["solve", "networks/nowhere.json"]);
    assert_eq!((code(&output), out(&output).as_str()), (2, ""));
    assert!(
        err(&output).contains("cannot read `networks/nowhere.json`"),
        "{}",
        err(&output)
    );
}

#[test]
fn help_and_version_are_answers() {
    for flag in ["--help", "--version"] {
        let output = run(&[flag]);
        assert_eq!((code(&output), err(&output).as_str()), (0, ""), "{flag}");
        assert!(out(&output).contains("loopwright"), "{flag}");
    }
    assert!(out(&run(&["--help"])).contains("Exit codes"));
}

#[test]
fn one_case_is_picked_by_name_and_an_unknown_one_gets_a_suggestion() {
    let one = run(&["solve", BOOKMOBILE, "--case", "fast road", "--json"]);
    let cases = json(&one);
    let names: Vec<&String> = cases["cases"].as_object().expect("cases").keys().collect();
    assert_eq!(names, ["fast road"]);
    for verb in ["solve", "check"] {
        let unknown = run(&[verb, BOOKMOBILE, "--case", "fast raod"]);
        assert_eq!((code(&unknown), out(&unknown).as_str()), (2, ""));
        assert!(
            err(&unknown).contains("did you mean `fast road`"),
            "{}",
            err(&unknown)
        );
    }
}

#[test]
fn each_family_prints_its_own_units() {
    let us = run(&["solve", BOOKMOBILE, "--units", "us"]);
    assert_eq!(code(&us), 0);
    let text = out(&us);
    for unit in ["gpm", "psi", "degF", "mph"] {
        assert!(text.contains(unit), "no {unit} in\n{text}");
    }
    for unit in ["L/min", "kPa", "km/h"] {
        assert!(!text.contains(unit), "{unit} in\n{text}");
    }
    // A finding or an error says both: `118 degC (244 degF)`.
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(
        words.matches("degC").count(),
        words.matches(" degC (").count(),
        "a bare degC in\n{text}"
    );
    let metric = run(&["solve", BOOKMOBILE, "--units", "metric"]);
    let text = out(&metric);
    for unit in ["L/min", "kPa", "degC", "km/h"] {
        assert!(text.contains(unit), "no {unit} in\n{text}");
    }
    // The design says metric; saying so again changes nothing.
    assert_eq!(text, out(&run(&["solve", BOOKMOBILE])));
    // JSON is SI whatever is printed.
    assert_eq!(
        out(&run(&["solve", BOOKMOBILE, "--json"])),
        out(&run(&["solve", BOOKMOBILE, "--json", "--units", "us"]))
    );
}

#[test]
fn a_design_may_come_from_standard_input() {
    let output = run_on(BUCKET, &["solve", "-"]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    assert!(out(&output).contains("cold tap"));
    let empty = run(&["solve", "-"]);
    assert_eq!(code(&empty), 2);
}

#[test]
fn a_pipe_gets_no_colours() {
    for arguments in [["solve", BOOKMOBILE], ["check", BOOKMOBILE]] {
        for no_colour in [None, Some("1")] {
            let mut command = program(&arguments);
            if let Some(value) = no_colour {
                command.env("NO_COLOR", value);
            }
            let output = command.output().expect("the program starts");
            assert!(!out(&output).contains('\u{1b}'), "{arguments:?}");
        }
    }
    let refused = run_on("{", &["solve", "-"]);
    assert!(!err(&refused).contains('\u{1b}'), "{}", err(&refused));
}

/// Every key that the answer of `solve` promises.
#[test]
fn the_json_of_a_solution_holds_every_promised_key() {
    let output = run(&["solve", BOOKMOBILE, "--json"]);
    assert_eq!(code(&output), 0);
    let answer = json(&output);
    assert_eq!(answer["format"], 1);
    assert!(answer["title"].is_string());
    let has = |value: &Value, keys: &[&str], what: &str| {
        for key in keys {
            assert!(value.get(key).is_some(), "{what} has no `{key}`");
        }
    };
    let cases = answer["cases"].as_object().expect("cases");
    assert_eq!(cases.len(), 4);
    for (name, case) in cases {
        has(
            case,
            &["loops", "radiators", "limits", "findings", "effort"],
            name,
        );
        has(
            &case["effort"],
            &[
                "newton_iterations_max",
                "passes",
                "factorisations",
                "residual",
            ],
            name,
        );
        for one in case["loops"].as_object().expect("loops").values() {
            has(one, &["parts", "banks", "closure"], name);
            has(&one["closure"], &["mass_kg_s", "energy_w"], name);
        }
        let battery = &case["loops"]["battery"];
        for id in [
            "feed",
            "nose.battery",
            "mid.module 3.circuit 1",
            "mid.return.segment 2",
        ] {
            has(
                &battery["parts"][id],
                &[
                    "kind",
                    "mass_flow_kg_s",
                    "volume_flow_m3_s",
                    "pressure_drop_pa",
                    "inlet_total_pressure_pa",
                    "outlet_total_pressure_pa",
                    "inlet_static_gauge_pressure_pa",
                    "outlet_static_gauge_pressure_pa",
                    "inlet_temperature_k",
                    "outlet_temperature_k",
                    "heat_w",
                    "reynolds",
                    "velocity_m_s",
                ],
                id,
            );
        }
        has(
            &battery["parts"]["mid.supply.tee 3"],
            &["kind"],
            "a header tee",
        );
        let mid = &battery["banks"]["mid"];
        has(
            mid,
            &[
                "branch_flow_over_mean",
                "circuit_flow_over_mean",
                "max_over_min",
                "deviation",
                "module_temperature_k",
                "module_temperature_spread_k",
            ],
            "mid",
        );
        let length = |key: &str| mid[key].as_array().map(Vec::len);
        assert_eq!(length("branch_flow_over_mean"), Some(9));
        assert_eq!(length("circuit_flow_over_mean"), Some(18));
        assert_eq!(length("module_temperature_k"), Some(9));
        for core in ["battery", "drive"] {
            has(
                &case["radiators"]["nose"]["cores"][core],
                &[
                    "loop",
                    "heat_rejected_w",
                    "effectiveness",
                    "ntu",
                    "air_mass_flow_kg_s",
                    "air_outlet_temperature_k",
                ],
                core,
            );
        }
        let limits = case["limits"].as_array().expect("limits");
        assert!(!limits.is_empty());
        for row in limits {
            has(
                row,
                &["limit", "subject", "value", "bound", "margin", "verdict"],
                name,
            );
        }
        for finding in case["findings"].as_array().expect("findings") {
            has(finding, &["kind", "subject", "text"], name);
        }
    }
}

#[test]
fn the_json_of_a_check_says_its_verdict() {
    let missed = run(&["check", BOOKMOBILE, "--json"]);
    assert_eq!(code(&missed), 1);
    assert_eq!(json(&missed)["verdict"], "missed");
    let met = run_on(BUCKET, &["check", "-", "--json"]);
    assert_eq!(code(&met), 0);
    assert_eq!(json(&met)["verdict"], "met");
}

#[test]
fn the_schema_is_json() {
    let output = run(&["schema"]);
    assert_eq!((code(&output), err(&output).as_str()), (0, ""));
    let schema = json(&output);
    assert!(schema["$schema"].is_string() && schema["properties"]["loops"].is_object());
}

/// Lines that end in the round-off of one machine: shown, not compared.
fn is_round_off(line: &str) -> bool {
    line.starts_with("Closures, recomputed")
}

/// Whether `shown` is `real`, where a line `...` stands for any lines left out.
fn shows(shown: &[&str], real: &[&str]) -> Result<(), String> {
    let same = |a: &str, b: &str| a == b || (is_round_off(a) && is_round_off(b));
    let mut at = 0;
    let mut skipped = false;
    for piece in shown.split(|line| *line == "...") {
        let fits = |from: usize| {
            real.len() >= from + piece.len()
                && piece.iter().zip(&real[from..]).all(|(a, b)| same(a, b))
        };
        let found = if skipped {
            (at..=real.len()).find(|&from| fits(from))
        } else {
            Some(at).filter(|&from| fits(from))
        };
        let Some(from) = found else {
            return Err(format!(
                "the program does not print, after its line {at}:\n{}\nit prints:\n{}",
                piece.join("\n"),
                real.join("\n")
            ));
        };
        at = from + piece.len();
        skipped = true;
    }
    let whole = shown.last() == Some(&"...") || at == real.len();
    if whole {
        Ok(())
    } else {
        Err(format!(
            "lines are left out without a mark:\n{}",
            real[at..].join("\n")
        ))
    }
}

/// Blocks of a page that show a command and what it prints, each compared with what it prints now.
fn shows_true_output(page: &str) -> usize {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(page);
    let text = std::fs::read_to_string(path).expect(page);
    let mut tested = 0;
    for block in text.split("```text\n").skip(1) {
        let block = block.split("```").next().unwrap_or_default();
        let mut lines = block.lines();
        let Some(typed) = lines.next().and_then(|l| l.strip_prefix("$ loopwright ")) else {
            continue;
        };
        let arguments = words(typed);
        let output = run(&arguments.iter().map(String::as_str).collect::<Vec<_>>());
        let printed = out(&output) + &err(&output);
        let real: Vec<&str> = printed.trim_end().lines().collect();
        if let Err(message) = shows(&lines.collect::<Vec<_>>(), &real) {
            panic!("{page}, `loopwright {typed}`: {message}");
        }
        tested += 1;
    }
    tested
}

#[test]
fn the_readme_shows_true_output() {
    let tested = shows_true_output("README.md");
    assert!(tested >= 2, "only {tested} blocks of output were found");
}

/// The walk from a poor design to one that passes: every page of it is what the program prints, and its last file is met.
#[test]
fn the_tutorial_shows_true_output_and_ends_with_a_design_that_passes() {
    let tested = shows_true_output("src/handbook/tutorial.md");
    assert!(tested >= 9, "only {tested} blocks of output were found");
    let missed = |file: &str| -> u64 {
        let answer = run(&["check", file, "--json"]);
        let answer: Value = serde_json::from_str(&out(&answer)).expect("JSON");
        let cases = answer["cases"].as_object().expect("cases");
        let rows = cases
            .values()
            .flat_map(|c| c["limits"].as_array().expect("limits").clone());
        rows.filter(|row| row["verdict"] == "missed").count() as u64
    };
    let steps = [
        "1-draft",
        "2-centre",
        "3-pump",
        "4-radiator",
        "5-disc",
        "6-built",
    ];
    let counts = steps.map(|step| missed(&format!("networks/tutorial/{step}.json")));
    assert!(
        counts.is_sorted_by(|a, b| a >= b) && counts[0] > 20 && counts[5] == 0,
        "{counts:?}"
    );
}

#[test]
fn the_comparison_with_the_readme_can_fail() {
    let real = ["a", "b", "c", "d"];
    assert!(shows(&["a", "b", "c", "d"], &real).is_ok());
    assert!(shows(&["a", "...", "c", "d"], &real).is_ok());
    assert!(shows(&["a", "b", "..."], &real).is_ok());
    for wrong in [
        &["a", "b", "c"][..],
        &["b", "..."],
        &["a", "...", "x", "d"],
        &["a", "...", "c", "b", "..."],
        &["a", "d"],
    ] {
        assert!(shows(wrong, &real).is_err(), "{wrong:?}");
    }
}

/// Splits what is typed at blanks, double quotes holding together.
fn words(typed: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for c in typed.trim().chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            c => {
                if let Some(word) = words.last_mut() {
                    word.push(c);
                }
            }
        }
    }
    words.retain(|w| !w.is_empty());
    words
}
