//! What one thing more would bring: changes to a term that were tried, and what became of its serving days.

use super::ids::{CropId, SiteId, TankId};
use super::plan::NOTICEABLE;
use chrono::{NaiveDate, Weekday};

/// A change to a term that somebody could make.
#[derive(Debug, Clone, PartialEq)]
pub enum Idea {
    /// One more tank at a site.
    Tank {
        /// The site.
        site: SiteId,
        /// The tank there that it is like.
        like: TankId,
    },
    /// More cells in every nursery.
    Cells {
        /// How many more at each site.
        more: u32,
    },
    /// Class on one more weekday, at every site.
    ClassDay {
        /// Each site's new day.
        days: Vec<(SiteId, Weekday)>,
    },
    /// Somebody works with the plants on a day in a break.
    ComeIn {
        /// The days of each site.
        days: Vec<(SiteId, NaiveDate)>,
    },
    /// One more crop.
    Crop {
        /// The crop, as the library has it.
        crop: CropId,
    },
    /// Bought seedlings at the beginning.
    Bought {
        /// The crop.
        crop: CropId,
        /// Their age, in days.
        age: u32,
        /// For each site, the day on which they come, and how many there are.
        sites: Vec<(SiteId, NaiveDate, u32)>,
    },
    /// Greens that keep longer, as far as their figures call that possible.
    Keeps {
        /// Days longer, at most.
        days: u32,
    },
    /// Batches may be smaller.
    SmallerBatches {
        /// Plants of the smallest batch now.
        from: u32,
        /// Plants of the smallest batch then.
        to: u32,
    },
    /// Less is promised of each serving day.
    LessSure {
        /// Chance promised now.
        from: f64,
        /// Chance promised then.
        to: f64,
    },
}

/// What became of the serving days of a term.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outcome {
    /// Grams missing to the targets in an average term played with luck.
    pub missing: f64,
    /// Serving days that the plan itself meets.
    pub met: u32,
    /// Share of terms in which a serving day reaches its target, on average over the days.
    pub sure: f64,
    /// The same for the least sure of them.
    pub least_sure: f64,
}

/// A change that was tried.
#[derive(Debug, Clone, PartialEq)]
pub struct Tried {
    /// The change.
    pub idea: Idea,
    /// What came of it.
    pub outcome: Outcome,
}

/// All changes that were tried.
#[derive(Debug, Clone, PartialEq)]
pub struct WhatIf {
    /// Serving days of the term.
    pub days: u32,
    /// The term as it is: the middle one of three searches.
    pub as_is: Outcome,
    /// Grams by which the best and the worst of them differ in what is missing: as much less may be mere luck of the search.
    pub luck: f64,
    /// The changes, those of most use first.
    pub tried: Vec<Tried>,
    /// Changes for which there was no time.
    pub untried: Vec<Idea>,
}

impl WhatIf {
    /// Grams less that are missing in an average term; below nought if more are.
    pub fn gain(&self, tried: &Tried) -> f64 {
        self.as_is.missing - tried.outcome.missing
    }

    /// Whether a change brings more than another search for the term as it is might.
    pub fn is_of_use(&self, tried: &Tried) -> bool {
        self.gain(tried) > self.luck.max(NOTICEABLE)
    }
}
