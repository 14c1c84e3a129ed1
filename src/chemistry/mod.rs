//! Darkroom chemistry as pure computation.
