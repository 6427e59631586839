//! Imports point down. Every file under `src` is read and held against the table below, which `DEVELOPERS.md` prints.
//!
//! Comments, texts and `#[cfg(test)]` modules are left out: what a test looks at binds nobody.

use std::fs;
use std::path::{Path, PathBuf};

/// What a room may see of ours. A room sees itself; `lib.rs` and `main.rs` hold no logic and are not judged.
const ROOMS: [(&str, &[&str]); 16] = [
    ("quantity", &[]),
    ("id", &[]),
    ("place", &[]),
    ("finding", &["id"]),
    ("handbook", &[]),
    ("fluid", &["quantity"]),
    ("correlation", &["quantity"]),
    ("part", &["quantity", "fluid", "correlation"]),
    (
        "design",
        &[
            "quantity",
            "id",
            "place",
            "finding",
            "fluid",
            "correlation",
            "part",
        ],
    ),
    (
        "network",
        &[
            "quantity",
            "id",
            "place",
            "finding",
            "fluid",
            "correlation",
            "part",
            "design",
        ],
    ),
    (
        "solve",
        &[
            "quantity",
            "id",
            "finding",
            "fluid",
            "correlation",
            "part",
            "network",
        ],
    ),
    (
        "study",
        &[
            "quantity",
            "id",
            "place",
            "finding",
            "fluid",
            "correlation",
            "part",
            "design",
            "network",
            "solve",
        ],
    ),
    ("explain", &["design"]),
    ("starter", &["quantity", "design", "network", "study"]),
    (
        "report",
        &[
            "explain",
            "quantity",
            "id",
            "place",
            "finding",
            "fluid",
            "correlation",
            "part",
            "design",
            "network",
            "solve",
            "study",
        ],
    ),
    ("cli", &[]),
];

/// The folder of `network` that turns a document into a network; no other file of that room sees `design`.
const BUILDERS: &str = "network/build/";

/// Where an outside crate may be named: beginnings of paths under `src`. Derives of serde may stand on any
/// record, and an `IndexMap` wherever the order of a document is kept.
const OUTSIDE: [(&str, &[&str]); 18] = [
    ("serde", &[""]),
    ("indexmap", &[""]),
    (
        "serde_json",
        &[
            "design/",
            "report/",
            "explain/",
            "place.rs",
            "cli/output.rs",
        ],
    ),
    ("jsonc_parser", &["design/syntax/"]),
    ("annotate_snippets", &["design/show.rs"]),
    (
        "strsim",
        &["design/", "quantity/parse.rs", "network/names.rs"],
    ),
    ("petgraph", &["network/"]),
    ("faer", &["solve/linear/"]),
    ("pulp", &["correlation/duct_batch.rs"]),
    ("nalgebra", &["solve/mix.rs"]),
    ("comfy_table", &["report/text.rs"]),
    ("anstyle", &["report/text.rs"]),
    ("clap", &["cli/"]),
    ("clap_complete", &["cli/args.rs", "cli/manual.rs"]),
    ("clap_mangen", &["cli/manual.rs"]),
    ("ctrlc", &["cli/sweep.rs"]),
    ("sha2", &["cli/hash.rs"]),
    ("terminal_size", &["cli/terminal.rs"]),
];

/// Parts of the standard library that belong to the program alone.
const OUTER_WORLD: [&str; 6] = ["fs", "env", "io", "net", "process", "time"];
/// Macros that print.
const PRINTING: [&str; 5] = ["print", "println", "eprint", "eprintln", "dbg"];

#[test]
fn every_file_of_the_source_imports_downwards_only() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let files = rust_files(&root);
    assert!(
        files.len() > 50,
        "only {} files were found under src",
        files.len()
    );
    let mut wrong = Vec::new();
    for path in files {
        let name = path
            .strip_prefix(&root)
            .expect("below src")
            .to_string_lossy()
            .replace('\\', "/");
        // Files of their own that hold the tests of a room.
        if name.ends_with("tests.rs") || name.contains("/tests/") {
            continue;
        }
        let text = fs::read_to_string(&path).expect("a readable file");
        wrong.extend(violations(&name, &text));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_dependency_of_the_program_has_a_place() {
    let manifest = Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.toml");
    let text = fs::read_to_string(manifest).expect("the manifest");
    let mut inside = false;
    let mut seen = 0;
    for line in text.lines() {
        if line.starts_with('[') {
            inside = line == "[dependencies]";
        } else if let (true, Some((name, _))) = (inside, line.split_once(['=', '.'])) {
            let name = name.trim().replace('-', "_");
            assert!(
                OUTSIDE.iter().any(|(known, _)| *known == name),
                "`{name}` stands in Cargo.toml and in no room"
            );
            seen += 1;
        }
    }
    assert_eq!(seen, OUTSIDE.len(), "the table names a crate nobody uses");
}

#[test]
fn each_kind_of_breach_is_seen() {
    let breaches = [
        ("correlation/friction.rs", "use crate::fluid::Coolant;"),
        ("correlation/friction.rs", "use crate::{fluid, quantity};"),
        (
            "correlation/tees/loss.rs",
            "use super::super::super::part::Law;",
        ),
        ("fluid/mod.rs", "use super::part::Law;"),
        (
            "solve/air.rs",
            "fn f() { let _ = crate::design::Design::default(); }",
        ),
        ("network/flow.rs", "use crate::design::Design;"),
        ("place.rs", "use crate::id::PartId;"),
        ("id.rs", "use super::finding::Finding;"),
        ("finding.rs", "use crate::network::Network;"),
        ("study/limits.rs", "use crate::report::Report;"),
        ("report/text.rs", "use crate::cli::exit::Exit;"),
        ("cellar/mod.rs", "fn f() {}"),
        ("solve/flow.rs", "use faer::Mat;"),
        ("solve/flow.rs", "fn f() { ::faer::get(); }"),
        ("part/hose.rs", "use serde_json::Value;"),
        ("report/text.rs", "use clap::Parser;"),
        ("solve/newton.rs", "use std::time::Instant;"),
        ("solve/newton.rs", "use std::{fmt, time::Instant};"),
        ("design/read.rs", "fn f() { std::fs::read(\"a\"); }"),
        ("report/text.rs", "fn f() { println!(\"x\"); }"),
        (
            "fluid/water.rs",
            "#[cfg(test)] mod tests { use crate::part::Law; } use crate::part::Law;",
        ),
    ];
    for (file, text) in breaches {
        assert_eq!(violations(file, text).len(), 1, "{file}: {text}");
    }
}

#[test]
fn what_binds_nobody_is_passed_over() {
    let sound = [
        (
            "correlation/friction.rs",
            "use crate::quantity::Length; use super::duct;",
        ),
        (
            "correlation/tees/loss.rs",
            "use super::super::friction::Sloped;",
        ),
        (
            "place.rs",
            "//! [`Document`](crate::design::Document)\n/* crate::solve /* std::fs */ */ fn f() {}",
        ),
        (
            "fluid/water.rs",
            "fn f() -> &'static str { \"crate::part println!(\" }",
        ),
        (
            "fluid/water.rs",
            "fn f() -> &'static str { r#\"crate::part \" std::fs\"# }",
        ),
        (
            "fluid/water.rs",
            "const QUOTE: char = '\"'; fn f<'a>(s: &'a str) -> &'a str { s }",
        ),
        (
            "fluid/water.rs",
            "#[cfg(test)]\n#[allow(dead_code)]\nmod tests { fn f() { println!(\"{}\", crate::part::X); } }",
        ),
        (
            "network/build/whole.rs",
            "use crate::design::Design; use petgraph::graph::DiGraph;",
        ),
        (
            "part/hose.rs",
            "#[derive(serde::Serialize)] struct Hose; fn f(time: f64) -> f64 { time }",
        ),
        ("cli/output.rs", "use std::io::Write; use crate::cli::exit;"),
    ];
    for (file, text) in sound {
        assert_eq!(violations(file, text), Vec::<String>::new(), "{text}");
    }
}

/// Everything in one file that the table forbids.
fn violations(file: &str, text: &str) -> Vec<String> {
    if file == "lib.rs" || file == "main.rs" {
        return Vec::new();
    }
    let room = file.split(['/', '.']).next().unwrap_or_default();
    let Some((_, allowed)) = ROOMS.iter().find(|(name, _)| *name == room) else {
        return vec![format!("{file}: the room `{room}` is not in the table")];
    };
    let tokens = without_tests(tokens(text));
    let mut wrong = Vec::new();
    for target in own_rooms(file, &tokens) {
        let builder = room != "network" || target != "design" || file.starts_with(BUILDERS);
        if target != room && !(allowed.contains(&target.as_str()) && builder) {
            wrong.push(format!("{file}: `{room}` may not import `{target}`"));
        }
    }
    for (name, places) in OUTSIDE {
        let named = (0..tokens.len()).any(|k| names_crate(&tokens, k, name));
        if named && !places.iter().any(|place| file.starts_with(place)) {
            wrong.push(format!("{file}: the crate `{name}` does not belong here"));
        }
    }
    if room != "cli" {
        for k in 0..tokens.len() {
            let bang = tokens.get(k + 1).is_some_and(|t| t == "!");
            if bang && PRINTING.contains(&tokens[k].as_str()) {
                wrong.push(format!("{file}: prints with `{}!`", tokens[k]));
            }
            if tokens[k] == "std" {
                for part in heads(&tokens, k + 1) {
                    if OUTER_WORLD.contains(&part.as_str()) {
                        wrong.push(format!("{file}: `std::{part}` belongs to the program"));
                    }
                }
            }
        }
    }
    wrong
}

/// Rooms of ours that a file names, by `crate::` or by climbing with `super::`.
fn own_rooms(file: &str, tokens: &[String]) -> Vec<String> {
    // How many `super` lead from the file's module to the root of the crate.
    let deep = file.split('/').count() - usize::from(file.ends_with("/mod.rs"));
    let mut rooms = Vec::new();
    let mut k = 0;
    while k < tokens.len() {
        if tokens[k] == "crate" {
            rooms.extend(heads(tokens, k + 1));
        } else if tokens[k] == "super" {
            let mut climbed = 1;
            while tokens.get(k + 1).is_some_and(|t| t == "::")
                && tokens.get(k + 2).is_some_and(|t| t == "super")
            {
                climbed += 1;
                k += 2;
            }
            if climbed >= deep {
                rooms.extend(heads(tokens, k + 1));
            }
        }
        k += 1;
    }
    rooms
}

/// The first names after the `::` at `at`: one, or those of a group in braces.
fn heads(tokens: &[String], at: usize) -> Vec<String> {
    let token = |k: usize| tokens.get(k).map_or("", String::as_str);
    if token(at) != "::" {
        return Vec::new();
    }
    if token(at + 1) != "{" {
        return vec![token(at + 1).to_owned()];
    }
    let mut found = Vec::new();
    let (mut depth, mut k) = (1, at + 2);
    while depth > 0 && k < tokens.len() {
        match token(k) {
            "{" => depth += 1,
            "}" => depth -= 1,
            name if depth == 1 && matches!(token(k - 1), "{" | ",") => found.push(name.to_owned()),
            _ => {}
        }
        k += 1;
    }
    found
}

/// Whether the token at `k` is the crate `name`, at the head of a path.
fn names_crate(tokens: &[String], k: usize, name: &str) -> bool {
    if tokens[k] != name {
        return false;
    }
    let before = k.checked_sub(1).map_or("", |b| tokens[b].as_str());
    let after = tokens.get(k + 1).map_or("", String::as_str);
    // `::name` is a crate where nothing leads up to the colons.
    let rooted = before == "::"
        && k.checked_sub(2)
            .is_none_or(|b| !is_word(&tokens[b]) && tokens[b] != ">");
    (before != "::" || rooted) && before != "." && (after == "::" || before == "use")
}

fn is_word(token: &str) -> bool {
    token
        .chars()
        .next()
        .is_some_and(|c| c.is_alphanumeric() || c == '_')
}

/// Takes out every module under `#[cfg(test)]`.
fn without_tests(tokens: Vec<String>) -> Vec<String> {
    const MARK: [&str; 7] = ["#", "[", "cfg", "(", "test", ")", "]"];
    let mut kept = Vec::with_capacity(tokens.len());
    let mut k = 0;
    while k < tokens.len() {
        let marked = tokens[k..].iter().zip(MARK).filter(|(a, b)| a == b).count() == MARK.len();
        if !marked {
            kept.push(tokens[k].clone());
            k += 1;
            continue;
        }
        k += MARK.len();
        // To the end of the item: a block, or a semicolon before any.
        let mut depth = 0_usize;
        while k < tokens.len() {
            let token = tokens[k].as_str();
            k += 1;
            match token {
                "{" => depth += 1,
                "}" if depth == 1 => break,
                "}" => depth -= 1,
                ";" if depth == 0 => break,
                _ => {}
            }
        }
    }
    kept
}

/// Words and marks of Rust text, without comments, texts and characters; `::` is one mark.
fn tokens(text: &str) -> Vec<String> {
    let chars: Vec<char> = text.chars().collect();
    let at = |k: usize| chars.get(k).copied().unwrap_or('\0');
    let mut out = Vec::new();
    let mut k = 0;
    while k < chars.len() {
        match (at(k), at(k + 1)) {
            ('/', '/') => {
                while k < chars.len() && at(k) != '\n' {
                    k += 1;
                }
            }
            ('/', '*') => k = past_block_comment(&chars, k),
            ('"', _) => k = past_text(&chars, k + 1),
            ('r', '"' | '#') if past_raw(&chars, k + 1).is_some() => {
                k = past_raw(&chars, k + 1).unwrap_or(chars.len());
            }
            // A character, not a lifetime.
            ('\'', '\\') => {
                k += 3;
                while k < chars.len() && at(k) != '\'' {
                    k += 1;
                }
                k += 1;
            }
            ('\'', _) if at(k + 2) == '\'' => k += 3,
            (':', ':') => {
                out.push("::".to_owned());
                k += 2;
            }
            (c, _) if c.is_alphanumeric() || c == '_' => {
                let start = k;
                while at(k).is_alphanumeric() || at(k) == '_' {
                    k += 1;
                }
                out.push(chars[start..k].iter().collect());
            }
            (c, _) => {
                if !c.is_whitespace() {
                    out.push(c.to_string());
                }
                k += 1;
            }
        }
    }
    out
}

fn past_block_comment(chars: &[char], start: usize) -> usize {
    let (mut depth, mut k) = (0_usize, start);
    while k < chars.len() {
        match (chars[k], chars.get(k + 1)) {
            ('/', Some('*')) => {
                depth += 1;
                k += 2;
            }
            ('*', Some('/')) => {
                depth -= 1;
                k += 2;
                if depth == 0 {
                    return k;
                }
            }
            _ => k += 1,
        }
    }
    k
}

fn past_text(chars: &[char], start: usize) -> usize {
    let mut k = start;
    while k < chars.len() && chars[k] != '"' {
        k += if chars[k] == '\\' { 2 } else { 1 };
    }
    k + 1
}

/// Past a raw text whose hashes begin at `start`; `None` where no raw text begins.
fn past_raw(chars: &[char], start: usize) -> Option<usize> {
    let hashes = chars[start..].iter().take_while(|c| **c == '#').count();
    if chars.get(start + hashes) != Some(&'"') {
        return None;
    }
    let mut k = start + hashes + 1;
    while k < chars.len() {
        let closes = chars[k] == '"'
            && chars[k + 1..]
                .iter()
                .take(hashes)
                .filter(|c| **c == '#')
                .count()
                == hashes;
        if closes {
            return Some(k + 1 + hashes);
        }
        k += 1;
    }
    Some(k)
}

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).expect("a readable folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            found.extend(rust_files(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
    found.sort();
    found
}
