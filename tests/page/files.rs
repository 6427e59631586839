//! Files of a pack: written whole, never over what is there, tables with SI values.

use super::pages::run;
use std::path::PathBuf;

fn folder(name: &str) -> PathBuf {
    let folder =
        std::env::temp_dir().join(format!("loopwright-page-{}-{name}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder");
    folder
}

#[test]
fn a_page_is_not_written_over_another_unless_forced() {
    let folder = folder("force");
    let path = folder.join("job.html");
    let path = path.to_str().expect("UTF-8");
    let report = |more: &[&str]| {
        let mut arguments = vec!["report", "networks/bookmobile.json", "-o", path];
        arguments.extend(more);
        run(&arguments, None)
    };
    // The bookmobile misses limits: the page is written and the answer is no.
    assert_eq!(report(&[]).status.code(), Some(1));
    let first = std::fs::read(path).expect("a page");
    let refused = report(&["--date", "later"]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("--force"));
    assert_eq!(std::fs::read(path).expect("a page"), first);
    assert_eq!(
        report(&["--date", "later", "--force"]).status.code(),
        Some(1)
    );
    assert_ne!(std::fs::read(path).expect("a page"), first);
    assert_eq!(std::fs::read_dir(&folder).expect("the folder").count(), 1);
    std::fs::remove_dir_all(folder).expect("removed");
}

#[test]
fn tables_are_files_with_si_values() {
    let folder = folder("csv");
    let to = folder.join("tables");
    let output = run(
        &[
            "report",
            "networks/bookmobile.json",
            "--csv-dir",
            to.to_str().expect("UTF-8"),
        ],
        None,
    );
    assert_eq!(
        output.status.code(),
        Some(1),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let hoses = std::fs::read_to_string(to.join("cut_hoses.csv")).expect("the cut list");
    assert!(
        hoses.starts_with("id,loop,count,bore_m,length_m\r\n"),
        "{hoses}"
    );
    assert!(hoses.contains("feed,battery,1,0.019,1.4\r\n"), "{hoses}");
    for file in [
        "verdicts.csv",
        "limits_hot_hill.csv",
        "bucket_battery_mid.csv",
        "coolant.csv",
        "cut_headers.csv",
    ] {
        let text = std::fs::read_to_string(to.join(file)).unwrap_or_else(|e| panic!("{file}: {e}"));
        assert!(text.lines().count() > 1, "{file}");
    }
    std::fs::remove_dir_all(folder).expect("removed");
}

#[test]
fn a_report_says_where_it_cannot_go() {
    for (arguments, word) in [
        (vec!["report", "networks/bookmobile.json"], "-o job.html"),
        (
            vec![
                "report",
                "networks/bookmobile.json",
                "-o",
                "no/such/folder/job.html",
            ],
            "no/such/folder",
        ),
        (
            vec![
                "report",
                "networks/bookmobile.json",
                "-o",
                "-",
                "--test-water",
                "120 degC",
            ],
            "120.0 degC",
        ),
        (
            vec![
                "report",
                "networks/bookmobile.json",
                "-o",
                "-",
                "--case",
                "hot hil",
            ],
            "hot hill",
        ),
    ] {
        let output = run(&arguments, None);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        let message = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(message.contains(word), "{message}");
    }
}

#[test]
fn solve_writes_rows_and_bars() {
    let csv = run(
        &[
            "solve",
            "networks/bookmobile.json",
            "--csv",
            "--case",
            "hot hill",
        ],
        None,
    );
    let text = String::from_utf8(csv.stdout).expect("UTF-8");
    let json = run(
        &[
            "solve",
            "networks/bookmobile.json",
            "--json",
            "--case",
            "hot hill",
        ],
        None,
    );
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    let row = text
        .lines()
        .find(|l| l.starts_with("hot hill,battery,feed,"))
        .expect("a row");
    let flow: f64 = row
        .split(',')
        .nth(6)
        .and_then(|f| f.parse().ok())
        .expect("a flow");
    let feed = &json["cases"]["hot hill"]["loops"]["battery"]["parts"]["feed"];
    let wanted = feed["volume_flow_m3_s"].as_f64().expect("a flow");
    // serde_json reads decimals back within a unit of the last place only.
    assert!((flow - wanted).abs() <= 2.0 * f64::EPSILON * wanted);
    let bars = |chart: &str| {
        let output = run(
            &[
                "solve",
                "networks/bookmobile.json",
                "--case",
                "hot hill",
                "--chart",
                chart,
            ],
            None,
        );
        String::from_utf8(output.stdout).expect("UTF-8")
    };
    assert!(bars("unicode").contains('\u{2588}') && bars("ascii").is_ascii());
    // Into a pipe there are none unless asked for.
    assert!(!bars("auto").contains("flow of each module"));
}

/// The picture of the README is what the program draws; `LOOPWRIGHT_BLESS=1` writes it anew.
#[test]
fn the_picture_of_the_readme_is_drawn_by_the_program() {
    let folder = folder("drawing");
    let path = folder.join("loops.svg");
    let output = run(
        &[
            "report",
            "networks/bookmobile.json",
            "--case",
            "hot hill",
            "--drawing",
            path.to_str().expect("UTF-8"),
        ],
        None,
    );
    assert_eq!(
        output.status.code(),
        Some(1),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let drawn = std::fs::read_to_string(&path).expect("a drawing");
    std::fs::remove_dir_all(folder).expect("removed");
    let kept = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("networks/bookmobile.svg");
    if std::env::var_os("LOOPWRIGHT_BLESS").is_some() {
        std::fs::write(&kept, &drawn).expect("written");
    }
    let kept = std::fs::read_to_string(kept).expect("networks/bookmobile.svg");
    assert!(
        kept == drawn,
        "networks/bookmobile.svg is not what is drawn now; look at it and bless it"
    );
    assert!(!drawn.contains("data-j") && drawn.contains("23.7 L/min"));
}

/// Two radiators of one air path: each core stands under the radiator that it belongs to.
#[test]
fn cores_of_stacked_radiators_stand_under_their_own_radiator() {
    let output = run(&["report", "networks/stacked-cores.json", "--json"], None);
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let names = |radiator: &str| -> Vec<String> {
        let cores = answer["job"]["faces"][radiator]["cores"].as_object();
        cores.expect("cores").keys().cloned().collect()
    };
    assert_eq!(names("front"), ["battery"]);
    assert_eq!(names("rear"), ["drive", "charger"]);
}
