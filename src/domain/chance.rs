//! Chances of plain textbook distributions.

use statrs::distribution::{Binomial, ContinuousCDF, DiscreteCDF, Normal};

/// How many standard deviations below its mean something normally distributed lies in all but this share of cases; nought
/// for a share outside 0 to 1.
pub fn deviations(sure: f64) -> f64 {
    if sure > 0.0 && sure < 1.0 { Normal::standard().inverse_cdf(sure) } else { 0.0 }
}

/// Chance that something normally distributed lies no more than so many standard deviations above its mean.
pub fn below(deviations: f64) -> f64 {
    Normal::standard().cdf(deviations)
}

/// The fewest plugs of which, with at least this chance, so many become plants, each with a chance of its own that is above 0
/// and at most 1. At least `fewest`, with which to begin.
pub fn plugs_for_sure(plants: u32, each: f64, sure: f64, fewest: u32) -> u32 {
    let enough = |plugs: u32| {
        plants == 0
            || Binomial::new(each.clamp(0.0, 1.0), u64::from(plugs))
                .is_ok_and(|came| came.sf(u64::from(plants) - 1) >= sure)
    };
    // Where hardly anything comes up, no number of plugs is enough for sure.
    (fewest..=fewest.saturating_mul(4)).find(|plugs| enough(*plugs)).unwrap_or(fewest)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Probits as tables of the normal distribution have them (M. Abramowitz and I. Stegun, Handbook of Mathematical Functions,
    /// 1964, table 26.5).
    #[test]
    fn deviations_are_those_of_the_tables() {
        for (sure, deviations) in [(0.5, 0.0), (0.8, 0.841_62), (0.9, 1.281_55), (0.95, 1.644_85)] {
            assert!((super::deviations(sure) - deviations).abs() < 5e-6, "{sure}");
            assert!((below(deviations) - sure).abs() < 5e-6, "{deviations}");
        }
        assert!([0.0, 1.0, -1.0, f64::NAN].iter().all(|none| super::deviations(*none) == 0.0));
    }

    /// Fewest seeds of which so many come up with a chance of 80, 90 and 95 %, worked out exactly from the binomial
    /// distribution.
    #[test]
    fn plugs_are_as_many_as_the_binomial_distribution_asks_for() {
        for (plants, each, [some, more, most]) in [
            (10, 0.8, [14, 15, 16]),
            (24, 0.6, [44, 47, 49]),
            (30, 0.85, [37, 39, 40]),
            (40, 0.8, [53, 55, 56]),
            (100, 0.9, [114, 116, 117]),
        ] {
            let fewest = (f64::from(plants) / each).ceil() as u32;
            let for_sure = |sure| plugs_for_sure(plants, each, sure, fewest);
            assert_eq!(
                [for_sure(0.8), for_sure(0.9), for_sure(0.95)],
                [some, more, most],
                "{plants} at {each}"
            );
        }
        assert_eq!(plugs_for_sure(0, 0.8, 0.95, 0), 0);
        assert_eq!(plugs_for_sure(12, 1.0, 0.95, 12), 12);
    }
}
