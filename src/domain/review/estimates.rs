//! What classes thought plants would measure, against what they found.
//!
//! Errors are shares of what was found, as large plants are missed by more than small ones; their mean is called *bias* and
//! their standard deviation *spread*, as J. Bland and D. Altman do where two ways to measure are compared (Lancet 327,
//! 1986, p. 307; on shares see Statistical Methods in Medical Research 8, 1999, p. 135).

use crate::domain::confidence::{self, Mean};
use crate::domain::crop::Limits;
use crate::domain::ids::{BatchId, CropId, SiteId};
use crate::domain::journal::{EntryId, Measured, Sample};
use chrono::NaiveDate;
use std::collections::BTreeSet;
use std::ops::RangeInclusive;

/// Fewest plants of which anything is told. From seven on the limits of a mean are nearer to it than one standard deviation of a
/// single estimate: `t(0.975, 6) / √7 = 0.92`, where six give 1.05.
pub const FEWEST: usize = 7;

/// How many times the measure an estimate is that somebody meant; what lies beyond is taken for a slip of the pen (from memory).
const MEANT: RangeInclusive<f64> = 0.25..=4.0;

/// What is measured of a plant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Quantity {
    /// Height above the lid.
    Height,
    /// Widest spread of the leaves.
    Width,
    /// Leaves.
    Leaves,
    /// Longest root.
    LongestRoot,
    /// Mass of what was taken.
    Mass,
}

/// An estimate of one plant, and what was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Guess {
    /// The entry that tells it.
    pub entry: EntryId,
    /// The day.
    pub day: NaiveDate,
    /// Where: the class.
    pub site: SiteId,
    /// The batch.
    pub batch: BatchId,
    /// Its crop.
    pub crop: CropId,
    /// What was measured.
    pub quantity: Quantity,
    /// The estimate; centimetres, grams or leaves.
    pub estimate: f64,
    /// What was found, above 0.
    pub found: f64,
}

/// How well was estimated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accuracy {
    /// Plants estimated and measured, without slips of the pen.
    pub plants: usize,
    /// What can be told of that; `None` for fewer than [`FEWEST`].
    pub told: Option<Told>,
}

/// What can be told of estimates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Told {
    /// Mean of the errors, as a share of what was found: above 0 if estimates are too high.
    pub bias: f64,
    /// Its limits, as if each plant had been estimated by itself.
    pub limits: Limits<f64>,
    /// Standard deviation of the errors.
    pub spread: f64,
    /// Mean of the errors' sizes, too high or too low alike.
    pub miss: f64,
    /// Earlier against later estimates, if there are enough of either.
    pub halves: Option<Halves>,
}

/// Earlier against later estimates, in two halves of whole days.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Halves {
    /// First day of the later half.
    pub from: NaiveDate,
    /// Mean size of the errors before.
    pub earlier: f64,
    /// The same from that day on.
    pub later: f64,
    /// What that tells.
    pub change: Change,
}

/// To which side estimates lean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lean {
    /// They are too high.
    High,
    /// They are too low.
    Low,
    /// Neither can be told.
    Neither,
}

/// How estimates changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Change {
    /// They came nearer.
    Better,
    /// They went further off.
    Worse,
    /// Neither can be told.
    Neither,
}

impl Quantity {
    /// All of them, in the order in which sheets have them.
    pub const ALL: [Self; 5] = [Self::Height, Self::Width, Self::Leaves, Self::LongestRoot, Self::Mass];

    /// What a sample tells of it.
    #[must_use]
    pub fn of(self, sample: &Sample) -> Option<Measured> {
        match self {
            Self::Height => sample.height_cm,
            Self::Width => sample.width_cm,
            Self::Leaves => sample.leaves,
            Self::LongestRoot => sample.longest_root_cm,
            Self::Mass => sample.mass_g,
        }
    }
}

impl Guess {
    /// By how much the estimate was too high, as a share of what was found.
    #[must_use]
    pub fn error(&self) -> f64 {
        self.estimate / self.found - 1.0
    }

    /// Whether it is so far off that it is taken for a slip of the pen.
    #[must_use]
    pub fn is_slip(&self) -> bool {
        !MEANT.contains(&(self.estimate / self.found))
    }
}

impl Told {
    /// To which side they lean, as far as that can be told.
    #[must_use]
    pub fn lean(&self) -> Lean {
        match self.limits {
            Limits { low, .. } if low > 0.0 => Lean::High,
            Limits { high, .. } if high < 0.0 => Lean::Low,
            _ => Lean::Neither,
        }
    }
}

/// How well was estimated, slips of the pen left out; of one quantity, if it shall mean something.
#[must_use]
pub fn accuracy<'a>(guesses: impl IntoIterator<Item = &'a Guess>) -> Accuracy {
    let mut guesses: Vec<&Guess> = guesses.into_iter().filter(|guess| !guess.is_slip()).collect();
    guesses.sort_by_key(|guess| guess.day);
    let told = if guesses.len() < FEWEST { None } else { told(&guesses) };
    Accuracy { plants: guesses.len(), told }
}

fn told(guesses: &[&Guess]) -> Option<Told> {
    let errors: Vec<f64> = guesses.iter().map(|guess| guess.error()).collect();
    let Mean { mean, deviation, limits } = confidence::mean(&errors)?;
    let miss = average(&sizes(guesses));
    Some(Told { bias: mean, limits, spread: deviation, miss, halves: halves(guesses) })
}

/// Parts guesses, sorted by day, where two halves are as equal as can be.
fn halves(guesses: &[&Guess]) -> Option<Halves> {
    let days: BTreeSet<NaiveDate> = guesses.iter().map(|guess| guess.day).collect();
    let before = |day: NaiveDate| guesses.partition_point(|guess| guess.day < day);
    let from = days.into_iter().min_by_key(|day| (2 * before(*day)).abs_diff(guesses.len()))?;
    let (early, late) = guesses.split_at(before(from));
    if early.len().min(late.len()) < FEWEST {
        return None;
    }
    let (early, late) = (sizes(early), sizes(late));
    let change = match confidence::difference(&early, &late) {
        Some(Limits { low, .. }) if low > 0.0 => Change::Better,
        Some(Limits { high, .. }) if high < 0.0 => Change::Worse,
        _ => Change::Neither,
    };
    Some(Halves { from, earlier: average(&early), later: average(&late), change })
}

fn sizes(guesses: &[&Guess]) -> Vec<f64> {
    guesses.iter().map(|guess| guess.error().abs()).collect()
}

fn average(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Estimates of plants that measure 10, on the day of that number.
    fn guesses(estimates: &[(u32, f64)]) -> Vec<Guess> {
        let guess = |(day, estimate): &(u32, f64)| Guess {
            entry: EntryId(1),
            day: NaiveDate::from_ymd_opt(2026, 10, *day).unwrap(),
            site: SiteId::new("hall"),
            batch: BatchId::new("b001"),
            crop: CropId::new("oakleaf"),
            quantity: Quantity::Height,
            estimate: *estimate,
            found: 10.0,
        };
        estimates.iter().map(guess).collect()
    }

    /// Errors of 1, 2, 3, 0, 2, 2 and 4 tenths: 0.2 on average, squares of 0.1 away from that in all, by hand.
    #[test]
    fn bias_and_spread_are_shares_of_what_was_found() {
        let all = guesses(&[(1, 11.0), (1, 12.0), (1, 13.0), (1, 10.0), (1, 12.0), (1, 12.0), (1, 14.0)]);
        let told = accuracy(&all).told.unwrap();
        assert!((told.bias - 0.2).abs() < 1e-9 && (told.miss - 0.2).abs() < 1e-9);
        assert!((told.spread - (0.1_f64 / 6.0).sqrt()).abs() < 1e-9, "{told:?}");
        assert_eq!((told.lean(), told.halves), (Lean::High, None));
        assert_eq!(accuracy(&all[..6]), Accuracy { plants: 6, told: None });
    }

    #[test]
    fn what_spreads_around_the_truth_leans_to_no_side() {
        let all = guesses(&[(1, 8.0), (1, 12.0), (1, 7.0), (1, 13.0), (1, 10.0), (1, 9.0), (1, 12.0)]);
        assert_eq!(accuracy(&all).told.unwrap().lean(), Lean::Neither);
        assert!(all.iter().all(|guess| !guess.is_slip()));
        assert!(guesses(&[(1, 100.0)])[0].is_slip());
    }

    /// Halves are of whole days, the day of the most estimates included in one of them.
    #[test]
    fn later_estimates_are_held_against_earlier_ones() {
        let mut all: Vec<(u32, f64)> = (0..8).map(|n| (1, if n % 2 == 0 { 14.0 } else { 5.0 })).collect();
        all.extend((0..9).map(|n| (8, if n % 2 == 0 { 10.5 } else { 9.0 })));
        let halves = accuracy(&guesses(&all)).told.unwrap().halves.unwrap();
        assert_eq!((halves.from.to_string().as_str(), halves.change), ("2026-10-08", Change::Better));
        assert!((halves.earlier - 0.45).abs() < 1e-9 && halves.later < 0.08, "{halves:?}");
        let same: Vec<(u32, f64)> = all.iter().map(|(_, estimate)| (1, *estimate)).collect();
        assert_eq!(accuracy(&guesses(&same)).told.unwrap().halves, None);
    }
}
