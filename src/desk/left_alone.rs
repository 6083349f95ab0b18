//! Seedlings that nobody looks after where classes were lost.

use crate::domain::calendar::{DateSpan, days_between};
use crate::domain::ids::BatchId;
use crate::domain::journal::{Entry, Kind};
use crate::domain::plan::Plan;
use crate::domain::site::Site;
use crate::domain::term::Term;
use crate::report::words::day;
use std::collections::BTreeSet;

/// What to ask where classes were recorded as lost and seedlings would wait for longer than they last alone, if nobody
/// looked in between the classes before and after. Of the terms, the first is as its file has it, the second as it is with
/// these entries.
pub(super) fn left_alone([written, now]: [&Term; 2], plan: &Plan, entries: &[Entry]) -> Vec<String> {
    let mut told = BTreeSet::new();
    for entry in entries.iter().filter(|entry| entry.what.kind() == Kind::ClassLost) {
        let met = written.sites.iter().map(|site| entry.concerns(&site.id) && site.meets_on(entry.day));
        let lost = now.sites.iter().zip(met).filter(|(_, met)| *met);
        told.extend(lost.filter_map(|(site, _)| question(site, plan, entry)));
    }
    told.into_iter().collect()
}

fn question(site: &Site, plan: &Plan, entry: &Entry) -> Option<String> {
    let before = site.class_days.iter().rev().find(|day| **day < entry.day)?;
    let after = site.class_days.iter().find(|day| **day > entry.day)?;
    let alone = days_between(*before, *after) - 1;
    let lasts = site.nursery.unattended_days;
    let gap = DateSpan { first: *before, last: *after };
    let waiting = waiting(plan, site, gap);
    (alone > i64::from(lasts) && !waiting.is_empty()).then(|| {
        let ids: Vec<&str> = waiting.iter().map(|id| id.as_str()).collect();
        format!(
            "No class meets at {} from {} to {}: {alone} days, and seedlings there last {lasts} without anybody. Did nobody \
             look after {}? Look then, and record what was lost (lost --in nursery) or what stands (came-up); until then \
             they count as alive.",
            site.name,
            day(*before),
            day(*after),
            ids.join(", "),
        )
    })
}

/// Batches planned to be in the nursery from the one day to the other.
fn waiting<'p>(plan: &'p Plan, site: &Site, gap: DateSpan) -> Vec<&'p BatchId> {
    let here = plan.batches.iter().filter(|batch| batch.site == site.id && batch.sown <= gap.first);
    let waits = here
        .filter(|batch| batch.parts.iter().any(|part| part.transplant > gap.first && part.lost.is_none()));
    waits.map(|batch| &batch.id).collect()
}
