//! How many plugs of a batch came up, and how many of its plants lived, as far as somebody counted.

use crate::domain::calendar::days_between;
use crate::domain::crop::Crop;
use crate::domain::journal::{Entry, What};
use crate::domain::plan::Origin;
use crate::domain::review::{Band, Outcome, Tally};
use crate::domain::term::Term;
use crate::replan::replay::{BatchReplay, Happened, Lot};
use chrono::NaiveDate;
use std::collections::BTreeSet;

/// Days after the last planned harvest of plants until which they may still be harvested late.
const LATE: i64 = 7;

/// What was counted of a batch. Left out is what nobody can tell: how many of the plants that stood there before the term once
/// were more, and how many cups of those sown in cups are empty.
pub(in crate::replan) fn of(
    term: &Term,
    replay: &BatchReplay<'_>,
    entries: &[&Entry],
    until: NaiveDate,
) -> Outcome {
    let batch = replay.batch;
    let Some(crop) = term.crop(&batch.crop).map(|wanted| &wanted.crop) else { return Outcome::default() };
    let in_tank = match batch.origin {
        Origin::Sown | Origin::Bought { .. } => in_tank(replay, crop, until),
        Origin::InCups | Origin::Standing => Outcome::default(),
    };
    let seedlings = if batch.origin == Origin::Sown { seedlings(replay, crop, entries) } else { None };
    Outcome {
        lived: in_tank.lived,
        assumed: in_tank.assumed,
        missing: in_tank.missing,
        ..seedlings.unwrap_or_default()
    }
}

/// From plug to seedling fit to move: from the last count before the first move, as later ones miss those that were moved.
fn seedlings(replay: &BatchReplay<'_>, crop: &Crop, entries: &[&Entry]) -> Option<Outcome> {
    let first_move = replay.lots.iter().filter_map(Lot::moved).min();
    let counts = entries.iter().filter_map(|entry| match entry.what {
        What::CameUp { plugs, .. } if first_move.is_none_or(|day| entry.day <= day) => {
            Some((entry.day, plugs))
        }
        _ => None,
    });
    let (day, came_up) = counts.max_by_key(|(day, _)| *day)?;
    // Counting comes first on a day.
    let lost_after = |entry: &&&Entry| entry.day >= day;
    let lost = |entry: &&Entry| replay.plugs_lost.get(&entry.id).copied().unwrap_or(0);
    let losses: Vec<u32> = entries.iter().filter(lost_after).map(lost).filter(|plugs| *plugs > 0).collect();
    let (later, times) = (losses.iter().sum::<u32>(), losses.len() as u32);
    let earlier: u32 = replay.plugs_lost.values().sum::<u32>() - later;
    let plugs = replay.plugs.saturating_sub(earlier);
    let came_up = came_up.min(plugs);
    let up = Band::of(&crop.germination).of_plugs(replay.batch.seeds_per_plug);
    let fit = Band::of(&crop.nursery_survival);
    let told = Outcome { came_up: Tally::new(came_up, plugs, up), ..Outcome::default() };
    if replay.lots.iter().any(Lot::waits) {
        return Some(told);
    }
    let left = came_up.saturating_sub(later);
    Some(Outcome {
        kept: Tally::new(left, came_up, fit).lost(times),
        fit: Tally::new(left, replay.plugs, up.times(fit)),
        ..told
    })
}

/// Whether plants in tanks lived until they were first harvested.
fn in_tank(replay: &BatchReplay<'_>, crop: &Crop, until: NaiveDate) -> Outcome {
    let (mut lived, mut lost, mut assumed, mut missing) = (0, 0, 0, 0);
    let mut occasions = BTreeSet::new();
    let settled = |lot: &&Lot| lot.moved().is_some() && is_settled(replay, lot, until);
    for lot in replay.lots.iter().filter(settled) {
        match lot.harvests().next() {
            Some(first) => {
                lived += lot.plants;
                assumed += if first.entry.is_none() { lot.plants } else { 0 };
            }
            None if is_missing(replay, lot, until) => {
                missing += lot.plants;
                occasions.insert((&lot.tank, None));
            }
            None => {
                if let Some(end) = lot.end().filter(|end| end.what == Happened::Lost) {
                    lost += lot.plants;
                    occasions.insert((&lot.tank, Some(end.day)));
                }
            }
        }
    }
    let lived =
        Tally::new(lived, lived + lost + missing, Band::of(&crop.tank_survival)).lost(occasions.len() as u32);
    Outcome { lived, assumed, missing, ..Outcome::default() }
}

/// Whether no more plants of a part are still to be harvested first than were: who counts the dead before the living sees too
/// many dead.
fn is_settled(replay: &BatchReplay<'_>, lot: &Lot, until: NaiveDate) -> bool {
    let of_part = || replay.lots.iter().filter(|other| other.part == lot.part && other.moved().is_some());
    let count =
        |which: &dyn Fn(&&Lot) -> bool| of_part().filter(which).map(|other| other.plants).sum::<u32>();
    let harvested = |other: &&Lot| other.harvests().next().is_some();
    let waits = |other: &&Lot| other.stands() && !harvested(other) && !is_missing(replay, other, until);
    count(&waits) <= count(&harvested)
}

/// Whether plants that stand were left over, by the records, when others of their part were harvested for the last time.
pub(in crate::replan) fn is_missing(replay: &BatchReplay<'_>, lot: &Lot, until: NaiveDate) -> bool {
    let Some(number) = lot.part.filter(|_| lot.stands()) else { return false };
    let last = replay.batch.parts[number].harvests.last();
    let is_over = last.is_some_and(|last| days_between(last.date, until) > LATE);
    let others = || replay.lots.iter().filter(|other| other.part == lot.part && other.tank == lot.tank);
    is_over && others().any(|other| other.harvests().any(|event| event.entry.is_some()))
}
