//! Going on from one term to the next.

use super::{Ran, edit, json, planned_term, run, run_on, term, typed_on};
use crate::support::term_of;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

const WINTER: [&str; 7] = ["next", ".", "winter", "--start", "2026-11-09", "--end", "2027-01-29"];

/// The sample term at its end: supplies of which some is used up, plants cut where the plan would have pulled them, notes.
fn over() -> TempDir {
    let here = planned_term();
    let file = here.path().join("term.yaml");
    let supplies = "supplies:
  seed:
    oakleaf: { pack: 100 seeds, on-hand: 80 seeds, packed: 2024 }   # in the tin
    leaf-mustard: { pack: 0.5 g }
  plugs: { on-hand: 100 }
";
    edit(&file, "\nstanding:", &format!("\n{supplies}\nstanding:"));
    for (today, args) in [
        ("2026-09-07", &["sown", "--batch", "b-0002", "--plugs", "12"][..]),
        ("2026-09-22", &["note", "Lamp: \"flickers\" # --- {since} it's new; 30 % дimmer", "--site", "hall"]),
        (
            "2026-10-08",
            &["harvested", "--batch", "b-0002", "--way", "cut", "--plants", "6", "--mass", "250 g"],
        ),
        (
            "2026-10-22",
            &["harvested", "--batch", "b-0002", "--way", "cut", "--plants", "6", "--mass", "200 g"],
        ),
        ("2026-10-23", &["note", "#~ standing: []", "--batch", "b-0002"]),
        ("2026-10-24", &["note", "A slip of the pen"]),
        ("2026-10-24", &["withdraw", "j006"]),
    ] {
        let ran = run_on(today, here.path(), &[&["record", "--quiet"], args].concat());
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{args:?}");
    }
    here
}

/// The files of a folder, by name.
fn files(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn a_term_goes_on_with_what_stands_and_what_is_left() {
    let here = over();
    let before = fs::read_to_string(here.path().join("term.yaml")).unwrap();
    let ran = typed_on("2026-11-09", here.path(), &[&WINTER[..], &["check", "winter"]]);
    let file = here.path().join("winter/term.yaml");
    let text = fs::read_to_string(&file).unwrap();
    insta::assert_snapshot!(format!("{ran}\n{text}"));
    assert_eq!(fs::read_to_string(here.path().join("term.yaml")).unwrap(), before);
    assert_eq!(files(&here.path().join("winter")), ["crops", "term.yaml"]);
    let own = |folder: &str| fs::read(here.path().join(folder).join("crops/oakleaf.yaml")).unwrap();
    assert_eq!(own("winter"), own("."));
    assert_eq!(term_of(here.path().join("winter")).standing[0].plants, 6);
    // It can be planned, and gone on from.
    let ran = run(here.path(), &["plan", "winter", "--effort", "5"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_eq!(run(here.path(), &["check", "winter"]).code, 0);
    let spring =
        ["next", "winter", "spring", "--start", "2027-02-08", "--end", "2027-04-30", "--name", "Spring"];
    let ran = run(here.path(), &spring);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let text = fs::read_to_string(here.path().join("spring/term.yaml")).unwrap();
    assert!(text.contains("name: \"Spring\"\n") && text.contains("30 % дimmer"), "{text}");
    assert_eq!(text.matches("Goes on from").count(), 1);
}

#[test]
fn scripts_are_told_what_was_written() {
    let here = over();
    let ran = run(here.path(), &[&WINTER[..], &["--json"]].concat());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let written = json(&ran.out)["written"].clone();
    let name = Path::new("winter").join("term.yaml");
    assert_eq!(written.as_array().unwrap().last().unwrap(), name.to_str().unwrap());
}

/// Without a plan nothing is known, and the stock stays as it was.
#[test]
fn a_term_without_a_plan_leaves_nothing_standing_and_says_so() {
    let here = term();
    let Ran { code, err, .. } = run(here.path(), &WINTER);
    assert_eq!(code, 0, "{err}");
    assert!(err.contains("has no plan, so nothing stands") && err.contains("sowtide plan winter"), "{err}");
    assert!(term_of(here.path().join("winter")).standing.is_empty());
    let text = fs::read_to_string(here.path().join("winter/term.yaml")).unwrap();
    assert!(text.contains("That term had no plan"), "{text}");
}

#[test]
fn a_plan_that_was_lost_is_not_taken_for_none() {
    let here = term();
    assert_eq!(run(here.path(), &["plan", "--effort", "5"]).code, 0);
    fs::remove_file(here.path().join("plan.yaml")).unwrap();
    let ran = run(here.path(), &WINTER);
    assert_eq!((ran.code, ran.err.contains("--back-to 1")), (1, true), "{}", ran.err);
    assert!(!here.path().join("winter").exists());
}

#[test]
fn a_folder_with_anything_in_it_stays_as_it_is() {
    let here = over();
    fs::create_dir(here.path().join("winter")).unwrap();
    fs::write(here.path().join("winter/mine.txt"), "mine").unwrap();
    let ran = run(here.path(), &WINTER);
    assert_eq!((ran.code, ran.err.contains("something in this folder")), (1, true), "{}", ran.err);
    assert_eq!(files(&here.path().join("winter")), ["mine.txt"]);
    // Nor does a term go on in its own folder, or where a file lies.
    for new in [".", "term.yaml"] {
        let args = ["next", ".", new, "--start", "2026-11-09", "--end", "2027-01-29"];
        let ran = run(here.path(), &args);
        assert_eq!((ran.code, ran.out.as_str()), (1, ""), "{}", ran.err);
    }
    fs::remove_file(here.path().join("winter/mine.txt")).unwrap();
    assert_eq!(run(here.path(), &WINTER).code, 0);
    assert_eq!(files(&here.path().join("winter")), ["crops", "term.yaml"]);
    let left: Vec<String> =
        files(here.path()).into_iter().filter(|name| name.starts_with(".sowtide-")).collect();
    assert_eq!(left, Vec::<String>::new());
}

#[test]
fn dates_that_cannot_be_are_told_with_those_that_can() {
    let here = over();
    let told = |start: &str, end: &str| {
        let ran = run(here.path(), &["next", ".", "winter", "--start", start, "--end", end]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}", ran.err);
        ran.err
    };
    assert!(told("2026-11-06", "2027-01-29").contains("write 2026-11-07 or a later day"));
    assert!(told("2026-11-09", "2026-11-08").contains("before it starts"));
    assert!(told("2026-11-09", "2028-03-01").contains("end it on 2027-12-14 or before"));
    assert!(!here.path().join("winter").exists());
}

/// A term of three days between two Mondays has no serving day: nothing is written, and the reason is shown.
#[test]
fn a_term_that_could_not_be_read_is_not_written() {
    let here = over();
    let ran = run(here.path(), &["next", ".", "winter", "--start", "2026-11-09", "--end", "2026-11-11"]);
    assert_eq!((ran.code, ran.out.as_str()), (1, ""));
    assert!(ran.err.contains("there is no serving day in the term"), "{}", ran.err);
    assert!(!here.path().join("winter").exists());
}

#[test]
fn what_is_planned_until_the_end_counts_as_done() {
    let here = over();
    let ran = run_on("2026-10-30", here.path(), &WINTER);
    assert!(ran.code == 0 && ran.err.contains("runs until 2026-11-06"), "{}", ran.err);
}

/// Terms that go on from every example are read and checked; one is planned, before and after.
#[test]
fn every_example_can_be_gone_on_from() {
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    for (name, start, end) in [
        ("one-room", "2027-04-12", "2027-07-02"),
        ("too-much", "2027-05-03", "2027-07-30"),
        ("school", "2027-08-23", "2027-12-17"),
    ] {
        let here = tempfile::tempdir().unwrap();
        for file in fs::read_dir(examples.join(name)).unwrap() {
            let file = file.unwrap();
            fs::copy(file.path(), here.path().join(file.file_name())).unwrap();
        }
        let plan = |folder: &str| {
            let ran = run(here.path(), &["plan", folder, "--effort", "2", "--quiet"]);
            assert_eq!(ran.code, 0, "{name}: {}", ran.err);
        };
        // Planning the others takes longer, and is no other than planning a room.
        let plans = name == "one-room";
        if plans {
            plan(".");
        }
        let ran = run(here.path(), &["next", ".", "new", "--start", start, "--end", end]);
        assert_eq!(ran.code, 0, "{name}: {}", ran.err);
        let ran = run(here.path(), &["check", "new"]);
        assert_eq!(ran.code, 0, "{name}: {}", ran.err);
        if plans {
            plan("new");
            assert_eq!(run(here.path(), &["check", "new"]).code, 0);
        }
    }
}

#[test]
fn what_would_be_a_part_of_the_old_term_or_would_not_be_found_is_refused() {
    let here = planned_term();
    let folder = here.path();
    let dates = ["--start", "2027-01-11", "--end", "2027-04-02"];
    for part in ["crops", "plans/winter", "./out"] {
        let ran = run(folder, &[&["next", ".", part][..], &dates].concat());
        assert!(ran.code == 2 && ran.err.contains("taken for a part of that term"), "{part}: {}", ran.err);
    }
    let calendar = folder.join("../off-of-a-school.ics");
    let event = "BEGIN:VEVENT\r\nDTSTART;VALUE=DATE:20261027\r\nSUMMARY:Fire drill\r\nEND:VEVENT";
    fs::write(&calendar, format!("BEGIN:VCALENDAR\r\nVERSION:2.0\r\n{event}\r\nEND:VCALENDAR\r\n")).unwrap();
    edit(
        &folder.join("term.yaml"),
        "sites:\n",
        "import: { file: ../off-of-a-school.ics, kind: closure }\nsites:\n",
    );
    let ran = run(folder, &[&["next", ".", "../winter-of-a-school"][..], &dates].concat());
    fs::remove_file(&calendar).unwrap();
    assert!(ran.code == 1 && ran.err.contains("the next term has another"), "{}", ran.err);
}
