//! `loopwright report`: the job pack as one HTML file, its tables as files, or the same as JSON.

use super::args::{PackUnits, ReportArgs};
use super::exit::Exit;
use super::hash::sha256;
use super::input::load;
use super::output;
use super::write::{Existing, whole};
use loopwright::quantity::{Temperature, UnitFamily};
use loopwright::report::{JobStamp, PageUnits, job_json, job_pack};
use loopwright::study::Verdict;
use loopwright::study::bucket::BENCH_K;
use loopwright::study::job::{self, JobQuestion};

/// Runs the verb: 0 where every case has an answer and every limit is met, else as `check`.
pub fn run(args: &ReportArgs) -> Exit {
    let design = args.design_args();
    let loaded = match load(&design) {
        Ok(loaded) => loaded,
        Err(exit) => return exit,
    };
    let question = JobQuestion {
        cases: args.cases.clone(),
        water_k: args.test_water.map_or(BENCH_K, Temperature::k),
    };
    if !(273.15..=373.15).contains(&question.water_k) {
        output::message(&format!(
            "error: cannot forecast the bucket test because the test water is out of range: got {:.1} degC, limit 0 to 100 degC; try --test-water \"20 degC\"",
            question.water_k - 273.15
        ));
        return Exit::WrongInput;
    }
    let job = match job::run(&loaded.design, &loaded.network, &question) {
        Ok(job) => job,
        Err(error) => {
            output::message(&format!("error: {error}"));
            return Exit::WrongInput;
        }
    };
    let answer = job_json(&job);
    let exit = match job.check.verdict() {
        None => Exit::NoSolution,
        Some(Verdict::Missed) => Exit::No,
        Some(_) => Exit::Answered,
    };
    if args.json {
        output::json(&answer);
        return exit;
    }
    let own = loaded.design.units.unwrap_or_default();
    let units = match args.units {
        None => PageUnits::One(own),
        Some(PackUnits::Metric) => PageUnits::One(UnitFamily::Metric),
        Some(PackUnits::Us) => PageUnits::One(UnitFamily::Us),
        Some(PackUnits::Both) => PageUnits::Both(own),
    };
    let file = if args.file.as_os_str() == "-" {
        "standard input".to_owned()
    } else {
        let name = args.file.file_name();
        name.map_or_else(String::new, |n| n.to_string_lossy().into_owned())
    };
    let stamp = JobStamp {
        file,
        sha256: sha256(&loaded.bytes),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        date: args.date.clone(),
    };
    let pack = job_pack(&loaded.design, &job, &answer, units, &stamp);
    let existing = if args.force {
        Existing::Replace
    } else {
        Existing::Keep
    };
    let mut written = Vec::new();
    if let Some(folder) = &args.csv_dir {
        if let Err(error) = std::fs::create_dir_all(folder) {
            output::message(&format!(
                "error: cannot make the folder `{}`: {error}",
                folder.display()
            ));
            return Exit::WrongInput;
        }
        for table in &pack.tables {
            written.push((folder.join(&table.file), table.text.as_bytes()));
        }
    }
    match &args.output {
        Some(path) if path.as_os_str() == "-" => output::result(&pack.html),
        Some(path) => written.push((path.clone(), pack.html.as_bytes())),
        None if args.csv_dir.is_none() && args.drawing.is_none() => {
            output::message(
                "error: cannot tell where the page goes; give `-o job.html`, `-o -` for standard output, `--csv-dir DIR` or `--json`",
            );
            return Exit::WrongInput;
        }
        None => {}
    }
    match (&args.drawing, &pack.drawing) {
        (Some(path), Some(svg)) => written.push((path.clone(), svg.as_bytes())),
        (Some(_), None) => output::message("no drawing was written, because no case has an answer"),
        (None, _) => {}
    }
    for (path, bytes) in written {
        if let Err(error) = whole(&path, bytes, existing) {
            output::message(&format!("error: {error}"));
            return Exit::WrongInput;
        }
    }
    exit
}
