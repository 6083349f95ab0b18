//! `sowtide explain`: why serving days, weeks and batches are as they are.

use super::dates;
use super::failure::Failure;
use super::folder::Folder;
use super::odds;
use super::patience::{Interrupt, Limit, bar};
use super::screen::Screen;
use super::search::THREADS;
use super::show::find;
use crate::domain::calendar::{DateSpan, Week};
use crate::domain::plan::Plan;
use crate::domain::term::Term;
use crate::insight::explain::{explain, of_batch, of_week};
use crate::report::words::{day, long_day};
use crate::report::{self, json};
use crate::schedule::Watch;
use chrono::NaiveDate;
use clap::Args;

/// Seconds for working out what would mend short days.
const SECONDS: u64 = 120;

/// See why serving days are short or less sure than promised and what would mend them, and why a day, a week or a batch is as it is
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sowtide explain autumn                    days that are short, or less sure than promised\n  \
        sowtide explain autumn --day 2026-10-15   one day, whatever it gets\n  \
        sowtide explain autumn --week 2026-10-15  the week that holds 15 October 2026, and how full it is\n  \
        sowtide explain autumn --batch b003       why a batch is sown and harvested just then"
)]
pub(super) struct Explain {
    #[command(flatten)]
    folder: Folder,
    /// Explain this serving day
    #[arg(long, value_name = "DATE", value_parser = dates::parse)]
    day: Option<NaiveDate>,
    /// Explain the week that holds this day
    #[arg(long, value_name = "DATE", value_parser = dates::parse, conflicts_with = "day")]
    week: Option<NaiveDate>,
    /// Explain the dates of this batch
    #[arg(long, value_name = "BATCH", conflicts_with_all = ["day", "week"])]
    batch: Option<String>,
}

impl Explain {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let (opened, plan) = self.folder.planned(screen)?;
        self.folder.tell_if_overtaken(&opened, &plan, screen);
        let term = &opened.read.term;
        if let Some(id) = &self.batch {
            let batch = find(&plan.batches, id)?;
            let explained = of_batch(term, &plan, batch, dates::today());
            return if screen.json {
                screen.result(&json::explain_batch(&explained))
            } else {
                screen.result(&report::explain::batch(&explained, term, batch, &screen.look))
            };
        }
        self.refuse_other_days(&plan)?;
        self.refuse_other_weeks(term)?;
        let (interrupt, limit) = (Interrupt::listen(), Limit::seconds(SECONDS));
        let stop = || limit.is_over() || interrupt.pressed();
        let watch = Watch { stop: &stop, report: &|_| {}, threads: THREADS };
        let bar = bar(screen);
        bar.set_message("working out what would mend what");
        let odds = odds::of(&opened, &plan);
        if let Some(day) = self.week {
            let week = of_week(term, &plan, &odds, Week::of(day), &watch);
            bar.finish_and_clear();
            return if screen.json {
                screen.result(&json::explain_week(&week))
            } else {
                screen.result(&report::explain::week(&week, term, &plan, &screen.look))
            };
        }
        let day = self.day.map(|day| DateSpan { first: day, last: day });
        let days = explain(term, &plan, &odds, day, &watch);
        bar.finish_and_clear();
        if screen.json {
            screen.result(&json::explain(&days))
        } else {
            screen.result(&report::explain::text(&days, term, &plan, &screen.look))
        }
    }

    fn refuse_other_weeks(&self, term: &Term) -> Result<(), Failure> {
        let outside = |day: &NaiveDate| {
            Week::of(*day).sunday() < term.start || term.own_end() < Week::of(*day).monday()
        };
        let Some(asked) = self.week.filter(outside) else { return Ok(()) };
        Err(Failure::usage(
            format!("{asked} is outside the term"),
            format!("it runs from {} to {}", long_day(term.start), long_day(term.own_end())),
        ))
    }

    fn refuse_other_days(&self, plan: &Plan) -> Result<(), Failure> {
        let Some(asked) = self.day.filter(|day| plan.servings.iter().all(|serving| serving.date != *day))
        else {
            return Ok(());
        };
        let nearest = plan.servings.iter().map(|serving| serving.date);
        let nearest = nearest.min_by_key(|date| (*date - asked).num_days().abs());
        let help = nearest.map_or("the plan has none".to_owned(), |date| {
            format!("the nearest one is {date}, {}", day(date))
        });
        Err(Failure::usage(format!("{asked} is no serving day of the plan"), help))
    }
}
