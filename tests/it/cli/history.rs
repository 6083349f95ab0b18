//! Every plan is kept, can be listed, compared and brought back.

use super::{edit, json, planned_term, run, run_on, term};
use crate::sample;
use crate::support::{kept_numbers, kept_plan, plan_at, save_plan};
use sowtide::domain::plan::{Harvest, Plan};
use sowtide::domain::task_numbers::TaskKind;
use std::fs;
use std::path::Path;

const SEARCH: [&str; 5] = ["plan", "--effort", "5", "--seed", "7"];

fn plan_with(folder: &Path, more: &[&str]) {
    let ran = run(folder, &[&SEARCH[..], more].concat());
    assert_eq!(ran.code, 0, "{}", ran.err);
}

#[test]
fn plans_are_kept_listed_and_brought_back() {
    let here = term();
    let (folder, file) = (here.path(), here.path().join("plan.yaml"));
    assert!(run(folder, &["plan", "--history"]).err.contains("there is no plan"));
    plan_with(folder, &[]);
    plan_with(folder, &["--why", "the same again"]);
    assert_eq!(kept_numbers(folder), [1], "the same plan is no new one");
    edit(&folder.join("term.yaml"), "2026-10-09: 480 g", "2026-10-09: 300 g");
    plan_with(folder, &["--why", "a smaller target"]);

    let ran = run(folder, &["plan", "--back-to", "1"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.err.contains("Plan and term file no longer fit each other"), "{}", ran.err);
    edit(&folder.join("term.yaml"), "2026-10-09: 300 g", "2026-10-09: 480 g");
    let (first, second) = (kept_plan(folder, 1), kept_plan(folder, 2));
    let newest = plan_at(&file);
    assert!(newest.says_the_same(&first) && !newest.says_the_same(&second));
    assert_eq!((newest.revision, newest.term_id.as_str()), (3, first.term_id.as_str()));
    assert!(newest.last_number >= second.last_number, "no id comes back for other plants");
    assert_eq!(newest, kept_plan(folder, 3));
    assert_eq!(run(folder, &["check"]).code, 0);

    let ran = run(folder, &["plan", "--history"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let reasons: Vec<&str> = ["first plan", "a smaller target", "back to plan 1 (newest)"]
        .into_iter()
        .filter(|why| ran.out.contains(why))
        .collect();
    assert_eq!((reasons.len(), ran.out.lines().count()), (3, 5), "{}", ran.out);
    let listed = json(&run(folder, &["plan", "--history", "--json"]).out)["plans"].clone();
    let listed: Vec<(u64, bool)> = listed
        .as_array()
        .unwrap()
        .iter()
        .map(|plan| (plan["revision"].as_u64().unwrap(), plan["newest"].as_bool().unwrap()))
        .collect();
    assert_eq!(listed, [(1, false), (2, false), (3, true)]);
}

#[test]
fn a_plan_from_before_there_was_a_history_and_one_changed_by_hand_are_kept() {
    let here = planned_term();
    let (folder, file) = (here.path(), here.path().join("plan.yaml"));
    edit(&folder.join("term.yaml"), "2026-10-09: 480 g", "2026-10-09: 300 g");
    plan_with(folder, &[]);
    assert_eq!(kept_numbers(folder), [3, 4]);
    let plugs = plan_at(&file).batches.last().unwrap().plugs;
    edit(&file, &format!("plugs: {plugs}\n"), &format!("plugs: {}\n", plugs + 1));
    edit(&folder.join("term.yaml"), "2026-10-09: 300 g", "2026-10-09: 200 g");
    plan_with(folder, &[]);
    assert_eq!(kept_numbers(folder), [3, 4, 5, 6]);
    assert_eq!(kept_plan(folder, 5).reason, "changed by hand");
    assert_eq!(plan_at(&file).revision, 6);
}

#[test]
fn a_kept_plan_that_cannot_be_read_hides_no_other() {
    let here = term();
    let folder = here.path();
    plan_with(folder, &[]);
    fs::write(folder.join("plans/plan-0007.yaml"), "format: 1\n").unwrap();
    let ran = run(folder, &["plan", "--history"]);
    assert!(ran.code == 0 && ran.out.contains("first plan"), "{}", ran.out);
    assert!(ran.err.contains("plan-0007.yaml:"), "{}", ran.err);
    let ran = run(folder, &["plan", "--back-to", "7"]);
    assert!(ran.code == 1 && ran.err.contains("plan-0007.yaml:"), "{}", ran.err);
    // Its number is not given again.
    edit(&folder.join("term.yaml"), "2026-10-09: 480 g", "2026-10-09: 300 g");
    plan_with(folder, &[]);
    assert_eq!(plan_at(folder.join("plan.yaml")).revision, 8);
}

#[test]
fn who_plans_at_once_loses_nothing() {
    let here = term();
    let folder = here.path();
    let running: Vec<_> = ["1", "2", "3", "4"]
        .into_iter()
        .map(|seed| {
            std::process::Command::new(env!("CARGO_BIN_EXE_sowtide"))
                .args(["plan", "--quiet", "--json", "--effort", "1", "--seed", seed])
                .current_dir(folder)
                .stdout(std::process::Stdio::piped())
                .spawn()
                .unwrap()
        })
        .collect();
    let mut saved = 0;
    for child in running {
        let output = child.wait_with_output().unwrap();
        if output.status.code() == Some(1) {
            let told = String::from_utf8(output.stdout).unwrap();
            assert!(told.contains("somebody else saved another plan"), "{told}");
            continue;
        }
        saved += 1;
        let told = json(&String::from_utf8(output.stdout).unwrap());
        let kept = kept_plan(folder, told["revision"].as_u64().unwrap() as u32);
        let ids = |batches: &serde_json::Value| batches.as_array().unwrap().len();
        assert_eq!(kept.batches.len(), ids(&told["batches"]));
    }
    assert!(saved >= 1);
    let numbers = kept_numbers(folder);
    let plans: Vec<_> = numbers.iter().map(|number| kept_plan(folder, *number)).collect();
    assert_eq!(numbers, (1..=numbers.len() as u32).collect::<Vec<_>>());
    assert!(plans.iter().all(|plan| plan.term_id == plans[0].term_id));
    let newest = plan_at(folder.join("plan.yaml"));
    assert!(plans.last().unwrap().says_the_same(&newest));
}

#[test]
fn changes_are_shown_against_any_plan() {
    let here = term();
    let folder = here.path();
    plan_with(folder, &[]);
    let ran = run(folder, &["show", "--changes"]);
    assert!(ran.code == 1 && ran.err.contains("no plan before"), "{}", ran.err);
    edit(&folder.join("term.yaml"), "2026-10-09: 480 g", "2026-10-09: 200 g");
    plan_with(folder, &[]);
    let ran = run(folder, &["show", "--changes", "--from", "2026-09-01"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.starts_with("Plan 2 against plan 1, from Tuesday 1 September 2026 on\n"), "{}", ran.out);
    let changes =
        json(&run(folder, &["show", "--changes", "--since", "1", "--from", "2026-09-01", "--json"]).out);
    assert_eq!(changes["weeks"][1]["target_g"], 200.0);
    let same =
        json(&run(folder, &["show", "--changes", "--since", "2", "--from", "2026-09-01", "--json"]).out);
    let batches = same["batches"].as_array().unwrap();
    assert!(!batches.is_empty() && batches.iter().all(|batch| batch["change"] == "kept"));

    let ran = run(folder, &["show", "--changes", "--page", "--paper", "letter"]);
    let page = Path::new("out").join("changes.html");
    assert_eq!((ran.code, ran.out.trim()), (0, page.to_str().unwrap()));
    assert!(fs::read_to_string(folder.join(page)).unwrap().contains("What changes: Autumn 2026"));
}

/// A plan brought back must not call a new task by the name of another one that a newer plan had.
#[test]
fn a_plan_brought_back_gives_no_number_again() {
    let here = tempfile::tempdir().unwrap();
    let folder = here.path();
    let first = save_plan(folder, &sample::plan());
    let longer = |plan: &Plan, day: &str| {
        let mut longer = plan.clone();
        let harvest = longer.batches[2].parts[0].harvests[0].clone();
        longer.batches[2].parts[0].harvests.push(Harvest { date: sample::date(day), ..harvest });
        longer.number_tasks(Some(plan), None);
        longer
    };
    let number =
        |plan: &Plan, day: &str| plan.batches[2].task_numbers[&(TaskKind::Harvest, sample::date(day))];
    let second = save_plan(folder, &longer(&first, "2026-11-17"));
    assert_eq!(number(&second, "2026-11-17"), 2);
    let back = save_plan(folder, &kept_plan(folder, first.revision));
    assert!(back.says_the_same(&first));
    assert_eq!(number(&longer(&back, "2026-11-20"), "2026-11-20"), 3);
}

#[test]
fn numbers_too_large_to_count_on_from_are_told_and_stop_nothing() {
    let here = planned_term();
    let folder = here.path();
    fs::create_dir_all(folder.join("plans")).unwrap();
    fs::copy(folder.join("plan.yaml"), folder.join("plans/plan-4294967295.yaml")).unwrap();
    let ran = run_on("2026-09-01", folder, &["plan", "--effort", "2"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    for key in ["revision: ", "last-number: "] {
        let text = fs::read_to_string(folder.join("plan.yaml")).unwrap();
        let line = text.lines().find(|line| line.starts_with(key)).unwrap();
        fs::write(folder.join("plan.yaml"), text.replace(line, &format!("{key}4294967295"))).unwrap();
        let ran = run_on("2026-09-01", folder, &["plan", "--effort", "2"]);
        assert!(ran.code == 1 && ran.err.contains("a number up to 1000000000"), "{}", ran.err);
        assert!(ran.err.contains("take it back with: sowtide plan --back-to"), "{}", ran.err);
        fs::write(folder.join("plan.yaml"), text).unwrap();
    }
}
