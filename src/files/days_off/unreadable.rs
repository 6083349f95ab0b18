//! Complaints about entries of a calendar.

use crate::files::problem::{Problem, TextFile};
use icalendar::{Component, Event};
use std::ops::Range;

/// An entry whose dates cannot be made out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Unreadable {
    /// The text to point at.
    written: String,
    title: String,
    help: &'static str,
}

impl Unreadable {
    /// The entry's first day is missing or no date.
    pub(super) fn start(event: &Event, title: &str) -> Self {
        Self {
            written: event.property_value("DTSTART").unwrap_or(title).to_owned(),
            title: format!("the first day of \"{title}\" cannot be made out"),
            help: "correct the entry in the school's calendar and export it anew",
        }
    }

    /// Something else of an entry is no date, or none that is understood.
    pub(super) fn part(written: &str, what: &str, title: &str) -> Self {
        Self {
            written: written.to_owned(),
            title: format!("{what} of \"{title}\" cannot be made out"),
            help: "correct the entry in the school's calendar and export it anew, or leave it out with \"without\" and write its days by hand",
        }
    }

    /// An entry that changes all days of another from one day on.
    pub(super) fn and_all_later(written: &str, title: &str) -> Self {
        Self {
            written: written.to_owned(),
            title: format!(
                "\"{title}\" changes a day of a repeated entry and all later ones, which cannot be read"
            ),
            help: "export the calendar with every day as an entry of its own, or write these days by hand",
        }
    }

    /// Days off are days: what repeats within one is something else.
    pub(super) fn within_a_day(rule: &str, title: &str) -> Self {
        Self {
            written: rule.to_owned(),
            title: format!("\"{title}\" repeats within a day, so it is no day off"),
            help: "leave it out with \"without\", or choose entries with \"words\"",
        }
    }

    /// Too much of this cannot be worked out in the time people wait.
    pub(super) fn far_too_often(rule: &str, title: &str) -> Self {
        Self {
            written: rule.to_owned(),
            title: format!("this file repeats entries far too often, \"{title}\" among them"),
            help: "choose entries with \"words\", or export only the dates of the term",
        }
    }

    pub(super) fn repetition(rule: &str, title: &str) -> Self {
        Self {
            written: rule.to_owned(),
            title: format!("how \"{title}\" repeats cannot be made out"),
            help: "correct the entry in the school's calendar, or leave it out with \"without\" and write its days by hand",
        }
    }

    /// The complaint at the place where the text stands within its entry, or at the entry.
    pub(super) fn place(&self, file: &TextFile, entry: Range<usize>) -> Problem {
        let text = &file.text()[entry.clone()];
        let at = text.find(&self.written).filter(|_| !self.written.is_empty());
        let span =
            at.map_or(entry.start..entry.start, |at| entry.start + at..entry.start + at + self.written.len());
        file.problem(span, &*self.title, self.help)
    }
}
