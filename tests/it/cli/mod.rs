//! The commands as people type them: results, remarks, complaints and exit codes.

mod ahead;
mod calendars;
mod contradictions;
mod exporting;
mod haste;
mod history;
mod hostile;
mod importing;
mod importing_usual;
mod learning;
mod naming;
mod next;
mod nothing_lost;
mod planning;
mod reading;
mod recording;
mod recording_places;
mod recording_together;
mod replanning;
mod reviewing;
mod sheets;
mod supply;

use crate::sample::{folder, plan};
use crate::support::write_plan;
use assert_cmd::Command;
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

/// As [`run`], with another today.
fn run_on(today: &str, folder: &Path, args: &[&str]) -> Ran {
    let output = sowtide(args).env("SOWTIDE_TODAY", today).current_dir(folder).output().unwrap();
    Ran {
        code: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

/// What a person sees who types these commands on a day.
fn typed_on(today: &str, folder: &Path, commands: &[&[&str]]) -> String {
    let told = commands.iter().map(|args| {
        let ran = run_on(today, folder, args);
        let typed: Vec<String> = args
            .iter()
            .map(|arg| if arg.contains(' ') { format!("\"{arg}\"") } else { (*arg).to_owned() })
            .collect();
        format!("$ sowtide {}\n{}{}[{}]\n", typed.join(" "), ran.out, ran.err, ran.code)
    });
    told.collect::<Vec<_>>().join("\n")
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
    write_plan(copy.path().join("plan.yaml"), &plan());
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
        &["sheets"],
        &["calendar"],
        &["report"],
        &["crops", "list"],
        &["crops", "show"],
        &["compare"],
        &["completions"],
        &["record"],
        &["record", "sown"],
        &["record", "came-up"],
        &["record", "transplanted"],
        &["record", "lost"],
        &["record", "harvested"],
        &["record", "behind"],
        &["record", "tank-out"],
        &["record", "tank-back"],
        &["record", "class-lost"],
        &["record", "class-added"],
        &["record", "target"],
        &["record", "note"],
        &["record", "withdraw"],
        &["record", "import"],
        &["journal"],
        &["export"],
        &["today"],
        &["status"],
        &["replan"],
        &["review"],
        &["learn"],
        &["next"],
    ] {
        let ran = run(here.path(), &[command, &["--help"]].concat());
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        assert!(ran.out.contains("Example") && ran.out.contains("sowtide "), "{}", ran.out);
    }
}

#[test]
fn wrong_usage_ends_with_2() {
    let here = planned_term();
    for args in [
        &[][..],
        &["new"],
        &["new", "autumn", "--start", "soon"],
        &["next", ".", "winter"],
        &["next", ".", "winter", "--start", "2026-11-09"],
        &["next", ".", "winter", "--start", "2026-11-09", "--end", "2026-11-08"],
        &["next", ".", "winter", "--start", "2026-11-06", "--end", "2027-01-29"],
        &["next", ".", "winter", "--start", "2026-11-09", "--end", "2028-01-29"],
        &["next", ".", "winter", "--start", "2026-11-09", "--end", "2027-01-29", "--name", " "],
        &["crops"],
        &["crops", "show"],
        &["crops", "show", "oakleef"],
        &["crops", "list", "--term", "no-such-folder"],
        &["compare"],
        &["compare", "oakleef"],
        &["compare", "oakleaf", "oakleaf"],
        &["compare", "oakleaf", "basil", "rocket"],
        &["compare", "oakleaf", "--site", "hal"],
        &["week", "--of", "yesterday"],
        &["week", "--of", "2026-02-30"],
        &["show", "--batch", "b-9"],
        &["sheets", "--site", "hal"],
        &["sheets", "--kind", "lunch"],
        &["sheets", "--paper", "a5"],
        &["sheets", "--from", "2026-10-05"],
        &["sheets", "--from", "2026-10-05", "--to", "2026-10-04"],
        &["sheets", "--whole-term", "--of", "2026-10-05"],
        &["completions", "no-shell"],
        &["plan", "--time-limit", "0"],
        &["plan", "--effort", "many"],
        &["plan", "--why", " "],
        &["plan", "--history", "--why", "fun"],
        &["plan", "--back-to", "9"],
        &["show", "--since", "1"],
        &["show", "--changes", "--since", "9"],
        &["show", "--page"],
        &["review", "--paper", "letter"],
        &["check", "one", "two"],
        &["calendar", "--alarm", "early"],
        &["calendar", "--days-before", "1"],
        &["record"],
        &["record", "reaped"],
        &["record", "sown", "--batch", "b-0002"],
        &["record", "sown", "--batch", "b-0002", "--plugs", "0"],
        &["record", "harvested", "--batch", "b-0002", "--plants", "2", "--way", "cut", "--mass", "40"],
        &["record", "lost", "--batch", "b-0002", "--in", "blue", "--cause", "mould"],
        &["record", "lost", "--batch", "b-0002", "--in", "blue", "--all", "--cause", " "],
        &["record", "withdraw", "seven"],
        &["record", "class-lost"],
        &["journal", "--of", "b-9"],
        &["today", "--on", "tomorrow"],
        &["status", "--on", "2026-13-01"],
        &["--units", "stone", "check"],
    ] {
        let ran = run(here.path(), args);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{args:?}: {}", ran.err);
        assert!(!ran.err.is_empty(), "{args:?}");
    }
    for command in [&["crops", "show", "oakleef"][..], &["compare", "basil", "oakleef"]] {
        assert!(run(here.path(), command).err.contains("did you mean \"oakleaf\"?"));
    }
}

#[test]
fn crops_may_be_typed_by_name_and_in_capitals() {
    let here = term();
    for typed in ["oakleaf", "Oakleaf", "OAKLEAF "] {
        for command in [&["crops", "show"][..], &["compare"]] {
            let ran = run(here.path(), &[command, &[typed]].concat());
            assert_eq!(ran.code, 0, "{command:?} {typed}: {}", ran.err);
        }
    }
    assert!(run(here.path(), &["compare", "oakleaf", "Oakleaf"]).err.contains("named twice"));
    assert!(run(here.path(), &["crops", "show", "Leaf mustard"]).out.contains("leaf-mustard"));
}

/// Who names a folder is told commands that name it, too.
#[test]
fn advice_names_the_folder() {
    let here = tempfile::tempdir().unwrap();
    let terms = ["autumn", "next autumn"];
    for name in terms {
        fs::rename(term().keep(), here.path().join(name)).unwrap();
    }
    let ran = run(here.path(), &["show", "autumn"]);
    assert!(ran.err.contains("make one with: sowtide plan autumn\n"), "{}", ran.err);
    let ran = run(here.path(), &["check", "next autumn"]);
    assert!(ran.out.contains("Make one with: sowtide plan \"next autumn\"\n"), "{}", ran.out);
    let ran = run(&here.path().join("autumn"), &["show"]);
    assert!(ran.err.contains("make one with: sowtide plan\n"), "{}", ran.err);
}

#[test]
fn a_folder_without_a_term_is_told() {
    let here = tempfile::tempdir().unwrap();
    for command in [
        "check", "show", "week", "sheets", "calendar", "report", "journal", "export", "today", "status",
        "replan", "review", "learn",
    ] {
        let ran = run(here.path(), &[command]);
        assert_eq!((ran.code, ran.out.as_str()), (1, ""), "{command}");
        assert!(ran.err.contains("there is no term here"), "{}", ran.err);
    }
    assert!(run(here.path(), &["compare", "oakleaf"]).err.contains("there is no term here"));
}

#[test]
fn commands_that_need_a_plan_say_so() {
    let here = term();
    for command in [
        "show", "week", "sheets", "calendar", "report", "journal", "export", "today", "status", "replan",
        "review", "learn",
    ] {
        let ran = run(here.path(), &[command]);
        assert_eq!((ran.code, ran.out.as_str()), (1, ""), "{command}");
        assert!(ran.err.contains("sowtide plan"), "{}", ran.err);
    }
    assert!(!here.path().join("out").exists());
}

#[test]
fn colour_comes_only_when_wanted() {
    let here = planned_term();
    assert!(!run(here.path(), &["show"]).out.contains('\u{1b}'));
    assert!(run(here.path(), &["show", "--color", "always"]).out.contains('\u{1b}'));
    edit(&here.path().join("term.yaml"), "kinds: 1", "kinds: none");
    assert!(!run(here.path(), &["check", "--color", "never"]).err.contains('\u{1b}'));
    assert!(run(here.path(), &["check", "--color", "always"]).err.contains('\u{1b}'));
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
    assert_eq!((output.status.code(), output.stderr.as_slice()), (Some(0), &b""[..]));
}
