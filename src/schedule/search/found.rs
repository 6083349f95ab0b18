//! What the search finds, in terms of the instance.

use super::super::instance::Path;
use super::super::supply::Taken;
use crate::domain::lid::Spot;

/// The best plan found, in terms of the instance it was found on.
pub(in crate::schedule) struct Found {
    pub(in crate::schedule) batches: Vec<FoundBatch>,
    /// What each serving takes.
    pub(in crate::schedule) taken: Vec<Taken>,
    pub(in crate::schedule) points: f64,
    /// Whether it was ended early.
    pub(in crate::schedule) stopped: bool,
}

/// A batch of the plan.
pub(in crate::schedule) struct FoundBatch {
    /// Number of its candidate.
    pub(in crate::schedule) candidate: usize,
    pub(in crate::schedule) parts: Vec<FoundPart>,
}

/// Plants on one path, each in its place; none for plants lost in the nursery.
pub(in crate::schedule) struct FoundPart {
    pub(in crate::schedule) path: Path,
    pub(in crate::schedule) plants: u32,
    pub(in crate::schedule) places: Vec<Spot>,
}
