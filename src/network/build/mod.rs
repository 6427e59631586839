//! From a document to a network: names, runs, banks, radiators, cases and limits. Only this folder of `network` sees
//! the document.

mod air_checks;
mod air_path;
mod air_side;
mod assemble_loop;
mod core;
mod discs;
mod expand;
mod limit_names;
mod lower;
mod ports;
mod rating;
mod resolve_case;
mod stack;
mod tank_leaks;
mod whole;

pub use whole::BuildError;
