//! First and last day, breaks, closures and calendars to import.

use crate::domain::ahead::{AHEAD_WEEKS, Ahead};
use crate::domain::calendar::{DateSpan, DaysOff, DaysOffKind, days_between, minus_days, plus_days};
use crate::domain::term::LONGEST_TERM;
use crate::files::days_off::{self, Choice};
use crate::files::problem::TextFile;
use crate::files::reading::{Entries, Reading};
use crate::files::store::Store;
use crate::files::tree::Node;
use chrono::NaiveDate;
use chrono_tz::Tz;
use std::ops::Range;

/// A stretch of days off and where it is written, unless it was imported.
#[derive(Debug, Clone)]
pub(super) struct Off {
    pub(super) days: DaysOff,
    pub(super) written: Option<Range<usize>>,
}

/// A day as messages name it, such as `Thu 2026-11-26`.
pub(super) fn shown(day: NaiveDate) -> String {
    day.format("%a %Y-%m-%d").to_string()
}

/// First and last day to plan for, and how the term goes on after its own last day, if plants may stand beyond it.
pub(super) fn term_span(reading: &mut Reading, entries: &Entries<'_>) -> Option<(DateSpan, Option<Ahead>)> {
    let start = reading.need(entries, "start", "start: 2026-08-31");
    let first = start.and_then(|node| reading.date(node));
    let end = reading.need(entries, "end", "end: 2026-12-18");
    let last = end.and_then(|node| reading.date(node));
    let (first, last, end) = (first?, last?, end?);
    if last < first {
        reading.note(&end.span, "the term ends before it starts", format!("write {first} or a later day"));
        return None;
    }
    if days_between(first, last) > i64::from(LONGEST_TERM) {
        let help =
            format!("plan at most {LONGEST_TERM} days at a time: up to {}", plus_days(first, LONGEST_TERM));
        reading.note(&end.span, "this term is too long to plan", help);
        return None;
    }
    let Some(node) = entries.get("next-term-starts") else { return Some((DateSpan { first, last }, None)) };
    let ahead = Ahead { last, next: reading.date(node)? };
    let until = ahead.end();
    if ahead.next <= last {
        let help = format!("write a day after {last}, or leave this line out");
        reading.note(&node.span, "the next term starts before this one is over", help);
        return None;
    }
    if days_between(first, until) > i64::from(LONGEST_TERM) {
        let help = format!(
            "with the first {AHEAD_WEEKS} weeks of the next term this is too long to plan: leave this line out, or let this term \
             start later"
        );
        reading.note(&node.span, "the next term starts too late", help);
        return None;
    }
    Some((DateSpan { first, last: until }, Some(ahead)))
}

/// The days between a term and the next one, if there are any.
pub(super) fn between(ahead: Ahead) -> Option<Off> {
    let span = DateSpan { first: plus_days(ahead.last, 1), last: minus_days(ahead.next, 1) };
    let days = DaysOff { name: "between the terms".to_owned(), span, kind: DaysOffKind::Break };
    (span.first <= span.last).then_some(Off { days, written: None })
}

/// Whether `day` lies in the term; complains if not. Without a known term every day is fine.
pub(super) fn in_term(
    reading: &mut Reading,
    span: &Range<usize>,
    day: NaiveDate,
    term: Option<DateSpan>,
) -> bool {
    let Some(term) = term.filter(|term| !term.contains(day)) else {
        return true;
    };
    let side = if day < term.first { "before the term starts" } else { "after the term ends" };
    let help = format!("the term runs from {} to {}", term.first, term.last);
    reading.note(span, format!("{} lies {side}", shown(day)), help);
    false
}

/// Breaks, closures and imported days off of the whole term or of a site, sorted by first day.
/// Remarks begin with `whose`.
pub(super) fn days_off(
    reading: &mut Reading,
    entries: &Entries<'_>,
    term: Option<DateSpan>,
    store: &dyn Store,
    whose: &str,
) -> Vec<Off> {
    let mut found = Vec::new();
    for (key, kind) in [("breaks", DaysOffKind::Break), ("closures", DaysOffKind::Closure)] {
        for node in entries.get(key).map(Reading::items).unwrap_or_default() {
            found.extend(written(reading, node, kind, term));
        }
    }
    for node in entries.get("import").map(Reading::items).unwrap_or_default() {
        found.extend(imported(reading, node, term, store, whose));
    }
    found.sort_by_key(|off| off.days.span);
    found
}

fn written(reading: &mut Reading, node: &Node, kind: DaysOffKind, term: Option<DateSpan>) -> Option<Off> {
    let entries = reading.map(node, &["name", "day", "first", "last"])?;
    let name = reading.need(&entries, "name", "name: autumn break").and_then(|node| reading.name(node));
    let span = stretch(reading, &entries)?;
    let touches = term.is_none_or(|term| span.first <= term.last && term.first <= span.last);
    let place = entries.get("day").or_else(|| entries.get("first")).map(|node| node.span.clone());
    let place = place.unwrap_or_else(|| entries.span.clone());
    if !touches {
        in_term(reading, &place, span.first, term);
        return None;
    }
    Some(Off { days: DaysOff { name: name?, span, kind }, written: Some(place) })
}

/// `day:`, or `first:` and `last:`.
fn stretch(reading: &mut Reading, entries: &Entries<'_>) -> Option<DateSpan> {
    if let Some(node) = entries.get("day") {
        if entries.get("first").or_else(|| entries.get("last")).is_some() {
            let help = "write either day, or first and last";
            reading.note(&entries.key_span("day"), "\"day\" does not go with \"first\" and \"last\"", help);
            return None;
        }
        let day = reading.date(node)?;
        return Some(DateSpan { first: day, last: day });
    }
    let first = reading
        .need(entries, "first", "first: 2026-10-12 (or day: 2026-10-12 for a single day)")
        .and_then(|node| reading.date(node));
    let last_node = reading.need(entries, "last", "last: 2026-10-16");
    let last = last_node.and_then(|node| reading.date(node));
    let (first, last, last_node) = (first?, last?, last_node?);
    if last < first {
        let help = format!("write a day from {first} on, or swap first and last");
        reading.note(&last_node.span, "this ends before it begins", help);
        return None;
    }
    Some(DateSpan { first, last })
}

fn imported(
    reading: &mut Reading,
    node: &Node,
    term: Option<DateSpan>,
    store: &dyn Store,
    whose: &str,
) -> Vec<Off> {
    let Some((path_node, path, choice)) = import_choice(reading, node) else {
        return Vec::new();
    };
    let Some(term) = term else {
        return Vec::new();
    };
    let file = match TextFile::read(store, path) {
        Ok(Some(file)) => Ok(file),
        Ok(None) => {
            let help = format!("put the calendar file there: {}", store.shown(path));
            reading.note(&path_node.span, "there is no such calendar file", help);
            return Vec::new();
        }
        Err(problems) => Err(problems),
    };
    match file.and_then(|file| days_off::import(&file, &choice, term)) {
        Ok(found) => {
            for remark in found.remarks {
                reading.take_remark(remark.about(whose));
            }
            found.days_off.into_iter().map(|days| Off { days, written: None }).collect()
        }
        Err(problems) => {
            reading.take(problems);
            Vec::new()
        }
    }
}

fn import_choice<'n>(reading: &mut Reading, node: &'n Node) -> Option<(&'n Node, &'n str, Choice)> {
    let entries = reading.map(node, &["file", "kind", "words", "without", "timed", "zone"])?;
    let path_node = reading.need(&entries, "file", "file: days-off.ics");
    let path = path_node.and_then(|node| reading.text(node));
    let kinds = [("break", DaysOffKind::Break), ("closure", DaysOffKind::Closure)];
    let kind = reading
        .need(&entries, "kind", "kind: break (or kind: closure)")
        .and_then(|node| reading.choice(node, &kinds));
    let words = word_list(reading, &entries, "words");
    let without = word_list(reading, &entries, "without");
    let timed = entries.get("timed").map_or(Some(None), |node| reading.yes_no(node).map(Some));
    let zone = entries.get("zone").map_or(Some(None), |node| zone(reading, node).map(Some));
    let choice = Choice { kind: kind?, words: words?, without: without?, timed: timed?, zone: zone? };
    Some((path_node?, path?, choice))
}

fn word_list(reading: &mut Reading, entries: &Entries<'_>, key: &str) -> Option<Vec<String>> {
    let nodes = entries.get(key).map(Reading::items).unwrap_or_default();
    let words: Vec<Option<String>> = nodes.iter().map(|node| reading.text(node).map(str::to_owned)).collect();
    words.into_iter().collect()
}

fn zone(reading: &mut Reading, node: &Node) -> Option<Tz> {
    let text = reading.text(node)?;
    let zone = text.parse();
    if zone.is_err() {
        let help = "write continent and city, such as Europe/Paris or America/Chicago";
        reading.note(&node.span, "this time zone is not known", help);
    }
    zone.ok()
}
