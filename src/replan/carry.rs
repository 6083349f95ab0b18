//! The plan as it stands: what the journal says of plants since the plan was made.
//!
//! What the plan says for days gone by counts as done unless the journal says otherwise. So only what differs is
//! carried over: plants that were lost, seedlings that did not come up, plants moved or harvested on another day, in
//! another tank, or fewer of them. Weighed grams stay in the journal; the plan goes on with its estimates.

use super::clash::part_clashes;
use super::split::Ground;
use super::state::state;
use crate::domain::calendar::days_between;
use crate::domain::growth::Way;
use crate::domain::ids::{BatchId, TankId};
use crate::domain::journal::{Amount, Entry, EntryId, Harvested, Journal, Place, What};
use crate::domain::plan::{Arithmetic, Batch, Harvest, Part, Plan};
use crate::domain::state::{Progress, Step, Work as Kind};
use crate::domain::term::Term;
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};

/// A planned harvest so many days from a recorded one is taken for the same.
const SAME_HARVEST: i64 = 7;

/// The plan with everything the journal has told since it was made.
#[must_use]
pub fn carried(term: &Term, known: &Plan, journal: &Journal, today: NaiveDate) -> Plan {
    let mut plan = known.clone();
    let seen = EntryId(plan.journal_entries);
    for entry in journal.entries().iter().filter(|entry| entry.id > seen) {
        if let Some(old) = entry.replaces.filter(|old| *old <= seen).and_then(|old| journal.entry(old)) {
            revive(&mut plan, old);
        }
    }
    let mut past = journal.in_force();
    past.retain(|entry| entry.day <= today);
    let work = work(&past, seen);
    for (&task, &plants) in &work {
        at_batch(term, &mut plan, task.batch, |batch, ground| match task.way {
            None => transplanted(batch, ground, task.tank, task.day, plants),
            Some(way) => harvested(batch, ground, &task, way, plants),
        });
    }
    for entry in past.iter().filter(|entry| entry.id > seen) {
        let Some(id) = entry.what.batch() else { continue };
        at_batch(term, &mut plan, id, |batch, ground| losses(batch, ground, entry));
    }
    for step in state(term, known, journal, today).steps {
        match step.progress {
            Progress::Overdue => undone(term, &mut plan, &step, &work, today),
            Progress::Done { on } | Progress::DoneEarly { on } if step.work == Kind::Transplant => {
                left_behind(term, &mut plan, &step, on, &work);
            }
            _ => {}
        }
    }
    close_tanks(term, &mut plan, today);
    part_clashes(&mut plan, &past, today);
    plan.journal_entries = journal.entries().last().map_or(0, |last| last.id.0);
    plan
}

/// Takes planned work back that was not done when it was due.
fn undone(term: &Term, plan: &mut Plan, step: &Step, work: &BTreeMap<Work<'_>, u32>, today: NaiveDate) {
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
            let all: u32 =
                batch.parts.iter().filter(|part| due(part).is_some()).map(|part| part.plants).sum();
            // Of those that were left over, what was recorded knows already.
            let done = work.iter().filter(|(task, _)| task.is(step)).map(|(_, plants)| plants).sum();
            ground.change(batch, step.number.min(all.saturating_sub(done)), due, |part| {
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

/// What was moved and harvested by day, batch and tank, where something of it was recorded after the entry `seen`: two
/// people may have recorded half of it each.
fn work<'a>(entries: &[&'a Entry], seen: EntryId) -> BTreeMap<Work<'a>, u32> {
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
        if entry.id > seen {
            news.insert(work);
        }
    }
    all.retain(|work, _| news.contains(work));
    all
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

/// Plants were harvested: those whose harvest was planned nearest. What was due with them and is left standing keeps
/// neither that harvest nor later ones, so that new days are found for it.
fn harvested(batch: &mut Batch, ground: &Ground, task: &Work, way: Way, plants: u32) {
    let near = |part: &Part| nearest(part, task, way);
    let planned = batch.parts.iter().filter_map(near).min();
    if let Some((_, due)) = planned.filter(|(days, due)| *days <= SAME_HARVEST && *due <= task.day) {
        let same = |part: &Part| near(part).filter(|(_, date)| *date == due);
        let all: u32 = batch.parts.iter().filter(|part| same(part).is_some()).map(|part| part.plants).sum();
        ground.change(batch, all.saturating_sub(plants), same, |part| {
            part.harvests.retain(|harvest| harvest.date < due);
        });
    }
    // Where none was planned so, any that stand there.
    let any = |part: &Part| {
        let standing = || stands(part, task) && part.leaves().is_none_or(|leaves| leaves > task.day);
        near(part).map(|near| (false, near)).or_else(|| standing().then_some((true, (0, task.day))))
    };
    ground.change(batch, plants, any, |part| take(part, task.day, way));
}

/// Days between a recorded harvest and the part's nearest one of that way, and when that is.
fn nearest(part: &Part, task: &Work, way: Way) -> Option<(i64, NaiveDate)> {
    let harvests = part.harvests.iter().filter(|harvest| stands(part, task) && harvest.way == way);
    harvests.map(|harvest| (days_between(task.day, harvest.date).abs(), harvest.date)).min()
}

fn stands(part: &Part, task: &Work) -> bool {
    part.lost.is_none() && part.tank == *task.tank && part.transplant < task.day
}

/// Moves the nearest harvest of that way to the day it really was, or adds one; a pull ends the part. What it gave is
/// worked out when the plan is made anew.
fn take(part: &mut Part, day: NaiveDate, way: Way) {
    let near = part.harvests.iter().enumerate().filter(|(_, harvest)| harvest.way == way);
    let at = near.min_by_key(|(_, harvest)| days_between(day, harvest.date).abs()).map(|(at, _)| at);
    let all = &part.harvests;
    let (earlier, later) = match at {
        Some(at) => (&all[..at], &all[at + 1..]),
        None if way == Way::Cut => (&all[..], &all[..]),
        None => (&all[..], &[][..]),
    };
    let mut harvests: Vec<Harvest> = earlier.iter().filter(|harvest| harvest.date < day).cloned().collect();
    harvests.push(match at {
        Some(at) => Harvest { date: day, ..all[at].clone() },
        None => Harvest {
            date: day,
            way,
            number: part.cuts_before + harvests.len() as u32 + 1,
            grams: 0.0,
            arithmetic: Arithmetic::default(),
            serves: Vec::new(),
        },
    });
    harvests.extend(later.iter().filter(|harvest| harvest.date > day).cloned());
    part.harvests = harvests;
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
