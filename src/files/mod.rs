//! The user's files to `domain` and back: one reader a kind of file, every complaint placed.

/// The unit tests' share of what all random tests have.
#[cfg(test)]
#[path = "../../tests/it/support/cases.rs"]
mod cases;
pub mod crop_file;
pub mod days_off;
mod formula;
pub mod history;
pub mod journal_file;
pub mod learned;
pub mod library;
pub mod new_term;
pub mod next_term;
pub mod plan_file;
pub mod problem;
pub mod published_file;
mod reading;
pub mod remark;
pub(crate) mod sheet;
pub mod store;
pub mod term_file;
mod tree;
pub mod yaml;
