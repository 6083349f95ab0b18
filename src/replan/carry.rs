//! The plan as it stands: what the journal says of plants since the plan was made.
//!
//! What the plan says for days gone by counts as done unless the journal says otherwise. So only what differs is
//! carried over: sowings on another day, plants that were lost, seedlings that did not come up, plants moved or harvested
//! on another day, in another tank, in the other way, or fewer of them. Weighed grams stay in the journal; the plan goes
//! on with its estimates.

mod harvests;

use super::clash::part_clashes;
use super::split::Ground;
use super::state::state;
use crate::domain::calendar::days_between;
use crate::domain::growth::Way;
use crate::domain::ids::{BatchId, TankId};
use crate::domain::journal::{self, Amount, Entry, Harvested, Journal, Place, What};
use crate::domain::known::KnownEntries;
use crate::domain::plan::{Batch, Harvest, Part, Plan};
use crate::domain::state::{Progress, Step, Work as Kind};
use crate::domain::term::Term;
use chrono::NaiveDate;
use harvests::harvested;
use std::collections::{BTreeMap, BTreeSet};

/// The plan with everything the journal has told since it was made.
pub(super) fn carried(term: &Term, known: &Plan, journal: &Journal, today: NaiveDate) -> Plan {
    let mut plan = known.clone();
    let is_news = |entry: &Entry| !known.known.knows(entry);
    for entry in journal.entries().iter().filter(|entry| is_news(entry)) {
        if let Some(old) = entry.replaces.and_then(|old| journal.entry(old)).filter(|old| !is_news(old)) {
            revive(&mut plan, old);
        }
    }
    let mut past = journal.in_force();
    past.retain(|entry| entry.day <= today);
    for entry in past.iter().filter(|entry| is_news(entry) && entry.what.kind() == journal::Kind::Sown) {
        sown(&mut plan, entry, &past);
    }
    let work = work(&past, is_news);
    for (&task, &plants) in &work {
        at_batch(term, &mut plan, task.batch, |batch, ground| match task.way {
            None => transplanted(batch, ground, task.tank, task.day, plants),
            Some(way) => harvested(batch, ground, (&task, way), plants, |day| is_told(&past, &task, day)),
        });
    }
    for entry in past.iter().filter(|entry| is_news(entry)) {
        let Some(id) = entry.what.batch() else { continue };
        at_batch(term, &mut plan, id, |batch, ground| losses(batch, ground, entry));
    }
    for step in state(term, known, journal, today).steps {
        match step.progress {
            // Of work that was recorded, what was left over is known already.
            Progress::Overdue if !work.keys().any(|task| task.is(&step)) => {
                undone(term, &mut plan, &step, today);
            }
            Progress::Done { on } | Progress::DoneEarly { on } if step.work == Kind::Transplant => {
                left_behind(term, &mut plan, &step, on, &work);
            }
            _ => {}
        }
    }
    close_tanks(term, &mut plan, today);
    part_clashes(&mut plan, &past, today);
    plan.known = KnownEntries::all_of(journal, &known.known);
    plan
}

/// A batch is sown on the day it really was, unless something happened to it before, or another one was sown then from
/// which it could not be told.
fn sown(plan: &mut Plan, entry: &Entry, past: &[&Entry]) {
    let Some(at) = plan.batches.iter().position(|batch| Some(&batch.id) == entry.what.batch()) else {
        return;
    };
    let (crop, site) = (plan.batches[at].crop.clone(), plan.batches[at].site.clone());
    let twin = |other: &Batch| {
        !other.standing && (&other.crop, &other.site, other.sown) == (&crop, &site, entry.day)
    };
    let batch = &plan.batches[at];
    let before = |other: &&Entry| other.what.batch() == Some(&batch.id) && other.day < entry.day;
    let lost_before = batch.parts.iter().any(|part| part.lost.is_some_and(|lost| lost < entry.day));
    let happened =
        lost_before || past.iter().any(|other| before(other) && other.what.kind() != journal::Kind::Note);
    if !happened && !plan.batches.iter().any(twin) {
        plan.batches[at].sown = entry.day;
    }
}

/// Takes planned work back that was not done when it was due.
fn undone(term: &Term, plan: &mut Plan, step: &Step, today: NaiveDate) {
    let here = |part: &Part| part.lost.is_none() && Some(&part.tank) == step.tank.as_ref();
    match step.work {
        Kind::Sow => plan.batches.retain(|batch| batch.id != step.batch),
        Kind::Transplant => at_batch(term, plan, &step.batch, |batch, ground| {
            let due = |part: &Part| (here(part) && part.transplant == step.day).then_some(());
            ground.change(batch, step.number, due, |part| still_in_nursery(part, today));
        }),
        Kind::Harvest => at_batch(term, plan, &step.batch, |batch, ground| {
            let day = |harvest: &Harvest| harvest.date == step.day && Some(harvest.way) == step.way;
            let due = |part: &Part| (here(part) && part.harvests.iter().any(day)).then_some(());
            ground.change(batch, step.number, due, |part| {
                part.harvests.retain(|harvest| harvest.date < step.day);
            });
        }),
    }
}

/// Gives up seedlings that were to move with others, but did not.
fn left_behind(term: &Term, plan: &mut Plan, step: &Step, on: NaiveDate, moved: &BTreeMap<Work<'_>, u32>) {
    let Some(tank) = &step.tank else { return };
    let is_news = |work: &Work| (work.day, work.batch, work.way) == (on, &step.batch, None);
    if !moved.keys().any(is_news) {
        return;
    }
    at_batch(term, plan, &step.batch, |batch, ground| {
        let due = |part: &Part| {
            (part.lost.is_none() && part.tank == *tank && part.transplant == step.day).then_some(())
        };
        let told: u32 = moved.iter().filter(|(task, _)| task.is(step)).map(|(_, plants)| plants).sum();
        let planned: u32 =
            batch.parts.iter().filter(|part| due(part).is_some()).map(|part| part.plants).sum();
        let behind = planned.saturating_sub(told);
        ground.change(batch, behind, due, |part| end(part, &Place::Nursery, on));
    });
}

fn at_batch(term: &Term, plan: &mut Plan, id: &BatchId, change: impl FnOnce(&mut Batch, &Ground)) {
    let found = plan.batches.iter_mut().find(|batch| batch.id == *id);
    if let Some((batch, ground)) =
        found.and_then(|batch| Ground::of(term, batch).map(|ground| (batch, ground)))
    {
        change(batch, &ground);
    }
}

/// Transplanting (no way) or a harvest, as recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Work<'a> {
    day: NaiveDate,
    batch: &'a BatchId,
    tank: &'a TankId,
    way: Option<Way>,
}

impl Work<'_> {
    /// Whether it is this step, done on its day.
    fn is(&self, step: &Step) -> bool {
        (self.day, self.batch, Some(self.tank), self.way)
            == (step.day, &step.batch, step.tank.as_ref(), step.way)
    }
}

/// What was moved and harvested by day, batch and tank, where something of it is news: two people may have recorded
/// half of it each.
fn work<'a>(entries: &[&'a Entry], is_news: impl Fn(&Entry) -> bool) -> BTreeMap<Work<'a>, u32> {
    let mut all = BTreeMap::new();
    let mut news = BTreeSet::new();
    for entry in entries {
        let (batch, tank, way, plants) = match &entry.what {
            What::Transplanted { batch, tank, plants } => (batch, tank, None, plants),
            What::Harvested(Harvested { batch, tank, way, plants, .. }) => (batch, tank, Some(*way), plants),
            _ => continue,
        };
        let work = Work { day: entry.day, batch, tank, way };
        *all.entry(work).or_insert(0) += plants;
        if is_news(entry) {
            news.insert(work);
        }
    }
    all.retain(|work, _| news.contains(work));
    all
}

/// Whether a harvest of the batch in that tank was recorded for `day`.
fn is_told(past: &[&Entry], task: &Work, day: NaiveDate) -> bool {
    past.iter().any(|entry| {
        (entry.what.kind(), entry.what.batch(), entry.what.tank(), entry.day)
            == (journal::Kind::Harvested, Some(task.batch), Some(task.tank), day)
    })
}

/// Plants were moved: those planned for this day and tank, else the nearest others.
fn transplanted(batch: &mut Batch, ground: &Ground, tank: &TankId, day: NaiveDate, plants: u32) {
    let as_planned = |part: &Part| part.transplant == day && part.tank == *tank;
    let done: u32 = batch.parts.iter().filter(|part| as_planned(part)).map(|part| part.plants).sum();
    let near = |part: &Part| {
        let other = part.lost.is_none() && !as_planned(part);
        other.then(|| (days_between(day, part.transplant).abs(), part.tank != *tank))
    };
    ground.change(batch, plants.saturating_sub(done), near, |part| {
        part.transplant = day;
        if part.tank != *tank {
            part.tank = tank.clone();
            part.holes.clear();
            part.kept_empty.clear();
        }
    });
}

/// Plants that an entry says are no more.
fn losses(batch: &mut Batch, ground: &Ground, entry: &Entry) {
    let crop = &ground.wanted.crop;
    let at_most = |plugs: u32, share: f64| (f64::from(plugs) * share + 1e-9).floor() as u32;
    // Who was moved before the day is not among those counted.
    let waiting = |part: &&Part| part.lost.is_none() && part.transplant > entry.day;
    let waiting: u32 = batch.parts.iter().filter(waiting).map(|part| part.plants).sum();
    let (place, plants) = match &entry.what {
        What::Lost { place, plants: Amount::Plants(plants), .. } => (place, *plants),
        What::Lost { place, plants: Amount::All, .. } => (place, u32::MAX),
        What::Sown { plugs, .. } => {
            (&Place::Nursery, waiting.saturating_sub(at_most(*plugs, crop.plants_per_plug())))
        }
        What::CameUp { plugs, .. } => {
            (&Place::Nursery, waiting.saturating_sub(at_most(*plugs, crop.nursery_survival.value)))
        }
        _ => return,
    };
    lose(batch, ground, place, entry.day, plants);
}

/// Marks plants as lost: those that should stand there, then, in the nursery, those that should have been moved by
/// then.
fn lose(batch: &mut Batch, ground: &Ground, place: &Place, day: NaiveDate, plants: u32) {
    let rank = |part: &Part| {
        let there = match place {
            Place::Nursery => part.transplant > day,
            Place::Tank(tank) => {
                part.tank == *tank
                    && part.transplant <= day
                    && part.leaves().is_none_or(|leaves| leaves >= day)
            }
        };
        (part.lost.is_none() && (there || *place == Place::Nursery)).then_some(!there)
    };
    ground.change(batch, plants, rank, |part| end(part, place, day));
}

/// Ends a part by a loss.
pub(super) fn end(part: &mut Part, place: &Place, day: NaiveDate) {
    part.lost = Some(day);
    part.harvests.retain(|harvest| harvest.date < day);
    if *place == Place::Nursery || part.transplant >= day {
        part.transplant = day;
        part.holes.clear();
        part.kept_empty.clear();
        part.harvests.clear();
    }
}

/// What stood in a tank when it went out of use is lost; what should have come into it since then has not.
fn close_tanks(term: &Term, plan: &mut Plan, today: NaiveDate) {
    for site in &term.sites {
        for tank in &site.tanks {
            for out in tank.out.iter().filter(|out| out.first <= today) {
                let parts = plan.batches.iter_mut().filter(|batch| batch.site == site.id);
                let living = parts.flat_map(|batch| &mut batch.parts).filter(|part| !part.lost_in_nursery());
                for part in living.filter(|part| part.tank == tank.id && part.transplant < today) {
                    if out.contains(part.transplant) {
                        still_in_nursery(part, today);
                    } else if part.transplant < out.first
                        && part.leaves().is_none_or(|leaves| leaves > out.first)
                    {
                        end(part, &Place::Tank(tank.id.clone()), out.first);
                    }
                }
            }
        }
    }
}

/// Plants that were not moved wait for other days.
pub(super) fn still_in_nursery(part: &mut Part, today: NaiveDate) {
    part.transplant = today;
    part.holes.clear();
    part.kept_empty.clear();
    part.harvests.clear();
}

/// Brings plants back that an entry counted as lost which no longer counts.
fn revive(plan: &mut Plan, old: &Entry) {
    let Some(batch) = plan.batches.iter_mut().find(|batch| Some(&batch.id) == old.what.batch()) else {
        return;
    };
    let mut left = match &old.what {
        What::Lost { plants: Amount::Plants(plants), .. } => *plants,
        What::Lost { .. } | What::Sown { .. } | What::CameUp { .. } => u32::MAX,
        _ => 0,
    };
    for part in batch.parts.iter_mut().filter(|part| part.lost == Some(old.day)) {
        if part.plants <= left {
            part.lost = None;
            left -= part.plants;
        }
    }
}
