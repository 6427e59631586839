//! Every input that the fuzzer kept (`fuzz/corpus`), and every design of `networks`, through what the fuzzer does with it.

use std::path::{Path, PathBuf};

#[path = "../fuzz/bodies.rs"]
mod bodies;

fn inputs(folder: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut files: Vec<PathBuf> = std::fs::read_dir(&folder)
        .unwrap_or_else(|e| panic!("{}: {e}", folder.display()))
        .map(|entry| entry.expect("it can be listed").path())
        .filter(|path| path.is_file())
        .collect();
    files.sort();
    files
}

fn each(folders: &[&str], least: usize, body: fn(&[u8])) {
    let files: Vec<PathBuf> = folders.iter().flat_map(|folder| inputs(folder)).collect();
    assert!(
        files.len() >= least,
        "{} inputs in {folders:?}",
        files.len()
    );
    for file in files {
        let data = std::fs::read(&file).expect("a readable input");
        // A panic names the input by the line before it.
        println!("{}", file.display());
        body(&data);
    }
}

#[test]
fn every_kept_document_is_read_or_refused_in_words() {
    let folders = [
        "fuzz/corpus/document",
        "networks",
        "networks/broken",
        "networks/stock",
    ];
    each(&folders, 200, bodies::document);
}

#[test]
fn every_kept_small_design_is_solved_or_refused() {
    each(&["fuzz/corpus/solve"], 20, bodies::solve);
}

#[test]
fn every_kept_quantity_is_read_back_as_written() {
    each(&["fuzz/corpus/quantity"], 20, bodies::quantity);
}

#[test]
fn every_kept_change_is_made_or_refused() {
    each(&["fuzz/corpus/change"], 5, bodies::change);
}
