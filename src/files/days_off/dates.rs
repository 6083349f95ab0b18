//! Dates of a calendar entry: where it begins, how long it lasts, when it repeats.
//!
//! Everything is worked out on the clock of the entry's own zone, and only whole days are kept.
//! Repetitions are expanded as if that clock were universal time, which gives the same days and
//! depends neither on this computer's zone nor on hours that a change of clocks skips.

use crate::domain::calendar::{DateSpan, days_between};
use crate::files::problem::{Problem, TextFile};
use chrono::{DateTime, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, Utc};
use chrono_tz::Tz;
use icalendar::rrule::RRuleSet;
use icalendar::{CalendarDateTime, Component, DatePerhapsTime, Event};

/// Most days on which one entry may repeat within a term.
const MOST_DAYS: u16 = 2_000;
/// Longest entry, in days.
const LONGEST: i64 = 1_000;

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

    fn repetition(rule: &str, title: &str) -> Self {
        Self {
            written: rule.to_owned(),
            title: format!("how \"{title}\" repeats cannot be made out"),
            help: "correct the entry in the school's calendar, or leave it out with \"without\" and write its days by hand",
        }
    }

    /// The complaint at the place where the text stands.
    pub(super) fn place(&self, file: &TextFile) -> Problem {
        match file.text().find(&self.written) {
            Some(at) if !self.written.is_empty() => {
                file.problem(at..at + self.written.len(), &*self.title, self.help)
            }
            _ => file.whole_problem(&*self.title, self.help),
        }
    }
}

/// Date and time on the clock where the entry is meant.
///
/// Universal time is moved to `zone`; a zone nobody knows keeps the clock as written.
pub(super) fn local(when: &DatePerhapsTime, zone: Option<Tz>) -> NaiveDateTime {
    match when {
        DatePerhapsTime::Date(day) => day.and_time(NaiveTime::MIN),
        DatePerhapsTime::DateTime(
            CalendarDateTime::Floating(clock) | CalendarDateTime::WithTimezone { date_time: clock, .. },
        ) => *clock,
        DatePerhapsTime::DateTime(CalendarDateTime::Utc(instant)) => on_clock(*instant, zone),
    }
}

fn on_clock(instant: DateTime<Utc>, zone: Option<Tz>) -> NaiveDateTime {
    zone.map_or_else(|| instant.naive_utc(), |zone| instant.with_timezone(&zone).naive_local())
}

/// Days the entry covers, at least 1.
pub(super) fn length_days(event: &Event, start: &DatePerhapsTime, zone: Option<Tz>) -> u32 {
    let begin = local(start, zone);
    let end = match (event.get_end(), event.property_value("DURATION").and_then(duration)) {
        (Some(end), _) => local(&end, zone),
        (None, Some(length)) => begin.checked_add_signed(length).unwrap_or(begin),
        (None, None) => begin,
    };
    // The end itself is outside: an entry that ends at midnight does not reach into that day.
    let last = (end - TimeDelta::seconds(1)).max(begin).date();
    (days_between(begin.date(), last) + 1).clamp(1, LONGEST) as u32
}

/// A length such as `P1W`, `P5D` or `PT36H` (RFC 5545, 3.3.6).
fn duration(text: &str) -> Option<TimeDelta> {
    let mut total = TimeDelta::zero();
    let mut number = String::new();
    for sign in text.trim().trim_start_matches('+').strip_prefix('P')?.chars() {
        if sign.is_ascii_digit() {
            number.push(sign);
            continue;
        }
        if sign == 'T' {
            continue;
        }
        let count: i32 = number.parse().ok()?;
        number.clear();
        let seconds = match sign {
            'W' => 604_800,
            'D' => 86_400,
            'H' => 3_600,
            'M' => 60,
            'S' => 1,
            _ => return None,
        };
        total = total.checked_add(&TimeDelta::try_seconds(i64::from(count) * seconds)?)?;
    }
    Some(total)
}

/// First days of every occurrence that begins within `span`.
pub(super) fn first_days(
    event: &Event,
    title: &str,
    start: &DatePerhapsTime,
    zone: Option<Tz>,
    span: DateSpan,
) -> Result<Vec<NaiveDate>, Unreadable> {
    let zone = own_zone(start).or(zone);
    let begin = local(start, zone);
    let mut days = match event.property_value("RRULE") {
        None => vec![begin.date()],
        Some(rule) => repeated(rule, title, begin, zone, span)?,
    };
    days.extend(listed(event, "RDATE", zone));
    let left_out = listed(event, "EXDATE", zone);
    days.retain(|day| span.contains(*day) && !left_out.contains(day));
    days.sort_unstable();
    days.dedup();
    Ok(days)
}

/// The zone an entry's time is written in, if it is a known one.
fn own_zone(start: &DatePerhapsTime) -> Option<Tz> {
    match start {
        DatePerhapsTime::DateTime(CalendarDateTime::WithTimezone { tzid, .. }) => tzid.parse().ok(),
        _ => None,
    }
}

fn repeated(
    rule: &str,
    title: &str,
    begin: NaiveDateTime,
    zone: Option<Tz>,
    span: DateSpan,
) -> Result<Vec<NaiveDate>, Unreadable> {
    let complaint = || Unreadable::repetition(rule, title);
    let rule = with_clock_end(rule, zone).ok_or_else(complaint)?;
    let text = format!("DTSTART:{}Z\nRRULE:{rule}", begin.format("%Y%m%dT%H%M%S"));
    let set: RRuleSet = text.parse().map_err(|_| complaint())?;
    let at =
        |day: NaiveDate, time: NaiveTime| day.and_time(time).and_utc().with_timezone(&icalendar::Tz::UTC);
    let late = NaiveTime::from_hms_opt(23, 59, 59).unwrap_or_default();
    let found = set.after(at(span.first, NaiveTime::MIN)).before(at(span.last, late)).all(MOST_DAYS);
    if found.limited {
        return Err(complaint());
    }
    Ok(found.dates.into_iter().map(|when| when.naive_utc().date()).collect())
}

/// The rule with its end (`UNTIL`) on the entry's clock, a bare date meaning that whole day.
fn with_clock_end(rule: &str, zone: Option<Tz>) -> Option<String> {
    let parts: Option<Vec<String>> = rule
        .split(';')
        .map(|part| match part.split_once('=') {
            Some((name, value)) if name.eq_ignore_ascii_case("UNTIL") => {
                let end = match NaiveDate::parse_from_str(value, "%Y%m%d") {
                    Ok(day) => day.and_hms_opt(23, 59, 59)?,
                    Err(_) => moment(value, zone)?,
                };
                Some(format!("UNTIL={}Z", end.format("%Y%m%dT%H%M%S")))
            }
            _ => Some(part.to_owned()),
        })
        .collect();
    parts.map(|parts| parts.join(";"))
}

fn moment(text: &str, zone: Option<Tz>) -> Option<NaiveDateTime> {
    match text.strip_suffix(['Z', 'z']) {
        Some(utc) => {
            let instant = NaiveDateTime::parse_from_str(utc, "%Y%m%dT%H%M%S").ok()?.and_utc();
            Some(on_clock(instant, zone))
        }
        None => NaiveDateTime::parse_from_str(text, "%Y%m%dT%H%M%S").ok(),
    }
}

/// Days of a property that lists dates or times, such as those left out of a repetition.
fn listed(event: &Event, property: &str, zone: Option<Tz>) -> Vec<NaiveDate> {
    let single = event.properties().get(property).into_iter();
    let several = event.multi_properties().get(property).into_iter().flatten();
    single
        .chain(several)
        .flat_map(|property| property.value().split(','))
        .filter_map(|text| {
            let text = text.trim();
            let day = NaiveDate::parse_from_str(text, "%Y%m%d").ok();
            day.or_else(|| moment(text, zone).map(|moment| moment.date()))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn durations_read_as_the_standard_writes_them() {
        for (text, hours) in [("P1W", 168), ("P5D", 120), ("PT36H", 36), ("P1DT12H", 36), ("+P2D", 48)] {
            assert_eq!(duration(text), Some(TimeDelta::hours(hours)), "{text}");
        }
        for text in ["", "5D", "P5", "PXD", "P99999999999D", "P1Y"] {
            assert!(duration(text).is_none_or(|length| length.is_zero()), "{text}");
        }
    }

    #[test]
    fn the_end_of_a_rule_is_put_on_the_clock_of_the_entry() {
        let paris = Some(Tz::Europe__Paris);
        for (rule, expected) in [
            ("FREQ=DAILY;UNTIL=20261201", "FREQ=DAILY;UNTIL=20261201T235959Z"),
            ("FREQ=DAILY;UNTIL=20261201T233000Z", "FREQ=DAILY;UNTIL=20261202T003000Z"),
            ("FREQ=DAILY;COUNT=3", "FREQ=DAILY;COUNT=3"),
        ] {
            assert_eq!(with_clock_end(rule, paris).as_deref(), Some(expected));
        }
        assert_eq!(with_clock_end("FREQ=DAILY;UNTIL=soon", paris), None);
    }
}
