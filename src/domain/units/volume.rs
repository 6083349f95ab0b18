//! Volumes of water and liquids.

use super::{QuantityError, Units, number_and_unit, tidy};
use std::fmt;
use std::str::FromStr;

/// Litres in a US liquid gallon of 231 cubic inches (NIST Handbook 44, appendix C).
pub const LITRES_PER_GALLON: f64 = 3.785_411_784;
/// Fluid ounces in a US gallon (same handbook).
const OUNCES_PER_GALLON: f64 = 128.0;

/// A volume, at least 0 ml and at most 100 000 litres.
///
/// ```
/// use sowtide::domain::units::{Units, Volume};
/// let bottle: Volume = "500 ml".parse()?;
/// assert_eq!(bottle.litres(), 0.5);
/// assert_eq!(Volume::from_litres(60.0).show(Units::Us).to_string(), "15.9 gal");
/// assert!("60".parse::<Volume>().is_err());
/// # Ok::<(), sowtide::domain::units::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Volume(f64);

impl Volume {
    /// A volume of so many litres.
    pub fn from_litres(litres: f64) -> Self {
        Self(litres)
    }

    /// The volume in litres.
    pub fn litres(self) -> f64 {
        self.0
    }

    /// The volume ready to be printed in the reader's units.
    pub fn show(self, units: Units) -> impl fmt::Display {
        let litres = self.0 + 0.0;
        match units {
            Units::Metric if litres < 0.9995 => format!("{:.0} ml", litres * 1000.0),
            Units::Metric => match tidy(litres).as_str() {
                "1" => "1 litre".to_owned(),
                number => format!("{number} litres"),
            },
            Units::Us if litres < LITRES_PER_GALLON / 2.0 => {
                format!("{} fl oz", tidy(litres / LITRES_PER_GALLON * OUNCES_PER_GALLON))
            }
            Units::Us => format!("{} gal", tidy(litres / LITRES_PER_GALLON)),
        }
    }
}

impl FromStr for Volume {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        const HINT: &str = "500 ml, 60 litres or 16 gal";
        let (value, unit) = number_and_unit(text, HINT)?;
        let litres = match unit.as_str() {
            "ml" => value / 1000.0,
            "l" | "litre" | "litres" | "liter" | "liters" => value,
            "fl oz" => value / OUNCES_PER_GALLON * LITRES_PER_GALLON,
            "qt" | "quart" | "quarts" => value / 4.0 * LITRES_PER_GALLON,
            "gal" | "gallon" | "gallons" => value * LITRES_PER_GALLON,
            _ => {
                return Err(QuantityError::UnknownUnit { found: unit, hint: HINT });
            }
        };
        if (0.0..=100_000.0).contains(&litres) {
            Ok(Self(litres))
        } else {
            Err(QuantityError::OutOfRange { low: "0 ml", high: "100000 litres" })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn volumes_read_as_people_write_them() {
        for (text, litres) in [
            ("250 ml", 0.25),
            ("60 L", 60.0),
            ("1.5 liters", 1.5),
            ("1,5 L", 1.5),
            ("16 gal", 60.566_588_544),
            ("32 fl oz", 0.946_352_946),
            ("1 qt", 0.946_352_946),
        ] {
            assert!((text.parse::<Volume>().unwrap().litres() - litres).abs() < 1e-9, "{text}");
        }
        for text in ["60", "-1 ml", "1,500 L", "5 cups", "1e9 L", ""] {
            assert!(text.parse::<Volume>().is_err(), "{text}");
        }
    }

    #[test]
    fn volumes_show_in_both_units() {
        for (litres, metric, us) in [
            (0.0, "0 ml", "0 fl oz"),
            (0.25, "250 ml", "8.5 fl oz"),
            (1.0, "1 litre", "33.8 fl oz"),
            (9.96, "10 litres", "2.6 gal"),
        ] {
            let volume = Volume::from_litres(litres);
            assert_eq!(volume.show(Units::Metric).to_string(), metric);
            assert_eq!(volume.show(Units::Us).to_string(), us);
        }
    }
}
