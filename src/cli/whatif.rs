//! `sowtide whatif`: what one thing more would bring.

use super::failure::Failure;
use super::folder::Folder;
use super::odds;
use super::screen::Screen;
use super::search::Search;
use crate::report::{json, whatif};
use crate::schedule::Watch;
use clap::Args;

/// Seconds for trying all changes.
const SECONDS: u64 = 600;

/// See what one thing more would bring: a tank, a class day, a crop, bought seedlings, less to promise
///
/// Each change is tried by planning the whole term anew with it and playing it with luck, a third as long as plan would search;
/// a school takes some minutes. Nothing is saved. Press Ctrl-C once to end with what was tried so far.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  sowtide whatif autumn")]
pub(super) struct WhatIf {
    #[command(flatten)]
    folder: Folder,
    #[command(flatten)]
    search: Search,
}

impl WhatIf {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let files = self.folder.disk();
        let desk = screen.desk(&files);
        let opened = desk.open()?;
        screen.remarks(&opened.read.remarks);
        let asked = self.search.asked();
        let seek = |watch: &Watch| desk.what_if(&opened, &asked, odds::usual_luck(), watch);
        let Some(found) = self.search.run_within(SECONDS, screen, seek).found? else {
            return Err(Failure::told(
                "it was ended before the term as it is was planned, with which to compare",
                "give it more time, such as with --time-limit 1200",
            ));
        };
        if screen.json {
            screen.result(&json::what_if(&found))
        } else {
            screen.result(&whatif::table(&found, &opened.read.term, &screen.look))
        }
    }
}
