//! Reads the text of a design file as strict JSON and keeps where every key and value stands.
//! It knows no key of the document; [`guard`](super::guard) checks those. The parser is wrapped here and nowhere else.

mod caps;
mod document;
mod explain;
mod node;
mod parse;
mod scan;

pub use caps::{DEEPEST, LARGEST_BYTES};
pub(super) use caps::{LONGEST_NAME, MOST_KEPT, NOTE, SCHEMA};
pub use document::Document;
pub(super) use document::line_column;
pub(super) use node::{Entry, Kind, Node};
pub use parse::{read_bytes, read_text};

#[cfg(test)]
pub(super) mod tests;
