//! The largest target that sites can sustain on every serving day alike.

use super::odds::DayOdds;
use chrono::NaiveDate;

/// What sites can sustain.
#[derive(Debug, Clone, PartialEq)]
pub struct Most {
    /// Grams on each serving day.
    pub grams: f64,
    /// The serving days counted on.
    pub days: Vec<NaiveDate>,
    /// Serving days left out, because most crops cannot be ready by then.
    pub too_early: Vec<NaiveDate>,
    /// Chance promised of each day; nought if nothing is.
    pub sure: f64,
    /// The least sure day of the plan found.
    pub least_sure: Option<DayOdds>,
    /// Plans made to find it out.
    pub tried: u32,
    /// Whether there was not time enough to narrow it down.
    pub stopped: bool,
}
