//! How long a person waits: a time limit, Ctrl-C, and a bar that shows how far the work is.

use super::screen::Screen;
use indicatif::{ProgressBar, ProgressStyle};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// Exit code of a program ended by Ctrl-C, by custom of the shells.
const INTERRUPTED: i32 = 130;

/// Listens for Ctrl-C: the first time it asks the search to end with the best plan so far, the second
/// time the program ends at once.
#[derive(Debug, Clone)]
pub(super) struct Interrupt(Arc<AtomicBool>);

impl Interrupt {
    pub(super) fn listen() -> Self {
        let pressed = Arc::new(AtomicBool::new(false));
        let seen = Arc::clone(&pressed);
        // Where no handler can be set, Ctrl-C simply ends the program, and nothing saved is lost.
        let _ = ctrlc::set_handler(move || {
            if seen.swap(true, Ordering::Relaxed) {
                std::process::exit(INTERRUPTED);
            }
        });
        Self(pressed)
    }

    /// Listens anew, so that what comes next is not ended by a Ctrl-C meant for what came before.
    pub(super) fn again(&self) -> Self {
        self.0.store(false, Ordering::Relaxed);
        self.clone()
    }

    pub(super) fn pressed(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

/// A stretch of time.
#[derive(Debug, Clone, Copy)]
pub(super) struct Limit {
    started: Instant,
    most: Duration,
}

impl Limit {
    pub(super) fn seconds(most: u64) -> Self {
        Self { started: Instant::now(), most: Duration::from_secs(most) }
    }

    pub(super) fn is_over(&self) -> bool {
        self.started.elapsed() >= self.most
    }
}

/// A bar on standard error; hidden where nobody would see it.
pub(super) fn bar(screen: &Screen) -> ProgressBar {
    if !screen.shows_progress() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(1000);
    if let Ok(style) = ProgressStyle::with_template("[{bar:24}] {percent:>3}% {elapsed} {msg}") {
        bar.set_style(style.progress_chars("=> "));
    }
    bar.enable_steady_tick(Duration::from_millis(200));
    bar
}
