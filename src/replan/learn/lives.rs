//! What counts say of seed, seedlings and transplants.
//!
//! Only what was written down counts: batches whose seedlings were counted once all should be up, seedlings of which it is
//! known how many were fit to be moved, and plants that were harvested or lost by an entry. Where a site never recorded a
//! loss, nobody knows whether there was none, and plants that are gone with a whole tank tell of the tank.

use crate::domain::calendar::days_between;
use crate::domain::crop::{self, Crop};
use crate::domain::journal::{Amount, Entry, EntryId, Journal, Place, What};
use crate::domain::learned::{Figure, Lesson, Of};
use crate::domain::plan::{Origin, Plan};
use crate::domain::shares::Share;
use crate::domain::term::Term;
use crate::replan::replay::{BatchReplay, Happened, Lot, heard, replay};
use chrono::NaiveDate;

/// Standard deviations between the low and the high end of a figure, from a poor batch to a good one, taken as the middle eight of
/// ten (from memory).
const ENDS: f64 = 2.56;
/// Standard deviation of a figure that does not say how far it may be off (from memory).
const UNTOLD: f64 = 0.05;
/// Days after its planned harvest on which a plant that nobody took, though others of its part were, counts as dead (from memory).
const GONE_DAYS: i64 = 14;

/// How many of how many, by batch.
type Counts = Vec<(u32, u32)>;

/// Every figure of which something was counted.
pub(super) fn lessons(term: &Term, plan: &Plan, journal: &Journal, today: NaiveDate) -> Vec<Lesson> {
    let entries = heard(plan, journal, today);
    let replay = replay(term, plan, journal, today);
    let mut lessons = Vec::new();
    for wanted in &term.crops {
        let crop = &wanted.crop;
        let own = replay.batches.iter().filter(|batch| batch.batch.crop == crop.id);
        let told: Vec<Told> = own.map(|batch| Told { batch, entries: &entries, crop, today }).collect();
        let came_up: Counts = told.iter().filter_map(Told::came_up).collect();
        let fit: Counts = told.iter().filter_map(Told::fit).collect();
        let lived: Counts = told.iter().filter_map(Told::lived).collect();
        // Where several seeds lie in a plug, an empty one tells of the plug.
        let single = crop.seeds_per_plug.value == 1;
        let plug = crop.plants_per_plug() / crop.nursery_survival.value;
        let plugs: Ways<'_> = (&|share| share * plug, &|share| share / plug);
        let found = [
            (Figure::Germination, single.then(|| believed(&crop.germination, &came_up, SAME)).flatten()),
            (
                Figure::NurserySurvival,
                believed(&crop.nursery_survival, &fit, if single { SAME } else { plugs }),
            ),
            (Figure::TankSurvival, believed(&crop.tank_survival, &lived, SAME)),
        ];
        lessons.extend(found.into_iter().filter_map(|(figure, found)| {
            let Learned { before, now, band, seen } = found?;
            let of = Of { crop: crop.id.clone(), site: None, figure };
            Some(Lesson { of, before, now, band, seen })
        }));
    }
    lessons
}

/// From a figure to the share that is counted, and back.
type Ways<'a> = (&'a dyn Fn(f64) -> f64, &'a dyn Fn(f64) -> f64);
const SAME: Ways<'static> = (&|share| share, &|share| share);

/// A figure, before and after something was counted.
struct Learned {
    before: f64,
    now: f64,
    band: (f64, f64),
    seen: u32,
}

/// What counts say of a figure; `None` if there are none.
fn believed(figure: &crop::Figure<f64>, counts: &Counts, (there, back): Ways<'_>) -> Option<Learned> {
    let seen = counts.iter().map(|(_, of)| *of).fold(0, u32::saturating_add);
    let before = figure.value;
    let spread = figure.spread.as_ref();
    let deviation = spread.map_or(UNTOLD, |spread| (there(spread.high) - there(spread.low)) / ENDS);
    let share = Share::new(there(before), deviation.max(0.01)).after(counts);
    let now = |share: f64| back(share).clamp(0.01, 1.0);
    let band = (now(share.below(0.05)), now(share.below(0.95)));
    (seen > 0).then(|| Learned { before, now: now(share.mean()), band, seen })
}

/// A batch and what was recorded of it.
struct Told<'a> {
    batch: &'a BatchReplay<'a>,
    entries: &'a [&'a Entry],
    crop: &'a Crop,
    today: NaiveDate,
}

impl<'a> Told<'a> {
    fn own(&self) -> impl Iterator<Item = &'a Entry> {
        let id = &self.batch.batch.id;
        self.entries.iter().copied().filter(move |entry| entry.what.batch() == Some(id))
    }

    /// Seedlings counted once all should be up: when, and how many.
    fn counted(&self) -> Option<(NaiveDate, u32)> {
        let sown = self.batch.sown.filter(|_| self.batch.batch.origin == Origin::Sown)?.on;
        let all_up = i64::from(self.crop.emergence.value.usual);
        let counts = self.own().filter_map(|entry| match entry.what {
            What::CameUp { plugs, .. } if days_between(sown, entry.day) >= all_up => Some((entry.day, plugs)),
            _ => None,
        });
        counts.max_by_key(|(day, plugs)| (*plugs, std::cmp::Reverse(*day)))
    }

    /// Plugs lost in the nursery on some days.
    fn lost(&self, which: impl Fn(NaiveDate) -> bool) -> u32 {
        let lost = self.own().filter(|entry| which(entry.day)).filter_map(|entry| match entry.what {
            What::Lost { place: Place::Nursery, plants: Amount::Plants(plants), .. } => Some(plants),
            _ => None,
        });
        lost.fold(0, u32::saturating_add)
    }

    /// Plugs with a seedling, of those sown that were still there when they were counted.
    fn came_up(&self) -> Option<(u32, u32)> {
        let (day, up) = self.counted()?;
        let there = self.batch.plugs.saturating_sub(self.lost(|lost| lost <= day));
        Some((up.min(there), there)).filter(|(_, there)| *there > 0)
    }

    /// Seedlings that were fit to be moved, of those that had come up, or of the plugs sown where several seeds lie in each. Where fewer were moved than planned, no more were fit;
    /// else those that nobody recorded as lost.
    fn fit(&self) -> Option<(u32, u32)> {
        let (day, up) = self.counted()?;
        let of = if self.crop.seeds_per_plug.value == 1 { up } else { self.came_up()?.1 };
        let moves = &self.batch.moves;
        let recorded = moves.iter().all(|done| done.is_some_and(|done| done.entry.is_some()));
        if !recorded || moves.is_empty() || up == 0 {
            return None;
        }
        let planned = self.batch.batch.parts.iter().map(|part| part.plants).fold(0, u32::saturating_add);
        let moved = self.batch.moved();
        if moved < planned.min(up) {
            return Some((moved, of));
        }
        let records_losses = |entry: &&&Entry| matches!(entry.what, What::Lost { place: Place::Nursery, .. });
        let site = Some(&self.batch.batch.site);
        let kept = self.entries.iter().filter(records_losses).any(|entry| entry.site.as_ref() == site);
        kept.then(|| (up.saturating_sub(self.lost(|lost| lost > day)).max(moved.min(up)), of))
    }

    /// Plants in tanks that lived until they were harvested, of those of which it is known.
    fn lived(&self) -> Option<(u32, u32)> {
        if self.batch.stood_in_tank {
            return None;
        }
        let count = |which: &dyn Fn(&Lot) -> bool| -> u32 {
            let wanted = self.batch.lots.iter().filter(|lot| lot.moved().is_some() && which(lot));
            wanted.map(|lot| lot.plants).fold(0, u32::saturating_add)
        };
        let harvested = |lot: &Lot| lot.harvests().any(|event| event.entry.is_some());
        let lived = count(&harvested);
        let dead = count(&|lot| !harvested(lot) && (self.died(lot) || self.is_gone(lot)));
        Some((lived, lived + dead)).filter(|(_, of)| *of > 0)
    }

    /// Whether plants were recorded as lost, but not everything in the tank at once.
    fn died(&self, lot: &Lot) -> bool {
        let lost = lot.end().filter(|end| end.what == Happened::Lost);
        let all_of_it = |id: EntryId| {
            self.own()
                .any(|entry| entry.id == id && matches!(entry.what, What::Lost { plants: Amount::All, .. }))
        };
        lost.and_then(|end| end.entry).is_some_and(|id| !all_of_it(id))
    }

    /// Whether plants should have been pulled long ago with others of their part that were.
    fn is_gone(&self, lot: &Lot) -> bool {
        let part = lot.part.map(|part| &self.batch.batch.parts[part]);
        let over = part.and_then(|part| part.leaves());
        let with_it =
            |other: &&Lot| other.part == lot.part && other.harvests().any(|event| event.entry.is_some());
        lot.stands()
            && over.is_some_and(|day| days_between(day, self.today) >= GONE_DAYS)
            && self.batch.lots.iter().any(|other| with_it(&other))
    }
}
