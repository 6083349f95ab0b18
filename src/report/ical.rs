//! A plan's tasks as iCalendar events (RFC 5545, with names of RFC 7986).
//!
//! An event keeps its UID for good: term id, batch, kind of task, running number, and nothing that can
//! change. SEQUENCE and the time stamps come from the plan, not from the clock, so that writing the
//! same plan twice gives the same bytes. There is no METHOD: these files are for subscribing, and
//! without METHOD a DTSTAMP is the time of the last revision (RFC 5545, 3.8.7.2).

use super::instructions;
use super::look::Look;
use super::words::site_name;
use super::work::{Task, TaskKind, tasks};
use crate::domain::calendar::plus_days;
use crate::domain::ids::SiteId;
use crate::domain::plan::Plan;
use crate::domain::term::Term;
use crate::domain::units::Units;
use chrono::NaiveDate;
use ics::properties::{
    Categories, Description, DtEnd, DtStart, LastModified, Location, Name, RefreshInterval, Sequence,
    Summary, Transp,
};
use ics::{Event, ICalendar, escape_text, parameters};

/// Octets in a content line, its break not counted (RFC 5545, 3.1).
const LINE_OCTETS: usize = 75;

/// The calendar of one site, or of all sites together.
pub fn calendar(term: &Term, plan: &Plan, site: Option<&SiteId>, units: Units) -> String {
    let mut calendar = ICalendar::new("2.0", "-//Sowtide//Sowtide//EN");
    let name = match site {
        Some(site) => format!("Greens {} - {}", term.name, site_name(term, site)),
        None => format!("Greens {} - all sites", term.name),
    };
    let name = calendar_name(&name);
    calendar.push(Name::new(name.clone()));
    // Older readers know the name only by this property.
    calendar.push(ics::components::Property::new("X-WR-CALNAME", name));
    calendar.push(RefreshInterval::new("PT12H"));
    for task in tasks(term, plan) {
        if site.is_none_or(|site| task.batch.site == *site) {
            calendar.add_event(event(term, plan, &task, units));
        }
    }
    refold(&calendar.to_string())
}

/// Identifies a task in every calendar, whatever becomes of its date or size.
pub fn uid(plan: &Plan, task: &Task) -> String {
    let uid = format!("{}-{}-{}-{}", plan.term_id, task.batch.id, task.kind, task.number);
    // A plan edited by hand must not be able to begin a line of its own.
    uid.chars().filter(|c| !c.is_control()).collect()
}

/// How often a task was revised since it was first published.
pub fn sequence(plan: &Plan) -> u32 {
    plan.revision.saturating_sub(1)
}

fn event<'a>(term: &Term, plan: &Plan, task: &Task, units: Units) -> Event<'a> {
    let look = Look { units, width: usize::MAX, colour: false };
    let stamp = plan.made.format("%Y%m%dT%H%M%SZ").to_string();
    let mut event = Event::new(uid(plan, task), stamp.clone());
    let mut start = DtStart::new(date(task.date));
    start.append(parameters!("VALUE" => "DATE"));
    event.push(start);
    // The end is the first day that no longer belongs to the event.
    let mut end = DtEnd::new(date(plus_days(task.date, 1)));
    end.append(parameters!("VALUE" => "DATE"));
    event.push(end);
    event.push(LastModified::new(stamp));
    event.push(Sequence::new(sequence(plan).to_string()));
    event.push(Summary::new(text(&instructions::title(term, task))));
    event.push(Description::new(text(&instructions::body(term, task, &look))));
    event.push(Categories::new(category(task.kind)));
    event.push(Location::new(text(site_name(term, &task.batch.site))));
    event.push(Transp::transparent());
    event
}

fn category(kind: TaskKind) -> &'static str {
    match kind {
        TaskKind::Sow => "Sow",
        TaskKind::Transplant => "Transplant",
        TaskKind::Harvest => "Harvest",
    }
}

fn date(day: NaiveDate) -> String {
    day.format("%Y%m%d").to_string()
}

/// A value of type TEXT: control characters other than line ends have no place in it (RFC 5545, 3.1).
fn text(value: &str) -> String {
    let clean: String = value.chars().filter(|c| !c.is_control() || *c == '\n').collect();
    escape_text(clean).into_owned()
}

/// Some calendar programs show the backslash of an escaped character in a calendar's name, so names go
/// without any character that would need one.
fn calendar_name(name: &str) -> String {
    let blank = |c: char| matches!(c, ',' | ';' | '\\') || c.is_control() || c.is_whitespace();
    name.split(blank).filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

/// Folds lines anew: the writer forgets that the blank before a continued line counts too.
fn refold(calendar: &str) -> String {
    let mut folded = String::with_capacity(calendar.len() + calendar.len() / 40);
    let whole_lines = calendar.replace("\r\n ", "");
    for line in whole_lines.split_terminator("\r\n") {
        let mut octets = 0;
        for c in line.chars() {
            if octets + c.len_utf8() > LINE_OCTETS {
                folded.push_str("\r\n ");
                octets = 1;
            }
            folded.push(c);
            octets += c.len_utf8();
        }
        folded.push_str("\r\n");
    }
    folded
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folded_lines_count_their_blank_and_split_no_character() {
        let value = "ä€😀".repeat(40);
        let folded = refold(&format!("SUMMARY:{value}\r\nEND:X\r\n"));
        assert!(folded.split("\r\n").all(|line| line.len() <= 75));
        assert_eq!(folded.replace("\r\n ", ""), format!("SUMMARY:{value}\r\nEND:X\r\n"));
    }

    #[test]
    fn text_is_escaped_and_names_need_no_escape() {
        assert_eq!(text("a, b; c\\d\ne\u{7}"), "a\\, b\\; c\\\\d\\ne");
        assert_eq!(calendar_name("A, B; C\\D"), "A B C D");
    }
}
