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
    /// The plan, if there is one.
    pub plan: Option<Plan>,
    /// What everybody should know who works with these files: that something in them is lost or contradicts itself.
    pub warnings: Vec<String>,
}

impl Desk<'_> {
    /// Reads term, journal and plan.
    ///
    /// # Errors
    /// If one of them cannot be read.
    pub fn open(&self) -> Result<Opened, Trouble> {
        let plan = plan_file::read(self.store, NEWEST).map_err(|problems| self.unreadable(problems))?;
        self.open_with(plan)
    }

    /// Reads term and journal beside a plan that was read already, or cannot be.
    pub(super) fn open_with(&self, plan: Option<Plan>) -> Result<Opened, Trouble> {
        let mut read = term_file::read(self.store)?;
        let journal = journal_file::read(self.store)?;
        let as_written = read.term.clone();
        read.term = replan::laid_over(&as_written, &journal.journal);
        let warnings = match &plan {
            Some(plan) => [self.older(plan)?, amiss(plan, &journal), strangers(plan, &journal)].concat(),
            None => Vec::new(),
        };
        Ok(Opened { read, as_written, journal, plan, warnings })
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
            return Err(Trouble::told(
                format!("the plan has work at site \"{}\", which the term file does not know", batch.site),
                "plan anew with: sowtide plan",
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
        Ok(match history::numbers(self.store)?.last() {
            None => Trouble::told(
                format!("there is no plan yet: {path} is missing"),
                "make one with: sowtide plan",
            ),
            Some(last) => Trouble::told(
                format!("{path} is missing, but plans were made for this term, and plan {last} is kept"),
                format!("take it back with: sowtide plan --back-to {last}"),
            ),
        })
    }

    /// A newest plan that cannot be read, with the way out.
    pub(super) fn unreadable(&self, problems: Problems) -> Trouble {
        match history::numbers(self.store).ok().and_then(|kept| kept.last().copied()) {
            None => Trouble::told(
                format!("the plan cannot be read\n\n{problems}"),
                "move plan.yaml out of the folder and plan anew; calendars will then see all work as new",
            ),
            Some(last) => Trouble::told(
                format!("the plan cannot be read\n\n{problems}"),
                format!("plan {last} is kept; take it back with: sowtide plan --back-to {last}"),
            ),
        }
    }

    /// Whether `plan.yaml` is older than the last plan kept, as after bringing back an old copy of it.
    fn older(&self, plan: &Plan) -> Result<Vec<String>, Trouble> {
        let last = history::numbers(self.store)?.last().copied().filter(|last| *last > plan.revision);
        let Some(last) = last else { return Ok(Vec::new()) };
        // After a change by hand was kept, a later step of saving may have failed; then nothing is older.
        if history::read(self.store, last).is_ok_and(|kept| kept.is_some_and(|kept| kept.says_the_same(plan)))
        {
            return Ok(Vec::new());
        }
        Ok(vec![format!(
            "{} holds plan {}, but plan {last} was made since.\nTake that one back with: sowtide plan --back-to {last}. To \
             go on with the older one: sowtide plan --back-to {}",
            self.store.shown(NEWEST),
            plan.revision,
            plan.revision
        )])
    }
}

impl Opened {
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
             back. If not, go on with: sowtide journal --as-it-is",
            list(&gone)
        ));
    }
    if !other.is_empty() {
        told.push(format!(
            "The journal says something else in {} than when the plan was made, and the plan counts it as new.\nIf two \
             copies of journal.yaml have grown apart, put the other one's entries behind this one's, with new numbers. If \
             somebody only corrected the words: sowtide journal --as-it-is",
            list(&other)
        ));
    }
    told
}

/// Entries about batches the plan does not have, or has at another site.
fn strangers(plan: &Plan, journal: &Written) -> Vec<String> {
    let mut unknown = Vec::new();
    let mut elsewhere = Vec::new();
    for entry in journal.journal.in_force() {
        let Some(id) = entry.what.batch() else { continue };
        match plan.batches.iter().find(|batch| batch.id == *id) {
            None => unknown.push(entry.id),
            Some(batch) if contradicts(entry, batch) => elsewhere.push(entry.id),
            Some(_) => {}
        }
    }
    let mut told = Vec::new();
    if !unknown.is_empty() {
        told.push(format!(
            "The journal speaks of batches that are not in the plan, and what it says of them is left out: {}. See them \
             with: sowtide journal",
            list(&unknown)
        ));
    }
    if !elsewhere.is_empty() {
        told.push(format!(
            "The journal names another site than the plan for the batch in {}, and what it says there is left out.\nWithdraw \
             such an entry and record what happened anew.",
            list(&elsewhere)
        ));
    }
    told
}

/// Whether an entry names another site than its batch stands at.
fn contradicts(entry: &Entry, batch: &Batch) -> bool {
    entry.site.as_ref().is_some_and(|site| *site != batch.site)
}

fn list(ids: &[EntryId]) -> String {
    ids.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}
