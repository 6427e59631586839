//! How a browser shows the pages: no label over another, no page wider than its window, contrast, tables within paper,
//! pages that print. Needs Chromium; where there is none, that is said and nothing is claimed.

use super::pages::{Page, all};
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::process::Command;

/// Set by `.ci/run`: the checks must run.
const MUST: &str = "LOOPWRIGHT_BROWSER_MUST";
/// Path of a browser that takes Chromium's arguments.
const CHOSEN: &str = "LOOPWRIGHT_BROWSER";
/// Width of A4 paper between margins of 12 mm at 96 dots an inch; letter paper is wider.
const PAPER_PX: u32 = 703;

fn browser() -> Option<PathBuf> {
    if let Some(chosen) = std::env::var_os(CHOSEN).filter(|v| !v.is_empty()) {
        return Some(chosen.into());
    }
    let path = std::env::var_os("PATH")?;
    std::env::split_paths(&path)
        .flat_map(|folder| [folder.join("chromium"), folder.join("chromium-browser")])
        .find(|file| file.is_file())
}

/// Starts the browser; its output and what it logged.
fn show(browser: &Path, folder: &Path, more: &[&str], file: &Path) -> (String, String) {
    let output = Command::new(browser)
        .args([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-dev-shm-usage",
            "--no-first-run",
            "--enable-logging=stderr",
            "--virtual-time-budget=120000",
        ])
        .arg(format!(
            "--user-data-dir={}",
            folder.join("profile").display()
        ))
        .args(more)
        .arg(format!("file://{}", file.display()))
        .output()
        .expect("the browser starts");
    (
        String::from_utf8_lossy(&output.stdout).into_owned(),
        String::from_utf8_lossy(&output.stderr).into_owned(),
    )
}

/// A page that puts others into frames of stated widths and measures them.
fn bench(pages: &[&Page], windows: &Value) -> String {
    let list: Vec<Value> = pages
        .iter()
        .map(|p| json!({ "name": p.name, "html": p.html }))
        .collect();
    // Inside a script no `</` may stand.
    let data = Value::from(list).to_string().replace("</", "<\\/");
    format!(
        "<!doctype html><meta charset=\"utf-8\"><body><pre id=\"out\"></pre><script>const PAGES={data};const WINDOWS={windows};{}</script>",
        include_str!("measure.js")
    )
}

/// What was measured: the JSON that the bench leaves in its page.
fn measured(dom: &str) -> Value {
    let text = dom
        .split_once("id=\"out\">")
        .and_then(|(_, rest)| rest.split_once("</pre>"))
        .map(|(text, _)| {
            text.replace("&lt;", "<")
                .replace("&gt;", ">")
                .replace("&amp;", "&")
        })
        .unwrap_or_default();
    serde_json::from_str(&text).unwrap_or_else(|e| panic!("the bench left no answer: {e}: {text}"))
}

fn console(log: &str) -> Vec<&str> {
    log.lines().filter(|l| l.contains("CONSOLE")).collect()
}

#[test]
fn a_browser_shows_every_page_without_overlap_clipping_or_faint_text() {
    let Some(browser) = browser() else {
        assert!(
            std::env::var_os(MUST).is_none(),
            "{MUST} is set, but no chromium is in PATH"
        );
        eprintln!(
            "NOT CHECKED: no chromium in PATH and no {CHOSEN}, so no page was looked at in a browser"
        );
        return;
    };
    let folder = std::env::temp_dir().join(format!("loopwright-browser-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder");
    let pages: Vec<&Page> = all().iter().collect();
    let bench_file = folder.join("bench.html");
    let windows = json!([
        { "width": 1200, "print": false },
        { "width": 390, "print": false },
        { "width": PAPER_PX, "print": true },
    ]);
    std::fs::write(&bench_file, bench(&pages, &windows)).expect("the bench");
    for (dark, setting) in [(false, "1"), (true, "0")] {
        let scheme = format!("--blink-settings=preferredColorScheme={setting}");
        let (dom, log) = show(&browser, &folder, &["--dump-dom", &scheme], &bench_file);
        let answer = measured(&dom);
        assert_eq!(console(&log), Vec::<&str>::new(), "the browser complains");
        assert_eq!(answer["dark"], dark, "the wrong colours were looked at");
        let problems = answer["problems"].as_array().expect("a list");
        let list: Vec<String> = problems.iter().take(40).map(Value::to_string).collect();
        assert!(
            problems.is_empty(),
            "{} problems, dark {dark}:\n{}",
            problems.len(),
            list.join("\n")
        );
        // It did look.
        let looked = |key: &str| answer[key].as_u64().unwrap_or(0);
        assert_eq!(looked("pages"), 3 * pages.len() as u64);
        assert!(
            looked("labels") > 2000 && looked("texts") > 5000 && looked("tables") > 200,
            "{answer}"
        );
    }
    // The measures themselves: a page with every fault gives every complaint.
    let faulty = Page {
        name: "faulty".into(),
        html: "<!doctype html><body style=\"margin:0;background:#fff\"><p style=\"color:#aaa\">faint</p><div style=\"width:2000px\">wide</div><table><tr><td><div style=\"width:1500px\">x</div></td></tr></table><svg width=\"100\" height=\"30\"><text x=\"5\" y=\"20\">one label</text><text x=\"12\" y=\"22\">another</text><text x=\"90\" y=\"10\">outside</text></svg>".into(),
        answer: Value::Null,
    };
    let windows = json!([{ "width": 390, "print": true }]);
    std::fs::write(&bench_file, bench(&[&faulty], &windows)).expect("the bench");
    let (dom, _) = show(&browser, &folder, &["--dump-dom"], &bench_file);
    let text = measured(&dom)["problems"].to_string();
    for complaint in [
        "overlap",
        "outside its drawing",
        "wider than",
        "contrast",
        "clipped",
    ] {
        assert!(
            text.contains(complaint),
            "the bench does not see `{complaint}`: {text}"
        );
    }
    // It prints.
    let page = pages
        .iter()
        .find(|p| p.name == "bookmobile")
        .expect("the sample");
    let (file, pdf) = (folder.join("job.html"), folder.join("job.pdf"));
    std::fs::write(&file, &page.html).expect("a page");
    let to = format!("--print-to-pdf={}", pdf.display());
    show(&browser, &folder, &[&to, "--no-pdf-header-footer"], &file);
    let bytes = std::fs::read(&pdf).expect("a PDF");
    assert!(
        bytes.starts_with(b"%PDF-") && bytes.len() > 20_000,
        "{} bytes",
        bytes.len()
    );
    let _ = std::fs::remove_dir_all(folder);
}
