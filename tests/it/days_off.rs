//! Days off from a school's calendar file.

use crate::support::text_of;
use chrono::NaiveDate;
use sowtide::domain::calendar::{DateSpan, DaysOffKind};
use sowtide::files::days_off::{Choice, Imported, import};
use sowtide::files::problem::TextFile;
use std::collections::BTreeMap;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn autumn() -> DateSpan {
    DateSpan { first: day("2026-08-31"), last: day("2026-12-18") }
}

fn everything() -> Choice {
    Choice {
        kind: DaysOffKind::Closure,
        words: Vec::new(),
        without: Vec::new(),
        timed: Some(true),
        zone: None,
    }
}

fn from_text(text: &str, choice: &Choice) -> Result<Imported, String> {
    import(&TextFile::new("days.ics", text), choice, autumn()).map_err(|problems| problems.to_string())
}

fn calendar(entries: &str) -> String {
    format!("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//Invented//EN\r\n{entries}END:VCALENDAR\r\n")
}

fn told(imported: &Imported) -> String {
    imported.remarks.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

fn days_by_name(imported: &Imported) -> BTreeMap<&str, Vec<String>> {
    let mut days: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for off in &imported.days_off {
        let days = days.entry(&off.name).or_default();
        days.extend(off.span.days().map(|day| day.format("%m-%d").to_string()));
    }
    days
}

/// The expected days were worked out by an independent implementation of RFC 5545; the cancelled
/// entry, which it lists too, is no day off.
#[test]
fn a_school_calendar_gives_the_days_an_independent_implementation_gives() {
    let imported = import(&text_of("tests/data/school.ics"), &everything(), autumn()).unwrap();
    let days = days_by_name(&imported);
    let expected = [
        (
            "Autumn break, everybody away",
            "10-19 10-20 10-21 10-22 10-23 10-24 10-25 10-26 10-27 10-28 10-29 10-30",
        ),
        ("Class trip of the whole school", "11-23 11-24 11-25"),
        ("Cleaning", "09-22"),
        ("Fire drill", "09-28 10-12"),
        ("Memorial day", "11-11"),
        ("Power cut", "10-06"),
        ("Repairs", "09-07"),
        (
            "Sunday",
            "09-06 09-13 09-20 09-27 10-04 10-11 10-18 10-25 11-01 11-08 11-15 11-22 11-29 12-06 12-13",
        ),
        ("Teachers' training day", "09-11 11-13 12-10"),
    ];
    let found: Vec<(&str, String)> = days.iter().map(|(name, days)| (*name, days.join(" "))).collect();
    let expected: Vec<(&str, String)> = expected.map(|(name, days)| (name, days.to_owned())).to_vec();
    assert_eq!(found, expected);
}

#[test]
fn only_wished_entries_are_taken_and_the_rest_is_told() {
    let choice = Choice {
        words: vec!["BREAK".into(), "day".into(), "holiday".into()],
        without: vec!["sunday".into()],
        timed: None,
        ..everything()
    };
    let imported = import(&text_of("tests/data/school.ics"), &choice, autumn()).unwrap();
    insta::assert_snapshot!(told(&imported), @r#"
        school.ics: taken as closures: Teachers' training day (2026-09-11), Autumn break, everybody away (2026-10-19 to 2026-10-30), Memorial day (2026-11-11), Teachers' training day (2026-11-13), Teachers' training day (2026-12-10)
        school.ics: left: Repairs (none of the words), Cleaning (none of the words), Class trip of the whole school (none of the words), Sports day (cancelled), Power cut (not all day), Sunday (has an unwanted word), Fire drill (not all day)
        "#);
}

#[test]
fn times_are_dated_in_the_zone_asked_for() {
    let text = calendar(
        "BEGIN:VEVENT\r\nUID:1\r\nDTSTART:20260907T020000Z\r\nDTEND:20260907T030000Z\r\nSUMMARY:Storm\r\nEND:VEVENT\r\n",
    );
    for (zone, expected) in [
        (None, "2026-09-07"),
        (Some(chrono_tz::America::Chicago), "2026-09-06"),
        (Some(chrono_tz::Asia::Tokyo), "2026-09-07"),
    ] {
        let choice = Choice { zone, ..everything() };
        let imported = from_text(&text, &choice).unwrap();
        assert_eq!(imported.days_off[0].span.first.to_string(), expected, "{zone:?}");
    }
}

#[test]
fn a_mark_at_the_start_of_the_file_does_no_harm() {
    let text =
        calendar("BEGIN:VEVENT\r\nUID:1\r\nDTSTART;VALUE=DATE:20260907\r\nSUMMARY:Fair\r\nEND:VEVENT\r\n");
    let imported = from_text(&format!("\u{feff}{text}"), &everything()).unwrap();
    assert_eq!(imported.days_off.len(), 1);
}

#[test]
fn an_endless_repetition_stays_within_the_term() {
    let text = calendar(
        "BEGIN:VEVENT\r\nUID:1\r\nDTSTART;VALUE=DATE:19700104\r\nRRULE:FREQ=DAILY\r\nSUMMARY:Every day\r\nEND:VEVENT\r\n",
    );
    let imported = from_text(&text, &everything()).unwrap();
    assert_eq!(imported.days_off.len() as i64, autumn().len_days());
}

/// Birthdays and weekly meetings that have been in a calendar for decades are nothing unusual.
#[test]
fn many_old_repetitions_are_no_flood() {
    let entry = |number: u32| {
        let rule = ["YEARLY", "MONTHLY", "WEEKLY;BYDAY=MO", "DAILY;COUNT=40"][number as usize % 4];
        format!(
            "BEGIN:VEVENT\r\nUID:{number}\r\nDTSTART;VALUE=DATE:19550107\r\nRRULE:FREQ={rule}\r\nSUMMARY:Day {number}\r\nEND:VEVENT\r\n"
        )
    };
    let entries: String = (0..200).map(entry).collect();
    let imported = from_text(&calendar(&entries), &everything()).unwrap();
    // From 31 August to 18 December lie sixteen Mondays and the seventh of four months.
    assert_eq!(imported.days_off.len(), 50 * (16 + 4));
}

#[test]
fn an_entry_that_begins_before_the_term_reaches_into_it() {
    let text = calendar(
        "BEGIN:VEVENT\r\nUID:1\r\nDTSTART;VALUE=DATE:20260713\r\nDTEND;VALUE=DATE:20260907\r\nSUMMARY:Summer\r\nEND:VEVENT\r\n",
    );
    let imported = from_text(&text, &everything()).unwrap();
    assert_eq!(imported.days_off[0].span.last, day("2026-09-06"));
}

#[test]
fn unreadable_calendars_are_refused_with_their_place() {
    let damaged = [
        calendar(""),
        calendar("BEGIN:VEVENT\r\nUID:1\r\nDTSTART;VALUE=DATE:20261301\r\nSUMMARY:Fair\r\nEND:VEVENT\r\n"),
        calendar(
            "BEGIN:VEVENT\r\nUID:1\r\nDTSTART;VALUE=DATE:20260901\r\nRRULE:FREQ=NEVER\r\nSUMMARY:Fair\r\nEND:VEVENT\r\n",
        ),
        calendar(
            "BEGIN:VEVENT\r\nUID:1\r\nDTSTART:20260901T000000\r\nRRULE:FREQ=SECONDLY\r\nSUMMARY:Tick\r\nEND:VEVENT\r\n",
        ),
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nBEGIN:VEVENT\r\nSUMMARY:Half an".to_owned(),
        "name: a term, not a calendar\n".to_owned(),
        String::new(),
    ];
    let told: Vec<String> = damaged.iter().map(|text| from_text(text, &everything()).unwrap_err()).collect();
    insta::assert_snapshot!(told.join("\n\n"), @r#"
        error: there is no entry in this calendar
        --> days.ics
         = help: export the calendar anew; each entry begins with BEGIN:VEVENT

        error: the first day of "Fair" cannot be made out
         --> days.ics:6:20
          |
        6 | DTSTART;VALUE=DATE:20261301
          |                    ^^^^^^^^
          |
          = help: correct the entry in the school's calendar and export it anew

        error: how "Fair" repeats cannot be made out
         --> days.ics:7:7
          |
        7 | RRULE:FREQ=NEVER
          |       ^^^^^^^^^^
          |
          = help: correct the entry in the school's calendar, or leave it out with "without" and write its days by hand

        error: "Tick" repeats within a day, so it is no day off
         --> days.ics:7:7
          |
        7 | RRULE:FREQ=SECONDLY
          |       ^^^^^^^^^^^^^
          |
          = help: leave it out with "without", or choose entries with "words"

        error: this calendar file ends too early
         --> days.ics:4:1
          |
        4 | SUMMARY:Half an
          | ^^^^^^^^^^^^^^^
          |
          = help: download or export the calendar anew; the last line is END:VCALENDAR

        error: this is not a calendar file
         --> days.ics:1:1
          |
        1 | name: a term, not a calendar
          | ^^^^^^^^^^^^^^^^^^^^^^^^^^^^
          |
          = help: a calendar file begins with BEGIN:VCALENDAR; export the calendar as an .ics file

        error: this is not a calendar file
         --> days.ics:1:1
          |
        1 |
          | ^
          |
          = help: a calendar file begins with BEGIN:VCALENDAR; export the calendar as an .ics file
        "#);
}

/// An entry with these lines, besides its title.
fn entry(lines: &[&str]) -> String {
    format!("BEGIN:VEVENT\r\n{}\r\nSUMMARY:Fair\r\nEND:VEVENT\r\n", lines.join("\r\n"))
}

#[test]
fn what_an_entry_says_in_vain_is_told_by_its_line() {
    let day = "DTSTART;VALUE=DATE:20260907";
    let weekly = "RRULE:FREQ=WEEKLY;COUNT=3";
    for (lines, told) in [
        (&[day, "DTEND;VALUE=DATE:20260931"][..], "the end of \"Fair\""),
        (&[day, "DURATION:P5"], "the length of \"Fair\""),
        (&[day, weekly, "EXDATE;VALUE=DATE:2026-09-14"], "a day left out of \"Fair\""),
        (&[day, "RDATE;VALUE=DATE:20260931"], "an added day of \"Fair\""),
        (&[day, "RDATE;VALUE=PERIOD:20260914T080000Z/PT5H"], "an added day of \"Fair\""),
        (&[day, "RRULE:FREQ=WEEKLY;INTERVAL=0"], "how \"Fair\" repeats"),
        (&[day, "RRULE:FREQ=WEEKLY;COUNT=0"], "how \"Fair\" repeats"),
        (&[day, "RECURRENCE-ID;VALUE=DATE:2026-09-14"], "the day that is replaced of \"Fair\""),
        (&[day, "RECURRENCE-ID;RANGE=THISANDFUTURE;VALUE=DATE:20260914"], "all later ones"),
    ] {
        let text = calendar(&entry(lines));
        let line = 4 + lines.len();
        let refused = from_text(&text, &everything()).unwrap_err();
        assert!(refused.contains(told) && refused.contains(&format!("days.ics:{line}:")), "{refused}");
    }
    // Who does not want an entry need not mend it.
    let text = calendar(&entry(&[day, "DTEND;VALUE=DATE:20260931"]));
    let choice = Choice { words: vec!["closed".into()], ..everything() };
    assert!(told(&from_text(&text, &choice).unwrap()).contains("Fair (none of the words)"));
}

#[test]
fn names_in_small_letters_are_read() {
    let small = "begin:vevent\r\nuid:2\r\ndtstart;value=date:20260908\r\ndtend;value=date:20260910\r\nsummary:Trip\r\nend:vevent\r\n";
    let text = calendar(&format!("{}{small}", entry(&["DTSTART;VALUE=DATE:20260907"])));
    let imported = from_text(&text, &everything()).unwrap();
    let days = days_by_name(&imported);
    assert_eq!((days["Fair"].join(" "), days["Trip"].join(" ")), ("09-07".into(), "09-08 09-09".into()));
}

#[test]
fn an_entry_of_many_years_covers_the_term() {
    for last in ["20301231", "99991231"] {
        let end = format!("DTEND;VALUE=DATE:{last}");
        let text = calendar(&entry(&["DTSTART;VALUE=DATE:20200101", &end]));
        let imported = from_text(&text, &everything()).unwrap();
        let span = imported.days_off[0].span;
        assert!(span.first <= autumn().first && autumn().last <= span.last, "{span:?}");
    }
}

/// Moved lessons are dated in universal time by some programs, in the entry's own zone by others.
#[test]
fn a_moved_day_is_the_same_in_whatever_zone_it_is_told() {
    let repeated = ["UID:1", "DTSTART;TZID=America/Chicago:20260907T200000", "RRULE:FREQ=WEEKLY;COUNT=3"];
    for old in ["RECURRENCE-ID:20260915T010000Z", "RECURRENCE-ID;TZID=Europe/Berlin:20260915T030000"] {
        let moved = ["UID:1", old, "DTSTART;TZID=America/Chicago:20260917T200000"];
        let text = calendar(&format!("{}{}", entry(&repeated), entry(&moved)));
        let imported = from_text(&text, &everything()).unwrap();
        assert_eq!(days_by_name(&imported)["Fair"].join(" "), "09-07 09-17 09-21", "{old}");
    }
}

#[test]
fn parts_nested_by_thousands_are_refused() {
    let nested = format!("{}{}", "BEGIN:A\r\n".repeat(8_000), "END:A\r\n".repeat(8_000));
    let text = calendar(&entry(&["DTSTART;VALUE=DATE:20260907", &nested]));
    let refused = from_text(&text, &everything()).unwrap_err();
    assert!(refused.contains("too deep") && refused.contains("days.ics:24:1"), "{refused}");
}
