//! How far what comes of a plan differs from what it says, for whoever plays terms and whoever plans a reserve.
//!
//! What differs, each from the figures of the crop library:
//!
//! - plugs that give a seedling fit to transplant, and transplants that live: binomial;
//! - how fast a batch grows, and what it weighs then, for all its plants alike: together as much as batches differ;
//! - plants within a batch: half of their variance is shared by all that stand in a tank at a time ([`SHARED`]);
//! - tanks in trouble ([`Trouble`]).

use super::crop::{Crop, GrowthCurve};
use super::growth::Growing;
use super::plan::Origin;
use std::ops::Range;

/// Share of the variance between plants that all in a tank have in common.
///
/// On commercial towers most of the spread between plants was one of places (189 sections of 11 to 13 plants, two runs,
/// 2020, open data), and one side of a glasshouse compartment was 3.5 to 15 % heavier than the other, always the same one
/// (the experiment named at [`super::crop::SEEDLING_RATE`]). Who takes plants for independent is far too sure of himself.
pub const SHARED: f64 = 0.5;

/// Shares of its mass that are left to a plant in trouble (from memory).
pub const LEFT: Range<f64> = 0.5..0.9;

/// How often a tank is in trouble while it is not once empty.
///
/// In 2 to 5 of a hundred such stretches something is wrong with the roots, and everything in the tank weighs half to nine tenths
/// of what it should, often unseen; in one of a hundred to two hundred all that stands there is lost (both from memory). A
/// hidden root infection cost lettuce 35 to 54 % of its mass at 18 °C and 12 to 17 % at 28 °C (M. Stanghellini and
/// W. Kronland, Plant Disease 70, 1986, p. 1053).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trouble {
    /// Chance that its plants weigh less, 0 to 1.
    pub suffers: f64,
    /// Chance that all of them are lost on one of its days, 0 to 1.
    pub lost: f64,
}

impl Default for Trouble {
    fn default() -> Self {
        Self { suffers: 0.035, lost: 0.007_5 }
    }
}

impl Trouble {
    /// Share of its mass that a tank has on average, where all that may be lost is lost before the harvest.
    pub fn mean(self) -> f64 {
        self.moments().0
    }

    /// Variance of that share.
    pub fn variance(self) -> f64 {
        let (mean, square) = self.moments();
        square - mean * mean
    }

    /// Mean of the share that is left, and of its square.
    fn moments(self) -> (f64, f64) {
        let middle = f64::midpoint(LEFT.start, LEFT.end);
        let square = middle * middle + (LEFT.end - LEFT.start).powi(2) / 12.0;
        let well = 1.0 - self.suffers - self.lost;
        (well + self.suffers * middle, well + self.suffers * square)
    }
}

/// How the mass of plants at a harvest depends on their pace.
#[derive(Debug, Clone, Copy)]
pub struct Pacing<'c> {
    curve: &'c GrowthCurve,
    /// Their age at the harvest, in library days.
    age: f64,
    /// Library days they have grown since sowing, or since the cut before.
    days: f64,
}

impl<'c> Pacing<'c> {
    /// Plants that weigh so many grams, so many days after they were sown or, if it is not their first harvest, cut.
    pub fn new(growing: &Growing<'c>, (days, is_first): (u32, bool), standing_grams: f64) -> Self {
        let curve = &growing.crop.growth.value;
        let days = f64::from(days) / growing.pace;
        let standing = curve.age_at(standing_grams);
        // Beyond the curve's end a plant stays as it is, however long it has stood.
        let is_full = is_first && standing_grams >= curve.full_grams();
        Self { curve, age: if is_full { days.max(standing) } else { standing }, days }
    }

    /// Their mass against the planned one, if growing takes `late` times its days longer.
    pub fn share(&self, late: f64) -> f64 {
        self.curve.grams_at(self.age - late * self.days) / self.curve.grams_at(self.age)
    }

    /// Coefficient of variation of their mass that comes of a standard deviation of their pace.
    pub fn of_pace(&self, pace: f64) -> f64 {
        let at = |late: f64| self.curve.grams_at(self.age - late * self.days);
        (at(-pace) / at(pace)).ln() / 2.0
    }

    /// Mean of their mass against the planned one, and its standard deviation, where their pace is normally distributed. Who
    /// plans with full-grown plants loses by slow ones and gains nothing by fast ones, so that the mean is below 1.
    ///
    /// By Gauss-Hermite integration at three points (M. Abramowitz and I. Stegun, Handbook of Mathematical Functions, 1964,
    /// table 25.10, n = 3).
    pub fn moments(&self, pace: f64) -> (f64, f64) {
        let at = 3.0_f64.sqrt() * pace;
        let (slow, fast) = (self.share(at), self.share(-at));
        let mean = (slow + 4.0 + fast) / 6.0;
        let square = (slow * slow + 4.0 + fast * fast) / 6.0;
        (mean, (square - mean * mean).max(0.0).sqrt())
    }
}

/// How far the harvests of a crop spread, against what is to be expected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Standard deviation of a batch's days to a mass, as a share of them.
    pub pace: f64,
    /// Standard deviation that all plants of a batch share, unless its pace makes more.
    between_batches: f64,
    /// Standard deviation that all plants in a tank share.
    pub tank: f64,
    /// Variance of each plant alone: of its mass, and of whether it lives.
    pub alone: f64,
}

impl Spread {
    /// The spread of a crop's harvests, from plants that began so.
    pub fn of(crop: &Crop, origin: Origin) -> Self {
        let variation = &crop.variation.value;
        let plants = variation.between_plants.powi(2);
        let lives = origin.survival(crop);
        Self {
            pace: variation.days / f64::from(crop.usual_days()),
            between_batches: variation.between_batches,
            tank: (plants * SHARED).sqrt(),
            alone: plants * (1.0 - SHARED) + (1.0 - lives) / lives,
        }
    }

    /// Plants that differ by tank, and alone, but not by batch.
    #[cfg(test)]
    pub(crate) fn with(tank: f64, alone: f64) -> Self {
        Self { pace: 0.0, between_batches: 0.0, tank, alone }
    }

    /// Mean of what a batch gives at a harvest, against what is planned, and the standard deviation that all its plants share.
    pub fn batch(&self, pacing: &Pacing<'_>) -> (f64, f64) {
        let (mean, deviation) = pacing.moments(self.pace);
        (mean, deviation.max(self.between_batches))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A factor of 0, of 0.5 to 0.9 alike, and else of 1, summed up by hand.
    #[test]
    fn trouble_takes_what_it_takes_on_average() {
        let trouble = Trouble { suffers: 0.1, lost: 0.2 };
        let mean = 0.7 + 0.1 * 0.7;
        let square = 0.7 + 0.1 * (0.9_f64.powi(3) - 0.5_f64.powi(3)) / 3.0 / 0.4;
        assert!((trouble.mean() - mean).abs() < 1e-12);
        assert!((trouble.variance() - (square - mean * mean)).abs() < 1e-12);
        let none = Trouble { suffers: 0.0, lost: 0.0 };
        assert_eq!((none.mean().to_string(), none.variance().to_string()), ("1".into(), "0".into()));
    }
}
