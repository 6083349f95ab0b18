//! What is measured of single plants.

use super::{BatchId, TankId};

/// One plant that was measured.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Sample {
    /// Height above the lid, cm.
    pub height_cm: Option<Measured>,
    /// Widest spread of the leaves, cm.
    pub width_cm: Option<Measured>,
    /// Leaves, counted.
    pub leaves: Option<Measured>,
    /// Longest root, cm.
    pub longest_root_cm: Option<Measured>,
    /// Mass of what was taken from this plant, grams; of one that stays, of all of it with its roots, without cup and plug.
    pub mass_g: Option<Measured>,
}

/// A measurement, and what the class thought it would be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// The estimate made beforehand, not negative.
    pub estimate: Option<f64>,
    /// What was found, not negative.
    pub found: f64,
}

/// Plants of one batch in one tank that were measured and stay there.
#[derive(Debug, Clone, PartialEq)]
pub struct Measuring {
    /// The batch.
    pub batch: BatchId,
    /// The tank.
    pub tank: TankId,
    /// Numbers of their holes, one a plant, sorted; empty if that is not said.
    pub holes: Vec<u32>,
    /// What was measured, a plant each, at least one.
    pub samples: Vec<Sample>,
}
