//! Days off from a school's calendar file (iCalendar, RFC 5545).
//!
//! A school calendar holds much that is no day off, so entries are chosen: all-day entries only,
//! unless wished otherwise, and only those whose title or category holds one of the wished words.
//! What was taken and what was left is told, so that nobody has to guess.

mod dates;

use self::dates::{Unreadable, first_days, length_days};
use super::problem::{Problem, Problems, TextFile};
use crate::domain::calendar::{DateSpan, DaysOff, DaysOffKind, plus_days};
use chrono::NaiveDate;
use chrono_tz::Tz;
use icalendar::{Calendar, Component, DatePerhapsTime, Event, EventLike, EventStatus};
use std::collections::HashSet;

/// Which entries of a calendar file count as days off.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// What the chosen entries are.
    pub kind: DaysOffKind,
    /// Title or category must hold one of these words, in any case; all entries if empty.
    pub words: Vec<String>,
    /// Entries whose title or category holds one of these words are left.
    pub without: Vec<String>,
    /// Whether entries with a time of day count too.
    pub timed: bool,
    /// Time zone in which times given as universal time are meant; the file's own if absent.
    pub zone: Option<Tz>,
}

/// Days off found in a calendar file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Imported {
    /// The days off that touch the term, sorted.
    pub days_off: Vec<DaysOff>,
    /// What was taken and what was left, for people.
    pub remarks: Vec<String>,
}

/// Reads the days off that touch `term` from a calendar's text.
///
/// # Errors
/// If the file is no calendar, holds no entry, or an entry's dates or repetition cannot be made out.
pub fn import(file: &TextFile, choice: &Choice, term: DateSpan) -> Result<Imported, Problems> {
    let calendar = parse(file).map_err(Problem::alone)?;
    let zone = choice.zone.or_else(|| calendar.get_timezone()?.parse().ok());
    let events: Vec<&Event> = calendar.events().collect();
    if events.is_empty() {
        let help = "export the calendar anew; each entry begins with BEGIN:VEVENT in capital letters";
        return Err(file.whole_problem("there is no entry in this calendar", help).alone());
    }
    let moved = moved_days(&events, zone);
    let mut problems = Vec::new();
    let mut sorted = Sorted::default();
    for event in events {
        if let Err(unreadable) = sort_in(event, choice, zone, term, &moved, &mut sorted) {
            problems.push(unreadable.place(file));
        }
    }
    Problems::check(problems)?;
    sorted.taken.sort_by(|a, b| (a.span, &a.name).cmp(&(b.span, &b.name)));
    sorted.taken.dedup();
    let name = file.path().rsplit(['/', '\\']).next().unwrap_or_default();
    Ok(Imported { remarks: sorted.remarks(name, choice.kind), days_off: sorted.taken })
}

fn parse(file: &TextFile) -> Result<Calendar, Problem> {
    let text = file.text();
    let start = text.len() - text.trim_start().len();
    if !text[start..].to_ascii_uppercase().starts_with("BEGIN:VCALENDAR") {
        let line = start..start + text[start..].lines().next().unwrap_or("").len();
        let help = "a calendar file begins with BEGIN:VCALENDAR; export the calendar as an .ics file";
        return Err(file.problem(line, "this is not a calendar file", help));
    }
    text[start..].parse().map_err(|_| {
        let complete = text.trim_end().to_ascii_uppercase().ends_with("END:VCALENDAR");
        let (title, help) = if complete {
            ("this calendar file is damaged", "export the calendar anew")
        } else {
            (
                "this calendar file ends too early",
                "download or export the calendar anew; the last line is END:VCALENDAR",
            )
        };
        let last = text.trim_end().rfind('\n').map_or(0, |at| at + 1);
        if complete { file.whole_problem(title, help) } else { file.problem(last..text.len(), title, help) }
    })
}

/// Entries sorted into taken and left.
#[derive(Default)]
struct Sorted {
    taken: Vec<DaysOff>,
    left: Vec<String>,
    outside: usize,
}

/// Single days of a repeating entry that another entry replaces, by the entry's id.
type Moved = HashSet<(String, NaiveDate)>;

fn moved_days(events: &[&Event], zone: Option<Tz>) -> Moved {
    events
        .iter()
        .filter_map(|event| {
            let day = dates::local(&event.get_recurrence_id()?, zone).date();
            Some((event.get_uid()?.to_owned(), day))
        })
        .collect()
}

fn sort_in(
    event: &Event,
    choice: &Choice,
    zone: Option<Tz>,
    term: DateSpan,
    moved: &Moved,
    sorted: &mut Sorted,
) -> Result<(), Unreadable> {
    let title = event.get_summary().map_or("(no title)", str::trim).to_owned();
    if event.get_status() == Some(EventStatus::Cancelled) {
        sorted.left.push(format!("{title} (cancelled)"));
        return Ok(());
    }
    let start = event.get_start().ok_or_else(|| Unreadable::start(event, &title))?;
    if let Some(why) = unwanted(event, &title, &start, choice) {
        sorted.left.push(format!("{title} ({why})"));
        return Ok(());
    }
    let length = length_days(event, &start, zone);
    let single = event.get_recurrence_id().is_some();
    let days = if single {
        vec![dates::local(&start, zone).date()]
    } else {
        // An occurrence that begins before the term may reach into it.
        let reach = chrono::Days::new(u64::from(length));
        let from = term.first.checked_sub_days(reach).unwrap_or(NaiveDate::MIN);
        first_days(event, &title, &start, zone, DateSpan { first: from, last: term.last })?
    };
    let replaced =
        |day: NaiveDate| !single && event.get_uid().is_some_and(|uid| moved.contains(&(uid.to_owned(), day)));
    let mut touched = false;
    for first in days.into_iter().filter(|day| !replaced(*day)) {
        let span = DateSpan { first, last: plus_days(first, length - 1) };
        if span.first <= term.last && term.first <= span.last {
            touched = true;
            sorted.taken.push(DaysOff { name: title.clone(), span, kind: choice.kind });
        }
    }
    sorted.outside += usize::from(!touched);
    Ok(())
}

/// Why an entry is left, if it is.
fn unwanted(event: &Event, title: &str, start: &DatePerhapsTime, choice: &Choice) -> Option<&'static str> {
    let mut labels = vec![title.to_lowercase()];
    labels.extend(event.get_categories().unwrap_or_default().iter().map(|label| label.to_lowercase()));
    let holds = |words: &[String]| {
        words.iter().any(|word| labels.iter().any(|label| label.contains(&word.to_lowercase())))
    };
    if !choice.timed && !matches!(start, DatePerhapsTime::Date(_)) {
        Some("not all day")
    } else if holds(&choice.without) {
        Some("has an unwanted word")
    } else if !choice.words.is_empty() && !holds(&choice.words) {
        Some("none of the words")
    } else {
        None
    }
}

impl Sorted {
    fn remarks(&self, file: &str, kind: DaysOffKind) -> Vec<String> {
        let kind = match kind {
            DaysOffKind::Break => "breaks",
            DaysOffKind::Closure => "closures",
        };
        let taken: Vec<String> = self
            .taken
            .iter()
            .map(|off| match off.span.len_days() {
                1 => format!("{} ({})", off.name, off.span.first),
                _ => format!("{} ({} to {})", off.name, off.span.first, off.span.last),
            })
            .collect();
        let mut remarks = vec![match &taken[..] {
            [] => format!("{file}: no entry was taken as {kind}; check the words to look for"),
            taken => format!("{file}: taken as {kind}: {}", some_of(taken)),
        }];
        if !self.left.is_empty() {
            remarks.push(format!("{file}: left: {}", some_of(&self.left)));
        }
        match self.outside {
            0 => {}
            1 => remarks.push(format!("{file}: 1 more entry lies outside the term")),
            count => remarks.push(format!("{file}: {count} more entries lie outside the term")),
        }
        remarks
    }
}

/// The first dozen, and how many more there are.
fn some_of(list: &[String]) -> String {
    let shown = list[..list.len().min(12)].join(", ");
    match list.len().saturating_sub(12) {
        0 => shown,
        more => format!("{shown} and {more} more"),
    }
}
