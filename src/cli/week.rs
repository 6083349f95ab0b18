//! `sowtide week`: what to do in a week.

use super::dates;
use super::failure::Failure;
use super::folder::Folder;
use super::screen::Screen;
use super::sites::Sites;
use crate::domain::calendar;
use crate::replan::weighed::{counted, outlook};
use crate::report::{json, week, words};
use chrono::NaiveDate;
use clap::Args;

/// See what to sow, move and harvest in a week, site by site
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  sowtide week autumn                   this week\n  \
        sowtide week autumn --of 2026-10-05   the week that holds 5 October 2026")]
pub(super) struct Week {
    #[command(flatten)]
    folder: Folder,
    /// Any day of the week wanted, such as 2026-10-05 [default: today]
    #[arg(long, value_name = "DATE", value_parser = dates::parse)]
    of: Option<NaiveDate>,
    #[command(flatten)]
    sites: Sites,
}

impl Week {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let (mut opened, mut plan) = self.folder.planned(screen)?;
        let (journal, today) = (&opened.journal.journal, dates::today());
        let outlook = outlook(&opened.read.term, &plan, journal, today);
        plan = counted(plan, &outlook, journal, today);
        self.sites.narrow(&mut opened.read.term, &mut plan)?;
        let term = &opened.read.term;
        let day = self.of.unwrap_or_else(dates::today);
        let of = calendar::Week::of(day);
        if of.sunday() < term.start || term.own_end() < of.monday() {
            screen.remark(&format!(
                "{} is outside the term, which runs from {} to {}",
                words::long_day(day),
                words::long_day(term.start),
                words::long_day(term.own_end())
            ));
        }
        if screen.json {
            screen.result(&json::week(term, &plan, of))
        } else {
            screen.result(&week::list(term, &plan, of, &screen.look))
        }
    }
}
