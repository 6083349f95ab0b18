//! Amounts of greens as people tell them: on the scales, or in cups.

use super::{Mass, QuantityError};
use std::fmt;
use std::str::FromStr;

/// Greens that were weighed, or counted in cups of loose leaves. Cups are US cups of 236.6 ml.
///
/// ```
/// use sowtide::domain::units::Amount;
/// assert!(matches!("480 g".parse(), Ok(Amount::Weighed(mass)) if mass.grams() == 480.0));
/// let cups: Amount = "1 1/2 cups".parse()?;
/// assert_eq!((cups, cups.to_string().as_str()), (Amount::Cups(1.5), "1.5 cups"));
/// # Ok::<(), sowtide::domain::units::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// So much on the scales.
    Weighed(Mass),
    /// So many cups, 0.1 to 1000.
    Cups(f64),
}

impl fmt::Display for Amount {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Weighed(mass) => write!(f, "{} g", mass.grams()),
            Self::Cups(cups) if *cups <= 1.0 => write!(f, "{cups} cup"),
            Self::Cups(cups) => write!(f, "{cups} cups"),
        }
    }
}

impl FromStr for Amount {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        const HINT: &str = "1 cup, 2.5 cups or 1/2 cup";
        let lower = text.trim().to_lowercase();
        let Some(number) = lower.strip_suffix("cups").or_else(|| lower.strip_suffix("cup")) else {
            return text.parse().map(Self::Weighed);
        };
        let cups = number.split_whitespace().map(piece).sum::<Option<f64>>();
        match cups.filter(|_| !number.trim().is_empty()) {
            Some(cups) if (0.1..=1000.0).contains(&cups) => Ok(Self::Cups(cups)),
            Some(_) => Err(QuantityError::OutOfRange { low: "0.1 cup", high: "1000 cups" }),
            None => Err(QuantityError::NotANumber(HINT)),
        }
    }
}

/// `2`, `2.5` or `1/2`.
fn piece(text: &str) -> Option<f64> {
    let number = |text: &str| {
        let plain = text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
        text.parse::<f64>().ok().filter(|_| plain)
    };
    match text.split_once('/') {
        Some((over, under)) => Some(number(over)? / number(under).filter(|under| *under >= 1.0)?),
        None => number(text),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cups_are_read_as_people_say_them() {
        for (text, cups) in [("1 cup", 1.0), ("2cups", 2.0), ("1/2 Cup", 0.5), ("1 1/4 cups", 1.25)] {
            assert_eq!(text.parse(), Ok(Amount::Cups(cups)), "{text}");
        }
        for text in ["cup", "0 cups", "a cup", "1/0 cup", "-1 cup", "1001 cups", "1 / cup", "inf cups"] {
            assert!(text.parse::<Amount>().is_err(), "{text}");
        }
    }
}
