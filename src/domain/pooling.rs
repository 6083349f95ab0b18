//! Partial pooling: what many small sets of observations say of each of them, and of those of which there are none.
//!
//! Each observation is the sum of some *effects* and of noise. All effects are normally distributed around 0 with known
//! variances, the noise, too, so that what is to be believed of the effects once the observations are known is normal as well
//! (A. Gelman and others, Bayesian Data Analysis, 3rd edition, 2013, chapter 14, "Bayesian linear regression with known
//! variances"; C. R. Henderson, Biometrics 31, 1975, p. 423, calls the means best linear unbiased predictions). An effect
//! that was seldom seen stays near 0, one that was often seen goes where its observations are.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};
use std::f64::consts::TAU;

/// One observation.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// The effects it is the sum of, by number, each once, and how many times it has each.
    pub effects: Vec<(usize, f64)>,
    /// What was seen.
    pub value: f64,
    /// Variance of its noise, above 0.
    pub variance: f64,
}

/// What is believed of all effects, given the observations.
#[derive(Debug, Clone)]
pub struct Pooled {
    means: Vec<f64>,
    /// Of the precision; `None` where nothing is known.
    factors: Option<Cholesky<f64, Dyn>>,
    evidence: f64,
}

/// What is believed of the effects, given the observations. `variances` are those of the effects before, all above 0.
///
/// # Panics
/// If an observation names an effect that has no variance.
#[must_use]
pub fn pooled(variances: &[f64], observations: &[Observation]) -> Pooled {
    let count = variances.len();
    let mut precision = DMatrix::<f64>::from_diagonal(&DVector::from_iterator(
        count,
        variances.iter().map(|variance| variance.recip()),
    ));
    let mut weighted = DVector::<f64>::zeros(count);
    for seen in observations {
        for (effect, times) in &seen.effects {
            weighted[*effect] += times * seen.value / seen.variance;
            for (other, other_times) in &seen.effects {
                precision[(*effect, *other)] += times * other_times / seen.variance;
            }
        }
    }
    // Only what is not a number, or no variance at all, is not positive definite; then nothing is known.
    let factors = Cholesky::new(precision);
    let means = factors.as_ref().map(|factors| factors.solve(&weighted));
    let of_scale: f64 = variances.iter().map(|variance| variance.ln()).sum();
    let of_noise = |seen: &Observation| (TAU * seen.variance).ln() + seen.value.powi(2) / seen.variance;
    let of_seen: f64 = observations.iter().map(of_noise).sum();
    let of_effects = |factors: &Cholesky<f64, Dyn>| 2.0 * factors.l().diagonal().map(f64::ln).sum();
    let of_effects = factors.as_ref().map_or(f64::INFINITY, of_effects);
    let explained = means.as_ref().map_or(0.0, |means| weighted.dot(means));
    let evidence = -(of_scale + of_seen + of_effects - explained) / 2.0;
    let means = means.map_or_else(|| vec![0.0; count], |means| means.iter().copied().collect());
    Pooled { means, factors, evidence }
}

impl Pooled {
    /// Logarithm of the density with which just these observations are to be expected, whatever the effects are: what tells which
    /// variances fit them best (type II maximum likelihood or empirical Bayes, as in the book above, section 5.1).
    #[must_use]
    pub fn evidence(&self) -> f64 {
        self.evidence
    }

    /// Mean of a sum of effects, each so many times.
    #[must_use]
    pub fn mean(&self, sum: &[(usize, f64)]) -> f64 {
        sum.iter().map(|(effect, times)| times * self.means[*effect]).sum()
    }

    /// Standard deviation of such a sum; infinite where nothing is known.
    #[must_use]
    pub fn deviation(&self, sum: &[(usize, f64)]) -> f64 {
        let Some(factors) = &self.factors else { return f64::INFINITY };
        let mut times = DVector::<f64>::zeros(self.means.len());
        for (effect, own) in sum {
            times[*effect] += own;
        }
        times.dot(&factors.solve(&times)).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn seen(effects: &[(usize, f64)], value: f64, variance: f64) -> Observation {
        Observation { effects: effects.to_vec(), value, variance }
    }

    /// Eighteen batters after 45 times at bat in 1970: with a shrinking factor of 0.212 around the mean of 0.265, the best of
    /// them, at 0.400, is expected to hit 0.294, the last, at 0.156, 0.242 (B. Efron and C. Morris, "Stein's Paradox in
    /// Statistics", Scientific American 236, 1977; figures from memory).
    #[test]
    fn one_effect_each_shrinks_as_in_the_textbook() {
        let (noise, share) = (0.265 * 0.735 / 45.0, 0.212);
        let between = noise * share / (1.0 - share);
        let batters = [seen(&[(0, 1.0)], 0.400 - 0.265, noise), seen(&[(1, 1.0)], 0.156 - 0.265, noise)];
        let believed = pooled(&[between; 2], &batters);
        let told = [0, 1].map(|batter| format!("{:.3}", believed.mean(&[(batter, 1.0)]) + 0.265));
        assert_eq!(told, ["0.294", "0.242"]);
    }

    proptest! {
        /// The other way to the same means and deviations, by the covariances of the observations (Gaussian conditioning).
        #[test]
        fn precisions_and_covariances_agree(
            variances in prop::collection::vec(0.01..2.0_f64, 4),
            seen_of in prop::collection::vec(
                (prop::collection::btree_map(0..4_usize, -2.0..2.0_f64, 1..4), -2.0..2.0_f64, 0.01..2.0_f64),
                1..8,
            ),
        ) {
            let observations: Vec<Observation> = seen_of
                .into_iter()
                .map(|(effects, value, variance)| Observation { effects: effects.into_iter().collect(), value, variance })
                .collect();
            let count = observations.len();
            let times = |row: usize, effect: usize| {
                let of = observations[row].effects.iter().find(|(own, _)| *own == effect);
                of.map_or(0.0, |(_, times)| *times)
            };
            let design = DMatrix::from_fn(count, 4, times);
            let before = DMatrix::from_diagonal(&DVector::from_vec(variances.clone()));
            let noise = DMatrix::from_diagonal(&DVector::from_iterator(count, observations.iter().map(|seen| seen.variance)));
            let values = DVector::from_iterator(count, observations.iter().map(|seen| seen.value));
            let spread = &design * &before * design.transpose() + noise;
            let inverse = spread.clone().try_inverse().unwrap();
            let quadratic = (values.transpose() * &inverse * &values)[(0, 0)];
            let density = -(count as f64 * TAU.ln() + spread.determinant().ln() + quadratic) / 2.0;
            let gain = &before * design.transpose() * inverse;
            let (means, after) = (&gain * values, &before - &gain * &design * &before);
            let believed = pooled(&variances, &observations);
            prop_assert!((believed.evidence() - density).abs() < 1e-6, "{} and {density}", believed.evidence());
            for effect in 0..4 {
                let (mean, deviation) = (believed.mean(&[(effect, 1.0)]), believed.deviation(&[(effect, 1.0)]));
                prop_assert!((mean - means[effect]).abs() < 1e-8, "{mean} and {}", means[effect]);
                prop_assert!((deviation.powi(2) - after[(effect, effect)]).abs() < 1e-8, "{deviation}");
            }
        }
    }
}
