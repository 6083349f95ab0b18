//! How long seed keeps, and how much of it still comes up when it is old.
//!
//! Published lists say for how many years seed is good in cool, dry storage, and they disagree, so both ends are kept. How
//! germination falls meanwhile follows the seed viability equation (R.H. Ellis and E.H. Roberts, Improved Equations for
//! the Prediction of Seed Longevity, Annals of Botany 45, 1980, from memory): the deaths of a lot's seeds are normally
//! distributed over time, so that its probit falls along a straight line. A lot is taken to be good until half of its
//! seeds still come up (common practice): the line begins at the germination of new seed and reaches nought then.

use super::chance::{below, deviations};
use super::crop::Crop;
use std::ops::RangeInclusive;

/// Years for which seed keeps, by the shortest and the longest of the lists, and which lists these are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Longevity {
    /// Years from harvest, or from the year for which it was packed, until half of the germination is lost.
    pub years: RangeInclusive<u32>,
    /// Where they come from.
    pub source: &'static str,
}

const KNOTT: &str =
    "list of Iowa State University Extension after Knott's Handbook for Vegetable Growers, 1997";
const AVERAGED: &str = "averaged list of four university extensions, web copy, 2015";
const GARDEN: &str = "Seed storage life, web page";
/// Two to four of the three others and The Longevity of Seeds, in Vegetable Gardening, old textbook, web copy: lettuce 6, 3, 4
/// and 5 years, for example.
const SEVERAL: &str = "lists after Knott's Handbook, of university extensions and others, which disagree";
const MEMORY: &str = "from memory";

/// Library crops by id with the fewest and most years. Where two or more lists tell of a crop, these are the extremes.
const BY_CROP: [(&str, u32, u32, &str); 14] = [
    ("endive", 2, 5, SEVERAL),
    ("spinach", 3, 5, SEVERAL),
    ("chard", 3, 10, SEVERAL),
    ("kale", 2, 4, SEVERAL),
    ("mustard", 4, 4, KNOTT),
    ("mizuna", 3, 3, AVERAGED),
    ("pak-choi", 3, 3, AVERAGED),
    ("tatsoi", 3, 3, AVERAGED),
    ("rocket", 2, 2, GARDEN),
    ("basil", 5, 5, SEVERAL),
    ("cilantro", 2, 2, AVERAGED),
    ("parsley", 1, 2, SEVERAL),
    ("lambs-lettuce", 5, 5, MEMORY),
    ("sorrel", 4, 4, MEMORY),
];

/// How long a crop's seed keeps. Lettuces and cresses go by their kind, and so does a crop of a grower's own; of other
/// kinds too little is alike.
pub fn longevity(crop: &Crop) -> Option<Longevity> {
    let row = BY_CROP.iter().find(|(id, ..)| *id == crop.id.as_str());
    let (fewest, most, source) = match (row, crop.kind.as_str()) {
        (Some((_, fewest, most, source)), _) => (*fewest, *most, *source),
        (None, "lettuce") => (3, 6, SEVERAL),
        (None, "cress") => (5, 5, AVERAGED),
        (None, _) => return None,
    };
    Some(Longevity { years: fewest..=most, source })
}

/// Share of the germination of new seed that is left after so many years, for seed that keeps so many.
pub fn left(germination: f64, age: u32, keeps: u32) -> f64 {
    // Seed of which all comes up has no probit, and a lot near a half when new would seem never to age.
    let new = germination.clamp(0.75, 0.999);
    let years = f64::from(age) / f64::from(keeps.max(1));
    below(deviations(new) * (1.0 - years)) / new
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Probits by hand (tables of the normal distribution): 95 % is 1.645, so two thirds and one third of it are 1.097 and
    /// 0.548, which 86.4 % and 70.8 % lie below.
    #[test]
    fn germination_falls_along_a_probit_line_to_a_half() {
        for (age, keeps, share) in [(0, 3, 0.95), (1, 3, 0.864), (2, 3, 0.708), (3, 3, 0.5), (2, 6, 0.864)] {
            assert!((left(0.95, age, keeps) * 0.95 - share).abs() < 1e-3, "{age} of {keeps}");
        }
        assert!(left(0.95, 6, 3) < 0.1 && left(0.95, 400, 1) < 1e-9);
    }

    #[test]
    fn seed_never_gets_better_with_age_whatever_the_packet_says() {
        for germination in [0.0, 0.3, 0.75, 0.9, 0.99, 1.0] {
            for keeps in 0..=10 {
                let shares: Vec<f64> = (0..12).map(|age| left(germination, age, keeps)).collect();
                assert!((shares[0] - 1.0).abs() < 1e-9);
                assert!(shares.windows(2).all(|pair| pair[1] < pair[0]), "{germination} {keeps}");
            }
        }
    }

    #[test]
    fn the_lists_are_told_from_the_shortest_to_the_longest() {
        for (id, fewest, most, source) in BY_CROP {
            assert!((1..=most).contains(&fewest), "{id}");
            assert!(fewest == most || source == SEVERAL, "{id}");
        }
    }
}
