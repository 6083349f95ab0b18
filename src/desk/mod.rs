//! The desk: what a person wants done with a term's files, as values in and values out.
//!
//! Opening a term, planning it and saving the plan, writing down what happened, planning again, publishing calendars:
//! each is one function here, for whatever face asks for it. A desk knows no terminal and no network; the files come
//! through a [`Store`], day and time through a [`Moment`], seed and threads through [`crate::schedule::Options`]. Only here
//! the store's lock is held, from reading what a decision rests on until the outcome is saved, so that nobody overwrites
//! what somebody else has saved meanwhile.
//!
//! ```
//! use sowtide::desk::{Desk, Moment, Search};
//! use sowtide::files::{new_term, store::Memory};
//! use sowtide::schedule::Watch;
//!
//! let store = Memory::new();
//! let start = chrono::NaiveDate::from_ymd_opt(2026, 9, 7).unwrap();
//! new_term::create(&store, start).map_err(|mistakes| mistakes.to_string())?;
//! let desk = Desk { store: &store, moment: Moment::noon(start), face: &() };
//!
//! let watch = Watch { stop: &|| false, report: &|_| {}, threads: 1 };
//! let search = Search { seed: 1, effort: Some(20), until_stopped: false };
//! let begun = desk.begin_plan("0123456789abcdef", None).map_err(|trouble| trouble.to_string())?;
//! let plan = begun.seek(&search, &watch).map_err(|trouble| trouble.to_string())?;
//! let saved = desk.finish_plan(&begun, &plan).map_err(|trouble| trouble.to_string())?;
//! assert_eq!(saved.plan().revision, 1);
//! # Ok::<(), String>(())
//! ```

mod calendars;
mod draft;
mod import;
mod learn;
mod left_alone;
mod names;
mod next;
mod odds;
mod open;
mod out_of_line;
mod places;
mod plans;
mod put_off;
mod record;
mod replan;
mod review;
mod table;
mod trouble;
mod unfounded;
mod whatif;

pub use calendars::Published;
pub use draft::Draft;
pub use import::{Import, MassUnit, Pairs, date_format, pairs};
pub use learn::{Learning, Written};
pub use names::way;
pub use next::{Next, Onward};
pub use open::Opened;
pub use places::Named;
use plans::refuse_unsound;
pub use plans::{Begun, Finished, History, Search};
pub use record::{Clerk, Recorded};
pub use replan::{Again, BegunAgain, Planned};
pub use review::Reviewed;
pub use trouble::Trouble;

use crate::files::store::{Lock, Store};
use crate::files::term_file;
use chrono::{DateTime, NaiveDate, NaiveTime, Utc};

/// When something is asked for: the day where the user is, and the time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moment {
    /// Today, on the user's calendar.
    pub today: NaiveDate,
    /// Now, to the second: calendars and journals know no parts of it.
    pub now: DateTime<Utc>,
}

/// What is needed to do anything with a term's files.
#[derive(Clone, Copy)]
pub struct Desk<'s> {
    /// The files.
    pub store: &'s dyn Store,
    /// When.
    pub moment: Moment,
    /// Who is told what cannot wait for the outcome.
    pub face: &'s dyn Face,
}

/// Somebody who is told what cannot wait for the outcome. `()` is nobody.
pub trait Face {
    /// Somebody else is at work in the files for long, so nothing happens. Told once.
    fn waits(&self) {}

    /// Something in the files is lost or contradicts itself, as everybody should know who works with them.
    fn warn(&self, warning: &str) {
        let _ = warning;
    }
}

impl Face for () {}

impl Moment {
    /// Noon of a day by universal time, for tests and examples.
    #[must_use]
    pub fn noon(today: NaiveDate) -> Self {
        let noon = NaiveTime::from_hms_opt(12, 0, 0).unwrap_or_default();
        Self { today, now: today.and_time(noon).and_utc() }
    }
}

impl<'s> Desk<'s> {
    /// A command about these files, as people type it: `sowtide plan autumn --history`.
    #[must_use]
    pub fn command(&self, name: &str, options: &str) -> String {
        let folder = self.store.shown("");
        let folder = match folder.as_str() {
            "." => "",
            spaced if spaced.contains(char::is_whitespace) => &format!("\"{spaced}\""),
            plain => plain,
        };
        let words = ["sowtide", name, folder, options];
        words.into_iter().filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
    }

    /// The right to replace files, for as long as it is held.
    fn lock(&self) -> Result<Lock<'s>, Trouble> {
        // Where there is no term, nothing is made, not even a lock.
        term_file::exists(self.store)?;
        self.store.lock(&|| self.face.waits()).map_err(|error| Trouble::locked(&self.store.shown(""), &error))
    }
}
