//! The document: reading a design file, its one definition, its schema, and messages that point at the user's own text.
//! It computes nothing and expands nothing; that begins in `network`.

mod adjust;
mod case;
mod change;
mod coolant;
mod difference;
mod document;
mod guard;
mod knobs;
mod levels;
mod limits;
mod nearest;
mod path;
mod published;
mod read;
mod rules;
mod show;
mod stock;
mod syntax;

pub use adjust::{Adjustable, Checked, Dial, Setting};
pub use case::{CaseRecord, Ratio};
pub use change::{Change, ChangeError};
pub use coolant::{CoolantRecord, GlycolData, MixRecord, NoChoices, PropertyRow, TableRecord};
pub use difference::Difference;
pub use document::{Design, FrictionChoice, LoopRecord, Methods, Switch};
pub use guard::{check, check_value};
pub use knobs::{Knob, KnobStep};
pub use levels::{Levels, Vary};
pub use limits::{Bound, Limits};
pub use nearest::{is_same_word, list, nearest};
pub use path::{PathError, at, locate};
pub use read::{Source, schema};
pub use show::{Fault, FaultCode, MOST_SHOWN, Style, render};
pub use stock::{Stock, StockHeader, StockHose, StockPump, stock_schema};
pub use syntax::{DEEPEST, Document, LARGEST_BYTES, read_bytes, read_text};
