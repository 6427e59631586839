//! Cutting a radiator: the lesson of heat per kelvin, places that add up, the own cut as `solve` has it, and a plain
//! "no" with numbers that hold.

#![allow(clippy::unwrap_used)]

use loopwright::design::{Design, Source};
use loopwright::network::Network;
use loopwright::part::{Core, Share, TubeDirection};
use loopwright::quantity::{Current, Power, Temperature, UnitFamily};
use loopwright::report::{Paint, partition_csv, partition_json, partition_report, render};
use loopwright::solve::Solver;
use loopwright::study::partition::{
    self, Cut, CutState, PartitionAnswer, PartitionError, PartitionQuestion, Remedy,
};
use std::process::Command;

const LESSON: &str = include_str!("../networks/two-core-lesson.json");
const BOOKMOBILE: &str = include_str!("../networks/bookmobile.json");
const PAGE: &str = include_str!("../src/handbook/partition.md");

fn design(text: &str) -> Design {
    match Source::read(text) {
        Ok(source) => source.design,
        Err(faults) => panic!("{faults:?}"),
    }
}

fn divide(design: &Design) -> PartitionAnswer {
    match partition::run(design, &PartitionQuestion::default()) {
        Ok(answer) => answer,
        Err(error) => panic!("{error}"),
    }
}

fn states(cut: &Cut) -> impl Iterator<Item = (&str, &CutState)> {
    cut.cases
        .iter()
        .filter_map(|c| Some((c.case.as_str(), c.outcome.as_ref().ok()?)))
}

#[test]
fn a_quarter_of_the_heat_may_need_the_larger_core() {
    let answer = divide(&design(LESSON));
    assert_eq!(answer.cores, ["battery", "drive"]);
    let fitting: Vec<&Cut> = answer.cuts.iter().filter(|c| c.fits).collect();
    assert!(!fitting.is_empty());
    for cut in &fitting {
        assert!(cut.tubes[0] > cut.tubes[1], "{:?}", cut.tubes);
    }
    for cut in fitting {
        for (case, state) in states(cut) {
            let [battery, drive] = &state.cores;
            let share = battery.heat_w / drive.heat_w;
            assert!((0.18..0.27).contains(&share), "{case}: {share}");
            assert!(battery.conductance_w_k > drive.conductance_w_k, "{case}");
        }
    }
    let own = answer.own_cut().expect("the design's own cut");
    assert_eq!(own.tubes[0], own.tubes[1], "half and half, by eye");
    assert!(!own.fits);
    let worst = own.worst.as_ref().expect("limits");
    assert_eq!(
        (worst.limit, worst.subject.as_str()),
        ("module_temperature", "battery")
    );
}

#[test]
fn the_best_cut_is_in_the_window_and_no_cut_in_it_has_a_larger_smallest_margin() {
    let answer = divide(&design(LESSON));
    let (first, last) = answer.window().expect("some fit");
    let best = answer.best_cut().expect("a best cut");
    assert!(answer.window_is_whole());
    assert!((first..=last).contains(&best.tubes[0]));
    let margin = |c: &Cut| c.worst.as_ref().map_or(f64::NEG_INFINITY, |w| w.margin_k);
    for cut in answer.cuts.iter().filter(|c| c.fits) {
        assert!(margin(cut) >= 0.0 && margin(cut) <= margin(best));
    }
    for cut in answer
        .cuts
        .iter()
        .filter(|c| !c.fits && c.failure().is_none())
    {
        assert!(margin(cut) < 0.0, "{:?}", cut.tubes);
    }
}

#[test]
fn the_places_of_the_walls_add_up_to_the_face() {
    for text in [LESSON, BOOKMOBILE] {
        let mut design = design(text);
        for direction in [TubeDirection::Horizontal, TubeDirection::Vertical] {
            let (name, radiator) = design.radiators.iter_mut().next().expect("a radiator");
            radiator.tubes.direction = Some(direction);
            let across = match direction {
                TubeDirection::Horizontal => radiator.face_height.m(),
                TubeDirection::Vertical => radiator.face_width.m(),
            };
            let (count, name) = (radiator.tubes.count, name.clone());
            let answer = divide(&design);
            assert_eq!(answer.radiator, name);
            let pitch = across / f64::from(count);
            let whole: u32 = answer.cuts[0].tubes.iter().sum();
            assert_eq!(answer.cuts.len() as u32, whole - 1, "every whole-tube cut");
            for cut in &answer.cuts {
                assert_eq!(cut.tubes.iter().sum::<u32>(), whole);
                let [wall] = cut.walls.as_slice() else {
                    panic!("one wall between two cores");
                };
                let near = f64::from(cut.tubes[0]) * pitch;
                let far = f64::from(cut.tubes[1] + answer.spare_tubes) * pitch;
                let lost = f64::from(answer.lost_tubes) * pitch;
                assert!((wall.first_plate_m - near).abs() < 1e-12);
                assert!((wall.second_plate_m + far - across).abs() < 1e-12);
                assert!((wall.middle_m() - near - 0.5 * lost).abs() < 1e-12);
            }
        }
    }
}

#[test]
fn the_own_cut_is_what_solve_says_of_the_design() {
    for text in [LESSON, BOOKMOBILE] {
        let design = design(text);
        let network = Network::build(&design).expect("sound");
        let answer = divide(&design);
        let own = answer.own_cut().expect("the design's own cut");
        let mut solver = Solver::new(&network);
        let mut seen = 0;
        for (case, state) in states(own) {
            let case = network.cases().iter().find(|c| c.name == case).expect("it");
            let solution = solver.solve(case).expect("it has an answer");
            let cores = solution.cores(&answer.radiator);
            for (mine, theirs) in state.cores.iter().zip(&cores) {
                let id = format!("{}.{}", answer.radiator, theirs.core);
                let part = solution.part(&theirs.owner, &id).expect("the core");
                let pairs = [
                    (mine.coolant_inlet_k, theirs.inlet_temperature_k),
                    (mine.coolant_outlet_k, theirs.outlet_temperature_k),
                    (mine.heat_w, theirs.heat_rejected_w),
                    (mine.pressure_drop_pa, part.pressure_drop_pa),
                    (mine.mass_flow_kg_s, part.mass_flow_kg_s),
                    (
                        mine.conductance_w_k.expect("heat was solved"),
                        theirs.heat_rejected_w
                            / (theirs.inlet_temperature_k - case.air_temperature_k),
                    ),
                ];
                for (a, b) in pairs {
                    assert!((a - b).abs() <= 1e-9 * b.abs(), "{id}: {a} and {b}");
                    seen += 1;
                }
            }
        }
        let steady = network.cases().iter().filter(|c| c.time.is_none());
        assert_eq!(seen, 12 * steady.count());
    }
}

/// Of these samples, at every tube count: the air side rules. (Where few tubes make the coolant turbulent and more of
/// them laminar, a core could lose by growing; no sample has that.)
#[test]
fn more_tubes_never_lower_the_heat_per_kelvin_of_a_core() {
    for text in [LESSON, BOOKMOBILE] {
        let answer = divide(&design(text));
        for core in 0..2 {
            for case in answer.cuts[0].cases.iter().map(|c| &c.case) {
                let mut series: Vec<(u32, f64)> = answer
                    .cuts
                    .iter()
                    .flat_map(states)
                    .filter(|(name, _)| name == case)
                    .filter_map(|(_, s)| {
                        Some((s.cores[core].tubes, s.cores[core].conductance_w_k?))
                    })
                    .collect();
                series.sort_by_key(|s| s.0);
                assert!(series.len() > 20, "{case}: {}", series.len());
                for pair in series.windows(2) {
                    assert!(pair[1].1 >= pair[0].1, "{case}, core {core}: {pair:?}");
                }
            }
        }
    }
}

/// The bookmobile's radiator is too small for both. What the answer asks for is then tried: with that much less heat
/// in both loops, the named cut just keeps all temperatures.
#[test]
fn where_none_fits_the_stated_lack_is_the_lack() {
    let mut design = design(BOOKMOBILE);
    let answer = divide(&design);
    assert_eq!(answer.window(), None);
    assert_eq!(answer.needs.len(), 2);
    let factor = answer
        .needs
        .iter()
        .map(|n| match n.remedy {
            Remedy::HeatPerKelvin(factor) => factor,
            other => panic!("{other:?}"),
        })
        .fold(0.0, f64::max);
    assert!((1.02..2.0).contains(&factor), "{factor}");
    let tubes = answer.needs[0].tubes;
    let text = render(
        &partition_report("bookmobile", &answer, UnitFamily::Metric),
        Paint::Plain,
    );
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        flat.contains("NO: no whole-tube cut meets every limit"),
        "{text}"
    );
    let percent = format!(
        "about {:.0} % more heat per kelvin in both cores",
        100.0 * (factor - 1.0)
    );
    assert!(flat.contains(&percent), "{percent}\n{text}");

    let share = answer
        .needs
        .iter()
        .filter_map(|n| n.heat_share)
        .fold(1.0, f64::min);
    assert!((0.5..0.98).contains(&share), "{share}");
    for case in design.cases.values_mut() {
        let current = case.module_current.expect("it has a current");
        case.module_current = Some(Current::from_a(current.a() * share.sqrt()));
        for heat in case.heat.values_mut() {
            *heat = Power::from_w(heat.w() * share);
        }
    }
    let eased = divide(&design);
    let cut = eased
        .cuts
        .iter()
        .find(|c| c.tubes == tubes)
        .expect("that cut");
    let tightest = states(cut)
        .flat_map(|(_, state)| &state.limits)
        .filter(|r| ["module_temperature", "coolant_inlet"].contains(&r.limit))
        .filter_map(|r| r.margin)
        .fold(f64::INFINITY, f64::min);
    // Neither too little nor much too much: cooler coolant flows less, and cooler cells make more heat.
    assert!((-0.2..0.4).contains(&tightest), "{tightest} K");
}

#[test]
fn a_limit_that_no_cut_meets_and_no_core_moves_is_shown_and_not_counted() {
    let answer = divide(&design(BOOKMOBILE));
    let uneven: Vec<_> = answer
        .tracks
        .iter()
        .filter(|t| t.limit == "module_flow_deviation" && t.subject == "battery")
        .collect();
    assert_eq!(uneven.len(), 3);
    assert!(uneven.iter().all(|t| !t.counts && t.is_hopeless()));
    let hot = answer
        .tracks
        .iter()
        .find(|t| t.limit == "module_temperature")
        .expect("it");
    assert!(hot.counts);
}

#[test]
fn air_hotter_than_the_limit_is_a_plain_no_with_a_chiller() {
    let mut design = design(LESSON);
    for case in design.cases.values_mut() {
        case.air = Temperature::from_celsius(46.0);
    }
    let answer = divide(&design);
    assert_eq!(answer.window(), None);
    let battery = answer
        .needs
        .iter()
        .find(|n| n.owner == "battery")
        .expect("a need");
    assert_eq!(battery.remedy, Remedy::Chiller);
    let report = partition_report("hot", &answer, UnitFamily::Us);
    assert!(render(&report, Paint::Plain).contains("a chiller"));
}

#[test]
fn tubes_may_move_between_cores_that_are_not_neighbours() {
    let mut design = design(LESSON);
    let mut third = design.loops["drive"].clone();
    for run in &mut third.runs {
        for part in run.iter_mut().filter(|p| *p == "front.drive") {
            *part = "front.third".into();
        }
    }
    design.loops.insert("third".into(), third);
    let radiator = design.radiators.get_mut("front").expect("it");
    radiator.cores["battery"].tubes = Some(12);
    radiator.cores["drive"].tubes = Some(16);
    radiator.cores.insert(
        "third".into(),
        Core {
            tubes: Some(8),
            passes: Some(2),
            ..Core::default()
        },
    );
    radiator.fans[0]
        .face_share_covered
        .insert("third".into(), Share(0.8));
    radiator.lost_tubes = Some(3);
    let question = PartitionQuestion {
        between: Some(("third".into(), "battery".into())),
        cases: vec!["market stop".into()],
        ..PartitionQuestion::default()
    };
    let answer = partition::run(&design, &question).expect("an answer");
    assert_eq!(answer.cores, ["battery", "third"]);
    assert_eq!((answer.own_tubes, answer.spare_tubes), (12, 1));
    // Two passes need two tubes at least.
    assert_eq!(answer.cuts.len(), 18);
    for cut in &answer.cuts {
        let [a, b] = cut.walls.as_slice() else {
            panic!("two walls");
        };
        assert_eq!((a.lost_tubes, b.lost_tubes), (2, 1));
        let between = b.first_plate_m - a.second_plate_m;
        assert!((between - 16.0 * answer.pitch_m).abs() < 1e-12);
        assert_eq!(cut.cases.len(), 1);
    }
}

#[test]
fn questions_about_nothing_are_refused_with_what_there_is() {
    let design = design(LESSON);
    let ask = |question: PartitionQuestion| partition::run(&design, &question).unwrap_err();
    let core = ask(PartitionQuestion {
        between: Some(("battery".into(), "driv".into())),
        ..PartitionQuestion::default()
    });
    assert_eq!(
        core.to_string(),
        "the design has no core `driv`; did you mean `drive`?"
    );
    let same = ask(PartitionQuestion {
        between: Some(("drive".into(), "drive".into())),
        ..PartitionQuestion::default()
    });
    assert_eq!(
        same,
        PartitionError::SameCore {
            core: "drive".into()
        }
    );
    let radiator = ask(PartitionQuestion {
        radiator: Some("xyz".into()),
        ..PartitionQuestion::default()
    });
    assert_eq!(
        radiator.to_string(),
        "the design has no radiator `xyz`; try `front`"
    );
}

#[test]
fn the_rows_are_one_a_cut_case_and_core_and_the_json_holds_every_limit() {
    let design = design(LESSON);
    let answer = divide(&design);
    let csv = partition_csv(&answer);
    let lines: Vec<&str> = csv.split_terminator("\r\n").collect();
    assert_eq!(lines.len(), 1 + answer.cuts.len() * design.cases.len() * 2);
    let columns = lines[0].split(',').count();
    let own = lines.iter().find(|l| l.starts_with("19,19,")).expect("it");
    assert_eq!(own.split(',').count(), columns);
    let json = partition_json(&design.title, &answer);
    let best = &json["cuts"][answer.best.expect("a best cut")];
    assert_eq!(best["tubes"], json["best"]);
    let limits = best["cases"]["hot hill"]["limits"]
        .as_array()
        .expect("a list");
    assert_eq!(limits.len(), 6);
}

#[test]
fn the_exit_code_says_whether_a_cut_fits() {
    let run = |args: &[&str]| {
        Command::new(env!("CARGO_BIN_EXE_loopwright"))
            .arg("partition")
            .args(args)
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .output()
            .expect("it runs")
    };
    let code = |args: &[&str]| run(args).status.code();
    assert_eq!(code(&["networks/two-core-lesson.json"]), Some(0));
    assert_eq!(code(&["networks/bookmobile.json", "--csv"]), Some(1));
    assert_eq!(code(&["networks/harbour-launch.json"]), Some(2));
    assert_eq!(
        code(&["networks/bookmobile.json", "--csv", "--json"]),
        Some(2)
    );
    let out = run(&[
        "networks/two-core-lesson.json",
        "--case",
        "market stop",
        "--units",
        "us",
    ]);
    let text = String::from_utf8_lossy(&out.stdout);
    assert!(
        text.contains("cut at in") && !text.contains("hot hill"),
        "{text}"
    );
}

/// Every line of the page's `text` blocks is printed, in that order; `...` stands for lines left out.
#[test]
fn the_handbook_shows_what_is_printed() {
    let answer = divide(&design(LESSON));
    let title = design(LESSON).title;
    let text = render(
        &partition_report(&title, &answer, UnitFamily::Metric),
        Paint::Plain,
    );
    let mut printed = text.lines().map(str::trim_end);
    let mut shown = 0;
    for block in PAGE.split("```text\n").skip(1) {
        let block = block.split("```").next().unwrap_or("");
        for line in block
            .lines()
            .map(str::trim_end)
            .filter(|l| !l.is_empty() && *l != "...")
        {
            assert!(
                printed.any(|p| p == line),
                "not printed, or not in this order:\n{line}\n{text}"
            );
            shown += 1;
        }
    }
    assert!(shown > 20, "{shown} lines");
}
