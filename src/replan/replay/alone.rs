//! Seedlings that nobody looked after, because classes were lost.

use super::batch::BatchReplay;
use super::believed::Believed;
use super::lot::Order;
use super::meant::count;
use crate::domain::calendar::{absences, plus_days};
use crate::domain::journal::{Entry, EntryId, Kind, Place, What};
use crate::domain::plan::Origin;
use crate::domain::site::Site;
use chrono::NaiveDate;

/// From a day on seedlings of a site count as lost, unless somebody says that they lived.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Alone {
    /// The last class day before.
    pub(super) leave: NaiveDate,
    /// The first day on which they were alone for longer than they last.
    pub(super) lost: NaiveDate,
    /// The first of the classes that were lost.
    pub(super) entry: EntryId,
    /// Whether the plan knows of all of them, so that it tells itself what became of its plants.
    known: bool,
}

/// The stretches in which lost classes left the seedlings of a site alone for longer than they last. Where a single class is lost,
/// somebody looks in as the term says; where several are lost in a row, perhaps nobody came at all.
pub(super) fn stretches(site: &Site, believed: &Believed<'_>) -> Vec<Alone> {
    let lasts = site.nursery.unattended_days;
    let lost_in = |leave, back| -> Vec<&Entry> {
        let all = believed.lost_classes();
        all.filter(|entry| entry.concerns(&site.id) && leave < entry.day && entry.day < back).collect()
    };
    // Work that was planned for a lost class does not make it a class day again.
    let is_lost = |day| believed.lost_classes().any(|entry| entry.concerns(&site.id) && entry.day == day);
    let met: Vec<NaiveDate> = site.class_days.iter().copied().filter(|day| !is_lost(*day)).collect();
    let nobody = absences(&met, |_| false);
    let with_visits = absences(&met, |day| site.is_attended(day) && !is_lost(day));
    let mut found = Vec::new();
    for gap in nobody {
        let lost = lost_in(gap.leave, gap.back);
        let gap = if lost.len() > 1 {
            Some(&gap)
        } else {
            with_visits.iter().find(|other| other.leave == gap.leave)
        };
        if let (Some(first), Some(gap)) = (lost.first(), gap.filter(|gap| gap.alone > lasts)) {
            found.push(Alone {
                leave: gap.leave,
                lost: plus_days(gap.from, lasts + 1),
                entry: first.id,
                known: lost.iter().all(|entry| believed.knows(entry)),
            });
        }
    }
    found
}

/// Whether an entry tells what stood in the nursery, or left it, after a day.
fn tells_of_seedlings(entry: &Entry, after: NaiveDate) -> bool {
    let of_seedlings = matches!(entry.what.kind(), Kind::CameUp | Kind::Transplanted)
        || matches!(entry.what, What::Lost { place: Place::Nursery, .. });
    of_seedlings && entry.day > after
}

impl BatchReplay<'_> {
    /// The stretches in which its seedlings may have been lost, of which nobody says what became of them.
    pub(super) fn left_alone(&self, believed: &Believed<'_>) -> Vec<Alone> {
        let Some(site) = self.room.site.filter(|_| self.batch.origin != Origin::InCups) else {
            return Vec::new();
        };
        let said = |alone: &Alone| {
            self.records.in_order.iter().any(|(entry, _)| tells_of_seedlings(entry, alone.leave))
        };
        let mut all = stretches(site, believed);
        all.retain(|alone| alone.lost <= believed.today() && !said(alone));
        all
    }

    /// Whether somebody says that seedlings live which would count as lost on a day for having been alone.
    pub(super) fn lived(&self, lost: NaiveDate, believed: &Believed<'_>) -> bool {
        let here = self.room.site.map(|site| stretches(site, believed)).unwrap_or_default();
        here.iter().filter(|alone| alone.lost == lost).any(|alone| {
            self.records.in_order.iter().any(|(entry, _)| tells_of_seedlings(entry, alone.leave))
        })
    }

    /// Counts the seedlings that wait as lost. Of plugs beyond its plants no plan tells anything.
    pub(super) fn lose_those_alone(&mut self, alone: Alone) {
        if self.sown.is_none_or(|sown| sown.on > alone.leave) {
            return;
        }
        let picked = self.pick(u32::MAX, Order::LastHoles, |lot| lot.waits().then_some(()));
        if count(&picked) > 0 && !alone.known {
            self.change(&picked, |lot| lot.lose(alone.lost, None));
            *self.plugs_lost.entry(alone.entry).or_default() += self.tray.plugs;
            self.take_from_tray(self.tray.plugs);
        }
    }
}
