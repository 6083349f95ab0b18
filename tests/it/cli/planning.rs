//! Starting, checking and planning a term.

use super::{edit, json, planned_term, run, run_on, term};
use crate::support::plan_at;
use std::fs;
use std::path::Path;

#[test]
fn a_new_term_passes_the_check_and_is_never_overwritten() {
    let here = tempfile::tempdir().unwrap();
    let ran = run(here.path(), &["new", "autumn", "--start", "2026-09-07"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_eq!(ran.out.trim(), Path::new("autumn").join("term.yaml").to_str().unwrap());
    assert!(ran.err.contains("sowtide check autumn"), "{}", ran.err);
    let ran = run(here.path(), &["check", "autumn"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let file = here.path().join("autumn/term.yaml");
    fs::write(&file, "mine").unwrap();
    let ran = run(here.path(), &["new", "autumn", "--json"]);
    assert_eq!((ran.code, ran.err.as_str()), (1, ""));
    assert_eq!(json(&ran.out)["mistakes"].as_array().unwrap().len(), 1);
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
    assert_eq!(run(here.path(), &["new", "today"]).code, 0);
}

#[test]
fn check_tells_what_it_checked() {
    let ran = run(term().path(), &["check"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    insta::assert_snapshot!(ran.out, @r"
    Term Autumn 2026: 2 sites, 4 serving days, 2 crops. No mistakes.
    There is no plan yet. Make one with: sowtide plan
    ");
    let ran = run(planned_term().path(), &["check"]);
    assert_eq!(ran.code, 0, "{}", ran.out);
    assert!(ran.out.ends_with("Plan, revision 3: 3 batches. Everything fits.\n"), "{}", ran.out);
}

#[test]
fn check_tells_what_is_wrong_in_an_edited_plan() {
    let here = planned_term();
    edit(&here.path().join("plan.yaml"), "2026-10-22", "2026-10-20");
    let ran = run(here.path(), &["check"]);
    assert_eq!(ran.code, 1);
    assert!(ran.out.contains("b-0002") && ran.out.contains("20 Oct 2026"), "{}", ran.out);
    let ran = run(here.path(), &["check", "--json"]);
    assert_eq!(ran.code, 1);
    let answer = json(&ran.out);
    assert_eq!((&answer["format"], &answer["sound"]), (&1.into(), &false.into()));
    assert!(!answer["findings"].as_array().unwrap().is_empty());
}

#[test]
fn odds_are_told_of_the_days_to_come() {
    let here = planned_term();
    let ran = run_on("2026-09-01", here.path(), &["odds", "--runs", "200"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    insta::assert_snapshot!(ran.out.lines().take(2).collect::<Vec<_>>().join("\n"), @r"
    How sure the plan is: the term played 200 times
    Serving     Target  Planned  On average  8 terms in 10   Reached  4/5 of it
    ");
    let served = |today: &str| {
        let ran = run_on(today, here.path(), &["odds", "--runs", "200", "--json"]);
        json(&ran.out)["servings"].as_array().unwrap().len()
    };
    assert_eq!((served("2026-09-01"), served("2026-10-20")), (4, 2));
    let ran = run(here.path(), &["odds", "--runs", "3"]);
    assert_eq!((ran.code, ran.err.contains("100")), (2, true), "{}", ran.err);
    let ran = run(term().path(), &["odds"]);
    assert_eq!((ran.code, ran.err.contains("sowtide plan")), (1, true), "{}", ran.err);
}

#[test]
fn a_rhythm_that_a_plan_lacks_is_told_once_for_each_crop() {
    let here = tempfile::tempdir().unwrap();
    let file = here.path().join("term.yaml");
    fs::copy(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/one-room/term.yaml"), &file).unwrap();
    assert_eq!(run(here.path(), &["plan", "--effort", "5"]).code, 0);
    edit(&file, "\nrules:\n", "\nrules:\n  rhythm: steady\n");
    let ran = run(here.path(), &["check", "--json"]);
    let findings = json(&ran.out)["findings"].clone();
    let found = findings.as_array().unwrap().iter().map(|finding| finding.as_str().unwrap());
    let of_pak_choi = found.filter(|finding| finding.to_lowercase().contains("pak choi")).count();
    assert_eq!(of_pak_choi, 1, "{findings:?}");
    let ran = run(here.path(), &["check"]);
    assert_eq!((ran.code, ran.err.trim()), (1, "To plan the term anew: sowtide plan"));
    assert!(ran.out.contains("more of pak-choi here)"), "{}", ran.out);
    let ran = run(here.path(), &["plan", "--effort", "5"]);
    assert!(ran.out.contains("\nSowings in a steady rhythm, every week\n"), "{}", ran.out);
    let ran = run(here.path(), &["check"]);
    assert_eq!(ran.code, 0, "{}", ran.out);
}

#[test]
fn mistakes_in_files_are_placed_in_words_and_in_json() {
    let here = term();
    edit(&here.path().join("term.yaml"), "oakleaf]", "oakleef]");
    edit(&here.path().join("term.yaml"), "spacing: 15 cm", "spacing: 15");
    let ran = run(here.path(), &["check"]);
    assert_eq!((ran.code, ran.out.as_str()), (1, ""));
    assert!(ran.err.contains("term.yaml:") && ran.err.contains("oakleef"), "{}", ran.err);
    let ran = run(here.path(), &["--json", "check"]);
    assert_eq!((ran.code, ran.err.as_str()), (1, ""));
    let mistakes = json(&ran.out)["mistakes"].clone();
    let mistakes = mistakes.as_array().unwrap();
    assert!(mistakes.len() >= 3, "{mistakes:?}");
    assert!(mistakes.iter().all(|mistake| mistake["line"].is_u64() && mistake["column"].is_u64()));
}

#[test]
fn plan_makes_a_sound_plan_and_keeps_it_when_nothing_changes() {
    let here = term();
    let file = here.path().join("plan.yaml");
    let args = ["plan", "--effort", "5", "--seed", "7"];
    let ran = run(here.path(), &args);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("Target 2.08 kg on 4 serving days"), "{}", ran.out);
    assert!(ran.err.contains("plan.yaml, revision 1"), "{}", ran.err);
    assert_eq!(run(here.path(), &["check"]).code, 0);
    let first = plan_at(&file);
    assert!(first.term_id.len() == 16 && !first.batches.is_empty());

    // The same again: the calendars people have must not change.
    assert_eq!(run(here.path(), &args).code, 0);
    let second = plan_at(&file);
    assert_eq!(first.batches, second.batches);
    assert_eq!((first.revision, first.made), (second.revision, second.made));

    edit(&here.path().join("term.yaml"), "2026-10-09: 480 g", "2026-10-09: 300 g");
    let ran = run(here.path(), &[&args[..], &["--quiet", "--json"]].concat());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let third = plan_at(&file);
    assert_eq!((&third.term_id, third.revision), (&first.term_id, 2));
    assert_eq!(json(&ran.out)["revision"], 2);
}

#[test]
fn sowings_before_today_are_told() {
    let args = ["plan", "--effort", "5", "--seed", "7"];
    let told = |today: &str| run_on(today, term().path(), &args).err;
    let late = told("2026-11-01");
    assert!(late.contains("should have been made before today") && late.contains("start: in the"), "{late}");
    assert!(!told("2026-08-01").contains("before today"));
}

#[test]
fn a_search_that_runs_out_of_time_still_gives_a_plan() {
    let here = term();
    let ran = run(here.path(), &["plan", "--effort", "10000000", "--time-limit", "1"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("The search was ended early"), "{}", ran.out);
    assert_eq!(run(here.path(), &["check"]).code, 0);
}

#[cfg(unix)]
#[test]
fn ctrl_c_ends_the_search_with_the_best_plan_so_far() {
    let here = term();
    let mut planning = std::process::Command::new(env!("CARGO_BIN_EXE_sowtide"))
        .args(["plan", "--quiet", "--effort", "10000000", "--time-limit", "600"])
        .current_dir(here.path())
        .stdout(std::process::Stdio::null())
        .spawn()
        .unwrap();
    std::thread::sleep(std::time::Duration::from_secs(2));
    rustix::process::kill_process(rustix::process::Pid::from_child(&planning), rustix::process::Signal::INT)
        .unwrap();
    assert_eq!(planning.wait().unwrap().code(), Some(0));
    assert!(plan_at(here.path().join("plan.yaml")).facts.stopped);
}

#[test]
fn the_points_a_plan_is_judged_by_are_printed_on_request() {
    let here = term();
    let ran = run(here.path(), &["plan", "--effort", "1", "--show-weights"]);
    assert!(ran.out.contains("each batch sown"), "{}", ran.out);
}

#[test]
fn the_model_can_be_exported_without_planning() {
    let here = term();
    let ran = run(here.path(), &["plan", "--export-model", "term.mps"]);
    assert_eq!((ran.code, ran.out.as_str()), (0, "term.mps\n"));
    assert!(ran.err.contains("no plan was made"), "{}", ran.err);
    let model = fs::read_to_string(here.path().join("term.mps")).unwrap();
    assert!(model.contains("ROWS") && model.trim_end().ends_with("ENDATA"));
    assert!(!here.path().join("plan.yaml").exists());
}

#[test]
fn a_broken_plan_file_is_told_and_left_alone() {
    let here = planned_term();
    let file = here.path().join("plan.yaml");
    edit(&file, "revision: 3", "revision: three");
    let before = fs::read(&file).unwrap();
    for command in ["plan", "check", "week"] {
        let ran = run(here.path(), &[command]);
        assert_eq!((ran.code, ran.out.as_str()), (1, ""), "{command}");
        assert!(ran.err.contains("plan.yaml:"), "{}", ran.err);
    }
    assert_eq!(before, fs::read(&file).unwrap());
}

#[test]
fn a_promise_asked_for_holds_until_the_term_is_planned_anew() {
    let here = term();
    let plan = |options: &[&str]| {
        let ran = run(here.path(), &[&["plan", "--effort", "30"], options].concat());
        assert_eq!(ran.code, 0, "{}", ran.err);
        plan_at(here.path().join("plan.yaml")).sure
    };
    assert_eq!(plan(&[]), None);
    assert_eq!(plan(&["--sure", "90%"]), Some(0.9));
    assert_eq!(run(here.path(), &["check"]).code, 0);
    assert_eq!(plan(&["--seed", "2"]), None);
    for wrong in ["90", "30%", "100%", "very", ""] {
        let ran = run(here.path(), &["plan", "--sure", wrong]);
        assert_eq!(ran.code, 2, "{wrong}");
        assert!(ran.err.contains("write a share such as 90%, from 50% to 95%, or no"), "{}", ran.err);
    }
    edit(&here.path().join("plan.yaml"), "facts:", "sure: 0.3\nfacts:");
    let ran = run(here.path(), &["check"]);
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("a chance from 0.5 to 0.95, or 0"), "{}{}", ran.out, ran.err);
}

#[test]
fn how_much_every_day_could_get_is_told_and_nothing_saved() {
    let here = term();
    let ran = run(here.path(), &["plan", "--most", "--effort", "20"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.out.contains("ready to eat") && ran.out.contains("under target: in the term file"),
        "{}",
        ran.out
    );
    assert!(!here.path().join("plan.yaml").exists());
    let ran = run(here.path(), &["plan", "--most", "--effort", "20", "--sure", "80%", "--json"]);
    let answer = json(&ran.out);
    assert_eq!((ran.code, &answer["promised"], &answer["plans"]), (0, &0.8.into(), &6.into()), "{}", ran.out);
    assert!(answer["each_day_g"].as_f64().unwrap() >= 0.0);
    assert_eq!(run(here.path(), &["plan", "--most", "--why", "who knows"]).code, 2);
}

#[test]
fn what_one_thing_more_would_bring_is_told_and_nothing_saved() {
    let here = term();
    let ran = run(here.path(), &["whatif", "--effort", "2"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("the term as it is") && ran.out.contains("Nothing was saved"), "{}", ran.out);
    assert!(!here.path().join("plan.yaml").exists());
    let answer = json(&run(here.path(), &["whatif", "--effort", "2", "--json"]).out);
    assert!(!answer["tried"].as_array().unwrap().is_empty(), "{answer}");
    assert_eq!(run(here.path(), &["whatif", "--sure", "80%"]).code, 2);
    assert_eq!(run(here.path(), &["whatif", "nowhere"]).code, 1);
}

#[test]
fn days_are_explained_if_they_are_serving_days() {
    let here = term();
    assert_eq!(run(here.path(), &["explain"]).code, 1, "there is no plan yet");
    assert_eq!(run(here.path(), &["plan", "--effort", "20"]).code, 0);
    assert_eq!(run(here.path(), &["explain"]).code, 0);
    let ran = run(here.path(), &["explain", "--day", "2020-01-01"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("is no serving day") && ran.err.contains("the nearest one is"), "{}", ran.err);
    let nearest = ran.err.split("the nearest one is ").nth(1).and_then(|rest| rest.get(..10)).unwrap();
    let answer = json(&run(here.path(), &["explain", "--day", nearest, "--json"]).out);
    assert_eq!(answer["days"][0]["date"], nearest);
    let answer = json(&run(here.path(), &["explain", "--week", nearest, "--json"]).out);
    assert_eq!(answer["days"][0]["date"], nearest);
    let ran = run(here.path(), &["explain", "--week", "2020-01-01"]);
    assert!(ran.code == 2 && ran.err.contains("is outside the term"), "{}", ran.err);
    let answer = json(&run(here.path(), &["explain", "--batch", "b001", "--json"]).out);
    assert_eq!(answer["batch"], "b001");
    let ran = run(here.path(), &["explain", "--batch", "b0001"]);
    assert!(ran.code == 2 && ran.err.contains("did you mean"), "{}", ran.err);
    assert_eq!(run(here.path(), &["explain", "--batch", "b001", "--day", nearest]).code, 2);
}
