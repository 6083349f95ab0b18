//! People in a hurry: short limits, few steps, Ctrl-C.

use super::{json, run, term};
use std::fs;

#[test]
fn who_stops_at_once_still_gets_a_plan() {
    let here = tempfile::tempdir().unwrap();
    let example = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/school");
    for name in ["term.yaml", "days-off.ics"] {
        fs::copy(example.join(name), here.path().join(name)).unwrap();
    }
    let ran = run(here.path(), &["plan", "--time-limit", "1", "--json", "--quiet"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let answer = json(&ran.out);
    let (target, short) = (&answer["facts"]["target_g"], &answer["facts"]["short_g"]);
    let (target, short) = (target.as_f64().unwrap(), short.as_f64().unwrap());
    assert!(short < 0.4 * target, "{short} g of {target} g are short");
    assert_eq!(run(here.path(), &["check"]).code, 0);
}

#[test]
fn a_better_plan_from_before_stays() {
    let here = term();
    assert_eq!(run(here.path(), &["plan", "--effort", "200"]).code, 0);
    let before = fs::read_to_string(here.path().join("plan.yaml")).unwrap();
    let ran = run(here.path(), &["plan", "--effort", "1"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.err.contains("It stays."), "{}", ran.err);
    assert_eq!(fs::read_to_string(here.path().join("plan.yaml")).unwrap(), before);
}

#[test]
fn a_damaged_plan_is_never_overwritten_and_the_way_out_is_told() {
    let here = term();
    let path = here.path().join("plan.yaml");
    fs::write(&path, "format: [1").unwrap();
    let ran = run(here.path(), &["plan", "--effort", "1"]);
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("move plan.yaml out of the folder"), "{}", ran.err);
    assert_eq!(fs::read_to_string(&path).unwrap(), "format: [1");
}

#[test]
fn calendars_of_sites_that_are_gone_are_told_of() {
    let here = super::planned_term();
    fs::create_dir(here.path().join("out")).unwrap();
    fs::write(here.path().join("out/site-attic.ics"), "old").unwrap();
    let ran = run(here.path(), &["calendar"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.err.contains("site-attic.ics"), "{}", ran.err);
}

#[test]
fn a_plan_of_another_term_is_refused() {
    let here = super::planned_term();
    super::edit(&here.path().join("term.yaml"), "id: room-4", "id: room-5");
    for command in ["week", "calendar", "show"] {
        let ran = run(here.path(), &[command]);
        assert_eq!((ran.code, ran.out.as_str()), (1, ""), "{command}");
        assert!(ran.err.contains("room-4") && ran.err.contains("sowtide plan"), "{}", ran.err);
    }
}
