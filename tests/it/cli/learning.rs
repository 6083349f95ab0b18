//! What the records teach: told, taken over into the term's files, and taken back.

use super::{edit, planned_term, run_on, typed_on};
use std::fs;
use std::path::Path;

const OVER: &str = "2026-12-01";

/// Harvests of the sample plan at well below what was planned, and counts of seedlings.
fn recorded(folder: &Path) {
    let entries: [&[&str]; 5] = [
        &["sown", "--batch", "b-0002", "--plugs", "12", "--day", "2026-09-07"],
        &["came-up", "--batch", "b-0002", "--plugs", "7", "--day", "2026-09-14"],
        &[
            "harvested",
            "--batch",
            "b-0001",
            "--way",
            "whole",
            "--plants",
            "6",
            "--mass",
            "290 g",
            "--day",
            "2026-09-17",
        ],
        &["transplanted", "--batch", "b-0002", "--plants", "6", "--day", "2026-09-21"],
        &[
            "harvested",
            "--batch",
            "b-0002",
            "--way",
            "cut",
            "--plants",
            "6",
            "--mass",
            "120 g",
            "--day",
            "2026-10-08",
        ],
    ];
    for entry in entries {
        let ran = run_on(OVER, folder, &[&["record", "--quiet"], entry].concat());
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{entry:?}");
    }
}

fn files(folder: &Path) -> [String; 3] {
    ["term.yaml", "crops/oakleaf.yaml", "crops/leaf-mustard.yaml"]
        .map(|name| fs::read_to_string(folder.join(name)).unwrap())
}

/// The folder of the next term beside that of this one.
fn next(folder: &Path) {
    let ran = run_on(
        OVER,
        folder,
        &["next", ".", "../winter", "--start", "2027-01-11", "--end", "2027-04-02", "--quiet"],
    );
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
}

/// A term with records, in a folder with room for the next one beside it.
fn terms() -> (tempfile::TempDir, std::path::PathBuf) {
    let above = tempfile::tempdir().unwrap();
    let folder = above.path().join("autumn");
    let planned = planned_term();
    fs::rename(planned.path(), &folder).unwrap();
    recorded(&folder);
    (above, folder)
}

#[test]
fn records_teach_the_next_term_when_asked_and_can_be_taken_back() {
    let (above, folder) = terms();
    next(&folder);
    let winter = above.path().join("winter");
    let (old, before) = (files(&folder), files(&winter));
    insta::assert_snapshot!(typed_on(
        OVER,
        &folder,
        &[
            &["learn"],
            &["learn", "--take", "../winter"],
            &["learn", "--take", "../winter"],
            &["learn", "../winter", "--take-back"],
            &["learn", "../winter", "--take-back"],
            &["learn", "--take", "."],
        ]
    ));
    assert_eq!((files(&folder), files(&winter)), (old, before));
}

#[test]
fn what_was_taken_over_stands_in_the_next_term_s_files() {
    let (above, folder) = terms();
    next(&folder);
    let winter = above.path().join("winter");
    let before = files(&winter);
    assert_eq!(run_on(OVER, &folder, &["learn", "--take", "../winter", "--quiet"]).code, 0);
    let after = files(&winter);
    assert!(after[0].contains("yield: 0.") && after[0].contains("by own records"), "{}", after[0]);
    for line in before[0].lines() {
        assert!(after[0].lines().any(|own| own == line), "{line} is gone");
    }
    let checked = run_on(OVER, &winter, &["check"]);
    assert_eq!(checked.code, 0, "{}", checked.err);
    // What this term's own plan and journal say does not change.
    assert_eq!(run_on(OVER, &folder, &["check"]).code, 0);
}

#[test]
fn figures_that_somebody_changed_by_hand_are_left_alone() {
    let (above, folder) = terms();
    next(&folder);
    let winter = above.path().join("winter");
    let take = ["learn", "--take", "../winter"];
    assert_eq!(run_on(OVER, &folder, &take).code, 0);
    let text = fs::read_to_string(winter.join("term.yaml")).unwrap();
    let at = text.find("yield: 0.").unwrap();
    edit(&winter.join("term.yaml"), &text[at..at + "yield: 0.00".len()], "yield: 1.31");
    let again = run_on(OVER, &folder, &take);
    assert!(again.code == 0 && again.err.contains("Left alone"), "{}", again.err);
    let back = run_on(OVER, &folder, &["learn", "../winter", "--take-back"]);
    assert!(back.code == 0 && back.err.contains("Left alone"), "{}", back.err);
    assert!(fs::read_to_string(winter.join("term.yaml")).unwrap().contains("yield: 1.31"));
}

#[test]
fn wrong_wishes_are_told() {
    let here = planned_term();
    insta::assert_snapshot!(typed_on(
        OVER,
        here.path(),
        &[&["learn", "--crop", "oakleef"], &["learn", "--site", "hal"], &["learn", "--take", "--take-back"],]
    ));
}

#[test]
fn what_is_behind_is_recorded_by_batch_site_or_crop() {
    let here = planned_term();
    insta::assert_snapshot!(typed_on(
        "2026-09-14",
        here.path(),
        &[
            &["record", "behind", "--batch", "b-0001", "--days", "6", "--by", "Class 5b"],
            &["record", "behind", "--site", "hall", "--days", "4"],
            &["journal"],
            &["status", "--site", "hall"],
            &["record", "behind", "--days", "4"],
            &["record", "behind", "--crop", "oakleef", "--days", "4"],
            &["record", "behind", "--batch", "b-0001", "--days", "0"],
            &["record", "behind", "--batch", "b-0009", "--days", "3"],
        ]
    ));
}
