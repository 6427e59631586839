//! The document: reading a design file, its one definition, its schema, and messages that point at the user's own text.
//! It computes nothing and expands nothing; that begins in `network`.

mod case;
mod coolant;
mod document;
mod guard;
mod limits;
mod nearest;
mod read;
mod show;
mod syntax;

pub use case::{CaseRecord, Ratio};
pub use coolant::{CoolantRecord, GlycolData, MixRecord, NoChoices, PropertyRow, TableRecord};
pub use document::{Design, FrictionChoice, LoopRecord, Methods, Switch};
pub use guard::{check, check_value};
pub use limits::{Bound, Limits};
pub use nearest::{is_same_word, list, nearest};
pub use read::{Source, schema};
pub use show::{Fault, FaultCode, MOST_SHOWN, Style, render};
pub use syntax::{DEEPEST, Document, LARGEST_BYTES, read_bytes, read_text};
