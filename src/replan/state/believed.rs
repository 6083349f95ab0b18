//! Which planned work of days gone by counts as done though nobody recorded it.

use crate::domain::ids::SiteId;
use crate::domain::journal::{Entry, Kind, Place, What};
use crate::domain::plan::{Batch, Part};
use crate::domain::state::Work;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// What the journal as a whole says about unrecorded work.
pub(super) struct Believed<'a> {
    today: NaiveDate,
    /// Last day for which work of a kind was recorded at a site.
    kept_until: BTreeMap<(&'a SiteId, Work), NaiveDate>,
    /// Days on which there was no class; `None` stands for every site.
    lost: Vec<(Option<&'a SiteId>, NaiveDate)>,
}

impl<'a> Believed<'a> {
    pub(super) fn new(entries: &[&'a Entry], today: NaiveDate) -> Self {
        let mut kept_until = BTreeMap::new();
        for entry in entries {
            if let (Some(work), Some(site)) = (work_of(entry.what.kind()), &entry.site) {
                let last = kept_until.entry((site, work)).or_insert(entry.day);
                *last = entry.day.max(*last);
            }
        }
        let lost = entries.iter().filter(|entry| entry.what.kind() == Kind::ClassLost);
        Self { today, kept_until, lost: lost.map(|entry| (entry.site.as_ref(), entry.day)).collect() }
    }

    /// Whether work of this kind on `day` is taken as done as far as the site's records go.
    fn by_default(&self, site: &SiteId, work: Work, day: NaiveDate) -> bool {
        let kept = self.kept_until.get(&(site, work)).is_some_and(|last| day <= *last);
        let lost = self.lost.iter().any(|(at, on)| *on == day && at.is_none_or(|at| at == site));
        day < self.today && !kept && !lost
    }

    /// Whether the batch counts as sown as planned. `entries` are those of the batch.
    pub(super) fn sown(&self, batch: &Batch, entries: &[&Entry]) -> bool {
        if entries.iter().any(|entry| entry.what.kind() == Kind::Sown) {
            return false;
        }
        let shown = entries.iter().any(|entry| entry.what.kind() != Kind::Note && entry.day >= batch.sown);
        shown || self.by_default(&batch.site, Work::Sow, batch.sown)
    }

    /// Whether a part counts as moved as planned, if no recorded move settles it.
    pub(super) fn moved(&self, batch: &Batch, part: &Part, entries: &[&Entry]) -> bool {
        let here = |entry: &&&Entry| entry.what.tank() == Some(&part.tank);
        let recorded = entries.iter().filter(here).any(|entry| entry.what.kind() == Kind::Transplanted);
        let shown = entries.iter().filter(here).any(|entry| {
            matches!(entry.what.kind(), Kind::Harvested | Kind::Lost) && entry.day >= part.transplant
        });
        if shown && !recorded {
            return true;
        }
        let still_in_nursery = entries.iter().any(|entry| {
            let of_seedlings =
                matches!(entry.what, What::CameUp { .. } | What::Lost { place: Place::Nursery, .. });
            of_seedlings && entry.day > part.transplant
        });
        !still_in_nursery && self.by_default(&batch.site, Work::Transplant, part.transplant)
    }

    /// Whether a harvest of a part counts as taken as planned from plants that were not harvested otherwise.
    pub(super) fn harvested(&self, batch: &Batch, part: &Part, day: NaiveDate, entries: &[&Entry]) -> bool {
        let lost_later = entries.iter().any(|entry| {
            matches!(&entry.what, What::Lost { place: Place::Tank(tank), .. } if *tank == part.tank)
                && entry.day >= day
        });
        !lost_later && self.by_default(&batch.site, Work::Harvest, day)
    }
}

/// The kind of planned work an entry reports.
fn work_of(kind: Kind) -> Option<Work> {
    match kind {
        Kind::Sown => Some(Work::Sow),
        Kind::Transplanted => Some(Work::Transplant),
        Kind::Harvested => Some(Work::Harvest),
        _ => None,
    }
}
