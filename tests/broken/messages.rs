//! One mistake a file: one fault, with its line, its place, the value as written and something to try.

use crate::files::{build, designs, networks, stem};
use loopwright::design::{Fault, Style, render};
use std::path::Path;

/// The faults of a broken sample with what the builder is shown.
fn shown(path: &Path) -> (Vec<Fault>, String, String) {
    let bytes = std::fs::read(path).expect("the file can be read");
    let text = String::from_utf8(bytes.clone()).expect("the broken samples are UTF-8");
    let faults = match build(&bytes) {
        Ok(_) => Vec::new(),
        Err(faults) => faults,
    };
    let file = format!("{}.json", stem(path));
    let rendered = render(&faults, &file, &text, Style::Plain);
    (faults, text, rendered)
}

#[test]
fn each_broken_sample_is_told_as_written_down() {
    let expected = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/broken");
    let bless = std::env::var_os("LOOPWRIGHT_BLESS").is_some();
    let files = designs(&networks().join("broken"));
    assert!(files.len() >= 55, "{} broken samples", files.len());
    let mut wrong = Vec::new();
    for path in &files {
        let (_, _, rendered) = shown(path);
        let told = format!("{}\n", rendered.trim_end());
        let page = expected.join(format!("{}.txt", stem(path)));
        if bless {
            std::fs::write(&page, &told).expect("the page can be written");
        }
        let wanted = std::fs::read_to_string(&page).unwrap_or_default();
        if told != wanted {
            wrong.push(format!("--- wanted\n{wanted}--- told\n{told}"));
        }
    }
    assert!(
        wrong.is_empty(),
        "{} differ; read them, then LOOPWRIGHT_BLESS=1 writes them anew\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

#[test]
fn no_page_is_left_of_a_sample_that_is_gone() {
    let files = designs(&networks().join("broken"));
    let names: Vec<String> = files.iter().map(|path| stem(path)).collect();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/broken");
    for entry in std::fs::read_dir(folder).expect("the folder is there") {
        let path = entry.expect("it can be listed").path();
        if path.extension().is_some_and(|e| e == "txt") {
            assert!(names.contains(&stem(&path)), "{}", path.display());
        }
    }
}

#[test]
fn each_broken_sample_has_one_fault_with_a_line_and_something_to_try() {
    for path in designs(&networks().join("broken")) {
        let name = stem(&path);
        let (faults, text, rendered) = shown(&path);
        let [fault] = faults.as_slice() else {
            panic!("{name} has {} faults: {faults:#?}", faults.len());
        };
        let span = fault.span.clone().expect("a file has spans");
        assert!(text.get(span.clone()).is_some(), "{name}: {span:?}");
        let line = 1 + text[..span.start].matches('\n').count();
        assert!(
            rendered.contains(&format!("{name}.json:{line}:")),
            "{name}: {rendered}"
        );
        let first = fault.message.chars().next().unwrap_or(' ');
        assert!(!first.is_uppercase(), "{name}: {}", fault.message);
        // What to try: a line of help, or a message that says it.
        let says = [
            "; try ",
            "; write ",
            "did you mean",
            "must be ",
            "must have ",
        ];
        assert!(
            fault.help.is_some() || says.iter().any(|word| fault.message.contains(word)),
            "{name} says nothing to try: {fault}"
        );
        for debug in ["Some(", "None", "PartId", "Kind::"] {
            assert!(!rendered.contains(debug), "{name}: {rendered}");
        }
    }
}

#[test]
fn the_place_in_the_document_is_part_of_what_is_shown() {
    for path in designs(&networks().join("broken")) {
        let (faults, _, rendered) = shown(&path);
        for fault in faults {
            let place = fault.place.to_string();
            assert!(rendered.contains(&place), "{}: {rendered}", stem(&path));
        }
    }
}
