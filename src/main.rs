//! The program: parse, run, exit code.

fn main() {}
