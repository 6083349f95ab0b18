//! Planning a term and saving the plan; the plans from before.

use super::open::as_it_is;
use super::{Desk, Opened, Trouble};
use crate::check::{self, Violation};
use crate::domain::journal::{Entry, EntryId, Journal, Kind};
use crate::domain::known::KnownEntries;
use crate::domain::most::Most;
use crate::domain::plan::{NOTICEABLE, Plan, Shortfall};
use crate::domain::term::Term;
use crate::files::history::{self, NEWEST, Saved};
use crate::files::journal_file::{self, COPY};
use crate::files::problem::{Problem, Problems};
use crate::files::{plan_file, term_file};
use crate::insight::most::most;
use crate::insight::odds::Luck;
use crate::insight::reasons;
use crate::replan::is_overtaken;
use crate::schedule::{self, Options, ScheduleError, Watch};

/// How to search, without a word on what is searched for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Search {
    /// Seed of the random numbers.
    pub seed: u64,
    /// Thousands of steps; by default a number that suits the term's size, and more where much is missing then.
    pub effort: Option<u64>,
    /// Whether to go on, from other beginnings, until somebody stops the search.
    pub until_stopped: bool,
}

/// What a search began from. A plan found meanwhile is only saved while this still holds.
#[derive(Debug, Clone)]
pub(super) struct Basis {
    term: Term,
    plan: Option<Plan>,
    journal: Journal,
}

/// A term read for planning.
#[derive(Debug, Clone)]
pub struct Begun {
    /// What was read.
    pub opened: Opened,
    basis: Basis,
    term_id: String,
    made: chrono::DateTime<chrono::Utc>,
    sure: Option<f64>,
}

/// What came of planning.
#[derive(Debug, Clone, PartialEq)]
pub enum Finished {
    /// The new plan is saved.
    Saved(Box<Saved>),
    /// The plan from before still fits the term and costs less, so it stays.
    Kept {
        /// The plan from before, with what is known of bounds and reasons now.
        plan: Box<Plan>,
        /// Points of the new one.
        new_cost: f64,
    },
}

/// The plans of a term.
#[derive(Debug, Clone)]
pub struct History {
    /// Every plan that can be read, by number.
    pub plans: Vec<Plan>,
    /// Number of the newest, if there is one.
    pub newest: Option<u32>,
    /// Plans that cannot be read.
    pub unreadable: Vec<Problems>,
}

impl Finished {
    /// The plan that counts now.
    #[must_use]
    pub fn plan(&self) -> &Plan {
        match self {
            Self::Saved(saved) => &saved.plan,
            Self::Kept { plan, .. } => plan,
        }
    }
}

impl Desk<'_> {
    /// Reads everything for planning a term. `new_id` tells its calendars from those of other terms; where there is a
    /// plan already, that one's counts. With `sure`, all serving days are promised that chance, and not the term file's.
    ///
    /// # Errors
    /// If something cannot be read, if the plan was lost, or if the term is under way, so that a plan from nothing would
    /// forget what was done.
    pub fn begin_plan(&self, new_id: &str, sure: Option<f64>) -> Result<Begun, Trouble> {
        let mut opened = self.open()?;
        if opened.plan.is_none() && !history::numbers(self.store)?.is_empty() {
            return Err(self.no_plan()?);
        }
        self.refuse_to_forget(&opened)?;
        let term_id = opened.plan.as_ref().map_or(new_id, |plan| &plan.term_id).to_owned();
        // What the plan from before was asked for does not count any more.
        opened.read.term = as_it_is(&opened.as_written, &opened.journal.journal, sure, &[]);
        Ok(Begun { basis: Basis::of(&opened), opened, term_id, made: self.moment.now, sure })
    }

    /// Saves a plan found for a term, unless the plan from before still fits the term and is better: who stops a search
    /// early, or lets it take fewer steps, must not lose a good plan.
    ///
    /// # Errors
    /// If the plan does not pass the checker, if somebody recorded or planned something meanwhile, or if it cannot be
    /// saved.
    pub fn finish_plan(&self, begun: &Begun, plan: &Plan) -> Result<Finished, Trouble> {
        let term = &begun.opened.read.term;
        refuse_unsound(term, plan, None)?;
        let held = self.lock()?;
        self.refuse_overtaken(&begun.basis)?;
        let Some(better) = begun.opened.plan.as_ref().filter(|previous| outdoes(previous, plan, term)) else {
            return Ok(Finished::Saved(Box::new(history::save(self.store, &held, plan)?)));
        };
        let better = Plan { known: begun.known(), sure: begun.sure, ..seen_anew(better.clone(), plan) };
        history::put(self.store, &held, &better)?;
        Ok(Finished::Kept { plan: Box::new(better), new_cost: plan.facts.cost })
    }

    /// Makes the plan of a number the newest again. The last one made comes back just as it was where `plan.yaml` was lost or
    /// an old copy of it was brought back; any other one comes back as a new plan, with `reason`, whether or not it
    /// still fits. Says whether something happened since that it does not know.
    ///
    /// # Errors
    /// If there is no such plan, the journal has lost entries, or it cannot be saved.
    pub fn back_to(&self, number: u32, reason: Option<&str>) -> Result<(Opened, Saved, bool), Trouble> {
        let held = self.lock()?;
        let Some(kept) = history::read(self.store, number)? else {
            return Err(Trouble::usage(
                format!("there is no plan {number}"),
                format!("see all plans with: {}", self.command("plan", "--history")),
            ));
        };
        let newest = plan_file::read(self.store, NEWEST);
        let is_readable = newest.is_ok();
        let newest = newest.ok().flatten();
        let opened = self.open_with(term_file::read(self.store)?, Some(kept.clone()))?;
        let is_last = history::last_made(self.store)?.is_some_and(|last| last.revision == number);
        let comes_back = is_last && newest.as_ref().is_none_or(|newest| newest.revision < number);
        if !comes_back && let Some(lost) = self.lost(&opened, newest.as_ref().unwrap_or(&kept)) {
            return Err(Trouble::told(
                format!("plan {number} was not brought back. {lost}"),
                "mend the journal first",
            ));
        }
        let unreadable = if is_readable { None } else { history::set_aside(self.store, &held)? };
        let saved = if comes_back {
            history::restore(self.store, &held, newest.as_ref(), kept)?
        } else {
            let again = self.again(kept, newest.as_ref(), reason);
            history::save_after(self.store, &held, newest.as_ref(), &again)?
        };
        let saved = Saved { unreadable, ..saved };
        let term = &opened.read.term;
        let overtaken = is_overtaken(term, &saved.plan, &opened.journal.journal, self.moment.today);
        Ok((opened, saved, overtaken))
    }

    /// A plan from before as a new one.
    fn again(&self, kept: Plan, newest: Option<&Plan>, reason: Option<&str>) -> Plan {
        Plan {
            // Calendars tell events apart by it.
            term_id: newest.map_or(kept.term_id, |newest| newest.term_id.clone()),
            reason: reason.map_or_else(|| format!("back to plan {}", kept.revision), str::to_owned),
            made: self.moment.now,
            ..kept
        }
    }

    /// All plans of the term.
    ///
    /// # Errors
    /// If there is none.
    pub fn history(&self) -> Result<History, Trouble> {
        let mut unreadable = Vec::new();
        let mut plans = Vec::new();
        let mut take = |read: Result<Option<Plan>, Problems>| match read {
            Ok(plan) => plan,
            Err(problems) => {
                unreadable.push(problems);
                None
            }
        };
        let newest = take(plan_file::read(self.store, NEWEST));
        for number in history::numbers(self.store)? {
            plans.extend(take(history::read(self.store, number)));
        }
        if let Some(newest) = &newest
            && plans.iter().all(|plan| plan.revision != newest.revision)
        {
            plans.push(newest.clone());
        }
        if plans.is_empty() {
            let all = unreadable.into_iter().flat_map(Problems::into_vec).collect::<Vec<Problem>>();
            Problems::check(all)?;
            return Err(self.no_plan()?);
        }
        Ok(History { plans, newest: newest.map(|newest| newest.revision), unreadable })
    }

    /// Lets the plan go on without entries that the journal has lost. Says which.
    ///
    /// # Errors
    /// If something cannot be read or saved.
    pub fn let_go(&self) -> Result<Vec<EntryId>, Trouble> {
        let held = self.lock()?;
        let Some(mut plan) = plan_file::read(self.store, NEWEST)? else { return Err(self.no_plan()?) };
        let opened = self.open_with(term_file::read(self.store)?, Some(plan.clone()))?;
        let gone = opened.gone(&plan);
        if gone.is_empty() {
            return Ok(gone);
        }
        plan.known = opened.plan.as_ref().unwrap_or(&plan).known.without_gone(&opened.journal.journal);
        history::put(self.store, &held, &plan)?;
        journal_file::forget_copy(self.store, &held, &opened.journal)
            .map_err(|error| Trouble::unwritten(&self.store.shown(COPY), &error))?;
        Ok(gone)
    }

    /// Lets the plan take entries for the ones it knew that only are put into other words now. Says which.
    ///
    /// # Errors
    /// If something cannot be read or saved.
    pub fn take_reworded(&self) -> Result<Vec<EntryId>, Trouble> {
        let held = self.lock()?;
        let Some(mut plan) = plan_file::read(self.store, NEWEST)? else { return Err(self.no_plan()?) };
        let journal = journal_file::read(self.store)?.journal;
        let other = plan.known.amiss(&journal).other;
        if !other.is_empty() {
            plan.known = plan.known.reworded(&journal);
            history::put(self.store, &held, &plan)?;
        }
        Ok(other)
    }

    /// Refuses to save what was found while others saved something else.
    pub(super) fn refuse_overtaken(&self, basis: &Basis) -> Result<(), Trouble> {
        let read = term_file::read(self.store)?;
        let journal = journal_file::read(self.store)?.journal;
        let is_new = |entry: &&Entry| basis.journal.entry(entry.id) != Some(entry);
        let new: Vec<EntryId> = journal.entries().iter().filter(is_new).map(|entry| entry.id).collect();
        let meanwhile = if !new.is_empty() {
            let list = new.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
            format!("{list} was recorded in the journal")
        } else if journal != basis.journal {
            "entries were taken out of the journal".to_owned()
        } else if plan_file::read(self.store, NEWEST)? != basis.plan {
            "somebody else saved another plan".to_owned()
        } else if read.term != basis.term {
            "the term file was changed".to_owned()
        } else {
            return Ok(());
        };
        Err(Trouble::told(
            format!("while this plan was made, {meanwhile}. Nothing was saved"),
            "run the same command again; it then takes that into account",
        ))
    }

    /// Planning from nothing knows nothing of what was done.
    fn refuse_to_forget(&self, opened: &Opened) -> Result<(), Trouble> {
        let replanned = opened.plan.as_ref().is_some_and(|plan| plan.replanned.is_some());
        let began = |entry: &&Entry| !entry.what.kind().may_lie_ahead() && entry.what.kind() != Kind::Note;
        if !replanned && !opened.journal.journal.in_force().iter().any(began) {
            return Ok(());
        }
        let again = if opened.plan.is_some() {
            format!("plan the rest of it again with: {}", self.command("replan", ""))
        } else {
            "put a copy of plan.yaml back, and plan the rest of it again".to_owned()
        };
        Err(Trouble::told(
            "this term is under way: a plan from nothing would forget what was done",
            format!(
                "{again}. To begin all over, move plan.yaml, journal.yaml and the folder plans out of the folder"
            ),
        ))
    }
}

impl Begun {
    /// Searches for a plan. It is not saved yet.
    ///
    /// # Errors
    /// If plants that already stand at the start cannot be kept until a harvest.
    pub fn seek(&self, search: &Search, watch: &Watch) -> Result<Plan, Trouble> {
        let previous = self.opened.plan.as_ref();
        let options = search.options(&self.term_id, self.made);
        let mut plan = schedule::plan(&self.opened.read.term, previous, &options, watch)
            .map_err(|error| unplannable(&error))?;
        (if previous.is_some() { "planned again" } else { "first plan" }).clone_into(&mut plan.reason);
        plan.known = self.known();
        plan.sure = self.sure;
        Ok(plan)
    }

    /// Finds out the largest target that every serving day can get alike; `None` if there is none, or no time for it.
    ///
    /// # Errors
    /// As [`Begun::seek`].
    pub fn most(&self, search: &Search, luck: Luck, watch: &Watch) -> Result<Option<Most>, Trouble> {
        let options = search.options(&self.term_id, self.made);
        most(&self.opened.read.term, &options, luck, watch).map_err(|error| unplannable(&error))
    }

    /// The journal's entries: all of them count in the term that is planned.
    fn known(&self) -> KnownEntries {
        let before = self.opened.plan.as_ref().map(|plan| plan.known.clone()).unwrap_or_default();
        KnownEntries::all_of(&self.opened.journal.journal, &before)
    }

    /// Finds out why days of a plan are short.
    pub fn explain(&self, plan: &mut Plan, watch: &Watch) {
        reasons::explain(&self.opened.read.term, plan, watch);
    }
}

impl Basis {
    pub(super) fn of(opened: &Opened) -> Self {
        Self {
            term: opened.as_written.clone(),
            plan: opened.on_file.clone(),
            journal: opened.journal.journal.clone(),
        }
    }
}

impl Search {
    pub(super) fn options(&self, term_id: &str, made: chrono::DateTime<chrono::Utc>) -> Options {
        Options {
            seed: self.seed,
            effort: self.effort,
            until_stopped: self.until_stopped,
            term_id: term_id.to_owned(),
            made,
        }
    }
}

pub(super) fn unplannable(error: &ScheduleError) -> Trouble {
    Trouble::told(error.to_string(), "then plan again")
}

/// A plan with mistakes must not reach anybody. They would be our own fault, unless the plan from before had them already:
/// somebody changed it, or the term file says otherwise of what is past.
pub(super) fn refuse_unsound(term: &Term, plan: &Plan, old: Option<&Plan>) -> Result<(), Trouble> {
    let found = check::check(term, plan);
    if found.is_empty() {
        return Ok(());
    }
    let before = old.map_or_else(Vec::new, |old| check::check(term, old));
    let same = |one: &Violation, other: &Violation| {
        (one.rule, &one.site, &one.batch) == (other.rule, &other.site, &other.batch)
    };
    let inherited: Vec<&Violation> =
        before.iter().filter(|old| found.iter().any(|new| same(old, new))).collect();
    if !inherited.is_empty() {
        let told: Vec<String> = inherited.iter().map(ToString::to_string).collect();
        return Err(Trouble::told(
            format!(
                "plan.yaml holds what cannot be, and planning again cannot mend it.\n- {}",
                told.join("\n- ")
            ),
            "if plan.yaml was changed by hand, correct these places in it, or take the plan before it back with: sowtide plan --back-to; \
             if the term file was changed, put back what it said of days gone by",
        ));
    }
    let findings: Vec<String> = found.iter().map(ToString::to_string).collect();
    Err(Trouble::told(
        format!(
            "the plan found does not pass our own check; this is a fault in sowtide, not in your files. \
             Nothing was saved.\n- {}",
            findings.join("\n- ")
        ),
        "please report it together with your term folder; another --seed may give a sound plan meanwhile",
    ))
}

/// Whether the plan from before still fits the term, and better than the new one.
fn outdoes(previous: &Plan, plan: &Plan, term: &Term) -> bool {
    previous.facts.cost < plan.facts.cost - 0.01 && check::check(term, previous).is_empty()
}

/// The plan from before with what the new one knows of bounds and reasons: the term may have changed since.
fn seen_anew(mut plan: Plan, new: &Plan) -> Plan {
    plan.facts.cost_bound = new.facts.cost_bound.map(|bound| bound.min(plan.facts.cost));
    plan.facts.short_bound_grams = new.facts.short_bound_grams.map(|bound| bound.min(plan.facts.short_grams));
    for (serving, seen) in plan.servings.iter_mut().zip(&new.servings) {
        let short = serving.short() >= NOTICEABLE;
        serving.shortfall = short.then(|| seen.shortfall.unwrap_or(Shortfall::Search));
    }
    plan
}
