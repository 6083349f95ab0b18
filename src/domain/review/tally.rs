//! How many there were of how many, against the figures of the crop library.

use crate::domain::confidence;
use crate::domain::crop::{Figure, Limits};
use std::ops::AddAssign;

/// How far a figure may be off where its crop does not tell, and at least that of plugs, which also fail for other reasons than
/// their seeds (from memory).
const USUAL_BAND: f64 = 0.05;

/// Fewest occasions on which plants were lost that tell of a rate: a pump that stands still once takes a whole tank (from
/// memory).
const FEWEST_TIMES: u32 = 3;

/// A share of the crop library, and from where to where it may lie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// What a plan counts on.
    pub value: f64,
    /// The least it may be.
    pub low: f64,
    /// The most it may be.
    pub high: f64,
}

impl Band {
    /// That of a figure; five points to either side where the crop does not tell how far it may be off.
    #[must_use]
    pub fn of(figure: &Figure<f64>) -> Self {
        let value = figure.value;
        let usual = Limits { low: value - USUAL_BAND, high: (value + USUAL_BAND).min(1.0) };
        let Limits { low, high } = figure.spread.unwrap_or(usual);
        Self { value, low, high }
    }

    /// The share of plugs with a seedling where each has so many seeds, of which this share comes up.
    #[must_use]
    pub fn of_plugs(self, seeds: u32) -> Self {
        let [value, low, high] =
            [self.value, self.low, self.high].map(|seed| 1.0 - (1.0 - seed).powi(seeds as i32));
        Self { value, low: low.min(value - USUAL_BAND), high }
    }

    /// The share of this share.
    #[must_use]
    pub fn times(self, other: Self) -> Self {
        Self { value: self.value * other.value, low: self.low * other.low, high: self.high * other.high }
    }
}

/// Plugs or plants that were counted, of how many, with what the library says of them.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Tally {
    /// How many it was of.
    pub of: u32,
    /// How many it was.
    pub count: u32,
    /// On how many occasions the others were lost, where that is known: what is lost together says as much as one.
    times: Option<u32>,
    /// How many it should have been, and from where to where.
    expected: [f64; 3],
}

/// What a tally tells against the library.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Too little: the limits are further apart than those of the library, which knows more than these numbers; or too much was
    /// lost together.
    TooFew,
    /// Fewer than the library has at the least.
    Fewer,
    /// More than it has at the most.
    More,
    /// No difference can be told, and large ones can be excluded.
    Fits,
}

impl Tally {
    /// So many of so many, where the library has a share.
    #[must_use]
    pub fn new(count: u32, of: u32, band: Band) -> Self {
        let all = f64::from(of);
        let expected = [band.low, band.value, band.high].map(|share| share * all);
        Self { of, count: count.min(of), times: None, expected }
    }

    /// The same where the others were lost on so many occasions.
    #[must_use]
    pub fn lost(self, times: u32) -> Self {
        Self { times: Some(times), ..self }
    }

    /// On how many occasions the others were lost, where that is known.
    #[must_use]
    pub fn times(&self) -> Option<u32> {
        self.times
    }

    /// The share it was. Not a number if nothing was counted.
    #[must_use]
    pub fn share(&self) -> f64 {
        f64::from(self.count) / f64::from(self.of)
    }

    /// The share it should have been, of all crops that were counted together.
    #[must_use]
    pub fn band(&self) -> Band {
        let [low, value, high] = self.expected.map(|sum| sum / f64::from(self.of));
        Band { value, low, high }
    }

    /// Between which limits the share lies that such plugs or plants have in the long run.
    #[must_use]
    pub fn limits(&self) -> Option<Limits<f64>> {
        confidence::share(self.count, self.of)
    }

    /// What it tells; `None` if nothing was counted.
    #[must_use]
    pub fn verdict(&self) -> Option<Verdict> {
        let (Limits { low, high }, band) = (self.limits()?, self.band());
        let together = self.times.is_some_and(|times| times < FEWEST_TIMES);
        Some(if high < band.low {
            if together { Verdict::TooFew } else { Verdict::Fewer }
        } else if low > band.high {
            Verdict::More
        } else if high - low > band.high - band.low {
            Verdict::TooFew
        } else {
            Verdict::Fits
        })
    }
}

impl AddAssign for Tally {
    fn add_assign(&mut self, other: Self) {
        self.of += other.of;
        self.count += other.count;
        self.times = self.times.into_iter().chain(other.times).reduce(|one, more| one + more);
        for (sum, more) in self.expected.iter_mut().zip(other.expected) {
            *sum += more;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::crop::Source;

    const LETTUCE: Band = Band { value: 0.9, low: 0.8, high: 0.97 };

    #[test]
    fn few_plugs_tell_nothing_and_many_do() {
        let told = |count, of| Tally::new(count, of, LETTUCE).verdict();
        assert_eq!(told(0, 0), None);
        assert_eq!(told(5, 6), Some(Verdict::TooFew));
        assert_eq!(told(18, 20), Some(Verdict::TooFew));
        assert_eq!(told(84, 96), Some(Verdict::Fits));
        assert_eq!(told(48, 96), Some(Verdict::Fewer));
        assert_eq!(told(400, 400), Some(Verdict::More));
    }

    #[test]
    fn a_tank_lost_at_once_tells_nothing_of_a_rate() {
        let lost = |times| Tally::new(12, 24, LETTUCE).lost(times);
        assert_eq!([1, 3].map(|times| lost(times).verdict()), [Some(Verdict::TooFew), Some(Verdict::Fewer)]);
        let mut both = lost(1);
        both += Tally::default();
        both += lost(2);
        assert_eq!(both.verdict(), Some(Verdict::Fewer));
    }

    #[test]
    fn crops_counted_together_are_held_against_both_figures() {
        let mut both = Tally::new(9, 10, LETTUCE);
        both += Tally::new(12, 30, Band { value: 0.5, low: 0.4, high: 0.6 });
        assert_eq!((both.count, both.of), (21, 40));
        let Band { value, low, high } = both.band();
        assert!((value - 0.6).abs() < 1e-9 && (low - 0.5).abs() < 1e-9 && (high - 0.6925).abs() < 1e-9);
    }

    /// One less both seeds of 90 % failing: 1 - 0.1 * 0.1; at the best 1 - 0.05 * 0.05, at the least five points fewer.
    #[test]
    fn two_seeds_a_plug_rarely_fail_together() {
        let band = Band::of(&Figure::plain(0.9, Source::FromMemory)).of_plugs(2);
        let shown = [band.value, band.low, band.high].map(|share| format!("{share:.4}"));
        assert_eq!(shown, ["0.9900", "0.9400", "0.9975"]);
    }
}
