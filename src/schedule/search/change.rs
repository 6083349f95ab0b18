//! What a step does.

use super::super::instance::Path;

/// Plants added to (or taken from) a path of a candidate.
#[derive(Debug, Clone, Copy)]
pub(super) struct Change {
    pub(super) candidate: u32,
    pub(super) path: Path,
    pub(super) plants: i32,
}

impl Change {
    pub(super) fn reverse(&self) -> Self {
        Self { plants: -self.plants, ..*self }
    }
}
