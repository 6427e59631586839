//! The printed schemas, judged by a validator that is not ours: the `jsonschema` crate, draft 2020-12.

mod answers;
mod documents;
mod files;
mod mistakes;
