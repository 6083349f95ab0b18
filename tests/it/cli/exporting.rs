//! The journal as a table, and back.

use super::{Ran, planned_term, run_on, typed_on};
use std::fs;
use std::path::Path;
use tempfile::TempDir;

const DAY: &str = "2026-10-12";

/// Every kind of entry; texts that programs take for something else; corrections; one entry that cannot be true.
const JOURNAL: &str = r#"format: 1
entries:
- { id: j001, recorded: 2026-09-07T10:00:00Z, by: "=HYPERLINK(\"x\")", day: 2026-09-07, site: hall, what: sown, batch: b-0002, plugs: 12 }
- { id: j002, recorded: 2026-09-14T10:00:00.25Z, day: 2026-09-14, site: hall, what: came up, batch: b-0002, plugs: 10 }
- { id: j003, recorded: 2026-09-14T10:05:00Z, day: 2026-09-14, site: hall, what: lost, batch: b-0002, plugs: 1, cause: "dry; =2+3" }
- { id: j004, recorded: 2026-09-21T10:00:00Z, day: 2026-09-21, site: hall, what: transplanted, batch: b-0002, tank: blue, plants: 8 }
- { id: j005, recorded: 2026-09-21T11:00:00Z, by: Ms Reed, replaces: j004, day: 2026-09-21, site: hall, what: transplanted, batch: b-0002, tank: blue, plants: 9 }
- { id: j006, recorded: 2026-09-28T10:00:00Z, day: 2026-09-28, site: hall, what: lost, batch: b-0002, tank: blue, plants: 2, holes: [8, 9], cause: "'tis \"slugs\", again" }
- id: j007
  recorded: 2026-10-08T10:00:00Z
  day: 2026-10-08
  site: hall
  what: harvested
  batch: b-0002
  tank: blue
  plants: 6
  way: cut
  grams: 280.125
  samples:
  - { height: { estimate: 16, found: 18.5 }, leaves: { found: 9 } }
  - { longest-root: { found: 21 }, mass: { estimate: 40, found: 45.300000000000004 }, width: { found: 12 } }
- { id: j008, recorded: 2026-10-08T11:00:00Z, day: 2026-10-09, site: room-4, what: tank out, tank: blue, until: 2026-10-20 }
- { id: j009, recorded: 2026-10-08T11:00:00Z, day: 2026-10-12, site: room-4, what: tank back, tank: blue }
- { id: j010, recorded: 2026-10-08T12:00:00Z, day: 2026-10-22, what: class lost }
- { id: j011, recorded: 2026-10-08T12:00:00Z, day: 2026-10-23, site: hall, what: class added }
- { id: j012, recorded: 2026-10-08T12:00:00Z, day: 2026-10-23, what: target, grams: 300.5, holds: that day }
- { id: j013, recorded: 2026-10-08T12:00:00Z, day: 2026-10-08, what: note, text: "'=1, -5 °C at night" }
- { id: j014, recorded: 2026-10-09T12:00:00Z, replaces: j013, day: 2026-10-09, what: withdrawn }
- { id: j015, recorded: 2026-10-09T12:00:00Z, day: 2026-10-09, site: hall, what: lost, batch: b-0002, tank: blue, cause: mould }
- { id: j016, recorded: 2026-10-09T13:00:00Z, day: 2026-10-09, site: hall, what: harvested, batch: b-0002, tank: blue, plants: 3, way: cut, grams: 90 }
"#;

/// The sample term with that journal.
fn recorded_term() -> TempDir {
    let here = planned_term();
    fs::write(here.path().join("journal.yaml"), JOURNAL).unwrap();
    here
}

fn exported(folder: &Path) -> String {
    let ran = run_on(DAY, folder, &["export"]);
    assert_eq!((ran.code, ran.out.as_str()), (0, "out/journal.csv\n"), "{}", ran.err);
    fs::read_to_string(folder.join("out/journal.csv")).unwrap()
}

fn imported(folder: &Path, text: &str, args: &[&str]) -> Ran {
    fs::write(folder.join("in.csv"), text).unwrap();
    run_on(DAY, folder, &[&["record", "import", "in.csv", "--quiet"], args].concat())
}

/// What a script sees of the journal.
fn told(folder: &Path) -> String {
    run_on(DAY, folder, &["journal", "--all", "--json"]).out
}

#[test]
fn a_journal_is_a_table_with_one_observation_a_line() {
    let text = exported(recorded_term().path());
    // Programs that see no such mark take umlauts for something else.
    let text = text.strip_prefix('\u{feff}').unwrap();
    insta::assert_snapshot!(text.replace("\r\n", "\n"));
}

#[test]
fn what_was_exported_comes_back_as_it_was() {
    let here = recorded_term();
    let (before, text) = (told(here.path()), exported(here.path()));
    // As the text was put into the folder, there is no copy of it yet; the second time there is, and the third time it is lost, too.
    for lost in [&["journal.yaml"][..], &["journal.yaml"], &["journal.yaml", "plans/journal.yaml"]] {
        for name in lost {
            fs::remove_file(here.path().join(name)).unwrap();
        }
        let ran = imported(here.path(), &text, &[]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert_eq!(told(here.path()), before);
        assert_eq!(exported(here.path()), text);
        let kept =
            ["journal.yaml", "plans/journal.yaml"].map(|name| fs::read(here.path().join(name)).unwrap());
        assert_eq!(kept[0], kept[1]);
    }
    let more = run_on(DAY, here.path(), &["record", "note", "hello", "--json"]);
    assert!(more.out.contains("\"j017\""), "{}{}", more.out, more.err);
    assert!(!run_on(DAY, here.path(), &["journal"]).err.contains("lost"));
}

#[test]
fn what_is_there_already_is_left_out_and_counted() {
    let here = recorded_term();
    let text = exported(here.path());
    let first = JOURNAL.lines().take_while(|line| !line.contains("j005"));
    fs::write(here.path().join("journal.yaml"), first.collect::<Vec<_>>().join("\n")).unwrap();
    fs::write(here.path().join("in.csv"), &text).unwrap();
    let import = ["record", "import", "in.csv"];
    insta::assert_snapshot!(typed_on(DAY, here.path(), &[&import, &import]));
    assert_eq!(exported(here.path()), text);
}

#[test]
fn a_spreadsheet_program_may_have_saved_it_anew() {
    let here = recorded_term();
    let (before, text) = (told(here.path()), exported(here.path()));
    // As programs do where commas are decimal: days of their own kind, semicolons, an empty column more.
    let mut saved = String::new();
    for line in csv::ReaderBuilder::new().has_headers(false).from_reader(text.as_bytes()).records() {
        let line = line.unwrap();
        let cells = line.iter().map(|cell| match cell.parse::<chrono::NaiveDate>() {
            Ok(day) => day.format("%d.%m.%Y").to_string(),
            Err(_) if cell.parse::<f64>().is_ok() => cell.replace('.', ","),
            Err(_) => format!("\"{}\"", cell.replace('"', "\"\"")),
        });
        saved.push_str(&(cells.collect::<Vec<_>>().join(";") + ";\r\n"));
    }
    fs::remove_file(here.path().join("journal.yaml")).unwrap();
    let plain = imported(here.path(), &saved, &[]);
    assert_eq!(plain.code, 1);
    for told in ["in.csv:2:", "\"07.09.2026\" is not a date", "--date-format", "--decimal-comma"] {
        assert!(plain.err.contains(told), "{told}: {}", plain.err);
    }
    assert!(!here.path().join("journal.yaml").exists());
    let ran = imported(here.path(), &saved, &["--date-format", "DD.MM.YYYY", "--decimal-comma"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_eq!(told(here.path()), before);
}

/// What is told of a table in which something was changed.
fn refused(change: impl Fn(&str) -> String) -> String {
    let here = recorded_term();
    let text = exported(here.path());
    let changed = change(&text);
    assert_ne!(text, changed);
    fs::remove_file(here.path().join("journal.yaml")).unwrap();
    let ran = imported(here.path(), &changed, &[]);
    assert_eq!((ran.code, ran.out.as_str()), (1, ""), "{changed}");
    assert!(!here.path().join("journal.yaml").exists());
    ran.err
}

#[test]
fn whatever_does_not_fit_is_told_with_its_place_and_nothing_comes_in() {
    let all = [
        // The heading line.
        ("cause,text", "cause,words"),
        ("target_grams,", "leaves,"),
        // Cells.
        (",sown,", ",sowed,"),
        (",12,,", ",1e9,,"),
        (",280.125,", ",99999999999,"),
        (",280.125,", ",9999999,"),
        (",280.125,", ",,"),
        ("counts,,12,", "counts,,12,4"),
        ("2026-09-14,hall,oakleaf", "2026-09-14,hall,rocket"),
        ("Autumn 2026,j003", "Spring 2027,j003"),
        (",\r\n", ",,x\r\n"),
        // Lines.
        ("Autumn 2026,j002,", "Autumn 2026,j001,"),
        ("Autumn 2026,j002,", "Autumn 2026,,"),
        ("j007,2,", "j007,3,"),
        ("j007,2,2026-10-08", "j007,2,2026-10-09"),
        ("j008,,", "j007,9,"),
        (",18.5,16,", ",,16,"),
        (",j013,,\r\n", ",j012,,\r\n"),
        ("cannot be true", "counts"),
    ]
    .map(|(from, to)| {
        let told = refused(|text| text.replacen(from, to, 1));
        format!("{} to {}\n{told}", from.escape_debug(), to.escape_debug())
    });
    insta::assert_snapshot!(all.join("\n"));
}

#[test]
fn lines_that_are_gone_are_missed_where_others_speak_of_them() {
    for (gone, told) in [
        ("2026,j004,", "j005 replaces j004, which is not written before it"),
        ("2026,j014,", "by the lines of this file the status of j013 is \"counts\""),
        ("j007,,2026", "no line tells j007 as a whole"),
        ("j007,2,", "measured plants of this entry that have a line: 1"),
    ] {
        let lines = |text: &str| -> String {
            text.split_inclusive('\n').filter(|line| !line.contains(gone)).collect()
        };
        let err = refused(lines);
        assert!(err.contains(told), "{gone}: {err}");
    }
}

#[test]
fn another_entry_of_a_number_is_refused_and_so_are_options_for_other_sheets() {
    let here = recorded_term();
    let text = exported(here.path());
    let before = fs::read_to_string(here.path().join("journal.yaml")).unwrap();
    let other = imported(here.path(), &text.replace("Ms Reed", "Mr Reed"), &[]);
    assert_eq!(other.code, 1);
    for told in ["the journal says something else in j005", "in.csv:6:1"] {
        assert!(other.err.contains(told), "{}", other.err);
    }
    let mapped = imported(here.path(), &text, &["--what", "sown"]);
    assert_eq!(mapped.code, 2);
    assert!(mapped.err.contains("leave out --columns"), "{}", mapped.err);
    assert_eq!(fs::read_to_string(here.path().join("journal.yaml")).unwrap(), before);
}

#[test]
fn a_table_replaces_no_file_of_other_people() {
    let here = recorded_term();
    fs::write(here.path().join("harvests.csv"), "day,what\n").unwrap();
    for (name, code) in [("harvests.csv", 1), ("journal.yaml", 2), ("table.html", 0), ("table.html", 0)] {
        assert_eq!(run_on(DAY, here.path(), &["export", "--out", name]).code, code, "{name}");
    }
    let told = run_on(DAY, here.path(), &["export", "--json"]).out;
    assert!(told.contains("out/journal.csv"), "{told}");
}

#[test]
fn an_empty_journal_is_a_heading_line() {
    let here = planned_term();
    let text = exported(here.path());
    assert_eq!(text.lines().count(), 1);
    let ran = imported(here.path(), &text, &[]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(!here.path().join("journal.yaml").exists());
}
