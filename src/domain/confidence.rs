//! What a few numbers tell of many: the limits between which what is looked for lies in 19 of 20 cases, as textbooks have
//! them. All of them take the numbers for independent, so that they are too narrow where many fail together.

use super::crop::Limits;
use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

/// How often the limits hold what is looked for.
pub const SURE: f64 = 0.95;

/// Chance that must lie below the upper limit.
const BELOW_HIGH: f64 = f64::midpoint(SURE, 1.0);

/// Limits of the share that `count` of so many were seen of: the score interval of E. B. Wilson (Journal of the American
/// Statistical Association 22, 1927, p. 209), which L. Brown and others recommend for small numbers
/// (Statistical Science 16, 2001, p. 101). `None` of none.
pub fn share(count: u32, of: u32) -> Option<Limits<f64>> {
    let (all, seen) = (f64::from(of), f64::from(count.min(of)) / f64::from(of));
    let square = Normal::standard().inverse_cdf(BELOW_HIGH).powi(2);
    let middle = (seen + square / (2.0 * all)) / (1.0 + square / all);
    let half =
        (square * (seen * (1.0 - seen) / all + square / (4.0 * all * all))).sqrt() / (1.0 + square / all);
    // Rounding must not leave limits that exclude what was seen.
    (of > 0).then(|| Limits { low: (middle - half).clamp(0.0, seen), high: (middle + half).clamp(seen, 1.0) })
}

/// The mean of some numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mean {
    /// The mean itself.
    pub mean: f64,
    /// Standard deviation of the numbers, with one degree of freedom less than there are.
    pub deviation: f64,
    /// Limits of the mean of all numbers of which these are some: by the t distribution ("Student", Biometrika 6, 1908, p. 1).
    pub limits: Limits<f64>,
}

/// The mean of at least two numbers.
pub fn mean(values: &[f64]) -> Option<Mean> {
    let (count, mean, variance) = moments(values)?;
    let half = quantile(count - 1.0) * (variance / count).sqrt();
    let limits = Limits { low: mean - half, high: mean + half };
    Some(Mean { mean, deviation: variance.sqrt(), limits })
}

/// Limits of how much larger the mean behind some numbers is than that behind others, whose spread may differ: by B. L.
/// Welch (Biometrika 34, 1947, p. 28). `None` for fewer than two of either, or where none of them differ.
pub fn difference(one: &[f64], other: &[f64]) -> Option<Limits<f64>> {
    let ((n, mean, variance), (m, base, spread)) = (moments(one)?, moments(other)?);
    let (own, theirs) = (variance / n, spread / m);
    let both = own + theirs;
    let freedom = both * both / (own * own / (n - 1.0) + theirs * theirs / (m - 1.0));
    let half = quantile(freedom) * both.sqrt();
    (both > 0.0).then_some(Limits { low: mean - base - half, high: mean - base + half })
}

/// How many there are, their mean and their variance.
fn moments(values: &[f64]) -> Option<(f64, f64, f64)> {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    (values.len() > 1).then(|| (count, mean, squares / (count - 1.0)))
}

/// How many standard errors the limits of a mean lie from it.
fn quantile(freedom: f64) -> f64 {
    StudentsT::new(0.0, 1.0, freedom).map_or(f64::INFINITY, |t| t.inverse_cdf(BELOW_HIGH))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(limits: Limits<f64>, decimals: usize) -> [String; 2] {
        [limits.low, limits.high].map(|limit| format!("{limit:.decimals$}"))
    }

    /// Table I of R. Newcombe, Statistics in Medicine 17, 1998, p. 857, method 3 (figures from memory).
    #[test]
    fn shares_have_the_limits_of_the_published_table() {
        for (count, of, low, high) in [
            (81, 263, "0.2553", "0.3662"),
            (15, 148, "0.0624", "0.1605"),
            (0, 20, "0.0000", "0.1611"),
            (1, 29, "0.0061", "0.1718"),
        ] {
            assert_eq!(shown(share(count, of).unwrap(), 4), [low, high], "{count} of {of}");
        }
        assert_eq!(share(0, 0), None);
    }

    /// Peak flow of 17 people by two meters: they differ by -2.1 litres a minute on average, with a standard deviation of 38.8
    /// (J. Bland and D. Altman, Lancet 327, 1986, p. 307; figures from memory).
    #[test]
    fn bias_and_spread_are_those_of_the_published_example() {
        let large = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427];
        let small = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451];
        let apart: Vec<f64> = large.iter().zip(small).map(|(one, other)| f64::from(one - other)).collect();
        let mean = mean(&apart).unwrap();
        assert_eq!(
            [format!("{:.1}", mean.mean), format!("{:.1}", mean.deviation)],
            ["-2.1".to_owned(), "38.8".to_owned()]
        );
    }

    /// Hours of sleep gained by ten people with two drugs, the example of "Student" in 1908: the second gives 0.70 to 2.46 hours
    /// more where people are compared with themselves, -0.21 to 3.37 where they are taken for others (by the statistics program
    /// R, which has these data; figures from memory).
    #[test]
    fn means_and_differences_have_the_limits_of_the_classic_example() {
        let first = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0];
        let second = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4];
        let more: Vec<f64> = second.iter().zip(first).map(|(second, first)| second - first).collect();
        assert_eq!(shown(mean(&more).unwrap().limits, 2), ["0.70", "2.46"]);
        assert_eq!(shown(difference(&second, &first).unwrap(), 2), ["-0.21", "3.37"]);
        assert_eq!((mean(&first[..1]), difference(&first[..1], &second)), (None, None));
        assert_eq!(difference(&[1.0, 1.0], &[2.0, 2.0]), None);
    }
}
