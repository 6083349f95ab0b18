//! Planning again after something failed, as people do it.

use super::{edit, json, planned_term, run, run_on, term, typed_on};
use crate::support::{kept_numbers, plan_at, write_plan};
use sowtide::domain::plan::Part;
use std::fs;

const REPLAN: [&str; 3] = ["replan", "--effort", "5"];

/// Who counts seedlings after the day of their move says that they still stand in the nursery, and is told so.
#[test]
fn counting_seedlings_late_does_not_silently_undo_their_move() {
    let here = planned_term();
    let late = "2026-09-28";
    let ran = run_on(late, here.path(), &["record", "came-up", "--batch", "b-0002", "--plugs", "8"]);
    assert!(ran.code == 0 && ran.err.contains("of b-0002 moved to a tank by then"), "{}", ran.err);
    let corrected = ["--day", "2026-09-14", "--replaces", "j001"];
    let again = [&["record", "came-up", "--batch", "b-0002", "--plugs", "8"][..], &corrected].concat();
    let ran = run_on(late, here.path(), &again);
    assert!(ran.code == 0 && !ran.err.contains("moved to a tank by then"), "{}", ran.err);
}

#[test]
fn a_lost_batch_is_recorded_tried_out_and_planned_around() {
    let here = planned_term();
    let (folder, file) = (here.path(), here.path().join("plan.yaml"));
    let today = "2026-09-28";
    assert_eq!(run_on(today, folder, &["calendar"]).code, 0);
    let before = fs::read(&file).unwrap();

    let ran = run_on(today, folder, &REPLAN);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.err.contains("It stays as it is") && ran.out.contains("0 otherwise changed, 0 dropped"),
        "{}",
        ran.out
    );
    assert_eq!(before, fs::read(&file).unwrap());

    let lost = ["record", "lost", "--batch", "b-0003", "--in", "nursery", "--all", "--cause", "dried out"];
    let ran = run_on(today, folder, &lost);
    assert_eq!(ran.code, 0, "{}", ran.err);
    // What is told or written of the plan meanwhile says that it is out of date.
    for told in [&["calendar"][..], &["sheets", "--kind", "term"], &["explain"]] {
        let ran = run_on(today, folder, told);
        assert!(ran.code == 0 && ran.err.contains("does not know of"), "{told:?}: {}", ran.err);
    }
    let ran = run_on(today, folder, &[&REPLAN[..], &["--try"]].concat());
    assert!(ran.code == 0 && ran.err.contains("nothing was saved"), "{}", ran.err);
    assert_eq!(before, fs::read(&file).unwrap());
    let tried = ran.out;

    let ran = run_on(today, folder, &REPLAN);
    assert_eq!((ran.code, ran.out.as_str()), (0, tried.as_str()), "{}", ran.err);
    assert!(ran.err.contains("Write calendars and sheets again"), "{}", ran.err);
    let new = plan_at(&file);
    assert_eq!((new.revision, new.reason.as_str(), new.known.last()), (4, "after 1 loss", 1));
    assert!(new.batches.iter().flat_map(|batch| &batch.parts).any(Part::lost_in_nursery));
    assert_eq!(kept_numbers(folder), [3, 4]);
    assert_eq!(run_on(today, folder, &["check"]).code, 0);
    let saved = fs::read(&file).unwrap();
    assert!(run_on(today, folder, &REPLAN).err.contains("It stays as it is"));
    assert_eq!(saved, fs::read(&file).unwrap());

    let ran = run_on(today, folder, &["calendar"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let all = fs::read_to_string(folder.join("out/all-sites.ics")).unwrap().replace("\r\n ", "");
    let cancelled = |event: &str| event.contains("-b-0003-") && event.contains("STATUS:CANCELLED");
    assert!(all.split("BEGIN:VEVENT").any(cancelled), "{all}");

    let changes = json(&run_on(today, folder, &["show", "--changes", "--json"]).out);
    let lost = changes["batches"].as_array().unwrap().iter().find(|batch| batch["id"] == "b-0003").unwrap();
    assert_eq!(lost["change"], "dropped");
    let shown = run_on(today, folder, &["show"]).out;
    assert!(shown.contains("lost"), "{shown}");
    let ran = run_on(today, folder, &["sheets", "--kind", "term", "--quiet"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let page = fs::read_to_string(folder.join("out/term.html")).unwrap();
    assert!(page.contains(">X</text>") && page.contains("lost"), "{page}");
    let ran = run_on(today, folder, &["plan"]);
    assert!(ran.code == 1 && ran.err.contains("forget what was done"), "{}", ran.err);
    assert_eq!(saved, fs::read(&file).unwrap());
}

/// What was called off and is planned again is told once, and only that changes in people's calendars.
#[test]
fn what_comes_back_comes_back_to_calendars_once() {
    let here = planned_term();
    let (folder, today) = (here.path(), "2026-09-28");
    let events = || {
        let ran = run_on(today, folder, &["calendar", "--json"]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        json(&ran.out)["events"].clone()
    };
    events();
    let lost = ["record", "lost", "--batch", "b-0003", "--in", "nursery", "--all", "--cause", "dried out"];
    assert_eq!(run_on(today, folder, &lost).code, 0);
    assert_eq!(run_on(today, folder, &REPLAN).code, 0);
    let off = events()["cancelled"].as_u64().unwrap();
    assert!(off > 0);
    assert_eq!(run_on(today, folder, &["record", "withdraw", "j001"]).code, 0);
    assert_eq!(run_on(today, folder, &["plan", "--back-to", "3"]).code, 0);
    let ran = run_on(today, folder, &["calendar"]);
    assert!(ran.err.contains(&format!(" {off} planned again, ")), "{}", ran.err);
    let all = fs::read_to_string(folder.join("out/all-sites.ics")).unwrap().replace("\r\n ", "");
    let called_off = |event: &str| event.contains("-b-0003-") && event.contains("STATUS:CANCELLED");
    assert!(!all.split("BEGIN:VEVENT").any(called_off), "{all}");
    let then = events();
    assert_eq!([&then["changed"], &then["again"], &then["cancelled"]], [0, 0, 0]);
}

#[test]
fn what_changes_is_told_as_a_table_and_on_a_page() {
    let here = planned_term();
    let folder = here.path();
    let told = typed_on(
        "2026-09-23",
        folder,
        &[
            &["record", "class-lost", "--site", "hall", "--day", "2026-09-24"],
            &["record", "lost", "--batch", "b-0002", "--in", "blue", "--plants", "2", "--cause", "mould"],
            &["status", "--quiet"],
            &["replan", "--effort", "5", "--steady", "high"],
            &["status", "--quiet"],
            &["show", "--batch", "b-0002"],
            &["plan", "--back-to", "3", "--quiet"],
        ],
    );
    insta::assert_snapshot!(told);
    let ran =
        run_on("2026-09-23", folder, &[&REPLAN[..], &["--page", "--paper", "letter", "--quiet"]].concat());
    assert_eq!(ran.code, 0, "{}", ran.err);
    let page = fs::read_to_string(folder.join("out/changes.html")).unwrap();
    assert!(page.starts_with("<!DOCTYPE html>") && page.contains("b-0002"));
    let said = ["What happened", "2 plants lost in tank blue", "Until now", "All else at", "Greens a week"];
    assert!(said.iter().all(|words| page.contains(words)), "{page}");
}

#[test]
fn there_must_be_a_plan_and_time_left() {
    let here = term();
    let ran = run(here.path(), &REPLAN);
    assert!(ran.code == 1 && ran.err.contains("there is no plan"), "{}", ran.err);
    let here = planned_term();
    let ran = run_on("2027-02-01", here.path(), &REPLAN);
    assert!(ran.code == 1 && ran.err.contains("nothing left to plan"), "{}", ran.err);
    let target = ["record", "target", "--from", "2026-10-09", "--mass", "900 g"];
    assert_eq!(run_on("2026-09-23", here.path(), &target).code, 0);
    assert_eq!(run_on("2026-09-23", here.path(), &REPLAN).code, 0);
    let ran = run_on("2026-09-20", here.path(), &REPLAN);
    assert!(ran.code == 1 && ran.err.contains("what lies before is past"), "{}", ran.err);
    for args in
        [&["replan", "--steady", "rock"][..], &["replan", "--paper", "a4"], &["replan", "--from", "soon"]]
    {
        assert_eq!(run(here.path(), args).code, 2, "{args:?}");
    }
    let ran = run_on("2026-09-23", here.path(), &["replan", "--from", "2026-09-22"]);
    assert!(ran.code == 2 && ran.err.contains("is past"), "{}", ran.err);
}

/// Holes that a record names stay free, and those it leaves stay taken, before and after planning again.
#[test]
fn what_is_left_of_a_harvest_stays_where_it_is() {
    let here = planned_term();
    let folder = here.path();
    let left = |folder| {
        let told = json(&run_on("2026-10-09", folder, &["status", "--json"]).out);
        let stands = told["sites"][0]["batches"][1]["stands"].as_array().unwrap().clone();
        let mut holes: Vec<u64> = stands
            .iter()
            .flat_map(|stand| stand["holes"].as_array().unwrap())
            .filter_map(serde_json::Value::as_u64)
            .collect();
        holes.sort_unstable();
        holes
    };
    let pull = [
        "record",
        "harvested",
        "--batch",
        "b-0002",
        "--way",
        "whole",
        "--mass",
        "90 g",
        "--day",
        "2026-10-08",
    ];
    let ran = run_on("2026-10-09", folder, &[&pull[..], &["--plants", "2"]].concat());
    assert!(ran.code == 0 && ran.out.contains("No hole was named; taken to be holes 7-8."), "{}", ran.out);
    assert_eq!(left(folder), [1, 2, 3, 4, 5, 6, 9]);
    let ran = run_on("2026-10-09", folder, &[&pull[..], &["--holes", "2,9", "--replaces", "j001"]].concat());
    assert!(ran.code == 0 && ran.out.contains("pulled in tank blue, holes 2, 9"), "{}{}", ran.out, ran.err);
    assert!(!ran.out.contains("No hole was named"), "{}", ran.out);
    let before = left(folder);
    assert_eq!(before, [1, 3, 4, 5, 6, 7, 8]);
    assert_eq!(run_on("2026-10-09", folder, &REPLAN).code, 0);
    assert_eq!(left(folder), before);
    let wrong = run_on("2026-10-09", folder, &[&pull[..], &["--holes", "2-1"]].concat());
    assert!(wrong.code == 2 && wrong.err.contains("is no hole"), "{}", wrong.err);
}

/// Nobody proves a plan, or moves people's calendars to another one, with a pen.
#[test]
fn bounds_and_term_ids_changed_by_hand_are_told() {
    let here = term();
    let (folder, file) = (here.path(), here.path().join("plan.yaml"));
    assert_eq!(run(folder, &["plan", "--effort", "1"]).code, 0);
    let made = std::fs::read_to_string(&file).unwrap();
    let line = |key: &str| made.lines().find(|line| line.trim_start().starts_with(key)).unwrap();
    let (id, cost, bound) = (line("term-id:"), line("cost:"), line("cost-bound:"));
    let number = |line: &str| line.split(": ").nth(1).unwrap().parse::<f64>().unwrap();
    assert!(number(bound) + 0.1 < number(cost), "{bound}, {cost}");
    for (before, after, told) in [
        (id, "term-id: 0000000000000000".to_owned(), format!("make it \"{id}\"")),
        (
            bound,
            format!("  cost-bound: {:.2}", number(bound) + 0.05),
            "than was proven when plan 1 was made; put back what".to_owned(),
        ),
    ] {
        std::fs::write(&file, made.replace(before, &after)).unwrap();
        let ran = run(folder, &["check"]);
        assert!(
            ran.code == 1 && ran.out.replace('\n', " ").contains(&told),
            "{before}: {}{}",
            ran.out,
            ran.err
        );
    }
}

/// What counts as past is not held against the rules, so nobody may make it up.
#[test]
fn days_of_planning_again_that_nobody_planned_on_are_told() {
    let here = term();
    let (folder, file) = (here.path(), here.path().join("plan.yaml"));
    assert_eq!(run(folder, &["plan", "--effort", "1"]).code, 0);
    edit(&file, "reason: first plan", "reason: first plan\nreplanned: 2026-10-01");
    let ran = run(folder, &["check"]);
    assert_eq!(ran.code, 1);
    let made =
        "planned again from another day on than when plan 1 was made; take the line \"replanned:\" out";
    assert!(ran.out.contains(made), "{}", ran.out);
    edit(&file, "replanned: 2026-10-01\n", "");
    assert_eq!(run(folder, &["check"]).code, 0);

    let on = |args: &[&str]| run_on("2026-09-23", folder, args);
    assert_eq!(on(&["record", "target", "--from", "2026-10-09", "--mass", "900 g"]).code, 0);
    assert_eq!(on(&REPLAN).code, 0);
    let day = plan_at(&file).replanned.unwrap();
    assert_eq!(on(&["check"]).code, 0);
    edit(&file, &format!("replanned: {day}"), "replanned: 2026-11-01");
    let ran = on(&["check"]);
    assert!(ran.code == 1 && ran.out.contains(&format!("make it \"replanned: {day}\"")), "{}", ran.out);
    edit(&file, "replanned: 2026-11-01", "replanned: 2026-11-07");
    let ran = on(&["check"]);
    let late = "planned again from Saturday 7 November 2026 on, but the term ends on Friday 6 November 2026; put the right day";
    assert!(ran.code == 1 && ran.out.contains(late), "{}", ran.out);
}

/// Nor does it help to give the plan another number, for which none is kept.
#[test]
fn a_plan_made_again_that_was_never_made_is_told_and_so_are_plants_lost_in_no_journal() {
    let here = term();
    let (folder, file) = (here.path(), here.path().join("plan.yaml"));
    assert_eq!(run(folder, &["plan", "--effort", "1"]).code, 0);
    let made = fs::read_to_string(&file).unwrap();
    let forge = |numbered: &str| {
        let text = made.replace("revision: 1\n", numbered);
        let text = text.replace("reason: first plan", "reason: first plan\nreplanned: 2026-11-01");
        fs::write(&file, text).unwrap();
        let ran = run(folder, &["check"]);
        assert_eq!(ran.code, 1, "{}", ran.out);
        ran.out
    };
    let told = forge("revision: 7\n");
    assert!(told.contains("says that it is plan 7") && told.contains("no plan 7 is kept"), "{told}");
    assert!(told.contains("--back-to 1"), "{told}");
    let ran = run(folder, &["plan", "--back-to", "1"]);
    assert_eq!((ran.code, plan_at(&file).replanned), (0, None), "{}", ran.err);
    assert_eq!(run(folder, &["check"]).code, 0);

    fs::remove_dir_all(folder.join("plans")).unwrap();
    let told = forge("revision: 1\n");
    assert!(told.contains("but also that it is the first plan; take the line \"replanned:\" out"), "{told}");
}

#[test]
fn plants_that_only_a_hand_made_lost_are_told() {
    let here = planned_term();
    let (folder, file) = (here.path(), here.path().join("plan.yaml"));
    let today = "2026-09-28";
    let lost = ["record", "lost", "--batch", "b-0003", "--in", "nursery", "--all", "--cause", "dried out"];
    assert_eq!(run_on(today, folder, &lost).code, 0);
    assert_eq!(run_on(today, folder, &REPLAN).code, 0);
    assert_eq!(run_on(today, folder, &["check"]).code, 0);
    let mut plan = plan_at(&file);
    let part = plan.batches.iter_mut().flat_map(|batch| &mut batch.parts).find(|part| part.lost.is_none());
    part.unwrap().lost = plan.replanned;
    write_plan(&file, &plan);
    let ran = run_on(today, folder, &["check"]);
    assert!(
        ran.code == 1 && ran.out.contains("has plants that were not lost so when plan 4 was made"),
        "{}",
        ran.out
    );
}
