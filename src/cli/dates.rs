//! Dates as people type them, and today.

use chrono::{DateTime, Datelike, Local, NaiveDate, Utc};

/// Reads a date such as 2026-10-05, of this century or the next.
pub(super) fn parse(text: &str) -> Result<NaiveDate, String> {
    let date: Option<NaiveDate> = text.parse().ok();
    date.filter(|date| (2000..2200).contains(&date.year()))
        .ok_or_else(|| "write a date as year-month-day, such as 2026-10-05".to_owned())
}

/// The day of a moment in the computer's time zone.
pub(super) fn local(moment: DateTime<Utc>) -> NaiveDate {
    moment.with_timezone(&Local).date_naive()
}

/// Today by the computer's clock and time zone.
pub(super) fn today() -> NaiveDate {
    Local::now().date_naive()
}
