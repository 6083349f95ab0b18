//! What cannot be true together with what was recorded before is refused, and where it is in the journal already, it is
//! told.

use super::{edit, json, planned_term, run_on};
use std::path::Path;

/// Records something that must be accepted.
fn record(today: &str, folder: &Path, args: &[&str]) {
    let ran = run_on(today, folder, &[&["record", "--quiet"], args].concat());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{args:?}");
}

#[test]
fn a_hole_is_lost_only_once_even_beside_plants_whose_holes_nobody_knows() {
    let here = planned_term();
    let folder = here.path();
    let day = "2026-09-23";
    record(day, folder, &["sown", "--batch", "b-0002", "--plugs", "14", "--day", "2026-09-07"]);
    record(day, folder, &["transplanted", "--batch", "b-0002", "--plants", "13", "--day", "2026-09-21"]);
    let lost = |cause: &str| {
        let what =
            ["record", "lost", "--batch", "b-0002", "--in", "blue", "--holes", "2-3", "--cause", cause];
        run_on(day, folder, &what)
    };
    let first = lost("snails");
    assert_eq!(first.code, 0, "{}", first.err);
    let again = lost("slugs");
    let told = "of batch b-0002 nothing stands in tank blue in holes 2, 3";
    assert!(again.code == 1 && again.err.contains(told), "{}", again.err);
    // Holes nobody planned for may well be those of the spare plants.
    record(day, folder, &["lost", "--batch", "b-0002", "--in", "blue", "--holes", "10", "--cause", "slugs"]);
    let ran = run_on(day, folder, &["replan", "--effort", "2"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
}

#[test]
fn a_tank_that_went_out_twice_comes_back_once() {
    let here = planned_term();
    let folder = here.path();
    let day = "2026-09-16";
    record(day, folder, &["tank-out", "--tank", "blue", "--site", "hall", "--day", "2026-09-14"]);
    record(day, folder, &["tank-out", "--tank", "blue", "--site", "hall", "--day", "2026-09-10"]);
    record(day, folder, &["tank-back", "--tank", "blue", "--site", "hall", "--day", "2026-09-15"]);
    let status = json(&run_on(day, folder, &["status", "--json"]).out);
    let blue = &status["sites"][0]["tanks"][0];
    assert!(blue["tank"] == "blue" && blue["out_since"].is_null(), "{blue}");
    let again = run_on(day, folder, &["record", "tank-back", "--tank", "blue", "--site", "hall"]);
    assert!(again.code == 1 && again.err.contains("in use on that day"), "{}", again.err);
}

#[test]
fn a_term_under_way_does_not_start_later() {
    let here = planned_term();
    let folder = here.path();
    let day = "2026-09-23";
    record(day, folder, &["class-lost", "--site", "hall", "--day", "2026-09-28"]);
    edit(&folder.join("term.yaml"), "start: 2026-09-07", "start: 2026-09-14");
    let before = std::fs::read(folder.join("plan.yaml")).unwrap();
    let ran = run_on(day, folder, &["replan", "--effort", "2"]);
    assert_eq!(ran.code, 1, "{}", ran.out);
    for told in ["start on Monday 14 September", "b-0002 on Monday 7 September", "start: 2026-09-07"] {
        assert!(ran.err.contains(told), "{told}: {}", ran.err);
    }
    assert_eq!(std::fs::read(folder.join("plan.yaml")).unwrap(), before);
}

#[test]
fn one_cutting_is_recorded_once() {
    let here = planned_term();
    let folder = here.path();
    let day = "2026-10-08";
    let cut = |plants: &str, mass: &str| {
        let what =
            ["record", "harvested", "--batch", "b-0002", "--way", "cut", "--plants", plants, "--mass", mass];
        run_on(day, folder, &what)
    };
    assert_eq!(cut("6", "280 g").code, 0);
    // Other plants of the batch may still be cut.
    assert_eq!(cut("3", "120 g").code, 0);
    let again = cut("6", "281 g");
    assert!(
        again.code == 1 && again.err.contains("were already cut on Thu 8 Oct 2026 (j00"),
        "{}",
        again.err
    );
    assert!(again.err.contains("with the sum: --replaces j00"), "{}", again.err);
    // What was cut may be pulled afterwards.
    record(
        day,
        folder,
        &["harvested", "--batch", "b-0002", "--way", "whole", "--plants", "6", "--mass", "90 g"],
    );
}

#[test]
fn taking_back_that_a_tank_is_out_tells_that_it_is_in_use() {
    let here = planned_term();
    let folder = here.path();
    let day = "2026-09-16";
    record(day, folder, &["tank-out", "--tank", "blue", "--site", "hall", "--day", "2026-09-14"]);
    record(day, folder, &["tank-out", "--tank", "blue", "--site", "hall", "--day", "2026-09-10"]);
    let first = run_on(day, folder, &["record", "withdraw", "j001"]);
    assert!(
        first.out.contains("Tank blue is out of use since Thursday 10 September 2026 (j002)"),
        "{}",
        first.out
    );
    let second = run_on(day, folder, &["record", "withdraw", "j002"]);
    assert!(second.out.contains("Tank blue is in use."), "{}", second.out);
    assert!(!second.out.contains("counts them as lost"), "{}", second.out);
}

#[test]
fn more_plugs_than_the_nursery_has_cells_are_told() {
    let here = planned_term();
    let sown = ["record", "sown", "--batch", "b-0002", "--plugs", "60"];
    let ran = run_on("2026-09-07", here.path(), &sown);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("60 plugs stand in the nursery, which has 48 cells"), "{}", ran.out);
}

/// An entry as somebody writes it into the file.
fn written(id: u32, day: &str, rest: &str) -> String {
    format!("- id: j{id:03}\n  recorded: 2026-09-01T12:00:00Z\n  day: {day}\n  {rest}\n")
}

#[test]
fn entries_that_cannot_be_true_are_named_with_line_and_reason() {
    let here = planned_term();
    let folder = here.path();
    let lost = |id, holes: &str| {
        let rest = format!(
            "site: hall\n  what: lost\n  batch: b-0002\n  tank: blue\n  plants: 2\n  holes: [{holes}]\n  cause: snails"
        );
        written(id, "2026-09-22", &rest)
    };
    let entries = [
        lost(1, "1, 2"),
        lost(2, "2, 3"),
        written(3, "2025-09-22", "site: hall\n  what: note\n  text: mistyped"),
        written(4, "2026-09-22", "site: barn\n  what: note\n  text: elsewhere"),
        written(5, "2026-09-22", "site: hall\n  what: tank-back\n  tank: green"),
    ];
    let text = format!("format: 1\nentries:\n{}", entries.concat().replace("tank-back", "tank back"));
    std::fs::write(folder.join("journal.yaml"), text).unwrap();
    let ran = run_on("2026-09-23", folder, &["check"]);
    assert_eq!(ran.code, 1, "{}", ran.out);
    for told in [
        "journal.yaml:13: j002 cannot be true: of batch b-0002 nothing stands in tank blue in hole 2",
        "journal.yaml:23: j003 cannot be true: Mon 22 Sep 2025 is outside the term",
        "j004 cannot be true: there is no site in the term called \"barn\"",
        "j005 cannot be true: there is no tank here called \"green\"",
    ] {
        assert!(ran.out.contains(told), "{told}: {}", ran.out);
    }
    assert!(!ran.out.contains("j001 cannot"), "{}", ran.out);
    let listed = run_on("2026-09-23", folder, &["journal"]);
    assert!(listed.out.contains("Mon 22 Sep 2025") && !listed.out.contains("22 Sep 2026"), "{}", listed.out);
}

#[test]
fn entries_for_days_after_the_term_are_named() {
    let here = planned_term();
    let folder = here.path();
    let sown = written(1, "2027-09-07", "site: hall\n  what: sown\n  batch: b-0002\n  plugs: 10");
    std::fs::write(folder.join("journal.yaml"), format!("format: 1\nentries:\n{sown}")).unwrap();
    let ran = run_on("2026-09-23", folder, &["replan", "--effort", "2"]);
    assert!(ran.code == 1 && ran.err.contains("j001 for Tuesday 7 September 2027"), "{}", ran.err);
}

#[test]
fn the_largest_number_does_no_harm() {
    let here = planned_term();
    let folder = here.path();
    let note = written(4_294_967_295, "2026-09-07", "what: note\n  text: written by hand");
    std::fs::write(folder.join("journal.yaml"), format!("format: 1\nentries:\n{note}")).unwrap();
    let ran = run_on("2026-09-07", folder, &["record", "note", "after it"]);
    assert!(ran.code == 0 && ran.out.contains("Recorded as j001"), "{} {}", ran.out, ran.err);
    let ran = run_on("2026-09-07", folder, &["record", "note", "and again"]);
    assert!(ran.code == 0 && ran.out.contains("Recorded as j002"), "{} {}", ran.out, ran.err);
}

#[test]
fn after_another_target_the_check_points_to_planning_again() {
    let here = planned_term();
    let folder = here.path();
    record("2026-09-16", folder, &["target", "--from", "2026-10-01", "--mass", "700 g"]);
    let ran = run_on("2026-09-16", folder, &["check"]);
    assert_eq!(ran.code, 1, "{}", ran.out);
    assert!(
        ran.err.contains("To plan the rest of the term as things stand now: sowtide replan"),
        "{}",
        ran.err
    );
}

#[test]
fn masses_of_serving_days_are_told_to_be_those_of_all_sites() {
    let here = planned_term();
    let told = "those of all sites together";
    let some = run_on("2026-09-16", here.path(), &["status", "--site", "hall"]);
    let all = run_on("2026-09-16", here.path(), &["status"]);
    assert!(some.err.contains(told) && !all.err.contains(told), "{} {}", some.err, all.err);
}

#[test]
fn what_can_be_only_once_a_day_is_not_to_be_summed_up() {
    let here = planned_term();
    let folder = here.path();
    let again = |args: &[&str]| {
        record("2026-09-16", folder, args);
        run_on("2026-09-16", folder, &[&["record"], args].concat()).err
    };
    let class = again(&["class-lost", "--site", "hall", "--day", "2026-09-17"]);
    assert!(class.contains("the same is in the journal already") && !class.contains("sum"), "{class}");
    let lost = again(&["lost", "--batch", "b-0001", "--in", "blue", "--plants", "1", "--cause", "snails"]);
    assert!(lost.contains("with the sum: --replaces j002"), "{lost}");
}
