//! Numbers that tell the tasks of a batch apart.
//!
//! A task's number is given once and kept, whatever becomes of its day and of its neighbours: calendars know the task
//! by it. Numbers of tasks that are gone never come back. [`super::same_tasks`] hands them on from plan to plan.

use super::ids::BatchId;
use chrono::NaiveDate;
use std::collections::BTreeMap;
use std::fmt;

/// Kind of a task.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum TaskKind {
    /// Sowing plugs.
    Sow,
    /// Moving plants from nursery to tank.
    Transplant,
    /// Cutting or pulling plants.
    Harvest,
}

impl TaskKind {
    /// All of them, in the order in which a plant meets them.
    pub const ALL: [Self; 3] = [Self::Sow, Self::Transplant, Self::Harvest];

    /// Its turn on a class day: a harvest empties the holes that seedlings move to, and these leave the cells to be sown into.
    #[must_use]
    pub fn turn(self) -> u8 {
        match self {
            Self::Harvest => 0,
            Self::Transplant => 1,
            Self::Sow => 2,
        }
    }
}

impl fmt::Display for TaskKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Sow => "sow",
            Self::Transplant => "transplant",
            Self::Harvest => "harvest",
        })
    }
}

/// The numbers of a batch's tasks by kind and day, from 1, each once within its kind.
pub type TaskNumbers = BTreeMap<(TaskKind, NaiveDate), u32>;

/// The highest number given to the tasks of a batch, by batch and kind.
pub type LastTaskNumbers = BTreeMap<(BatchId, TaskKind), u32>;
