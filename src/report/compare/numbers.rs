//! Figures with as many digits as they are worth: two or three.

use super::super::look::Look;
use crate::domain::compare::Estimate;
use crate::domain::units::{GRAMS_PER_OUNCE, Units};

/// A mass that may be far below a gram or above a hundred.
pub(super) fn grams(grams: f64, look: &Look) -> String {
    let (number, unit) = in_units(grams, look);
    format!("{} {unit}", few(number))
}

/// Where a mass lies in eight cases of ten, in the units of [`grams`].
pub(super) fn grams_between(figure: Estimate, look: &Look) -> String {
    let [low, usual, high] = [figure.low, figure.usual, figure.high].map(|grams| in_units(grams, look).0);
    // The ends are not known so well that a third digit would be worth its room.
    let most = if low < 0.01 { 3 } else { 2 };
    between(low, high, digits(usual).min(most))
}

fn in_units(grams: f64, look: &Look) -> (f64, &'static str) {
    match look.units {
        Units::Metric => (grams, "g"),
        Units::Us => (grams / GRAMS_PER_OUNCE, "oz"),
    }
}

/// Whole days, and below them where they lie in eight cases of ten unless that is the same.
pub(super) fn days(figure: Estimate) -> String {
    let range = between(figure.low, figure.high, 0);
    let usual = format!("{:.0}", figure.usual);
    if range == usual { usual } else { format!("{usual}\n{range}") }
}

fn between(low: f64, high: f64, digits: usize) -> String {
    let [low, high] = [low, high].map(|end| format!("{end:.digits$}"));
    if low == high { low } else { format!("{low}-{high}") }
}

/// A number with two digits or, above a hundred, three and more.
pub(super) fn few(number: f64) -> String {
    format!("{number:.*}", digits(number))
}

/// Digits behind the point.
fn digits(number: f64) -> usize {
    match number.abs() {
        tiny if tiny < 0.0995 => 3,
        small if small < 0.995 => 2,
        some if some < 9.95 => 1,
        _ => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_the_digits_they_are_worth() {
        assert_eq!([0.078, 0.996, 2.25, 9.96, 98.4].map(few), ["0.078", "1.0", "2.2", "10", "98"]);
        let look = Look { units: Units::Us, width: 80, colour: false };
        assert_eq!((grams(2.25, &look).as_str(), grams(142.0, &look).as_str()), ("0.079 oz", "5.0 oz"));
        let spread = Estimate { usual: 38.0, low: 35.6, high: 40.4 };
        assert_eq!((days(spread).as_str(), days(Estimate::exact(7.0)).as_str()), ("38\n36-40", "7"));
        assert_eq!(grams_between(spread, &Look { units: Units::Metric, ..look }), "36-40");
    }
}
