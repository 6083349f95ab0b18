//! What plan and journal tell of the part of a term that is over.

mod promised;

use super::counts;
use super::replay::{BatchReplay, Happened, Lot, heard, replay};
use super::state::state;
use super::weighed::{outlook, records, weighings};
use crate::domain::ids::BatchId;
use crate::domain::journal::{Entry, Journal, Place, Sample, What};
use crate::domain::plan::{Batch, Plan};
use crate::domain::review::{BatchReview, Guess, Loss, Masses, Outcome, Quantity, Review};
use crate::domain::state::Progress;
use crate::domain::task_numbers::TaskKind;
use crate::domain::term::Term;
use chrono::NaiveDate;
use promised::{Promise, promised};
use std::collections::BTreeMap;

/// Looks back on a term until a day, that one included. `term` is the term as it really is, `earlier` are the plans before
/// `plan`, by number: what was planned of a batch is what the plan told when it was to be sown, as a plan made again counts
/// with what was weighed meanwhile.
#[must_use]
pub fn review(term: &Term, (plan, earlier): (&Plan, &[Plan]), journal: &Journal, until: NaiveDate) -> Review {
    let past = heard(plan, journal, until);
    let promised = promised(earlier, plan);
    let replayed = replay(term, plan, journal, until).batches;
    let by_figures = by_figures(term, plan, journal, until);
    let mut batches = Vec::new();
    for replay in &replayed {
        let id = &replay.batch.id;
        let entries: Vec<&Entry> =
            past.iter().copied().filter(|entry| entry.what.batch() == Some(id)).collect();
        let planned = promised.get(id).map_or(0.0, |promise| due(promise, &entries, until));
        let mass = Masses {
            planned,
            weighed: replay.grams,
            // More plants than planned leave no more of the plan unrecorded than there was.
            unrecorded: unrecorded(replay, plan, promised.get(id), until).min(planned),
            by_figures: by_figures.get(id).copied().unwrap_or(0.0),
        };
        let outcome = Outcome { mass, ..counts::of(term, replay, &entries, until) };
        batches.push(told(replay.batch, outcome));
    }
    let gone = promised.iter().filter(|(id, _)| plan.batches.iter().all(|batch| batch.id != ***id));
    batches.extend(gone.map(|(_, promise)| {
        let mass = Masses { planned: due(promise, &[], until), ..Masses::default() };
        told(promise.batch, Outcome { mass, ..Outcome::default() })
    }));
    let is_undone = |progress| progress == Progress::Overdue;
    let mut undone = state(term, plan, journal, until).steps;
    undone.retain(|step| step.work == TaskKind::Harvest && is_undone(step.progress));
    Review {
        until,
        guesses: past.iter().flat_map(|entry| guesses(plan, entry)).collect(),
        batches,
        losses: losses(&replayed, journal),
        undone,
        slips: outlook(term, plan, journal, until).slips,
    }
}

fn told(batch: &Batch, outcome: Outcome) -> BatchReview {
    BatchReview { batch: batch.id.clone(), crop: batch.crop.clone(), site: batch.site.clone(), outcome }
}

/// What was estimated of plants that were harvested, or measured and left. Of nothing nobody can be off by a share.
fn guesses(plan: &Plan, entry: &Entry) -> Vec<Guess> {
    let samples = entry.what.samples();
    let Some(batch) = plan.batches.iter().find(|own| Some(&own.id) == entry.what.batch()) else {
        return Vec::new();
    };
    let guess = |sample: &Sample, quantity: Quantity| {
        let measured = quantity.of(sample).filter(|measured| measured.found > 0.0)?;
        Some(Guess {
            entry: entry.id,
            day: entry.day,
            site: batch.site.clone(),
            batch: batch.id.clone(),
            crop: batch.crop.clone(),
            quantity,
            estimate: measured.estimate?,
            found: measured.found,
        })
    };
    let all =
        samples.iter().flat_map(|sample| Quantity::ALL.into_iter().map(move |quantity| (sample, quantity)));
    all.filter_map(|(sample, quantity)| guess(sample, quantity)).collect()
}

/// Grams planned until a day. On the day itself, only what was harvested then was due: the class may be yet to come.
fn due(promise: &Promise<'_>, entries: &[&Entry], until: NaiveDate) -> f64 {
    let today = |entry: &&Entry| entry.day == until && matches!(entry.what, What::Harvested(_));
    let over = |day: NaiveDate| day < until || (day == until && entries.iter().any(today));
    let harvests = promise.batch.parts.iter().flat_map(|part| &part.harvests);
    harvests.filter(|harvest| over(harvest.date)).map(|harvest| harvest.grams).sum()
}

/// Grams planned for harvests that nobody recorded, counted as they were promised: those that count as done, and those of plants
/// that still stand and are not missing.
fn unrecorded(replay: &BatchReplay<'_>, plan: &Plan, promise: Option<&Promise<'_>>, until: NaiveDate) -> f64 {
    let batch = replay.batch;
    let yardstick =
        promise.map_or(1.0, |promise| promise.plan.counts_with(promise.batch) / plan.counts_with(batch));
    let grams = |lot: &Lot| -> f64 {
        let Some(part) = lot.part.map(|part| &batch.parts[part]) else { return 0.0 };
        let of_nobody = lot.harvests().filter(|event| event.entry.is_none());
        let done = of_nobody.filter_map(|event| part.harvests.get(event.what.harvest()?));
        let open =
            if lot.stands() && !counts::is_missing(replay, lot, until) { &part.harvests[..] } else { &[] };
        let undone = open.iter().skip(lot.harvests_done).filter(|harvest| harvest.date < until);
        done.chain(undone).map(|harvest| harvest.grams * f64::from(lot.plants) / f64::from(part.plants)).sum()
    };
    yardstick * replay.lots.iter().map(grams).sum::<f64>()
}

/// Grams that the weighed plants of each batch should have given.
fn by_figures(term: &Term, plan: &Plan, journal: &Journal, until: NaiveDate) -> BTreeMap<BatchId, f64> {
    let mut sums: BTreeMap<BatchId, f64> = BTreeMap::new();
    for weighing in weighings(term, plan, journal, &records(plan, journal, until), until) {
        *sums.entry(plan.batches[weighing.batch].id.clone()).or_default() += weighing.expected;
    }
    sums
}

/// Plugs and plants lost, by day, without seedlings that were given up because nobody had room for them.
fn losses(replayed: &[BatchReplay<'_>], journal: &Journal) -> Vec<Loss> {
    let mut losses: Vec<Loss> = replayed.iter().flat_map(|replay| losses_of(replay, journal)).collect();
    losses.sort_by_key(|loss| loss.day);
    losses
}

fn losses_of(replay: &BatchReplay<'_>, journal: &Journal) -> Vec<Loss> {
    let batch = replay.batch;
    let loss = |day, place, plants, entry: Option<&Entry>| Loss {
        day,
        batch: batch.id.clone(),
        crop: batch.crop.clone(),
        site: batch.site.clone(),
        place,
        plants,
        cause: match entry.map(|entry| &entry.what) {
            Some(What::Lost { cause, .. }) => Some(cause.clone()),
            _ => None,
        },
    };
    let in_nursery = replay.plugs_lost.iter().filter(|(_, plugs)| **plugs > 0);
    let mut all: Vec<Loss> = in_nursery
        .filter_map(|(id, plugs)| {
            let entry = journal.entry(*id)?;
            Some(loss(entry.day, Place::Nursery, *plugs, Some(entry)))
        })
        .collect();
    let mut in_tanks = BTreeMap::new();
    for lot in replay.lots.iter().filter(|lot| lot.moved().is_some()) {
        if let Some(end) = lot.end().filter(|end| end.what == Happened::Lost) {
            *in_tanks.entry((end.day, end.entry, lot.tank.clone())).or_insert(0) += lot.plants;
        }
    }
    all.extend(in_tanks.into_iter().map(|((day, id, tank), plants)| {
        loss(day, Place::Tank(tank), plants, id.and_then(|id| journal.entry(id)))
    }));
    all
}
