//! Planned work that somebody put off to a later day.

use super::refusal::Refusal;
use super::state::state;
use crate::domain::ids::BatchId;
use crate::domain::journal::{Journal, What};
use crate::domain::plan::{Batch, Origin, Part, Plan};
use crate::domain::term::{PutOff, Term};
use chrono::NaiveDate;
use std::borrow::Cow;

/// The plan with what was put off since it was made on its new days. Masses, and what is served when, stay as they were.
pub(super) fn put_off<'p>(plan: &'p Plan, journal: &Journal) -> Cow<'p, Plan> {
    let mut shifted = Cow::Borrowed(plan);
    for entry in journal.in_force().into_iter().filter(|entry| !plan.known.knows(entry)) {
        let What::PutOff { batch, until } = &entry.what else { continue };
        if plan.batches.iter().any(|own| own.id == *batch)
            && let Some(own) = shifted.to_mut().batches.iter_mut().find(|own| own.id == *batch)
        {
            shift(own, entry.day, *until);
        }
    }
    shifted
}

/// Moves all work with a batch from one day to a later one.
fn shift(batch: &mut Batch, from: NaiveDate, until: NaiveDate) {
    if batch.sown == from && !batch.is_standing() {
        if let Origin::Bought { days } = &mut batch.origin {
            // What comes later comes older.
            *days += (until - from).num_days().max(0) as u32;
        }
        batch.sown = until;
    }
    for part in batch.parts.iter_mut().filter(|part| part.lost.is_none()) {
        if part.transplant == from {
            part.transplant = until;
        }
        let mut last = part.transplant;
        part.harvests.retain_mut(|harvest| {
            let put_off = harvest.date == from;
            if put_off {
                harvest.date = until;
            }
            // What was to follow at once is one harvest with what was put off.
            let follows = harvest.date > last;
            last = last.max(harvest.date);
            follows
        });
    }
}

/// What the journal puts off, in force.
pub(super) fn all(journal: &Journal) -> Vec<PutOff> {
    let told = journal.in_force().into_iter().filter_map(|entry| match &entry.what {
        What::PutOff { batch, until } => {
            Some(PutOff { batch: batch.clone(), from: entry.day, until: *until })
        }
        _ => None,
    });
    told.collect()
}

/// Whether work of a batch can be put off from one day to the other. `today` is the first day on which something can still be done.
pub(super) fn can_be(
    plan: &Plan,
    id: &BatchId,
    (from, until): (NaiveDate, NaiveDate),
    today: NaiveDate,
) -> Result<(), Refusal> {
    let Some(batch) = plan.batches.iter().find(|own| own.id == *id) else { return Ok(()) };
    let days = days(batch);
    let open: Vec<NaiveDate> = days.iter().copied().filter(|day| *day >= today.min(from)).collect();
    if !days.contains(&from) {
        return Err(Refusal::NothingPlanned { batch: id.clone(), day: from, days: open });
    }
    if let Some(before) = open.iter().copied().find(|day| *day < from) {
        return Err(Refusal::NotNext { batch: id.clone(), day: from, before });
    }
    let passed = batch.parts.iter().filter(|part| part.lost.is_none()).find_map(|part| {
        let steps = [(batch.sown, part.transplant), (part.transplant, first_harvest(part)?)];
        let in_cups = batch.origin == Origin::InCups;
        steps.into_iter().skip(usize::from(in_cups)).find(|(step, next)| *step == from && *next <= until)
    });
    match passed {
        Some((_, next)) => Err(Refusal::PutOffTooFar { batch: id.clone(), next }),
        None => Ok(()),
    }
}

fn first_harvest(part: &Part) -> Option<NaiveDate> {
    part.harvests.first().map(|harvest| harvest.date)
}

/// The next day on which something is to be done with a batch, as far as is known: one that is past only if it is overdue.
#[must_use]
pub fn next_work(
    term: &Term,
    plan: &Plan,
    journal: &Journal,
    id: &BatchId,
    today: NaiveDate,
) -> Option<NaiveDate> {
    let open = state(term, plan, journal, today).steps.into_iter();
    open.filter(|step| step.batch == *id && step.is_open()).map(|step| step.day).min()
}

/// Days on which something is planned with a batch, in order.
fn days(batch: &Batch) -> Vec<NaiveDate> {
    let living = batch.parts.iter().filter(|part| part.lost.is_none());
    let of_part = |part: &Part| {
        let harvests: Vec<NaiveDate> = part.harvests.iter().map(|harvest| harvest.date).collect();
        [vec![part.transplant], harvests].concat()
    };
    let sown = (!batch.is_standing()).then_some(batch.sown);
    let mut days: Vec<NaiveDate> = living.flat_map(of_part).chain(sown).collect();
    days.sort_unstable();
    days.dedup();
    days
}
