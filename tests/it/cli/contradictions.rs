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
        let what = ["record", "lost", "--batch", "b-0002", "--in", "blue", "--holes", "2-3", "--cause", cause];
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
