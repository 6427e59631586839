//! Checks the syntax tree of a design against the JSON Schema that the record types generate, before they decode it.
//! It collects every independent mistake in one pass; what it lets pass, the record types accept. It knows no key and
//! no unit of its own: units are read by the function it is given.
//!
//! Two rules go beyond JSON Schema 2020-12: an object that names its properties is closed unless it says otherwise,
//! and `null` is refused everywhere. The `x-` words (`x-quantity`, `x-above`, `x-at-least`, `x-below`, `x-at-most`,
//! `x-limit-text`, `x-names`, `x-aliases`) are ours; those beside a `$ref` or a choice count for what it leads to.

mod choice;
mod limits;
mod messages;
mod shape;
mod unfold;
mod walk;

pub use walk::{check, check_value};

#[cfg(test)]
mod tests;
