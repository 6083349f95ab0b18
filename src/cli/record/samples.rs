//! Measurements of one plant as people type them: `height=16/18cm leaves=9 mass=40/45g`.

use crate::domain::journal::{Measured, Sample};
use crate::domain::units::{Length, Mass};
use crate::files::problem::suggest;
use std::fmt::Display;

/// What is measured of a plant.
const MEASURES: [&str; 5] = ["height", "width", "leaves", "root", "mass"];

/// Reads the measurements of one plant. Before a slash stands what was estimated beforehand.
pub(super) fn parse(text: &str) -> Result<Sample, String> {
    let mut sample = Sample::default();
    for piece in text.split([' ', ';', ',']).filter(|piece| !piece.is_empty()) {
        let (key, value) = piece.split_once('=').ok_or_else(|| {
            format!("\"{piece}\" is no measurement: write it as height=18cm, without blanks around the sign")
        })?;
        let place = match key {
            "height" => &mut sample.height_cm,
            "width" => &mut sample.width_cm,
            "leaves" => &mut sample.leaves,
            "root" => &mut sample.longest_root_cm,
            "mass" => &mut sample.mass_g,
            _ => {
                return Err(format!("\"{key}\" is not measured: {}", suggest(key, MEASURES)));
            }
        };
        let read: fn(&str) -> Result<f64, String> = match key {
            "leaves" => leaves,
            "mass" => |text| plain(text.parse::<Mass>()).map(Mass::grams),
            _ => |text| plain(text.parse::<Length>()).map(Length::cm),
        };
        if place.replace(measured(value, read)?).is_some() {
            return Err(format!("{key} is given twice for one plant"));
        }
    }
    if sample == Sample::default() {
        return Err("nothing is measured: write for instance height=18cm,leaves=9".to_owned());
    }
    Ok(sample)
}

/// `16/18cm`: the unit may be left away before the slash.
fn measured(text: &str, read: fn(&str) -> Result<f64, String>) -> Result<Measured, String> {
    let Some((estimate, found)) = text.split_once('/') else {
        return Ok(Measured { estimate: None, found: read(text)? });
    };
    let unit = found.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
    let estimate = read(estimate).or_else(|_| read(&format!("{estimate}{unit}")))?;
    Ok(Measured { estimate: Some(estimate), found: read(found)? })
}

fn leaves(text: &str) -> Result<f64, String> {
    let number = text.parse().ok().filter(|number: &u32| *number <= 10_000);
    number.map(f64::from).ok_or_else(|| format!("\"{text}\" is no number of leaves"))
}

fn plain<T, E: Display>(read: Result<T, E>) -> Result<T, String> {
    read.map_err(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plants_are_measured_as_people_write_it() {
        let sample = parse("height=16/18cm, leaves=8/9 mass=45g").unwrap();
        assert_eq!(sample.height_cm, Some(Measured { estimate: Some(16.0), found: 18.0 }));
        assert_eq!(sample.leaves, Some(Measured { estimate: Some(8.0), found: 9.0 }));
        assert_eq!(sample.mass_g, Some(Measured { estimate: None, found: 45.0 }));
        assert_eq!(sample.width_cm, None);
        let inches = parse("root=5in/6in").unwrap().longest_root_cm.unwrap();
        assert!((inches.found - 15.24).abs() < 1e-9 && (inches.estimate.unwrap() - 12.7).abs() < 1e-9);
    }

    #[test]
    fn doubtful_measurements_are_refused() {
        for bad in [
            "",
            "height",
            "height=18",
            "hight=18cm",
            "leaves=2.5",
            "mass=-3g",
            "mass=3g mass=4g",
            "leaves=/9",
        ] {
            assert!(parse(bad).is_err(), "{bad:?}");
        }
    }
}
