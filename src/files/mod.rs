//! The user's files to `domain` and back: one reader a kind of file, every complaint placed.

pub mod days_off;
pub mod problem;
mod reading;
mod tree;
pub mod yaml;
