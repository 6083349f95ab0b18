//! What a journal says of one batch, sorted by what the plan knows of it.

use crate::domain::ids::{BatchId, TankId};
use crate::domain::journal::{Entry, EntryId, Journal, Kind, What};
use crate::domain::plan::Plan;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Entries about one batch.
#[derive(Debug, Default)]
pub(super) struct Records<'a> {
    /// What happens in a replay: everything the plan does not tell itself.
    pub(super) news: Vec<&'a Entry>,
    /// Moves and harvests that the plan tells itself.
    told: Vec<&'a Entry>,
    /// Moves and harvests the plan tells, but which were corrected or withdrawn since.
    pub(super) taken_back: Vec<&'a Entry>,
}

impl<'a> Records<'a> {
    /// Sorts `past`, entries in force, for each batch. A plan made anew tells moves, harvests and losses recorded until
    /// then itself; sowings and counts of seedlings are replayed for what they say of plugs.
    pub(super) fn by_batch(
        journal: &'a Journal,
        past: &[&'a Entry],
        plan: &Plan,
    ) -> BTreeMap<&'a BatchId, Records<'a>> {
        let mut all: BTreeMap<&BatchId, Records<'_>> = BTreeMap::new();
        let is_work = |entry: &Entry| matches!(entry.what.kind(), Kind::Transplanted | Kind::Harvested);
        for &entry in past {
            let Some(batch) = entry.what.batch() else { continue };
            let records = all.entry(batch).or_default();
            if !plan.known.knows(entry) || matches!(entry.what.kind(), Kind::Sown | Kind::CameUp) {
                records.news.push(entry);
            } else if is_work(entry) {
                records.told.push(entry);
            }
        }
        for old in journal.entries().iter().filter(|entry| plan.known.knows(entry) && is_work(entry)) {
            if let Some(batch) = old.what.batch()
                && journal.replaced_by(old.id).is_some_and(|by| !plan.known.knows(by))
            {
                all.entry(batch).or_default().taken_back.push(old);
            }
        }
        all
    }

    /// The entry which reports work that the plan tells.
    pub(super) fn told_by(&self, kind: Kind, tank: &TankId, day: NaiveDate) -> Option<EntryId> {
        let same =
            |entry: &&&Entry| (entry.what.kind(), entry.what.tank(), entry.day) == (kind, Some(tank), day);
        self.told.iter().find(same).map(|entry| entry.id)
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
