//! Where a figure comes from, so that a page can say so beside it.

use std::fmt;

use serde::Serialize;

/// How well a figure is supported.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Support {
    /// Read in a published document.
    Published,
    /// Plain arithmetic on published figures.
    Arithmetic,
    /// Believed, not confirmed in a document: shown only as a marked estimate.
    FromMemory,
    /// Common practice with no source.
    Practice,
    /// Typed by the studio itself.
    Studio,
}

/// The origin of a figure: the row of the project's list of facts, where there is
/// one, and the document.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Source {
    /// The row, such as `FIX-5`; empty where the figure has none.
    pub row: &'static str,
    /// The document and page.
    pub document: &'static str,
    /// How well that supports the figure.
    pub support: Support,
}

impl Source {
    /// Common practice without a document.
    pub const PRACTICE: Self = Self { row: "", document: "", support: Support::Practice };
    /// A figure that the studio typed, from the maker's sheet or its own tests.
    pub const STUDIO: Self = Self { row: "", document: "", support: Support::Studio };

    /// Read in a document.
    pub(crate) const fn published(row: &'static str, document: &'static str) -> Self {
        Self { row, document, support: Support::Published }
    }

    /// Worked out from documents.
    pub(crate) const fn arithmetic(row: &'static str, document: &'static str) -> Self {
        Self { row, document, support: Support::Arithmetic }
    }

    /// Not confirmed in a document.
    pub(crate) const fn from_memory(row: &'static str) -> Self {
        Self { row, document: "handbooks", support: Support::FromMemory }
    }

    /// True when the figure may be shown only as a marked estimate.
    #[must_use]
    pub fn is_estimate(self) -> bool {
        self.support == Support::FromMemory
    }
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.support {
            Support::Published => f.write_str(self.document),
            Support::Arithmetic => write!(f, "arithmetic on {}", self.document),
            Support::FromMemory => write!(f, "from memory of {}, not confirmed", self.document),
            Support::Practice => f.write_str("common practice, no source"),
            Support::Studio => f.write_str("the studio's own figure"),
        }
    }
}

/// A default and where it comes from. Every one can be changed by the studio.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Setting<T> {
    /// The figure.
    pub value: T,
    /// Its origin.
    pub source: Source,
}

impl<T> Setting<T> {
    /// A default with its origin.
    pub(crate) const fn new(value: T, source: Source) -> Self {
        Self { value, source }
    }
}
