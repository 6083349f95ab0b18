//! What a serving day hangs on and what would mend it, how full a week is, and why a batch has its dates.

use super::calendar::Week;
use super::growth::{DayWindow, Way};
use super::ids::{BatchId, CropId, SiteId, TankId};
use super::odds::DayOdds;
use super::plan::Shortfall;
use super::room::RoomInUse;
use chrono::NaiveDate;
use std::collections::BTreeMap;

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

/// A week, explained.
#[derive(Debug, Clone, PartialEq)]
pub struct WeekExplained {
    /// The week.
    pub week: Week,
    /// Its serving days.
    pub days: Vec<DayExplained>,
    /// The sites in it, in the order of the term.
    pub sites: Vec<SiteWeek>,
}

/// A site in a week.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteWeek {
    /// The site.
    pub site: SiteId,
    /// Days on which class meets.
    pub class_days: Vec<NaiveDate>,
    /// Names of the days off that fall into it.
    pub days_off: Vec<String>,
    /// The most that is in use on any day.
    pub in_use: RoomInUse,
    /// Nursery cells.
    pub cells: u32,
    /// Holes of all tanks.
    pub holes: u32,
    /// Tasks of all kinds.
    pub tasks: u32,
}

/// Why a batch has its dates.
#[derive(Debug, Clone, PartialEq)]
pub struct BatchExplained {
    /// The batch.
    pub batch: BatchId,
    /// Class days on which it could be sown, or come, to be ripe on the day of its first harvest; none if it stood there before the
    /// term, or nothing is harvested of it.
    pub sow_days: Vec<SowDay>,
    /// Its harvests, by day.
    pub harvests: Vec<HarvestExplained>,
}

/// A day on which a batch could be sown.
#[derive(Debug, Clone, PartialEq)]
pub struct SowDay {
    /// The day.
    pub day: NaiveDate,
    /// Days old at the first harvest.
    pub age: u32,
    /// Grams that a plant then gives, if it can be moved in time.
    pub grams: Option<f64>,
    /// Whether it is sown then.
    pub is_planned: bool,
    /// What speaks against it, everything else being as planned.
    pub against: Option<Against>,
}

/// What speaks against sowing on a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Against {
    /// No class day on which the seedlings could be moved at the right age.
    NoMove,
    /// A steady rhythm has no sowing on it, and nothing else is known.
    OffRhythm,
    /// Some other rule of the term, in the checker's words.
    Rule(String),
    /// The tank is out of use.
    Out {
        /// The tank.
        tank: TankId,
    },
    /// Too few holes are free in the tank.
    Holes {
        /// The tank.
        tank: TankId,
        /// The last day on which it is too full.
        day: NaiveDate,
        /// Holes free then.
        free: u32,
        /// Holes needed.
        needed: u32,
    },
}

/// A harvest of a batch.
#[derive(Debug, Clone, PartialEq)]
pub struct HarvestExplained {
    /// The day.
    pub date: NaiveDate,
    /// How.
    pub way: Way,
    /// Which harvest of the plants it is, from 1.
    pub number: u32,
    /// Days since sowing, or since the cut before.
    pub days: u32,
    /// Days at which it may be taken, if the crop says.
    pub allowed: Option<DayWindow>,
    /// Plants.
    pub plants: u32,
    /// Grams for each serving day.
    pub serves: BTreeMap<NaiveDate, f64>,
    /// Ready-to-eat grams that one plant is to give.
    pub plant_grams: f64,
    /// Other class days still to come on which the plants would be of the right age.
    pub other_days: Vec<HarvestDay>,
}

/// A day on which a harvest could be instead.
#[derive(Debug, Clone, PartialEq)]
pub struct HarvestDay {
    /// The day.
    pub day: NaiveDate,
    /// Grams that a plant would then give, all its earlier harvests being as planned; unknown of plants that were cut before the
    /// term.
    pub grams: Option<f64>,
    /// What speaks against it, everything else being as planned.
    pub against: Option<AgainstHarvest>,
}

/// What speaks against harvesting on a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum AgainstHarvest {
    /// A serving day that it is for would be over.
    TooLate {
        /// The serving day.
        serving: NaiveDate,
    },
    /// The greens would not keep until a serving day that they are for.
    NotKept {
        /// The serving day.
        serving: NaiveDate,
        /// Days they keep.
        days: u32,
    },
    /// Others come into the plants' holes before.
    HolesWanted {
        /// Their batch.
        batch: BatchId,
        /// When they come.
        day: NaiveDate,
    },
    /// The time until the next harvest of the plants would be too short or too long.
    NextCut {
        /// When that is.
        day: NaiveDate,
    },
}

impl Against {
    /// How early it stops the plants on their way; the higher, the earlier.
    pub fn rank(&self) -> u32 {
        match self {
            Self::NoMove => 3,
            Self::Out { .. } | Self::Holes { .. } => 2,
            Self::Rule(_) | Self::OffRhythm => 1,
        }
    }
}
