//! Checks of the chemistry against published figures.
