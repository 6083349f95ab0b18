//! Our results against other programs that know nothing of ours.
//!
//! Linear and mixed-integer optima come from HiGHS and CBC; calendars are read by two independent readers of
//! iCalendar (RFC 5545); sheets are printed by a real browser; week numbers follow Python's own reading of ISO 8601.
//! The Python packages stand in an environment of pinned versions that the checks make for themselves; see [`python`].
//!
//! A check that a machine has not the programs for is reported as ignored, never as passed; see [`needs`].

#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

/// The checks of a module: what they need, then their names. Who is not named here is found as dead code.
macro_rules! checks {
    ($($needs:expr => $($name:ident),+;)+) => {
        /// What this module checks.
        pub(crate) fn checks() -> Vec<libtest_mimic::Trial> {
            vec![$($($crate::needs::check(concat!(module_path!(), "::", stringify!($name)), $needs, $name)),+),+]
        }
    };
}

mod browser;
mod calendars;
mod care;
mod closures;
mod learning;
mod models;
mod needs;
mod pages;
mod printing;
mod python;
#[allow(dead_code, reason = "the stories in tests/it use more of it")]
#[path = "../it/sample.rs"]
mod sample;
#[allow(dead_code, reason = "the stories in tests/it use more of it")]
#[path = "../it/support/mod.rs"]
mod support;

use std::process::ExitCode;

fn main() -> ExitCode {
    let arguments = libtest_mimic::Arguments::from_args();
    if let Err(wrong) = needs::all_wanted() {
        eprintln!("{wrong}");
        return ExitCode::from(2);
    }
    let all = [
        browser::checks(),
        calendars::checks(),
        care::checks(),
        closures::checks(),
        learning::checks(),
        models::checks(),
        needs::checks(),
        pages::checks(),
        printing::checks(),
        python::checks(),
    ];
    let conclusion = libtest_mimic::run(&arguments, all.into_iter().flatten().collect());
    for line in needs::left_out() {
        println!("{line}");
    }
    conclusion.exit_code()
}
