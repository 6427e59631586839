//! The files under `networks/`, and the one road from bytes to a network or to its faults.

use loopwright::design::{Fault, Source};
use loopwright::network::Network;
use std::path::{Path, PathBuf};

/// The folder of the samples.
pub fn networks() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("networks")
}

/// The designs of a folder, by name.
pub fn designs(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).expect("the folder is there");
    let mut files: Vec<PathBuf> = entries
        .map(|entry| entry.expect("it can be listed").path())
        .filter(|path| path.extension().is_some_and(|e| e == "json"))
        .collect();
    files.sort();
    files
}

/// The name of a design without its ending.
pub fn stem(path: &Path) -> String {
    path.file_stem()
        .map(|s| s.to_string_lossy().into_owned())
        .unwrap_or_default()
}

/// The network of a text, or all that is wrong with it.
pub fn build(bytes: &[u8]) -> Result<(Source, Network), Vec<Fault>> {
    let source = Source::read_bytes(bytes)?;
    match Network::build(&source.design) {
        Ok(network) => Ok((source, network)),
        Err(error) => Err(error.into_faults(&source.document)),
    }
}
