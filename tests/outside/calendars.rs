//! Calendars in the eyes of other readers, and week numbers in those of another calendar.

use super::needs::PYTHON;
use super::python;
use crate::sample::{plan, term};
use crate::support::calendars::{PLAIN, any_text, early, exported, file, long_line};
use crate::support::term_of;
use chrono::NaiveDate;
use icalendar::{Component, DatePerhapsTime};
use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::TestRunner;
use serde::Deserialize;
use sowtide::domain::calendar::Week;
use sowtide::domain::plan::Plan;
use sowtide::domain::tasks::tasks;
use sowtide::domain::term::Term;
use sowtide::report::ical::{self, Alarm, Wishes};
use sowtide::schedule::{self, Options, Watch};
use std::collections::HashSet;
use std::path::Path;

checks! {
    PYTHON =>
        other_readers_find_the_tasks_of_a_planned_term,
        other_readers_find_the_tasks_of_a_stored_plan,
        other_readers_find_texts_that_are_hard_to_write,
        other_readers_find_accents_emoji_line_ends_and_long_lines,
        other_readers_find_what_is_called_off,
        weeks_are_those_of_iso_8601;
}

/// An event as a reader tells it.
#[derive(Debug, PartialEq, Eq, Deserialize)]
struct Event {
    uid: String,
    start: NaiveDate,
    end: NaiveDate,
    summary: String,
    description: String,
    sequence: u32,
    status: String,
    categories: Vec<String>,
}

/// A short search for the smallest example's plan.
fn one_room() -> (Term, Plan) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/one-room");
    let term = term_of(&folder);
    let options = Options {
        seed: 1,
        effort: Some(20),
        until_stopped: false,
        term_id: "0123456789abcdef".to_owned(),
        made: "2027-01-04T08:00:00Z".parse().unwrap(),
    };
    let plan = schedule::plan(&term, None, &options, &Watch { stop: &|| false, report: &|_| {}, threads: 2 })
        .unwrap();
    (term, plan)
}

/// Names and texts with everything that must be escaped or folded.
fn hard_to_write() -> (Term, Plan) {
    let mut term = term();
    "Hall \\ \"east\"; ground floor, Süd – Grüße 🌱 ".repeat(3).trim().clone_into(&mut term.sites[0].name);
    "Oakleaf, green; red\\brown".clone_into(&mut term.crops[0].crop.name);
    (term, plan())
}

/// RFC 5545: each reader finds the plan's tasks, their days with an exclusive end, and the same texts.
fn every_reader_agrees((term, plan): &(Term, Plan)) {
    let export = exported(term, plan, &PLAIN);
    let text = file(&export, "all-sites");
    let ours: Vec<Event> = read_here(text);
    let days: Vec<(NaiveDate, Option<NaiveDate>)> =
        ours.iter().map(|event| (event.start, Some(event.end))).collect();
    let planned: Vec<_> = tasks(term, plan).iter().map(|task| (task.date, task.date.succ_opt())).collect();
    assert_eq!(days, planned);
    assert!(!ours.is_empty());
    let uids: HashSet<&str> = ours.iter().map(|event| event.uid.as_str()).collect();
    assert_eq!(uids.len(), ours.len());

    readers_agree(text, &ours);
}

fn readers_agree(text: &str, ours: &[Event]) {
    let (_folder, path) = python::file("greens.ics", text);
    for (reader, script) in
        [("icalendar", include_str!("read_icalendar.py")), ("vobject", include_str!("read_vobject.py"))]
    {
        let theirs: Vec<Event> = serde_json::from_str(&python::run(script, &[&path])).unwrap();
        assert_eq!(theirs, ours, "read by {reader}");
    }
}

/// The events as the Rust library `icalendar` reads them.
fn read_here(text: &str) -> Vec<Event> {
    let read: icalendar::Calendar = text.parse().unwrap();
    let day = |date: Option<DatePerhapsTime>| match date {
        Some(DatePerhapsTime::Date(day)) => day,
        other => panic!("{other:?} is no whole day"),
    };
    read.components
        .iter()
        .filter_map(|component| component.as_event())
        .map(|event| Event {
            uid: event.get_uid().unwrap().to_owned(),
            start: day(event.get_start()),
            end: day(event.get_end()),
            summary: event.get_summary().unwrap().to_owned(),
            description: event.get_description().unwrap().to_owned(),
            sequence: event.get_sequence().unwrap(),
            status: event.property_value("STATUS").unwrap().to_owned(),
            categories: event.multi_properties()["CATEGORIES"]
                .iter()
                .map(|property| property.value().to_owned())
                .collect(),
        })
        .collect()
}

fn other_readers_find_the_tasks_of_a_planned_term() {
    every_reader_agrees(&one_room());
}

fn other_readers_find_the_tasks_of_a_stored_plan() {
    every_reader_agrees(&(term(), plan()));
}

fn other_readers_find_texts_that_are_hard_to_write() {
    every_reader_agrees(&hard_to_write());
}

fn other_readers_find_accents_emoji_line_ends_and_long_lines() {
    let mut runner = TestRunner::deterministic();
    for _ in 0..4 {
        let (mut term, plan) = (term(), plan());
        term.sites[1].name = any_text().new_tree(&mut runner).unwrap().current();
        term.crops[0].crop.name = any_text().new_tree(&mut runner).unwrap().current();
        let note = any_text().new_tree(&mut runner).unwrap().current();
        for allergy in term.crops.iter_mut().filter_map(|wanted| wanted.crop.allergy.as_mut()) {
            allergy.value = format!("{note}\n{}", long_line());
        }
        every_reader_agrees(&(term, plan));
    }
}

/// Work that is called off, breaks over days and alarms.
fn other_readers_find_what_is_called_off() {
    let wishes = Wishes { alarm: Some(Alarm { minutes: 450 }), breaks: true, ..PLAIN };
    let first = exported(&term(), &plan(), &wishes);
    let mut later = plan();
    later.batches.remove(2);
    let second = ical::export(&term(), &later, Some(&first.published), &wishes, early());
    let text = file(&second, "all-sites");
    let ours = read_here(text);
    assert_eq!(ours.iter().filter(|event| event.status == "CANCELLED").count(), 3);
    assert_eq!(ours.iter().filter(|event| event.sequence == 3).count(), 3);
    assert!(ours.iter().any(|event| event.categories == ["Break"]));
    readers_agree(text, &ours);
}

/// ISO 8601 week numbers, as Python counts them.
fn weeks_are_those_of_iso_8601() {
    let printed = python::run(include_str!("weeks.py"), &[]);
    let mut days = 0;
    for line in printed.lines() {
        let (day, week) = line.split_once(' ').unwrap();
        assert_eq!(Week::of(day.parse().unwrap()).to_string(), week, "on {day}");
        days += 1;
    }
    // 51 years, 13 of them leap years.
    assert_eq!(days, 51 * 365 + 13);
}
