//! Writing calendar files, and writing them again.

use super::{edit, json, planned_term, run, sowtide};
use crate::sample::plan;
use crate::support::write_plan;
use chrono::Months;
use sowtide::domain::plan::Plan;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::thread;

/// The stored plan a century later, so that all of it lies ahead whenever the test runs.
fn plan_to_come() -> Plan {
    let mut plan = plan();
    let century = Months::new(1200);
    for batch in &mut plan.batches {
        batch.sown = batch.sown + century;
        for part in &mut batch.parts {
            part.transplant = part.transplant + century;
            for harvest in &mut part.harvests {
                harvest.date = harvest.date + century;
            }
        }
    }
    plan
}

/// Every file a person could subscribe to, by name.
fn calendars(folder: &Path) -> BTreeMap<String, String> {
    fs::read_dir(folder.join("out"))
        .unwrap()
        .map(|entry| entry.unwrap())
        .map(|entry| {
            let text = fs::read_to_string(entry.path()).unwrap();
            (entry.file_name().into_string().unwrap(), text)
        })
        .collect()
}

#[test]
fn calendars_go_to_the_out_folder_and_stay_the_same() {
    let here = planned_term();
    let path = here.path().to_str().unwrap();
    let elsewhere = tempfile::tempdir().unwrap();
    let ran = run(elsewhere.path(), &["calendar", path]);
    assert_eq!((ran.code, ran.err.as_str()), (0, "Events: 12.\n"));
    let names: Vec<&str> = ran.out.lines().map(|line| line.rsplit('/').next().unwrap()).collect();
    assert_eq!(
        names,
        [
            "all-sites.ics",
            "site-hall.ics",
            "site-room-4.ics",
            "sowing.ics",
            "transplanting.ics",
            "harvest.ics",
            "serving.ics"
        ]
    );
    let first = (calendars(here.path()), fs::read(here.path().join("calendar.yaml")).unwrap());
    assert!(first.0.values().all(|file| file.starts_with("BEGIN:VCALENDAR\r\n")));
    thread::sleep(std::time::Duration::from_millis(1100));
    let ran = run(here.path(), &["calendar", "--json"]);
    assert_eq!((ran.code, &json(&ran.out)["events"]["kept"]), (0, &12.into()));
    assert_eq!(first, (calendars(here.path()), fs::read(here.path().join("calendar.yaml")).unwrap()));
}

#[test]
fn a_new_plan_changes_calendars_in_place_and_calls_off_what_is_dropped() {
    let here = planned_term();
    let file = here.path().join("plan.yaml");
    let mut plan = plan_to_come();
    write_plan(&file, &plan);
    assert_eq!(run(here.path(), &["calendar", "--quiet"]).code, 0);
    let before = calendars(here.path());

    plan.batches.remove(2);
    plan.batches[1].parts[0].holes[0] = 24;
    write_plan(&file, &plan);
    let ran = run(here.path(), &["calendar"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.err.ends_with("Events: 0 new, 4 changed, 3 called off, 5 as before.\n"), "{}", ran.err);
    let after = calendars(here.path());
    let called_off = |name: &str| after[name].matches("STATUS:CANCELLED").count();
    assert_eq!(
        [
            "all-sites.ics",
            "site-hall.ics",
            "site-room-4.ics",
            "sowing.ics",
            "transplanting.ics",
            "harvest.ics"
        ]
        .map(called_off),
        [3, 0, 3, 1, 1, 1]
    );
    for (name, text) in &before {
        let uids = |text: &str| {
            text.lines().filter(|line| line.starts_with("UID:")).map(str::to_owned).collect::<Vec<_>>()
        };
        assert_eq!(uids(text), uids(&after[name]), "nothing vanishes from {name}");
    }
    assert_eq!(run(here.path(), &["calendar"]).code, 0);
    assert_eq!(after, calendars(here.path()));
}

#[test]
fn calendars_of_a_site_that_left_the_term_call_its_work_off() {
    let here = planned_term();
    let file = here.path().join("plan.yaml");
    let mut plan = plan_to_come();
    write_plan(&file, &plan);
    assert_eq!(run(here.path(), &["calendar"]).code, 0);
    let term = fs::read_to_string(here.path().join("term.yaml")).unwrap();
    let (start, end) = (term.find("  - id: room-4").unwrap(), term.find("target:").unwrap());
    fs::write(here.path().join("term.yaml"), format!("{}{}", &term[..start], &term[end..])).unwrap();
    plan.batches.remove(2);
    write_plan(&file, &plan);
    let ran = run(here.path(), &["calendar"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_eq!(calendars(here.path())["site-room-4.ics"].matches("STATUS:CANCELLED").count(), 3);
    // A file from other times is pointed at.
    fs::write(here.path().join("out/site-attic.ics"), "").unwrap();
    let ran = run(here.path(), &["calendar"]);
    assert!(ran.err.contains("site-attic.ics was not written again"), "{}", ran.err);
}

#[test]
fn breaks_and_reminders_come_when_wanted() {
    let here = planned_term();
    let ran = run(here.path(), &["calendar", "--breaks", "--alarm", "18:00", "--days-before", "1"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let all = &calendars(here.path())["all-sites.ics"];
    assert_eq!(all.matches("TRIGGER:-PT6H0M").count(), 8);
    assert!(all.contains("SUMMARY:Break: autumn break"), "{all}");
}

#[test]
fn what_is_remembered_is_never_guessed() {
    let here = planned_term();
    assert_eq!(run(here.path(), &["calendar"]).code, 0);
    let memory = here.path().join("calendar.yaml");
    fs::remove_file(here.path().join("plans/calendar.yaml")).unwrap();
    edit(&memory, "kind: sow", "kind: sew");
    let (before, spoilt) = (calendars(here.path()), fs::read(&memory).unwrap());
    edit(&here.path().join("plan.yaml"), "plugs: 10", "plugs: 11");
    let ran = run(here.path(), &["calendar"]);
    assert_eq!((ran.code, ran.out.as_str()), (1, ""));
    assert!(ran.err.contains("calendar.yaml:") && ran.err.contains("did you mean \"sow\"?"), "{}", ran.err);
    assert_eq!((before, spoilt), (calendars(here.path()), fs::read(&memory).unwrap()));
}

/// What could not be written was not published: the next export must count it as new.
#[test]
fn nothing_is_remembered_that_was_not_written() {
    let here = planned_term();
    fs::create_dir_all(here.path().join("out/harvest.ics")).unwrap();
    let ran = run(here.path(), &["calendar"]);
    assert_eq!((ran.code, ran.out.as_str()), (1, ""));
    assert!(ran.err.contains("harvest.ics could not be written"), "{}", ran.err);
    assert!(!here.path().join("calendar.yaml").exists());
}

#[test]
fn two_exports_at_once_agree() {
    let here = planned_term();
    let running: Vec<_> = (0..4)
        .map(|_| {
            std::process::Command::new(env!("CARGO_BIN_EXE_sowtide"))
                .args(["calendar", "--quiet"])
                .current_dir(here.path())
                .stdout(std::process::Stdio::null())
                .spawn()
                .unwrap()
        })
        .collect();
    for mut child in running {
        assert_eq!(child.wait().unwrap().code(), Some(0));
    }
    let before = calendars(here.path());
    sowtide(&["calendar", "--quiet"]).current_dir(here.path()).assert().success();
    assert_eq!(before, calendars(here.path()));
}
