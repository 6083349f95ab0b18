//! A page for the class wall: a sheet for each site, in large letters, for pupils to read.

use super::counts::{STAGES, in_words};
use super::estimates::by_quantity;
use super::{drawings, harvests};
use crate::domain::plan::Plan;
use crate::domain::review::{
    Accuracy, Cause, Change, FEWEST, Guess, Lean, Outcome, Quantity, Review, Told, Verdict,
};
use crate::domain::site::Site;
use crate::domain::term::Term;
use crate::report::look::Look;
use crate::report::page::sentence;
use crate::report::sheets::page::{Paper, Sheet, document};
use crate::report::words::{counted, long_day, percent, short_day};
use maud::{Markup, html};

/// Causes of losses told at most.
const CAUSES: usize = 6;

/// The HTML file, for this paper.
pub fn page(term: &Term, plan: &Plan, review: &Review, look: &Look, paper: Paper) -> String {
    let sheets: Vec<Sheet> = term.sites.iter().map(|site| sheet(term, site, review, look)).collect();
    let foot = format!("{}, plan revision {}", term.name, plan.revision);
    document(&format!("How we did: {}", term.name), &foot, &sheets, paper)
}

fn sheet(term: &Term, site: &Site, review: &Review, look: &Look) -> Sheet {
    let mut here = review.clone();
    here.keep_sites(|id| *id == site.id);
    let body = html! {
        div.wall {
            h2 { "How well did we guess?" }
            (guesses(&here, look))
            h2 { "Did we harvest what we planned?" }
            (harvest(term, &here, look))
            h2 { "From seed to plate" }
            (stages(&here.in_all()))
            h2 { "What we lost" }
            (losses(&here))
        }
    };
    Sheet::new(format!("How we did: {}", site.name), format!("until {}", long_day(review.until)), body)
}

fn guesses(review: &Review, look: &Look) -> Markup {
    let quantities = by_quantity(review, |_| true);
    html! {
        @if quantities.is_empty() {
            p { "We have not yet written down a guess together with what we measured." }
        } @else {
            p { "Each ring is one plant. The nearer it lies to the slanting line, the better the guess." }
            div.pictures {
                @for (quantity, accuracy) in &quantities {
                    div {
                        h3 { (title(*quantity)) }
                        (drawings::dots(*quantity, &of(review, *quantity), look))
                        p { (told(accuracy)) (slips(review, *quantity)) }
                    }
                }
            }
        }
    }
}

fn of(review: &Review, quantity: Quantity) -> Vec<&Guess> {
    review.guesses.iter().filter(|guess| guess.quantity == quantity).collect()
}

/// Guesses that are left out.
fn slips(review: &Review, quantity: Quantity) -> String {
    match of(review, quantity).iter().filter(|guess| guess.is_slip()).count() {
        0 => String::new(),
        1 => " One guess is left out (the triangle): it must be a slip of the pen.".to_owned(),
        slips => format!(" {slips} guesses are left out (the triangles): they must be slips of the pen."),
    }
}

fn title(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Height => "Height",
        Quantity::Width => "Width",
        Quantity::Leaves => "Number of leaves",
        Quantity::LongestRoot => "Longest root",
        Quantity::Mass => "Mass",
    }
}

fn told(accuracy: &Accuracy) -> String {
    let plants = counted(accuracy.plants as u32, "plant");
    let Some(told) = accuracy.told else {
        return format!("{plants} so far. Fewer than {FEWEST} are too few to tell how well we guess.");
    };
    format!(
        "{plants}. {} {}{}",
        lean(&told),
        format_args!("We miss by {} on average.", percent(told.miss)),
        change(&told)
    )
}

fn lean(told: &Told) -> String {
    let share = percent(told.bias.abs());
    match told.lean() {
        Lean::High => format!("On average we guess {share} too high."),
        Lean::Low => format!("On average we guess {share} too low."),
        Lean::Neither => "We cannot tell whether we guess too high or too low.".to_owned(),
    }
}

fn change(told: &Told) -> String {
    let Some(halves) = told.halves else { return String::new() };
    let (earlier, later) = (percent(halves.earlier), percent(halves.later));
    let day = short_day(halves.from);
    let then = format!("Before {day} we missed by {earlier}, since then by {later}");
    match halves.change {
        Change::Better => format!(" {then}: we got better!"),
        Change::Worse => format!(" {then}: we have to look more closely again."),
        Change::Neither => format!(" {then}; that may be chance."),
    }
}

fn harvest(term: &Term, review: &Review, look: &Look) -> Markup {
    let crops = harvests::by_crop(term, review);
    let mass = review.in_all().mass;
    if crops.is_empty() {
        return html! { p { "No harvest was due yet." } };
    }
    html! {
        p {
            "We weighed " b { (look.grams(mass.weighed)) } " of greens. The plan said "
            b { (look.grams(mass.planned)) } " until now."
            @if mass.unrecorded > 0.0 {
                " Nobody wrote down what came of " (look.grams(mass.unrecorded)) " of these (hatched)."
            }
            @if let Some(share) = mass.of_plan().filter(|_| mass.weighed > 0.0) {
                @if mass.unrecorded > 0.0 { " Of the rest we weighed " } @else { " That is " }
                b { (percent(share)) }
                @if mass.unrecorded <= 0.0 { " of the plan" }
                "."
            }
        }
        @for bars in drawings::bars(&crops, look) { div.whole { (bars) } }
    }
}

fn stages(all: &Outcome) -> Markup {
    let counted_of: Vec<_> =
        STAGES.iter().map(|stage| (stage.name, (stage.of)(all))).filter(|(_, tally)| tally.of > 0).collect();
    if counted_of.is_empty() {
        return html! { p { "We have not counted yet how many seeds came up and how many plants lived." } };
    }
    html! {
        div.whole {
            (drawings::shares(&counted_of))
            (drawings::legend())
        }
        ul {
            @for (name, tally) in &counted_of {
                li {
                    b { (sentence(name)) } ": " (percent(tally.share())) ". "
                    (tally.verdict().map_or("", verdict))
                }
            }
            @if all.assumed > 0 {
                li { "Nobody wrote down the harvest of " (counted(all.assumed, "plant")) "; they count as harvested as planned." }
            }
            @if all.missing > 0 {
                li { (counted(all.missing, "plant")) " neither harvested nor written down as lost: what became of them?" }
            }
        }
    }
}

fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::TooFew => "We counted too few to tell whether that is more or less than usual.",
        Verdict::Fewer => "That is less than usual. Why?",
        Verdict::More => "That is more than usual!",
        Verdict::Fits => "As usual, as far as we can tell.",
    }
}

fn losses(review: &Review) -> Markup {
    let causes = review.causes();
    html! {
        @if causes.is_empty() {
            p { "Nobody wrote down a loss. Was there none?" }
        } @else {
            ul {
                @for cause in causes.iter().take(CAUSES) { li { (loss(cause)) } }
                @if causes.len() > CAUSES { li { "and " (causes.len() - CAUSES) " more causes" } }
            }
        }
    }
}

/// `12 plants in tanks: pump stood still`.
fn loss(cause: &Cause<'_>) -> String {
    let places = [(cause.in_nursery, "plug", "in the nursery"), (cause.in_tanks, "plant", "in tanks")];
    let told: Vec<String> = places
        .into_iter()
        .filter(|(number, ..)| *number > 0)
        .map(|(number, noun, place)| format!("{} {place}", counted(number, noun)))
        .collect();
    format!("{}: {}", told.join(" and "), in_words(cause))
}
