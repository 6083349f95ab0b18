//! Sheets to print.

use super::{json, planned_term, run};
use std::fs;

#[test]
fn sheets_of_a_week_go_to_the_out_folder() {
    let here = planned_term();
    let ran = run(here.path(), &["sheets", "--of", "2026-10-08", "--paper", "letter"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert_eq!(ran.out, "out/2026-W41-hall.html\nout/2026-W41-room-4.html\n");
    let first = fs::read_to_string(here.path().join("out/2026-W41-hall.html")).unwrap();
    assert!(first.contains("Harvest, Hall; north, upper") && first.contains("size: letter"));
    // The same wish gives the same file, wherever it is written to.
    let ran = run(
        here.path(),
        &["sheets", "--of", "2026-10-08", "--paper", "letter", "--out", "to print", "--json"],
    );
    assert_eq!(json(&ran.out)["written"][0], "to print/2026-W41-hall.html");
    assert_eq!(fs::read_to_string(here.path().join("to print/2026-W41-hall.html")).unwrap(), first);
}

#[test]
fn sites_kinds_and_days_can_be_chosen() {
    let here = planned_term();
    let ran = run(here.path(), &["sheets", "--site", "hall", "--kind", "sowing,labels", "--whole-term"]);
    assert_eq!(ran.out, "out/whole-term-hall-sowing.html\nout/whole-term-hall-labels.html\n");
    let ran = run(here.path(), &["sheets", "--site", "hall,room-4", "--kind", "sowing", "--whole-term"]);
    assert_eq!(ran.out, "out/whole-term-hall-sowing.html\nout/whole-term-room-4-sowing.html\n");
    let ran = run(here.path(), &["sheets", "--kind", "term"]);
    assert_eq!(ran.out, "out/term.html\n");
    let ran = run(here.path(), &["sheets", "--site", "hall", "--kind", "term"]);
    assert_eq!(ran.out, "out/term-hall.html\n");
    let ran = run(here.path(), &["sheets", "--from", "2026-09-07", "--to", "2026-09-08", "--site", "room-4"]);
    assert_eq!(ran.out, "out/2026-09-07-to-2026-09-08-room-4.html\n");
    let ran = run(here.path(), &["sheets", "--of", "2020-01-01"]);
    assert!(ran.err.contains("outside the term") && ran.code == 0, "{}", ran.err);
}

#[test]
fn labels_come_on_common_grids_and_on_measured_ones() {
    let here = planned_term();
    let labels = |more: &[&str]| {
        let args = [&["sheets", "--kind", "labels", "--site", "hall", "--whole-term"], more].concat();
        run(here.path(), &args)
    };
    for (args, size) in [
        (&["--label-grid", "3x7"][..], "repeat(3, 63.53mm); grid-auto-rows: 38.11mm"),
        (&["--label-grid", "3x10", "--paper", "letter"], "repeat(3, 66.77mm); grid-auto-rows: 25.40mm"),
        (
            &["--label-grid", "2 x 4", "--label-edges", "0.5 in, 1 cm"],
            "repeat(2, 95.00mm); grid-auto-rows: 67.90mm",
        ),
    ] {
        let ran = labels(args);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{args:?}");
        let html = fs::read_to_string(here.path().join(ran.out.trim())).unwrap();
        assert!(html.contains(size), "{args:?}");
    }
    for (args, told) in [
        (&["--label-grid", "3x11"][..], "add --label-edges, or take one of 3x8, 3x7"),
        (&["--label-grid", "3x10"], "add --paper letter, --label-edges"),
        (&["--label-grid", "three"], "columns x rows"),
        (&["--label-grid", "6x20", "--label-edges", "0 mm, 0 mm"], "too small"),
        (&["--label-grid", "3x8", "--label-edges", "10 mm"], "--label-edges"),
        (&["--label-grid", "3x8", "--label-edges", "10, 5"], "unit is missing"),
        (&["--label-grid", "plain", "--label-edges", "10 mm, 5 mm"], "not for plain paper"),
    ] {
        let ran = labels(args);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{args:?}");
        assert!(ran.err.contains(told), "{args:?}: {}", ran.err);
    }
    let each = fs::read_to_string(here.path().join(labels(&[]).out.trim())).unwrap();
    let one = fs::read_to_string(here.path().join(labels(&["--label-batches"]).out.trim())).unwrap();
    assert!(one.matches("class=\"label\"").count() < each.matches("class=\"label\"").count());
}
