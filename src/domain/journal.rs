//! The journal: what really happened, in the order in which people wrote it down.
//!
//! Nothing in a journal is ever changed or taken away. Who was wrong records a new entry that *replaces* the old one, or
//! withdraws it; what counts then is told by [`Journal::in_force`]. Whether an entry can be true is not asked here.

mod entry_id;
mod harvested;
mod sample;

use super::ids::{BatchId, SiteId, TankId};
use chrono::{DateTime, NaiveDate, Utc};
use std::collections::BTreeMap;

pub use entry_id::{EntryId, NoEntryId};
pub use harvested::{Harvested, InTank};
pub use sample::{Measured, Measuring, Sample};

/// Something that happened, or was announced, on a day.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Its number, kept for good.
    pub id: EntryId,
    /// When it was written down.
    pub recorded: DateTime<Utc>,
    /// The day it happened, or from which it holds.
    pub day: NaiveDate,
    /// Where. `None` concerns every site: a target always does, a lost or added class day and a note may.
    pub site: Option<SiteId>,
    /// Who says so.
    pub by: Option<String>,
    /// What happened.
    pub what: What,
    /// The entry it takes the place of.
    pub replaces: Option<EntryId>,
}

/// What happened.
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// Plugs were sown.
    Sown {
        /// The batch, as planned.
        batch: BatchId,
        /// Plugs laid, at least 1.
        plugs: u32,
    },
    /// Seedlings were counted.
    CameUp {
        /// Their batch.
        batch: BatchId,
        /// Plugs in which a seedling stands on that day; the others are given up. May be 0.
        plugs: u32,
    },
    /// Seedlings moved from the nursery to a tank.
    Transplanted {
        /// Their batch.
        batch: BatchId,
        /// The tank.
        tank: TankId,
        /// Plants moved, at least 1.
        plants: u32,
    },
    /// Plants died or had to be thrown away.
    Lost {
        /// Their batch.
        batch: BatchId,
        /// Where they stood.
        place: Place,
        /// How many.
        plants: Amount,
        /// Numbers of the holes in which they stood, one a plant, sorted; empty if that is not said. Never of the nursery.
        holes: Vec<u32>,
        /// Why, in a few words.
        cause: String,
    },
    /// Greens were taken.
    Harvested(Harvested),
    /// Plants were measured and stay.
    Measured(Measuring),
    /// What was planned with a batch for the entry's day is done on a later one.
    PutOff {
        /// The batch.
        batch: BatchId,
        /// The later day.
        until: NaiveDate,
    },
    /// A tank cannot be used from the entry's day on. What stood in it counts as lost once
    /// the rest of the term is planned again.
    TankOut {
        /// The tank.
        tank: TankId,
        /// Last day without it; `None` until it is recorded as back.
        until: Option<NaiveDate>,
    },
    /// A tank can be used again from the entry's day on.
    TankBack {
        /// The tank.
        tank: TankId,
    },
    /// There is no class on the entry's day, though one was planned.
    ClassLost,
    /// There is a class on the entry's day, though none was planned.
    ClassAdded,
    /// Another mass is wanted.
    TargetChanged {
        /// On which serving days.
        holds: TargetHolds,
        /// Ready-to-eat grams wanted on each of them; 0 if nothing is.
        grams: f64,
    },
    /// Plants are smaller than they should be on the day, judged by eye.
    Behind {
        /// Their batch.
        batch: BatchId,
        /// As small as they should have been so many days before, 1 to [`MOST_BEHIND`].
        days: u32,
    },
    /// Anything worth remembering.
    Note {
        /// The batch concerned, if it is about one.
        batch: Option<BatchId>,
        /// The words.
        text: String,
    },
    /// The entry named by [`Entry::replaces`] is taken back, and nothing comes in its place.
    Withdrawn,
}

/// Most days that plants can be behind: those that are further back have died or were mistaken for others.
pub const MOST_BEHIND: u32 = 60;

/// Where plants stand.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Place {
    /// In the nursery, as plugs.
    Nursery,
    /// In a tank.
    Tank(TankId),
}

/// A number of plants.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Amount {
    /// As many as stood there.
    All,
    /// So many, at least 1.
    Plants(u32),
}

/// Serving days for which a new target holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TargetHolds {
    /// The entry's day alone.
    ThatDay,
    /// The entry's day and every later one.
    FromThenOn,
}

/// Kind of an entry, for lists and filters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// [`What::Sown`]
    Sown,
    /// [`What::CameUp`]
    CameUp,
    /// [`What::Transplanted`]
    Transplanted,
    /// [`What::Lost`]
    Lost,
    /// [`What::Harvested`]
    Harvested,
    /// [`What::Measured`]
    Measured,
    /// [`What::PutOff`]
    PutOff,
    /// [`What::TankOut`]
    TankOut,
    /// [`What::TankBack`]
    TankBack,
    /// [`What::ClassLost`]
    ClassLost,
    /// [`What::ClassAdded`]
    ClassAdded,
    /// [`What::TargetChanged`]
    TargetChanged,
    /// [`What::Behind`]
    Behind,
    /// [`What::Note`]
    Note,
    /// [`What::Withdrawn`]
    Withdrawn,
}

impl What {
    /// Its kind.
    pub fn kind(&self) -> Kind {
        match self {
            Self::Sown { .. } => Kind::Sown,
            Self::CameUp { .. } => Kind::CameUp,
            Self::Transplanted { .. } => Kind::Transplanted,
            Self::Lost { .. } => Kind::Lost,
            Self::Harvested(_) => Kind::Harvested,
            Self::Measured(_) => Kind::Measured,
            Self::PutOff { .. } => Kind::PutOff,
            Self::TankOut { .. } => Kind::TankOut,
            Self::TankBack { .. } => Kind::TankBack,
            Self::ClassLost => Kind::ClassLost,
            Self::ClassAdded => Kind::ClassAdded,
            Self::TargetChanged { .. } => Kind::TargetChanged,
            Self::Behind { .. } => Kind::Behind,
            Self::Note { .. } => Kind::Note,
            Self::Withdrawn => Kind::Withdrawn,
        }
    }

    /// The batch concerned, if it is about one.
    pub fn batch(&self) -> Option<&BatchId> {
        match self {
            Self::Sown { batch, .. }
            | Self::CameUp { batch, .. }
            | Self::Transplanted { batch, .. }
            | Self::Lost { batch, .. }
            | Self::Behind { batch, .. }
            | Self::PutOff { batch, .. }
            | Self::Measured(Measuring { batch, .. })
            | Self::Harvested(Harvested { batch, .. }) => Some(batch),
            Self::Note { batch, .. } => batch.as_ref(),
            _ => None,
        }
    }

    /// Numbers of the holes named in its tank, sorted; empty if it is about several tanks.
    pub fn holes(&self) -> &[u32] {
        match self {
            Self::Lost { holes, .. } | Self::Measured(Measuring { holes, .. }) => holes,
            Self::Harvested(Harvested { places, .. }) => match &places[..] {
                [only] => &only.holes,
                _ => &[],
            },
            _ => &[],
        }
    }

    /// Plants that were measured one by one.
    pub fn samples(&self) -> &[Sample] {
        match self {
            Self::Harvested(Harvested { samples, .. }) | Self::Measured(Measuring { samples, .. }) => samples,
            _ => &[],
        }
    }

    /// The tanks concerned.
    pub fn tanks(&self) -> Vec<&TankId> {
        match self {
            Self::Transplanted { tank, .. }
            | Self::Measured(Measuring { tank, .. })
            | Self::TankOut { tank, .. }
            | Self::TankBack { tank }
            | Self::Lost { place: Place::Tank(tank), .. } => vec![tank],
            Self::Harvested(harvested) => harvested.places.iter().map(|place| &place.tank).collect(),
            _ => Vec::new(),
        }
    }

    /// The tank concerned, if it is about just one.
    pub fn tank(&self) -> Option<&TankId> {
        match self.tanks()[..] {
            [only] => Some(only),
            _ => None,
        }
    }

    /// Whether it is about this tank, perhaps besides others.
    pub fn is_of_tank(&self, tank: &TankId) -> bool {
        self.tanks().contains(&tank)
    }
}

impl Kind {
    /// Whether nothing is done to plants by it.
    pub fn only_tells(self) -> bool {
        matches!(self, Self::Note | Self::Behind | Self::Measured | Self::PutOff)
    }

    /// Whether such a thing can be known before its day: it is decided or announced, not done.
    pub fn may_lie_ahead(self) -> bool {
        matches!(
            self,
            Self::TankOut
                | Self::TankBack
                | Self::ClassLost
                | Self::ClassAdded
                | Self::PutOff
                | Self::TargetChanged
                | Self::Withdrawn
        )
    }
}

impl Entry {
    /// Whether it is about this site, be it about all of them.
    pub fn concerns(&self, site: &SiteId) -> bool {
        self.site.as_ref().is_none_or(|own| own == site)
    }
}

/// All entries of a term.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Journal {
    entries: Vec<Entry>,
    /// For each entry that was replaced or withdrawn, the newest that did so.
    replaced: BTreeMap<EntryId, EntryId>,
}

impl Journal {
    /// A journal of these entries.
    pub fn new(entries: Vec<Entry>) -> Self {
        let mut journal = Self { entries, replaced: BTreeMap::new() };
        journal.entries.sort_by_key(|entry| entry.id);
        let pairs = journal.entries.iter().filter_map(|entry| Some((entry.replaces?, entry.id)));
        // Entries come by number, so the newest is what remains.
        journal.replaced = pairs.collect();
        journal
    }

    /// Every entry, replaced ones too, by number.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// The entry of that number.
    pub fn entry(&self, id: EntryId) -> Option<&Entry> {
        let at = self.entries.partition_point(|entry| entry.id < id);
        self.entries.get(at).filter(|entry| entry.id == id)
    }

    /// The number for the next entry.
    pub fn next_id(&self) -> EntryId {
        // People may have written the largest number there is.
        let after = |entry: &Entry| entry.id.0.checked_add(1).map(EntryId);
        let free = |id: &EntryId| self.entry(*id).is_none();
        let next = self.entries.iter().rev().filter_map(after).find(free);
        next.unwrap_or(EntryId(1))
    }

    /// Adds an entry.
    pub fn push(&mut self, entry: Entry) {
        if let Some(old) = entry.replaces {
            let newest = self.replaced.entry(old).or_insert(entry.id);
            *newest = entry.id.max(*newest);
        }
        let at = self.entries.partition_point(|known| known.id <= entry.id);
        self.entries.insert(at, entry);
    }

    /// The entry that took the place of `id`, or withdrew it; `None` while `id` is in force.
    pub fn replaced_by(&self, id: EntryId) -> Option<&Entry> {
        self.replaced.get(&id).and_then(|by| self.entry(*by))
    }

    /// What counts: every entry that was neither replaced nor withdrawn, by day. On one day, entries come in the order
    /// of their numbers; a correction stands where the entry stood that was written first.
    ///
    /// Withdrawing a correction takes back what it corrected, too.
    pub fn in_force(&self) -> Vec<&Entry> {
        let mut first: BTreeMap<EntryId, EntryId> = BTreeMap::new();
        for entry in &self.entries {
            let place = entry.replaces.map_or(entry.id, |old| first.get(&old).copied().unwrap_or(entry.id));
            first.insert(entry.id, place);
        }
        let mut counting: Vec<&Entry> = self
            .entries
            .iter()
            .filter(|entry| entry.what != What::Withdrawn && !self.replaced.contains_key(&entry.id))
            .collect();
        counting.sort_by_key(|entry| (entry.day, first.get(&entry.id).copied(), entry.id));
        counting
    }
}

#[cfg(test)]
mod tests;
