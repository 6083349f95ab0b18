//! Opening a term: reading what belongs together, and saying at once what does not fit.

use super::{Desk, Trouble};
use crate::check;
use crate::domain::journal::{Entry, EntryId, Journal};
use crate::domain::known::KnownEntries;
use crate::domain::plan::{Batch, MassFactor, Plan};
use crate::domain::term::Term;
use crate::files::history::{self, NEWEST};
use crate::files::journal_file::{self, COPY, Written};
use crate::files::plan_file;
use crate::files::problem::Problems;
use crate::files::term_file::{self, ReadTerm};
use crate::replan;
use crate::replan::accept::{Known, untrue};
use crate::replan::refusal::Refusal;
use crate::report::words::{and, counted};
use chrono::NaiveDate;
use std::collections::BTreeSet;

/// A term with its journal and plan, as the files have them.
#[derive(Debug, Clone)]
pub struct Opened {
    /// The term as it really is: its file, with what the journal says of class days, tanks and targets laid over it.
    pub read: ReadTerm,
    /// The term as its file has it.
    pub as_written: Term,
    /// What was recorded.
    pub journal: Written,
    /// The plan, if there is one. Numbers that a newer plan has given stay used, even if this is an older copy.
    pub plan: Option<Plan>,
    /// The plan just as its file has it.
    pub(super) on_file: Option<Plan>,
    /// Everything that was ever recorded, if that is more than the journal has.
    ever: Option<Journal>,
}

/// The term as it really is: with what the journal says of it, what was promised instead of what its file says, and what a
/// plan counts with because of weighed harvests.
pub(super) fn as_it_is(
    as_written: &Term,
    journal: &Journal,
    sure: Option<f64>,
    factors: &[MassFactor],
) -> Term {
    let mut term = replan::laid_over(as_written, journal);
    term.count_with(factors);
    if let Some(sure) = sure {
        term.promise(sure);
    }
    term
}

impl Desk<'_> {
    /// Reads term, journal and plan, and warns of what is lost or contradicts itself.
    ///
    /// # Errors
    /// If one of them cannot be read.
    pub fn open(&self) -> Result<Opened, Trouble> {
        // First the term: without one, nothing else is worth a word.
        let read = term_file::read(self.store)?;
        let plan = plan_file::read(self.store, NEWEST).map_err(|problems| self.unreadable(problems))?;
        let opened = self.open_with(read, plan)?;
        self.warn(&opened)?;
        Ok(opened)
    }

    /// Reads the journal beside a term and plan that were read already.
    pub(super) fn open_with(&self, mut read: ReadTerm, on_file: Option<Plan>) -> Result<Opened, Trouble> {
        let journal = journal_file::read(self.store)?;
        let as_written = read.term.clone();
        let sure = on_file.as_ref().and_then(|plan| plan.sure);
        let factors = on_file.as_ref().map_or(&[][..], |plan| &plan.mass_factors);
        read.term = as_it_is(&as_written, &journal.journal, sure, factors);
        let mut plan = on_file.clone();
        if let (Some(plan), Some(last)) = (&mut plan, history::last_kept(self.store)?) {
            history::reserve(plan, &last);
        }
        let ever = journal_file::longer_copy(self.store, &journal);
        if let (Some(plan), Some(ever)) = (&mut plan, &ever) {
            plan.known.reserve(&KnownEntries::all_of(ever, &plan.known));
        }
        Ok(Opened { read, as_written, journal, plan, on_file, ever })
    }

    /// Reads term, journal and plan, where there has to be a plan that the term knows the sites of.
    ///
    /// # Errors
    /// As [`Desk::open`]; also if there is no plan, or it has work at a site that the term does not know.
    pub fn open_planned(&self) -> Result<(Opened, Plan), Trouble> {
        let opened = self.open()?;
        self.with_plan(opened)
    }

    /// The plan beside what was opened, which there has to be.
    pub(super) fn with_plan(&self, opened: Opened) -> Result<(Opened, Plan), Trouble> {
        let Some(plan) = opened.plan.clone() else { return Err(self.no_plan()?) };
        let foreign = plan.batches.iter().find(|batch| opened.as_written.site(&batch.site).is_none());
        if let Some(batch) = foreign {
            let under_way = plan.replanned.is_some() || !opened.journal.journal.entries().is_empty();
            return Err(Trouble::told(
                format!("the plan has work at site \"{}\", which the term file does not know", batch.site),
                if under_way {
                    "put the site back into the term file".to_owned()
                } else {
                    format!("plan anew with: {}", self.command("plan", ""))
                },
            ));
        }
        Ok((opened, plan))
    }

    /// That there is no plan: either there never was one, or it was lost and one that was kept can take its place.
    ///
    /// # Errors
    /// If the plans kept cannot be listed.
    pub fn no_plan(&self) -> Result<Trouble, Trouble> {
        let path = self.store.shown(NEWEST);
        let last = history::numbers(self.store)?.last().copied();
        Ok(match (history::last_kept(self.store)?, last) {
            (None, Some(damaged)) => {
                let problems = history::read(self.store, damaged).err().map(|found| found.to_string());
                Trouble::told(
                    format!(
                        "{path} is missing, and no plan that is kept can be read\n\n{}",
                        problems.unwrap_or_default()
                    ),
                    self.all_over(),
                )
            }
            (None, None) => Trouble::told(
                format!("there is no plan yet: {path} is missing"),
                format!("make one with: {}", self.command("plan", "")),
            ),
            (Some(Plan { revision: last, .. }), _) => Trouble::told(
                format!("{path} is missing, but plans were made for this term, and plan {last} is kept"),
                format!("take it back with: {}", self.back_to_command(last)),
            ),
        })
    }

    /// A newest plan that cannot be read, with the way out.
    fn unreadable(&self, problems: Problems) -> Trouble {
        // What cannot even be opened is not mended by another plan.
        let opens = self.store.read(NEWEST).is_ok();
        let help = match history::last_kept(self.store).ok().flatten() {
            _ if !opens => return Trouble::Files(problems),
            None => self.all_over(),
            Some(Plan { revision: last, .. }) => {
                format!("plan {last} is kept; take it back with: {}", self.back_to_command(last))
            }
        };
        Trouble::told(format!("the plan cannot be read\n\n{problems}"), help)
    }

    /// The way out where no plan can be read any more: everything that speaks of one goes out of the folder.
    pub(super) fn all_over(&self) -> String {
        let there = |name: &str| self.store.read(name).is_ok_and(|bytes| bytes.is_some());
        let files =
            [NEWEST, journal_file::FILE_NAME].into_iter().filter(|name| there(name)).map(str::to_owned);
        let kept = self.store.names(history::FOLDER).is_ok_and(|names| !names.is_empty());
        let folder = kept.then(|| format!("the folder {}", history::FOLDER));
        format!(
            "mend that file, or put a copy of it back. To begin all over, move {} out of the folder, then: {}; calendars will see \
             all work as new",
            and(&files.chain(folder).collect::<Vec<_>>()),
            self.command("plan", "")
        )
    }

    /// Tells what in the files is lost or contradicts itself.
    pub(super) fn warn(&self, opened: &Opened) -> Result<(), Trouble> {
        if let Some(plan) = &opened.on_file {
            let mut warnings = self.older(plan)?;
            warnings.extend(self.lost(opened, plan));
            warnings.extend(self.reworded(plan, &opened.journal));
            warnings.extend(self.strangers(plan, &opened.journal));
            warnings.extend(opened.contradictions(plan));
            for warning in &warnings {
                self.face.warn(warning);
            }
        }
        Ok(())
    }

    /// That the journal has lost entries, if so, and the ways to go on.
    pub(super) fn lost(&self, opened: &Opened, plan: &Plan) -> Option<String> {
        let gone = opened.gone(plan);
        let back = if opened.ever.is_some() {
            let (copy, journal) = (self.store.shown(COPY), self.store.shown(journal_file::FILE_NAME));
            format!("All that was ever recorded is kept in {copy}: copy that file to {journal}.")
        } else {
            "If you have a newer copy of journal.yaml, put it back.".to_owned()
        };
        let told = || {
            format!(
                "The journal has lost {}.\n{back} To go on without: {}",
                list(&gone),
                self.command("journal", "--let-go")
            )
        };
        (!gone.is_empty()).then(told)
    }

    /// Whether `plan.yaml` is older than the last plan made, as after bringing back an old copy of it.
    fn older(&self, plan: &Plan) -> Result<Vec<String>, Trouble> {
        let Some(last) = history::last_made(self.store)?.filter(|last| last.revision > plan.revision) else {
            return Ok(Vec::new());
        };
        let (old, last) = (plan.revision, last.revision);
        Ok(vec![format!(
            "{} holds plan {old}, but plan {last} was made since.\nTake that one back with: {}. To go on with the older one: {}",
            self.store.shown(NEWEST),
            self.back_to_command(last),
            self.back_to_command(old),
        )])
    }

    /// What to tell where the journal tells of things that a plan has no answer to yet, if so.
    #[must_use]
    pub fn overtaken(&self, opened: &Opened, plan: &Plan) -> Option<String> {
        let (term, journal) = (&opened.read.term, &opened.journal.journal);
        replan::is_overtaken(term, plan, journal, self.moment.today).then(|| {
            format!(
                "Things happened that this plan does not know of, so that dates and masses may be out of date. To plan around them: {}",
                self.command("replan", "")
            )
        })
    }

    /// What to tell where plan and term no longer fit each other, if so.
    #[must_use]
    pub fn misfit(&self, opened: &Opened, plan: &Plan) -> Option<String> {
        let findings = check::check(&opened.read.term, plan).len();
        if findings == 0 {
            return None;
        }
        let see = self.command("check", "");
        let points = counted(findings as u32, "point");
        Some(if opened.journal.journal.entries().is_empty() {
            format!(
                "Plan and term file no longer fit each other in {points}.\nSee them with: {see}. Plan anew with: {}",
                self.command("plan", "")
            )
        } else {
            format!(
                "What happened and the plan no longer fit each other in {points}.\nSee them with: {see}. Plan the rest of the term \
                 again with: {}",
                self.command("replan", "")
            )
        })
    }

    /// Entries the plan takes into account that say something else in the journal now.
    fn reworded(&self, plan: &Plan, journal: &Written) -> Option<String> {
        let other = plan.known.amiss(&journal.journal).other;
        (!other.is_empty()).then(|| {
            format!(
                "The journal says something else in {} than when the plan was made, and the plan counts it as new.\nIf two \
                 copies of journal.yaml have grown apart, put the other one's entries behind this one's, with new numbers. If \
                 somebody only put it into other words: {}",
                list(&other),
                self.command("journal", "--reworded")
            )
        })
    }

    /// Entries about batches the plan does not have.
    fn strangers(&self, plan: &Plan, journal: &Written) -> Option<String> {
        let unknown = |entry: &&Entry| {
            entry.what.batch().is_some_and(|id| plan.batches.iter().all(|batch| batch.id != *id))
        };
        let strangers: Vec<EntryId> =
            journal.journal.in_force().into_iter().filter(unknown).map(|entry| entry.id).collect();
        (!strangers.is_empty()).then(|| {
            format!(
                "The journal speaks of batches that are not in the plan, and what it says of them is left out: {}. See them \
                 with: {}",
                list(&strangers),
                self.command("journal", "")
            )
        })
    }

    pub(super) fn back_to_command(&self, number: u32) -> String {
        self.command("plan", &format!("--back-to {number}"))
    }
}

impl Opened {
    /// Entries that were recorded, or that the plan takes into account, and are no longer in the journal, by number.
    pub(super) fn gone(&self, plan: &Plan) -> Vec<EntryId> {
        let ever = self.ever.iter().flat_map(Journal::entries).map(|entry| entry.id);
        let lost = ever.filter(|id| self.journal.journal.entry(*id).is_none());
        let known = plan.known.amiss(&self.journal.journal).gone;
        lost.chain(known).collect::<BTreeSet<EntryId>>().into_iter().collect()
    }

    /// What in the journal contradicts a plan, if anything does: entries that name another site than their batch's.
    #[must_use]
    pub fn contradictions(&self, plan: &Plan) -> Option<String> {
        let in_force = self.journal.journal.in_force().into_iter();
        let elsewhere: Vec<EntryId> = in_force
            .filter(|entry| plan.batches.iter().any(|batch| contradicts(entry, batch)))
            .map(|entry| entry.id)
            .collect();
        (!elsewhere.is_empty()).then(|| {
            format!(
                "The journal names another site than the plan for the batch in {}, and what it says there is left \
                 out.\nWithdraw such an entry and record what happened anew.",
                list(&elsewhere)
            )
        })
    }

    /// Entries of the journal that cannot be true, each with its line and the reason. `path` is what people
    /// call the journal.
    #[must_use]
    pub fn untrue(&self, plan: &Plan, path: &str, today: NaiveDate) -> Vec<String> {
        let (term, journal) = (&self.as_written, &self.journal.journal);
        let told = |(id, refusal): (EntryId, Refusal)| {
            let line = self.journal.line_of(id).map_or_else(String::new, |line| format!(":{line}"));
            format!(
                "{path}{line}: {id} cannot be true: {refusal} (record it anew with --replaces {id}, or take it back: sowtide \
                 record withdraw {id})"
            )
        };
        untrue(&Known { term, plan, journal, today }).into_iter().map(told).collect()
    }
}

/// Whether an entry is about a batch, but names another site than it stands at.
fn contradicts(entry: &Entry, batch: &Batch) -> bool {
    entry.what.batch() == Some(&batch.id) && entry.site.as_ref().is_some_and(|site| *site != batch.site)
}

/// Entries by number, long runs drawn together: `j001, j003 to j086`.
pub(super) fn list(ids: &[EntryId]) -> String {
    let runs = ids.chunk_by(|one, next| one.0.checked_add(1) == Some(next.0));
    let told = runs.map(|run| match run {
        [first, .., last] if run.len() > 3 => format!("{first} to {last}"),
        _ => run.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "),
    });
    told.collect::<Vec<_>>().join(", ")
}
