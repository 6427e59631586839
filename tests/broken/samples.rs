//! The sound samples: each reads, builds and solves in every case.

use crate::files::{build, designs, networks};
use loopwright::solve::Solver;
use loopwright::solve::transient::TimeOptions;

#[test]
fn every_sample_reads_builds_and_solves() {
    let files = designs(&networks());
    assert!(!files.is_empty(), "there are samples");
    for path in files {
        let bytes = std::fs::read(&path).expect("the file can be read");
        let (source, network) =
            build(&bytes).unwrap_or_else(|faults| panic!("{}: {faults:#?}", path.display()));
        let mut solver = Solver::new(&network);
        assert_eq!(network.cases().len(), source.design.cases.len());
        for case in network.cases() {
            let marched = solver.march(case, &TimeOptions::default(), &mut |_, _, _| {});
            let solution = match marched {
                Ok(None) => solver.solve(case),
                Ok(Some((end, _))) => Ok(end),
                Err(error) => Err(error),
            };
            let solution = solution
                .unwrap_or_else(|error| panic!("{}, {}: {error}", path.display(), case.name));
            assert!(
                solution.residual().is_finite(),
                "{}, {}",
                path.display(),
                case.name
            );
        }
    }
}

#[test]
fn every_sample_is_the_same_after_writing_and_reading() {
    for path in designs(&networks()) {
        let bytes = std::fs::read(&path).expect("the file can be read");
        let source = loopwright::design::Source::read_bytes(&bytes).expect("it is sound");
        let written = source.design.to_value().to_string();
        let again = loopwright::design::Source::read(&written).expect("what is written is sound");
        assert_eq!(again.design, source.design, "{}", path.display());
    }
}

#[test]
fn the_table_of_the_samples_names_each() {
    let table = std::fs::read_to_string(networks().join("README.md")).expect("the table is there");
    for path in designs(&networks()) {
        let name = path.file_name().map(|n| n.to_string_lossy().into_owned());
        let name = name.expect("a file has a name");
        assert!(table.contains(&format!("`{name}`")), "{name}");
    }
}
