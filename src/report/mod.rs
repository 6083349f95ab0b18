//! From term and plan to text: one file an output, and no decisions.
//!
//! Nothing here reads a file, looks at the clock or prints. What a reader likes to see (units, width of
//! the screen, colour) comes in as a [`Look`]; the same input always gives the same text.

pub mod ahead;
pub mod batches;
mod begin;
pub mod cautions;
pub mod changes;
pub mod compare;
pub mod crops;
pub mod explain;
pub mod glance;
mod grid;
pub mod history;
pub mod ical;
pub mod instructions;
pub mod journal;
pub mod json;
pub mod learned;
mod look;
pub mod most;
pub mod odds;
pub mod page;
pub mod recorded;
pub mod review;
pub mod rhythm;
pub mod sheets;
mod stands;
pub mod status;
pub mod steps;
pub mod summary;
pub mod supply;
mod tank_work;
pub mod today;
pub mod week;
pub mod weighed;
pub mod weights;
pub mod whatif;
pub mod words;
mod work_list;
pub mod workload;

pub use crate::domain::tasks as work;
pub use look::Look;

/// The attributes by which every page says that we wrote it.
pub const GENERATOR: &str = r#"name="generator" content="sowtide""#;
