//! Which planned work of days gone by counts as done though nobody recorded it.

use super::likeness::stands_for;
use super::records::Records;
use crate::domain::calendar::days_between;
use crate::domain::growth::Way;
use crate::domain::ids::{SiteId, TankId};
use crate::domain::journal::{Amount, Entry, Harvested, Kind, Measuring, Place, What};
use crate::domain::known::KnownEntries;
use crate::domain::plan::{Batch, Harvest, Part, Plan};
use crate::domain::site::Site;
use crate::domain::task_numbers::TaskKind;
use crate::domain::term::Term;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// What the journal as a whole says about unrecorded work.
pub(super) struct Believed<'a> {
    today: NaiveDate,
    /// Entries the plan takes into account, and the day before which it tells what happened.
    known: &'a KnownEntries,
    told_before: Option<NaiveDate>,
    /// First and last day for which work of a kind was recorded at a site.
    kept: BTreeMap<(&'a SiteId, TaskKind), (NaiveDate, NaiveDate)>,
    /// Entries about days on which there was no class.
    lost: Vec<&'a Entry>,
}

impl<'a> Believed<'a> {
    pub(super) fn new(entries: &[&'a Entry], plan: &'a Plan, today: NaiveDate) -> Self {
        let mut kept = BTreeMap::new();
        for entry in entries {
            if let (Some(work), Some(site)) = (work_of(entry.what.kind()), &entry.site) {
                let days = kept.entry((site, work)).or_insert((entry.day, entry.day));
                *days = (entry.day.min(days.0), entry.day.max(days.1));
            }
        }
        let lost = entries.iter().copied().filter(|entry| entry.what.kind() == Kind::ClassLost).collect();
        Self { today, known: &plan.known, told_before: plan.replanned, kept, lost }
    }

    /// The day the replay ends with.
    pub(super) fn today(&self) -> NaiveDate {
        self.today
    }

    /// Whether the plan takes an entry into account.
    pub(super) fn knows(&self, entry: &Entry) -> bool {
        self.known.knows(entry)
    }

    /// Entries about classes that were lost.
    pub(super) fn lost_classes(&self) -> impl Iterator<Item = &'a Entry> + '_ {
        self.lost.iter().copied()
    }

    /// Sites whose class of today was recorded as lost.
    pub(super) fn classes_lost_today(&self, term: &Term) -> Vec<SiteId> {
        let lost = |site: &&Site| self.lost.iter().any(|entry| is_of(entry, &site.id, self.today));
        term.sites.iter().filter(lost).map(|site| site.id.clone()).collect()
    }

    /// Whether the plan was made anew after `day`, so that it tells itself what happened then.
    pub(super) fn is_past_of_plan(&self, day: NaiveDate) -> bool {
        self.told_before.is_some_and(|from| day < from)
    }

    /// Whether what an entry says of work on `day` is in the plan already.
    fn is_told(&self, entry: &Entry, day: NaiveDate) -> bool {
        self.known.knows(entry) && self.is_past_of_plan(day)
    }

    /// Whether work of this kind on `day` is taken as done as far as plan and the site's records go.
    fn by_default(&self, site: &SiteId, work: TaskKind, day: NaiveDate) -> bool {
        let told = self.is_past_of_plan(day);
        let kept = self.kept.get(&(site, work)).is_some_and(|(first, last)| (*first..=*last).contains(&day));
        let lost = self.lost.iter().any(|entry| !self.is_told(entry, day) && is_of(entry, site, day));
        day < self.today && (told || !kept) && !lost
    }

    /// Whether the batch counts as sown as planned.
    pub(super) fn sown(&self, batch: &Batch, records: &Records<'_>) -> bool {
        let entries = &records.news;
        if entries.iter().any(|entry| entry.what.kind() == Kind::Sown) {
            return false;
        }
        let seedlings = |entry: &Entry| matches!(entry.what, What::Lost { place: Place::Nursery, .. });
        // What is to be done today can still be planned, so it is not done before somebody says so.
        let over = |entry: &Entry| batch.sown < self.today || seedlings(entry);
        let about = |entry: &&&Entry| {
            !matches!(entry.what.kind(), Kind::Note | Kind::PutOff) && entry.day >= batch.sown
        };
        entries.iter().filter(about).any(|entry| over(entry))
            || self.by_default(&batch.site, TaskKind::Sow, batch.sown)
    }

    /// Whether a part counts as moved as planned, if no recorded move settles it.
    pub(super) fn moved(&self, batch: &Batch, part: &Part, records: &Records<'_>) -> bool {
        let entries = &records.news;
        if records.told_by(Kind::Transplanted, &part.tank, part.transplant).is_some() {
            return true;
        }
        if move_claimed(batch, &part.tank, part.transplant, records) {
            return false;
        }
        let here = |entry: &&&Entry| entry.what.is_of_tank(&part.tank);
        let recorded = entries.iter().filter(here).any(|entry| entry.what.kind() == Kind::Transplanted);
        let shown = entries.iter().filter(here).any(|entry| {
            matches!(entry.what.kind(), Kind::Harvested | Kind::Lost | Kind::Measured)
                && entry.day >= part.transplant
        });
        // As with sowing, what is to be done today is not done before somebody says so.
        if shown && !recorded && part.transplant < self.today {
            return true;
        }
        // Seedlings of a batch that moves on several days may be those that move last.
        let last = batch.parts.iter().map(|part| part.transplant).max().unwrap_or(part.transplant);
        let still_in_nursery = entries.iter().any(|entry| {
            let of_seedlings =
                matches!(entry.what, What::CameUp { .. } | What::Lost { place: Place::Nursery, .. });
            of_seedlings && entry.day > last && !self.is_told(entry, part.transplant)
        });
        !still_in_nursery && self.by_default(&batch.site, TaskKind::Transplant, part.transplant)
    }

    /// Whether a harvest of a part counts as taken as planned from plants that were not harvested otherwise.
    pub(super) fn harvested(
        &self,
        batch: &Batch,
        part: &Part,
        harvest: &Harvest,
        records: &Records<'_>,
    ) -> bool {
        let day = harvest.date;
        if records.told_by(Kind::Harvested, &part.tank, day).is_some() {
            return true;
        }
        if harvest_claimed(batch, part, harvest, records) {
            return false;
        }
        // Plants that were pulled cannot be lost or measured later; those that were cut can.
        let there_later = harvest.way == Way::WholeHead
            && records.news.iter().any(|entry| entry.day >= day && there(batch, part, entry));
        !there_later && self.by_default(&batch.site, TaskKind::Harvest, day)
    }
}

/// Whether a recorded move is the one planned for `day` into `tank`: of the days planned for moves there, none is nearer
/// to the day recorded. A move to a tank not planned for the batch at all may be meant for any. What was recorded once
/// and taken back since says that the work was not done as the plan tells.
fn move_claimed(batch: &Batch, tank: &TankId, day: NaiveDate, records: &Records<'_>) -> bool {
    let planned: Vec<NaiveDate> =
        batch.parts.iter().filter(|part| part.tank == *tank).map(|part| part.transplant).collect();
    records.of_tank(batch, Kind::Transplanted, tank).any(|entry| nearest(&planned, entry.day) == Some(day))
}

/// Whether a recorded harvest is this one: as with moves, but a pull and a cut must not be far from each other.
fn harvest_claimed(batch: &Batch, part: &Part, harvest: &Harvest, records: &Records<'_>) -> bool {
    let here = batch.parts.iter().filter(|other| other.tank == part.tank);
    let planned: Vec<NaiveDate> =
        here.flat_map(|other| other.harvests.iter().map(|harvest| harvest.date)).collect();
    records.of_tank(batch, Kind::Harvested, &part.tank).any(|entry| {
        let same = |what: &What| match what {
            What::Harvested(Harvested { way, .. }) => stands_for(harvest, entry.day, *way),
            _ => false,
        };
        nearest(&planned, entry.day) == Some(harvest.date) && same(&entry.what)
    })
}

fn nearest(planned: &[NaiveDate], day: NaiveDate) -> Option<NaiveDate> {
    planned.iter().copied().min_by_key(|planned| (days_between(*planned, day).abs(), *planned))
}

/// Whether plants of a part must be among those that an entry says were lost in its tank, or measured there after its day, as no
/// others of the batch still stood there.
fn there(batch: &Batch, part: &Part, entry: &Entry) -> bool {
    let (tank, named) = match &entry.what {
        What::Lost { place: Place::Tank(tank), plants: Amount::All, .. } => (tank, 1),
        What::Lost { place: Place::Tank(tank), plants: Amount::Plants(lost), .. } => (tank, *lost),
        What::Measured(Measuring { tank, samples, .. }) => (tank, samples.len() as u32),
        _ => return false,
    };
    let stands = |other: &&Part| {
        other.tank == *tank
            && other.transplant <= entry.day
            && other.leaves().is_none_or(|day| day > entry.day)
    };
    let others: u32 = batch.parts.iter().filter(stands).map(|other| other.plants).sum();
    *tank == part.tank && named > others
}

/// Whether an entry is about this site and day.
fn is_of(entry: &Entry, site: &SiteId, day: NaiveDate) -> bool {
    entry.day == day && entry.concerns(site)
}

/// The kind of planned work an entry reports.
fn work_of(kind: Kind) -> Option<TaskKind> {
    match kind {
        Kind::Sown => Some(TaskKind::Sow),
        Kind::Transplanted => Some(TaskKind::Transplant),
        Kind::Harvested => Some(TaskKind::Harvest),
        _ => None,
    }
}
