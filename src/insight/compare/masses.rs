//! How far the grams of a batch spread that is harvested on given days: those of slow and fast batches, times what all else makes
//! of them.

use crate::domain::chance;
use crate::domain::luck::Pacing;

/// Standard deviations from the mean up to which paces are looked at, and how far apart.
const FARTHEST: i32 = 4;
const STEPS: i32 = 8;

/// Grams of a batch.
pub(super) struct Masses {
    /// What batches of several paces give, each with its share of all batches.
    by_pace: Vec<(f64, f64)>,
    /// Standard deviation of the logarithm of what all else makes of them.
    deviation: f64,
}

impl Masses {
    /// Of harvests of so many grams each, if the batch is neither fast nor slow, by the standard deviation of its pace and the
    /// coefficients of variation, squared, of all else: log-normally distributed factors with a mean of 1.
    pub(super) fn new(harvests: &[(f64, &Pacing<'_>)], pace: f64, variances: &[f64]) -> Self {
        let densities = (-FARTHEST * STEPS..=FARTHEST * STEPS).map(|step| {
            let deviations = f64::from(step) / f64::from(STEPS);
            (deviations, (-deviations * deviations / 2.0).exp())
        });
        let all: f64 = densities.clone().map(|(_, density)| density).sum();
        let by_pace = densities.map(|(deviations, density)| {
            let late = pace * deviations;
            let grams = harvests.iter().map(|(grams, growth)| grams * growth.share(late)).sum::<f64>();
            (grams, density / all)
        });
        let logarithms: f64 = variances.iter().map(|variance| (1.0 + variance).ln()).sum();
        Self { by_pace: by_pace.collect(), deviation: logarithms.sqrt() }
    }

    /// The grams that this share of batches stays below: found by halving.
    pub(super) fn quantile(&self, share: f64) -> f64 {
        let grams = || self.by_pace.iter().map(|(grams, _)| *grams);
        // Eight standard deviations are more than any batch is off.
        let far = (8.0 * self.deviation + 1e-9).exp();
        let mut low = grams().fold(f64::INFINITY, f64::min) / far;
        let mut high = grams().fold(0.0, f64::max) * far;
        for _ in 0..50 {
            let middle = f64::midpoint(low, high);
            if self.below(middle) < share { low = middle } else { high = middle }
        }
        f64::midpoint(low, high)
    }

    /// Share of batches that give no more than so many grams.
    fn below(&self, grams: f64) -> f64 {
        let of_pace = |(usual, share): &(f64, f64)| {
            if self.deviation > 0.0 {
                let deviations = (grams / usual).ln() / self.deviation + self.deviation / 2.0;
                share * chance::below(deviations)
            } else if grams >= *usual {
                *share
            } else {
                0.0
            }
        };
        self.by_pace.iter().map(of_pace).sum()
    }
}
