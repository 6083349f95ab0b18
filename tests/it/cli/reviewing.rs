//! Looking back, as teachers ask for it.

use super::{edit, json, planned_term, run_on, typed_on};
use std::fs;

/// Estimates, a loss and a harvest, and an entry that is withdrawn.
const ENTRIES: [&[&str]; 4] = [
    &[
        "harvested",
        "--batch",
        "b-0001",
        "--way",
        "whole",
        "--plants",
        "6",
        "--mass",
        "400 g",
        "--day",
        "2026-09-17",
        "--sample",
        "height=22/20cm mass=60/66g",
        "--sample",
        "height=25/20cm",
    ],
    &["came-up", "--batch", "b-0002", "--plugs", "9", "--day", "2026-09-14"],
    &[
        "lost",
        "--batch",
        "b-0002",
        "--in",
        "blue",
        "--plants",
        "2",
        "--cause",
        "snails",
        "--day",
        "2026-10-01",
    ],
    &["withdraw", "j003"],
];

#[test]
fn a_term_is_looked_back_on() {
    let here = planned_term();
    for entry in ENTRIES {
        let ran = run_on("2026-10-02", here.path(), &[&["record", "--quiet"], entry].concat());
        assert_eq!(ran.code, 0, "{}", ran.err);
    }
    insta::assert_snapshot!(typed_on(
        "2026-10-02",
        here.path(),
        &[
            &["review", "--site", "hall"],
            &["review", "--on", "2026-09-10"],
            &["review", "--page", "--paper", "letter"],
            &["review", "--site", "hal"],
            &["review", "--paper", "a4"],
        ]
    ));
    let page = fs::read_to_string(here.path().join("out/review.html")).unwrap();
    assert!(page.contains("How we did: Room 4") && page.contains("size: letter"));
    let ran = run_on("2026-10-02", here.path(), &["review", "--json", "--site", "hall"]);
    let told = json(&ran.out);
    assert_eq!(told["all"]["weighed_g"], 400.0);
    assert_eq!(told["sites"].as_array().unwrap().len(), 1);
    assert_eq!(told["accuracy"][0]["told"], serde_json::Value::Null);
    assert_eq!(told["losses"].as_array().unwrap().len(), 0);
    // A page of somebody's own stays.
    fs::write(here.path().join("out/review.html"), "<p>Dear parents").unwrap();
    assert_eq!(run_on("2026-10-02", here.path(), &["review", "--page"]).code, 1);
}

/// Batches of plans that are gone are held against later ones, and that is told.
#[test]
fn plans_that_are_not_kept_are_named() {
    let here = planned_term();
    edit(&here.path().join("plan.yaml"), "\nreason:", "\nreplanned: 2026-09-20\nreason:");
    let ran = run_on("2026-10-02", here.path(), &["review"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.err.contains("held against a later plan: 1 and 2."), "{}", ran.err);
}
