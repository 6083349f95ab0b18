//! Looking back on a term, on a screen and on a page for the class wall.

mod counts;
mod drawings;
mod estimates;
mod harvests;
pub mod wall;

use super::look::{Look, Mood};
use super::words::long_day;
use crate::domain::review::Review;
use crate::domain::term::Term;

/// Everything on a screen: estimates, harvests, what came up and lived, losses.
pub fn table(term: &Term, review: &Review, look: &Look) -> String {
    let title = format!("{} until {}", term.name, long_day(review.until));
    let parts = [
        ("How well was estimated", estimates::part(term, review, look)),
        ("What was harvested of what was planned", harvests::part(term, review, look)),
        ("What came up and what lived", counts::part(term, review, look)),
        ("What was lost", counts::losses(review, look)),
    ];
    let mut text = format!("{}\n", look.paint(Mood::Heading, &title));
    for (heading, part) in parts {
        text = format!("{text}\n{}\n{part}", look.paint(Mood::Heading, heading));
    }
    text
}
