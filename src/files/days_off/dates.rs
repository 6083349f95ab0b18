//! Dates of a calendar entry: where it begins, how long it lasts, when it repeats.
//!
//! Everything is worked out on the clock of the entry's own zone, and only whole days are kept.
//! Repetitions are expanded as if that clock were universal time, which gives the same days and
//! depends neither on this computer's zone nor on hours that a change of clocks skips.

use super::unreadable::Unreadable;
use crate::domain::calendar::{DateSpan, days_between};
use chrono::{DateTime, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;
use icalendar::rrule::RRuleSet;
use icalendar::{CalendarDateTime, Component, DatePerhapsTime, Event};
use std::collections::HashSet;

/// Most days on which one entry may repeat within a term.
const MOST_DAYS: u16 = 2_000;
/// Longest entry, in days: more than a calendar has years for.
const LONGEST: i64 = 4_000_000;

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

/// The school day, for telling whether an entry with a time of day takes it away: common practice, no source. Shorter
/// entries are meetings and the like.
const SCHOOL_BEGINS: NaiveTime = NaiveTime::from_hms_opt(9, 0, 0).unwrap();
const SCHOOL_ENDS: NaiveTime = NaiveTime::from_hms_opt(14, 0, 0).unwrap();
/// Some calendars let a whole day end a minute before midnight.
const LAST_MINUTE: NaiveTime = NaiveTime::from_hms_opt(23, 59, 0).unwrap();

/// From when to when an entry lasts, on its own clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Length {
    begin: NaiveDateTime,
    end: NaiveDateTime,
    /// Whether it is of whole days: written as such, or from midnight to midnight.
    pub(super) whole_days: bool,
}

/// Days of an entry, counted from the one it begins on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Covered {
    /// Days after its first until the first that counts.
    pub(super) skipped: u32,
    /// Days that count, at least 1.
    pub(super) days: u32,
}

impl Length {
    /// How long an entry lasts that begins at `start`.
    pub(super) fn of(
        event: &Event,
        title: &str,
        start: &DatePerhapsTime,
        zone: Option<Tz>,
    ) -> Result<Self, Unreadable> {
        let zone = own_zone(start).or(zone);
        let begin = local(start, zone);
        let end = match (event.property_value("DTEND"), event.property_value("DURATION")) {
            (Some(written), _) => event.get_end().map(|end| local(&end, zone)).ok_or((written, "the end")),
            (None, Some(written)) => duration(written)
                .and_then(|length| begin.checked_add_signed(length))
                .ok_or((written, "the length")),
            (None, None) => Ok(begin),
        };
        let end = end.map_err(|(written, what)| Unreadable::part(written, what, title))?;
        let midnights = begin.time() == NaiveTime::MIN
            && begin < end
            && (end.time() == NaiveTime::MIN || end.time() >= LAST_MINUTE);
        Ok(Self { begin, end, whole_days: matches!(start, DatePerhapsTime::Date(_)) || midnights })
    }

    /// Every day it touches. The end itself is outside: an entry that ends at midnight does not reach into that day.
    pub(super) fn touched(&self) -> Covered {
        let last = (self.end - TimeDelta::seconds(1)).max(self.begin).date();
        let days = (days_between(self.begin.date(), last) + 1).clamp(1, LONGEST);
        Covered { skipped: 0, days: days as u32 }
    }

    /// Every day whose school hours it covers.
    pub(super) fn school_days(&self) -> Option<Covered> {
        let late = u32::from(self.begin.time() > SCHOOL_BEGINS);
        let early = i64::from(self.end.time() < SCHOOL_ENDS);
        let days = days_between(self.begin.date(), self.end.date()) + 1 - i64::from(late) - early;
        (days > 0).then(|| Covered { skipped: late, days: days.min(LONGEST) as u32 })
    }
}

/// A length such as `P1W`, `P5D` or `PT36H` (RFC 5545, 3.3.6).
fn duration(text: &str) -> Option<TimeDelta> {
    let mut total = None;
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
        let more = TimeDelta::try_seconds(i64::from(count) * seconds)?;
        total = Some(total.unwrap_or_else(TimeDelta::zero).checked_add(&more)?);
    }
    total.filter(|_| number.is_empty())
}

/// What may still be worked out for one file: how often entries repeat until the end of the term.
#[derive(Debug)]
pub(super) struct Patience(i64);

impl Patience {
    /// Far more than the calendar of any school, and a matter of a second.
    pub(super) const USUAL: Self = Self(200_000);

    fn take(&mut self, steps: i64) -> bool {
        self.0 -= steps;
        self.0 >= 0
    }
}

/// First days of every occurrence that begins within `span`.
pub(super) fn first_days(
    event: &Event,
    title: &str,
    start: &DatePerhapsTime,
    zone: Option<Tz>,
    span: DateSpan,
    patience: &mut Patience,
) -> Result<Vec<NaiveDate>, Unreadable> {
    let zone = own_zone(start).or(zone);
    let begin = local(start, zone);
    let mut days = match event.property_value("RRULE") {
        None => vec![begin.date()],
        Some(rule) => repeated(rule, title, begin, zone, span, patience)?,
    };
    days.extend(listed(event, ("RDATE", "an added day"), title, zone)?);
    days.retain(|day| span.contains(*day));
    if !days.is_empty() {
        let left_out = listed(event, ("EXDATE", "a day left out"), title, zone)?;
        let left_out: HashSet<NaiveDate> = left_out.into_iter().collect();
        days.retain(|day| !left_out.contains(day));
    }
    days.sort_unstable();
    days.dedup();
    Ok(days)
}

/// The day of a repeated entry that another one replaces, on the clock of the zone `repeated` that the repeated one is
/// written in; times of other zones are told on that clock.
pub(super) fn replaced_day(when: &DatePerhapsTime, repeated: Option<Tz>, zone: Option<Tz>) -> NaiveDate {
    let clock = local(when, repeated.or(zone));
    let elsewhere = own_zone(when).zip(repeated).filter(|(own, repeated)| own != repeated);
    let instant =
        elsewhere.and_then(|(own, repeated)| Some((own.from_local_datetime(&clock).earliest()?, repeated)));
    instant.map_or(clock, |(instant, repeated)| instant.with_timezone(&repeated).naive_local()).date()
}

/// The zone an entry's time is written in, if it is a known one.
pub(super) fn own_zone(start: &DatePerhapsTime) -> Option<Tz> {
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
    patience: &mut Patience,
) -> Result<Vec<NaiveDate>, Unreadable> {
    let complaint = || Unreadable::repetition(rule, title);
    if repeats_within_a_day(rule) {
        return Err(Unreadable::within_a_day(rule, title));
    }
    if parts(rule)
        .any(|(name, value)| matches!(name.as_str(), "INTERVAL" | "COUNT") && value.parse() == Ok(0))
    {
        return Err(complaint());
    }
    if begin.date() > span.last {
        return Ok(Vec::new());
    }
    let begin = nearer(rule, begin, span.first);
    if !patience.take(steps(rule, days_between(begin.date(), span.last))) {
        return Err(Unreadable::far_too_often(rule, title));
    }
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

/// Values of the parts of a rule by name, in capital letters.
fn parts(rule: &str) -> impl Iterator<Item = (String, String)> + '_ {
    let parts = rule.split(';').filter_map(|part| part.split_once('='));
    parts.map(|(name, value)| (name.trim().to_ascii_uppercase(), value.trim().to_ascii_uppercase()))
}

/// Whether a rule names several times of one day.
fn repeats_within_a_day(rule: &str) -> bool {
    parts(rule).any(|(name, value)| match name.as_str() {
        "FREQ" => matches!(value.as_str(), "SECONDLY" | "MINUTELY" | "HOURLY"),
        "BYHOUR" | "BYMINUTE" | "BYSECOND" => value.contains(','),
        _ => false,
    })
}

/// How often a rule repeats in so many days, at most.
fn steps(rule: &str, days: i64) -> i64 {
    let value = |wanted: &str| parts(rule).find(|(name, _)| name == wanted).map(|(_, value)| value);
    let unit = match value("FREQ").as_deref() {
        Some("YEARLY") => 365,
        Some("MONTHLY") => 28,
        Some("WEEKLY") => 7,
        _ => 1,
    };
    let filtered = parts(rule).any(|(name, _)| name.starts_with("BY"));
    let counted = value("COUNT").filter(|_| !filtered).and_then(|text| text.parse().ok());
    (days / unit + 1).min(counted.unwrap_or(i64::MAX))
}

/// A later first day that gives the same days from `from` on, for rules of days and weeks that do not count how often
/// they repeat: there is no need to go through the years before the term one by one.
fn nearer(rule: &str, begin: NaiveDateTime, from: NaiveDate) -> NaiveDateTime {
    let value = |wanted: &str| parts(rule).find(|(name, _)| name == wanted).map(|(_, value)| value);
    let unit = match value("FREQ").as_deref() {
        Some("DAILY") => 1,
        Some("WEEKLY") => 7,
        _ => return begin,
    };
    let interval = value("INTERVAL").map_or(Some(1), |text| text.parse::<u16>().ok());
    let (Some(interval @ 1..), None) = (interval, value("COUNT")) else { return begin };
    let step = unit * i64::from(interval);
    // A week more, as a rule of weeks may begin in the middle of one.
    let steps = ((days_between(begin.date(), from) - 7) / step).max(0);
    begin.checked_add_signed(TimeDelta::days(steps * step)).unwrap_or(begin)
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
fn listed(
    event: &Event,
    (property, what): (&str, &str),
    title: &str,
    zone: Option<Tz>,
) -> Result<Vec<NaiveDate>, Unreadable> {
    let single = event.properties().get(property).into_iter();
    let several = event.multi_properties().get(property).into_iter().flatten();
    let texts = single.chain(several).flat_map(|property| property.value().split(','));
    texts
        .map(str::trim)
        .map(|text| {
            let day = NaiveDate::parse_from_str(text, "%Y%m%d").ok();
            day.or_else(|| moment(text, zone).map(|moment| moment.date()))
                .ok_or_else(|| Unreadable::part(text, what, title))
        })
        .collect()
}

#[cfg(test)]
mod tests;
