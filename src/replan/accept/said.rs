//! What the journal says that counts, so that many entries can be held against it without reading all of it each time.

use crate::domain::journal::{Entry, Journal, Kind};
use chrono::NaiveDate;
use std::collections::{BTreeMap, HashMap};

/// Entries in force by day, in the order of [`Journal::in_force`].
#[derive(Debug, Default)]
pub(super) struct Said<'a> {
    days: BTreeMap<NaiveDate, Vec<&'a Entry>>,
    of_tanks: BTreeMap<NaiveDate, Vec<&'a Entry>>,
    /// By what they say: a spreadsheet may have thousands of lines about one day.
    alike: HashMap<String, Vec<&'a Entry>>,
}

impl<'a> Said<'a> {
    /// What a journal says.
    pub(super) fn by(journal: &'a Journal) -> Self {
        let mut said = Self::default();
        for entry in journal.in_force() {
            said.add(entry);
        }
        said
    }

    /// Adds an entry that is newer than all others and replaces none.
    pub(super) fn add(&mut self, entry: &'a Entry) {
        self.days.entry(entry.day).or_default().push(entry);
        self.alike.entry(key(entry)).or_default().push(entry);
        if matches!(entry.what.kind(), Kind::TankOut | Kind::TankBack) {
            self.of_tanks.entry(entry.day).or_default().push(entry);
        }
    }

    /// Entries about a day.
    pub(super) fn on(&self, day: NaiveDate) -> &[&'a Entry] {
        self.days.get(&day).map_or(&[], Vec::as_slice)
    }

    /// Entries that say the same of the same day and site.
    pub(super) fn alike(&self, entry: &Entry) -> &[&'a Entry] {
        self.alike.get(&key(entry)).map_or(&[], Vec::as_slice)
    }

    /// Entries about tanks going out of use and coming back.
    pub(super) fn of_tanks(&self) -> impl Iterator<Item = &'a Entry> + '_ {
        self.of_tanks.values().flatten().copied()
    }
}

/// What an entry says, where and of which day, as a text that tells it from all others.
fn key(entry: &Entry) -> String {
    format!("{:?}", (entry.day, &entry.site, &entry.what))
}
