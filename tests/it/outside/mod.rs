//! Our results against programs, standards and published figures that know nothing of ours.
//!
//! Linear and mixed-integer optima come from HiGHS and CBC; calendars are read by two independent readers of
//! iCalendar (RFC 5545); sheets are printed by a real browser; week numbers follow Python's own reading of ISO 8601. All of them run in a Python
//! environment of pinned versions that the tests make for themselves; see [`python`]. The source of every
//! published figure stands beside it.

mod browser;
mod calendars;
mod care;
mod closures;
mod farm;
mod kale;
mod laws;
mod models;
mod pages;
mod printing;
mod python;
mod seeds;

use chrono::DateTime;
use sowtide::domain::plan::Plan;
use sowtide::domain::term::Term;
use sowtide::schedule::{self, Options, Watch};

/// The plan after so many thousand steps.
fn planned(term: &Term, effort: u64) -> Plan {
    let options = Options {
        seed: 1,
        effort: Some(effort),
        term_id: "0123456789abcdef".to_owned(),
        made: DateTime::UNIX_EPOCH,
    };
    let watch = Watch { stop: &|| false, report: &|_| {}, threads: 2 };
    schedule::plan(term, None, &options, &watch).unwrap()
}
