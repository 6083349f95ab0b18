//! Terms whose plants may stand on into the next one.

use super::{json, run, run_on};
use crate::support::term_of;
use sowtide::check::check;
use sowtide::domain::calendar::DateSpan;
use sowtide::domain::plan::Plan;
use sowtide::files::store::Disk;
use sowtide::files::{history, plan_file};
use std::fs;
use std::path::Path;
use tempfile::TempDir;

const TERM: &str = "\
format: 1
name: Spring
start: 2027-02-01
end: 2027-03-26
next-term-starts: 2027-04-05
sites:
  - id: room
    class-days: [Monday, Friday]
    nursery: { cells: 24, unattended-days: 4 }
    tanks:
      - { id: tub, holes: 4 x 6, spacing: 15 cm, litres: 60, ec: 1.6, ph: 6.0 }
target: { every: Friday, from: 2027-03-12, mass: 300 g }
crops: [pak-choi, rocket]
";

/// A term that goes on after ten days, planned.
fn going_on() -> TempDir {
    let here = tempfile::tempdir().unwrap();
    fs::write(here.path().join("term.yaml"), TERM).unwrap();
    let ran = run_on("2027-01-20", here.path(), &["plan", "--effort", "200"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("Left standing over the days between the terms:"), "{}", ran.out);
    here
}

fn plan_in(folder: &Path) -> Plan {
    plan_file::read(&Disk::at(folder), history::NEWEST).unwrap().unwrap()
}

#[test]
fn plants_stand_on_for_the_next_term_and_people_see_their_own() {
    let here = going_on();
    let (term, plan) = (term_of(here.path()), plan_in(here.path()));
    assert_eq!(check(&term, &plan), []);
    let last = term.own_end();
    let stands_on = term.stands_on(&plan).unwrap();
    let standing: u32 = stands_on.plants.values().sum();
    assert!(
        standing > 0 && stands_on.grams > 0.0 && (stands_on.wanted - 1800.0).abs() < 1e-9,
        "{stands_on:?}"
    );
    let own = term.own_part(&plan);
    assert!(
        own.batches
            .iter()
            .flat_map(|batch| &batch.parts)
            .flat_map(|part| &part.harvests)
            .all(|harvest| harvest.date <= last)
    );
    assert!(own.batches.iter().any(|batch| batch.parts.iter().any(|part| part.leaves().is_none())));
    assert_eq!(own.servings.len(), 3);
    // Tables, JSON, calendars and the order end with the term.
    let shown = json(&run_on("2027-01-20", here.path(), &["show", "--json"]).out);
    assert_eq!(shown["facts"]["target_g"], 900.0);
    assert_eq!(run_on("2027-01-20", here.path(), &["calendar"]).code, 0);
    let calendar = fs::read_to_string(here.path().join("out/all-sites.ics")).unwrap();
    assert!(
        calendar.contains("DTSTART;VALUE=DATE:202703") && !calendar.contains("DTSTART;VALUE=DATE:202704"),
        "{calendar}"
    );
    let ordered = json(&run_on("2027-01-20", here.path(), &["sheets", "--kind", "order", "--json"]).out);
    let plugs: u32 = own.batches.iter().map(|batch| batch.plugs).sum();
    let laid: u64 = ordered["order"]["seeds"]
        .as_array()
        .unwrap()
        .iter()
        .map(|seed| seed["plugs"].as_u64().unwrap())
        .sum();
    assert_eq!(laid, u64::from(plugs));
    assert!(plugs < plan.batches.iter().map(|batch| batch.plugs).sum(), "the next term sows, too");
}

#[test]
fn what_stands_on_is_handed_over_and_the_term_is_over() {
    let here = going_on();
    let ran = run_on("2027-04-06", here.path(), &["record", "note", "too late"]);
    assert_eq!(ran.code, 1, "{}", ran.err);
    assert!(ran.err.contains("to Fri 26 Mar 2027"), "{}", ran.err);
    assert_eq!(run_on("2027-03-29", here.path(), &["replan"]).code, 1);
    let ran = run_on(
        "2027-03-27",
        here.path(),
        &["next", ".", "summer", "--start", "2027-04-05", "--end", "2027-07-02"],
    );
    assert_eq!(ran.code, 0, "{}", ran.err);
    let next = term_of(here.path().join("summer"));
    let days = DateSpan { first: next.start, last: next.end };
    assert_eq!(
        (next.ahead, days.first.to_string(), days.last.to_string()),
        (None, "2027-04-05".into(), "2027-07-02".into())
    );
    let stands_on = term_of(here.path()).stands_on(&plan_in(here.path())).unwrap();
    let standing: u32 = next.standing.iter().map(|standing| standing.plants).sum();
    assert_eq!(standing, stands_on.plants.values().sum::<u32>() + stands_on.seedlings);
    let text = fs::read_to_string(here.path().join("summer/term.yaml")).unwrap();
    assert!(text.contains("#~ next-term-starts: 2027-04-05"), "{text}");
    let ran = run(here.path(), &["plan", "summer", "--effort", "50"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
}
