//! Writing files: whole or not at all, and never over one that is there unless that was asked for.

use std::fs;
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};

/// What to do where the file is there already.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Existing {
    /// Leave it and say so.
    Keep,
    /// Put the new one in its place.
    Replace,
}

/// Why a file was not written.
#[derive(Debug)]
pub enum WriteError {
    /// It is there already.
    Exists(PathBuf),
    /// The system refused.
    Io(PathBuf, io::Error),
}

impl std::fmt::Display for WriteError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Exists(path) => write!(
                f,
                "cannot write `{}` because it is there already; try another name, or `--force` to replace it",
                path.display()
            ),
            Self::Io(path, error) => write!(f, "cannot write `{}`: {error}", path.display()),
        }
    }
}

/// Writes a file by way of a second one beside it, which takes its place when it is whole.
pub fn whole(path: &Path, bytes: &[u8], existing: Existing) -> Result<(), WriteError> {
    let failed = |error: io::Error| WriteError::Io(path.to_owned(), error);
    if existing == Existing::Keep && path.symlink_metadata().is_ok() {
        return Err(WriteError::Exists(path.to_owned()));
    }
    let Some(name) = path.file_name() else {
        return Err(failed(io::Error::new(
            ErrorKind::InvalidInput,
            "it names no file",
        )));
    };
    let beside = path.with_file_name(format!(
        ".{}.{}.part",
        name.to_string_lossy(),
        std::process::id()
    ));
    let written = place(&beside, path, bytes, existing);
    if written.is_err() {
        let _ = fs::remove_file(&beside);
    }
    written.map_err(|error| {
        if existing == Existing::Keep && error.kind() == ErrorKind::AlreadyExists {
            WriteError::Exists(path.to_owned())
        } else {
            failed(error)
        }
    })
}

fn place(beside: &Path, path: &Path, bytes: &[u8], existing: Existing) -> io::Result<()> {
    let mut file = fs::File::create(beside)?;
    file.write_all(bytes)?;
    file.sync_all()?;
    drop(file);
    if existing == Existing::Keep {
        // A link fails where the name was taken meanwhile; a rename would not. Some file systems have no links.
        match fs::hard_link(beside, path) {
            Ok(()) => return fs::remove_file(beside),
            Err(error) if error.kind() == ErrorKind::AlreadyExists => return Err(error),
            Err(_) => {}
        }
    }
    fs::rename(beside, path)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_kept_unless_it_is_to_be_replaced_and_nothing_is_left_beside_it() {
        let folder = std::env::temp_dir().join(format!("loopwright-write-{}", std::process::id()));
        fs::create_dir_all(&folder).expect("a folder");
        let path = folder.join("job.html");
        whole(&path, b"one", Existing::Keep).expect("written");
        let refused = whole(&path, b"two", Existing::Keep).expect_err("it is there");
        assert!(refused.to_string().contains("--force"), "{refused}");
        assert_eq!(fs::read(&path).expect("read"), b"one");
        whole(&path, b"three", Existing::Replace).expect("replaced");
        assert_eq!(fs::read(&path).expect("read"), b"three");
        assert_eq!(fs::read_dir(&folder).expect("read").count(), 1);
        let nowhere = whole(&folder.join("no/such/job.html"), b"x", Existing::Replace);
        assert!(matches!(nowhere, Err(WriteError::Io(..))));
        fs::remove_dir_all(&folder).expect("removed");
    }
}
