//! The command line: parse it, call one function.

fn main() {}
