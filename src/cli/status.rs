//! `sowtide status`: how the term stands.

use super::dates;
use super::failure::Failure;
use super::folder::Folder;
use super::screen::Screen;
use super::sites::Sites;
use crate::report::{json, status, words};
use chrono::NaiveDate;
use clap::Args;

/// See how things stand: tanks, trays, every batch with its next step, losses, serving days ahead
///
/// Work of days gone by that nobody recorded counts as done as planned, unless both earlier and later work of the same
/// kind was recorded at the same site; then it is shown as overdue.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  sowtide status autumn\n  sowtide status autumn --on 2026-10-08\n  \
        sowtide status autumn --site hall")]
pub(super) struct Status {
    #[command(flatten)]
    folder: Folder,
    /// Another day, such as 2026-10-08 [default: today]
    #[arg(long, value_name = "DATE", value_parser = dates::parse)]
    on: Option<NaiveDate>,
    #[command(flatten)]
    sites: Sites,
}

impl Status {
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
        if self.sites.are_named() {
            screen.remark("Targets and masses of serving days are those of all sites together.");
        }
        if screen.json {
            screen.result(&json::state(term, &plan, &now, day, false))
        } else {
            screen.result(&status::list(term, &plan, &now, day, &screen.look))
        }
    }
}
