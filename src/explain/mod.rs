//! What a word of the program means: every refusal, finding, limit, part and law, with range, source and what to do.
//! It computes nothing and prints nothing; the texts stand in the Markdown files beside this one.

mod keys;
mod topic;

pub use keys::{Key, keys_of};
pub use topic::{Topic, TopicKind, UnknownTopic, find, topics};
