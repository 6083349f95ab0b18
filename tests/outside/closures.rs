//! Days off from a school's calendar, unrolled by another program as well.

use super::needs::PYTHON;
use super::python;
use crate::support::{day, text_of};
use chrono::NaiveDate;
use sowtide::domain::calendar::{DateSpan, DaysOffKind};
use sowtide::files::days_off::{Choice, import};
use std::collections::BTreeSet;
use std::path::Path;

checks! {
    PYTHON =>
        days_off_are_those_another_program_unrolls;
}

/// Repeated, moved, excluded, timed and cancelled entries (RFC 5545), as the Python package
/// recurring-ical-events understands them.
fn days_off_are_those_another_program_unrolls() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/school.ics");
    let term = DateSpan { first: day("2026-08-31"), last: day("2026-12-18") };
    let (first, last) = (term.first.to_string(), term.last.to_string());
    let printed = python::run(include_str!("unroll.py"), &[file.to_str().unwrap(), &first, &last]);
    let theirs: BTreeSet<(String, NaiveDate)> = serde_json::from_str(&printed).unwrap();
    let choice = Choice {
        kind: DaysOffKind::Closure,
        words: Vec::new(),
        without: Vec::new(),
        timed: Some(true),
        zone: None,
    };
    let imported = import(&text_of(&file), &choice, term).unwrap();
    let ours: BTreeSet<(String, NaiveDate)> = imported
        .days_off
        .iter()
        .flat_map(|off| off.span.days().map(|day| (off.name.clone(), day)))
        .filter(|(_, day)| term.contains(*day))
        .collect();
    assert!(ours.len() > 20);
    assert_eq!(ours, theirs);
}
