//! What a serving day hangs on, and what would mend it.

use super::growth::Way;
use super::ids::{BatchId, CropId, SiteId, TankId};
use super::odds::DayOdds;
use super::plan::Shortfall;
use chrono::NaiveDate;

/// A serving day, explained.
#[derive(Debug, Clone, PartialEq)]
pub struct DayExplained {
    /// The day.
    pub date: NaiveDate,
    /// Grams wanted.
    pub target: f64,
    /// Grams planned.
    pub planned: f64,
    /// Why it falls short, if it does.
    pub reason: Option<Shortfall>,
    /// Limits that mend something if nothing but the one is lifted, and the grams it mends, most first. Worked out with plants
    /// that need not be whole; empty if nothing is short, none if there was no time.
    pub mends: Option<Vec<(Shortfall, f64)>>,
    /// What its greens come from, most first.
    pub portions: Vec<Portion>,
    /// How sure it is; none of a day that is past.
    pub odds: Option<DayOdds>,
}

/// Greens of one serving day, from one harvest in one tank.
#[derive(Debug, Clone, PartialEq)]
pub struct Portion {
    /// The batch.
    pub batch: BatchId,
    /// Its crop.
    pub crop: CropId,
    /// Its site.
    pub site: SiteId,
    /// The tank.
    pub tank: TankId,
    /// Day of the harvest.
    pub harvested: NaiveDate,
    /// How it is harvested.
    pub way: Way,
    /// Plants harvested then of which something is served on this day.
    pub plants: u32,
    /// Grams for this serving day.
    pub grams: f64,
}

impl DayExplained {
    /// The tank that the most of the day comes from, with its grams.
    pub fn heaviest_tank(&self) -> Option<(&SiteId, &TankId, f64)> {
        let grams = |site: &SiteId, tank: &TankId| {
            let here = self.portions.iter().filter(|portion| (&portion.site, &portion.tank) == (site, tank));
            here.map(|portion| portion.grams).sum::<f64>()
        };
        let tanks = self.portions.iter().map(|portion| (&portion.site, &portion.tank));
        let tanks = tanks.map(|(site, tank)| (site, tank, grams(site, tank)));
        tanks.max_by(|one, other| one.2.total_cmp(&other.2))
    }
}
