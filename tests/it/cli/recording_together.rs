//! Many people recording at once, and people whose computer dies while they record.

use super::{planned_term, run_on, sowtide};
use sowtide::files::journal_file;
use sowtide::files::store::Disk;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::Instant;

fn start(folder: &Path, text: &str) -> Child {
    Command::new(env!("CARGO_BIN_EXE_sowtide"))
        .args(["record", "--quiet", "note", text, "--day", "2026-10-08"])
        .env("SOWTIDE_TODAY", "2026-10-08")
        .current_dir(folder)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

fn notes(folder: &Path) -> Vec<String> {
    let journal = journal_file::read(&Disk::at(folder)).unwrap().journal;
    let numbers: Vec<u32> = journal.entries().iter().map(|entry| entry.id.0).collect();
    assert_eq!(numbers, (1..=numbers.len() as u32).collect::<Vec<_>>(), "numbers count up without a gap");
    journal
        .entries()
        .iter()
        .map(|entry| match &entry.what {
            sowtide::domain::journal::What::Note { text, .. } => text.clone(),
            other => panic!("{other:?} was never recorded"),
        })
        .collect()
}

#[test]
fn people_who_record_at_once_lose_nothing() {
    let here = planned_term();
    let folder = here.path();
    thread::scope(|scope| {
        for person in 0..6 {
            scope.spawn(move || {
                for number in 0..8 {
                    let mut child = start(folder, &format!("person {person} note {number}"));
                    assert!(child.wait().unwrap().success());
                }
            });
        }
    });
    let found = notes(folder);
    assert_eq!(found.len(), 48);
    for person in 0..6 {
        let own: Vec<&String> =
            found.iter().filter(|text| text.starts_with(&format!("person {person} "))).collect();
        let expected: Vec<String> = (0..8).map(|number| format!("person {person} note {number}")).collect();
        assert_eq!(own, expected.iter().collect::<Vec<_>>(), "in the order recorded");
    }
}

/// Kills the program after ever other times, from before it has begun to after it is done.
#[test]
fn a_program_that_is_killed_loses_nothing_recorded() {
    let here = planned_term();
    let begun = Instant::now();
    assert!(start(here.path(), "undisturbed").wait().unwrap().success());
    let whole = begun.elapsed();
    let mut safe = vec!["undisturbed".to_owned()];
    let mut killed = 0;
    for round in 0..300_u32 {
        let text = format!("round {round}");
        let mut child = start(here.path(), &text);
        thread::sleep(whole.mul_f64(f64::from(round * 7919 % 1000) / 700.0));
        let _ = child.kill();
        let done = child.wait().unwrap().success();
        killed += usize::from(!done);
        if done {
            safe.push(text);
        }
        if round % 10 == 9 {
            let found = notes(here.path());
            assert!(safe.iter().all(|text| found.contains(text)), "{safe:?} are not all in {found:?}");
        }
    }
    assert!(killed > 10, "the program was too quick to be killed");
    let mut after = sowtide(&["record", "note", "still works", "--day", "2026-10-08"]);
    after.env("SOWTIDE_TODAY", "2026-10-08").current_dir(here.path()).assert().success();
    assert_eq!(notes(here.path()).last().map(String::as_str), Some("still works"));
}

/// A week of snow is one command: an entry for each class day, and a question about seedlings that nobody saw meanwhile.
#[test]
fn classes_of_many_days_are_lost_in_one_go() {
    let here = planned_term();
    let lost = |args: &[&str]| run_on("2026-09-07", here.path(), &[&["record", "class-lost"], args].concat());
    let ran = lost(&["--site", "hall", "--day", "2026-09-08", "--until", "2026-09-20"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    for day in ["Thu 10 Sep", "Mon 14 Sep", "Thu 17 Sep"] {
        assert!(ran.out.contains(day), "{}", ran.out);
    }
    let asked = ran.err.replace('\n', " ");
    let question = "From Mon 7 Sep to Mon 21 Sep seedlings at Hall; north, upper may be alone for 14 days; they last 4. Without a \
                    word from you, those of b-0002 count as lost from Sat 12 Sep on.";
    assert!(asked.contains(question), "{asked}");

    // Hall has no class left to lose, but Room 4 has: only its days, and nothing stands in its nursery.
    let ran = lost(&["--all-sites", "--day", "2026-09-08", "--until", "2026-09-12"]);
    assert_eq!((ran.code, ran.out.matches("no class on this day").count()), (0, 2), "{}{}", ran.out, ran.err);
    assert!(!ran.err.contains("count as lost"), "{}", ran.err);
    let ran = lost(&["--site", "hall", "--day", "2026-09-08", "--until", "2026-09-20"]);
    assert!(ran.code == 1 && ran.err.contains("no class meets on these days"), "{}", ran.err);
    let ran = lost(&["--site", "hall", "--day", "2026-09-08", "--until", "2026-09-07"]);
    assert!(ran.code == 2 && ran.err.contains("before the first"), "{}", ran.err);
    let entries = || journal_file::read(&Disk::at(here.path())).unwrap().journal.entries().len();
    assert_eq!(entries(), 5);
}
