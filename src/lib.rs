//! Sowtide plans a term of sowings so that small school tanks yield salad greens every week.
//!
//! The way from a term file to a sheet, in the order of the modules a plan passes through:
//!
//! 1. [`files`] reads a term folder: `term.yaml`, the crop library with the folder's own crops over it, and
//!    calendars of days off. All mistakes are told at once, each with its place and a way to mend it.
//! 2. The result is a [`domain::term::Term`], in a grower's words and without any trace of a file.
//! 3. [`schedule`] makes a [`domain::plan::Plan`] of it: a linear program says what is possible at best, a
//!    search finds whole plants in batches worth sowing, and every plant gets its hole.
//! 4. [`check`] replays the plan day by day. It shares no code with the scheduler and has the last word.
//! 5. [`insight`] finds out why serving days fall short.
//! 6. [`report`] tells all of it: tables, calendars, JSON.
//!
//! [`cli`] puts them together for the command `sowtide`; only there the clock is asked for today.
//!
//! ```
//! use sowtide::{check, files, insight, report, schedule};
//!
//! let read = files::term_file::read("examples/one-room".as_ref()).map_err(|mistakes| mistakes.to_string())?;
//! let options = schedule::Options {
//!     seed: 1,
//!     effort: Some(20),
//!     term_id: "0123456789abcdef".to_owned(),
//!     made: chrono::DateTime::UNIX_EPOCH,
//! };
//! let watch = schedule::Watch { stop: &|| false, report: &|_| {} };
//! let mut plan = schedule::plan(&read.term, None, &options, &watch)?;
//! insight::reasons::explain(&read.term, &mut plan, &watch);
//! assert!(check::check(&read.term, &plan).is_empty());
//!
//! let units = sowtide::domain::units::Units::Metric;
//! let calendar = report::ical::calendar(&read.term, &plan, None, units);
//! assert!(calendar.starts_with("BEGIN:VCALENDAR"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod check;
pub mod cli;
pub mod domain;
pub mod files;
pub mod insight;
pub mod replan;
pub mod report;
pub mod schedule;
