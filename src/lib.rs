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
//! 5. [`insight`] finds out why serving days fall short and sites have nothing to do.
//! 6. [`replan`] lays the journal of what really happened over the plan: what stands now, what is due.
//! 7. [`report`] tells all of it: tables, calendars, sheets, a page with charts, JSON.
//!
//! [`desk`] puts them together into what people want done, holding the files' lock from reading to saving. The command
//! `sowtide` (module `cli`, behind the feature of that name) is a thin face of it; only there the clock is asked for
//! today. `examples/from_code.rs` plans and records without any file.
//!
//! ```
//! use sowtide::{check, files, insight, report, schedule};
//!
//! let store = files::store::Disk::at("examples/one-room");
//! let read = files::term_file::read(&store).map_err(|mistakes| mistakes.to_string())?;
//! let options = schedule::Options {
//!     seed: 1,
//!     effort: Some(20),
//!     until_stopped: false,
//!     term_id: "0123456789abcdef".to_owned(),
//!     made: chrono::DateTime::UNIX_EPOCH,
//! };
//! let watch = schedule::Watch { stop: &|| false, report: &|_| {}, threads: 2 };
//! let mut plan = schedule::plan(&read.term, None, &options, &watch)?;
//! insight::reasons::explain(&read.term, &mut plan, &watch);
//! assert!(check::check(&read.term, &plan).is_empty());
//!
//! let units = sowtide::domain::units::Units::Metric;
//! let wishes = report::ical::Wishes { units, alarm: None, breaks: true, serving: None };
//! let clock = (read.term.start, options.made);
//! let export = report::ical::export(&read.term, &plan, None, &wishes, clock);
//! assert!(export.calendars[0].text.starts_with("BEGIN:VCALENDAR"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod check;
#[cfg(feature = "cli")]
pub mod cli;
pub mod desk;
pub mod domain;
pub mod files;
pub mod insight;
pub mod replan;
pub mod report;
pub mod schedule;
