//! An entry to be, before it has a number.

use super::open::as_it_is;
use super::{Clerk, Trouble};
use crate::domain::ids::{BatchId, SiteId, TankId};
use crate::domain::journal::{Entry, EntryId, What};
use crate::replan::next_work;
use chrono::{DateTime, NaiveDate, Utc};

/// An entry without number and time of recording.
#[derive(Debug, Clone)]
pub struct Draft {
    /// The day it happened, or from which it holds.
    pub day: NaiveDate,
    /// Where; `None` concerns every site.
    pub site: Option<SiteId>,
    /// Who says so.
    pub by: Option<String>,
    /// What happened.
    pub what: What,
    /// The entry it takes the place of.
    pub replaces: Option<EntryId>,
}

impl Draft {
    fn entry(&self, id: EntryId, recorded: DateTime<Utc>) -> Entry {
        Entry {
            id,
            recorded,
            day: self.day,
            site: self.site.clone(),
            by: self.by.clone(),
            what: self.what.clone(),
            replaces: self.replaces,
        }
    }
}

impl Clerk<'_> {
    /// Entries to be as entries, with the next numbers.
    pub(super) fn numbered<'d>(&self, drafts: impl IntoIterator<Item = &'d Draft>) -> Vec<Entry> {
        let first = self.plan.known.next_id(self.journal).0;
        // People may have written the largest numbers there are.
        let ids = (0..).map(|place| EntryId(first.saturating_add(place)));
        drafts.into_iter().zip(ids).map(|(draft, id)| draft.entry(id, self.now)).collect()
    }

    /// The site of a batch, unless one is named; unknown batches are refused later, with what is known.
    #[must_use]
    pub fn site_of_batch(&self, batch: &BatchId, named: Option<&str>) -> Option<SiteId> {
        let planned = || self.plan.batches.iter().find(|planned| planned.id == *batch);
        named.map(|typed| self.site_named(typed)).or_else(|| planned().map(|batch| batch.site.clone()))
    }

    /// The only site with a tank of that name, or the only site at all, unless one is named.
    #[must_use]
    pub fn site_of_tank(&self, tank: &TankId, named: Option<&str>) -> Option<SiteId> {
        let with_tank = self.term.sites.iter().filter(|site| site.tank(tank).is_some());
        let ids: Vec<&SiteId> = with_tank.map(|site| &site.id).collect();
        match (named, &ids[..]) {
            (Some(named), _) => Some(self.site_named(named)),
            (None, [one]) => Some((*one).clone()),
            (None, _) => self.only_site(),
        }
    }

    /// A tank and its site, by the names that people use.
    #[must_use]
    pub fn tank_and_site(&self, tank: &str, site: Option<&str>) -> (TankId, Option<SiteId>) {
        let named = site.map(|typed| self.site_named(typed));
        let tank = self.tank_named(tank, named.as_ref());
        let site = self.site_of_tank(&tank, site);
        (tank, site)
    }

    /// The next day on which something is to be done with a batch.
    ///
    /// # Errors
    /// If there is no such batch, or nothing more to do with it.
    pub fn next_work(&self, batch: &BatchId) -> Result<NaiveDate, Trouble> {
        if self.plan.batches.iter().all(|planned| planned.id != *batch) {
            return Err(self.unknown_batch(batch));
        }
        let term = as_it_is(self.term, self.journal, None, &[]);
        next_work(&term, self.plan, self.journal, batch, self.today).ok_or_else(|| {
            Trouble::told(
                format!("nothing more is to be done with {batch}"),
                "see how things stand with: sowtide status",
            )
        })
    }

    /// The site, if the term has just one.
    #[must_use]
    pub fn only_site(&self) -> Option<SiteId> {
        match &self.term.sites[..] {
            [one] => Some(one.id.clone()),
            _ => None,
        }
    }

    /// The only tank planned for a batch, unless one is named.
    #[must_use]
    pub fn tank_of_batch(&self, batch: &BatchId, named: Option<&str>) -> Option<TankId> {
        if let Some(named) = named {
            return Some(self.tank_named(named, self.site_of_batch(batch, None).as_ref()));
        }
        let batch = self.plan.batches.iter().find(|planned| planned.id == *batch)?;
        let first = batch.parts.first()?;
        batch.parts.iter().all(|part| part.tank == first.tank).then(|| first.tank.clone())
    }
}
