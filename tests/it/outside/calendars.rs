//! Our calendars read by other calendar programs, and our weeks and days off against theirs.

use super::{planned, python};
use crate::sample;
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{cutter, head};
use crate::support::day;
use chrono::NaiveDate;
use serde_json::Value;
use sowtide::domain::calendar::{DateSpan, DaysOffKind, Week, plus_days};
use sowtide::domain::ids::SiteId;
use sowtide::domain::plan::Plan;
use sowtide::domain::term::Term;
use sowtide::domain::units::Units;
use sowtide::files::days_off::{Choice, import};
use sowtide::report::{Look, ical, instructions, words, work};
use std::collections::BTreeSet;
use std::path::Path;

fn events(program: &str, calendar: &str) -> Value {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("calendar.ics");
    std::fs::write(&file, calendar).unwrap();
    let printed = python::run("calendars.py", &[program, file.to_str().unwrap()]);
    serde_json::from_str(&printed).unwrap()
}

/// What the events should say, from the plan's tasks.
fn expected(term: &Term, plan: &Plan, at: Option<&SiteId>) -> Value {
    let look = Look {
        units: Units::Metric,
        width: usize::MAX,
        colour: false,
    };
    let here = |task: &work::Task| at.is_none_or(|site| task.batch.site == *site);
    work::tasks(term, plan)
        .iter()
        .filter(|task| here(task))
        .map(|task| {
            serde_json::json!({
                "uid": ical::uid(plan, task),
                "start": task.date.to_string(),
                "end": plus_days(task.date, 1).to_string(),
                "sequence": plan.revision - 1,
                "summary": instructions::title(term, task),
                "description": instructions::body(term, task, &look),
                "location": words::site_name(term, &task.batch.site),
            })
        })
        .collect()
}

fn read_alike(term: &Term, plan: &Plan) {
    let sites = term.sites.iter().map(|site| Some(&site.id)).chain([None]);
    for at in sites {
        let calendar = ical::calendar(term, plan, at, Units::Metric);
        let expected = expected(term, plan, at);
        for program in ["icalendar", "vobject"] {
            let found = events(program, &calendar);
            assert_eq!(found, expected, "{program}");
            let found = found.as_array().unwrap();
            let uids: BTreeSet<&str> = found.iter().filter_map(|event| event["uid"].as_str()).collect();
            assert_eq!(uids.len(), found.len());
        }
    }
}

#[test]
fn other_programs_read_our_calendars_word_for_word() {
    read_alike(&sample::term(), &sample::plan());
}

#[test]
fn other_programs_read_the_calendars_of_a_term_with_odd_names() {
    let mut term = TermBuilder::default()
        .site(site("annex").tank(tank("a", 4, 6)))
        .site(site("hall").tank(tank("a", 4, 6)))
        .crop(wanted(head("oakleaf")))
        .crop(wanted(cutter("chard")))
        .build();
    term.sites[0].name = "Gewächshaus; \"Süd\", Hof \\ 温室 🌱: BEGIN:VEVENT\nEND:VEVENT".to_owned();
    term.crops[0].crop.name = "Feuille de chêne, très long ".repeat(8);
    let plan = planned(&term, 200);
    assert!(plan.batches.len() > 4);
    read_alike(&term, &plan);
}

#[test]
fn weeks_are_those_of_python() {
    let printed = python::run("calendars.py", &["weeks", "2000", "2050"]);
    let days: Vec<(NaiveDate, String)> = serde_json::from_str(&printed).unwrap();
    // 51 years, of which the 13 that 4 divides have a day more.
    assert_eq!(days.len(), 51 * 365 + 13);
    for (day, week) in days {
        assert_eq!(Week::of(day).to_string(), week, "{day}");
        assert!(Week::of(day).monday() <= day && day <= Week::of(day).sunday());
    }
}

#[test]
fn days_off_are_those_another_program_unrolls() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/school.ics");
    let term = DateSpan {
        first: day("2026-08-31"),
        last: day("2026-12-18"),
    };
    let (first, last) = (term.first.to_string(), term.last.to_string());
    let printed = python::run("calendars.py", &["days", file.to_str().unwrap(), &first, &last]);
    let theirs: BTreeSet<(String, NaiveDate)> = serde_json::from_str(&printed).unwrap();
    let choice = Choice {
        kind: DaysOffKind::Closure,
        words: Vec::new(),
        without: Vec::new(),
        timed: true,
        zone: None,
    };
    let imported = import(&file, &choice, term).unwrap();
    let ours: BTreeSet<(String, NaiveDate)> = imported
        .days_off
        .iter()
        .flat_map(|off| off.span.days().map(|day| (off.name.clone(), day)))
        .filter(|(_, day)| term.contains(*day))
        .collect();
    assert!(ours.len() > 20);
    assert_eq!(ours, theirs);
}
