//! Seedlings that nobody looks after where classes were lost.

use crate::domain::calendar::{Absence, absences, plus_days};
use crate::domain::ids::BatchId;
use crate::domain::journal::{Entry, Kind};
use crate::domain::plan::Plan;
use crate::domain::site::Site;
use crate::domain::term::Term;
use crate::report::words::day;
use std::collections::BTreeSet;

/// What to ask where classes were recorded as lost and seedlings wait for longer than they last alone. Where a single class is
/// lost, somebody looks in as the term says; where several are lost at once, perhaps nobody came at all. Of the terms, the
/// first is as its file has it, the second as it is with these entries.
pub(super) fn left_alone([written, now]: [&Term; 2], plan: &Plan, entries: &[Entry]) -> Vec<String> {
    let mut told = BTreeSet::new();
    for entry in entries.iter().filter(|entry| entry.what.kind() == Kind::ClassLost) {
        let met = written.sites.iter().map(|site| entry.concerns(&site.id) && site.meets_on(entry.day));
        for (site, _) in now.sites.iter().zip(met).filter(|(_, met)| *met) {
            let gaps =
                if entries.len() == 1 { site.absences() } else { absences(&site.class_days, |_| false) };
            let gap = gaps.iter().find(|gap| gap.leave < entry.day && entry.day < gap.back);
            told.extend(gap.and_then(|gap| question(site, plan, gap)));
        }
    }
    told.into_iter().collect()
}

fn question(site: &Site, plan: &Plan, gap: &Absence) -> Option<String> {
    let lasts = site.nursery.unattended_days;
    let waiting = waiting(plan, site, gap);
    (gap.alone > lasts && !waiting.is_empty()).then(|| {
        let ids: Vec<&str> = waiting.iter().map(|id| id.as_str()).collect();
        format!(
            "From {} to {} seedlings at {} may be alone for {} days; they last {lasts}. Without a word from you, those of {} count as \
             lost from {} on. Look when you are back: if they live, record how many stand (came-up --batch ... --plugs ...); if only \
             some are lost, record those (lost --in nursery). Somebody who looked in meanwhile can record it for that day (--day).",
            day(gap.leave),
            day(gap.back),
            site.name,
            gap.alone,
            ids.join(", "),
            day(plus_days(gap.from, lasts + 1)),
        )
    })
}

/// Batches planned to be in the nursery from the one day to the other.
fn waiting<'p>(plan: &'p Plan, site: &Site, gap: &Absence) -> Vec<&'p BatchId> {
    let here = plan.batches.iter().filter(|batch| batch.site == site.id && batch.sown <= gap.leave);
    let waits = here
        .filter(|batch| batch.parts.iter().any(|part| part.transplant > gap.leave && part.lost.is_none()));
    waits.map(|batch| &batch.id).collect()
}
