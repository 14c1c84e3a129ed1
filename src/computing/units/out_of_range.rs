//! The one error of every constructor.

use std::fmt;

use serde::Serialize;

/// A value that its quantity does not allow: names the quantity, the value and
/// the allowed range.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OutOfRange {
    quantity: &'static str,
    value: String,
    allowed: String,
}

impl OutOfRange {
    /// An error about `quantity`, whose `value` is not in `allowed`
    /// ("0 to 100 %").
    #[must_use]
    pub fn new(
        quantity: &'static str,
        value: impl fmt::Display,
        allowed: impl Into<String>,
    ) -> Self {
        Self { quantity, value: value.to_string(), allowed: allowed.into() }
    }

    /// The same error under the name of the field that was filled in.
    #[must_use]
    pub fn named(self, quantity: &'static str) -> Self {
        Self { quantity, ..self }
    }

    /// What was given a wrong value.
    #[must_use]
    pub fn quantity(&self) -> &'static str {
        self.quantity
    }

    /// The value that was refused, as text.
    #[must_use]
    pub fn value(&self) -> &str {
        &self.value
    }

    /// What would have been accepted.
    #[must_use]
    pub fn allowed(&self) -> &str {
        &self.allowed
    }
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {} is not possible; give {}", self.quantity, self.value, self.allowed)
    }
}

impl std::error::Error for OutOfRange {}
