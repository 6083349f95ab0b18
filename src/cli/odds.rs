//! `sowtide odds`: how sure the plan is.

use super::dates;
use super::failure::Failure;
use super::folder::Folder;
use super::numbers;
use super::screen::Screen;
use super::search::THREADS;
use crate::desk::Opened;
use crate::domain::luck::Trouble;
use crate::domain::odds;
use crate::domain::plan::Plan;
use crate::insight::odds::Luck;
use crate::report::{self, json};
use clap::Args;

/// Terms played where nobody says how many.
const RUNS: u32 = 2000;

/// See how sure the plan is: the term played many times, with seeds, plants and tanks that fail
///
/// Once the term has begun, the rest of it is played from what stands, as far as the journal tells.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  sowtide odds autumn")]
pub(super) struct Odds {
    #[command(flatten)]
    folder: Folder,
    /// Play the term so many times
    #[arg(long, value_name = "NUMBER", default_value_t = RUNS, value_parser = numbers::whole::<u32>(100..=100_000))]
    runs: u32,
    /// Play with other luck; the same number gives the same odds
    #[arg(long, value_name = "NUMBER", default_value_t = 1, value_parser = numbers::whole::<u64>(0..=u64::MAX))]
    seed: u64,
}

impl Odds {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let (opened, plan) = self.folder.planned(screen)?;
        let found =
            opened.odds(&plan, dates::today(), Luck { runs: self.runs, seed: self.seed, ..usual_luck() });
        if screen.json {
            screen.result(&json::odds(&found))
        } else {
            screen.result(&report::odds::table(&found, &screen.look))
        }
    }
}

/// How sure a plan is from today on, to be told beside it.
pub(super) fn of(opened: &Opened, plan: &Plan) -> odds::Odds {
    opened.odds(plan, dates::today(), usual_luck())
}

pub(super) fn usual_luck() -> Luck {
    Luck { runs: RUNS, seed: 1, threads: THREADS, trouble: Trouble::default() }
}
