//! What a plan is made with, and why there may be none.

use crate::domain::ids::BatchId;
use chrono::{DateTime, Utc};

/// What a plan is made with, apart from the term.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Options {
    /// Seed of the search's random numbers; the same seed and effort give the same plan.
    pub seed: u64,
    /// Thousands of steps the search takes; by default a number that suits the term's size, and more where
    /// much is missing then.
    pub effort: Option<u64>,
    /// Whether the search goes on, from other beginnings, until it is stopped.
    pub until_stopped: bool,
    /// Identity of the term's plans, kept from the first one on.
    pub term_id: String,
    /// The moment the plan is made.
    pub made: DateTime<Utc>,
}

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ScheduleError {
    /// Plants that already stand find no way to a harvest.
    #[error(
        "{plants} of the plants of batch {batch}, which already stand at the start, cannot be kept until a harvest: \
         no class day, hole or water is left for them, or their tank would not be cleaned in time. Harvest them before the term, or take them out of \
         `standing` in term.yaml"
    )]
    Standing {
        /// Their batch.
        batch: BatchId,
        /// How many find no way.
        plants: u32,
    },
    /// The term cannot be meant; readers of term files rule that out.
    #[error("this term cannot be planned: {}", .0.join("; "))]
    Unsound(Vec<String>),
}
