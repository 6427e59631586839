//! The caps on what is read, and the two keys that belong to no record.

/// Largest file that is read, in bytes: 32 MB, a thousand times a large design.
pub const LARGEST_BYTES: usize = 32 * 1024 * 1024;
/// Most objects and lists that may stand inside one another; a design needs about ten.
pub const DEEPEST: usize = 64;
/// Most mistakes that are kept of one file.
pub(in crate::design) const MOST_KEPT: usize = 1000;
/// Most characters of a name.
pub(in crate::design) const LONGEST_NAME: usize = 60;
/// The key that any object may carry with a text for the reader.
pub(in crate::design) const NOTE: &str = "note";
/// The key of the root that names the schema for editors.
pub(in crate::design) const SCHEMA: &str = "$schema";
