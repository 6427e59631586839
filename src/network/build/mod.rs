//! From a document to a network: names, runs, banks, radiators, cases and limits. Only this folder of `network` sees
//! the document.

mod air_checks;
mod air_path;
mod air_side;
mod assemble_loop;
mod bank_header;
mod build_error;
mod case_heat;
mod core;
mod discs;
mod expand;
mod limit_names;
mod lower;
mod planning;
mod ports;
mod rating;
mod resolve_case;
mod set_case;
mod stack;
mod tank_leaks;
mod two_end;
mod whole;

pub use build_error::BuildError;
