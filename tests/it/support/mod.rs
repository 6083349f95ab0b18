//! Small terms with round figures, and strategies for terms of every kind.
#![allow(clippy::unwrap_used, reason = "a helper of tests that cannot go on should panic")]

pub(crate) mod any;
pub(crate) mod build;
pub(crate) mod crops;

use chrono::NaiveDate;
use proptest::test_runner::Config;

/// Few random cases, as each takes long; as many as `PROPTEST_CASES` says, if it says so.
pub(crate) fn few(cases: u32) -> Config {
    let asked = std::env::var_os("PROPTEST_CASES").is_some();
    let usual = Config { failure_persistence: None, max_shrink_iters: 200, ..Config::default() };
    if asked { usual } else { Config { cases, ..usual } }
}

/// A date written as 2026-09-07.
pub(crate) fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}
