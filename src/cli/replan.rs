//! `sowtide replan`: the rest of the term again, after something went otherwise than planned.

use super::changes;
use super::dates;
use super::failure::Failure;
use super::folder::Folder;
use super::plan::{one_line, refuse_unsound};
use super::screen::Screen;
use super::search::Search;
use super::sheets::PaperChoice;
use crate::check::{self, Rule};
use crate::domain::journal::Journal;
use crate::domain::plan::Plan;
use crate::domain::state::{Progress, State};
use crate::domain::term::Term;
use crate::files::history;
use crate::replan::difference::{Plans, difference};
use crate::replan::state::state;
use crate::replan::{Outcome, Steady, first_open_day, news, replan};
use crate::report::words::{long_day, short_day};
use crate::schedule::Resumed;
use chrono::NaiveDate;
use clap::{Args, ValueEnum};

/// Plan the rest of the term again, after something went otherwise than planned
///
/// Takes the plan and what was recorded: what is past stays as it was, what grows keeps its holes, what failed is
/// dropped. The rest is planned again, and every task that people have in their calendars already is changed only if
/// that is worth it. Shows what changes, and what each week gets: before, if nothing is done, and now. Where nothing
/// happened that the plan does not know, nothing changes. Write calendars and sheets again afterwards.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sowtide record autumn lost --batch b012 --in nursery --all --cause mould\n  \
        sowtide replan autumn --try        see what would change, and save nothing\n  \
        sowtide replan autumn\n  \
        sowtide calendar autumn            calendars people subscribe to follow"
)]
pub(super) struct Replan {
    #[command(flatten)]
    folder: Folder,
    /// First day that can still be planned [default: today, or tomorrow if work of today was recorded]
    #[arg(long, value_name = "DATE", value_parser = dates::parse)]
    from: Option<NaiveDate>,
    /// How steady people's calendars shall be
    #[arg(long, value_enum, value_name = "HOW", default_value_t = SteadyChoice::Usual)]
    steady: SteadyChoice,
    /// Why the plan is made, for the list of plans [default: what was recorded]
    #[arg(long, value_name = "TEXT", value_parser = one_line)]
    why: Option<String>,
    /// Only show what would change; save nothing
    #[arg(long = "try")]
    only_try: bool,
    /// Write what changes as a page to print, out/changes.html
    #[arg(long)]
    page: bool,
    /// Paper to print the page on
    #[arg(long, value_enum, requires = "page", default_value_t = PaperChoice::A4)]
    paper: PaperChoice,
    #[command(flatten)]
    search: Search,
}

/// How much people mind changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum SteadyChoice {
    /// Change much if it brings a little more
    Low,
    /// A change must be worth some grams of greens
    Usual,
    /// Change only what helps much
    High,
}

impl From<SteadyChoice> for Steady {
    fn from(choice: SteadyChoice) -> Self {
        match choice {
            SteadyChoice::Low => Self::Low,
            SteadyChoice::Usual => Self::Usual,
            SteadyChoice::High => Self::High,
        }
    }
}

impl Replan {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let (read, journal) = self.folder.term_as_it_is(screen)?;
        let term = &read.term;
        let old = self.folder.plan_to_replace()?.ok_or_else(|| {
            Failure::told(
                format!("there is no plan in {} yet", self.folder.path().display()),
                "make one with: sowtide plan",
            )
        })?;
        refuse_strangers(term, &old)?;
        let wished = self.wished()?;
        let day = first_open_day(&journal, wished);
        if day > wished {
            screen.remark(&format!(
                "The journal tells what happened before {}, so planning starts again on that day.",
                long_day(day)
            ));
        }
        in_time(term, &old, day)?;
        tell_undone(&state(term, &old, &journal, day), screen);
        let price = Steady::from(self.steady).price();
        let sought = self.search.run(screen, |watch| {
            let options = self.search.options(old.term_id.clone());
            replan(term, &old, &journal, (day, price), &options, watch)
        });
        let outcome = sought.found.map_err(|error| Failure::told(error.to_string(), "then plan again"))?;
        let (left, new) = match outcome {
            Outcome::NothingNew => {
                screen.remark("Nothing happened that the plan does not know. It stays as it is.");
                (old.clone(), old.clone())
            }
            Outcome::New(resumed) => {
                let Resumed { left, mut plan } = *resumed;
                plan.facts.seconds = sought.seconds;
                (left, self.keep(term, &old, plan, &journal, screen)?)
            }
        };
        let found = difference(term, Plans { before: &old, left: Some(&left), after: &new }, day);
        changes::tell(&self.folder, term, &found, self.page.then_some(self.paper), screen)
    }

    /// The day asked for.
    fn wished(&self) -> Result<NaiveDate, Failure> {
        let today = dates::today();
        match self.from {
            Some(from) if from < today => Err(Failure::Usage {
                what: format!("{} is past; nothing can be planned for it any more", long_day(from)),
                help: "leave out --from, or name today or a later day".to_owned(),
            }),
            from => Ok(from.unwrap_or(today)),
        }
    }

    /// Saves the new plan, unless it is only tried out.
    fn keep(
        &self,
        term: &Term,
        old: &Plan,
        mut new: Plan,
        journal: &Journal,
        screen: &Screen,
    ) -> Result<Plan, Failure> {
        new.reason = self.why.clone().unwrap_or_else(|| news(journal, old));
        refuse_unsound(term, &new, Some(old))?;
        if self.only_try {
            screen.remark("This is only tried out; nothing was saved.");
            return Ok(new);
        }
        let saved = history::save(self.folder.path(), &new)?;
        screen.remark(&format!(
            "Saved: {}, revision {}. Write calendars and sheets again: sowtide calendar, sowtide sheets",
            self.folder.plan_path().display(),
            saved.revision
        ));
        Ok(saved)
    }
}

/// Work that counts as not done may only not be recorded yet.
fn tell_undone(state: &State, screen: &Screen) {
    let overdue = state.steps.iter().filter(|step| step.progress == Progress::Overdue);
    let work: Vec<String> =
        overdue.map(|step| format!("{} {} on {}", step.work, step.batch, short_day(step.day))).collect();
    if !work.is_empty() {
        screen.remark(&format!(
            "Not recorded, and so taken as not done: {}. If it was done, record it and plan again.",
            work.join(", ")
        ));
    }
}

/// What grows must be known to the term.
fn refuse_strangers(term: &Term, plan: &Plan) -> Result<(), Failure> {
    let names =
        |found: &check::Violation| matches!(found.rule, Rule::Names | Rule::BatchIds | Rule::Standing);
    let strangers: Vec<String> =
        check::check(term, plan).iter().filter(|found| names(found)).map(ToString::to_string).collect();
    if strangers.is_empty() {
        return Ok(());
    }
    Err(Failure::told(
        format!("the term file no longer knows all that is in the plan\n- {}", strangers.join("\n- ")),
        "put it back into the term file. A tank that cannot be used is recorded with: sowtide record tank-out",
    ))
}

/// Whether there is anything left to plan on that day.
fn in_time(term: &Term, plan: &Plan, day: NaiveDate) -> Result<(), Failure> {
    if day > term.end {
        return Err(Failure::told(
            format!("the term ended on {}; there is nothing left to plan", long_day(term.end)),
            "start the next one with: sowtide new",
        ));
    }
    match plan.replanned {
        Some(before) if day < before => Err(Failure::told(
            format!("the term was planned again from {} on; what lies before is past", long_day(before)),
            "leave out --from, or name a later day. To undo that plan: sowtide plan --back-to",
        )),
        _ => Ok(()),
    }
}
