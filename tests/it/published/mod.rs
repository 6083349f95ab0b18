//! Our results against standards and published figures that know nothing of ours. The source of every figure
//! stands beside it.

mod farm;
mod kale;
mod laws;
mod regrowth;
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
        until_stopped: false,
        term_id: "0123456789abcdef".to_owned(),
        made: DateTime::UNIX_EPOCH,
    };
    let watch = Watch { stop: &|| false, report: &|_| {}, threads: 2 };
    schedule::plan(term, None, &options, &watch).unwrap()
}
