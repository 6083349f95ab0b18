//! How long and where planning searches, and watching it meanwhile.

use super::numbers;
use super::patience::{Interrupt, Limit, bar};
use super::screen::Screen;
use crate::desk;
use crate::report::Look;
use crate::schedule::{Progress, Watch};
use clap::Args;
use indicatif::ProgressBar;
use std::time::{Duration, Instant};

/// Planning works on two, whatever the machine: a second one lets it be ended at any time.
pub(super) const THREADS: usize = 2;

/// Seconds after which a search ends where nobody says how long it may take.
const MOST_SECONDS: u64 = 60;

/// Options of every command that plans.
#[derive(Debug, Args)]
pub(super) struct Search {
    /// Search for this many seconds [default: as long as suits the term's size, and at most 60]
    #[arg(long, value_name = "SECONDS", value_parser = numbers::whole::<u64>(1..=86_400))]
    time_limit: Option<u64>,
    /// Let the search take this many thousand steps [default: what suits the term's size, and more where
    /// much is missing]. Unless time runs out, the same input, seed and number of steps give the same plan in
    /// a folder without one
    #[arg(long, value_name = "THOUSANDS", value_parser = numbers::whole::<u64>(1..=10_000_000))]
    effort: Option<u64>,
    /// Start the search elsewhere; another number may lead to another plan
    #[arg(long, value_name = "NUMBER", default_value_t = 1, value_parser = numbers::whole::<u64>(0..=u64::MAX))]
    seed: u64,
}

/// What a search came to.
pub(super) struct Sought<T> {
    pub(super) found: T,
    /// Seconds it took, to a tenth.
    pub(super) seconds: f64,
    pub(super) interrupt: Interrupt,
}

impl Search {
    /// What was asked for.
    pub(super) fn asked(&self) -> desk::Search {
        let until_stopped = self.time_limit.is_some() && self.effort.is_none();
        desk::Search { seed: self.seed, effort: self.effort, until_stopped }
    }

    /// Searches with a bar on the screen, until time is up or a person presses Ctrl-C.
    pub(super) fn run<T>(&self, screen: &Screen, seek: impl FnOnce(&Watch) -> T) -> Sought<T> {
        self.run_within(MOST_SECONDS, screen, seek)
    }

    /// The same, for other than the usual seconds where nobody says how long it may take.
    pub(super) fn run_within<T>(
        &self,
        seconds: u64,
        screen: &Screen,
        seek: impl FnOnce(&Watch) -> T,
    ) -> Sought<T> {
        let interrupt = Interrupt::listen();
        let bar = bar(screen);
        let limit = Limit::seconds(self.time_limit.unwrap_or(seconds));
        let started = Instant::now();
        let found = seek(&Watch {
            stop: &|| limit.is_over() || interrupt.pressed(),
            report: &|progress| show(&bar, &progress, &screen.look),
            threads: THREADS,
        });
        bar.finish_and_clear();
        Sought { found, seconds: tenths(started.elapsed()), interrupt }
    }
}

fn tenths(time: Duration) -> f64 {
    (time.as_secs_f64() * 10.0).round() / 10.0
}

fn show(bar: &ProgressBar, progress: &Progress, look: &Look) {
    bar.set_position((progress.done.clamp(0.0, 1.0) * 1000.0).round() as u64);
    let best = progress
        .short_grams
        .map_or(String::new(), |grams| format!(", best so far: {} short", look.grams(grams)));
    bar.set_message(format!("{}{best}", progress.phase));
}
