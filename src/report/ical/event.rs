//! One event as lines of an iCalendar file.

use super::text::escaped;
use super::{Alarm, Wishes};
use crate::domain::calendar::plus_days;
use crate::domain::published::{EventKind, PublishedEvent};
use crate::domain::tasks::TaskKind;
use chrono::{DateTime, NaiveDate, Utc};
use ics::properties::{
    Categories, Description, DtEnd, DtStart, LastModified, Location, Sequence, Status, Summary, Transp,
    Trigger,
};
use ics::{Event, parameters};

/// Said of an event that is called off.
const CALLED_OFF: &str = "This is no longer planned: there is nothing to do.";

/// An event that stands.
pub(super) fn standing<'a>(event: &PublishedEvent, body: &str, wishes: &Wishes<'_>) -> Event<'a> {
    let mut lines = begun(event);
    lines.push(Status::confirmed());
    lines.push(Summary::new(escaped(&event.entry.title)));
    lines.push(Description::new(escaped(body)));
    finish(&mut lines, event);
    if let (Some(alarm), EventKind::Task(_)) = (wishes.alarm, event.entry.kind) {
        let shown = Description::new(escaped(&event.entry.title));
        lines.add_alarm(ics::Alarm::display(Trigger::new(trigger(alarm)), shown));
    }
    lines
}

/// An event that is called off.
pub(super) fn cancelled<'a>(event: &PublishedEvent) -> Event<'a> {
    let mut lines = begun(event);
    lines.push(Status::cancelled());
    lines.push(Summary::new(escaped(&format!("Cancelled: {}", event.entry.title))));
    lines.push(Description::new(escaped(CALLED_OFF)));
    finish(&mut lines, event);
    lines
}

fn begun<'a>(event: &PublishedEvent) -> Event<'a> {
    let stamp = stamp(event.changed);
    let mut lines = Event::new(event.entry.uid.clone(), stamp.clone());
    let mut start = DtStart::new(date(event.entry.days.first));
    start.append(parameters!("VALUE" => "DATE"));
    lines.push(start);
    // The end is the first day that no longer belongs to the event.
    let mut end = DtEnd::new(date(plus_days(event.entry.days.last, 1)));
    end.append(parameters!("VALUE" => "DATE"));
    lines.push(end);
    lines.push(LastModified::new(stamp));
    lines.push(Sequence::new(event.sequence.to_string()));
    lines
}

fn finish(lines: &mut Event, event: &PublishedEvent) {
    lines.push(Categories::new(category(event.entry.kind)));
    if !event.entry.place.is_empty() {
        lines.push(Location::new(escaped(&event.entry.place)));
    }
    lines.push(Transp::transparent());
}

/// A time in UTC.
pub(super) fn stamp(time: DateTime<Utc>) -> String {
    time.format("%Y%m%dT%H%M%SZ").to_string()
}

/// The word for an event's kind in CATEGORIES.
pub(super) fn category(kind: EventKind) -> &'static str {
    match kind {
        EventKind::Task(TaskKind::Sow) => "Sow",
        EventKind::Task(TaskKind::Transplant) => "Transplant",
        EventKind::Task(TaskKind::Harvest) => "Harvest",
        EventKind::Break => "Break",
        EventKind::Closure => "Closure",
        EventKind::Serving => "Serving",
    }
}

/// When an alarm rings, counted from the beginning of the day (RFC 5545, 3.3.6 and 3.8.6.3).
pub(super) fn trigger(alarm: Alarm) -> String {
    let sign = if alarm.minutes < 0 { "-" } else { "" };
    let minutes = alarm.minutes.unsigned_abs();
    format!("{sign}PT{}H{}M", minutes / 60, minutes % 60)
}

fn date(day: NaiveDate) -> String {
    day.format("%Y%m%d").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn alarms_count_from_midnight() {
        for (minutes, text) in [(450, "PT7H30M"), (0, "PT0H0M"), (-360, "-PT6H0M"), (-2, "-PT0H2M")] {
            assert_eq!(trigger(Alarm { minutes }), text);
        }
    }
}
