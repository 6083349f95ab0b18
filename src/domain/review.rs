//! Looking back on a term: how well was estimated, what was harvested of what was planned, what came up and what was lost.

mod estimates;
mod tally;

pub use estimates::{Accuracy, Change, FEWEST, Guess, Halves, Lean, Quantity, Told, accuracy};
pub use tally::{Band, Tally, Verdict};

use super::ids::{BatchId, CropId, SiteId};
use super::journal::Place;
use super::plan::NOTICEABLE;
use super::state::Step;
use super::weighed::Slip;
use chrono::NaiveDate;
use std::collections::BTreeMap;
use std::ops::AddAssign;

/// A term, or the part of it that is over.
#[derive(Debug, Clone, PartialEq)]
pub struct Review {
    /// The day up to which it tells, that one included.
    pub until: NaiveDate,
    /// What was estimated and then measured, by day.
    pub guesses: Vec<Guess>,
    /// What came of every batch, those included that were planned when they should have been sown but no longer are.
    pub batches: Vec<BatchReview>,
    /// Plugs and plants lost, by day.
    pub losses: Vec<Loss>,
    /// Planned harvests that seem not to be done: others at their site were recorded before and after them.
    pub undone: Vec<Step>,
    /// Harvests that cannot have weighed what was recorded.
    pub slips: Vec<Slip>,
}

/// What came of a batch.
#[derive(Debug, Clone, PartialEq)]
pub struct BatchReview {
    /// Which one.
    pub batch: BatchId,
    /// Its crop.
    pub crop: CropId,
    /// Where.
    pub site: SiteId,
    /// What came of it.
    pub outcome: Outcome,
}

/// What came of one batch or of many.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Outcome {
    /// What it gave.
    pub mass: Masses,
    /// Plugs in which a seedling came up, of those that were counted.
    pub came_up: Tally,
    /// Seedlings fit to move, of those that came up.
    pub kept: Tally,
    /// The same of all plugs that were sown: germination and nursery together.
    pub fit: Tally,
    /// Plants that lived to be harvested, of those moved into tanks of which that is settled.
    pub lived: Tally,
    /// Plants among these whose harvest nobody recorded: it counts as done as planned.
    pub assumed: u32,
    /// Plants that count as not having lived though nobody recorded a loss: their last planned harvest was recorded without them.
    pub missing: u32,
}

/// Ready-to-eat grams.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Masses {
    /// Planned until the day, as the plan told it when the batch was to be sown.
    pub planned: f64,
    /// Weighed and recorded.
    pub weighed: f64,
    /// Planned for harvests that nobody recorded, be it that they count as done or not.
    pub unrecorded: f64,
    /// What the plants that were weighed should have given on their days, by the figures of crop and site.
    pub by_figures: f64,
}

/// Plugs or plants of a batch that were lost alike.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Loss {
    /// The day.
    pub day: NaiveDate,
    /// The batch.
    pub batch: BatchId,
    /// Its crop.
    pub crop: CropId,
    /// Its site.
    pub site: SiteId,
    /// Where they stood.
    pub place: Place,
    /// How many.
    pub plants: u32,
    /// Why; `None` if no entry says so.
    pub cause: Option<String>,
}

/// What was lost for one reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cause<'a> {
    /// The reason, as it was first written; `None` where nobody did.
    pub cause: Option<&'a str>,
    /// Plugs lost in nurseries.
    pub in_nursery: u32,
    /// Plants lost in tanks.
    pub in_tanks: u32,
    /// How often that happened.
    pub times: u32,
}

impl Masses {
    /// Share that was weighed of what was planned, without what nobody recorded; `None` where that is all there is.
    #[must_use]
    pub fn of_plan(&self) -> Option<f64> {
        let told = self.planned - self.unrecorded;
        let is_told = self.weighed > 0.0 || self.unrecorded < NOTICEABLE;
        (is_told && told >= NOTICEABLE).then(|| self.weighed / told)
    }

    /// Share that was weighed of what the figures of crop and site say of these plants; `None` if none were weighed.
    #[must_use]
    pub fn of_figures(&self) -> Option<f64> {
        (self.by_figures > 0.0).then(|| self.weighed / self.by_figures)
    }

    /// Whether anything was planned or weighed.
    #[must_use]
    pub fn is_told(&self) -> bool {
        self.planned.max(self.weighed) >= NOTICEABLE
    }
}

impl AddAssign for Outcome {
    fn add_assign(&mut self, other: Self) {
        self.mass.planned += other.mass.planned;
        self.mass.weighed += other.mass.weighed;
        self.mass.unrecorded += other.mass.unrecorded;
        self.mass.by_figures += other.mass.by_figures;
        self.came_up += other.came_up;
        self.kept += other.kept;
        self.fit += other.fit;
        self.lived += other.lived;
        self.assumed += other.assumed;
        self.missing += other.missing;
    }
}

impl Review {
    /// Leaves only what was at these sites.
    pub fn keep_sites(&mut self, wanted: impl Fn(&SiteId) -> bool) {
        self.guesses.retain(|guess| wanted(&guess.site));
        self.batches.retain(|batch| wanted(&batch.site));
        self.losses.retain(|loss| wanted(&loss.site));
        self.undone.retain(|step| wanted(&step.site));
        let left = &self.batches;
        self.slips.retain(|slip| left.iter().any(|batch| batch.batch == slip.batch));
    }

    /// What came of all batches with the same key, such as their crop.
    #[must_use]
    pub fn by<'a, K: Ord>(&'a self, key: impl Fn(&'a BatchReview) -> K) -> BTreeMap<K, Outcome> {
        let mut sums: BTreeMap<K, Outcome> = BTreeMap::new();
        for batch in &self.batches {
            *sums.entry(key(batch)).or_default() += batch.outcome;
        }
        sums
    }

    /// What came of all of them.
    #[must_use]
    pub fn in_all(&self) -> Outcome {
        self.by(|_| ()).into_values().next().unwrap_or_default()
    }

    /// Losses by cause, the largest first. Words count as the same whatever their capitals.
    #[must_use]
    pub fn causes(&self) -> Vec<Cause<'_>> {
        let mut causes: BTreeMap<Option<String>, Cause<'_>> = BTreeMap::new();
        for loss in &self.losses {
            let cause = loss.cause.as_deref().map(str::trim);
            let sum = causes.entry(cause.map(str::to_lowercase)).or_insert(Cause {
                cause,
                in_nursery: 0,
                in_tanks: 0,
                times: 0,
            });
            match loss.place {
                Place::Nursery => sum.in_nursery += loss.plants,
                Place::Tank(_) => sum.in_tanks += loss.plants,
            }
            sum.times += 1;
        }
        let mut causes: Vec<Cause<'_>> = causes.into_values().collect();
        causes.sort_by_key(|cause| std::cmp::Reverse(cause.in_nursery + cause.in_tanks));
        causes
    }
}
