//! Recording what happened, and what follows from it.

use super::{edit, json, planned_term, run, run_on, typed_on};
use std::fs;
use std::path::Path;

/// Records something that must be accepted.
fn record(today: &str, folder: &Path, args: &[&str]) {
    let ran = run_on(today, folder, &[&["record", "--quiet"], args].concat());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{args:?}");
}

#[test]
fn a_term_is_recorded_step_by_step() {
    let here = planned_term();
    let mut all = String::new();
    for (today, args) in [
        ("2026-09-07", &["sown", "--batch", "b-0002", "--plugs", "12", "--by", "Class 5b"][..]),
        ("2026-09-14", &["came-up", "--batch", "b-0002", "--plugs", "10"]),
        (
            "2026-09-14",
            &["lost", "--batch", "b-0002", "--in", "nursery", "--plants", "2", "--cause", "dried out"],
        ),
        (
            "2026-09-17",
            &["harvested", "--batch", "b-0001", "--way", "whole", "--plants", "6", "--mass", "431.5 g"],
        ),
        ("2026-09-21", &["transplanted", "--batch", "b-0002", "--plants", "8"]),
        ("2026-09-22", &["note", "Lamp replaced", "--site", "hall"]),
        ("2026-09-25", &["class-lost", "--site", "room-4"]),
        ("2026-09-25", &["class-added", "--site", "room-4", "--day", "2026-09-30"]),
        ("2026-09-29", &["tank-out", "--tank", "blue", "--site", "hall", "--until", "2026-10-02"]),
        ("2026-10-01", &["tank-back", "--tank", "blue", "--site", "hall"]),
        ("2026-10-05", &["lost", "--batch", "b-0002", "--in", "blue", "--plants", "1", "--cause", "snails"]),
        (
            "2026-10-08",
            &[
                "harvested",
                "--batch",
                "b-0002",
                "--way",
                "cut",
                "--plants",
                "5",
                "--mass",
                "9 oz",
                "--sample",
                "height=16/18cm leaves=8/9",
                "--sample",
                "root=20cm mass=40/52g",
            ],
        ),
        ("2026-10-08", &["target", "--on", "2026-10-23", "--mass", "300 g"]),
        ("2026-10-08", &["target", "--from", "2026-11-01", "--none"]),
        (
            "2026-10-08",
            &["lost", "--batch", "b-0002", "--in", "blue", "--all", "--cause", "pump stood still"],
        ),
        ("2026-10-09", &["withdraw", "j015"]),
        (
            "2026-10-09",
            &["sown", "--batch", "b-0002", "--plugs", "11", "--day", "2026-09-07", "--replaces", "j001"],
        ),
    ] {
        all.push_str(&typed_on(today, here.path(), &[&[&["record"], args].concat()]));
        all.push('\n');
    }
    let lists: [&[&str]; 5] = [
        &["journal"],
        &["journal", "--all", "--of", "b-0002"],
        &["journal", "--of", "room-4"],
        &["today"],
        &["status", "--units", "us"],
    ];
    all.push_str(&typed_on("2026-10-09", here.path(), &lists));
    insta::assert_snapshot!(all);
}

#[test]
fn what_cannot_be_true_is_refused_in_plain_words() {
    let here = planned_term();
    let path = here.path();
    let day = "2026-10-12";
    record(day, path, &["sown", "--batch", "b-0002", "--plugs", "10", "--day", "2026-09-07"]);
    record(day, path, &["transplanted", "--batch", "b-0002", "--plants", "9", "--day", "2026-09-21"]);
    record(
        day,
        path,
        &[
            "harvested",
            "--batch",
            "b-0001",
            "--plants",
            "6",
            "--way",
            "whole",
            "--mass",
            "400 g",
            "--day",
            "2026-09-17",
        ],
    );
    record(day, path, &["note", "Lamp replaced", "--day", "2026-09-17"]);
    record(day, path, &["note", "Lamp repaired", "--day", "2026-09-17", "--replaces", "j004"]);
    record(day, path, &["withdraw", "j005"]);
    record(day, path, &["tank-out", "--tank", "blue", "--site", "room-4", "--day", "2026-10-08"]);
    let before = fs::read_to_string(path.join("journal.yaml")).unwrap();
    let commands: Vec<Vec<&str>> = [
        "sown --batch b-0003 --plugs 6 --day 2026-08-31",
        "sown --batch b-0003 --plugs 6 --day 2026-10-20",
        "sown --batch b-003 --plugs 6",
        "sown --batch b-0001 --plugs 6",
        "sown --batch b-0002 --plugs 6",
        "came-up --batch b-0003 --plugs 7 --day 2026-10-05",
        "came-up --batch b-0003 --plugs 5 --day 2026-09-24",
        "came-up --batch b-0002 --plugs 8",
        "transplanted --batch b-0003 --plants 5 --day 2026-10-09",
        "transplanted --batch b-0002 --plants 2",
        "harvested --batch b-0002 --plants 10 --way whole --mass 1kg --day 2026-10-08",
        "harvested --batch b-0002 --plants 9 --way whole --mass 1kg --day 2026-09-20",
        "harvested --batch b-0002 --plants 9 --way whole --mass 1kg --day 2026-09-06",
        "harvested --batch b-0002 --plants 9 --way whole --mass 1kg --tank green",
        "harvested --batch b-0001 --plants 1 --way whole --mass 1kg",
        "harvested --batch b-0002 --plants 1 --way cut --mass 40g --sample leaves=3 --sample leaves=4",
        "harvested --batch b-0002 --plants 3 --way whole --mass 1500kg",
        "lost --batch b-0001 --in blue --all --cause mould --day 2026-10-01",
        "transplanted --batch b-0002 --plants 9 --day 2026-09-21",
        "withdraw j099",
        "withdraw j004",
        "withdraw j006",
        "note again --replaces j004",
        "note again --replaces j005",
        "tank-out --tank blue --site room-4",
        "tank-out --tank blue --site hall --until 2026-10-01",
        "tank-out --tank blue",
        "tank-back --tank blue --site hall",
        "class-lost --site hall --day 2026-10-13",
        "class-added --site hall --day 2026-10-19",
        "class-lost --site hal --day 2026-10-19",
        "target --on 2026-10-22 --mass 1kg",
        "target --from 2026-11-07 --mass 1kg",
        "note hello --batch b-0003 --site hall",
    ]
    .iter()
    .map(|line| [&["record"], &line.split(' ').collect::<Vec<_>>()[..]].concat())
    .collect();
    let commands: Vec<&[&str]> = commands.iter().map(Vec::as_slice).collect();
    insta::assert_snapshot!(typed_on(day, path, &commands));
    assert_eq!(fs::read_to_string(path.join("journal.yaml")).unwrap(), before);
}

#[test]
fn plants_that_are_elsewhere_cannot_be_harvested() {
    let here = planned_term();
    let path = here.path();
    let room = "  - id: room-4";
    let green = "      - { id: green, holes: 4 x 6, spacing: 15 cm, litres: 40, ec: 1.2, ph: 5.9 }\n";
    edit(&path.join("term.yaml"), room, &format!("{green}{room}"));
    let day = "2026-10-12";
    let lost =
        ["lost", "--batch", "b-0003", "--in", "nursery", "--all", "--cause", "frost", "--day", "2026-10-05"];
    record(day, path, &lost);
    record(
        day,
        path,
        &["transplanted", "--batch", "b-0002", "--plants", "9", "--tank", "green", "--day", "2026-09-24"],
    );
    record(
        day,
        path,
        &["lost", "--batch", "b-0001", "--in", "blue", "--all", "--cause", "frost", "--day", "2026-09-14"],
    );
    record(day, path, &["class-lost", "--all-sites", "--day", "2026-10-19"]);
    let commands: Vec<Vec<&str>> = [
        "harvested --batch b-0002 --plants 9 --way whole --mass 1kg --tank blue",
        "harvested --batch b-0002 --plants 9 --way whole --mass 1kg --tank green --day 2026-09-23",
        "harvested --batch b-0001 --plants 6 --way whole --mass 1kg --day 2026-09-17",
        "harvested --batch b-0001 --plants 6 --way whole --mass 1kg --tank green --day 2026-09-10",
        "harvested --batch b-0003 --plants 5 --way whole --mass 1kg",
        "transplanted --batch b-0003 --plants 5 --tank green",
        "lost --batch b-0003 --in nursery --all --cause frost",
        "class-lost --site hall --day 2026-10-19",
        "came-up --batch b-0002 --plugs 9 --day 2026-09-14 --replaces j001",
    ]
    .iter()
    .map(|line| [&["record"], &line.split(' ').collect::<Vec<_>>()[..]].concat())
    .collect();
    let commands: Vec<&[&str]> = commands.iter().map(Vec::as_slice).collect();
    insta::assert_snapshot!(typed_on(day, path, &commands));
}

#[test]
fn what_other_entries_rest_on_stays() {
    let here = planned_term();
    let day = "2026-10-12";
    record(day, here.path(), &["transplanted", "--batch", "b-0002", "--plants", "9", "--day", "2026-09-21"]);
    record(
        day,
        here.path(),
        &[
            "harvested",
            "--batch",
            "b-0002",
            "--plants",
            "9",
            "--way",
            "cut",
            "--mass",
            "400 g",
            "--day",
            "2026-10-08",
        ],
    );
    let less = [
        "record",
        "transplanted",
        "--batch",
        "b-0002",
        "--plants",
        "8",
        "--day",
        "2026-09-21",
        "--replaces",
        "j001",
    ];
    let late = [
        "record",
        "lost",
        "--batch",
        "b-0002",
        "--in",
        "blue",
        "--plants",
        "1",
        "--cause",
        "snails",
        "--day",
        "2026-10-01",
    ];
    insta::assert_snapshot!(typed_on(day, here.path(), &[&less, &late]), @r"
    $ sowtide record transplanted --batch b-0002 --plants 8 --day 2026-09-21 --replaces j001
    error: not recorded: then j002, which is in the journal, could not be: of batch b-0002 only 8 plants stand in tank blue, not 9
     = help: correct or withdraw j002 first
    [1]

    $ sowtide record lost --batch b-0002 --in blue --plants 1 --cause snails --day 2026-10-01
    error: not recorded: then j002, which is in the journal, could not be: of batch b-0002 only 8 plants stand in tank blue, not 9
     = help: correct or withdraw j002 first
    [1]
    ");
}

#[test]
fn the_tank_must_be_named_where_there_is_a_choice() {
    let here = planned_term();
    let plan = here.path().join("plan.yaml");
    let text = fs::read_to_string(&plan).unwrap();
    // The second part of b-0002 into another tank.
    let (head, tail) = text.split_once("plants: 3").unwrap();
    fs::write(&plan, format!("{head}plants: 3{}", tail.replacen("tank: blue", "tank: green", 1))).unwrap();
    let ran = run_on(
        "2026-09-21",
        here.path(),
        &["record", "-q", "transplanted", "--batch", "b-0002", "--plants", "9"],
    );
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("name one with --tank: blue, green"), "{}", ran.err);
}

#[test]
fn json_tells_the_same() {
    let here = planned_term();
    let day = "2026-10-08";
    let args = [
        "record",
        "harvested",
        "--batch",
        "b-0002",
        "--way",
        "cut",
        "--plants",
        "6",
        "--mass",
        "280 g",
        "--sample",
        "leaves=8/9",
        "--json",
    ];
    let told = json(&run_on(day, here.path(), &args).out);
    let entry = &told["entries"][0];
    assert_eq!((entry["id"].as_str(), entry["mass_g"].as_f64()), (Some("j001"), Some(280.0)));
    assert_eq!(entry["samples"][0]["leaves"]["estimate"], 8.0);
    assert_eq!(json(&run_on(day, here.path(), &["journal", "--json"]).out)["entries"][0], *entry);
    let state = json(&run_on(day, here.path(), &["status", "--json"]).out);
    let today = json(&run_on(day, here.path(), &["today", "--json"]).out);
    assert_eq!(state["sites"][0]["batches"], today["sites"][0]["batches"]);
    let cut = &state["sites"][0]["batches"][1]["stands"];
    assert_eq!((cut[0]["plants"].as_u64(), cut[0]["last_cut"].as_str()), (Some(6), Some("2026-10-08")));
    let refused = run_on(day, here.path(), &["record", "withdraw", "j009", "--json"]);
    assert_eq!(refused.code, 1);
    assert!(json(&refused.out)["mistakes"][0]["message"].as_str().unwrap().contains("j009"));
}

#[test]
fn a_wrong_day_in_the_environment_is_told() {
    let here = planned_term();
    let ran = run_on("soon", here.path(), &["today"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("SOWTIDE_TODAY"), "{}", ran.err);
    assert_eq!(run(here.path(), &["today", "--on", "2026-10-08"]).code, 0);
}

#[test]
fn a_broken_journal_is_told_and_left_alone() {
    let here = planned_term();
    let path = here.path().join("journal.yaml");
    let text = "format: 1\nentries:\n- id: j001\n  recorded: 2026-09-07T10:00:00Z\n  day: 2026-09-07\n  site: hall\n  what: sown\n  batch: b-0002\n  plugs: ten\n";
    fs::write(&path, text).unwrap();
    for args in [&["today"][..], &["status"], &["journal"], &["record", "note", "hello"]] {
        let ran = run_on("2026-10-08", here.path(), args);
        assert_eq!(ran.code, 1, "{args:?}");
        assert!(ran.err.contains("journal.yaml:9:10"), "{}", ran.err);
    }
    assert_eq!(fs::read_to_string(&path).unwrap(), text);
}

#[test]
fn what_upsets_the_plan_points_to_replan() {
    let here = planned_term();
    let day = "2026-09-28";
    for (line, upsets) in [
        ("note hello --site hall", false),
        ("sown --batch b-0003 --plugs 6 --day 2026-09-25", false),
        ("class-lost --site hall --day 2026-11-05", false),
        ("class-lost --site hall --day 2026-10-08", true),
        ("withdraw j004", false),
        ("lost --batch b-0003 --in nursery --plants 3 --cause mould", true),
        ("withdraw j006", false),
        ("tank-out --tank blue --site hall --day 2026-10-01", true),
        ("tank-back --tank blue --site hall --day 2026-10-01", false),
        ("target --on 2026-10-23 --mass 500g", true),
    ] {
        let ran = run_on(day, here.path(), &[&["record"], &line.split(' ').collect::<Vec<_>>()[..]].concat());
        assert_eq!((ran.code, ran.err.contains("sowtide replan")), (0, upsets), "{line}: {}", ran.err);
    }
}

#[test]
fn one_site_can_be_looked_at_alone() {
    let here = planned_term();
    for command in ["today", "status", "week"] {
        let ran = run_on("2026-10-08", here.path(), &[command, "--site", "room-4"]);
        assert!(ran.code == 0 && ran.out.contains("Room 4") && !ran.out.contains("Hall"), "{}", ran.out);
        let told = json(&run_on("2026-10-08", here.path(), &[command, "--site", "hall", "--json"]).out);
        assert_eq!(told["sites"].as_array().map(Vec::len), Some(1), "{command}");
        let wrong = run_on("2026-10-08", here.path(), &[command, "--site", "hal"]);
        assert!(wrong.code == 2 && wrong.err.contains("did you mean \"hall\""), "{}", wrong.err);
    }
}
