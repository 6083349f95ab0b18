//! Dates as people type them, and today.

use super::failure::Failure;
use crate::desk::Moment;
use chrono::format::ParseErrorKind;
use chrono::{DateTime, Datelike, Local, NaiveDate, SubsecRound, Utc};

/// Reads a date such as 2026-10-05, of this century or the next.
pub(super) fn parse(text: &str) -> Result<NaiveDate, String> {
    let date: NaiveDate = text.parse().map_err(|error: chrono::ParseError| match error.kind() {
        ParseErrorKind::OutOfRange => "there is no such day in the calendar".to_owned(),
        _ => "write a date as year-month-day, such as 2026-10-05".to_owned(),
    })?;
    if (2000..2200).contains(&date.year()) {
        Ok(date)
    } else {
        Err("use a year from 2000 to 2199".to_owned())
    }
}

/// The day of a moment in the computer's time zone.
pub(super) fn local(moment: DateTime<Utc>) -> NaiveDate {
    moment.with_timezone(&Local).date_naive()
}

/// Makes another day today: for tests, and for trying out what a later day would show.
const TODAY: &str = "SOWTIDE_TODAY";

/// Today by the computer's clock and time zone, unless [`TODAY`] says otherwise.
pub(super) fn today() -> NaiveDate {
    pretended().and_then(Result::ok).unwrap_or_else(|| Local::now().date_naive())
}

/// Here and now.
pub(super) fn moment() -> Moment {
    // Calendars and journals know whole seconds.
    Moment { today: today(), now: Utc::now().trunc_subsecs(0) }
}

/// Whether today can be told.
pub(super) fn check_today() -> Result<(), Failure> {
    match pretended() {
        Some(Err(help)) => {
            Err(Failure::usage(format!("the environment variable {TODAY} is not a date"), help))
        }
        _ => Ok(()),
    }
}

fn pretended() -> Option<Result<NaiveDate, String>> {
    std::env::var(TODAY).ok().map(|text| parse(&text))
}
