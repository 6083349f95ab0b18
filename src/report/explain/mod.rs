//! Why serving days, weeks and batches are as they are, in a few sentences and tables.

mod batch;
mod week;

pub use batch::batch;
pub use week::week;

use super::grid::Grid;
use super::look::{Look, Mood};
use super::odds::chance;
use super::summary::lacks;
use super::words::{counted, crop_name, day, percent, reason, reason_in_full, short_day, site_name};
use crate::domain::calendar::days_between;
use crate::domain::explain::{DayExplained, Portion};
use crate::domain::growth::Way;
use crate::domain::ids::BatchId;
use crate::domain::plan::{NOTICEABLE, Plan, Shortfall};
use crate::domain::term::Term;
use crate::domain::variety::{Lacking, lacking};
use std::collections::BTreeSet;

/// Each day with its reason, what would mend it, and what it is made of.
pub fn text(days: &[DayExplained], term: &Term, plan: &Plan, look: &Look) -> String {
    if days.is_empty() {
        let sure = if term.sure() > 0.0 {
            "all are about as sure as promised"
        } else {
            "nothing is promised (sowtide odds tells how sure they are)"
        };
        let mut text = look.wrap(&format!(
            "No serving day is short, and {sure}. sowtide explain --day DATE tells what one of them is \
             made of, --week DATE how full a week is, --batch BATCH why a batch has its dates, and sowtide whatif what one thing \
             more would bring.",
        ));
        for sentence in lacks(term, plan, look) {
            text += &look.wrap(&sentence);
        }
        return text;
    }
    let days: Vec<String> = days.iter().map(|day| of_day(day, term, plan, look)).collect();
    days.join("\n")
}

fn of_day(explained: &DayExplained, term: &Term, plan: &Plan, look: &Look) -> String {
    let mut text = look.paint(Mood::Heading, &day(explained.date));
    text += "\n";
    for sentence in sentences(explained, term, plan, look) {
        text += &look.wrap(&sentence);
    }
    match explained.mends.as_deref() {
        None => text += &look.wrap("There was no time to find out how much each limit would have to give."),
        Some([]) => {}
        Some(mends) => {
            text += "\n";
            text += &table_of_limits(mends, look);
        }
    }
    if !explained.portions.is_empty() {
        text += "\n";
        text += &portions(explained, term, look);
    }
    text
}

fn sentences(explained: &DayExplained, term: &Term, plan: &Plan, look: &Look) -> Vec<String> {
    let short = explained.target - explained.planned;
    let missing = if short >= NOTICEABLE { format!(", {} short", look.grams(short)) } else { String::new() };
    let (target, planned) = (look.grams(explained.target), look.grams(explained.planned));
    let mut told = vec![format!("{target} wanted, {planned} planned{missing}.")];
    if let Some(why) = explained.reason {
        told.push(format!("Why: {}", reason_in_full(why, &term.rules, &plan.facts)));
    }
    let few_kinds = lacking(term, plan).remove(&explained.date).filter(|day| day.kinds_missing > 0);
    told.extend(few_kinds.map(|day| kinds(&day, term, explained, look)));
    if let Some(odds) = explained.odds {
        let promise = match odds.breaks_promise() {
            true => format!(
                "; {} is promised, for which about {} more would be needed (sowtide whatif tells what would help)",
                percent(odds.sure),
                look.grams(odds.missing)
            ),
            false if odds.sure > 0.0 => format!("; {} is promised", percent(odds.sure)),
            false => String::new(),
        };
        let range = if odds.high - odds.low < NOTICEABLE {
            format!("{} in at least 9 terms of 10", look.grams(odds.low))
        } else {
            format!("from {} to {} in 8 terms of 10", look.grams(odds.low), look.grams(odds.high))
        };
        let (reached, mean) = (chance(odds.reached), look.grams(odds.mean));
        told.push(format!("Reached in {reached} of terms{promise}. {mean} on average, {range}."));
    }
    told.extend(origins(explained, term));
    told.extend(old(explained, term));
    told
}

/// How much of a day's greens has lain for longer than the rules call fresh.
fn old(explained: &DayExplained, term: &Term) -> Option<String> {
    let fresh = i64::from(term.rules.fresh_days);
    let old = |portion: &&Portion| days_between(portion.harvested, explained.date) > fresh;
    let grams: f64 = explained.portions.iter().filter(old).map(|portion| portion.grams).sum();
    (grams >= NOTICEABLE).then(|| {
        format!(
            "{} of it was harvested more than {} before (fresh-days).",
            percent(grams / explained.planned),
            counted(term.rules.fresh_days, "day")
        )
    })
}

/// Which kinds are missing, what comes nearest, and what would help.
fn kinds(day: &Lacking, term: &Term, explained: &DayExplained, look: &Look) -> String {
    let from = look.grams(term.rules.kind_from * explained.target);
    let nearest: Vec<String> = day
        .no_kind
        .iter()
        .map(|(crop, grams)| format!("{} ({})", crop_name(term, crop), look.grams(*grams)))
        .collect();
    let nearest = match nearest.as_slice() {
        [] => String::new(),
        some => format!(" Too little to count: {}.", some.join(", ")),
    };
    let too_early = explained.reason == Some(Shortfall::TooEarly);
    let mend = match (too_early, day.no_kind.is_empty()) {
        (true, _) => "",
        (false, true) => " More room or more crops may help, or fewer kinds under \"rules:\".",
        (false, false) => " More room or more crops may help, or a smaller kind-from under \"rules:\".",
    };
    format!(
        "{} of {} kinds, where a crop counts from {from}.{nearest}{mend}",
        day.kinds,
        day.kinds + day.kinds_missing,
    )
}

/// How many batches and tanks a day hangs on.
fn origins(explained: &DayExplained, term: &Term) -> Option<String> {
    let (site, tank, grams) = explained.heaviest_tank()?;
    let (place, share) =
        (format!("tank {tank} in {}", site_name(term, site)), grams / explained.planned.max(grams));
    if share > 0.995 {
        return Some(format!("All of it comes from {place}."));
    }
    let batches: BTreeSet<&BatchId> = explained.portions.iter().map(|portion| &portion.batch).collect();
    let batches = counted(batches.len() as u32, "batch");
    Some(format!("It comes from {batches}; no tank gives more of it than {place}: {}.", percent(share)))
}

/// What lifting each limit alone would mend.
fn table_of_limits(mends: &[(Shortfall, f64)], look: &Look) -> String {
    let mut grid = Grid::new(look, &["Without this limit alone", "Less short by"]).right(&[1]);
    for (limit, grams) in mends {
        grid.row([reason(*limit).to_owned(), look.grams(*grams)]);
    }
    let note = "Counted from the first day of the term on, with plants that need not be whole: what is possible at most. sowtide whatif tries what you could really \
                change.";
    format!("{}{}", grid.draw(look), look.wrap(note))
}

fn portions(explained: &DayExplained, term: &Term, look: &Look) -> String {
    let headings = ["Batch", "Crop", "Site, tank", "Harvested", "Plants", "Mass", "Share"];
    let mut grid = Grid::new(look, &headings).right(&[4, 5, 6]);
    for portion in &explained.portions {
        let way = if portion.way == Way::Cut { "cut" } else { "pulled" };
        grid.row([
            portion.batch.to_string(),
            crop_name(term, &portion.crop).to_owned(),
            format!("{}, {}", site_name(term, &portion.site), portion.tank),
            format!("{} {way}", short_day(portion.harvested)),
            portion.plants.to_string(),
            look.grams(portion.grams),
            percent(portion.grams / explained.planned.max(portion.grams)),
        ]);
    }
    grid.draw(look)
}
