//! `sowtide today`: what to do on a day, after what really happened.

use super::dates;
use super::failure::Failure;
use super::folder::Folder;
use super::screen::Screen;
use super::sites::Sites;
use crate::report::{json, today, words};
use chrono::NaiveDate;
use clap::Args;

/// See what to do today and what stands in trays and tanks, after what was recorded
///
/// Work of days gone by that nobody recorded counts as done as planned, unless both earlier and later work of the same
/// kind was recorded at the same site; then it is shown as overdue.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  sowtide today autumn\n  sowtide today autumn --on 2026-10-08\n  \
        sowtide today autumn --site hall")]
pub(super) struct Today {
    #[command(flatten)]
    folder: Folder,
    /// Another day, such as 2026-10-08 [default: today]
    #[arg(long, value_name = "DATE", value_parser = dates::parse)]
    on: Option<NaiveDate>,
    #[command(flatten)]
    sites: Sites,
}

impl Today {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let (mut opened, mut plan) = self.folder.planned(screen)?;
        let day = self.on.unwrap_or_else(dates::today);
        let now = self.sites.state(&mut opened, &mut plan, day)?;
        let term = &opened.read.term;
        if day < term.start || term.own_end() < day {
            screen.remark(&format!(
                "{} is outside the term, which runs from {} to {}",
                words::long_day(day),
                words::long_day(term.start),
                words::long_day(term.own_end())
            ));
        }
        if screen.json {
            screen.result(&json::state(term, &plan, &now, day, true))
        } else {
            screen.result(&today::list(term, &plan, &now, day, &screen.look))
        }
    }
}
