//! A page as HTML in one file: a writer that escapes, tables that are also comma-separated files, and figures that carry
//! where they stand in the JSON answer. What a page says is decided elsewhere.

mod facts;
mod html;
mod sheet;

pub use facts::PageUnits;
pub(super) use facts::{Facts, Figure, Form, Line, pointer};
pub(super) use html::Html;
pub(super) use sheet::{Field, Sheet};

/// The look of the page.
pub(super) const STYLE: &str = include_str!("style.css");
