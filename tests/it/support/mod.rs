//! Small terms with round figures, and strategies for terms of every kind.
#![allow(clippy::unwrap_used, reason = "a helper of tests that cannot go on should panic")]

pub(crate) mod any;
pub(crate) mod build;
pub(crate) mod calendars;
mod cases;
pub(crate) mod crops;
pub(crate) mod sheets;

use chrono::NaiveDate;
use proptest::test_runner::Config;

/// So many random cases, unless the environment asks for more; see [`cases::few`].
pub(crate) fn few(cases: u32) -> Config {
    cases::few(cases, "proptest-regressions")
}

/// A date written as 2026-09-07.
pub(crate) fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}
