//! Every way of writing a design wrongly that a builder is likely to meet: `networks/broken/` holds one mistake a
//! file, and `tests/broken/<name>.txt` what the builder is told. `LOOPWRIGHT_BLESS=1` writes those texts anew.
//! Also here: what is accepted (the samples, the bases of the broken ones, the JSON of the handbook) and that the
//! schema and the records know the same keys.

#[path = "broken/files.rs"]
mod files;
#[path = "broken/handbook.rs"]
mod handbook;
#[path = "broken/limits.rs"]
mod limits;
#[path = "broken/messages.rs"]
mod messages;
#[path = "broken/samples.rs"]
mod samples;
#[path = "broken/schema.rs"]
mod schema;
