//! Sowtide plans a term of sowings so that small school tanks yield salad greens every week.

pub mod domain;
pub mod report;
