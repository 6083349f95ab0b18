//! One harvest from several tanks, losses by place, and what corrections keep.

use super::{edit, json, plan, planned_term, run_on, typed_on, write_plan};
use sowtide::domain::growth::Way;
use sowtide::domain::ids::TankId;
use std::fs;
use tempfile::TempDir;

const DAY: &str = "2026-10-08";

/// The sample term with a second tank in the hall, in which the last three plants of b-0002 stand; all nine are cut on one day.
fn two_tanks() -> TempDir {
    let here = planned_term();
    let green = "      - { id: green, holes: 4 x 6, spacing: 15 cm, litres: 40, ec: 1.2, ph: 5.9 }\n";
    edit(&here.path().join("term.yaml"), "  - id: room-4", &format!("{green}  - id: room-4"));
    let mut plan = plan();
    let part = &mut plan.batches[1].parts[1];
    (part.tank, part.harvests[0].way) = (TankId::new("green"), Way::Cut);
    write_plan(here.path().join("plan.yaml"), &plan);
    here
}

/// Runs a record command whose words stand apart by blanks, `_` for a blank within a word, and tells all it printed.
fn record(folder: &TempDir, line: &str) -> (i32, String) {
    let words: Vec<String> = line.split(' ').map(|word| word.replace('_', " ")).collect();
    let words: Vec<&str> = std::iter::once("record").chain(words.iter().map(String::as_str)).collect();
    let ran = run_on(DAY, folder.path(), &words);
    (ran.code, format!("{}{}", ran.out, ran.err))
}

#[test]
fn a_class_weighs_one_tub_from_two_tanks() {
    let here = two_tanks();
    let harvested = ["record", "harvested", "--batch", "b-0002", "--way", "cut 1 of 2"];
    let with = |more: &[&'static str]| [&harvested[..], more].concat();
    let first = with(&["--plants", "9", "--mass", "13 oz", "--sample", "height=16/18cm leaves=9"]);
    let lighter = with(&["--plants", "9", "--mass", "0,39 kg", "--replaces", "j001"]);
    let split = with(&[
        "--place",
        "Tank Blue: 1-4,6",
        "--place",
        "green: 2 plants",
        "--mass",
        "390 g",
        "--replaces",
        "j002",
        "--no-samples",
    ]);
    insta::assert_snapshot!(typed_on(
        DAY,
        here.path(),
        &[&first, &lighter, &split, &["journal", "--all"], &["status", "--site", "hall; north, upper"]]
    ));
}

#[test]
fn what_was_weighed_together_comes_back_from_the_table() {
    let here = two_tanks();
    let told =
        record(&here, "harvested --batch b-0002 --way cut --plants 9 --tank blue,_Tank_green --mass 400g");
    assert_eq!(told.0, 0, "{}", told.1);
    let told = record(&here, "harvested --batch b-0001 --way pull --plants 6 --mass 380g --day 2026-09-17");
    assert_eq!(told.0, 0, "{}", told.1);
    assert_eq!(run_on(DAY, here.path(), &["export"]).code, 0);
    let [journal, table] = ["journal.yaml", "out/journal.csv"].map(|name| here.path().join(name));
    let (before, csv) = (fs::read_to_string(&journal).unwrap(), fs::read_to_string(&table).unwrap());
    assert!(csv.contains("\"blue: 6, green: 3\""), "{csv}");
    assert_eq!(csv.matches(",400,").count(), 1, "the mass stands there once: {csv}");
    fs::remove_file(&journal).unwrap();
    assert_eq!(run_on(DAY, here.path(), &["record", "import", "out/journal.csv"]).code, 0);
    assert_eq!(fs::read_to_string(&journal).unwrap(), before);
    // A table from before there were such columns.
    let old = csv.lines().map(|line| line.rsplitn(3, ',').last().unwrap()).collect::<Vec<_>>().join("\n");
    let old = old.lines().filter(|line| !line.contains("b-0002")).collect::<Vec<_>>().join("\n");
    fs::write(&table, old).unwrap();
    fs::remove_file(&journal).unwrap();
    let ran = run_on(DAY, here.path(), &["record", "import", "out/journal.csv"]);
    assert!(
        ran.code == 0 && ran.out.contains("b-0001: 6 plants pulled in tank blue"),
        "{}{}",
        ran.out,
        ran.err
    );
}

#[test]
fn places_that_do_not_add_up_are_refused() {
    let here = two_tanks();
    for (line, told) in [
        (
            "harvested --batch b-0002 --way cut --plants 9 --tank blue,blue --mass 400g",
            "tank blue is named twice",
        ),
        (
            "harvested --batch b-0002 --way cut --plants 9 --holes 1-4 --mass 400g",
            "in which of several tanks these holes are",
        ),
        (
            "harvested --batch b-0002 --way cut --tank blue,green --holes 1-4 --mass 400g",
            "--place \"blue: 1-6\"",
        ),
        (
            "harvested --batch b-0002 --way cut --place blue:1-6 --plants 9 --mass 400g",
            "the places name 6 plants",
        ),
        (
            "harvested --batch b-0002 --way cut --tank blue,green --plants 1 --mass 40g",
            "1 plant cannot be from 2 tanks",
        ),
        ("harvested --batch b-0002 --way cut --tank blue,green --mass 40g", "how many plants were harvested"),
        (
            "harvested --batch b-0002 --way cut --tank blue,red --plants 4 --mass 40g",
            "no tank here called \"red\"",
        ),
        (
            "harvested --batch b-0002 --way cut --plants 12 --mass 400g",
            "only 3 plants stand in tank green, not 6",
        ),
        (
            "harvested --batch b-0002 --way cut --plants 4 --mass 400g --day 2026-09-25",
            "no harvest of it for that day",
        ),
        ("harvested --batch b-0002 --way snip --plants 9 --mass 400g", "write cut if the plants were left"),
        ("harvested --batch b-0002 --way cut --plants 9 --mass 1,200g", "may part thousands"),
        ("lost --batch b-0002 --tank blue,green --plants 2 --cause snails", "how many were lost in blue"),
        ("lost --batch b-0002 --plants 2 --cause snails", "nursery, blue, green"),
        ("lost --batch b-0002 --tank blue --cause snails", "add --plants with their number, or --all"),
    ] {
        let (code, out) = record(&here, line);
        assert!(code > 0 && out.contains(told), "{line}: {out}");
    }
    let empty = run_on(
        DAY,
        here.path(),
        &["record", "lost", "--batch", "b-0002", "--tank", "blue", "--all", "--cause", ""],
    );
    assert!(empty.code == 2 && empty.err.contains("say in a few words why"), "{}", empty.err);
    assert!(!here.path().join("journal.yaml").exists());
}

#[test]
fn plants_nobody_named_are_those_planned_first() {
    let here = two_tanks();
    // Nobody named a tank, so all may be of the first.
    let (code, told) = record(&here, "harvested --batch b-0002 --way cut --plants 5 --mass 200g --json");
    assert_eq!(code, 0, "{told}");
    assert_eq!(json(&told)["entries"][0]["tank"], "blue");
    let (_, told) = record(
        &here,
        "harvested --batch b-0002 --way cut --plants 5 --tank blue,green --mass 210g --replaces j001 --json",
    );
    let places = json(&told)["entries"][0]["places"].clone();
    assert_eq!((&places[0]["plants"], &places[1]["plants"]), (&4.into(), &1.into()));
    // What died before was not harvested.
    let here = two_tanks();
    assert_eq!(
        record(&here, "lost --batch b-0002 --tank blue --plants 2 --cause mould --day 2026-10-05").0,
        0
    );
    let (_, told) = record(&here, "harvested --batch b-0002 --way cut --plants 7 --mass 300g --json");
    assert!(told.contains("\"entries\""), "{told}");
    let places = json(told.split("\nTo plan").next().unwrap())["entries"][0]["places"].clone();
    assert_eq!((&places[0]["plants"], &places[1]["plants"]), (&4.into(), &3.into()));
}

#[test]
fn losses_in_several_places_are_an_entry_each() {
    let here = two_tanks();
    let line = "lost --batch b-0002 --place blue:1,2 --place Tank_green:_1_plant --cause snails";
    let (code, told) = record(&here, line);
    assert!(code == 0 && told.contains("2 plants lost in tank blue, holes 1-2"), "{told}");
    assert!(told.contains("1 plant lost in tank green: snails"), "{told}");
    let (code, told) = record(&here, &format!("{line} --replaces j001"));
    assert!(code == 2 && told.contains("j001 can be replaced by the loss in one tank only"), "{told}");
    // Where all stand in one place, it need not be named.
    let (code, told) = record(&here, "lost --batch b-0001 --plants 1 --cause mould --day 2026-09-10");
    assert!(code == 0 && told.contains("1 plant lost in tank blue"), "{told}");
}

#[test]
fn cups_count_where_it_is_published_what_they_weigh() {
    let here = two_tanks();
    let line = "harvested --batch b-0002 --way cut --plants 2 --tank blue --mass 1_1/2_cups";
    let (code, told) = record(&here, line);
    assert!(
        code == 1 && told.contains("what a cup of Oakleaf lettuce weighs") && told.contains("press tare"),
        "{told}"
    );
    let crop = here.path().join("crops/oakleaf.yaml");
    edit(&crop, "ready_to_eat:", "cup_grams: { value: 36, source: from memory }\nready_to_eat:");
    let (code, told) = record(&here, line);
    assert_eq!(code, 0, "{told}");
    assert!(
        told.contains("54 g (measured as 1.5 cups)")
            && told.contains("1.5 cups of loose leaves count as 54 g"),
        "{told}"
    );
    let journal = fs::read_to_string(here.path().join("journal.yaml")).unwrap();
    assert!(journal.contains("measured-as: 1.5 cups"), "{journal}");
}

#[test]
fn counts_of_seedlings_point_to_replan_only_where_a_day_loses_by_them() {
    let here = planned_term();
    let count = |plugs: &str| {
        let args = ["record", "came-up", "--batch", "b-0002", "--day", "2026-09-14", "--plugs", plugs];
        let ran = run_on("2026-09-14", here.path(), &args);
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert_eq!(run_on("2026-09-14", here.path(), &["record", "withdraw", "j001"]).code, 0);
        fs::remove_file(here.path().join("journal.yaml")).unwrap();
        fs::remove_dir_all(here.path().join("plans")).unwrap();
        ran.err.contains("sowtide replan")
    };
    assert!(!count("9"), "nine are to be moved of ten");
    assert!(count("5"));
}
