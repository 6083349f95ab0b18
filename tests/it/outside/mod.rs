//! Comparisons with what others made: published figures, other solvers, other calendar programs.
//!
//! The source of every figure stands beside it. Other programs are run by [`python`].

mod calendars;
mod farm;
mod kale;
mod laws;
mod meals;
mod python;
mod seeds;
mod solvers;
mod trade;
mod wholes;

use chrono::DateTime;
use sowtide::domain::plan::Plan;
use sowtide::domain::term::Term;
use sowtide::schedule::{self, Options, Watch};

/// The plan after so many thousand steps.
fn planned(term: &Term, effort: u64) -> Plan {
    let options = Options {
        seed: 1,
        effort: Some(effort),
        term_id: "outside".to_owned(),
        made: DateTime::UNIX_EPOCH,
    };
    let watch = Watch {
        stop: &|| false,
        report: &|_| {},
    };
    schedule::plan(term, None, &options, &watch).unwrap()
}
