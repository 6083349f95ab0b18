//! What counts say of a share, such as of seeds that come up.
//!
//! What is believed of it is a beta distribution: counts add to it (A. Gelman and others, Bayesian Data Analysis, 3rd edition,
//! 2013, section 2.4). What shares a tray has its luck in common, so that twenty plugs of one tray tell less than twenty of
//! twenty trays: a group of `n` counts as `n / (1 + (n - 1) * ALIKE)` (the design effect of L. Kish, Survey Sampling, 1965,
//! section 5.4).

use statrs::distribution::{Beta, ContinuousCDF};

/// Correlation within a tray or tank (from memory).
pub const ALIKE: f64 = 0.05;

/// What is believed of a share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// Successes, as if so many had been seen; above 0.
    hits: f64,
    /// Failures, likewise.
    misses: f64,
}

impl Share {
    /// A share with this mean and standard deviation: what a mean between 0 and 1 can have, at least.
    #[must_use]
    pub fn new(mean: f64, deviation: f64) -> Self {
        let mean = mean.clamp(0.001, 0.999);
        let most = mean * (1.0 - mean);
        // Two would be the one that knows nothing but its mean.
        let count = (most / deviation.powi(2) - 1.0).clamp(2.0, 1000.0);
        Self { hits: mean * count, misses: (1.0 - mean) * count }
    }

    /// The same once groups were counted: how many of how many.
    #[must_use]
    pub fn after(self, groups: &[(u32, u32)]) -> Self {
        groups.iter().filter(|(_, of)| *of > 0).fold(self, |so_far, (hits, of)| {
            let of = f64::from(*of);
            let weight = 1.0 / (1.0 + (of - 1.0) * ALIKE);
            let hits = f64::from(*hits).min(of);
            Self { hits: so_far.hits + weight * hits, misses: so_far.misses + weight * (of - hits) }
        })
    }

    /// Its mean.
    #[must_use]
    pub fn mean(self) -> f64 {
        self.hits / (self.hits + self.misses)
    }

    /// What it lies below with this chance.
    #[must_use]
    pub fn below(self, chance: f64) -> f64 {
        Beta::new(self.hits, self.misses).map_or_else(|_| self.mean(), |beta| beta.inverse_cdf(chance))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 437 girls of 980 births with placenta previa, from nothing known: a mean of 0.446, and 95 of 100 between 0.415 and 0.477
    /// (A. Gelman and others, Bayesian Data Analysis, 3rd edition, 2013, section 2.4; figures from memory).
    #[test]
    fn counts_add_up_as_in_the_textbook() {
        let nothing_known = Share { hits: 1.0, misses: 1.0 };
        let births: Vec<(u32, u32)> = (0..980).map(|number| (u32::from(number < 437), 1)).collect();
        let believed = nothing_known.after(&births);
        let told = [believed.mean(), believed.below(0.025), believed.below(0.975)];
        assert_eq!(told.map(|share| format!("{share:.3}")), ["0.446", "0.415", "0.477"]);
    }

    #[test]
    fn it_begins_with_the_mean_and_deviation_it_is_given() {
        let share = Share::new(0.8, 0.08);
        assert!((share.mean() - 0.8).abs() < 1e-12);
        let (low, high) = (share.below(0.1), share.below(0.9));
        assert!((high - low - 2.0 * 1.28 * 0.08).abs() < 0.01, "{low} to {high}");
    }

    /// One tray of a hundred is worth as much as 17 plugs by themselves, not a hundred.
    #[test]
    fn one_tray_says_less_than_many() {
        let before = Share::new(0.9, 0.05);
        let (one, many) = (before.after(&[(50, 100)]), before.after(&vec![(1, 2); 50]));
        assert!(one.mean() > many.mean() && many.mean() > 0.5, "{one:?} {many:?}");
        let alone: f64 = 100.0 / (1.0 + 99.0 * ALIKE);
        assert!((one.hits + one.misses - before.hits - before.misses - alone).abs() < 1e-9);
    }

    #[test]
    fn what_cannot_be_is_told_as_far_as_it_can() {
        assert!(Share::new(1.0, 0.0).mean() < 1.0 && Share::new(0.0, 9.0).mean() > 0.0);
        assert!(Share::new(0.5, 0.1).after(&[(9, 3), (0, 0)]).mean() < 1.0);
    }
}
