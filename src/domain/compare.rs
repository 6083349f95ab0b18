//! Ways to grow crops, side by side: what each gives for a hole, a seed and a minute of work.

use super::chance;
use super::ids::{CropId, SiteId};

/// How plants of a crop are harvested from first to last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Style {
    /// Pulled at the first harvest.
    Pulled,
    /// Cut so many times, at least once, and then pulled.
    Cut(u32),
}

/// A figure and how far it spreads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// What plans count on, at least 0.
    pub usual: f64,
    /// What one case in ten stays below.
    pub low: f64,
    /// What one case in ten goes beyond, at least `low`.
    pub high: f64,
}

impl Estimate {
    /// A figure that does not spread.
    pub fn exact(usual: f64) -> Self {
        Self { usual, low: usual, high: usual }
    }

    /// The figure times a number.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        Self { usual: self.usual * factor, low: self.low * factor, high: self.high * factor }
    }

    /// The figure and something that does not spread.
    #[must_use]
    pub fn plus(self, more: f64) -> Self {
        Self { usual: self.usual + more, low: self.low + more, high: self.high + more }
    }

    /// Chance that this comes out above another, each with luck of its own and log-normally distributed: by the logarithm of the
    /// ratio of their middles against what the logarithms spread by.
    pub fn ahead_of(&self, other: &Self) -> f64 {
        let lead = ((self.low * self.high) / (other.low * other.high)).ln() / 2.0;
        let ends = 2.0 * chance::deviations(0.9);
        let spread = ((self.high / self.low).ln() / ends).hypot((other.high / other.low).ln() / ends);
        match (spread > 0.0, lead > 0.0, lead < 0.0) {
            (true, ..) => chance::below(lead / spread),
            // Without any spread, the smallest lead is certain.
            (false, true, _) => 1.0,
            (false, false, true) => 0.0,
            (false, false, false) => 0.5,
        }
    }

    /// Whether the stretches that both spread over have anything in common.
    pub fn overlaps(&self, other: &Self) -> bool {
        self.low <= other.high && other.low <= self.high
    }
}

/// What is compared. Masses are ready to eat, and more is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// Grams for each hole and day on which plants stand there or it rests after them.
    HoleDay,
    /// Grams for each seed sown.
    Seed,
    /// Grams for each minute of class work, by the term's minutes for sowing, moving and harvesting.
    Minute,
}

impl Measure {
    /// All of them, in the order in which they are told.
    pub const ALL: [Self; 3] = [Self::HoleDay, Self::Seed, Self::Minute];
}

/// A crop grown in one way at a site, on the usual days of the crop there.
#[derive(Debug, Clone, PartialEq)]
pub struct Grown {
    /// The crop.
    pub crop: CropId,
    /// Its harvests.
    pub style: Style,
    /// Holes one plant takes: 1, 2 or 4.
    pub holes: u32,
    /// Ages at its harvests, in days from sowing, rising; as many as it has harvests.
    pub harvest_days: Vec<u32>,
    /// Ready-to-eat grams at each harvest, of one plant put into the tank.
    pub harvest_grams: Vec<f64>,
    /// Days in the nursery; none where it is sown straight into cups.
    pub nursery_days: Estimate,
    /// Days in the tank.
    pub tank_days: Estimate,
    /// Days from sowing to the first greens.
    pub first_greens_days: Estimate,
    /// Days from the first harvest until the last greens may be served no longer.
    pub greens_days: Estimate,
    /// Days of these on which no greens are left that may be served, as leaves keep for less than it takes until the next cut.
    pub without_days: u32,
    /// Grams for each hole and day.
    pub hole_day_grams: Estimate,
    /// Grams for each seed.
    pub seed_grams: Estimate,
    /// Grams for each minute of work; `None` if the term's work takes no time.
    pub minute_grams: Option<Estimate>,
}

impl Grown {
    /// The figure for a measure, if there is one.
    pub fn measured(&self, measure: Measure) -> Option<Estimate> {
        match measure {
            Measure::HoleDay => Some(self.hole_day_grams),
            Measure::Seed => Some(self.seed_grams),
            Measure::Minute => self.minute_grams,
        }
    }
}

/// Why a crop does not fit a site, or not well.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Misfit {
    /// No lid there has room for a plant, so it is not compared.
    Room,
    /// On its usual days it cannot be harvested there, so it is not compared.
    Days,
    /// No tank there with room for it keeps a solution that suits it; it is compared as if one did.
    Solution,
}

/// Ways to grow one or two crops, at sites where they all come to the same.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// The sites, at least one.
    pub sites: Vec<SiteId>,
    /// The ways, crop by crop; of two crops only those that are the best of their crop by some [`Measure`].
    pub ways: Vec<Grown>,
    /// What does not fit.
    pub misfits: Vec<(CropId, Misfit)>,
}

/// Which of two ways is ahead.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Verdict<'c> {
    /// The one with the larger figure.
    pub ahead: &'c Grown,
    /// The other one.
    pub behind: &'c Grown,
    /// What they are measured by.
    pub measure: Measure,
    /// The larger figure.
    pub more: Estimate,
    /// The other one.
    pub less: Estimate,
}

/// Chance from which on one way is said to be ahead of another.
const CALLED: f64 = 0.8;

impl Verdict<'_> {
    /// How many times as much the first gives, at least 1.
    pub fn ratio(&self) -> f64 {
        if self.less.usual > 0.0 { self.more.usual / self.less.usual } else { 1.0 }
    }

    /// Chance that it is ahead in a single case, a batch of each.
    pub fn chance(&self) -> f64 {
        self.more.ahead_of(&self.less)
    }

    /// Whether luck could turn it round too easily for anybody to say which is ahead.
    pub fn too_close(&self) -> bool {
        self.chance() < CALLED
    }
}

impl Comparison {
    /// Which is ahead by a measure: of two crops the best way of each; of one crop pulling whole plants or the best way of
    /// cutting them. `None` if there is nothing to choose between.
    pub fn verdict(&self, measure: Measure) -> Option<Verdict<'_>> {
        let first = self.ways.first()?;
        let two_crops = self.ways.iter().any(|way| way.crop != first.crop);
        let beside_first = |way: &&Grown| {
            if two_crops { way.crop == first.crop } else { way.style == Style::Pulled }
        };
        let (ones, others): (Vec<&Grown>, Vec<&Grown>) = self.ways.iter().partition(beside_first);
        let (one, other) = (best(ones, measure)?, best(others, measure)?);
        let (ahead, behind) = if other.1.usual > one.1.usual { (other, one) } else { (one, other) };
        Some(Verdict { ahead: ahead.0, behind: behind.0, measure, more: ahead.1, less: behind.1 })
    }
}

/// The way that gives most by a measure, the first of equal ones, with its figure.
pub fn best<'g>(
    ways: impl IntoIterator<Item = &'g Grown>,
    measure: Measure,
) -> Option<(&'g Grown, Estimate)> {
    let measured = ways.into_iter().filter_map(|way| Some((way, way.measured(measure)?)));
    measured.reduce(|best, next| if next.1.usual > best.1.usual { next } else { best })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A tenth and nine tenths of a log-normal distribution with its middle at 1 and so many logarithms of deviation.
    fn estimate(middle: f64, deviation: f64) -> Estimate {
        let end = (1.281_55 * deviation).exp();
        Estimate { usual: middle, low: middle / end, high: middle * end }
    }

    /// Two equal spreads of 0.2 and middles apart by 0.2 · √2 are one standard deviation apart: 84.13 % of the normal
    /// distribution (M. Abramowitz and I. Stegun, Handbook of Mathematical Functions, 1964, table 26.1).
    #[test]
    fn the_chance_to_be_ahead_is_that_of_the_tables() {
        let (one, other) = (estimate((0.2 * 2.0_f64.sqrt()).exp(), 0.2), estimate(1.0, 0.2));
        assert!((one.ahead_of(&other) - 0.841_34).abs() < 1e-4, "{}", one.ahead_of(&other));
        assert!((one.ahead_of(&other) + other.ahead_of(&one) - 1.0).abs() < 1e-9);
        assert!((one.ahead_of(&one) - 0.5).abs() < 1e-9 && one.overlaps(&other));
    }

    #[test]
    fn what_does_not_spread_is_ahead_or_not() {
        let chances = [(2.0, 1.0), (1.0, 2.0), (1.0, 1.0)]
            .map(|(one, other)| Estimate::exact(one).ahead_of(&Estimate::exact(other)));
        assert_eq!(chances.map(|chance| chance.to_string()), ["1", "0", "0.5"]);
        assert!(!Estimate::exact(2.0).overlaps(&Estimate::exact(1.0)));
    }
}
