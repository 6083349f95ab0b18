//! Masses, lengths, temperatures and volumes as people write them, and the two ways of showing them.
//!
//! A bare number is refused: "5" might be ounces or grams, and the mistake would only show at harvest.

mod amount;
mod volume;

pub use amount::Amount;
use std::borrow::Cow;
use std::fmt;
use std::str::FromStr;
pub use volume::{LITRES_PER_GALLON, Volume};

/// One avoirdupois ounce in grams: a sixteenth of the international pound of 453.59237 g
/// (exact by definition, international yard and pound agreement of 1959).
pub const GRAMS_PER_OUNCE: f64 = 453.592_37 / 16.0;
/// One inch in centimetres (exact by definition, same agreement).
pub const CM_PER_INCH: f64 = 2.54;

/// The units a person wants to read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Units {
    /// Grams, kilograms, centimetres, litres, degrees Celsius.
    #[default]
    Metric,
    /// Ounces, pounds, inches, US gallons, degrees Fahrenheit.
    Us,
}

/// Why a quantity could not be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum QuantityError {
    /// There is a number but no unit.
    #[error("the unit is missing: write {0}")]
    NoUnit(&'static str),
    /// There is a unit nobody here knows.
    #[error("unknown unit \"{found}\": write {hint}")]
    UnknownUnit {
        /// What stood after the number.
        found: String,
        /// How to write it.
        hint: &'static str,
    },
    /// A comma before three digits, which could part decimals or thousands.
    #[error("the comma may part thousands or decimals: write 1200 g or 1.2 kg")]
    DecimalComma,
    /// Anything else that is not a number.
    #[error("this is not a number with a unit: write {0}")]
    NotANumber(&'static str),
    /// Negative, or too large to be meant.
    #[error("must lie between {low} and {high}")]
    OutOfRange {
        /// Smallest value allowed, with unit.
        low: &'static str,
        /// Largest value allowed, with unit.
        high: &'static str,
    },
}

/// Splits `"1.2 kg"` into number and lower-case unit.
fn number_and_unit(text: &str, hint: &'static str) -> Result<(f64, String), QuantityError> {
    let text = text.trim();
    let split = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+')))
        .unwrap_or(text.len());
    let (number, unit) = text.split_at(split);
    let value: f64 = with_point(number)?.parse().map_err(|_| QuantityError::NotANumber(hint))?;
    let unit = unit.trim().to_lowercase();
    if unit.is_empty() {
        return Err(QuantityError::NoUnit(hint));
    }
    Ok((value, unit))
}

/// A number with a decimal comma, which many languages write, with a point. Thousands have three digits, so one or two behind the only comma
/// are decimals.
fn with_point(number: &str) -> Result<Cow<'_, str>, QuantityError> {
    let Some((whole, decimals)) = number.split_once(',') else { return Ok(Cow::Borrowed(number)) };
    let plain = |digits: &str| !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit());
    if plain(whole) && plain(decimals) && decimals.len() <= 2 {
        Ok(Cow::Owned(format!("{whole}.{decimals}")))
    } else {
        Err(QuantityError::DecimalComma)
    }
}

/// Grams of a pound.
const POUND: f64 = 16.0 * GRAMS_PER_OUNCE;

/// A mass, at least 0 g and at most 10 t.
///
/// ```
/// use sowtide::domain::units::{Mass, Units};
/// let head: Mass = "5 oz".parse()?;
/// assert_eq!(head.grams().round(), 142.0);
/// assert_eq!(head.show(Units::Us).to_string(), "5.0 oz");
/// assert!("150".parse::<Mass>().is_err());
/// # Ok::<(), sowtide::domain::units::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Mass(f64);

impl Mass {
    /// No mass at all.
    pub const ZERO: Mass = Mass(0.0);

    /// A mass of so many grams.
    pub fn from_grams(grams: f64) -> Self {
        Self(grams)
    }

    /// The mass in grams.
    pub fn grams(self) -> f64 {
        self.0
    }

    /// The mass ready to be printed in the reader's units.
    pub fn show(self, units: Units) -> impl fmt::Display {
        ShownMass(self.0, units)
    }
}

struct ShownMass(f64, Units);

impl fmt::Display for ShownMass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self(grams, units) = *self;
        let text = match units {
            Units::Metric if grams.abs() < 999.5 => format!("{grams:.0} g"),
            Units::Metric => format!("{:.2} kg", grams / 1000.0),
            Units::Us if grams.abs() < POUND => format!("{:.1} oz", grams / GRAMS_PER_OUNCE),
            Units::Us => format!("{:.2} lb", grams / POUND),
        };
        // Rounding can leave "-0 g", which nobody wants to explain.
        f.pad(match text.strip_prefix("-0 ").or_else(|| text.strip_prefix("-0.0 ")) {
            Some(unit) => return f.pad(&format!("0 {unit}")),
            None => &text,
        })
    }
}

impl FromStr for Mass {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        const HINT: &str = "150 g, 1.2 kg, 5 oz, 2 lb or 3 lb 4 oz";
        let grams = match large_and_small(text) {
            Some((large, small)) => {
                let ((more, large), (less, small)) = (grams(large, HINT)?, grams(small, HINT)?);
                // Four pounds and twenty ounces are a slip of the pen, and so are three ounces and two grams.
                let fit = (large, small) == (POUND, GRAMS_PER_OUNCE) || (large, small) == (1000.0, 1.0);
                if !fit || !(0.0..large).contains(&less) || more < 0.0 {
                    return Err(QuantityError::NotANumber(HINT));
                }
                more + less
            }
            None => grams(text, HINT)?.0,
        };
        if (0.0..=10_000_000.0).contains(&grams) {
            Ok(Self(grams))
        } else {
            Err(QuantityError::OutOfRange { low: "0 g", high: "10000 kg" })
        }
    }
}

/// One quantity's grams, and those of its unit.
fn grams(text: &str, hint: &'static str) -> Result<(f64, f64), QuantityError> {
    let (value, unit) = number_and_unit(text, hint)?;
    let factor = match unit.as_str() {
        "g" | "gram" | "grams" => 1.0,
        "kg" | "kilo" | "kilos" | "kilogram" | "kilograms" => 1000.0,
        "oz" | "ounce" | "ounces" => GRAMS_PER_OUNCE,
        "lb" | "lbs" | "pound" | "pounds" => POUND,
        _ => return Err(QuantityError::UnknownUnit { found: unit, hint }),
    };
    Ok((value * factor, factor))
}

/// The two quantities of a text such as "3 lb 4 oz", where the second begins with the next number.
fn large_and_small(text: &str) -> Option<(&str, &str)> {
    let text = text.trim();
    let unit = text.find(char::is_alphabetic)?;
    let next = unit + text[unit..].find(|c: char| c.is_ascii_digit())?;
    Some((&text[..next], &text[next..]))
}

/// A length, at least 0 cm and at most 100 m.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Length(f64);

impl Length {
    /// A length of so many centimetres.
    pub fn from_cm(cm: f64) -> Self {
        Self(cm)
    }

    /// The length in centimetres.
    pub fn cm(self) -> f64 {
        self.0
    }

    /// The length ready to be printed in the reader's units.
    pub fn show(self, units: Units) -> impl fmt::Display {
        match units {
            Units::Metric => format!("{} cm", tidy(self.0)),
            Units::Us => format!("{} in", tidy(self.0 / CM_PER_INCH)),
        }
    }
}

impl FromStr for Length {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        const HINT: &str = "15 cm or 6 in";
        let (value, unit) = number_and_unit(text, HINT)?;
        let cm = match unit.as_str() {
            "mm" => value / 10.0,
            "cm" => value,
            "m" => value * 100.0,
            "in" | "inch" | "inches" | "\"" => value * CM_PER_INCH,
            "ft" | "foot" | "feet" => value * 12.0 * CM_PER_INCH,
            _ => {
                return Err(QuantityError::UnknownUnit { found: unit, hint: HINT });
            }
        };
        if (0.0..=10_000.0).contains(&cm) {
            Ok(Self(cm))
        } else {
            Err(QuantityError::OutOfRange { low: "0 cm", high: "100 m" })
        }
    }
}

/// A temperature between -30 and 60 °C.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Temperature(f64);

impl Temperature {
    /// A temperature of so many degrees Celsius.
    pub fn from_celsius(celsius: f64) -> Self {
        Self(celsius)
    }

    /// The temperature in degrees Celsius.
    pub fn celsius(self) -> f64 {
        self.0
    }

    /// The temperature ready to be printed in the reader's units.
    pub fn show(self, units: Units) -> impl fmt::Display {
        match units {
            Units::Metric => format!("{} °C", tidy(self.0)),
            Units::Us => format!("{} °F", tidy(self.0 * 1.8 + 32.0)),
        }
    }
}

impl FromStr for Temperature {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        const HINT: &str = "21 C or 70 F";
        let (value, unit) = number_and_unit(text, HINT)?;
        let celsius = match unit.trim_start_matches('°').trim() {
            "c" | "celsius" => value,
            "f" | "fahrenheit" => (value - 32.0) / 1.8,
            _ => {
                return Err(QuantityError::UnknownUnit { found: unit, hint: HINT });
            }
        };
        if (-30.0..=60.0).contains(&celsius) {
            Ok(Self(celsius))
        } else {
            Err(QuantityError::OutOfRange { low: "-30 C", high: "60 C" })
        }
    }
}

/// One decimal, and none where it would be zero.
fn tidy(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").unwrap_or(&text).to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn masses_read_as_people_write_them() {
        for (text, grams) in [
            ("150 g", 150.0),
            ("150g", 150.0),
            (" 1.2 KG ", 1200.0),
            ("2 lb", 907.184_74),
            ("0 g", 0.0),
            ("3 lb 4 oz", 1_474.175_203),
            ("1kg 200g", 1200.0),
            ("1 lb 4oz", 566.990_463),
            ("1,2 kg", 1200.0),
            ("0,25kg", 250.0),
        ] {
            assert!((text.parse::<Mass>().unwrap().grams() - grams).abs() < 1e-6, "{text}");
        }
    }

    #[test]
    fn doubtful_masses_are_refused() {
        for text in [
            "150",
            "1,200 g",
            "1,2,3 g",
            "1.200,5 g",
            ",5 g",
            "1, kg",
            "-3 g",
            "3 Mg",
            "NaN g",
            "inf kg",
            "g",
            "",
            "1e5 g",
            "1.2.3 g",
            "3 lb 16 oz",
            "4 oz 1 lb",
            "2 kg 4 oz",
            "1 lb -2 oz",
            "1 kg 200",
        ] {
            assert!(text.parse::<Mass>().is_err(), "{text}");
        }
    }

    #[test]
    fn temperatures_and_lengths_convert() {
        assert!((("70 F".parse::<Temperature>().unwrap()).celsius() - 21.111).abs() < 1e-3);
        assert!((("6 in".parse::<Length>().unwrap()).cm() - 15.24).abs() < 1e-9);
        assert_eq!(Temperature::from_celsius(5.0).show(Units::Us).to_string(), "41 °F");
    }

    #[test]
    fn small_negative_masses_do_not_show_a_sign() {
        assert_eq!(Mass::from_grams(-0.2).show(Units::Metric).to_string(), "0 g");
    }
}
