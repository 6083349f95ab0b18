//! Estimates against what was measured.

use crate::domain::crop::Limits;
use crate::domain::ids::SiteId;
use crate::domain::review::{Accuracy, Change, FEWEST, Guess, Halves, Lean, Quantity, Review, accuracy};
use crate::domain::term::Term;
use crate::report::grid::Grid;
use crate::report::look::Look;
use crate::report::words::{and, percent, short_day, site_name};
use std::collections::BTreeSet;

/// A table of sites and quantities with what it means.
pub(super) fn part(term: &Term, review: &Review, look: &Look) -> String {
    if review.guesses.is_empty() {
        return look.wrap(
            "No plant was both estimated and measured. Record such plants with their harvest: --sample \"height=16/18cm\" says \
             16 cm thought, 18 cm found.",
        );
    }
    let headings = ["Site", "What", "Plants", "On average", "19 times in 20", "Spread", "Off by", "In words"];
    let mut grid = Grid::new(look, &headings).right(&[2, 3, 5, 6]);
    for site in sites(term, review) {
        for (quantity, accuracy) in by_quantity(review, |guess| guess.site == *site) {
            grid.row(row(site_name(term, site), quantity, &accuracy));
        }
    }
    if sites(term, review).len() > 1 {
        grid.line();
        for (quantity, accuracy) in by_quantity(review, |_| true) {
            grid.row(row("All", quantity, &accuracy));
        }
    }
    let mut text = grid.draw(look);
    for sentence in changes(term, review) {
        text.push_str(&look.wrap(&sentence));
    }
    text.push_str(&look.wrap(&format!(
        "On average: by how much estimates are too high (+) or too low (-), as a share of what was measured, and between which \
         limits that lies 19 times in 20. Spread: how far single ones lie around it (standard deviation). Off by: how far they \
         miss on average, whichever way. Fewer than {FEWEST} plants are too few to tell."
    )));
    if let Some(slips) = slips(review) {
        text.push_str(&look.wrap(&slips));
    }
    text
}

/// Sites at which something was estimated, in the order of the term.
fn sites<'a>(term: &'a Term, review: &Review) -> Vec<&'a SiteId> {
    let ids = term.sites.iter().map(|site| &site.id);
    ids.filter(|id| review.guesses.iter().any(|guess| guess.site == **id)).collect()
}

/// How well each quantity was estimated of which there is an estimate.
pub(super) fn by_quantity(review: &Review, wanted: impl Fn(&Guess) -> bool) -> Vec<(Quantity, Accuracy)> {
    let of = |quantity| {
        review.guesses.iter().filter(|guess| guess.quantity == quantity && wanted(guess)).collect()
    };
    let all = Quantity::ALL.into_iter().map(|quantity| (quantity, of(quantity)));
    all.filter(|(_, guesses): &(_, Vec<&Guess>)| !guesses.is_empty())
        .map(|(quantity, guesses)| (quantity, accuracy(guesses)))
        .collect()
}

fn row(site: &str, quantity: Quantity, accuracy: &Accuracy) -> Vec<String> {
    let begin = [site.to_owned(), name(quantity).to_owned(), accuracy.plants.to_string()];
    let told = match &accuracy.told {
        None => ["-", "-", "-", "-", "too few to tell"].map(str::to_owned),
        Some(told) => {
            let Limits { low, high } = told.limits;
            [
                signed(told.bias),
                format!("{} to {}", signed(low), signed(high)),
                percent(told.spread),
                percent(told.miss),
                lean(told.lean()).to_owned(),
            ]
        }
    };
    begin.into_iter().chain(told).collect()
}

/// `height`, `longest root`.
pub(super) fn name(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Height => "height",
        Quantity::Width => "width",
        Quantity::Leaves => "leaves",
        Quantity::LongestRoot => "longest root",
        Quantity::Mass => "mass",
    }
}

fn lean(lean: Lean) -> &'static str {
    match lean {
        Lean::High => "too high",
        Lean::Low => "too low",
        Lean::Neither => "neither, as far as can be told",
    }
}

/// How later estimates compare with earlier ones, of each site and quantity with enough of both.
fn changes(term: &Term, review: &Review) -> Vec<String> {
    let mut sentences = Vec::new();
    for site in sites(term, review) {
        for (quantity, accuracy) in by_quantity(review, |guess| guess.site == *site) {
            if let Some(halves) = accuracy.told.and_then(|told| told.halves) {
                sentences.push(format!("{}, {}: {}", site_name(term, site), name(quantity), change(&halves)));
            }
        }
    }
    sentences
}

/// `off by 20% before 8 Oct, by 9% from then on: better.`
fn change(halves: &Halves) -> String {
    let word = match halves.change {
        Change::Better => "better",
        Change::Worse => "worse",
        Change::Neither => "no change that could be told",
    };
    format!(
        "off by {} before {}, by {} from then on: {word}.",
        percent(halves.earlier),
        short_day(halves.from),
        percent(halves.later)
    )
}

/// `+12%`.
pub(super) fn signed(share: f64) -> String {
    let text = format!("{:+.0}%", share * 100.0);
    if matches!(text.as_str(), "+0%" | "-0%") { "0%".to_owned() } else { text }
}

/// Estimates so far off that they are taken for slips of the pen.
fn slips(review: &Review) -> Option<String> {
    let slips = review.guesses.iter().filter(|guess| guess.is_slip());
    let entries: BTreeSet<String> = slips.map(|guess| guess.entry.to_string()).collect();
    let list: Vec<String> = entries.into_iter().collect();
    (!list.is_empty()).then(|| {
        format!(
            "Left out, as they can hardly be meant: estimates of more than four times what was measured, or less than a quarter, in {}. \
             Look at numbers and units, and correct the entry with --replaces.",
            and(&list)
        )
    })
}

#[cfg(test)]
mod tests {
    use super::signed;

    #[test]
    fn shares_above_and_below_have_a_sign() {
        assert_eq!([0.124, -0.03, 0.002, -0.004].map(signed), ["+12%", "-3%", "0%", "0%"]);
    }
}
