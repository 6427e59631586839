//! What the program is built from: where it comes from, how much it is, and that each direct dependency is accounted for in
//! `DEVELOPERS.md`. No tool is needed; `deny.toml` asks more where `cargo-deny` is installed.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// Most packages of `Cargo.lock`, ours, tests and benches and every platform among them. One more is a decision.
const MOST_LOCKED: usize = 218;
/// Most packages that the library and the program are built from, on every platform taken together.
const MOST_BUILT: usize = 137;

fn file(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(name);
    std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{name}: {e}"))
}

#[derive(Debug, Default)]
struct Package {
    name: String,
    version: String,
    source: Option<String>,
    has_checksum: bool,
    needs: Vec<String>,
}

/// The packages of `Cargo.lock`, by hand: it is one key a line.
fn locked() -> Vec<Package> {
    let text = file("Cargo.lock");
    let quoted = |line: &str| line.split('"').nth(1).unwrap_or("").to_owned();
    let mut all: Vec<Package> = Vec::new();
    for line in text.lines() {
        if line == "[[package]]" {
            all.push(Package::default());
        } else if let Some(package) = all.last_mut() {
            match line.split(' ').next().unwrap_or("") {
                "name" => package.name = quoted(line),
                "version" => package.version = quoted(line),
                "source" => package.source = Some(quoted(line)),
                "checksum" => package.has_checksum = true,
                "" if line.starts_with(" \"") => package.needs.push(quoted(line)),
                _ => {}
            }
        }
    }
    all
}

/// The names under a heading of `Cargo.toml`.
fn direct(heading: &str) -> BTreeMap<String, String> {
    let text = file("Cargo.toml");
    let from = text.lines().skip_while(|line| *line != heading).skip(1);
    from.take_while(|line| !line.starts_with('['))
        .filter_map(|line| line.split_once(" = "))
        .map(|(name, rest)| (name.to_owned(), rest.to_owned()))
        .collect()
}

/// Rows of the tables of dependencies: names, why, licence.
fn told() -> BTreeMap<String, (String, String)> {
    let text = file("DEVELOPERS.md");
    let section = text.split("## Dependencies").nth(1).expect("the section");
    let section = section.split("\n## ").next().expect("its end");
    let mut rows = BTreeMap::new();
    for line in section.lines().filter(|line| line.starts_with("| ")) {
        let cells: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
        let [names, why, licence] = cells[..] else {
            panic!("a row of three cells is wanted: {line}")
        };
        if names == "crate" {
            continue;
        }
        for name in names.split(", ") {
            let before = rows.insert(name.to_owned(), (why.to_owned(), licence.to_owned()));
            assert!(before.is_none(), "{name} stands twice");
        }
    }
    rows
}

#[test]
fn every_package_comes_from_one_registry_with_its_checksum() {
    let packages = locked();
    let sources: BTreeSet<&String> = packages.iter().filter_map(|p| p.source.as_ref()).collect();
    assert_eq!(sources.len(), 1, "{sources:?}");
    assert!(
        sources.iter().all(|s| s.starts_with("registry+")),
        "{sources:?}"
    );
    let without: Vec<&Package> = packages.iter().filter(|p| !p.has_checksum).collect();
    assert_eq!(without.len(), 1, "{without:?}");
    assert_eq!(without[0].name, "loopwright");
    for table in ["[dependencies]", "[dev-dependencies]"] {
        for (name, how) in direct(table) {
            assert!(
                !how.contains("git =") && !how.contains("path ="),
                "{name}: {how}"
            );
            assert!(!how.contains('*'), "{name}: any version will do");
        }
    }
}

#[test]
fn the_number_of_packages_is_what_was_decided() {
    let packages = locked();
    assert!(
        packages.len() <= MOST_LOCKED,
        "{} packages are locked, {MOST_LOCKED} were decided",
        packages.len()
    );
    let built = reached(&packages, direct("[dependencies]").into_keys());
    assert!(
        built <= MOST_BUILT && built > MOST_BUILT / 2,
        "{built} packages are built from, {MOST_BUILT} were decided"
    );
}

/// How many packages some names lead to. The lock file does not say which are for tests of others: none are.
fn reached(packages: &[Package], from: impl Iterator<Item = String>) -> usize {
    let mut open: Vec<String> = from.collect();
    let mut seen: BTreeSet<(String, String)> = BTreeSet::new();
    while let Some(need) = open.pop() {
        // `name`, or `name version` where there are several.
        let (name, version) = need.split_once(' ').unwrap_or((&need, ""));
        let found = packages
            .iter()
            .find(|p| p.name == name && (version.is_empty() || p.version == version));
        let found = found.unwrap_or_else(|| panic!("{need} is not locked"));
        if seen.insert((found.name.clone(), found.version.clone())) {
            open.extend(found.needs.iter().cloned());
        }
    }
    seen.len()
}

#[test]
fn each_direct_dependency_is_told_with_its_reason_and_a_licence_that_is_allowed() {
    let rows = told();
    let mut wanted: BTreeSet<String> = direct("[dependencies]").into_keys().collect();
    wanted.extend(direct("[dev-dependencies]").into_keys());
    let known: BTreeSet<String> = rows.keys().cloned().collect();
    assert_eq!(known, wanted, "the tables and Cargo.toml differ");
    let deny = file("deny.toml");
    for (name, (why, licence)) in rows {
        assert!(why.len() > 5, "{name}: {why}");
        let allowed = licence
            .split(" OR ")
            .any(|one| deny.contains(&format!("\"{one}\"")));
        assert!(allowed, "{name}: {licence}");
    }
}

#[test]
fn only_the_features_that_are_needed_are_on() {
    let dependencies = direct("[dependencies]");
    for name in [
        "comfy-table",
        "faer",
        "nalgebra",
        "petgraph",
        "pulp",
        "sha2",
    ] {
        let how = &dependencies[name];
        assert!(how.contains("default-features = false"), "{name}: {how}");
    }
    // What would bring a network client, a second allocator or threads of its own.
    let unwanted = [
        "reqwest",
        "ureq",
        "hyper",
        "tokio",
        "openssl-sys",
        "rustls",
        "rayon",
        "jemalloc-sys",
        "mimalloc",
    ];
    for package in locked() {
        assert!(
            !unwanted.contains(&package.name.as_str()),
            "{}",
            package.name
        );
    }
}
