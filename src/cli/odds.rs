//! `sowtide odds`: how sure the plan is.

use super::dates;
use super::failure::Failure;
use super::folder::Folder;
use super::numbers;
use super::screen::Screen;
use super::search::THREADS;
use crate::insight::odds::{Luck, Trouble, odds};
use crate::replan::{carried, first_open_day};
use crate::report::{self, json};
use clap::Args;

/// See how sure the plan is: the term played many times, with seeds, plants and tanks that fail
///
/// Once the term has begun, the rest of it is played from what stands, as far as the journal tells.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  sowtide odds autumn")]
pub(super) struct Odds {
    #[command(flatten)]
    folder: Folder,
    /// Play the term so many times
    #[arg(long, value_name = "NUMBER", default_value_t = 2000, value_parser = numbers::whole::<u32>(100..=100_000))]
    runs: u32,
    /// Play with other luck; the same number gives the same odds
    #[arg(long, value_name = "NUMBER", default_value_t = 1, value_parser = numbers::whole::<u64>(0..=u64::MAX))]
    seed: u64,
}

impl Odds {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let (opened, known) = self.folder.planned(screen)?;
        let (term, journal) = (&opened.read.term, &opened.journal.journal);
        let today = first_open_day(journal, dates::today());
        let begun = today > term.start;
        let plan = if begun { carried(term, &known, journal, today) } else { known };
        let luck = Luck { runs: self.runs, seed: self.seed, threads: THREADS, trouble: Trouble::default() };
        let found = odds(term, &plan, begun.then_some(today), luck);
        if screen.json {
            screen.result(&json::odds(&found))
        } else {
            screen.result(&report::odds::table(&found, &screen.look))
        }
    }
}
