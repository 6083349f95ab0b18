//! Reading a plan and the crop library.

use super::{Ran, edit, json, planned_term, run, term};
use std::fs;

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
    assert_eq!(json(&run(here.path(), &["show", "--json"]).out)["batches"][1]["id"], "b-0002");
    let one = json(&run(here.path(), &["show", "--json", "--batch", "b-0002"]).out);
    assert_eq!((&one["format"], &one["id"]), (&1.into(), &"b-0002".into()));
}

#[test]
fn week_lists_the_week_of_a_day() {
    let here = planned_term();
    let ran = run(here.path(), &["week", "--of", "2026-10-08"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(ran.out.contains("cut 1 of 2") && ran.out.contains("transplant"), "{}", ran.out);
    let ran = run(here.path(), &["week", "--of", "2020-01-01"]);
    assert!(ran.err.contains("outside the term") && ran.code == 0, "{}", ran.err);
    let ran = run(here.path(), &["week", "--of", "2020-01-01", "--quiet", "--json"]);
    assert_eq!((json(&ran.out)["week"].as_str(), ran.err.as_str()), (Some("2020-W01"), ""));
    assert_eq!(run(here.path(), &["week"]).code, 0);
}

#[test]
fn the_report_is_one_file_where_it_is_wanted() {
    let here = planned_term();
    let path = here.path().to_str().unwrap();
    let elsewhere = tempfile::tempdir().unwrap();
    let ran = run(elsewhere.path(), &["report", path]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let first = fs::read_to_string(ran.out.trim_end()).unwrap();
    assert!(ran.out.ends_with("report.html\n") && first.starts_with("<!DOCTYPE html>"), "{}", ran.out);
    let ran = run(elsewhere.path(), &["report", path, "--out", "shown/term.html", "--json"]);
    assert_eq!(json(&ran.out)["written"][0], "shown/term.html");
    assert_eq!(fs::read_to_string(elsewhere.path().join("shown/term.html")).unwrap(), first);
    let us = run(elsewhere.path(), &["report", path, "--out", "us.html", "--units", "us"]);
    assert!(us.code == 0 && fs::read_to_string(elsewhere.path().join("us.html")).unwrap().contains(" oz"));
    fs::create_dir(elsewhere.path().join("taken")).unwrap();
    let ran = run(elsewhere.path(), &["report", path, "--out", "taken"]);
    assert!(ran.code == 1 && ran.err.contains("could not be written"), "{}", ran.err);
}

#[test]
fn a_plan_that_no_longer_fits_its_term_is_remarked() {
    let here = planned_term();
    edit(&here.path().join("term.yaml"), "[Monday, Thursday]", "[Monday, Friday]");
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
        crops.iter().map(|crop| crop["id"].as_str().unwrap().to_owned()).collect()
    };
    let built_in = names(&run(elsewhere.path(), &["crops", "list", "--json"]));
    assert!(!built_in.contains(&"leaf-mustard".to_owned()));
    let own = run(here.path(), &["crops", "list", "--json"]);
    assert_eq!(names(&own).len(), built_in.len() + 1);
    let path = here.path().to_str().unwrap();
    let shown = run(elsewhere.path(), &["crops", "show", "oakleaf", "--term", path]);
    assert!(shown.out.contains("bulletin 12"), "{}", shown.out);
    let shown = run(elsewhere.path(), &["crops", "show", "oakleaf"]);
    assert!(shown.code == 0 && !shown.out.contains("bulletin 12"), "{}", shown.out);
    assert!(run(elsewhere.path(), &["crops", "list"]).out.contains("oakleaf"));
}

/// Of crops wanted in the term and others; a plan is not needed, and one that cannot be read does not matter.
#[test]
fn ways_are_compared_without_a_plan() {
    let here = term();
    let ran = run(here.path(), &["compare", "oakleaf"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(ran.out.contains("A hole gives") && ran.out.contains("whole heads  "), "{}", ran.out);
    fs::write(here.path().join("plan.yaml"), "format: [1").unwrap();
    let elsewhere = tempfile::tempdir().unwrap();
    let path = here.path().to_str().unwrap();
    let ran = run(elsewhere.path(), &["compare", "rocket", "leaf-mustard", "--term", path, "--json"]);
    let ways = json(&ran.out)["at"][0]["ways"].clone();
    let crops: Vec<&str> = ways.as_array().unwrap().iter().filter_map(|way| way["crop"].as_str()).collect();
    assert!(crops.contains(&"rocket") && crops.contains(&"leaf-mustard"), "{}", ran.out);
    let ran = run(elsewhere.path(), &["compare", "rocket", "basil", "--term", path, "--units", "us"]);
    assert!(ran.code == 0 && ran.out.contains(" oz") && !ran.out.contains(" g "), "{}", ran.out);
}

#[test]
fn what_no_tank_has_room_for_is_not_compared() {
    let here = term();
    let (wide, oakleaf) = (here.path().join("crops/wide-leaf.yaml"), here.path().join("crops/oakleaf.yaml"));
    fs::copy(oakleaf, &wide).unwrap();
    edit(&wide, "value: 15 cm", "value: 90 cm");
    let ran = run(here.path(), &["compare", "wide-leaf"]);
    assert_eq!((ran.code, ran.out.as_str()), (1, ""));
    assert!(ran.err.contains("no site has a tank in which wide-leaf could grow"), "{}", ran.err);
    let ran = run(here.path(), &["compare", "wide-leaf", "rocket"]);
    assert!(ran.code == 0 && ran.out.contains("no lid here has room"), "{}{}", ran.out, ran.err);
}

#[test]
fn completions_for_every_common_shell() {
    let here = tempfile::tempdir().unwrap();
    for shell in ["bash", "zsh", "fish", "powershell"] {
        let ran = run(here.path(), &["completions", shell]);
        assert!(ran.code == 0 && ran.out.contains("calendar"), "{shell}");
    }
}
