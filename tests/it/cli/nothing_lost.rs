//! What was saved or recorded is neither lost nor misread, whatever becomes of the files.

use super::{Ran, edit, planned_term, run, run_on, term};
use crate::support::{kept_numbers, plan_at, write_plan};
use std::fs;
use std::path::Path;

const TODAY: &str = "2026-09-28";
const LOST: [&str; 9] =
    ["record", "lost", "--batch", "b-0003", "--in", "nursery", "--all", "--cause", "dried out"];

fn on(folder: &Path, args: &[&str]) -> Ran {
    run_on(TODAY, folder, args)
}

fn done(folder: &Path, args: &[&str]) -> Ran {
    let ran = on(folder, args);
    assert_eq!(ran.code, 0, "{args:?}: {}", ran.err);
    ran
}

/// A term whose plan takes a loss into account, and which has lost its journal since.
fn without_its_journal() -> tempfile::TempDir {
    let here = planned_term();
    done(here.path(), &LOST);
    done(here.path(), &["replan", "--effort", "5"]);
    fs::remove_file(here.path().join("journal.yaml")).unwrap();
    here
}

#[test]
fn every_command_says_that_the_journal_has_lost_entries() {
    let here = without_its_journal();
    for args in [
        &["status"][..],
        &["today"],
        &["week"],
        &["show"],
        &["journal"],
        &["calendar"],
        &["sheets"],
        &["report"],
        &["replan", "--try", "--effort", "5"],
        &["record", "note", "Lamp replaced"],
    ] {
        let ran = done(here.path(), args);
        assert!(ran.err.contains("has lost j001"), "{args:?}: {}", ran.err);
        assert!(ran.err.contains("sowtide journal --let-go"), "{args:?}: {}", ran.err);
    }
    let ran = on(here.path(), &["check"]);
    assert_eq!(ran.code, 1);
    assert!(
        ran.out.contains("the plan takes j001 into account, which the journal does not have"),
        "{}",
        ran.out
    );
    let ran = done(here.path(), &["journal", "--let-go"]);
    assert!(ran.err.contains("j001: let go"), "{}", ran.err);
    done(here.path(), &["check"]);
    assert!(!done(here.path(), &["status"]).err.contains("j001"));
}

#[test]
fn a_journal_that_was_cut_short_swallows_no_new_entry() {
    let here = without_its_journal();
    let folder = here.path();
    let lost = ["record", "lost", "--batch", "b-0002", "--in", "blue", "--plants", "2", "--cause", "mould"];
    let ran = done(folder, &lost);
    assert!(ran.out.contains("j002"), "no number comes back: {}", ran.out);
    assert!(ran.err.contains("sowtide replan"), "{}", ran.err);
    assert!(done(folder, &["replan", "--effort", "5"]).out.contains("b-0002"));
    assert_eq!(plan_at(folder.join("plan.yaml")).reason, "after 1 loss");
    // The new plan takes the journal as it is; what was carried over from the lost entry stays. The entry is missed until
    // somebody lets it go.
    assert!(done(folder, &["status"]).err.contains("has lost j001"));
    done(folder, &["journal", "--let-go"]);
    assert!(!done(folder, &["status"]).err.contains("has lost"));
    assert!(plan_at(folder.join("plan.yaml")).batches.iter().any(|batch| batch.id.as_str() == "b-0003"));
}

#[test]
fn an_entry_of_another_copy_is_news_until_somebody_says_otherwise() {
    let here = planned_term();
    let folder = here.path();
    done(folder, &LOST);
    done(folder, &["replan", "--effort", "5"]);
    edit(&folder.join("journal.yaml"), "dried out", "dried up");
    let ran = done(folder, &["status"]);
    assert!(ran.err.contains("something else in j001"), "{}", ran.err);
    let ran = on(folder, &["check"]);
    assert_eq!(ran.code, 1);
    assert!(
        ran.out.contains("the plan takes j001 into account, but the journal says something else"),
        "{}",
        ran.out
    );
    let ran = done(folder, &["journal", "--let-go"]);
    assert!(ran.err.contains("nothing to do") && ran.err.contains("something else in j001"), "{}", ran.err);
    let ran = done(folder, &["journal", "--reworded"]);
    assert!(ran.err.contains("j001: taken for what the plan knew"), "{}", ran.err);
    assert!(!done(folder, &["status"]).err.contains("j001"));
    done(folder, &["check"]);
    let ran = done(folder, &["replan", "--effort", "5"]);
    assert!(ran.err.contains("It stays as it is"), "{}", ran.err);
}

#[test]
fn a_lost_plan_is_taken_back_with_one_command() {
    for cut in [false, true] {
        let here = term();
        let (folder, file) = (here.path(), here.path().join("plan.yaml"));
        done(folder, &["plan", "--effort", "1"]);
        let saved = fs::read(&file).unwrap();
        if cut {
            fs::write(&file, &saved[..saved.len() / 2]).unwrap();
        } else {
            fs::remove_file(&file).unwrap();
        }
        for command in
            ["plan", "replan", "check", "status", "today", "week", "show", "calendar", "sheets", "report"]
        {
            let ran = on(folder, &[command]);
            assert_eq!(ran.code, 1, "{command}: {}", ran.err);
            assert!(ran.err.contains("sowtide plan --back-to 1"), "{command}: {}", ran.err);
        }
        assert_eq!(file.exists(), cut, "nothing was made anew");
        done(folder, &["plan", "--back-to", "1"]);
        assert_eq!(fs::read(&file).unwrap(), saved);
        assert_eq!(
            folder.join("plans/plan-unreadable-1.yaml").exists(),
            cut,
            "what could not be read is kept"
        );
        done(folder, &["check"]);
    }
}

#[test]
fn where_every_kept_plan_is_damaged_the_way_out_leads_on() {
    let here = term();
    let (folder, file) = (here.path(), here.path().join("plan.yaml"));
    done(folder, &["plan", "--effort", "1"]);
    done(folder, &["record", "note", "Lamp replaced"]);
    fs::remove_file(&file).unwrap();
    fs::write(folder.join("plans/plan-0001.yaml"), "format: [1").unwrap();
    for command in ["plan", "replan", "check", "status", "today", "show"] {
        let ran = on(folder, &[command]);
        assert_eq!(ran.code, 1, "{command}: {}", ran.err);
        assert!(ran.err.contains("no plan that is kept can be read"), "{command}: {}", ran.err);
        assert!(ran.err.contains("plan-0001.yaml:1:9"), "{command}: {}", ran.err);
        let way = "move journal.yaml and the folder plans out of the folder, then: sowtide plan;";
        assert!(ran.err.contains(way), "{command}: {}", ran.err);
    }
    let away = tempfile::tempdir().unwrap();
    for name in ["journal.yaml", "plans"] {
        fs::rename(folder.join(name), away.path().join(name)).unwrap();
    }
    done(folder, &["plan", "--effort", "1"]);
    let ran = done(folder, &["check"]);
    assert!(ran.out.contains("Everything fits") && ran.err.is_empty(), "{}{}", ran.out, ran.err);
}

#[test]
fn an_old_copy_of_the_plan_is_noticed() {
    let here = term();
    let (folder, file) = (here.path(), here.path().join("plan.yaml"));
    done(folder, &["plan", "--effort", "1"]);
    let (first, number) = (fs::read(&file).unwrap(), plan_at(&file).last_number);
    edit(&folder.join("term.yaml"), "2026-10-09: 480 g", "2026-10-09: 300 g");
    done(folder, &["plan", "--effort", "1"]);
    let second = fs::read(&file).unwrap();
    fs::write(&file, &first).unwrap();
    let ran = on(folder, &["status"]);
    assert!(ran.err.contains("holds plan 1, but plan 2 was made since"), "{}", ran.err);
    done(folder, &["plan", "--back-to", "2"]);
    assert_eq!(fs::read(&file).unwrap(), second);
    assert!(!on(folder, &["status"]).err.contains("was made since"));
    // Going on with the old one makes it a new plan, and ids given since do not come back.
    fs::write(&file, &first).unwrap();
    edit(&folder.join("term.yaml"), "2026-10-09: 300 g", "2026-10-09: 480 g");
    done(folder, &["plan", "--back-to", "1"]);
    assert_eq!(plan_at(&file).revision, 3);
    assert!(plan_at(&file).last_number >= number);
    assert!(!on(folder, &["status"]).err.contains("was made since"));
}

#[test]
fn called_off_events_stay_called_off_when_an_old_calendar_file_comes_back() {
    let here = planned_term();
    let (folder, memory) = (here.path(), here.path().join("calendar.yaml"));
    let today = "2026-09-01";
    let calendar = |args: &[&str]| {
        let ran = run_on(today, folder, args);
        assert_eq!(ran.code, 0, "{}", ran.err);
        fs::read_to_string(folder.join("out/all-sites.ics")).unwrap()
    };
    calendar(&["calendar"]);
    let old = fs::read(&memory).unwrap();
    let mut plan = plan_at(folder.join("plan.yaml"));
    plan.batches.remove(2);
    write_plan(folder.join("plan.yaml"), &plan);
    let told = calendar(&["calendar"]);
    assert!(told.contains("STATUS:CANCELLED"), "{told}");
    fs::write(&memory, &old).unwrap();
    assert_eq!(calendar(&["calendar"]), told);
    fs::remove_file(&memory).unwrap();
    assert_eq!(calendar(&["calendar"]), told);
    // Cut short, it is taken from its copy, and the copy from it; only if both are damaged nothing can be done.
    let copy = folder.join("plans/calendar.yaml");
    for damaged in [&memory, &copy] {
        fs::write(damaged, "format: 1\nevents: [").unwrap();
        assert_eq!(calendar(&["calendar"]), told);
        assert_eq!(fs::read(&memory).unwrap(), fs::read(&copy).unwrap());
    }
    fs::remove_file(&memory).unwrap();
    fs::write(&copy, "format: 1\nevents: [").unwrap();
    assert_eq!(run_on(today, folder, &["calendar"]).code, 1);
    fs::write(&memory, "format: 1\nevents: [").unwrap();
    let ran = run_on(today, folder, &["calendar"]);
    for told in ["neither in calendar.yaml nor in its copy plans/calendar.yaml", "bring back a sound copy"] {
        assert!(ran.code == 1 && ran.err.contains(told), "{}", ran.err);
    }
}

#[cfg(target_os = "linux")]
#[test]
fn what_is_recorded_but_cannot_be_printed_is_told_as_recorded() {
    let here = planned_term();
    let full = fs::File::options().write(true).open("/dev/full").unwrap();
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_sowtide"))
        .args(["record", "note", "all well"])
        .env("SOWTIDE_TODAY", "2026-09-07")
        .current_dir(here.path())
        .stdout(full)
        .output()
        .unwrap();
    let err = String::from_utf8(output.stderr).unwrap();
    assert!(err.contains("could not be printed") && err.contains("it is recorded, as j001"), "{err}");
    assert!(here.path().join("journal.yaml").exists());
}

#[test]
fn a_first_plan_knows_what_was_recorded_before_it() {
    let here = term();
    let folder = here.path();
    done(folder, &["plan", "--effort", "1"]);
    let class_lost = ["record", "class-lost", "--site", "hall", "--day", "2026-10-08"];
    assert_eq!(run_on("2026-08-01", folder, &class_lost).code, 0);
    assert_eq!(run_on("2026-08-01", folder, &["plan", "--effort", "1"]).code, 0);
    fs::remove_file(folder.join("journal.yaml")).unwrap();
    assert!(done(folder, &["status"]).err.contains("has lost j001"));
}

#[test]
fn a_plan_changed_by_hand_is_not_replaced_without_a_word() {
    let here = term();
    let (folder, file) = (here.path(), here.path().join("plan.yaml"));
    done(folder, &["plan", "--effort", "1"]);
    let plugs = plan_at(&file).batches.iter().find(|batch| !batch.is_standing()).unwrap().plugs;
    edit(&file, &format!("plugs: {plugs}\n"), &format!("plugs: {}\n", plugs + 1));
    done(folder, &["check"]);
    let by_hand = plan_at(&file).batches;
    edit(&folder.join("term.yaml"), "2026-10-09: 480 g", "2026-10-09: 200 g");
    let ran = done(folder, &["plan", "--effort", "1"]);
    assert!(ran.err.contains("changed by hand; it is kept as plan 2"), "{}", ran.err);
    assert!(ran.err.contains("sowtide plan --back-to 2"), "{}", ran.err);
    edit(&folder.join("term.yaml"), "2026-10-09: 200 g", "2026-10-09: 480 g");
    done(folder, &["plan", "--back-to", "2"]);
    assert_eq!(plan_at(&file).batches, by_hand);
    assert_eq!(kept_numbers(folder), [1, 2, 3, 4]);
}

#[test]
fn no_output_replaces_a_file_of_the_user() {
    let here = planned_term();
    let folder = here.path();
    fs::write(folder.join("letter.html"), "<!DOCTYPE html><p>Dear parents</p>").unwrap();
    fs::write(folder.join("harvests.txt"), "two crates").unwrap();
    let model = "--export-model";
    for args in [
        &["report", "--out", "journal.yaml"][..],
        &["report", "--out", "./term.yaml"],
        &["report", "--out", "letter.html"],
        &["report", "--out", "harvests.txt"],
        &["plan", model, "plan.yaml"],
        &["plan", model, "letter.html"],
        &["plan", model, "crops/oakleaf.yaml"],
    ] {
        let before = fs::read(folder.join(args[2])).ok();
        let ran = on(folder, args);
        assert!(ran.code == 1 || ran.code == 2, "{args:?}: {}", ran.err);
        assert_eq!(fs::read(folder.join(args[2])).ok(), before, "{args:?}");
    }
    for args in [&["report", "--out", "term.html"][..], &["plan", model, "term.mps"]] {
        done(folder, args);
        done(folder, args);
    }
}

#[cfg(unix)]
#[test]
fn a_journal_that_is_a_link_to_nothing_is_no_new_journal() {
    let here = planned_term();
    let journal = here.path().join("journal.yaml");
    std::os::unix::fs::symlink(here.path().join("elsewhere/journal.yaml"), &journal).unwrap();
    for args in [&LOST[..], &["status"]] {
        let ran = on(here.path(), args);
        assert!(ran.code == 1 && ran.err.contains("which is not there"), "{}", ran.err);
    }
    assert!(fs::symlink_metadata(&journal).unwrap().is_symlink());
}

#[test]
fn an_entry_at_another_site_than_its_batch_is_told_and_left_out() {
    let here = planned_term();
    let folder = here.path();
    done(folder, &LOST);
    edit(&folder.join("journal.yaml"), "site: room-4", "site: hall");
    let ran = run(folder, &["check"]);
    assert_eq!(ran.code, 1);
    let told = ran.out.replace('\n', " ");
    assert!(told.contains("j001 cannot be true: batch b-0003 is at room-4, not at hall"), "{told}");
    let ran = done(folder, &["replan", "--effort", "5"]);
    assert!(ran.err.contains("It stays as it is"), "{}", ran.err);
}

#[test]
fn entries_made_since_the_plan_are_missed_too_and_can_be_had_back() {
    let here = term();
    let folder = here.path();
    done(folder, &["plan", "--effort", "5"]);
    let note = |text: &str| done(folder, &["record", "note", text]);
    note("all well");
    let old = fs::read(folder.join("journal.yaml")).unwrap();
    note("snails");
    fs::write(folder.join("journal.yaml"), &old).unwrap();
    for command in [&["today"][..], &["status"], &["journal"]] {
        let told = done(folder, command).err;
        assert!(told.contains("has lost j002") && told.contains("journal.yaml: copy that file"), "{told}");
    }
    let refused = run(folder, &["plan", "--back-to", "1"]);
    assert!(refused.code == 1 && refused.err.contains("has lost j002"), "{}", refused.err);
    // What is written down meanwhile gets a new number and is in the copy, too.
    note("leaves are pale");
    fs::copy(folder.join("plans/journal.yaml"), folder.join("journal.yaml")).unwrap();
    let ran = done(folder, &["journal"]);
    assert!(!ran.err.contains("has lost"), "{}", ran.err);
    assert!(["j001", "j002", "j003"].iter().all(|id| ran.out.contains(id)), "{}", ran.out);
    // Or it is let go for good.
    fs::write(folder.join("journal.yaml"), &old).unwrap();
    done(folder, &["journal", "--let-go"]);
    assert!(!done(folder, &["today"]).err.contains("has lost"));
}
