//! `sowtide replan`: the rest of the term again, after something went otherwise than planned.

use super::changes;
use super::dates;
use super::failure::Failure;
use super::folder::Folder;
use super::odds;
use super::plan::{one_line, tell_saved};
use super::screen::Screen;
use super::search::Search;
use super::sheets::PaperChoice;
use crate::desk::{Again, BegunAgain, Desk, Planned};
use crate::domain::difference::Difference;
use crate::domain::plan::Plan;
use crate::replan::difference::{Plans, difference};
use crate::replan::{Steady, causes};
use crate::report;
use crate::report::words::{long_day, short_day};
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
        let files = self.folder.disk();
        let desk = screen.desk(&files);
        let begun = desk.begin_again(self.from)?;
        screen.remarks(&begun.opened.read.remarks);
        if begun.day > self.from.unwrap_or(desk.moment.today) {
            screen.remark(&format!(
                "The journal tells what happened before {}, so planning starts again on that day.",
                long_day(begun.day)
            ));
        }
        self.tell_undone(&begun, screen);
        let sought =
            self.search.run(screen, |watch| begun.seek(&self.search.asked(), self.steady.into(), watch));
        let (left, new) = match sought.found? {
            Again::NothingNew => {
                screen.remark("Nothing happened that the plan does not know. It stays as it is.");
                (begun.known.clone(), begun.known.clone())
            }
            Again::New(mut planned) => {
                planned.plan.facts.seconds = sought.seconds;
                (planned.left.clone(), self.keep(&desk, &begun, *planned, screen)?)
            }
        };
        let plans = Plans { before: &begun.known, left: Some(&left), after: &new };
        let because = causes(&begun.opened.journal.journal, &begun.known, &new);
        let found = Difference { because, ..difference(&begun.opened.read.term, plans, begun.day) };
        let paper = self.page.then_some(self.paper);
        changes::tell(&self.folder, &begun.opened.read.term, &found, paper, screen)?;
        if self.page || screen.json || new == begun.known {
            return Ok(());
        }
        let odds = odds::of(&begun.opened, &new);
        let term = &begun.opened.read.term;
        let (own, new) = (term.of_its_own(), term.own_part(&new));
        screen.result(&report::changes::how_good(&own, &new, (begun.day, &odds), &screen.look))
    }

    /// Saves the new plan, unless it is only tried out.
    fn keep(
        &self,
        desk: &Desk<'_>,
        begun: &BegunAgain,
        planned: Planned,
        screen: &Screen,
    ) -> Result<Plan, Failure> {
        if self.only_try {
            screen.remark("This is only tried out; nothing was saved.");
            return Ok(planned.plan);
        }
        let saved = desk.finish_again(begun, &planned, self.why.as_deref())?;
        tell_saved(&saved, desk, screen);
        screen.remark("Write calendars and sheets again: sowtide calendar, sowtide sheets");
        Ok(saved.plan)
    }

    /// Work that counts as not done may only not be recorded yet.
    fn tell_undone(&self, begun: &BegunAgain, screen: &Screen) {
        let work: Vec<String> = begun
            .undone
            .iter()
            .map(|step| format!("{} {} on {}", step.work, step.batch, short_day(step.day)))
            .collect();
        if work.is_empty() {
            return;
        }
        let then = if self.only_try {
            "record it first".to_owned()
        } else {
            // What is taken as not done may be missing from the new plan, and could not be recorded any more.
            let old = begun.known.revision;
            format!(
                "take the plan from before back with sowtide plan --back-to {old}, record it, and plan again"
            )
        };
        let undone = work.join(", ");
        screen.remark(&format!("Not recorded, and so taken as not done: {undone}. If it was done, {then}."));
    }
}
