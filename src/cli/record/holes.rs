//! Numbers of holes as people type them: `4-7,9`.

use std::collections::BTreeSet;
use std::ops::RangeInclusive;

/// No lid has more holes.
const MOST: u32 = 100_000;

/// Holes by number, each once, sorted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Holes(pub(super) Vec<u32>);

/// Reads numbers and stretches of numbers between commas.
pub(super) fn parse(text: &str) -> Result<Holes, String> {
    let mut holes = BTreeSet::new();
    for piece in text.split(',') {
        let stretch = stretch(piece.trim())
            .ok_or_else(|| format!("\"{piece}\" is no hole: write numbers, such as 4-7,9"))?;
        for hole in stretch {
            if !holes.insert(hole) {
                return Err(format!("hole {hole} is named twice"));
            }
        }
    }
    Ok(Holes(holes.into_iter().collect()))
}

fn stretch(piece: &str) -> Option<RangeInclusive<u32>> {
    let number = |text: &str| text.trim().parse::<u32>().ok().filter(|hole| (1..=MOST).contains(hole));
    let (first, last) = match piece.split_once('-') {
        Some((first, last)) => (number(first)?, number(last)?),
        None => (number(piece)?, number(piece)?),
    };
    (first <= last).then_some(first..=last)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stretches_and_single_holes() {
        assert_eq!(parse("9, 4-7"), Ok(Holes(vec![4, 5, 6, 7, 9])));
        for wrong in ["", "4-", "7-4", "0", "four", "4-6,5", "1-4000000000"] {
            assert!(parse(wrong).is_err(), "{wrong}");
        }
    }
}
