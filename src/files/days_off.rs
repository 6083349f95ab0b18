//! Days off from a school's calendar file (iCalendar, RFC 5545).
//!
//! A school calendar holds much that is no day off, so entries are chosen: those of whole days, and only those whose title
//! or category holds one of the wished words. An entry with such a word and a time of day counts on days whose school hours
//! it covers ("No school, 8:00 to 15:00"), unless wished otherwise. What was taken and what was left is told, so that
//! nobody has to guess.

mod dates;
mod spelling;
mod unreadable;

use self::dates::{Covered, Length, Patience, first_days};
use self::unreadable::Unreadable;
use super::problem::{Problem, Problems, TextFile};
use super::remark::Remark;
use crate::domain::calendar::{DateSpan, DaysOff, DaysOffKind, can_be_meant, plus_days};
use crate::domain::text;
use chrono::NaiveDate;
use chrono_tz::Tz;
use icalendar::{Calendar, Component, Event, EventLike, EventStatus};
use std::collections::{HashMap, HashSet};
use std::ops::Range;

/// Most days off taken from one file: no term has as many, and each of them is told.
const MOST_TAKEN: usize = 2_000;
/// Days before and after the term of which an entry that touches it may hold.
const FAR_ENOUGH: u64 = 1_000;
/// Most mistakes looked for in one file; they come from one cause.
const MOST_MISTAKES: usize = 100;

/// Which entries of a calendar file count as days off.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// What the chosen entries are.
    pub kind: DaysOffKind,
    /// Title or category must hold one of these words, in any case; all entries if empty.
    pub words: Vec<String>,
    /// Entries whose title or category holds one of these words are left.
    pub without: Vec<String>,
    /// Whether entries with a time of day count too. Unless it is said, they count on days whose school hours they cover
    /// (9:00 to 14:00).
    pub timed: Option<bool>,
    /// Time zone in which times given as universal time are meant; the file's own if absent.
    pub zone: Option<Tz>,
}

/// Days off found in a calendar file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Imported {
    /// The days off that touch the term, sorted.
    pub days_off: Vec<DaysOff>,
    /// What was taken and what was left, for people.
    pub remarks: Vec<Remark>,
}

/// Reads the days off that touch `term` from a calendar's text.
///
/// # Errors
/// If the file is no calendar, holds no entry, or an entry's dates or repetition cannot be made out.
pub fn import(file: &TextFile, choice: &Choice, term: DateSpan) -> Result<Imported, Problems> {
    let text = spelling::in_capitals(file).map_err(Problem::alone)?;
    let calendar = parse(file, &text).map_err(Problem::alone)?;
    let zone = choice.zone.or_else(|| calendar.get_timezone()?.parse().ok());
    let events: Vec<&Event> = calendar.events().collect();
    if events.is_empty() {
        let help = "export the calendar anew; each entry begins with BEGIN:VEVENT";
        return Err(file.whole_problem("there is no entry in this calendar", help).alone());
    }
    let moved = moved_days(&events, zone);
    let mut problems = Vec::new();
    let mut sorting =
        Sorting { choice, zone, term, moved, patience: Patience::USUAL, sorted: Sorted::default() };
    for (number, event) in events.into_iter().enumerate() {
        if let Err(unreadable) = sorting.sort_in(event) {
            problems.push(unreadable.place(file, entry_place(&text, number)));
        }
        if problems.len() >= MOST_MISTAKES {
            break;
        }
        if sorting.sorted.taken.len() > MOST_TAKEN {
            let title = format!("this calendar has more than {MOST_TAKEN} days off within the term");
            let help = "choose entries with \"words\", such as words: [break, holiday]";
            return Err(file.whole_problem(title, help).alone());
        }
    }
    let mut sorted = sorting.sorted;
    Problems::check(problems)?;
    sorted.taken.sort_by(|a, b| (a.span, &a.name).cmp(&(b.span, &b.name)));
    sorted.taken.dedup();
    let name = file.path().rsplit(['/', '\\']).next().unwrap_or_default();
    let name = text::cleaned(name);
    Ok(Imported { remarks: sorted.remarks(&name, choice.kind), days_off: sorted.taken })
}

/// Parses a file's text, spelt in capital letters.
fn parse(file: &TextFile, text: &str) -> Result<Calendar, Problem> {
    let start = text.len() - text.trim_start().len();
    if !text[start..].starts_with("BEGIN:VCALENDAR") {
        let line = start..start + text[start..].lines().next().unwrap_or("").len();
        let help = "a calendar file begins with BEGIN:VCALENDAR; export the calendar as an .ics file";
        return Err(file.problem(line, "this is not a calendar file", help));
    }
    text[start..].parse().map_err(|_| {
        let complete = text.trim_end().ends_with("END:VCALENDAR");
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
    let is_single = |event: &Event| event.property_value("RECURRENCE-ID").is_some();
    let repeated = events.iter().filter(|event| !is_single(event));
    let zones: HashMap<&str, Option<Tz>> =
        repeated.filter_map(|event| Some((event.get_uid()?, dates::own_zone(&event.get_start()?)))).collect();
    let day = |event: &Event| {
        let uid = event.get_uid()?;
        let own = zones.get(uid).copied().flatten();
        Some((uid.to_owned(), dates::replaced_day(&event.get_recurrence_id()?, own, zone)))
    };
    events.iter().filter_map(|event| day(event)).collect()
}

/// Whether an entry stands for one day of a repeated one.
fn is_single(event: &Event, title: &str) -> Result<bool, Unreadable> {
    let Some(property) = event.properties().get("RECURRENCE-ID") else { return Ok(false) };
    if property.params().keys().any(|key| key.eq_ignore_ascii_case("RANGE")) {
        return Err(Unreadable::and_all_later(property.value(), title));
    }
    match event.get_recurrence_id() {
        Some(_) => Ok(true),
        None => Err(Unreadable::part(property.value(), "the day that is replaced", title)),
    }
}

/// Where the entry of that number stands, from 0; the whole text if it cannot be found.
fn entry_place(text: &str, number: usize) -> Range<usize> {
    let mut starts = text.match_indices("BEGIN:VEVENT").map(|(at, _)| at).filter(|at| {
        let before = text[..*at].chars().next_back();
        before.is_none_or(|c| matches!(c, '\n' | '\r'))
    });
    let start = starts.nth(number).unwrap_or(0);
    start..starts.next().unwrap_or(text.len())
}

/// What entries are sorted by.
struct Sorting<'a> {
    choice: &'a Choice,
    zone: Option<Tz>,
    term: DateSpan,
    moved: Moved,
    patience: Patience,
    sorted: Sorted,
}

impl Sorting<'_> {
    fn sort_in(&mut self, event: &Event) -> Result<(), Unreadable> {
        let title = title(event);
        let mut leave = |why: &str| {
            self.sorted.left.push(format!("{title} ({why})"));
            Ok(())
        };
        if event.get_status() == Some(EventStatus::Cancelled) {
            return leave("cancelled");
        }
        let start = event.get_start().ok_or_else(|| Unreadable::start(event, &title))?;
        if !can_be_meant(dates::local(&start, self.zone).date()) {
            return Err(Unreadable::start(event, &title));
        }
        let single = is_single(event, &title)?;
        let unwanted = unwanted(event, &title, self.choice);
        let covered = match (Length::of(event, &title, &start, self.zone), unwanted) {
            (Ok(length), unwanted) => chosen(&length, unwanted, self.choice),
            (Err(_), Some(why)) => Err(why),
            (Err(unreadable), None) => return Err(unreadable),
        };
        let covered = match covered {
            Ok(covered) => covered,
            Err(why) => return leave(why),
        };
        let days = if single {
            vec![dates::local(&start, self.zone).date()]
        } else {
            // An occurrence that begins before the term may reach into it.
            let reach = chrono::Days::new(u64::from(covered.skipped + covered.days));
            let from = self.term.first.checked_sub_days(reach).unwrap_or(NaiveDate::MIN);
            let span = DateSpan { first: from, last: self.term.last };
            first_days(event, &title, &start, self.zone, span, &mut self.patience)?
        };
        let uid = event.get_uid().filter(|_| !single);
        let replaced = |day: NaiveDate| uid.is_some_and(|uid| self.moved.contains(&(uid.to_owned(), day)));
        let days: Vec<NaiveDate> = days.into_iter().filter(|day| !replaced(*day)).collect();
        self.take(&title, &days, covered);
        Ok(())
    }

    /// Takes an entry on those of its days that touch the term.
    fn take(&mut self, title: &str, days: &[NaiveDate], covered: Covered) {
        let term = self.term;
        // Years before and after the term are no matter, and some calendars end a day never.
        let years = chrono::Days::new(FAR_ENOUGH);
        let near = DateSpan {
            first: term.first.checked_sub_days(years).unwrap_or(NaiveDate::MIN),
            last: term.last.checked_add_days(years).unwrap_or(NaiveDate::MAX),
        };
        let spans = days.iter().map(|day| {
            let first = plus_days(*day, covered.skipped);
            let last = plus_days(first, covered.days - 1);
            DateSpan { first: first.max(near.first), last: last.min(near.last) }
        });
        let within: Vec<DateSpan> =
            spans.filter(|span| span.first <= term.last && term.first <= span.last).collect();
        self.sorted.outside += usize::from(within.is_empty());
        let kind = self.choice.kind;
        self.sorted.taken.extend(within.into_iter().map(|span| DaysOff {
            name: title.to_owned(),
            span,
            kind,
        }));
    }
}

/// What people call an entry. Somebody else wrote it, so it is cleaned rather than refused.
fn title(event: &Event) -> String {
    let title = text::cleaned(event.get_summary().unwrap_or_default());
    if title.is_empty() { "(no title)".to_owned() } else { title }
}

/// Why an entry is left because of its words, if so.
fn unwanted(event: &Event, title: &str, choice: &Choice) -> Option<&'static str> {
    let mut labels = vec![title.to_lowercase()];
    labels.extend(event.get_categories().unwrap_or_default().iter().map(|label| label.to_lowercase()));
    let holds = |words: &[String]| {
        words.iter().any(|word| labels.iter().any(|label| label.contains(&word.to_lowercase())))
    };
    if holds(&choice.without) {
        Some("has an unwanted word")
    } else if !choice.words.is_empty() && !holds(&choice.words) {
        Some("none of the words")
    } else {
        None
    }
}

/// The days on which an entry counts, or why it is left.
fn chosen(length: &Length, unwanted: Option<&'static str>, choice: &Choice) -> Result<Covered, &'static str> {
    let covered = match choice.timed {
        timed if length.whole_days || timed == Some(true) => Some(length.touched()),
        Some(_) => None,
        None => length.school_days(),
    };
    let Some(covered) = covered else { return Err("not all day") };
    unwanted.map_or(Ok(covered), Err)
}

impl Sorted {
    fn remarks(&self, file: &str, kind: DaysOffKind) -> Vec<Remark> {
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
        let mut remarks = vec![if taken.is_empty() {
            Remark::of(format!("{file}: no entry was taken as {kind}; check the words to look for"))
        } else {
            Remark::list(format!("{file}: taken as {kind}"), taken)
        }];
        if !self.left.is_empty() {
            remarks.push(Remark::list(format!("{file}: left"), self.left.clone()));
        }
        match self.outside {
            0 => {}
            1 => remarks.push(Remark::of(format!("{file}: 1 more entry lies outside the term"))),
            count => remarks.push(Remark::of(format!("{file}: {count} more entries lie outside the term"))),
        }
        remarks
    }
}
