//! What the records teach: told, taken over into the term's files, and taken back.

use super::{edit, json, planned_term, run_on, typed_on};
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

#[test]
fn records_teach_when_asked_and_can_be_taken_back() {
    let here = planned_term();
    let folder = here.path();
    let nothing = run_on(OVER, folder, &["learn"]);
    assert!(nothing.code == 0 && nothing.out.starts_with("Nothing to learn from yet"), "{}", nothing.out);
    recorded(folder);
    let before = files(folder);
    insta::assert_snapshot!(typed_on(
        OVER,
        folder,
        &[
            &["learn"],
            &["learn", "--take"],
            &["learn", "--take"],
            &["learn", "--take-back"],
            &["learn", "--take-back"],
        ]
    ));
    assert_eq!(files(folder), before);
}

#[test]
fn what_was_taken_over_counts_from_then_on() {
    let here = planned_term();
    let folder = here.path();
    recorded(folder);
    let told = json(&run_on(OVER, folder, &["learn", "--json"]).out);
    let before = files(folder);
    assert_eq!(run_on(OVER, folder, &["learn", "--take", "--quiet"]).code, 0);
    let after = files(folder);
    assert!(after[0].contains("yield: 0.") && after[0].contains("by own records"), "{}", after[0]);
    for line in before[0].lines() {
        assert!(after[0].lines().any(|own| own == line), "{line} is gone");
    }
    let again = json(&run_on(OVER, folder, &["learn", "--json"]).out);
    let all = |told: &serde_json::Value, key: &str| -> Vec<f64> {
        told["figures"].as_array().unwrap().iter().map(|own| own[key].as_f64().unwrap()).collect()
    };
    for (first, second) in all(&told, "now").into_iter().zip(all(&again, "now")) {
        assert!((first - second).abs() < 0.01, "the same records teach the same: {first} and {second}");
    }
    assert!(
        all(&again, "so_far").iter().zip(all(&again, "now")).all(|(so_far, now)| (so_far - now).abs() < 0.5)
    );
    assert_eq!(run_on(OVER, folder, &["check", "--quiet"]).err.matches("error").count(), 0);
}

#[test]
fn figures_that_somebody_changed_since_are_left_alone() {
    let here = planned_term();
    let folder = here.path();
    recorded(folder);
    assert_eq!(run_on(OVER, folder, &["learn", "--take", "--quiet"]).code, 0);
    let text = fs::read_to_string(folder.join("term.yaml")).unwrap();
    let at = text.find("yield: 0.").unwrap();
    let old = &text[at..at + "yield: 0.00".len()];
    edit(&folder.join("term.yaml"), old, "yield: 1.31");
    let back = run_on(OVER, folder, &["learn", "--take-back"]);
    assert!(back.code == 0 && back.err.contains("Left alone"), "{}", back.err);
    assert!(fs::read_to_string(folder.join("term.yaml")).unwrap().contains("yield: 1.31"));
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
