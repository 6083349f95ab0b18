//! Planning the rest of a term again.

use super::plans::{Basis, unplannable};
use super::{Desk, Opened, Search, Trouble, refuse_unsound};
use crate::check::{self, Rule};
use crate::domain::journal::Journal;
use crate::domain::plan::{Batch, Plan};
use crate::domain::state::{Progress, Step};
use crate::domain::term::Term;
use crate::files::history::{self, Saved};
use crate::replan::state::state;
use crate::replan::{Outcome, Steady, first_open_day, news, replan};
use crate::report::words::long_day;
use crate::schedule::{Resumed, Watch};
use chrono::NaiveDate;

/// A term under way, read for planning the rest of it again.
#[derive(Debug, Clone)]
pub struct BegunAgain {
    /// What was read.
    pub opened: Opened,
    /// The plan as people know it.
    pub known: Plan,
    /// The first day that can still be planned: the day asked for, or a later one if work of that day is done.
    pub day: NaiveDate,
    /// Work that counts as not done. It may only not be recorded yet.
    pub undone: Vec<Step>,
    basis: Basis,
    made: chrono::DateTime<chrono::Utc>,
}

/// What came of planning again.
#[derive(Debug, Clone, PartialEq)]
pub enum Again {
    /// Nothing happened that the plan does not know.
    NothingNew,
    /// A new plan, not saved yet.
    New(Box<Planned>),
}

/// A plan of the rest of a term.
#[derive(Debug, Clone, PartialEq)]
pub struct Planned {
    /// What becomes of the old plan if nothing is done.
    pub left: Plan,
    /// The new plan.
    pub plan: Plan,
}

impl Desk<'_> {
    /// Reads everything for planning the rest of a term again, from today or the later day `from` on.
    ///
    /// # Errors
    /// If something cannot be read, if there is no plan, if that day is past or after the term, or if the term no longer
    /// knows what grows.
    pub fn begin_again(&self, from: Option<NaiveDate>) -> Result<BegunAgain, Trouble> {
        let today = self.moment.today;
        let wished = match from {
            Some(from) if from < today => {
                return Err(Trouble::usage(
                    format!("{} is past; nothing can be planned for it any more", long_day(from)),
                    "leave out --from, or name today or a later day",
                ));
            }
            from => from.unwrap_or(today),
        };
        let opened = self.open()?;
        let Some(known) = opened.plan.clone() else { return Err(self.no_plan()?) };
        let (term, journal) = (&opened.read.term, &opened.journal.journal);
        let day = first_open_day(journal, wished);
        refuse_later_start(term, &known, day)?;
        refuse_strangers(term, &known)?;
        if wished <= term.own_end() && term.own_end() < day {
            refuse_later_entries(term, journal)?;
        }
        in_time(term, &known, day)?;
        let mut undone = state(term, &known, journal, day).steps;
        undone.retain(|step| step.progress == Progress::Overdue);
        Ok(BegunAgain { basis: Basis::of(&opened), opened, known, day, undone, made: self.moment.now })
    }

    /// Saves a new plan of the rest of a term. `reason` is told in the list of plans; by default it is what was recorded.
    ///
    /// # Errors
    /// If the plan does not pass the checker, if somebody recorded or planned something meanwhile, or if it cannot be
    /// saved.
    pub fn finish_again(
        &self,
        begun: &BegunAgain,
        planned: &Planned,
        reason: Option<&str>,
    ) -> Result<Saved, Trouble> {
        let mut plan = planned.plan.clone();
        plan.reason = reason.map_or_else(|| news(&begun.opened.journal.journal, &begun.known), str::to_owned);
        refuse_unsound(&begun.opened.read.term, &plan, Some(&begun.known))?;
        let held = self.lock()?;
        self.refuse_overtaken(&begun.basis)?;
        Ok(history::save(self.store, &held, &plan)?)
    }
}

impl BegunAgain {
    /// Searches for a plan of the rest that changes little; how little, `steady` says.
    ///
    /// # Errors
    /// If plants that stand cannot be kept until a harvest, or what was found does not pass the checker.
    pub fn seek(&self, search: &Search, steady: Steady, watch: &Watch) -> Result<Again, Trouble> {
        let options = search.options(&self.known.term_id, self.made);
        let (term, journal) = (&self.opened.read.term, &self.opened.journal.journal);
        let asked = (self.day, steady.price(&term.rules.weights));
        match replan(term, &self.known, journal, asked, &options, watch)
            .map_err(|error| unplannable(&error))?
        {
            Outcome::NothingNew => Ok(Again::NothingNew),
            Outcome::New(resumed) => {
                let Resumed { left, plan } = *resumed;
                Ok(Again::New(Box::new(Planned { left, plan })))
            }
        }
    }
}

/// What lies before the first day of a term is not planned, so that what grows since then would be forgotten.
fn refuse_later_start(term: &Term, plan: &Plan, day: NaiveDate) -> Result<(), Trouble> {
    let forgotten = term.start.min(day);
    let first_work = |batch: &Batch| {
        let harvests = batch.parts.iter().flat_map(|part| &part.harvests).map(|harvest| harvest.date);
        let sown = (!batch.is_standing()).then_some(batch.sown);
        sown.into_iter().chain(harvests).filter(|day| *day < forgotten).min()
    };
    let work: Vec<(NaiveDate, &Batch)> =
        plan.batches.iter().filter_map(|batch| Some((first_work(batch)?, batch))).collect();
    let Some((first, _)) = work.iter().min_by_key(|(day, _)| *day) else { return Ok(()) };
    let told: Vec<String> =
        work.iter().map(|(day, batch)| format!("{} on {}", batch.id, long_day(*day))).collect();
    Err(Trouble::told(
        format!(
            "the term file lets the term start on {}, but the plan has work from before, which would be forgotten\n- {}",
            long_day(term.start),
            told.join("\n- ")
        ),
        format!("put the first day back in the term file: start: {first}, or the earlier day that it was"),
    ))
}

/// What grows must be known to the term.
fn refuse_strangers(term: &Term, plan: &Plan) -> Result<(), Trouble> {
    let names =
        |found: &check::Violation| matches!(found.rule, Rule::Names | Rule::BatchIds | Rule::Standing);
    let strangers: Vec<String> =
        check::check(term, plan).iter().filter(|found| names(found)).map(ToString::to_string).collect();
    if strangers.is_empty() {
        return Ok(());
    }
    Err(Trouble::told(
        format!("the term file no longer knows all that is in the plan\n- {}", strangers.join("\n- ")),
        "put it back into the term file. A tank that cannot be used is recorded with: sowtide record tank-out",
    ))
}

/// Work that was recorded for a day after the term leaves nothing to plan, though the term is not over.
fn refuse_later_entries(term: &Term, journal: &Journal) -> Result<(), Trouble> {
    let later = journal.in_force().into_iter().filter(|entry| entry.day > term.own_end());
    let later: Vec<String> = later.map(|entry| format!("{} for {}", entry.id, long_day(entry.day))).collect();
    if later.is_empty() {
        return Ok(());
    }
    Err(Trouble::told(
        format!(
            "the term ends on {}, but the journal has entries for later days: {}",
            long_day(term.own_end()),
            later.join(", ")
        ),
        "take each of them back with sowtide record withdraw and its number, and record it anew for the right day; if the term \
         really lasts longer, correct its end in the term file",
    ))
}

/// Whether there is anything left to plan on that day.
fn in_time(term: &Term, plan: &Plan, day: NaiveDate) -> Result<(), Trouble> {
    if day > term.own_end() {
        return Err(Trouble::told(
            format!("the term ended on {}; there is nothing left to plan", long_day(term.own_end())),
            "go on to the next one with: sowtide next",
        ));
    }
    match plan.replanned {
        Some(before) if day < before => Err(Trouble::told(
            format!("the term was planned again from {} on; what lies before is past", long_day(before)),
            "leave out --from, or name a later day. To undo that plan, see its number with: sowtide plan --history",
        )),
        _ => Ok(()),
    }
}
