//! What is wrong with a day's file, and where.

use std::fmt;

/// One thing wrong with a file: its JSON path and a sentence with the remedy.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Where, like `$.rolls[3].due`, or a line and a column for a syntax error.
    pub path: String,
    /// What is wrong and what to write instead.
    pub message: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.path, self.message)
    }
}

impl std::error::Error for Fault {}
