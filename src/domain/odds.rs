//! How sure a plan is: what became of its serving days in many terms that were played with luck.

use chrono::NaiveDate;

/// What many terms had in common that were played after the same plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Odds {
    /// Terms played, at least 1.
    pub runs: u32,
    /// Seed of their luck: the same plan and seed give the same odds.
    pub seed: u64,
    /// The serving days still to come, by date.
    pub days: Vec<DayOdds>,
    /// Chance that all of them reach their target.
    pub every_day: Chance,
    /// Grams short of the targets in a term, on average.
    pub short_grams: f64,
    /// Grams harvested in a term and not served, on average.
    pub surplus_grams: f64,
    /// Places in tanks that stay empty in a term, as too few seedlings came up, on average.
    pub empty_places: f64,
    /// Seedlings for which there is no place in a term, on average.
    pub spare_seedlings: f64,
}

/// How sure one serving day is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DayOdds {
    /// The day.
    pub date: NaiveDate,
    /// Grams wanted.
    pub target: f64,
    /// Grams planned.
    pub planned: f64,
    /// Chance promised that the target is reached; nought if nothing is.
    pub sure: f64,
    /// Grams by which so many terms as are promised stay below it, at most.
    pub missing: f64,
    /// Grams served on average.
    pub mean: f64,
    /// Grams below which one term in ten stays.
    pub low: f64,
    /// Grams that one term in ten goes beyond.
    pub high: f64,
    /// Chance that the target is reached, but for the share of it that the term tolerates to be missing.
    pub reached: Chance,
    /// Chance that at least four fifths of the target are reached.
    pub nearly: Chance,
}

/// How far below its promise a day may stay and still be about as sure as promised: how well the reserve is worked out.
const ABOUT: f64 = 0.05;

impl DayOdds {
    /// Whether less was reached than was promised.
    pub fn breaks_promise(&self) -> bool {
        self.reached.share + ABOUT < self.sure
    }
}

/// How often something happened.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chance {
    /// Share of the terms played, 0 to 1.
    pub share: f64,
    /// Standard error of that share: the true chance lies within twice as much in 19 of 20 cases.
    pub error: f64,
}

impl Chance {
    /// The chance of what happened `times` out of `runs`, which is at least 1.
    pub fn of(times: u32, runs: u32) -> Self {
        let runs = f64::from(runs.max(1));
        let share = f64::from(times) / runs;
        Self { share, error: (share * (1.0 - share) / runs).sqrt() }
    }
}

/// Share of a target that is nearly all of it.
pub const NEARLY: f64 = 0.8;

#[cfg(test)]
mod tests {
    use super::*;

    /// Fifty of a hundred: the textbook's standard error of a share, √(0.5 · 0.5 / 100) = 5 %.
    #[test]
    fn a_share_has_its_standard_error() {
        let half = Chance::of(50, 100);
        assert!((half.share - 0.5).abs() < 1e-12 && (half.error - 0.05).abs() < 1e-12);
        assert_eq!(
            (Chance::of(7, 7).share.to_string(), Chance::of(0, 7).error.to_string()),
            ("1".into(), "0".into())
        );
    }
}
