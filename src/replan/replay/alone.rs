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
}

/// The stretches in which lost classes left the seedlings of a site alone for longer than they last. Where a single class is lost,
/// somebody looks in as the term says; where several are lost in a row, perhaps nobody came at all.
pub(super) fn stretches(site: &Site, believed: &Believed<'_>) -> Vec<Alone> {
    let lasts = site.nursery.unattended_days;
    let lost_in = |leave, back| -> Vec<&Entry> {
        let all = believed.lost_classes();
        all.filter(|entry| entry.concerns(&site.id) && leave < entry.day && entry.day < back).collect()
    };
    let nobody = absences(&site.class_days, |_| false);
    let with_visits = site.absences();
    let mut found = Vec::new();
    for gap in nobody {
        let lost = lost_in(gap.leave, gap.back);
        let gap = if lost.len() > 1 {
            Some(&gap)
        } else {
            with_visits.iter().find(|other| other.leave == gap.leave)
        };
        if let (Some(first), Some(gap)) = (lost.first(), gap.filter(|gap| gap.alone > lasts)) {
            found.push(Alone { leave: gap.leave, lost: plus_days(gap.from, lasts + 1), entry: first.id });
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

    /// Counts the seedlings that wait as lost.
    pub(super) fn lose_those_alone(&mut self, alone: Alone) {
        if self.sown.is_none_or(|sown| sown.on > alone.leave) {
            return;
        }
        let picked = self.pick(u32::MAX, Order::LastHoles, |lot| lot.waits().then_some(()));
        if count(&picked) > 0 {
            self.change(&picked, |lot| lot.lose(alone.lost, None));
            *self.plugs_lost.entry(alone.entry).or_default() += self.tray.plugs;
            self.take_from_tray(self.tray.plugs);
        }
    }
}
