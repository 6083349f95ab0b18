//! What sites can sustain, in a few sentences.

use super::look::{Look, Mood};
use super::odds::chance;
use super::words::{and, counted, day, percent};
use crate::domain::most::Most;
use crate::domain::term::Term;

/// Grams to which what can be sustained is rounded down: it is known no better.
const STEP: f64 = 10.0;

/// How much each serving day can get, how sure that is, and how to plan for it.
pub fn text(most: &Most, term: &Term, look: &Look) -> String {
    let grams = (most.grams / STEP).floor() * STEP;
    let heading = look.paint(Mood::Heading, "What these sites can sustain");
    let mut text = format!("{heading}\n\n");
    for sentence in sentences(most, grams, term, look) {
        text.push_str(&look.wrap(&sentence));
    }
    text
}

fn sentences(most: &Most, grams: f64, term: &Term, look: &Look) -> Vec<String> {
    let days = counted(most.days.len() as u32, "serving day");
    let from = most.days.first().map_or(String::new(), |first| format!(", from {} on", day(*first)));
    if grams <= 0.0 {
        return vec![format!("No even target was found that {days}{from} can get.")];
    }
    let servings = term.serving_grams.map(|size| (grams / size).floor()).filter(|servings| *servings >= 1.0);
    let of_servings = match (servings, term.serving_grams) {
        (Some(servings), Some(size)) => format!(" ({servings:.0} servings of {})", look.grams(size)),
        _ => String::new(),
    };
    let mut told = vec![match most.least_sure.filter(|_| most.sure > 0.0) {
        Some(least) => format!(
            "{} ready to eat{of_servings} on each of {days}{from}, so that each gets it in about {} of terms; the least sure \
             one, {}, in {}.",
            look.grams(grams),
            percent(most.sure),
            day(least.date),
            chance(least.reached),
        ),
        None => format!(
            "{} ready to eat{of_servings} on each of {days}{from}, if all goes as the crop figures say; nothing is kept in \
             reserve.",
            look.grams(grams),
        ),
    }];
    if !most.too_early.is_empty() {
        let early: Vec<String> = most.too_early.iter().map(|date| day(*date)).collect();
        told.push(format!("Left out, as most crops cannot be ready by then: {}.", and(&early)));
    }
    told.push(match servings {
        Some(servings) => {
            format!("To plan for it, write \"servings: {servings:.0}\" under target: in the term file.")
        }
        None => {
            format!("To plan for it, write \"mass: {}\" under target: in the term file.", look.grams(grams))
        }
    });
    let plans = counted(most.tried, "plan");
    told.push(if most.stopped {
        format!("Found with {plans}, before time was up; with more time it may be more.")
    } else {
        format!("Found with {plans}, each searched for half as long as usual. Nothing was saved.")
    });
    told
}
