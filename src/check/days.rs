//! Every sowing, transplanting and harvest falls on a class day of its site, inside the term.

use super::subject::Subject;
use super::violation::{Findings, Rule, Violation, list, say};
use crate::domain::site::Site;
use chrono::NaiveDate;

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    for known in &subject.batches {
        let mut work = Vec::new();
        if !known.batch.is_standing() {
            work.push(("sowing", known.batch.sown));
        }
        for part in &known.parts {
            if part.is_transplanted() {
                work.push(("transplanting", part.part.transplant));
            }
            work.extend(part.part.harvests.iter().map(|harvest| ("harvest", harvest.date)));
        }
        work.sort_by_key(|(_, day)| *day);
        work.dedup();
        for (what, day) in work {
            if let Some(message) = wrong(subject, known.site, what, day) {
                found.push(
                    Violation::new(Rule::ClassDays, message).on(day).at(&known.site.id).of(&known.batch.id),
                );
            }
        }
    }
}

fn wrong(subject: &Subject<'_>, site: &Site, what: &str, day: NaiveDate) -> Option<String> {
    if !subject.in_term(day) {
        let (start, end) = (say(subject.term.start), say(subject.term.end));
        return Some(format!("the {what} lies outside the term, which runs from {start} to {end}"));
    }
    if site.meets_on(day) {
        return None;
    }
    let before = site.class_days.iter().rev().find(|class| **class < day);
    let after = site.class_days.iter().find(|class| **class > day);
    let nearest = list(before.into_iter().chain(after).map(|class| say(*class)));
    let off = site.days_off.iter().find(|off| off.span.contains(day));
    let why = off.map_or_else(String::new, |off| format!(" ({})", off.name));
    Some(format!("the {what} is not on a class day{why}; the nearest class days are {nearest}"))
}
