//! `sowtide explain`: why serving days are as they are.

use super::dates;
use super::failure::Failure;
use super::folder::Folder;
use super::odds;
use super::patience::{Interrupt, Limit, bar};
use super::screen::Screen;
use super::search::THREADS;
use crate::domain::plan::Plan;
use crate::insight::explain::explain;
use crate::report::words::day;
use crate::report::{self, json};
use crate::schedule::Watch;
use chrono::NaiveDate;
use clap::Args;

/// Seconds for working out what would mend short days.
const SECONDS: u64 = 120;

/// See why serving days are short or less sure than promised, what would mend them, and what a day is made of
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sowtide explain autumn                    days that are short, or less sure than promised\n  \
        sowtide explain autumn --day 2026-10-15   one day, whatever it gets"
)]
pub(super) struct Explain {
    #[command(flatten)]
    folder: Folder,
    /// Explain this serving day
    #[arg(long, value_name = "DATE", value_parser = dates::parse)]
    day: Option<NaiveDate>,
}

impl Explain {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let (opened, plan) = self.folder.planned(screen)?;
        let term = &opened.read.term;
        self.refuse_other_days(&plan)?;
        let (interrupt, limit) = (Interrupt::listen(), Limit::seconds(SECONDS));
        let stop = || limit.is_over() || interrupt.pressed();
        let watch = Watch { stop: &stop, report: &|_| {}, threads: THREADS };
        let bar = bar(screen);
        bar.set_message("working out what would mend what");
        let days = explain(term, &plan, &odds::of(&opened, &plan), self.day, &watch);
        bar.finish_and_clear();
        if screen.json {
            screen.result(&json::explain(&days))
        } else {
            screen.result(&report::explain::text(&days, term, &plan, &screen.look))
        }
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
