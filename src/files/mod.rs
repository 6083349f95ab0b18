//! The user's files to `domain` and back: one reader a kind of file, every complaint placed.

pub mod problem;
pub mod yaml;
