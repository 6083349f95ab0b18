//! Writing down what really happened.

use super::left_alone::left_alone;
use super::open::as_it_is;
use super::out_of_line::out_of_line;
use super::put_off::{in_the_way, served_otherwise};
use super::{Desk, Draft, Import, Trouble};
use crate::domain::calendar::DateSpan;
use crate::domain::ids::{BatchId, SiteId};
use crate::domain::journal::{Entry, Journal, Kind, Place, What};
use crate::domain::plan::Plan;
use crate::domain::state::BatchState;
use crate::domain::term::Term;
use crate::files::journal_file;
use crate::files::problem::{TextFile, suggest};
use crate::replan::accept::{Known, accept, accept_all};
use crate::replan::refusal::{Named, Refusal};
use crate::replan::state::state;
use crate::replan::weighed::{outlook, tells_news};
use crate::replan::{carried, first_open_day, is_overtaken};
use crate::report::Look;
use crate::report::words::counted;
use chrono::{DateTime, NaiveDate, Utc};
use std::collections::BTreeSet;

/// What is at hand when something is written down. Nobody else can record or plan while a clerk is at work.
#[derive(Debug)]
pub struct Clerk<'a> {
    /// The term as its file has it.
    pub term: &'a Term,
    /// Its plan.
    pub plan: &'a Plan,
    /// What was recorded so far.
    pub journal: &'a Journal,
    /// Today.
    pub today: NaiveDate,
    pub(super) now: DateTime<Utc>,
}

/// What was written down.
#[derive(Debug, Clone)]
pub struct Recorded {
    /// The new entries.
    pub entries: Vec<Entry>,
    /// The journal with them.
    pub journal: Journal,
    /// The term as it really is now.
    pub term: Term,
    /// The plan.
    pub plan: Plan,
    /// Whether something went wrong that the plan has no answer to, so that planning again may help.
    pub upset: bool,
}

impl Desk<'_> {
    /// Adds one entry, or several that replace nothing: all of them or none. `drafts` is called with what is known then, and
    /// nobody can change that until they are written.
    ///
    /// # Errors
    /// What `drafts` says, that an entry cannot be true, or that they cannot be written. The journal is then as it was.
    pub fn record(
        &self,
        drafts: impl FnOnce(&Clerk<'_>) -> Result<Vec<Draft>, Trouble>,
    ) -> Result<Recorded, Trouble> {
        self.write_down(|clerk| {
            let entries = clerk.numbered(&drafts(clerk)?);
            clerk.accept(&entries)?;
            Ok(entries)
        })
    }

    /// Takes over a spreadsheet, all of its lines or none.
    ///
    /// # Errors
    /// Every line that cannot be taken over, or that they cannot be written. The journal is then as it was.
    pub fn import(&self, file: &TextFile, import: &Import) -> Result<Recorded, Trouble> {
        let mut remarks = Vec::new();
        let recorded = self.write_down(|clerk| import.entries(clerk, file, &mut remarks));
        // How a file was understood helps to mend it, too.
        for remark in &remarks {
            self.face.warn(remark);
        }
        recorded
    }

    fn write_down(
        &self,
        choose: impl FnOnce(&Clerk<'_>) -> Result<Vec<Entry>, Trouble>,
    ) -> Result<Recorded, Trouble> {
        let held = self.lock()?;
        let (opened, plan) = self.open_planned()?;
        let clerk = Clerk {
            term: &opened.as_written,
            plan: &plan,
            journal: &opened.journal.journal,
            today: self.moment.today,
            now: self.moment.now,
        };
        let entries = choose(&clerk)?;
        journal_file::add(self.store, &held, &opened.journal, &entries)?;
        drop(held);
        let before = opened.journal.journal;
        let mut journal = before.clone();
        for entry in &entries {
            journal.push(entry.clone());
        }
        let term = as_it_is(&opened.as_written, &journal, plan.sure, &plan.mass_factors);
        let nursery = entries.iter().filter(|entry| of_nursery(&entry.what));
        let told_of: Vec<&BatchId> = nursery.filter_map(|entry| entry.what.batch()).collect();
        if !told_of.is_empty() {
            for told in unmoved((&term, &plan), &told_of, [&before, &journal], self.moment.today) {
                self.face.warn(&told);
            }
        }
        let today = self.moment.today;
        for told in left_alone([&opened.as_written, &term], &plan, &entries) {
            self.face.warn(&told);
        }
        let open = first_open_day(&journal, today);
        let weighed = || tells_news(&plan, &outlook(&term, &plan, &journal, open), open);
        let counts_only = !about(&entries, &journal, |kind| kind != Kind::CameUp);
        let upset = if counts_only {
            // Spare plugs are sown to be missed: most counts change nothing. Seedlings that had counted as lost may come back.
            let living = [&before, &journal].map(|journal| living(&carried(&term, &plan, journal, today)));
            living[1] != living[0] && is_overtaken(&term, &plan, &journal, today)
        } else if about(&entries, &journal, upsets) {
            is_overtaken(&term, &plan, &journal, today)
        } else {
            about(&entries, &journal, |kind| matches!(kind, Kind::Harvested | Kind::Behind | Kind::Measured))
                && weighed()
        };
        Ok(Recorded { entries, journal, term, plan, upset })
    }
}

impl Recorded {
    /// What to look at again: entries that are out of line with the plan or with what was to be expected, work that stands in the way
    /// of what was put off, and serving days that get something else because work is done on another day.
    #[must_use]
    pub fn remarks(&self, today: NaiveDate, look: &Look) -> Vec<String> {
        let is_new = |entry: &Entry| self.entries.iter().any(|new| new.id == entry.id);
        let before = self.journal.entries().iter().filter(|entry| !is_new(entry)).cloned().collect();
        let (known, journals) = ((&self.term, &self.plan), [&Journal::new(before), &self.journal]);
        let mut told = out_of_line(known, journals, &self.entries, today, look);
        told.extend(in_the_way(&self.plan, &self.entries));
        told.extend(served_otherwise(known, journals, &self.entries, today, look));
        told
    }
}

/// Plants that a plan counts on.
fn living(plan: &Plan) -> u32 {
    let parts = plan.batches.iter().flat_map(|batch| &batch.parts);
    parts.filter(|part| part.lost.is_none()).map(|part| part.plants).sum()
}

/// Whether it is about seedlings in the nursery.
fn of_nursery(what: &What) -> bool {
    matches!(what, What::CameUp { .. } | What::Lost { place: Place::Nursery, .. })
}

/// What to tell of batches of which fewer plants count as moved than before: who counts seedlings, or loses them in the nursery,
/// after the day of their move says that they were not moved then.
fn unmoved(
    (term, plan): (&Term, &Plan),
    told_of: &[&BatchId],
    journals: [&Journal; 2],
    today: NaiveDate,
) -> Vec<String> {
    let [before, after] = journals.map(|journal| state(term, plan, journal, today).batches);
    let waits = |after: &BatchState| after.tray.seedlings() > 0;
    let fewer =
        before.iter().zip(&after).filter(|(before, after)| after.moved < before.moved && waits(after));
    let told = fewer.filter(|(before, _)| told_of.contains(&&before.batch)).map(|(before, after)| {
        format!(
            "By the plan, {} of {} moved to a tank by then, but what was recorded says that seedlings still stand in the nursery. If they \
             were moved, correct the entry (--replaces) with the day on which it was so (--day).",
            counted(before.moved - after.moved, "plant"),
            before.batch
        )
    });
    told.collect()
}

impl Clerk<'_> {
    /// Whether entries can be added to what was recorded so far.
    ///
    /// # Errors
    /// Why one of them cannot be true.
    fn accept(&self, entries: &[Entry]) -> Result<(), Trouble> {
        let known = self.known();
        match entries {
            [entry] => accept(&known, entry).map_err(|refusal| refused(&refusal)),
            all => accept_all(&known, all).map_err(|refusals| match refusals.first() {
                Some((_, refusal)) => refused(refusal),
                None => Trouble::told("not recorded", "try one at a time"),
            }),
        }
    }

    /// Days on which a class meets at the site, or at any site if none is named, as far as is known.
    #[must_use]
    pub fn class_days(&self, site: Option<&SiteId>, days: DateSpan) -> Vec<NaiveDate> {
        let term = as_it_is(self.term, self.journal, None, &[]);
        let sites = term.sites.iter().filter(|other| site.is_none_or(|site| other.id == *site));
        let all: BTreeSet<NaiveDate> = sites.flat_map(|site| site.class_days.iter().copied()).collect();
        all.into_iter().filter(|day| days.contains(*day)).collect()
    }

    /// Batches that grow on a day, of a crop and at a site if they are named.
    ///
    /// # Errors
    /// If there is no such site or crop.
    pub fn growing(
        &self,
        site: Option<&str>,
        crop: Option<&str>,
        day: NaiveDate,
    ) -> Result<Vec<BatchId>, Trouble> {
        let (site, crop) =
            (site.map(|typed| self.site_named(typed)), crop.map(|typed| self.crop_named(typed)).transpose()?);
        if let Some(site) = site.as_ref().filter(|site| self.term.site(site).is_none()) {
            let known = self.term.sites.iter().map(|site| site.id.to_string()).collect();
            return Err(refused(&Refusal::Unknown { what: Named::Site, name: site.to_string(), known }));
        }
        let here = |batch: &BatchState| {
            site.as_ref().is_none_or(|site| batch.site == *site)
                && crop.as_ref().is_none_or(|crop| batch.crop == *crop)
        };
        let batches = state(self.term, self.plan, self.journal, day).batches.into_iter();
        Ok(batches.filter(|batch| batch.lives() && here(batch)).map(|batch| batch.batch).collect())
    }

    /// What entries are held against.
    pub(super) fn known(&self) -> Known<'_> {
        Known { term: self.term, plan: self.plan, journal: self.journal, today: self.today }
    }

    /// That the plan has no such batch, with the nearest names.
    #[must_use]
    pub fn unknown_batch(&self, batch: &BatchId) -> Trouble {
        let known = self.plan.batches.iter().map(|batch| batch.id.to_string()).collect();
        refused(&Refusal::Unknown { what: Named::Batch, name: batch.to_string(), known })
    }
}

/// Whether entries, or those they take the place of, are of some kind: taking a loss back upsets a plan just as well.
fn about(entries: &[Entry], journal: &Journal, wanted: impl Fn(Kind) -> bool) -> bool {
    entries.iter().any(|entry| {
        let old = entry.replaces.and_then(|old| journal.entry(old));
        [Some(entry), old].into_iter().flatten().any(|entry| wanted(entry.what.kind()))
    })
}

/// Whether something went wrong in a way plans seldom expect. Work done a little otherwise is not worth a word each time.
fn upsets(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::CameUp
            | Kind::Lost
            | Kind::TankOut
            | Kind::TankBack
            | Kind::ClassLost
            | Kind::ClassAdded
            | Kind::PutOff
            | Kind::TargetChanged
    )
}

/// How to mend what was refused, with a nearer name where there is one.
pub(super) fn mend(refusal: &Refusal) -> String {
    match refusal.unknown_name() {
        Some((name, known)) => suggest(name, known.iter().map(String::as_str)),
        None => refusal.help(),
    }
}

fn refused(refusal: &Refusal) -> Trouble {
    Trouble::told(format!("not recorded: {refusal}"), mend(refusal))
}
