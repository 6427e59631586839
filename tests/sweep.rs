//! Sweeps and comparisons: a sweep is nothing but single solves, an interrupted one leaves whole rows, a comparison tells
//! what differs and nothing else, and a wrong path or value is told as in a file.

use loopwright::design::Source;
use loopwright::network::Network;
use loopwright::report::{Keys, solve_json};
use loopwright::solve::Solver;
use loopwright::study::judge;
use loopwright::study::sweep::{self, Sampling, SweepQuestion, SweepRow};
use serde_json::Value;
use std::io::Write;
use std::ops::ControlFlow;
use std::process::{Command, Output, Stdio};

const BOOKMOBILE: &str = "networks/bookmobile.json";
const BOOKMOBILE_TEXT: &str = include_str!("../networks/bookmobile.json");
const BORE: &str = "loops.battery.parts.out.hose.bore";

fn program(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_loopwright"));
    command
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env("LC_ALL", "C")
        .stdin(Stdio::null());
    command
}

fn run(arguments: &[&str]) -> Output {
    program(arguments).output().expect("the program starts")
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

fn question(vary: &[&str], outputs: &[&str]) -> SweepQuestion {
    SweepQuestion {
        vary: vary.iter().map(|v| v.parse().expect("values")).collect(),
        outputs: outputs.iter().map(|o| (*o).to_owned()).collect(),
        ..SweepQuestion::default()
    }
}

fn rows(question: &SweepQuestion) -> Vec<SweepRow> {
    let design = Source::read(BOOKMOBILE_TEXT).expect("sound").design;
    let mut rows = Vec::new();
    let answer = sweep::run(&design, question, &Keys, &mut |row| {
        rows.push(row);
        ControlFlow::Continue(())
    })
    .unwrap_or_else(|error| panic!("{error}"));
    assert_eq!((answer.done, answer.points), (rows.len(), rows.len()));
    rows
}

/// The answer of `solve --json` to one steady case of the design with values put into its text: read, checked, built and
/// solved from nothing.
fn solved_alone(changes: &[String], case: &str) -> Value {
    let source = Source::read(BOOKMOBILE_TEXT).expect("sound");
    let changes: Vec<_> = changes
        .iter()
        .map(|c| c.parse().expect("a change"))
        .collect();
    let text = source.document.changed(&changes).expect("they fit");
    let design = Source::read(&text).expect("sound").design;
    let network = Network::build(&design).unwrap_or_else(|error| panic!("{error}"));
    let case = network
        .cases()
        .iter()
        .find(|c| c.name == case)
        .expect("the case");
    let solution = Solver::new(&network)
        .solve(case)
        .unwrap_or_else(|error| panic!("{error}"));
    let limits = judge(&solution, &design.limits.unwrap_or_default());
    let outcome = (case.name.clone(), Ok((solution, limits, Vec::new())));
    solve_json(&network, &[outcome], &[])
}

/// Bits of every output of every row.
fn bits(rows: &[SweepRow]) -> Vec<Vec<Option<u64>>> {
    let row = |r: &SweepRow| r.outputs.iter().map(|v| v.map(f64::to_bits)).collect();
    rows.iter().map(row).collect()
}

#[test]
fn a_sweep_is_single_cold_solves_bit_for_bit_on_any_number_of_threads() {
    let outputs = [
        "cases.hot hill.loops.battery.banks.mid.deviation",
        "cases.hot hill.loops.battery.parts.rear.module 3.circuit 1.mass_flow_kg_s",
        "cases.hot hill.loops.drive.parts.motor.outlet_temperature_k",
        "cases.hot hill.radiators.nose.cores.battery.heat_rejected_w",
        "cases.hot hill.limits[0].margin",
    ];
    let vary = [
        "loops.battery.parts.out.hose.bore=13 mm..1 in:3",
        "cases.hot hill.module_current=100 A,140 A",
        "loops.drive.parts.pump.pump.curve[1][1]=48 kPa..52 kPa:2",
    ];
    let mut question = question(&vary, &outputs);
    let mut first: Option<Vec<Vec<Option<u64>>>> = None;
    for threads in [1, 2, 4] {
        question.threads = threads;
        let rows = rows(&question);
        assert_eq!(rows.len(), 12);
        assert!(rows.iter().all(|r| r.failure.is_none()));
        match &first {
            Some(first) => assert_eq!(&bits(&rows), first, "{threads} threads"),
            None => first = Some(bits(&rows)),
        }
        if threads > 1 {
            continue;
        }
        for row in &rows {
            let changes: Vec<String> = vary
                .iter()
                .zip(&row.inputs)
                .map(|(vary, s)| {
                    let path = vary.split('=').next().unwrap_or_default();
                    format!("{path}={}", s.text())
                })
                .collect();
            let whole = solved_alone(&changes, "hot hill");
            let case = &whole["cases"]["hot hill"];
            let battery = &case["loops"]["battery"];
            let alone = [
                &battery["banks"]["mid"]["deviation"],
                &battery["parts"]["rear.module 3.circuit 1"]["mass_flow_kg_s"],
                &case["loops"]["drive"]["parts"]["motor"]["outlet_temperature_k"],
                &case["radiators"]["nose"]["cores"]["battery"]["heat_rejected_w"],
                &case["limits"][0]["margin"],
            ];
            let alone: Vec<Option<f64>> = alone.iter().map(|v| v.as_f64()).collect();
            assert_eq!(row.outputs, alone, "{changes:?}");
        }
    }
    // The inputs do something.
    let first = first.expect("rows");
    assert!(
        first
            .iter()
            .enumerate()
            .all(|(k, row)| first[..k].iter().all(|r| r != row))
    );
}

#[test]
fn a_sample_is_single_solves_too_and_stays_between_the_ends() {
    let mut question = question(
        &[
            "loops.battery.parts.out.hose.bore=13 mm..25 mm",
            "loops.battery.parts.mid.bank.count=7..9",
            "loops.battery.parts.mid.bank.layout=same_end,opposite_end",
        ],
        &["cases.hot hill.loops.battery.banks.mid.deviation"],
    );
    question.sampling = Sampling::Sobol(8);
    for row in rows(&question) {
        let changes: Vec<String> = question
            .vary
            .iter()
            .zip(&row.inputs)
            .map(|(vary, setting)| format!("{}={}", vary.path, setting.text()))
            .collect();
        let alone = solved_alone(&changes, "hot hill");
        let deviation =
            &alone["cases"]["hot hill"]["loops"]["battery"]["banks"]["mid"]["deviation"];
        assert_eq!(row.outputs[0], deviation.as_f64(), "{changes:?}");
        let bore = row.inputs[0].si().expect("a bore");
        assert!((0.013..0.025).contains(&bore), "{bore}");
        assert!(["7", "8", "9"].contains(&row.inputs[1].text().as_str()));
    }
}

#[test]
fn a_point_without_answer_is_a_row_with_its_reason_and_the_rest_goes_on() {
    let output = run(&[
        "sweep",
        BOOKMOBILE,
        "--vary",
        "radiators.nose.cores.battery.tubes=25..29:3",
        "--case",
        "hot hill",
        "--csv",
    ]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    let text = out(&output);
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines.len(), 4);
    assert!(
        lines[1].starts_with("0,25,") && lines[1].ends_with(','),
        "{}",
        lines[1]
    );
    assert!(lines[3].contains("29,,"), "{}", lines[3]);
    assert!(lines[3].contains("44"), "no reason in {}", lines[3]);
    let all = run(&[
        "sweep",
        BOOKMOBILE,
        "--vary",
        "radiators.nose.cores.battery.tubes=29,30",
        "--case",
        "hot hill",
        "--json",
    ]);
    assert_eq!(code(&all), 3);
    for line in out(&all).lines() {
        let row: Value = serde_json::from_str(line).expect("JSON on each line");
        assert!(row["failure"].is_string(), "{row}");
    }
}

#[test]
fn a_limit_is_read_by_its_name_and_counted() {
    let output = run(&[
        "sweep",
        BOOKMOBILE,
        "--vary",
        &format!("{BORE}=16 mm,19 mm"),
        "--case",
        "hot hill",
        "--json",
        "--output",
        "limits.module_flow_deviation.margin",
        "--output",
        "limits.missed",
    ]);
    let text = out(&output);
    let row: Value = serde_json::from_str(text.lines().next().expect("a row")).expect("JSON");
    let checked = run(&["check", BOOKMOBILE, "--case", "hot hill", "--json"]);
    let checked: Value = serde_json::from_slice(&checked.stdout).expect("JSON");
    let limits = checked["cases"]["hot hill"]["limits"]
        .as_array()
        .expect("limits")
        .clone();
    let of = |l: &&Value| l["limit"] == "module_flow_deviation";
    let worst = limits
        .iter()
        .filter(of)
        .filter_map(|l| l["margin"].as_f64())
        .fold(f64::INFINITY, f64::min);
    let missed = limits.iter().filter(|l| l["verdict"] == "missed").count();
    let outputs = &row["outputs"];
    assert_eq!(
        outputs["cases.hot hill.limits.module_flow_deviation.margin"].as_f64(),
        Some(worst)
    );
    assert_eq!(
        outputs["cases.hot hill.limits.missed"].as_f64(),
        Some(missed as f64)
    );
}

#[test]
fn a_case_in_time_is_swept_only_when_it_is_named_and_gives_what_solve_gives() {
    let output = run(&[
        "sweep",
        BOOKMOBILE,
        "--vary",
        "cases.tow burst.module_current=200 A,220 A",
        "--json",
        "--output",
        "cases.tow burst.time.peaks[0].temperature_k",
    ]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    let text = out(&output);
    let row: Value = serde_json::from_str(text.lines().nth(1).expect("a row")).expect("JSON");
    let alone = run(&["solve", BOOKMOBILE, "--case", "tow burst", "--json"]);
    let alone: Value = serde_json::from_slice(&alone.stdout).expect("JSON");
    let peak = &alone["cases"]["tow burst"]["time"]["peaks"][0]["temperature_k"];
    assert!(peak.is_number());
    assert_eq!(
        &row["outputs"]["cases.tow burst.time.peaks[0].temperature_k"],
        peak
    );
    let usual = run(&[
        "sweep",
        BOOKMOBILE,
        "--vary",
        &format!("{BORE}=16 mm,19 mm"),
        "--csv",
    ]);
    assert!(!out(&usual).contains("tow burst"));
}

#[test]
fn the_text_of_a_sweep_has_a_table_the_turn_of_a_margin_and_a_plot() {
    let arguments = [
        "sweep",
        BOOKMOBILE,
        "--case",
        "hot hill",
        "--vary",
        "cases.hot hill.air=30 degC..42 degC:7",
        "--output",
        "limits.module_temperature.margin",
    ];
    let output = run(&arguments);
    assert_eq!(code(&output), 0, "{}", err(&output));
    let text = out(&output);
    assert!(text.is_ascii(), "{text}");
    for word in [
        "missed between 38 degC and 40 degC",
        "Lowest and highest",
        "30 degC",
        " |",
        "+-----",
        "High voltage kills",
    ] {
        assert!(text.contains(word), "no `{word}` in\n{text}");
    }
    let drawn = program(&arguments)
        .env("LC_ALL", "C.UTF-8")
        .output()
        .expect("it starts");
    assert!(out(&drawn).contains('•'));
}

/// Ctrl-C in the middle: the rows that were written are whole, in order, and the exit code says so.
#[cfg(unix)]
#[test]
fn an_interrupted_sweep_leaves_whole_rows() {
    for (flag, heading) in [("--csv", 1), ("--json", 0)] {
        let path =
            std::env::temp_dir().join(format!("loopwright-sweep-{}{flag}", std::process::id()));
        let file = std::fs::File::create(&path).expect("a file");
        let mut child = program(&[
            "sweep",
            BOOKMOBILE,
            "--vary",
            &format!("{BORE}=13 mm..25 mm:1000000"),
            flag,
            "--output",
            "cases.hot hill.loops.battery.banks.mid.deviation",
        ])
        .stdout(file)
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
        let written = || {
            std::fs::read_to_string(&path)
                .expect("readable")
                .lines()
                .count()
        };
        for _ in 0..600 {
            if written() > 20 {
                break;
            }
            std::thread::sleep(std::time::Duration::from_millis(100));
        }
        let sent = Command::new("kill")
            .args(["-INT", &child.id().to_string()])
            .status();
        assert!(sent.is_ok_and(|s| s.success()));
        let status = child.wait().expect("it ends");
        let text = std::fs::read_to_string(&path).expect("readable");
        std::fs::remove_file(&path).expect("its own file");
        assert_eq!(status.code(), Some(130));
        assert!(text.ends_with('\n'));
        let rows: Vec<&str> = text.lines().skip(heading).collect();
        assert!(rows.len() > 10 && rows.len() < 1_000_000, "{}", rows.len());
        for (k, row) in rows.iter().enumerate() {
            if flag == "--json" {
                let row: Value = serde_json::from_str(row).expect("each line is JSON");
                assert_eq!(row["point"], k);
            } else {
                assert!(row.starts_with(&format!("{k},")), "{row}");
                assert_eq!(row.split(',').count(), 5, "{row}");
            }
        }
    }
}

#[test]
fn a_design_compared_with_itself_differs_in_nothing() {
    let same = run(&["compare", BOOKMOBILE, BOOKMOBILE]);
    assert_eq!(code(&same), 0, "{}", err(&same));
    assert!(out(&same).contains("Nothing differs."));
    let same = run(&[
        "compare",
        BOOKMOBILE,
        BOOKMOBILE,
        "--json",
        "--threshold",
        "0",
    ]);
    let answer: Value = serde_json::from_slice(&same.stdout).expect("JSON");
    assert_eq!((code(&same), &answer["same"]), (0, &Value::Bool(true)));
    for case in answer["cases"].as_object().expect("cases").values() {
        assert_eq!(case["moved"], Value::Array(Vec::new()));
        assert!(
            case["compared"].as_u64().is_some_and(|n| n > 500),
            "{}",
            case["compared"]
        );
    }
    // Another unit is no difference.
    let written = format!("{BORE}=1.6 cm");
    let same = run(&["compare", BOOKMOBILE, "--set", &written]);
    assert!(out(&same).contains("Nothing differs."), "{}", out(&same));
    let csv = run(&["compare", BOOKMOBILE, BOOKMOBILE, "--csv"]);
    assert!(
        !out(&csv)
            .lines()
            .any(|l| l.starts_with("input") || l.starts_with("output"))
    );
}

#[test]
fn a_comparison_tells_inputs_outputs_and_limits_that_flipped() {
    let hotter = "cases.hot hill.air=41 degC";
    let worse = run(&[
        "compare", BOOKMOBILE, "--set", hotter, "--case", "hot hill", "--json",
    ]);
    assert_eq!(code(&worse), 1, "{}", err(&worse));
    let answer: Value = serde_json::from_slice(&worse.stdout).expect("JSON");
    assert_eq!(
        answer["inputs"],
        serde_json::json!([{ "path": "cases.hot hill.air", "before": "38 degC", "after": "41 degC" }])
    );
    let flipped = answer["flipped"].as_array().expect("flips");
    assert!(
        flipped
            .iter()
            .any(|f| f["limit"] == "module_temperature" && f["flip"] == "to_missed")
    );
    let moved = answer["cases"]["hot hill"]["moved"]
        .as_array()
        .expect("outputs");
    let warmer = |m: &&Value| m["path"] == "loops.battery.banks.mid.module_temperature_k[0]";
    let module = moved.iter().find(warmer).expect("the first module");
    let rise = module["after"].as_f64().expect("K") - module["before"].as_f64().expect("K");
    assert!(
        (2.0..4.0).contains(&rise),
        "3 K more air, less heat of a warmer module: {rise} K"
    );
    // Turned round it is better, and no limit is lost.
    let text = BOOKMOBILE_TEXT.replace(
        "\"air\": \"38 degC\", \"travel_speed\": \"35 km/h\"",
        "\"air\": \"41 degC\", \"travel_speed\": \"35 km/h\"",
    );
    let mut child = program(&["compare", "-", BOOKMOBILE, "--case", "hot hill"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("it starts");
    let mut input = child.stdin.take().expect("a pipe");
    input.write_all(text.as_bytes()).expect("it reads");
    drop(input);
    let better = child.wait_with_output().expect("it ends");
    assert_eq!(code(&better), 0);
    let text = out(&better);
    for word in [
        "Limits that flipped",
        "module temperature",
        "MISSED",
        "41 degC",
        "--all",
    ] {
        assert!(text.contains(word), "no `{word}` in\n{text}");
    }
}

#[test]
fn what_is_set_is_what_a_file_with_that_value_gives() {
    let edited = BOOKMOBILE_TEXT.replace(
        "\"out\": { \"hose\": { \"bore\": \"16 mm\"",
        "\"out\": { \"hose\": { \"bore\": \"19 mm\"",
    );
    assert_ne!(edited, BOOKMOBILE_TEXT);
    let path = std::env::temp_dir().join(format!("loopwright-set-{}.json", std::process::id()));
    std::fs::write(&path, edited).expect("a file");
    let file = path.to_string_lossy();
    for verb in ["solve", "check", "layout", "partition"] {
        let set = run(&[
            verb,
            BOOKMOBILE,
            "--set",
            &format!("{BORE}=19 mm"),
            "--json",
        ]);
        let edited = run(&[verb, &file, "--json"]);
        assert_eq!(code(&set), code(&edited), "{verb}: {}", err(&set));
        assert!(!out(&set).is_empty() && out(&set) == out(&edited), "{verb}");
    }
    std::fs::remove_file(&path).expect("its own file");
}

/// Snapshots of what is said about wrong paths and values, each with exit code 2 and nothing on standard output.
#[test]
fn a_wrong_path_or_value_is_told_with_its_reason() {
    let vary = |text: &str| {
        vec![
            "sweep".to_owned(),
            BOOKMOBILE.to_owned(),
            "--vary".to_owned(),
            text.to_owned(),
        ]
    };
    let with = |mut list: Vec<String>, more: &[&str]| {
        list.extend(more.iter().map(|m| (*m).to_owned()));
        list
    };
    let set = |text: &str| {
        vec![
            "check".to_owned(),
            BOOKMOBILE.to_owned(),
            "--set".to_owned(),
            text.to_owned(),
        ]
    };
    let bore = vary("loops.battery.parts.out.hose.bore=13 mm..25 mm:3");
    for (arguments, said) in [
        (
            vary("loops.battery.parts.outt.hose.bore=13 mm..25 mm:3"),
            "error: cannot find `loops.battery.parts.outt.hose.bore` because `loops.battery.parts` has no `outt` but `tank`, `pump`, `feed`, `split`, `mid`, `out`, `rear`, `back`, `join`, `return`, `suction`; did you mean `loops.battery.parts.out.hose.bore`?",
        ),
        (
            vary("out.bore=13 mm..25 mm:3"),
            "error: cannot find `out.bore` because the whole has no `out` but `format`, `title`, `units`, `coolants`, `modules`, `loops`, `radiators`, `cases`, `limits`; did you mean `loops.battery.parts.out.hose.bore` or `loops.battery.parts.out.hose.fittings[1].barb.bore`?",
        ),
        (
            vary("loops.battery.coolant=1..3:3"),
            "error: cannot vary `loops.battery.coolant` because it is the text `mix`, and a range needs a number; give a list, such as `loops.battery.coolant=mix,...`",
        ),
        (
            vary("loops.battery.parts.out.hose.bore=13 psi..25 psi:3"),
            "error: cannot change `loops.battery.parts.out.hose.bore`: a length is wanted, but `13 psi` is a pressure; try \"19 mm\" or \"3/4 in\"",
        ),
        (
            vary("loops.battery.parts.out.hose.bore=13 mm..25 mm"),
            "error: the range of `loops.battery.parts.out.hose.bore` says no number of values; write `A..B:N`, or sample with `--sobol N`",
        ),
        (
            with(bore.clone(), &["--sobol", "10"]),
            "error: the range of `loops.battery.parts.out.hose.bore` says a number of values, but the sampling has its own; write `A..B`",
        ),
        (
            with(
                bore.clone(),
                &["--vary", "loops.battery.parts.out.hose.bore=19 mm,25 mm"],
            ),
            "error: `loops.battery.parts.out.hose.bore` is varied twice; keep one of the two",
        ),
        (
            with(
                bore.clone(),
                &[
                    "--output",
                    "loops.battery.banks.mid.deviatoin",
                    "--case",
                    "hot hill",
                ],
            ),
            "error: cannot read the output `cases.hot hill.loops.battery.banks.mid.deviatoin`: cannot find `loops.battery.banks.mid.deviatoin` because `loops.battery.banks.mid` has no `deviatoin` but `branch_flow_over_mean`, `circuit_flow_over_mean`, `max_over_min`, `deviation`, `module_temperature_k`, `module_temperature_spread_k`, `hottest_module`, `pressure_drop_pa`, `branch_loss_pa`, `header_velocity_head_pa`, `header_friction_pa`, `worst_branch` and 4 more; did you mean `loops.battery.banks.mid.deviation`?",
        ),
        (
            with(bore.clone(), &["--output", "cases.hot hil.limits.missed"]),
            "error: the design has no case `hot hil`; did you mean `hot hill`?",
        ),
        (
            with(
                bore,
                &["--output", "cases.hot hill.loops.battery.banks.mid"],
            ),
            "error: cannot read the output `cases.hot hill.loops.battery.banks.mid`: it is an object; name a number inside it, such as `loops.battery.banks.mid.branch_flow_over_mean`",
        ),
        (
            set("loops.battery.parts.out.hose.boer=19 mm"),
            "error: cannot find `loops.battery.parts.out.hose.boer` because `loops.battery.parts.out.hose` has no `boer` but `bore`, `length`, `fittings`; did you mean `loops.battery.parts.out.hose.bore`?",
        ),
    ] {
        let list: Vec<&str> = arguments.iter().map(String::as_str).collect();
        let output = run(&list);
        assert_eq!(
            (code(&output), out(&output).as_str()),
            (2, ""),
            "{arguments:?}"
        );
        assert_eq!(err(&output).trim_end(), said);
    }
    // A value is shown where it would stand in the file.
    let wrong = run(&[
        "solve",
        BOOKMOBILE,
        "--set",
        "loops.battery.parts.out.hose.bore=19 psi",
    ]);
    assert_eq!((code(&wrong), out(&wrong).as_str()), (2, ""));
    let text = err(&wrong);
    for word in [
        "a length is wanted, but `19 psi` is a pressure",
        "networks/bookmobile.json, as set:41",
        "loops.battery.parts.out.hose.bore",
        "^^^^^^^^",
    ] {
        assert!(text.contains(word), "no `{word}` in\n{text}");
    }
    let wrong = run(&[
        "check",
        BOOKMOBILE,
        "--set",
        "radiators.nose.cores.battery.tubes=40",
    ]);
    assert_eq!(code(&wrong), 2);
    assert!(err(&wrong).contains("as set:"), "{}", err(&wrong));
    let empty = run(&[
        "sweep",
        BOOKMOBILE,
        "--vary",
        "loops.battery.parts.out.hose.bore=19 mm..19 mm:3",
    ]);
    assert_eq!(code(&empty), 2);
    assert!(
        err(&empty).contains("the range is empty: `19 mm` and `19 mm` are the same value"),
        "{}",
        err(&empty)
    );
}
