//! Sowtide plans a term of sowings so that small school tanks yield salad greens every week.

pub mod check;
pub mod cli;
pub mod domain;
pub mod files;
pub mod insight;
pub mod report;
pub mod schedule;
