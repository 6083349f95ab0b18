//! Sites without anything to do.

use crate::domain::idle::{Idle, WhyIdle};
use crate::domain::plan::Facts;
use crate::domain::term::Term;
use crate::report::words::idle_in_full;
use chrono::NaiveDate;
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct IdleJson<'a> {
    site: &'a str,
    first: Option<NaiveDate>,
    last: Option<NaiveDate>,
    reason: &'static str,
    reason_text: String,
}

pub(super) fn sites<'a>(idle: &'a [Idle], term: &Term, facts: &Facts) -> Vec<IdleJson<'a>> {
    let of_one = |idle: &'a Idle| IdleJson {
        site: idle.site.as_str(),
        first: idle.stretch.map(|days| days.first),
        last: idle.stretch.map(|days| days.last),
        reason: key(idle.why),
        reason_text: idle_in_full(idle, term, facts),
    };
    idle.iter().map(of_one).collect()
}

/// Fixed word for a reason.
fn key(why: WhyIdle) -> &'static str {
    match why {
        WhyIdle::Unattended => "unattended",
        WhyIdle::OnlyIn => "only-in",
        WhyIdle::Room => "room",
        WhyIdle::SmallestBatch => "smallest-batch",
        WhyIdle::Time => "time",
        WhyIdle::NotNeeded => "not-needed",
        WhyIdle::Search => "search",
    }
}
