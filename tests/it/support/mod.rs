//! Small terms with round figures, and strategies for terms of every kind.

pub mod any;
pub mod build;
pub mod crops;

use chrono::NaiveDate;

/// A date written as 2026-09-07.
pub fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}
