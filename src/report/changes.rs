//! What a new plan changes, for people who know the one before: what to do otherwise, which weeks get less, and from
//! when on all is well again.

pub mod page;

use super::glance::reasons;
use super::grid::Grid;
use super::journal::{place, sentence};
use super::look::{Look, Mood};
use super::odds::in_all;
use super::words::{and, counted, crop_name, day, long_day, reason, short_day, site_name};
use crate::domain::calendar::Week;
use crate::domain::difference::{BatchChange, Change, Detail, Difference, TaskTally, WeekChange};
use crate::domain::ids::SiteId;
use crate::domain::odds::Odds;
use crate::domain::plan::{NOTICEABLE, Plan, is_short};
use crate::domain::tasks::TaskKind;
use crate::domain::term::Term;
use chrono::NaiveDate;

/// Everything on a screen: counts, batches that change by site, weeks, and from when on the target holds again.
pub fn table(term: &Term, difference: &Difference, look: &Look) -> String {
    let mut text = look.paint(Mood::Heading, &title(difference));
    text.push_str("\n\n");
    for sentence in happened(term, difference, look) {
        text.push_str(&look.wrap_after("- ", &sentence));
    }
    for sentence in counts(difference) {
        text.push_str(&look.wrap(&sentence));
    }
    for (site, batches) in by_site(difference) {
        text = format!("{text}\n{}\n", look.paint(Mood::Heading, site_name(term, site)));
        let mut grid = Grid::new(look, &["From", "Batch", "Crop", "Change", "What"]);
        for batch in batches {
            grid.row([
                day(batch.day),
                batch.batch.to_string(),
                crop_name(term, &batch.crop).to_owned(),
                word(batch.change).to_owned(),
                details(batch),
            ]);
        }
        text.push_str(&grid.draw(look));
    }
    text = format!("{text}\n{}", weeks(term, difference, look));
    for sentence in outlook(difference) {
        text.push_str(&look.wrap(&sentence));
    }
    text
}

/// What is told of a plan made again as of any plan: why days from a day on are short, and how sure the rest is.
pub fn how_good(term: &Term, plan: &Plan, (from, odds): (NaiveDate, &Odds), look: &Look) -> String {
    let mut rest = plan.clone();
    rest.servings.retain(|serving| serving.date >= from);
    let is_short = rest.servings.iter().any(|serving| serving.short() >= NOTICEABLE);
    let mut text = format!("{}\n", reasons(term, &rest, look));
    if let Some(sentence) = in_all(odds, is_short, look) {
        text.push_str(&look.wrap(&format!("{sentence} Day by day: sowtide odds")));
    }
    text
}

/// `Plan 4 against plan 3, from Monday 1 March 2027 on`.
pub fn title(difference: &Difference) -> String {
    let Difference { before, after, from, .. } = difference;
    let from = long_day(*from);
    if before == after {
        return format!("Plan {after} as it stands, from {from} on");
    }
    format!("Plan {after} against plan {before}, from {from} on")
}

/// What was recorded that the plan before did not know, a line each; what says the same of several days is told once.
fn happened(term: &Term, difference: &Difference, look: &Look) -> Vec<String> {
    let mut told: Vec<(String, Vec<String>)> = Vec::new();
    for entry in &difference.because {
        let what = format!("{}: {}", place(term, entry), sentence(entry, look));
        match told.iter_mut().find(|(other, _)| *other == what) {
            Some((_, days)) => days.push(day(entry.day)),
            None => told.push((what, vec![day(entry.day)])),
        }
    }
    told.into_iter().map(|(what, days)| format!("{}, {what}", and(&days))).collect()
}

/// How many batches and tasks change, in two sentences.
fn counts(difference: &Difference) -> Vec<String> {
    let batches: Vec<String> = Change::ALL
        .into_iter()
        .map(|change| (difference.count(change), word(change)))
        .filter(|(count, _)| *count > 0)
        .map(|(count, word)| format!("{count} {word}"))
        .collect();
    let batches = if batches.is_empty() { "none".to_owned() } else { batches.join(", ") };
    let TaskTally { kept, moved, changed, dropped, added } = difference.tasks;
    let tasks = format!(
        "Calendar entries: {kept} as before, {moved} on another day, {changed} otherwise changed, {dropped} dropped, \
         {added} added."
    );
    vec![format!("Batches: {batches}."), tasks]
}

/// Batches that change, site by site in the order of the term.
fn by_site(difference: &Difference) -> Vec<(&SiteId, Vec<&BatchChange>)> {
    let mut sites: Vec<(&SiteId, Vec<&BatchChange>)> = Vec::new();
    for batch in difference.batches.iter().filter(|batch| batch.change != Change::Kept) {
        match sites.last_mut() {
            Some((site, batches)) if **site == batch.site => batches.push(batch),
            _ => sites.push((&batch.site, vec![batch])),
        }
    }
    sites
}

fn word(change: Change) -> &'static str {
    match change {
        Change::Kept => "as before",
        Change::Moved => "moved",
        Change::Resized => "resized",
        Change::MovedAndResized => "moved and resized",
        Change::Dropped => "dropped",
        Change::Added => "added",
    }
}

/// What to do otherwise, in a line.
fn details(batch: &BatchChange) -> String {
    let plants = |detail: &Detail| match *detail {
        Detail::Plants { before, after, .. } => Some((before, after)),
        _ => None,
    };
    let mut numbers: Vec<(u32, u32)> = batch.details.iter().filter_map(plants).collect();
    numbers.dedup();
    // The same plants at every task need no task named.
    let alike = numbers.len() == 1;
    let mut told: Vec<String> = batch.details.iter().map(|one| detail(one, alike)).collect();
    told.dedup();
    told.join("; ")
}

/// One thing that changes; where `alike`, the same number of plants at every task.
fn detail(detail: &Detail, alike: bool) -> String {
    match *detail {
        Detail::Day { kind, before, after, .. } => match (before, after) {
            (Some(before), Some(after)) => format!("{kind} on {} (was {})", day(after), day(before)),
            (Some(before), None) => format!("do not {kind} on {}", day(before)),
            (None, Some(after)) => format!("{kind} on {}", day(after)),
            (None, None) => kind.to_string(),
        },
        Detail::Plugs { before, after } if before == after => {
            format!("other number of seeds in {}", counted(after, "plug"))
        }
        Detail::Plugs { before, after } => format!("{} (was {before})", counted(after, "plug")),
        Detail::Plants { before, after, .. } if alike => {
            format!("{} (was {before})", counted(after, "plant"))
        }
        Detail::Plants { kind, day: on, before, after, .. } => {
            format!("{kind} on {}: {} (was {before})", day(on), counted(after, "plant"))
        }
        Detail::Place => "other holes".to_owned(),
        Detail::Way { day: on, cuts, pulls, .. } => {
            let how = match (cuts, pulls) {
                (true, true) => "cut some, pull some",
                (true, false) => "cut",
                _ => "pull whole",
            };
            format!("{} on {}: {how}", TaskKind::Harvest, day(on))
        }
    }
}

fn weeks(term: &Term, difference: &Difference, look: &Look) -> String {
    let left = difference.weeks.iter().any(|week| week.left.is_some());
    let mut headings = vec!["Wk", "Monday", "Target", "Before"];
    if left {
        headings.push("Left");
    }
    headings.extend(["Now", "Result"]);
    let numbers: Vec<usize> = (2..headings.len() - 1).collect();
    let mut grid = Grid::new(look, &headings).right(&numbers);
    for week in &difference.weeks {
        let mut row = vec![
            format!("W{:02}", week.week.number()),
            short_day(week.week.monday()),
            look.grams(week.target),
            look.grams(week.before),
        ];
        if left {
            row.push(week.left.map_or_else(String::new, |grams| look.grams(grams)));
        }
        row.push(look.grams(week.after));
        let mood = if week.holds() { Mood::Good } else { Mood::Warn };
        row.push(look.paint(mood, &result(term, week, look)));
        grid.row(row);
    }
    grid.draw(look)
}

/// What a week comes to, in words.
fn result(term: &Term, week: &WeekChange, look: &Look) -> String {
    if week.target == 0.0 {
        return "nothing wanted any more".to_owned();
    }
    let short = week.target - week.after;
    let is_short = is_short(week.target, week.after, term.rules.tolerance);
    let mut text = if is_short { format!("short {}", look.grams(short)) } else { "planned".to_owned() };
    let more = week.after - week.before;
    if more.abs() >= NOTICEABLE {
        let word = if more > 0.0 { "more" } else { "less" };
        text = format!("{text}, {} {word} than before", look.grams(more.abs()));
    }
    match week.shortfall.filter(|_| is_short) {
        Some(why) => format!("{text}; {}", reason(why)),
        None => text,
    }
}

/// Weeks hit, and from when on all is well again.
fn outlook(difference: &Difference) -> Vec<String> {
    let name = |week: Week| format!("W{:02}", week.number());
    let hit: Vec<String> = difference.hit().map(|week| name(week.week)).collect();
    if hit.is_empty() && difference.weeks.iter().all(WeekChange::holds) {
        return vec!["Every week gets its target, or at least what it was to get before.".to_owned()];
    }
    let noun = if hit.len() == 1 { "Week" } else { "Weeks" };
    let undone =
        if difference.weeks.iter().any(|week| week.left.is_some()) { ", if nothing is done" } else { "" };
    let again = match difference.holds_from() {
        None => "Up to the last week some get less than before.".to_owned(),
        Some(week) => format!(
            "From week {} ({}) on, every week gets its target, or at least what it was to get before.",
            name(week),
            short_day(week.monday())
        ),
    };
    let named = if hit.is_empty() { "none".to_owned() } else { and(&hit) };
    vec![format!("{noun} hit{undone}: {named}."), again]
}
