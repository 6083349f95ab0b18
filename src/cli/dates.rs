//! Dates as people type them, and today.

use chrono::{Local, NaiveDate};

/// Reads a date such as 2026-10-05.
pub(super) fn parse(text: &str) -> Result<NaiveDate, String> {
    text.parse().map_err(|_| "write a date as year-month-day, such as 2026-10-05".to_owned())
}

/// Today by the computer's clock and time zone.
pub(super) fn today() -> NaiveDate {
    Local::now().date_naive()
}
