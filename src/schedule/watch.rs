//! How planning is watched, and ended early.

use std::fmt;

/// How planning is watched and ended early.
pub struct Watch<'a> {
    /// Asked often; once it says yes, the best plan so far is returned.
    pub stop: &'a (dyn Fn() -> bool + Sync),
    /// Told how far planning is.
    pub report: &'a (dyn Fn(Progress) + Sync),
    /// Threads to work on, at least 1. How many makes no difference to a plan, but where there is only one, a linear
    /// program at work cannot be ended early.
    pub threads: usize,
}

/// How far planning is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// What is being done.
    pub phase: Phase,
    /// Share of the phase that is done, 0 to 1.
    pub done: f64,
    /// Grams short in the best plan so far.
    pub short_grams: Option<f64>,
    /// Points the best plan so far costs.
    pub points: Option<f64>,
}

/// What planning is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Phase {
    /// Working out how good a plan can be at best.
    Bound,
    /// Looking for the plan.
    Search,
    /// Giving every plant its hole.
    Holes,
}

impl fmt::Display for Phase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Bound => "working out what is possible",
            Self::Search => "trying out sowings",
            Self::Holes => "giving every plant its hole",
        })
    }
}
