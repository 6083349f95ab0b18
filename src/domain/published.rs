//! What calendars have told people so far, so that the next export changes it in place.
//!
//! A calendar program tells events apart by their UID and takes the version with the highest SEQUENCE
//! (RFC 5545, 3.8.7.4). So both are remembered for every event that ever was published, and nothing here
//! forgets: an event that comes back after years must not begin to count from nil.

use super::calendar::DateSpan;
use super::ids::SiteId;
use super::task_numbers::TaskKind;
use chrono::{DateTime, NaiveDate, Utc};
use std::collections::{BTreeMap, BTreeSet};

/// What an event is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum EventKind {
    /// A task of a plan.
    Task(TaskKind),
    /// Days without work and without serving.
    Break,
    /// Days without classes.
    Closure,
    /// A serving day.
    Serving,
}

/// What an event says. Texts hold no control characters but line ends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Identifies the event in every calendar, whatever becomes of its day or size.
    pub uid: String,
    /// What it is about.
    pub kind: EventKind,
    /// Sites whose calendars hold it, sorted; at least one.
    pub sites: Vec<SiteId>,
    /// Its days.
    pub days: DateSpan,
    /// One line for a calendar's overview.
    pub title: String,
    /// Where; empty if everywhere.
    pub place: String,
    /// Stands for all the event says: it differs if anything differs.
    pub fingerprint: u64,
}

/// An event as calendars have it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PublishedEvent {
    /// What it says.
    pub entry: Entry,
    /// How often it was changed since it was first published.
    pub sequence: u32,
    /// When it was published or last changed.
    pub changed: DateTime<Utc>,
    /// Whether it is called off.
    pub cancelled: bool,
}

/// Every event that ever was published, by its UID.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Published {
    /// The events; each under the UID of its entry.
    pub events: BTreeMap<String, PublishedEvent>,
}

/// What an export changes.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Tally {
    /// Events not published before.
    pub new: u32,
    /// Events that say something else than before.
    pub changed: u32,
    /// Events that were called off and are planned again.
    pub again: u32,
    /// Events called off.
    pub cancelled: u32,
    /// Events that stay as they are.
    pub kept: u32,
}

impl PublishedEvent {
    /// Whether it is called off and its last day is not past, so that calendars must still hold it.
    pub fn is_called_off_on(&self, today: NaiveDate) -> bool {
        self.cancelled && self.entry.days.last >= today
    }
}

impl Published {
    /// What two lists of the same term's events tell together: of each event the version that was published last.
    #[must_use]
    pub fn joined(mut self, other: Self) -> Self {
        for (uid, event) in other.events {
            let older =
                |known: &PublishedEvent| (known.sequence, known.changed) < (event.sequence, event.changed);
            if self.events.get(&uid).is_none_or(older) {
                self.events.insert(uid, event);
            }
        }
        self
    }

    /// What is published once calendars hold `entries`, and what that changes.
    ///
    /// An entry that says something new rises in sequence; one that is missing and not past is called off
    /// once. `first_sequence` is what new events begin with. `today` and `now` are the reader's.
    pub fn after(
        &self,
        entries: Vec<Entry>,
        first_sequence: u32,
        today: NaiveDate,
        now: DateTime<Utc>,
    ) -> (Self, Tally) {
        let mut next = self.clone();
        let mut tally = Tally::default();
        let wanted: BTreeSet<String> = entries.iter().map(|entry| entry.uid.clone()).collect();
        for entry in entries {
            let event = match self.events.get(&entry.uid) {
                None => {
                    tally.new += 1;
                    PublishedEvent { entry, sequence: first_sequence, changed: now, cancelled: false }
                }
                Some(old) if old.entry.fingerprint == entry.fingerprint && !old.cancelled => {
                    tally.kept += 1;
                    PublishedEvent { entry, ..old.clone() }
                }
                Some(old) => {
                    *(if old.cancelled { &mut tally.again } else { &mut tally.changed }) += 1;
                    PublishedEvent { entry, cancelled: false, ..old.revised(now) }
                }
            };
            next.events.insert(event.entry.uid.clone(), event);
        }
        let dropped = |event: &&mut PublishedEvent| {
            !wanted.contains(&event.entry.uid) && !event.cancelled && event.entry.days.last >= today
        };
        for event in next.events.values_mut().filter(dropped) {
            tally.cancelled += 1;
            *event = PublishedEvent { cancelled: true, ..event.revised(now) };
        }
        (next, tally)
    }
}

impl PublishedEvent {
    /// The next version. A clock that was set back does not make it older than the last one.
    fn revised(&self, now: DateTime<Utc>) -> Self {
        Self { sequence: self.sequence.saturating_add(1), changed: now.max(self.changed), ..self.clone() }
    }
}
