//! What a term leaves standing for the next one, in a sentence or two.

use super::look::Look;
use super::words::{and, counted, day, site_name};
use crate::domain::ahead::StandsOn;
use crate::domain::term::Term;

/// The sentences, as a paragraph.
pub fn text(term: &Term, stands_on: &StandsOn, look: &Look) -> String {
    look.wrap(&sentences(term, stands_on, look))
}

fn sentences(term: &Term, stands_on: &StandsOn, look: &Look) -> String {
    let (next, until) = (day(stands_on.next), day(stands_on.until));
    if stands_on.plants.is_empty() && stands_on.seedlings == 0 {
        return format!("Nothing is left standing for the next term, which starts on {next}.");
    }
    let mut found: Vec<String> = stands_on
        .plants
        .iter()
        .map(|(site, plants)| format!("{} at {}", counted(*plants, "plant"), site_name(term, site)))
        .collect();
    if stands_on.seedlings > 0 {
        found.push(format!("{} in the nurseries", counted(stands_on.seedlings, "seedling")));
    }
    format!(
        "Left standing over the days between the terms: {}. From {next} to {until} they are to give {} of the {} wanted then. Going on: \
         sowtide next",
        and(&found),
        look.grams(stands_on.grams),
        look.grams(stands_on.wanted)
    )
}
