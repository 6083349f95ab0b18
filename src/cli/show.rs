//! `sowtide show`: the plan, as it stands or as it was made.

use super::changes;
use super::dates;
use super::failure::Failure;
use super::folder::Folder;
use super::numbers;
use super::odds;
use super::screen::Screen;
use super::sheets::PaperChoice;
use crate::desk::Opened;
use crate::domain::difference::Difference;
use crate::domain::plan::{Batch, Plan};
use crate::files::history;
use crate::files::problem::suggest;
use crate::insight::idle::idle;
use crate::replan::causes;
use crate::replan::difference::{Plans, difference};
use crate::report::{ahead, batches, glance, json, rhythm, steps, summary};
use chrono::NaiveDate;
use clap::Args;

/// Show the plan: the term at a glance, every batch, and how good the plan is
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  sowtide show autumn\n  \
        sowtide show autumn --batch b003     how the mass of one batch comes about\n  \
        sowtide show autumn --changes          what changed since the plan before\n  \
        sowtide show autumn --changes --since 2 --page   the same since plan 2, as a page to print")]
#[expect(clippy::struct_excessive_bools, reason = "each is a switch of the command line")]
pub(super) struct Show {
    #[command(flatten)]
    folder: Folder,
    /// Explain one batch, step by step from seed to plate
    #[arg(long, value_name = "BATCH")]
    batch: Option<String>,
    /// Also tell what is proven of the best plan there could be
    #[arg(long, conflicts_with_all = ["batch", "changes"])]
    proof: bool,
    /// Show the plan as it was made, whatever was recorded since
    #[arg(long, conflicts_with = "changes")]
    as_planned: bool,
    /// Show what changed since the plan before: what to do otherwise, and which weeks get less or more
    #[arg(long, conflicts_with = "batch")]
    changes: bool,
    /// Compare with the plan of this number
    #[arg(long, value_name = "NUMBER", requires = "changes",
          value_parser = numbers::whole::<u32>(1..=u64::from(u32::MAX)))]
    since: Option<u32>,
    /// Leave out what changed before this day [default: the day the plan begins to differ]
    #[arg(long, value_name = "DATE", value_parser = dates::parse, requires = "changes")]
    from: Option<NaiveDate>,
    /// Write the changes as a page to print, out/changes.html
    #[arg(long, requires = "changes")]
    page: bool,
    /// Paper to print the page on
    #[arg(long, value_enum, requires = "page", default_value_t = PaperChoice::A4)]
    paper: PaperChoice,
}

/// What is told where the plan is not shown as it was made.
const AS_IT_STANDS: &str = "Shown as it stands: what was recorded is counted in, weighed masses stand in place of planned ones, and what \
    is still to come is counted with them. With --as-planned the plan is shown as it was made.";

impl Show {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let (opened, plan) = self.folder.planned(screen)?;
        let (whole, look) = (&opened.read.term, &screen.look);
        if self.changes {
            return self.tell_changes(&opened, &plan, screen);
        }
        let shown = if self.as_planned { plan.clone() } else { opened.as_expected(&plan, dates::today()) };
        let overtaken = if shown == plan { String::new() } else { look.wrap(AS_IT_STANDS) };
        if let Some(id) = &self.batch {
            let batch = find(&shown.batches, id)?;
            return if screen.json {
                screen.result(&json::batch(whole, batch))
            } else {
                screen.result(&format!("{}{overtaken}", steps::batch(whole, batch, look)))
            };
        }
        let beyond =
            whole.stands_on(&shown).map_or_else(String::new, |found| ahead::text(whole, &found, look));
        let (term, shown) = (&whole.of_its_own(), whole.own_part(&shown));
        let (idle, odds) = (idle(term, &whole.own_part(&plan)), Some(&odds::of(&opened, &plan)));
        if screen.json {
            return screen.result(&json::plan(term, &shown, &idle, odds));
        }
        let proof = if self.proof { summary::proof(&plan, look) } else { String::new() };
        let rhythm = rhythm::table(whole, &plan, look).map_or_else(String::new, |table| format!("{table}\n"));
        screen.result(&format!(
            "{}\n{}\n{rhythm}{}{beyond}{overtaken}{proof}",
            glance::table(term, &shown, odds, look),
            batches::table(term, &shown, look),
            summary::lines(term, &shown, &idle, odds, look)
        ))
    }

    fn tell_changes(&self, opened: &Opened, plan: &Plan, screen: &Screen) -> Result<(), Failure> {
        let before = self.plan_before(plan)?;
        let from = self.from.or(plan.replanned).unwrap_or_else(|| dates::local(plan.made));
        let plans = Plans { before: &before, left: None, after: plan };
        let because = causes(&opened.journal.journal, &before, plan);
        let found = Difference { because, ..difference(&opened.read.term, plans, from) };
        changes::tell(&self.folder, &opened.read.term, &found, self.page.then_some(self.paper), screen)
    }

    /// The plan to compare with: the one asked for, or the last one with a lower number.
    fn plan_before(&self, plan: &Plan) -> Result<Plan, Failure> {
        let files = self.folder.disk();
        let kept = history::numbers(&files)?;
        let number = match self.since {
            Some(number) => number,
            None => kept.into_iter().rfind(|number| *number < plan.revision).ok_or_else(|| {
                Failure::told("there is no plan before this one", "plan again after something changed")
            })?,
        };
        history::read(&files, number)?.ok_or_else(|| {
            Failure::usage(format!("there is no plan {number}"), "see all plans with: sowtide plan --history")
        })
    }
}

pub(super) fn find<'a>(batches: &'a [Batch], id: &str) -> Result<&'a Batch, Failure> {
    batches.iter().find(|batch| batch.id.as_str() == id).ok_or_else(|| {
        Failure::usage(
            format!("there is no batch \"{id}\" in the plan"),
            suggest(id, batches.iter().map(|batch| batch.id.as_str())),
        )
    })
}
