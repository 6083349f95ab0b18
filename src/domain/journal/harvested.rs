//! Greens that were taken, from one tank or several, and weighed together.

use super::Sample;
use crate::domain::growth::Way;
use crate::domain::ids::{BatchId, TankId};

/// Greens taken from plants of one batch on one day, weighed together.
#[derive(Debug, Clone, PartialEq)]
pub struct Harvested {
    /// The batch.
    pub batch: BatchId,
    /// Where the plants stood, each tank once, at least one.
    pub places: Vec<InTank>,
    /// Whether they were cut and left to regrow, or pulled.
    pub way: Way,
    /// What all of them gave together, ready to eat, in grams. May be 0.
    pub grams: f64,
    /// How that was measured, if not by weighing: `2 cups`. Such a mass may be far off.
    pub measured_as: Option<String>,
    /// Plants that were measured one by one.
    pub samples: Vec<Sample>,
}

/// Plants that stood in one tank.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InTank {
    /// The tank.
    pub tank: TankId,
    /// How many, at least 1.
    pub plants: u32,
    /// Numbers of their holes, one a plant, sorted; empty if that is not said.
    pub holes: Vec<u32>,
}

impl Harvested {
    /// Plants harvested in all.
    #[must_use]
    pub fn plants(&self) -> u32 {
        self.places.iter().map(|place| place.plants).fold(0, u32::saturating_add)
    }
}
