//! A whole term: everything a plan is made from.

pub use super::ahead::Ahead;
use super::calendar::DateSpan;
use super::crop::Crop;
use super::ids::{BatchId, CropId, SiteId, TankId};
pub use super::rules::{LEAST_IN_RHYTHM, Minutes, OneCropTanks, Rhythm, Rules, Weights};
use super::site::{Site, Tank};
use super::supplies::Supplies;
use chrono::NaiveDate;
use std::ops::RangeInclusive;

/// Longest term, in days from the first to the last: a school year with its summer.
pub const LONGEST_TERM: u32 = 400;

/// Everything a plan is made from. Readers of term files check it; for a term made in code [`Term::faults`] does.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    /// What people call it.
    pub name: String,
    /// First day.
    pub start: NaiveDate,
    /// Last day that is planned for: the term's own, or one of the next term where plants may stand on into it; see
    /// [`Term::own_end`].
    pub end: NaiveDate,
    /// How the term goes on, if plants may stand beyond its own last day.
    pub ahead: Option<Ahead>,
    /// The sites, at least one.
    pub sites: Vec<Site>,
    /// Days on which greens are eaten, sorted, one entry a day.
    pub servings: Vec<ServingTarget>,
    /// Crops the plan may use, at least one.
    pub crops: Vec<WantedCrop>,
    /// Limits and wishes that hold everywhere.
    pub rules: Rules,
    /// What already stands at the start.
    pub standing: Vec<Standing>,
    /// Seedlings that can be bought.
    pub arrivals: Vec<Arrival>,
    /// Work that was put off, as the journal says.
    pub put_off: Vec<PutOff>,
    /// Stock, packs and habits of buying.
    pub supplies: Supplies,
    /// Ready-to-eat grams of one serving, if the target is given in servings of one size.
    pub serving_grams: Option<f64>,
}

/// Chances that can be promised of a serving day.
pub const PROMISED: RangeInclusive<f64> = 0.5..=0.95;

/// A serving day and the ready-to-eat mass wanted on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ServingTarget {
    /// The day.
    pub date: NaiveDate,
    /// Grams ready to eat, above 0.
    pub grams: f64,
    /// Chance with which they should be there, after all that may go wrong, but for the share of them that
    /// [`Rules::tolerance`] allows to be missing: one of [`PROMISED`], or 0 if nothing is.
    pub sure: f64,
}

/// Work with a batch that is not done before a later day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PutOff {
    /// The batch.
    pub batch: BatchId,
    /// The day for which it was planned.
    pub from: NaiveDate,
    /// The day on which it is to be done.
    pub until: NaiveDate,
}

/// A crop the plan may use, and how.
#[derive(Debug, Clone, PartialEq)]
pub struct WantedCrop {
    /// Its growing data.
    pub crop: Crop,
    /// Harvest way the user insists on.
    pub way: WayWish,
    /// Where its seed is laid.
    pub sow: SowWish,
    /// Largest share of a serving day's target this crop may cover, 0 to 1.
    pub at_most: f64,
    /// Share of a serving day's target this crop should cover, 0 to 1; what is missing counts as
    /// shortfall.
    pub at_least: f64,
    /// Where the plan may put its plants; anywhere if empty. Plants that grow elsewhere already are left there: see
    /// [`WantedCrop::may_begin_at`].
    pub only_in: Vec<Location>,
}

/// A site, or one of its tanks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Location {
    /// The site.
    pub site: SiteId,
    /// The tank; every tank of the site if absent.
    pub tank: Option<TankId>,
}

impl WantedCrop {
    /// Whether a batch of it may be begun at a site. Seedlings that grow at another site all the same, because they stood
    /// there before that was wished, may go into any tank there.
    pub fn may_begin_at(&self, site: &SiteId) -> bool {
        self.only_in.is_empty() || self.only_in.iter().any(|place| place.site == *site)
    }

    /// Whether its plants may be put into a tank of a site where it may be begun.
    pub fn may_stand_in(&self, site: &SiteId, tank: &TankId) -> bool {
        let covers =
            |place: &Location| place.site == *site && place.tank.as_ref().is_none_or(|other| other == tank);
        self.only_in.is_empty() || self.only_in.iter().any(covers)
    }

    /// Plants of it that find room side by side in a tank of a site; none where it may not or cannot stand.
    pub fn places_in(&self, site: &SiteId, tank: &Tank) -> usize {
        let suits = self.may_stand_in(site, &tank.id) && self.crop.tolerates(tank.ph, tank.ec);
        let room = tank.lid.room_for(self.crop.spacing.value.cm()).filter(|_| suits);
        room.map_or(0, |room| tank.lid.spots(room).len())
    }

    /// Plants of it that find room side by side at a site, in tanks it may be put into; those that are out of use on all of
    /// some days hold none.
    pub fn places_at(&self, site: &Site, days: DateSpan) -> usize {
        let usable = site.tanks.iter().filter(|tank| !tank.is_out_throughout(days));
        usable.map(|tank| self.places_in(&site.id, tank)).sum()
    }
}

/// Harvest way the user insists on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum WayWish {
    /// The plan decides.
    #[default]
    Either,
    /// Only whole heads.
    WholeHead,
    /// Only cut and come again: at least one cut before the plant is pulled.
    Cut,
}

/// Where seed is laid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SowWish {
    /// Only in the nursery.
    #[default]
    Nursery,
    /// Only in the cups of a tank; for crops that allow it.
    InCups,
    /// The plan decides; for crops that allow it.
    Either,
}

/// Seedlings that can be bought.
#[derive(Debug, Clone, PartialEq)]
pub struct Arrival {
    /// Which crop; always one of [`Term::crops`].
    pub crop: CropId,
    /// Where they come.
    pub site: SiteId,
    /// When they come. Unless that is a class day of the site, nobody is there to take them in.
    pub date: NaiveDate,
    /// Their age then, in days since sowing; young enough to be moved.
    pub days: u32,
    /// How many there are, at least 1. The plan buys as many of them as it needs.
    pub plants: u32,
    /// Price of one, in the currency of the supplies.
    pub price: Option<f64>,
}

/// Plants that already stand at the start of the term.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// The batch they belong to.
    pub batch: BatchId,
    /// Which crop; always one of [`Term::crops`].
    pub crop: CropId,
    /// Where.
    pub site: SiteId,
    /// When they were sown.
    pub sown: NaiveDate,
    /// Plants, at least 1.
    pub plants: u32,
    /// How far they are.
    pub stage: Stage,
}

/// How far standing plants are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Stage {
    /// Still in the nursery.
    Nursery,
    /// In a tank.
    Tank {
        /// Which one.
        tank: TankId,
        /// Since when.
        transplanted: NaiveDate,
        /// The holes they stand in, one a plant, if known.
        holes: Vec<u32>,
        /// Date of each cut so far.
        cuts: Vec<NaiveDate>,
    },
}

impl Term {
    /// The wanted crop of that id.
    pub fn crop(&self, id: &CropId) -> Option<&WantedCrop> {
        self.crops.iter().find(|wanted| wanted.crop.id == *id)
    }

    /// The site of that id.
    pub fn site(&self, id: &SiteId) -> Option<&Site> {
        self.sites.iter().find(|site| site.id == *id)
    }

    /// Ready-to-eat grams wanted on a day.
    pub fn wanted_on(&self, day: NaiveDate) -> f64 {
        self.servings.iter().find(|serving| serving.date == day).map_or(0.0, |serving| serving.grams)
    }

    /// The largest chance that any serving day is promised; 0 if nothing is. A batch fails to fill its
    /// places half as often as a day may fail: see [`super::crop::Crop::plugs_for`].
    pub fn sure(&self) -> f64 {
        self.servings.iter().map(|serving| serving.sure).fold(0.0, f64::max)
    }

    /// Promises every serving day the same chance; nothing at 0.
    pub fn promise(&mut self, sure: f64) {
        self.servings.iter_mut().for_each(|serving| serving.sure = sure);
    }

    /// Ready-to-eat grams wanted in the whole term.
    pub fn target_grams(&self) -> f64 {
        self.servings.iter().map(|serving| serving.grams).sum()
    }
}
