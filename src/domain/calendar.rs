//! Days on which work can be done, stretches when nobody comes, and weeks.

use chrono::{Datelike, Days, NaiveDate, Weekday};
use std::fmt;

/// A stretch of days, both ends included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DateSpan {
    /// First day.
    pub first: NaiveDate,
    /// Last day, not before `first`.
    pub last: NaiveDate,
}

impl DateSpan {
    /// Whether `day` lies in the stretch.
    pub fn contains(&self, day: NaiveDate) -> bool {
        (self.first..=self.last).contains(&day)
    }

    /// Every day of the stretch.
    pub fn days(&self) -> impl Iterator<Item = NaiveDate> + use<> {
        let last = self.last;
        self.first.iter_days().take_while(move |day| *day <= last)
    }

    /// Number of days, both ends included.
    pub fn len_days(&self) -> i64 {
        days_between(self.first, self.last) + 1
    }
}

/// A break or closure: days on which nobody works at a site.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DaysOff {
    /// What people call it, such as "autumn break".
    pub name: String,
    /// The days.
    pub span: DateSpan,
    /// A break stops the serving of greens; a closure is a day without classes that happens to fall
    /// into normal weeks.
    pub kind: DaysOffKind,
}

/// Whether greens are eaten on a day off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DaysOffKind {
    /// No work and nothing served.
    Break,
    /// No work on these days.
    Closure,
}

/// Two neighbouring class days with days between them on which nobody looks in.
///
/// What stands in nursery and tanks on both must do without people for a while in between.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Absence {
    /// Last class day before.
    pub leave: NaiveDate,
    /// First class day after.
    pub back: NaiveDate,
    /// Day on which somebody is there for the last time before the longest stretch without anybody.
    pub from: NaiveDate,
    /// Day-steps of the longest stretch from one day on which somebody is there to the next such day; at least 2.
    pub alone: u32,
}

impl Absence {
    /// The longest stretch of days without anybody.
    pub fn alone_days(&self) -> DateSpan {
        DateSpan { first: plus_days(self.from, 1), last: plus_days(self.from, self.alone.saturating_sub(1)) }
    }

    /// Days off in it from Monday to Friday: 1 for a single closed day, 5 for a break of a week.
    pub fn weekdays_off(&self, days_off: &[DaysOff]) -> usize {
        let first = plus_days(self.leave, 1);
        first
            .iter_days()
            .take_while(|day| *day < self.back)
            .filter(|day| !matches!(day.weekday(), Weekday::Sat | Weekday::Sun))
            .filter(|day| days_off.iter().any(|off| off.span.contains(*day)))
            .count()
    }
}

/// Finds the absences between sorted class days, given whether somebody is there on a day. Days before the first class day
/// or after the last one are none: nothing is known of when people were last there, or come next.
pub fn absences(class_days: &[NaiveDate], is_there: impl Fn(NaiveDate) -> bool) -> Vec<Absence> {
    let between = |pair: &[NaiveDate]| {
        let [leave, back] = [pair[0], pair[1]];
        let (mut last, mut longest) = (leave, (0, leave));
        let days = DateSpan { first: plus_days(leave, 1), last: back }.days();
        for day in days.filter(|day| *day == back || is_there(*day)) {
            if days_between(last, day) > longest.0 {
                longest = (days_between(last, day), last);
            }
            last = day;
        }
        let (alone, from) = longest;
        (alone > 1).then_some(Absence { leave, back, from, alone: alone as u32 })
    };
    class_days.windows(2).filter_map(between).collect()
}

/// Whether sums with a day cannot leave the calendar: its year lies from 1900 to 2199. No file, argument or spreadsheet is
/// taken beyond that; days to plan for begin in 2000.
pub fn can_be_meant(day: NaiveDate) -> bool {
    (1900..2200).contains(&day.year())
}

/// Day-steps from `from` to `to`; negative when `to` is earlier.
pub fn days_between(from: NaiveDate, to: NaiveDate) -> i64 {
    (to - from).num_days()
}

/// `day` plus so many days, stopping at the end of the calendar.
pub fn plus_days(day: NaiveDate, days: u32) -> NaiveDate {
    day.checked_add_days(Days::new(u64::from(days))).unwrap_or(NaiveDate::MAX)
}

/// The day so many days before, or the first of all days there are.
pub fn minus_days(day: NaiveDate, days: u32) -> NaiveDate {
    day.checked_sub_days(Days::new(u64::from(days))).unwrap_or(NaiveDate::MIN)
}

/// A week by ISO 8601: Monday to Sunday; week 1 holds the year's first Thursday.
///
/// ```
/// use chrono::NaiveDate;
/// use sowtide::domain::calendar::Week;
/// let new_year = NaiveDate::from_ymd_opt(2027, 1, 1).unwrap();
/// assert_eq!(Week::of(new_year).to_string(), "2026-W53");
/// assert_eq!(Week::of(new_year).monday().to_string(), "2026-12-28");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Week {
    monday: NaiveDate,
}

impl Week {
    /// The week that holds `day`.
    pub fn of(day: NaiveDate) -> Self {
        let back = u64::from(day.weekday().num_days_from_monday());
        Self { monday: day.checked_sub_days(Days::new(back)).unwrap_or(day) }
    }

    /// Its first day.
    pub fn monday(self) -> NaiveDate {
        self.monday
    }

    /// Its last day.
    pub fn sunday(self) -> NaiveDate {
        plus_days(self.monday, 6)
    }

    /// The week after.
    #[must_use]
    pub fn next(self) -> Self {
        Self { monday: plus_days(self.monday, 7) }
    }

    /// ISO week number, 1 to 53.
    pub fn number(self) -> u32 {
        self.monday.iso_week().week()
    }
}

impl fmt::Display for Week {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let week = self.monday.iso_week();
        f.pad(&format!("{}-W{:02}", week.year(), week.week()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn days_on_which_nobody_looks_in_are_absences() {
        let class_days = [day("2026-09-01"), day("2026-09-04"), day("2026-09-08"), day("2026-09-22")];
        let off = |first: &str, last: &str| DaysOff {
            name: "off".into(),
            span: DateSpan { first: day(first), last: day(last) },
            kind: DaysOffKind::Closure,
        };
        let [leave, back] = [class_days[2], class_days[3]];
        let nobody = absences(&class_days, |_| false);
        let alone = |found: &[Absence]| found.iter().map(|gap| gap.alone).collect::<Vec<u32>>();
        assert_eq!(alone(&nobody), [3, 4, 14]);
        // From Monday to Friday, but not from Thursday 10 to Sunday 20 September: a weekend, and from Wednesday to Monday.
        let long = off("2026-09-10", "2026-09-20");
        let weekday = |day: NaiveDate| !matches!(day.weekday(), Weekday::Sat | Weekday::Sun);
        let found = absences(&class_days, |day| weekday(day) && !long.span.contains(day));
        assert_eq!(alone(&found), [3, 12]);
        assert_eq!(found[1], Absence { leave, back, from: day("2026-09-09"), alone: 12 });
        assert_eq!(found[1].alone_days(), DateSpan { first: day("2026-09-10"), last: day("2026-09-20") });
        assert_eq!(absences(&class_days, |_| true), []);
        // From Thursday 10 to Sunday 20 September lie seven days from Monday to Friday.
        assert_eq!(found[1].weekdays_off(&[long.clone(), off("2026-09-11", "2026-09-14")]), 7);
        assert_eq!(found[0].weekdays_off(&[long]), 0);
    }

    /// Dates and week numbers from documentation pages of several date libraries and from ISO 8601.
    #[test]
    fn iso_weeks() {
        for (date, week) in [
            ("1995-01-01", "1994-W52"),
            ("2006-01-01", "2005-W52"),
            ("2010-01-01", "2009-W53"),
            ("2012-12-31", "2013-W01"),
            ("2024-06-16", "2024-W24"),
            ("2026-12-31", "2026-W53"),
            ("2027-01-04", "2027-W01"),
        ] {
            assert_eq!(Week::of(day(date)).to_string(), week, "{date}");
        }
    }
}
