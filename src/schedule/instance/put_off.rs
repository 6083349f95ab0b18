//! Work that somebody put off is not planned before its new day.

use super::candidate::Candidate;
use super::network::{Day, Network};
use super::path::Index;
use super::starts::Grown;
use crate::domain::calendar::days_between;
use crate::domain::plan::{Batch, Plan};
use std::ops::Range;

/// Takes from the candidates of a plan under way the days from which work was put off, up to the day to which it was. The crop of
/// a sowing that was put off is not sown at its site meanwhile.
pub(super) fn hold_back(net: &Network, under_way: Option<&Plan>, candidates: &mut Vec<Candidate>) {
    let Some(plan) = under_way else { return };
    for own in &net.term.put_off {
        let Some(batch) = plan.batches.iter().find(|batch| batch.id == own.batch) else { continue };
        let day = |date| days_between(net.term.start, date) as Day;
        let days = day(own.from)..day(own.until);
        let alike = |candidate: &Candidate| {
            net.sites[candidate.site].site.id == batch.site
                && net.term.crops[candidate.crop].crop.id == batch.crop
        };
        candidates.retain(|other| other.given || !alike(other) || !days.contains(&other.start.begins));
        for candidate in candidates.iter_mut().filter(|other| other.given && alike(other)) {
            if is_of(net, plan, candidate, batch) {
                hold(net, candidate, days.end);
            }
        }
    }
}

fn is_of(net: &Network, plan: &Plan, candidate: &Candidate, batch: &Batch) -> bool {
    if let Some(number) = candidate.standing {
        return net.standing[number].standing.batch == batch.id;
    }
    let grown = Grown { site: candidate.site, crop: candidate.crop, start: candidate.start };
    grown.batch(net, plan).is_some_and(|own| own.id == batch.id)
}

/// Lets nothing be done with a batch that grows before a day.
fn hold(net: &Network, candidate: &mut Candidate, until: Day) {
    let site = &net.sites[candidate.site];
    let first = site.class_days.partition_point(|day| *day < until) as Index;
    let later = |days: &Range<Index>| days.start.max(first).min(days.end)..days.end;
    if !candidate.in_tank() {
        candidate.transplants = later(&candidate.transplants);
    }
    candidate.pulls = later(&candidate.pulls);
    candidate.cuts = later(&candidate.cuts);
    candidate.again = later(&candidate.again);
}
