//! What a journal says of one batch, sorted by what the plan knows of it.

use crate::domain::ids::{BatchId, TankId};
use crate::domain::journal::{Entry, EntryId, Journal, Kind, Place, What};
use crate::domain::plan::{Batch, Plan};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Entries about one batch.
#[derive(Debug, Default)]
pub(super) struct Records<'a> {
    /// What happens in a replay: everything the plan does not tell itself.
    pub(super) news: Vec<&'a Entry>,
    /// What the plan tells itself of tanks: moves, harvests and losses.
    told: Vec<&'a Entry>,
    /// All of these, by day and then as they were written down, and whether the plan tells them itself.
    pub(super) in_order: Vec<(&'a Entry, bool)>,
    /// What the plan tells, but what was corrected or withdrawn since.
    pub(super) taken_back: Vec<&'a Entry>,
}

impl<'a> Records<'a> {
    /// Sorts `past`, entries in force, for each batch. A plan made anew tells what was recorded until then of plants
    /// itself; what was recorded of the nursery is replayed for what it says of plugs.
    pub(super) fn by_batch(
        journal: &'a Journal,
        past: &[&'a Entry],
        plan: &Plan,
    ) -> BTreeMap<&'a BatchId, Records<'a>> {
        let mut all: BTreeMap<&BatchId, Records<'_>> = BTreeMap::new();
        for &entry in past {
            let Some(batch) = entry.what.batch() else { continue };
            let records = all.entry(batch).or_default();
            let told = plan.known.knows(entry) && !is_of_nursery(entry);
            records.in_order.push((entry, told));
            if told { records.told.push(entry) } else { records.news.push(entry) }
        }
        for old in journal.entries().iter().filter(|entry| plan.known.knows(entry)) {
            if let Some(batch) = old.what.batch()
                && journal.replaced_by(old.id).is_some_and(|by| !plan.known.knows(by))
            {
                all.entry(batch).or_default().taken_back.push(old);
            }
        }
        all
    }

    /// The entry which reports work, or a loss, that the plan tells.
    pub(super) fn told_by(&self, kind: Kind, tank: &TankId, day: NaiveDate) -> Option<EntryId> {
        let same =
            |entry: &&&Entry| (entry.what.kind(), entry.day) == (kind, day) && entry.what.is_of_tank(tank);
        self.told.iter().find(same).map(|entry| entry.id)
    }

    /// What was recorded of work in a tank, or in one not planned for the batch at all, even if it was taken back since.
    pub(super) fn of_tank(
        &self,
        batch: &Batch,
        kind: Kind,
        tank: &TankId,
    ) -> impl Iterator<Item = &'a Entry> {
        let meant = move |named: &TankId| named == tank || batch.parts.iter().all(|part| part.tank != *named);
        let all = self.news.iter().chain(&self.taken_back).copied();
        all.filter(move |entry| entry.what.kind() == kind && entry.what.tanks().into_iter().any(meant))
    }

    /// Grams weighed at harvests the plan tells.
    pub(super) fn told_grams(&self) -> f64 {
        let grams = |entry: &&Entry| match &entry.what {
            What::Harvested(harvested) => harvested.grams,
            _ => 0.0,
        };
        self.told.iter().map(grams).sum()
    }
}

/// Whether an entry is about plugs.
fn is_of_nursery(entry: &Entry) -> bool {
    matches!(entry.what, What::Sown { .. } | What::CameUp { .. } | What::Lost { place: Place::Nursery, .. })
}
