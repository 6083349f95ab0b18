//! Opening a term: reading what belongs together, and saying at once what does not fit.

use super::{Desk, Trouble};
use crate::check;
use crate::domain::journal::{Entry, EntryId};
use crate::domain::known::Amiss;
use crate::domain::plan::{Batch, Plan};
use crate::domain::term::Term;
use crate::files::history::{self, NEWEST};
use crate::files::journal_file::{self, Written};
use crate::files::plan_file;
use crate::files::problem::Problems;
use crate::files::term_file::{self, ReadTerm};
use crate::replan;
use crate::report::words::counted;

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
        read.term = replan::laid_over(&as_written, &journal.journal);
        let mut plan = on_file.clone();
        if let (Some(plan), Some(last)) = (&mut plan, history::last_kept(self.store)?) {
            history::reserve(plan, &last);
        }
        Ok(Opened { read, as_written, journal, plan, on_file })
    }

    /// Reads term, journal and plan, where there has to be a plan that the term knows the sites of.
    ///
    /// # Errors
    /// As [`Desk::open`]; also if there is no plan, or it has work at a site that the term does not know.
    pub fn open_planned(&self) -> Result<(Opened, Plan), Trouble> {
        let opened = self.open()?;
        let Some(plan) = opened.plan.clone() else { return Err(self.no_plan()?) };
        let foreign = plan.batches.iter().find(|batch| opened.as_written.site(&batch.site).is_none());
        if let Some(batch) = foreign {
            let under_way = plan.replanned.is_some() || !opened.journal.journal.entries().is_empty();
            return Err(Trouble::told(
                format!("the plan has work at site \"{}\", which the term file does not know", batch.site),
                if under_way {
                    "put the site back into the term file"
                } else {
                    "plan anew with: sowtide plan"
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
        Ok(match history::last_kept(self.store)? {
            None => Trouble::told(
                format!("there is no plan yet: {path} is missing"),
                "make one with: sowtide plan",
            ),
            Some(Plan { revision: last, .. }) => Trouble::told(
                format!("{path} is missing, but plans were made for this term, and plan {last} is kept"),
                format!("take it back with: sowtide plan --back-to {last}"),
            ),
        })
    }

    /// A newest plan that cannot be read, with the way out.
    fn unreadable(&self, problems: Problems) -> Trouble {
        // What cannot even be opened is not mended by another plan.
        let opens = self.store.read(NEWEST).is_ok();
        let help = match history::last_kept(self.store).ok().flatten() {
            _ if !opens => return Trouble::Files(problems),
            None => "move plan.yaml out of the folder and plan anew; calendars will then see all work as new"
                .to_owned(),
            Some(Plan { revision: last, .. }) => {
                format!("plan {last} is kept; take it back with: sowtide plan --back-to {last}")
            }
        };
        Trouble::told(format!("the plan cannot be read\n\n{problems}"), help)
    }

    /// Tells what in the files is lost or contradicts itself.
    pub(super) fn warn(&self, opened: &Opened) -> Result<(), Trouble> {
        if let Some(plan) = &opened.on_file {
            let mut warnings = [self.older(plan)?, amiss(plan, &opened.journal)].concat();
            warnings.extend(strangers(plan, &opened.journal));
            warnings.extend(opened.contradictions(plan));
            for warning in &warnings {
                self.face.warn(warning);
            }
        }
        Ok(())
    }

    /// Whether `plan.yaml` is older than the last plan made, as after bringing back an old copy of it.
    fn older(&self, plan: &Plan) -> Result<Vec<String>, Trouble> {
        let Some(last) = history::last_made(self.store)?.filter(|last| last.revision > plan.revision) else {
            return Ok(Vec::new());
        };
        let (old, last) = (plan.revision, last.revision);
        Ok(vec![format!(
            "{} holds plan {old}, but plan {last} was made since.\nTake that one back with: sowtide plan --back-to {last}. \
             To go on with the older one: sowtide plan --back-to {old}",
            self.store.shown(NEWEST),
        )])
    }
}

impl Opened {
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

    /// What to tell where plan and term no longer fit each other, if so.
    #[must_use]
    pub fn misfit(&self, plan: &Plan) -> Option<String> {
        let findings = check::check(&self.read.term, plan).len();
        if findings == 0 {
            return None;
        }
        let points = counted(findings as u32, "point");
        Some(if self.journal.journal.entries().is_empty() {
            format!(
                "Plan and term file no longer fit each other in {points}.\nSee them with: sowtide check. \
                 Plan anew with: sowtide plan"
            )
        } else {
            format!(
                "What happened and the plan no longer fit each other in {points}.\nSee them with: sowtide check. \
                 Plan the rest of the term again with: sowtide replan"
            )
        })
    }
}

/// Entries the plan takes into account that are no longer in the journal, or say something else there.
fn amiss(plan: &Plan, journal: &Written) -> Vec<String> {
    let Amiss { gone, other } = plan.known.amiss(&journal.journal);
    let mut told = Vec::new();
    if !gone.is_empty() {
        told.push(format!(
            "The journal has lost {}, which the plan takes into account.\nIf you have a newer copy of journal.yaml, put it \
             back. If not, go on with: sowtide journal --let-go",
            list(&gone)
        ));
    }
    if !other.is_empty() {
        told.push(format!(
            "The journal says something else in {} than when the plan was made, and the plan counts it as new.\nIf two \
             copies of journal.yaml have grown apart, put the other one's entries behind this one's, with new numbers. If \
             somebody only put it into other words: sowtide journal --reworded",
            list(&other)
        ));
    }
    told
}

/// Entries about batches the plan does not have.
fn strangers(plan: &Plan, journal: &Written) -> Option<String> {
    let unknown = |entry: &&Entry| {
        entry.what.batch().is_some_and(|id| plan.batches.iter().all(|batch| batch.id != *id))
    };
    let strangers: Vec<EntryId> =
        journal.journal.in_force().into_iter().filter(unknown).map(|entry| entry.id).collect();
    (!strangers.is_empty()).then(|| {
        format!(
            "The journal speaks of batches that are not in the plan, and what it says of them is left out: {}. See them \
             with: sowtide journal",
            list(&strangers)
        )
    })
}

/// Whether an entry is about a batch, but names another site than it stands at.
fn contradicts(entry: &Entry, batch: &Batch) -> bool {
    entry.what.batch() == Some(&batch.id) && entry.site.as_ref().is_some_and(|site| *site != batch.site)
}

fn list(ids: &[EntryId]) -> String {
    ids.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}
