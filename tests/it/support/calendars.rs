//! Calendar files of the stored plan, and texts that are hard to write.

use crate::sample::date;
use chrono::{DateTime, NaiveDate, Utc};
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::select;
use sowtide::domain::plan::Plan;
use sowtide::domain::term::Term;
use sowtide::domain::units::Units;
use sowtide::report::ical::{self, Export, Wishes};

pub(crate) const PLAIN: Wishes<'static> =
    Wishes { units: Units::Metric, alarm: None, breaks: false, serving: None };

/// Before anything in the stored plan happens.
pub(crate) fn early() -> (NaiveDate, DateTime<Utc>) {
    (date("2026-09-01"), "2026-09-01T09:00:00Z".parse().unwrap())
}

/// A first export.
pub(crate) fn exported(term: &Term, plan: &Plan, wishes: &Wishes) -> Export {
    ical::export(term, plan, None, wishes, early())
}

/// The file of that name.
pub(crate) fn file<'a>(export: &'a Export, stem: &str) -> &'a str {
    &export.calendars.iter().find(|calendar| calendar.stem == stem).unwrap().text
}

/// Texts with all that must be escaped, folded or must not be split.
pub(crate) fn any_text() -> impl Strategy<Value = String> {
    let piece = select(vec![
        "a",
        "B",
        " ",
        "  ",
        ",",
        ";",
        ":",
        "\\",
        "\\n",
        "\"",
        "'",
        "\n",
        "é",
        "ß",
        "ŵ",
        "语",
        "🌱",
        "👩‍🌾",
        "e\u{301}",
        "-",
        "#",
        "END:VEVENT",
        "=",
        "%",
        "<b>",
        "\u{a0}",
        "0",
        "{",
        "[",
        "- x",
        "? ",
    ]);
    vec(piece, 1..40).prop_map(|pieces| format!("x{}x", pieces.concat()))
}

/// A line of 500 characters and more.
pub(crate) fn long_line() -> String {
    "Grüße, 🌱; ".repeat(60).trim().to_owned()
}
