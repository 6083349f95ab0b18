//! `sowtide review`: looking back on a term.

use super::dates;
use super::failure::Failure;
use super::folder::Folder;
use super::output;
use super::screen::Screen;
use super::sheets::PaperChoice;
use super::sites::Sites;
use crate::desk::Reviewed;
use crate::files::store::Store;
use crate::report::words::and;
use crate::report::{json, review};
use chrono::NaiveDate;
use clap::Args;

/// Where the page goes within a term's folder.
const PAGE: &str = "out/review.html";

/// Look back: estimates against what was measured, harvests against the plan, what came up, what was lost
///
/// Tells how far the classes' estimates of height, width, leaves, longest root and mass were too high or too low, how far they
/// spread and whether they got better; what was planned, weighed and never recorded of each batch, crop and site; how many
/// plugs came up and how many plants lived, against the crop library; and why others were lost. Where numbers are too few to tell
/// anything, that is said. Entries that were corrected or withdrawn do not count.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  sowtide review autumn\n  sowtide review autumn --on 2026-10-08 --site hall\n  \
        sowtide review autumn --page --paper letter   a page for the wall of each class, out/review.html"
)]
pub(super) struct Review {
    #[command(flatten)]
    folder: Folder,
    /// Look back from this day, such as 2026-10-08 [default: today]
    #[arg(long, value_name = "DATE", value_parser = dates::parse)]
    on: Option<NaiveDate>,
    #[command(flatten)]
    sites: Sites,
    /// Write a page for the class wall, a sheet for each site, out/review.html
    #[arg(long)]
    page: bool,
    /// Paper to print the page on
    #[arg(long, value_enum, requires = "page", default_value_t = PaperChoice::A4)]
    paper: PaperChoice,
}

impl Review {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let (opened, plan) = self.folder.planned(screen)?;
        let files = self.folder.disk();
        let until = self.on.unwrap_or_else(dates::today);
        let Reviewed { mut review, unread } = screen.desk(&files).review(&opened, &plan, until)?;
        let mut term = opened.read.term;
        let sites: Vec<_> = self.sites.of(&term)?.into_iter().map(|site| site.id.clone()).collect();
        term.sites.retain(|site| sites.contains(&site.id));
        review.keep_sites(|site| sites.contains(site));
        if !unread.is_empty() {
            let list: Vec<String> = unread.iter().map(ToString::to_string).collect();
            screen.remark(&format!(
                "Earlier plans are not kept or cannot be read, so that batches of theirs are held against a later plan: {}.",
                and(&list)
            ));
        }
        if !self.page {
            return screen.result(&if screen.json {
                json::review(&review)
            } else {
                review::table(&term, &review, &screen.look)
            });
        }
        let page = review::wall::page(&term, &plan, &review, &screen.look, self.paper.paper());
        let path = files.shown(PAGE);
        output::write(&files.path(PAGE), output::Kind::Page, &page)?;
        if screen.json { screen.result(&json::written(&[path])) } else { screen.result(&format!("{path}\n")) }
    }
}
