//! What weighed harvests say of what is still to come, against the figures of crop and site.

use super::ids::{BatchId, CropId, SiteId};
use super::plan::{Batch, MassFactor, Plan};
use super::term::Term;
use chrono::NaiveDate;
use std::collections::BTreeMap;
use std::ops::RangeInclusive;

/// Factors that can be meant: what weighs more or less than that is a slip of the pen, or something else.
pub const FACTORS: RangeInclusive<f64> = 0.25..=4.0;
/// Share by which masses must differ until it is worth a word, or planning again (common practice, no source).
pub const NOTICEABLE_SHARE: f64 = 0.1;

/// What was weighed of a crop at a site.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighed {
    /// The site.
    pub site: SiteId,
    /// The crop.
    pub crop: CropId,
    /// Plants that were weighed; 0 where only others say something of them.
    pub plants: u32,
    /// Grams they gave.
    pub grams: f64,
    /// Grams they should have given on their days, by the figures of crop and site.
    pub expected: f64,
    /// Whether there is more of it to come.
    pub to_come: bool,
    /// With how much of its mass what is still to come is to be counted.
    pub factor: f64,
}

/// A harvest that weighed less or more than it can have ([`FACTORS`]).
#[derive(Debug, Clone, PartialEq)]
pub struct Slip {
    /// The batch.
    pub batch: BatchId,
    /// The day.
    pub day: NaiveDate,
    /// Share that was weighed of what it should have been.
    pub share: f64,
}

/// A batch that is behind, as somebody judged it by eye.
#[derive(Debug, Clone, PartialEq)]
pub struct Behind {
    /// The batch.
    pub batch: BatchId,
    /// When that was seen.
    pub day: NaiveDate,
    /// As small as it should have been so many days before.
    pub days: u32,
}

/// Plants of a batch that were weighed and stay.
#[derive(Debug, Clone, PartialEq)]
pub struct Stays {
    /// The batch.
    pub batch: BatchId,
    /// The day.
    pub day: NaiveDate,
    /// How many were weighed.
    pub plants: u32,
    /// Share that they weigh of what they should; nothing is counted with it outside [`FACTORS`].
    pub share: f64,
}

/// What is to be expected now.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outlook {
    /// Each crop at each site, sorted, once anything was weighed.
    pub crops: Vec<Weighed>,
    /// With how much of what its crop gives at the site each batch is to be counted of which something was weighed.
    pub batches: BTreeMap<BatchId, f64>,
    /// Batches that are behind and were not weighed since.
    pub behind: Vec<Behind>,
    /// Batches of which plants that stay were weighed since anything was harvested.
    pub stays: Vec<Stays>,
    /// Harvests that cannot have weighed what was recorded, so that nothing is counted with it.
    pub slips: Vec<Slip>,
    /// Grams for each serving day as things stand, weighed ones as far as they are, lost plants left out; empty where nobody
    /// asked for them.
    pub servings: BTreeMap<NaiveDate, f64>,
}

impl Weighed {
    /// Share that was weighed of what should have been.
    #[must_use]
    pub fn share(&self) -> f64 {
        self.grams / self.expected
    }
}

impl Outlook {
    /// Crops at sites of which something was weighed.
    pub fn weighed(&self) -> impl Iterator<Item = &Weighed> {
        self.crops.iter().filter(|crop| crop.plants > 0)
    }

    /// What is to be expected of the crop of a batch at its site.
    #[must_use]
    pub fn of(&self, batch: &Batch) -> Option<&Weighed> {
        self.crops.iter().find(|crop| (&crop.site, &crop.crop) == (&batch.site, &batch.crop))
    }

    /// With how much of what its figures say a batch is to be counted.
    #[must_use]
    pub fn factor(&self, batch: &Batch) -> f64 {
        let own = self.batches.get(&batch.id).copied().unwrap_or(1.0);
        own * self.of(batch).map_or(1.0, |crop| crop.factor)
    }

    /// With how much of what a plan counts on a batch of it is to be counted now.
    #[must_use]
    pub fn against(&self, plan: &Plan, batch: &Batch) -> f64 {
        self.factor(batch) / plan.counts_with(batch)
    }
}

impl Term {
    /// Counts crops and batches at sites with what was weighed, and with nothing else.
    pub fn count_with(&mut self, factors: &[MassFactor]) {
        for site in &mut self.sites {
            (site.mass_factors, site.batch_mass_factors) = (BTreeMap::new(), BTreeMap::new());
            for own in factors.iter().filter(|own| own.site == site.id) {
                match &own.batch {
                    None => _ = site.mass_factors.insert(own.crop.clone(), own.factor),
                    Some(id) => _ = site.batch_mass_factors.insert(id.clone(), own.factor),
                }
            }
        }
    }
}

impl Plan {
    /// With how much of what its figures say it counts a batch because of weighed harvests.
    #[must_use]
    pub fn counts_with(&self, batch: &Batch) -> f64 {
        let meant = |own: &&MassFactor| {
            (&own.site, &own.crop) == (&batch.site, &batch.crop)
                && own.batch.as_ref().is_none_or(|id| *id == batch.id)
        };
        self.mass_factors.iter().filter(meant).map(|own| own.factor).product()
    }
}
