//! The user's files to `domain` and back: one reader a kind of file, every complaint placed.

pub mod crop_file;
pub mod days_off;
pub mod history;
pub mod journal_file;
pub mod library;
pub mod lock;
pub mod new_term;
pub mod plan_file;
pub mod problem;
pub mod published_file;
mod reading;
pub mod remark;
pub mod term_file;
mod tree;
pub mod write;
pub mod yaml;
