//! The commands as people type them: results, remarks, complaints and exit codes.

use crate::sample::{folder, plan};
use assert_cmd::Command;
use sowtide::files::plan_file;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

fn sowtide(args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_sowtide"));
    command.args(args);
    command
}

/// What a command printed, and its exit code.
struct Ran {
    code: i32,
    out: String,
    err: String,
}

fn run(folder: &Path, args: &[&str]) -> Ran {
    let output = sowtide(args).current_dir(folder).output().unwrap();
    Ran {
        code: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

/// A copy of the sample term, without a plan.
fn term() -> TempDir {
    let copy = tempfile::tempdir().unwrap();
    fs::create_dir(copy.path().join("crops")).unwrap();
    for name in ["term.yaml", "crops/oakleaf.yaml", "crops/leaf-mustard.yaml"] {
        fs::copy(folder().join(name), copy.path().join(name)).unwrap();
    }
    copy
}

/// A copy of the sample term with its plan.
fn planned_term() -> TempDir {
    let copy = term();
    plan_file::write(&copy.path().join("plan.yaml"), &plan()).unwrap();
    copy
}

/// Changes one piece of a file.
fn edit(path: &Path, from: &str, to: &str) {
    let text = fs::read_to_string(path).unwrap();
    assert!(text.contains(from), "{from:?} is not in {}", path.display());
    fs::write(path, text.replace(from, to)).unwrap();
}

fn json(text: &str) -> serde_json::Value {
    serde_json::from_str(text).unwrap()
}

#[test]
fn every_command_has_help_with_an_example() {
    let here = tempfile::tempdir().unwrap();
    for command in [
        &["new"][..],
        &["check"],
        &["plan"],
        &["show"],
        &["week"],
        &["calendar"],
        &["crops", "list"],
        &["crops", "show"],
        &["completions"],
    ] {
        let ran = run(here.path(), &[command, &["--help"]].concat());
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        assert!(
            ran.out.contains("Example") && ran.out.contains("sowtide "),
            "{}",
            ran.out
        );
    }
}

#[test]
fn wrong_usage_ends_with_2() {
    let here = planned_term();
    for args in [
        &[][..],
        &["new"],
        &["new", "autumn", "--start", "soon"],
        &["crops"],
        &["crops", "show"],
        &["crops", "show", "oakleef"],
        &["crops", "list", "--term", "no-such-folder"],
        &["week", "--of", "yesterday"],
        &["week", "--of", "2026-02-30"],
        &["show", "--batch", "b-9"],
        &["completions", "no-shell"],
        &["plan", "--time-limit", "0"],
        &["plan", "--effort", "many"],
        &["check", "one", "two"],
        &["--units", "stone", "check"],
    ] {
        let ran = run(here.path(), args);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{args:?}: {}", ran.err);
        assert!(!ran.err.is_empty(), "{args:?}");
    }
    assert!(
        run(here.path(), &["crops", "show", "oakleef"])
            .err
            .contains("did you mean \"oakleaf\"?")
    );
}

#[test]
fn a_new_term_passes_the_check_and_is_never_overwritten() {
    let here = tempfile::tempdir().unwrap();
    let ran = run(here.path(), &["new", "autumn", "--start", "2026-09-07"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_eq!(
        ran.out.trim(),
        Path::new("autumn").join("term.yaml").to_str().unwrap()
    );
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
fn a_folder_without_a_term_is_told() {
    let here = tempfile::tempdir().unwrap();
    for command in ["check", "show", "week", "calendar"] {
        let ran = run(here.path(), &[command]);
        assert_eq!((ran.code, ran.out.as_str()), (1, ""), "{command}");
        assert!(ran.err.contains("there is no term here"), "{}", ran.err);
    }
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
    assert!(
        ran.out
            .ends_with("Plan, revision 3: 3 batches. Everything fits.\n"),
        "{}",
        ran.out
    );
}

#[test]
fn check_tells_what_is_wrong_in_an_edited_plan() {
    let here = planned_term();
    edit(&here.path().join("plan.yaml"), "2026-10-22", "2026-10-20");
    let ran = run(here.path(), &["check"]);
    assert_eq!(ran.code, 1);
    assert!(
        ran.out.contains("b-0002") && ran.out.contains("20 Oct 2026"),
        "{}",
        ran.out
    );
    let ran = run(here.path(), &["check", "--json"]);
    assert_eq!(ran.code, 1);
    let answer = json(&ran.out);
    assert_eq!((&answer["format"], &answer["sound"]), (&1.into(), &false.into()));
    assert!(!answer["findings"].as_array().unwrap().is_empty());
}

#[test]
fn mistakes_in_files_are_placed_in_words_and_in_json() {
    let here = term();
    edit(&here.path().join("term.yaml"), "oakleaf]", "oakleef]");
    edit(&here.path().join("term.yaml"), "spacing: 15 cm", "spacing: 15");
    let ran = run(here.path(), &["check"]);
    assert_eq!((ran.code, ran.out.as_str()), (1, ""));
    assert!(
        ran.err.contains("term.yaml:") && ran.err.contains("oakleef"),
        "{}",
        ran.err
    );
    let ran = run(here.path(), &["--json", "check"]);
    assert_eq!((ran.code, ran.err.as_str()), (1, ""));
    let mistakes = json(&ran.out)["mistakes"].clone();
    let mistakes = mistakes.as_array().unwrap();
    assert!(mistakes.len() >= 3, "{mistakes:?}");
    assert!(
        mistakes
            .iter()
            .all(|mistake| mistake["line"].is_u64() && mistake["column"].is_u64())
    );
}

#[test]
fn plan_makes_a_sound_plan_and_keeps_it_when_nothing_changes() {
    let here = term();
    let file = here.path().join("plan.yaml");
    let args = ["plan", "--effort", "5", "--seed", "7"];
    let ran = run(here.path(), &args);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.out.contains("Target 2.08 kg on 4 serving days"),
        "{}",
        ran.out
    );
    assert!(ran.err.contains("plan.yaml, revision 1"), "{}", ran.err);
    assert_eq!(run(here.path(), &["check"]).code, 0);
    let first = plan_file::read(&file).unwrap();
    assert!(first.term_id.len() == 16 && !first.batches.is_empty());

    // The same again: the calendars people have must not change.
    assert_eq!(run(here.path(), &args).code, 0);
    let second = plan_file::read(&file).unwrap();
    assert_eq!(first.batches, second.batches);
    assert_eq!((first.revision, first.made), (second.revision, second.made));

    edit(
        &here.path().join("term.yaml"),
        "2026-10-09: 480 g",
        "2026-10-09: 300 g",
    );
    let ran = run(here.path(), &[&args[..], &["--quiet", "--json"]].concat());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let third = plan_file::read(&file).unwrap();
    assert_eq!((&third.term_id, third.revision), (&first.term_id, 2));
    assert_eq!(json(&ran.out)["revision"], 2);
}

#[test]
fn a_search_that_runs_out_of_time_still_gives_a_plan() {
    let here = term();
    let ran = run(
        here.path(),
        &["plan", "--effort", "10000000", "--time-limit", "1"],
    );
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
    let id = planning.id().to_string();
    let sent = std::process::Command::new("kill")
        .args(["-INT", &id])
        .status()
        .unwrap();
    assert!(sent.success());
    assert_eq!(planning.wait().unwrap().code(), Some(0));
    assert!(
        plan_file::read(&here.path().join("plan.yaml"))
            .unwrap()
            .facts
            .stopped
    );
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
fn commands_that_need_a_plan_say_so() {
    let here = term();
    for command in ["show", "week", "calendar"] {
        let ran = run(here.path(), &[command]);
        assert_eq!((ran.code, ran.out.as_str()), (1, ""), "{command}");
        assert!(ran.err.contains("sowtide plan"), "{}", ran.err);
    }
    assert!(!here.path().join("out").exists());
}

#[test]
fn show_tells_the_term_the_batches_and_how_good_the_plan_is() {
    let here = planned_term();
    let ran = run(here.path(), &["show"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    for part in ["W38", "Why days are short", "b-0003", "No plan for this term"] {
        assert!(ran.out.contains(part), "{part} in {}", ran.out);
    }
    let ran = run(here.path(), &["show", "--batch", "b-0002", "--units", "us"]);
    assert!(ran.out.contains(" oz") && !ran.out.contains(" g "), "{}", ran.out);
    assert_eq!(
        json(&run(here.path(), &["show", "--json"]).out)["batches"][1]["id"],
        "b-0002"
    );
    let one = json(&run(here.path(), &["show", "--json", "--batch", "b-0002"]).out);
    assert_eq!((&one["format"], &one["id"]), (&1.into(), &"b-0002".into()));
}

#[test]
fn week_lists_the_week_of_a_day() {
    let here = planned_term();
    let ran = run(here.path(), &["week", "--of", "2026-10-08"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(
        ran.out.contains("cut 1 of 2") && ran.out.contains("transplant"),
        "{}",
        ran.out
    );
    let ran = run(here.path(), &["week", "--of", "2020-01-01"]);
    assert!(
        ran.err.contains("outside the term") && ran.code == 0,
        "{}",
        ran.err
    );
    let ran = run(here.path(), &["week", "--of", "2020-01-01", "--quiet", "--json"]);
    assert_eq!(
        (json(&ran.out)["week"].as_str(), ran.err.as_str()),
        (Some("2020-W01"), "")
    );
    assert_eq!(run(here.path(), &["week"]).code, 0);
}

#[test]
fn calendars_go_to_the_out_folder_and_stay_the_same() {
    let here = planned_term();
    let path = here.path().to_str().unwrap();
    let elsewhere = tempfile::tempdir().unwrap();
    let ran = run(elsewhere.path(), &["calendar", path]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let files: Vec<&str> = ran.out.lines().collect();
    assert_eq!(files.len(), 3);
    let read = || {
        files
            .iter()
            .map(|file| fs::read(file).unwrap())
            .collect::<Vec<_>>()
    };
    let first = read();
    assert!(first.iter().all(|file| file.starts_with(b"BEGIN:VCALENDAR\r\n")));
    assert_eq!(run(here.path(), &["calendar", "--json"]).code, 0);
    assert_eq!(first, read());
}

#[test]
fn a_plan_that_no_longer_fits_its_term_is_remarked() {
    let here = planned_term();
    edit(
        &here.path().join("term.yaml"),
        "[Monday, Thursday]",
        "[Monday, Friday]",
    );
    let ran = run(here.path(), &["week", "--of", "2026-10-08"]);
    assert_eq!(ran.code, 0);
    assert!(ran.err.contains("no longer fit"), "{}", ran.err);
}

#[test]
fn crops_are_listed_and_own_crops_lie_over_the_library() {
    let (here, elsewhere) = (term(), tempfile::tempdir().unwrap());
    let names = |ran: &Ran| -> Vec<String> {
        let crops = json(&ran.out)["crops"].clone();
        let crops = crops.as_array().unwrap();
        crops
            .iter()
            .map(|crop| crop["id"].as_str().unwrap().to_owned())
            .collect()
    };
    let built_in = names(&run(elsewhere.path(), &["crops", "list", "--json"]));
    assert!(!built_in.contains(&"leaf-mustard".to_owned()));
    let own = run(here.path(), &["crops", "list", "--json"]);
    assert_eq!(names(&own).len(), built_in.len() + 1);
    let path = here.path().to_str().unwrap();
    let shown = run(elsewhere.path(), &["crops", "show", "oakleaf", "--term", path]);
    assert!(shown.out.contains("bulletin 12"), "{}", shown.out);
    let shown = run(elsewhere.path(), &["crops", "show", "oakleaf"]);
    assert!(
        shown.code == 0 && !shown.out.contains("bulletin 12"),
        "{}",
        shown.out
    );
    assert!(run(elsewhere.path(), &["crops", "list"]).out.contains("oakleaf"));
}

#[test]
fn colour_comes_only_when_wanted() {
    let here = planned_term();
    assert!(!run(here.path(), &["show"]).out.contains('\u{1b}'));
    assert!(
        run(here.path(), &["show", "--color", "always"])
            .out
            .contains('\u{1b}')
    );
    edit(&here.path().join("term.yaml"), "kinds: 1", "kinds: none");
    assert!(
        !run(here.path(), &["check", "--color", "never"])
            .err
            .contains('\u{1b}')
    );
    assert!(
        run(here.path(), &["check", "--color", "always"])
            .err
            .contains('\u{1b}')
    );
}

#[test]
fn completions_for_every_common_shell() {
    let here = tempfile::tempdir().unwrap();
    for shell in ["bash", "zsh", "fish", "powershell"] {
        let ran = run(here.path(), &["completions", shell]);
        assert!(ran.code == 0 && ran.out.contains("calendar"), "{shell}");
    }
}

/// `sowtide completions bash | head` must not end with a panic.
#[cfg(unix)]
#[test]
fn nobody_reading_on_is_a_normal_end() {
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_sowtide"))
        .args(["completions", "bash"])
        .stdout(writer)
        .output()
        .unwrap();
    assert_eq!(
        (output.status.code(), output.stderr.as_slice()),
        (Some(0), &b""[..])
    );
}
