//! What one thing more would bring, as a table and a few sentences.

use super::grid::Grid;
use super::look::{Look, Mood};
use super::odds;
use super::words::{and, counted, percent};
use crate::domain::ids::SiteId;
use crate::domain::odds::Chance;
use crate::domain::site::Site;
use crate::domain::term::Term;
use crate::domain::whatif::{Idea, Outcome, Tried, WhatIf};
use chrono::{NaiveDate, Weekday};
use std::collections::{BTreeMap, BTreeSet};

/// The table, changes of most use first, and how to write them in the term file.
pub fn table(found: &WhatIf, term: &Term, look: &Look) -> String {
    let heading = look.paint(Mood::Heading, "What one thing more would bring");
    let headings = ["Change", "Missing", "Less by", "Days met", "Sure on average", "Least sure"];
    let mut grid = Grid::new(look, &headings).right(&[1, 2, 3, 4, 5]);
    grid.row(row("the term as it is".to_owned(), &found.as_is, String::new(), (found, look)));
    let of_use = || found.tried.iter().filter(|tried| found.is_of_use(tried));
    for tried in of_use() {
        let less = look.grams(found.gain(tried));
        grid.row(row(change(&tried.idea, term), &tried.outcome, less, (found, look)));
    }
    let mut text = format!("{heading}\n{}\n", grid.draw(look));
    for sentence in sentences(found, term, look) {
        text.push_str(&look.wrap(&sentence));
    }
    let mut ways: Vec<String> = Vec::new();
    for way in of_use().map(|tried| way(&tried.idea, term)) {
        // One is enough for all tanks.
        if !ways.contains(&way) {
            ways.push(way);
        }
    }
    if !ways.is_empty() {
        text += "\n";
        text += &look.paint(Mood::Heading, "In the term file");
        text += "\n";
        for way in &ways {
            text += &look.wrap(way);
        }
    }
    text
}

fn row(name: String, outcome: &Outcome, less: String, (found, look): (&WhatIf, &Look)) -> [String; 6] {
    [
        name,
        look.grams(outcome.missing),
        less,
        format!("{} of {}", outcome.met, found.days),
        share(outcome.sure),
        share(outcome.least_sure),
    ]
}

/// A share of terms, to the five in a hundred to which searches agree at best.
fn share(share: f64) -> String {
    odds::chance(Chance { share, error: 1.0 })
}

fn sentences(found: &WhatIf, term: &Term, look: &Look) -> Vec<String> {
    let mut told = vec![format!(
        "\"Missing\" is what serving days lack in an average term, played with luck. Three searches for the term as it is differ by \
         {}; what brings no more than that is not in the table.",
        look.grams(found.luck)
    )];
    let useless: Vec<String> = found
        .tried
        .iter()
        .filter(|tried| !found.is_of_use(tried))
        .map(|tried: &Tried| change(&tried.idea, term))
        .collect();
    if !useless.is_empty() {
        told.push(format!("Tried and of no use that could be told: {}.", and(&useless)));
    }
    if !found.untried.is_empty() {
        let untried: Vec<String> = found.untried.iter().map(|idea| change(idea, term)).collect();
        told.push(format!("There was no time to try: {}. A longer --time-limit does.", and(&untried)));
    }
    told.push("Each was tried alone, on the whole term from its first day. Nothing was saved.".to_owned());
    told
}

/// A change in a few words.
fn change(idea: &Idea, term: &Term) -> String {
    match idea {
        Idea::Tank { site, like } => format!("one more tank like {like} in {}", name(term, site)),
        Idea::Cells { more } => format!("{more} more nursery cells at each site"),
        Idea::ClassDay { .. } => "class on one more weekday at each site".to_owned(),
        Idea::ComeIn { .. } => "somebody comes in once in each long break without class".to_owned(),
        Idea::Crop { crop } => format!("{crop} as one more crop"),
        Idea::Bought { crop, .. } => format!("{crop} seedlings bought for the first class days"),
        Idea::Keeps { days } => format!("greens that keep up to {} longer", counted(*days, "day")),
        Idea::SmallerBatches { from, to } => format!("batches of {to} plants and not {from} at least"),
        Idea::LessSure { from, to } => {
            format!("promising {} instead of {}", percent(*to), percent(*from))
        }
    }
}

/// What to write for a change.
fn way(idea: &Idea, term: &Term) -> String {
    let told = change(idea, term);
    match idea {
        Idea::Tank { .. } => "- one more tank: under tanks: of its site, one more entry with an id of its own, or a count: that is \
                              one higher."
            .to_owned(),
        Idea::Cells { .. } => format!("- {told}: a larger number under nursery: cells:."),
        Idea::ClassDay { days } => {
            let lists: Vec<String> = days.iter().filter_map(|day| class_days(term, day)).collect();
            format!("- {told}: {}.", and(&lists))
        }
        Idea::ComeIn { days } => format!("- {told}: {}. Another day of the break does about as well.", and(&extra_days(days))),
        Idea::Crop { crop } => format!("- {told}: \"- {crop}\" under crops:."),
        Idea::Bought { crop, age, sites } => {
            let age = counted(*age, "day");
            let line = |(site, date, plants): &(SiteId, NaiveDate, u32)| {
                format!("{{ crop: {crop}, plants: {plants}, age: {age}, date: {date}, site: {site} }}")
            };
            format!("- {told}: under arrivals:, {}.", and(&sites.iter().map(line).collect::<Vec<_>>()))
        }
        Idea::Keeps { .. } => format!(
            "- {told}: only if yours do, cooled at once and kept as cold as their crop wants it; then as shelf_life: and \
             cut_shelf_life: in crop files of your own, in a folder crops beside the term file."
        ),
        Idea::SmallerBatches { to, .. } => format!("- {told}: smallest-batch: {to} under rules:."),
        Idea::LessSure { to, .. } => format!("- {told}: sure: {} under target:.", percent(*to)),
    }
}

/// The extra class days of each site, those with the same ones together.
fn extra_days(days: &[(SiteId, NaiveDate)]) -> Vec<String> {
    let mut of_site: BTreeMap<&SiteId, Vec<String>> = BTreeMap::new();
    for (site, date) in days {
        of_site.entry(site).or_default().push(date.to_string());
    }
    let mut alike: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for (site, dates) in of_site {
        alike.entry(dates.join(", ")).or_default().push(site.to_string());
    }
    alike
        .into_iter()
        .map(|(dates, sites)| format!("add {dates} to extra-class-days: [..] under {}", and(&sites)))
        .collect()
}

/// A site's class days with one more.
fn class_days(term: &Term, (site, more): &(SiteId, Weekday)) -> Option<String> {
    let site: &Site = term.site(site)?;
    let usual = site.usual_weekdays().into_iter();
    let mut days: BTreeSet<u32> = usual.map(|day| day.num_days_from_monday()).collect();
    days.insert(more.num_days_from_monday());
    let names = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];
    let days: Vec<&str> = days.into_iter().filter_map(|day| names.get(day as usize).copied()).collect();
    Some(format!("class-days: [{}] at {}", days.join(", "), site.id))
}

fn name(term: &Term, site: &SiteId) -> String {
    term.site(site).map_or_else(|| site.to_string(), |site| site.name.clone())
}
