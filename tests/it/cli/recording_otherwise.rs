//! Recording what goes otherwise than planned: plants that are measured and stay, work that is put off, seedlings nobody looked
//! after, and entries that may be slips.

use super::{planned_term, run_on, typed_on};
use std::fs;

#[test]
fn plants_that_stay_are_measured() {
    let here = planned_term();
    let measured: [&[&str]; 6] = [
        &[
            "record",
            "measured",
            "--batch",
            "b-0002",
            "--holes",
            "1,4",
            "--sample",
            "height=9/11cm mass=20/14g",
            "--sample",
            "leaves=6/7,mass=13g",
        ],
        &["record", "measured", "--batch", "b-0002", "--sample", "mass=2kg"],
        &[
            "record", "measured", "--batch", "b-0002", "--holes", "1,23", "--sample", "leaves=7", "--sample",
            "leaves=8",
        ],
        &["record", "measured", "--batch", "b-0003", "--sample", "height=9cm"],
        &["status"],
        &["review"],
    ];
    insta::assert_snapshot!(typed_on("2026-10-01", here.path(), &measured));
    // The table brings it back.
    assert_eq!(run_on("2026-10-01", here.path(), &["export", "--out", "all.csv"]).code, 0);
    let csv = fs::read_to_string(here.path().join("all.csv")).unwrap();
    assert_eq!(csv.lines().filter(|line| line.contains(",measured,")).count(), 3, "{csv}");
    let journal = fs::read_to_string(here.path().join("journal.yaml")).unwrap();
    fs::remove_file(here.path().join("journal.yaml")).unwrap();
    assert_eq!(run_on("2026-10-01", here.path(), &["record", "import", "all.csv"]).code, 0);
    assert_eq!(fs::read_to_string(here.path().join("journal.yaml")).unwrap(), journal);
}

#[test]
fn work_is_put_off() {
    let here = planned_term();
    let put_off = ["record", "put-off", "--batch", "b-0002", "--to"];
    let to = |day| [&put_off[..], &[day]].concat();
    let (too_early, no_class, late) = (to("2026-10-22"), to("2026-10-23"), to("2026-10-26"));
    let commands: [&[&str]; 9] = [
        &too_early,
        &no_class,
        &late,
        &[&late[..], &["--day", "2026-10-22"]].concat(),
        &["record", "put-off", "--batch", "b-0009", "--to", "2026-10-26"],
        &["record", "put-off", "--batch", "b-0003", "--day", "2026-11-03", "--to", "2026-11-06"],
        &["today"],
        &["status"],
        &["record", "withdraw", "j001"],
    ];
    insta::assert_snapshot!(typed_on("2026-10-22", here.path(), &commands));
}

#[test]
fn lost_classes_name_the_seedlings_and_how_to_say_that_they_live() {
    let here = planned_term();
    let snow = ["record", "class-lost", "--site", "hall", "--day", "2026-09-10", "--until", "2026-09-17"];
    let mut told = typed_on("2026-09-10", here.path(), &[&snow]);
    told.push_str(&typed_on(
        "2026-09-21",
        here.path(),
        &[&["status"], &["record", "came-up", "--batch", "b-0002", "--plugs", "9"]],
    ));
    insta::assert_snapshot!(told);
}

#[test]
fn what_is_out_of_line_with_the_plan_gets_a_remark() {
    let here = planned_term();
    let mut told = typed_on(
        "2026-09-22",
        here.path(),
        &[&["record", "sown", "--batch", "b-0002", "--plugs", "100", "--day", "2026-09-07"]],
    );
    told.push_str(&typed_on(
        "2026-10-08",
        here.path(),
        &[
            &[
                "record",
                "harvested",
                "--batch",
                "b-0002",
                "--way",
                "whole",
                "--holes",
                "1-6",
                "--mass",
                "560 g",
            ],
            &[
                "record",
                "harvested",
                "--batch",
                "b-0002",
                "--way",
                "whole",
                "--holes",
                "7-9",
                "--mass",
                "60 g",
            ],
            &[
                "record",
                "harvested",
                "--batch",
                "b-0001",
                "--way",
                "whole",
                "--plants",
                "6",
                "--mass",
                "300 g",
            ],
        ],
    ));
    insta::assert_snapshot!(told);
}
