//! What the linear program would do, told in terms of the instance.

use super::path::Index;

/// A first harvest worth trying.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Hint {
    pub(crate) candidate: u32,
    pub(crate) day: Index,
    pub(crate) pulled: bool,
    /// Plants the linear program would harvest so.
    pub(crate) plants: f64,
}

/// What the linear program knows before the search.
#[derive(Debug, Clone, Default)]
pub(crate) struct Hints {
    /// First harvests worth trying.
    pub(crate) harvests: Vec<Hint>,
    /// Grams short that even plants that need not be whole leave; in a steady rhythm, those that they leave at its prices.
    pub(crate) short: f64,
}
