//! Small terms with round figures, and strategies for terms of every kind.
#![allow(clippy::unwrap_used, reason = "a helper of tests that cannot go on should panic")]

pub(crate) mod any;
pub(crate) mod build;
pub(crate) mod crops;

use chrono::NaiveDate;

/// A date written as 2026-09-07.
pub(crate) fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}
