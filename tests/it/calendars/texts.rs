//! Names and notes of every kind survive: the Rust library `icalendar` reads what was meant.

use crate::sample::{plan, term};
use crate::support::calendars::{PLAIN, any_text, early, exported, file, long_line};
use crate::support::few;
use icalendar::Component;
use proptest::prelude::*;
use sowtide::domain::calendar::plus_days;
use sowtide::domain::tasks::tasks;
use sowtide::files::published_file;
use sowtide::files::store::Memory;
use sowtide::report::{Look, ical, instructions};

fn read_back(name: &str, note: &str) {
    let (mut term, plan) = (term(), plan());
    name.clone_into(&mut term.sites[0].name);
    name.clone_into(&mut term.crops[0].crop.name);
    for wanted in &mut term.crops {
        if let Some(allergy) = &mut wanted.crop.allergy {
            note.clone_into(&mut allergy.value);
        }
    }
    let export = exported(&term, &plan, &PLAIN);
    let text = file(&export, "all-sites");
    assert!(text.split("\r\n").all(|line| line.len() <= 75 && !line.contains(['\r', '\n'])));
    let read: icalendar::Calendar = text.parse().unwrap();
    let look = Look { units: PLAIN.units, width: usize::MAX, colour: false };
    let tasks = tasks(&term, &plan);
    let events: Vec<_> = read.components.iter().filter_map(|one| one.as_event()).collect();
    assert_eq!(events.len(), tasks.len());
    for (event, task) in events.iter().zip(&tasks) {
        assert_eq!(event.get_summary(), Some(instructions::title(&term, task).as_str()));
        assert_eq!(event.get_description(), Some(instructions::body(&term, &plan, task, &look).as_str()));
        assert_eq!(event.get_start(), Some(task.date.into()));
        assert_eq!(event.get_end(), Some(plus_days(task.date, 1).into()));
    }
    // What is remembered survives its file, and a second export then finds nothing new.
    let store = Memory::new();
    published_file::write(&store, published_file::FILE_NAME, &export.published).unwrap();
    let memory = published_file::read(&store, published_file::FILE_NAME).unwrap().unwrap();
    assert_eq!(memory, export.published);
    assert_eq!(ical::export(&term, &plan, Some(&memory), &PLAIN, early()).calendars, export.calendars);
}

proptest! {
    #![proptest_config(few(60))]

    #[test]
    fn any_text_is_read_as_it_was_meant(name in any_text(), note in any_text()) {
        read_back(&name, &note);
    }
}

#[test]
fn long_lines_are_read_as_they_were_meant() {
    assert!(long_line().chars().count() >= 500);
    read_back(&long_line(), &format!("{}\n{}", long_line(), long_line()));
}
