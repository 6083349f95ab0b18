//! Calendar files: word for word, to the standard, and from one export to the next.

pub(crate) mod history;
mod texts;

use crate::sample::{date, plan, term};
use crate::support::calendars::{PLAIN, early, exported, file};
use icalendar::Component;
use sowtide::domain::calendar::{DateSpan, DaysOff, DaysOffKind};
use sowtide::domain::luck::Trouble;
use sowtide::domain::published::Published;
use sowtide::domain::tasks::tasks;
use sowtide::domain::term::Term;
use sowtide::domain::units::Units;
use sowtide::insight::odds::{Luck, odds};
use sowtide::report::ical::{self, Alarm, Export, Wishes};
use sowtide::report::{Look, instructions};
use std::collections::{BTreeMap, HashSet};

/// Each event's lines, unfolded, by its UID.
fn events(calendar: &str) -> BTreeMap<String, Vec<String>> {
    let mut all = BTreeMap::new();
    for event in calendar.replace("\r\n ", "").split("BEGIN:VEVENT\r\n").skip(1) {
        let (event, _) = event.split_once("END:VEVENT").unwrap();
        let lines: Vec<String> = event.split_terminator("\r\n").map(str::to_owned).collect();
        let old = all.insert(value(&lines, "UID").to_owned(), lines);
        assert_eq!(old, None, "each UID stands once");
    }
    all
}

/// The value of the one line that begins with this name.
fn value<'a>(lines: &'a [String], name: &str) -> &'a str {
    let found: Vec<&str> = lines
        .iter()
        .filter_map(|line| line.strip_prefix(name))
        .filter_map(|rest| rest.strip_prefix(':').or_else(|| rest.strip_prefix(";VALUE=DATE:")))
        .collect();
    assert_eq!(found.len(), 1, "{name} in {lines:?}");
    found[0]
}

/// A term with an autumn break for all and a fair at one site.
fn term_with_days_off() -> Term {
    let mut term = term();
    let off = |name: &str, first, last, kind| DaysOff {
        name: name.to_owned(),
        span: DateSpan { first: date(first), last: date(last) },
        kind,
    };
    for site in &mut term.sites {
        site.days_off = vec![
            off("autumn break", "2026-10-12", "2026-10-16", DaysOffKind::Break),
            off("long ago", "2020-10-12", "2020-10-16", DaysOffKind::Break),
        ];
    }
    term.sites[0].days_off.push(off("fair", "2026-10-01", "2026-10-01", DaysOffKind::Closure));
    term
}

#[test]
fn calendar_of_all_sites() {
    let export = exported(&term(), &plan(), &PLAIN);
    insta::assert_snapshot!(file(&export, "all-sites").replace("\r\n", "\n"));
}

/// Serving days are for the kitchen: in the calendar of all sites and in their own, but not beside the work of a site. With the same
/// odds nothing changes for anybody.
#[test]
fn serving_days_tell_what_to_expect() {
    let (term, plan) = (term(), plan());
    let odds = odds(&term, &plan, None, Luck { runs: 500, seed: 1, threads: 1, trouble: Trouble::default() });
    let wishes = Wishes { serving: Some(&odds), alarm: Some(Alarm { minutes: 450 }), ..PLAIN };
    let export = exported(&term, &plan, &wishes);
    let serving = events(file(&export, "serving"));
    assert_eq!(serving.len(), plan.servings.len());
    insta::assert_snapshot!(serving.values().map(|lines| lines.join("\n")).collect::<Vec<_>>().join("\n\n"));
    let all = events(file(&export, "all-sites"));
    assert_eq!(all.len(), serving.len() + tasks(&term, &plan).len());
    for site in &term.sites {
        let here = events(file(&export, &format!("site-{}", site.id)));
        assert!(here.values().all(|lines| value(lines, "CATEGORIES") != "Serving"));
    }
    let again = ical::export(&term, &plan, Some(&export.published), &wishes, early());
    assert_eq!((again.tally.new, again.tally.changed, again.tally.cancelled), (0, 0, 0));
    let without = ical::export(&term, &plan, Some(&export.published), &PLAIN, early());
    assert_eq!(without.tally.cancelled, plan.servings.len() as u32);
}

#[test]
fn breaks_and_alarms_when_wanted() {
    let wishes = Wishes { alarm: Some(Alarm { minutes: 450 }), breaks: true, ..PLAIN };
    let export = exported(&term_with_days_off(), &plan(), &wishes);
    let all = events(file(&export, "all-sites"));
    let of = |title: &str| {
        let found: Vec<_> = all.values().filter(|lines| value(lines, "SUMMARY") == title).collect();
        assert_eq!(found.len(), 1, "{title}");
        found[0].join("\n")
    };
    insta::assert_snapshot!(format!("{}\n=====\n{}", of("Break: autumn break"), of("No class: fair")), @r"
    UID:0f1e2d3c4b5a6978-break-1cd011dee0d3ccf9-1
    DTSTAMP:20260901T090000Z
    DTSTART;VALUE=DATE:20261012
    DTEND;VALUE=DATE:20261017
    LAST-MODIFIED:20260901T090000Z
    SEQUENCE:2
    STATUS:CONFIRMED
    SUMMARY:Break: autumn break
    DESCRIPTION:No classes\, and nothing is served. Work is only done where a task says so.
    CATEGORIES:Break
    TRANSP:TRANSPARENT
    =====
    UID:0f1e2d3c4b5a6978-closure-824abb35b7d58fbb-1
    DTSTAMP:20260901T090000Z
    DTSTART;VALUE=DATE:20261001
    DTEND;VALUE=DATE:20261002
    LAST-MODIFIED:20260901T090000Z
    SEQUENCE:2
    STATUS:CONFIRMED
    SUMMARY:No class: fair
    DESCRIPTION:No classes. Work is only done where a task says so.
    CATEGORIES:Closure
    LOCATION:Hall\; north\, upper
    TRANSP:TRANSPARENT
    ");
    let reminded = all.values().filter(|lines| lines.contains(&"TRIGGER:PT7H30M".to_owned())).count();
    assert_eq!(reminded, tasks(&term(), &plan()).len());
    assert_eq!(all.len(), reminded + 2);
    let (hall, room) = (events(file(&export, "site-hall")), events(file(&export, "site-room-4")));
    let shared: Vec<&String> = hall.keys().filter(|uid| room.contains_key(*uid)).collect();
    assert_eq!(shared.len(), 1, "only the break is everybody's");
}

#[test]
fn calendars_keep_to_the_standard() {
    let wishes = Wishes { units: Units::Us, alarm: Some(Alarm { minutes: -360 }), breaks: true, ..PLAIN };
    let export = exported(&term_with_days_off(), &plan(), &wishes);
    let stems: Vec<&str> = export.calendars.iter().map(|calendar| calendar.stem.as_str()).collect();
    assert_eq!(stems, ["all-sites", "site-hall", "site-room-4", "sowing", "transplanting", "harvest"]);
    for calendar in &export.calendars {
        let text = &calendar.text;
        assert!(text.starts_with("BEGIN:VCALENDAR\r\n") && text.ends_with("END:VCALENDAR\r\n"));
        assert!(text.split("\r\n").all(|line| line.len() <= 75 && !line.contains(['\r', '\n'])));
        assert!(!text.contains("\r\nMETHOD"));
        let events = events(text);
        assert!(!events.is_empty());
        for lines in events.values() {
            let day = |name| chrono::NaiveDate::parse_from_str(value(lines, name), "%Y%m%d").unwrap();
            assert!(day("DTSTART") < day("DTEND"));
            assert_eq!(value(lines, "DTSTAMP"), value(lines, "LAST-MODIFIED"));
            assert_eq!(value(lines, "DTSTAMP"), "20260901T090000Z");
            assert_eq!(value(lines, "STATUS"), "CONFIRMED");
        }
    }
    assert!(file(&export, "all-sites").contains("°F"), "non-ASCII text survives");
}

#[test]
fn another_program_reads_the_same_text() {
    let (term, plan) = (term(), plan());
    let export = exported(&term, &plan, &PLAIN);
    let read: icalendar::Calendar = file(&export, "all-sites").parse().unwrap();
    let events: Vec<_> = read.components.iter().filter_map(|one| one.as_event()).collect();
    let tasks = tasks(&term, &plan);
    let look = Look { units: Units::Metric, width: 80, colour: false };
    assert_eq!(events.len(), tasks.len());
    for (event, task) in events.iter().zip(&tasks) {
        assert_eq!(event.get_summary(), Some(instructions::title(&term, task).as_str()));
        let body = instructions::body(&term, &plan, task, &look);
        assert_eq!(event.get_description(), Some(body.as_str()));
        assert_eq!(event.get_start(), Some(task.date.into()));
        assert_eq!(event.get_end(), task.date.succ_opt().map(Into::into));
    }
}

#[test]
fn calendars_of_sites_and_of_kinds_make_up_the_whole() {
    let export = exported(&term(), &plan(), &PLAIN);
    let all = events(file(&export, "all-sites"));
    for parts in [&["site-hall", "site-room-4"][..], &["sowing", "transplanting", "harvest"]] {
        let mut together = BTreeMap::new();
        for stem in parts {
            for (uid, lines) in events(file(&export, stem)) {
                assert_eq!(together.insert(uid, lines), None, "no event is in two of {parts:?}");
            }
        }
        assert_eq!(together, all);
    }
}

#[test]
fn without_work_there_is_no_file() {
    let mut plan = plan();
    plan.batches.retain(|batch| batch.site.as_str() == "hall");
    let export = exported(&term(), &plan, &PLAIN);
    assert!(export.calendars.iter().all(|calendar| calendar.stem != "site-room-4"));
    plan.batches.clear();
    let nothing = exported(&term(), &plan, &PLAIN);
    assert_eq!((nothing.calendars, nothing.published), (Vec::new(), Published::default()));
}

#[test]
fn a_moved_break_keeps_its_identity() {
    let wishes = Wishes { breaks: true, ..PLAIN };
    let mut term = term_with_days_off();
    let first = exported(&term, &plan(), &wishes);
    for site in &mut term.sites {
        site.days_off[0].span = DateSpan { first: date("2026-10-19"), last: date("2026-10-23") };
    }
    let second = ical::export(&term, &plan(), Some(&first.published), &wishes, early());
    let uids =
        |export: &Export| -> HashSet<String> { events(file(export, "all-sites")).into_keys().collect() };
    assert_eq!(uids(&first), uids(&second));
    assert_eq!((second.tally.changed, second.tally.new, second.tally.cancelled), (1, 0, 0));
}
