//! Writing files: whole or not at all, and never over one that exists unless told so.

use std::io::Write;
use std::path::{Path, PathBuf};

/// Why a file was not written.
#[derive(Debug)]
pub enum NotWritten {
    /// It exists.
    Exists(PathBuf),
    /// The system refused.
    Refused(PathBuf, std::io::Error),
}

impl std::fmt::Display for NotWritten {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Exists(path) => write!(
                f,
                "cannot write `{}` because it exists; try another name, or `--force` to replace it",
                path.display()
            ),
            Self::Refused(path, error) => write!(f, "cannot write `{}`: {error}", path.display()),
        }
    }
}

/// Writes a file beside its place and then moves it there, so that a reader sees all of it or none.
///
/// # Errors
/// [`NotWritten`] where the file exists and `force` is not set, or where the system refuses; nothing is left behind.
pub fn write_new(path: &Path, bytes: &[u8], force: bool) -> Result<(), NotWritten> {
    let refused = |error| NotWritten::Refused(path.to_owned(), error);
    if !force && path.exists() {
        return Err(NotWritten::Exists(path.to_owned()));
    }
    let mut draft = path.as_os_str().to_owned();
    draft.push(format!(".{}.part", std::process::id()));
    let draft = PathBuf::from(draft);
    let written = std::fs::File::create(&draft)
        .and_then(|mut file| file.write_all(bytes).and_then(|()| file.sync_all()))
        .and_then(|()| std::fs::rename(&draft, path));
    written.map_err(|error| {
        // The draft is ours; that it cannot be removed adds nothing to what is said.
        let _ = std::fs::remove_file(&draft);
        refused(error)
    })
}
