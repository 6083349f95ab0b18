//! Input that nobody means well with, or that went wrong on its way: nothing hidden reaches the screen or a file, nothing
//! takes forever, and every complaint says what to do.

use super::{edit, planned_term, run, run_on, term, typed_on};
use std::fs;
use std::path::Path;

const DAY: &str = "2026-10-12";

/// Whether a text holds a command to the screen or turns the direction of reading.
fn hides_something(text: &str) -> bool {
    text.contains(|c: char| {
        (c.is_control() && c != '\n') || matches!(c, '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    })
}

fn import_days_off(folder: &Path, entries: &str, choice: &str) {
    let text = format!("BEGIN:VCALENDAR\r\nVERSION:2.0\r\n{entries}END:VCALENDAR\r\n");
    fs::write(folder.join("days.ics"), text).unwrap();
    let import = format!("import: {{ file: days.ics, kind: closure{choice} }}\nsites:");
    edit(&folder.join("term.yaml"), "\nsites:", &format!("\n{import}"));
}

#[test]
fn titles_of_a_calendar_are_cleaned() {
    let here = term();
    let entry = |day: &str, title: &str| {
        format!("BEGIN:VEVENT\r\nUID:{day}\r\nDTSTART;VALUE=DATE:{day}\r\nSUMMARY:{title}\r\nEND:VEVENT\r\n")
    };
    let entries = [
        entry("20261020", "Fair\u{1b}[31m red\u{7}"),
        entry("20261021", "left\u{202e}thgir"),
        entry("20261022", "\u{200b}\u{2060}"),
    ];
    import_days_off(here.path(), &entries.concat(), "");
    let ran = run(here.path(), &["check", "--color", "always"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    for title in ["Fair[31m red (", "leftthgir (", "(no title) ("] {
        assert!(ran.err.replace('\n', " ").contains(title), "{title}: {}", ran.err);
    }
    assert!(!hides_something(&ran.err), "{:?}", ran.err);
}

#[test]
fn hidden_characters_are_refused_with_their_place() {
    for (text, place) in [
        ("\"Room\\e[31m\"", "hidden character (U+001B)"),
        ("\"a\\u202Eb\"", "U+202E"),
        ("\"a\\u2028b\"", "U+2028"),
        ("\"\\u200B\"", "nothing to read"),
    ] {
        let here = term();
        let written = fs::read_to_string(here.path().join("term.yaml")).unwrap();
        let name = written.lines().find(|line| line.starts_with("name:")).unwrap().to_owned();
        edit(&here.path().join("term.yaml"), &name, &format!("name: {text}"));
        let ran = run(here.path(), &["check"]);
        assert_eq!(ran.code, 1, "{text}");
        assert!(ran.err.contains(place) && ran.err.contains("term.yaml:"), "{}", ran.err);
        assert!(!hides_something(&ran.err), "{:?}", ran.err);
    }
    let here = planned_term();
    edit(&here.path().join("plan.yaml"), "id: b-0002", r#"id: "b-\e[2J0002""#);
    let ran = run(here.path(), &["show"]);
    assert!(ran.code == 1 && ran.err.contains("plan.yaml:") && !hides_something(&ran.err), "{:?}", ran.err);
    let here = planned_term();
    for words in ["a\u{202e}b", "\u{200b}", "a\u{1b}[31mb"] {
        let ran = run_on(DAY, here.path(), &["record", "note", words]);
        assert!(ran.code == 2 && !hides_something(&ran.err), "{:?}", ran.err);
    }
    let persian = run_on(DAY, here.path(), &["record", "note", "می\u{200c}خواهم", "--by", "👩\u{200d}🌾"]);
    assert_eq!(persian.code, 0, "{}", persian.err);
    fs::write(here.path().join("n.csv"), "day,what,text\n2026-10-08,note,a\u{202e}b\n").unwrap();
    let ran = run_on(DAY, here.path(), &["record", "import", "n.csv"]);
    assert!(ran.err.contains("n.csv:2:17") && ran.err.contains("U+202E"), "{}", ran.err);
}

#[test]
fn arguments_and_file_names_cannot_command_the_screen() {
    let here = tempfile::tempdir().unwrap();
    let nasty = "no\u{1b}[2J\u{202e}where";
    for args in [
        vec!["check", nasty],
        vec!["check", nasty, "--json"],
        vec!["week", "--of", nasty],
        vec![nasty],
        vec!["crops", "show", nasty],
        vec!["--color", "always", "check", nasty],
    ] {
        let ran = run(here.path(), &args);
        let told = format!("{}{}", ran.out, ran.err);
        assert!(ran.code != 0 && !told.is_empty(), "{args:?}");
        let plain = anstream::adapter::strip_str(&told).to_string();
        assert!(!hides_something(&plain) && !told.contains("\u{1b}[2J"), "{told:?}");
    }
}

#[test]
fn rules_that_repeat_within_a_day_are_refused() {
    for rule in ["FREQ=SECONDLY", "FREQ=MINUTELY;COUNT=100000000", "FREQ=DAILY;BYHOUR=1,2;BYSECOND=0,1,2"] {
        let here = term();
        let entry = format!(
            "BEGIN:VEVENT\r\nUID:1\r\nDTSTART;VALUE=DATE:20200101\r\nRRULE:{rule}\r\nSUMMARY:Tick\r\nEND:VEVENT\r\n"
        );
        import_days_off(here.path(), &entry, "");
        let ran = run(here.path(), &["check"]);
        assert!(ran.code == 1 && ran.err.contains("days.ics:6:7"), "{}", ran.err);
        assert!(ran.err.contains("\"Tick\" repeats within a day"), "{}", ran.err);
    }
}

#[test]
fn a_flood_of_days_off_is_refused() {
    for (rule, told) in [
        ("RRULE:FREQ=DAILY;COUNT=900000\r\n", "far too often"),
        ("RRULE:FREQ=DAILY\r\n", "more than 2000 days off"),
        ("", "more than 2000 days off"),
    ] {
        let here = term();
        let entry = |number: u32| {
            format!(
                "BEGIN:VEVENT\r\nUID:{number}\r\nDTSTART;VALUE=DATE:20260921\r\n{rule}SUMMARY:Day {number}\r\nEND:VEVENT\r\n"
            )
        };
        let entries: String = (0..20_000).map(entry).collect();
        let entries = if rule.contains("COUNT") { entries.replace("20260921", "19000101") } else { entries };
        import_days_off(here.path(), &entries, "");
        let ran = run(here.path(), &["check"]);
        assert!(ran.code == 1 && ran.err.contains(told), "{}", ran.err);
    }
}

#[test]
fn whole_days_are_known_by_their_hours() {
    let here = term();
    let entry = |number: u32, dates: &str, title: &str| {
        format!("BEGIN:VEVENT\r\nUID:{number}\r\n{dates}\r\nSUMMARY:{title}\r\nEND:VEVENT\r\n")
    };
    let zoned = |from: &str, to: &str| {
        format!("DTSTART;TZID=America/Chicago:{from}\r\nDTEND;TZID=America/Chicago:{to}")
    };
    let entries = [
        entry(1, &zoned("20261005T000000", "20261006T000000"), "Holiday: founders"),
        entry(2, "DTSTART:20261006T050000Z\r\nDTEND:20261007T050000Z", "Holiday: harvest"),
        entry(3, &zoned("20261008T080000", "20261008T150000"), "Holiday: no school"),
        entry(4, &zoned("20261012T140000", "20261012T153000"), "Holiday planning meeting"),
        entry(5, &zoned("20261015T180000", "20261015T200000"), "Parents' evening"),
        entry(6, &zoned("20261016T080000", "20261016T150000"), "Rehearsal"),
    ];
    import_days_off(here.path(), &entries.concat(), ", words: [holiday], zone: America/Chicago");
    let ran = run(here.path(), &["check"]);
    insta::assert_snapshot!(ran.err);
    // Without words, everything that takes the school day away.
    edit(&here.path().join("term.yaml"), ", words: [holiday]", "");
    let ran = run(here.path(), &["check"]);
    let told = ran.err.replace('\n', " ");
    let taken = "founders (2026-10-05), Holiday: harvest (2026-10-06), Holiday: no school (2026-10-08), Rehearsal (2026-10-16) ";
    assert!(told.contains(taken), "{told}");
    assert!(told.contains("Parents' evening (not all day)"), "{told}");
}

#[test]
fn check_lists_all_that_was_taken_and_left() {
    let here = term();
    let entry = |day: u32| {
        format!(
            "BEGIN:VEVENT\r\nUID:{day}\r\nDTSTART;VALUE=DATE:202611{day:02}\r\nSUMMARY:Talk {day}\r\nEND:VEVENT\r\n"
        )
    };
    let entries: String = (1..=20).map(entry).collect();
    import_days_off(here.path(), &entries, ", words: [break]");
    let checked = run(here.path(), &["check"]).err.replace('\n', " ");
    assert!(checked.contains("Talk 20 (none of the words)") && !checked.contains(" more"), "{checked}");
    let planned = run(here.path(), &["plan", "--effort", "1"]).err.replace('\n', " ");
    assert!(planned.contains("and 8 more (sowtide check lists all)"), "{planned}");
}

#[test]
fn equal_lines_and_open_quotes_of_a_spreadsheet_are_told_by_their_lines() {
    let here = planned_term();
    let twice = "day,what,batch,plants,way,mass\n2026-10-08,harvested,b-0002,2,cut,90 g\n\
                 2026-10-07,note,,,,\n2026-10-08,harvested,b-0002,2,cut,90 g\n";
    let open = "day,what,text\n2026-10-08,note,\"lamp broken\n2026-10-09,note,lamp replaced\n";
    let tank =
        "day,what,batch,tank,site,text\n2026-10-08,tank out,,blue,hall,\n2026-10-09,tank out,,blue,hall,\n";
    let mut told = String::new();
    for text in [&twice.replace("2026-10-07,note,,,,\n", ""), open, tank] {
        fs::write(here.path().join("s.csv"), text).unwrap();
        told.push_str(&typed_on(DAY, here.path(), &[&["record", "import", "s.csv"]]));
        told.push('\n');
    }
    insta::assert_snapshot!(told);
    assert!(!here.path().join("journal.yaml").exists());
}

#[test]
fn years_nobody_means_are_refused() {
    for (file, from, to) in
        [("plan.yaml", "sown: 2026-", "sown: -262143-"), ("term.yaml", "start: 2026-", "start: 1926-")]
    {
        let here = planned_term();
        edit(&here.path().join(file), from, to);
        let ran = run(here.path(), &["sheets", "--kind", "order"]);
        assert!(ran.code == 1 && ran.err.contains("to 2199"), "{}", ran.err);
        assert!(ran.err.contains(file), "{}", ran.err);
    }
    let here = planned_term();
    let ran = run(here.path(), &["week", "--of", "9999-01-01"]);
    assert!(ran.code == 2 && ran.err.contains("from 2000 to 2199"), "{}", ran.err);
}

#[test]
fn numbers_below_zero_are_told_in_plain_words() {
    let here = planned_term();
    let ran = run_on(DAY, here.path(), &["record", "sown", "--batch", "b-0002", "--plugs", "-1"]);
    assert!(ran.code == 2 && ran.err.contains("write a whole number, 0 or more"), "{}", ran.err);
    let ran = run_on(DAY, here.path(), &["record", "withdraw", "-1"]);
    assert!(ran.code == 2 && !ran.err.contains("as a value"), "{}", ran.err);
    for args in [
        ["plan", "--seed", "x"],
        ["plan", "--back-to", "x"],
        ["plan", "--effort", "x"],
        ["show", "--since", "x"],
    ] {
        let ran = run(here.path(), &args);
        assert!(ran.code == 2 && ran.err.contains("write a whole number"), "{}", ran.err);
    }
}

#[test]
fn a_hole_doubled_by_hand_is_no_fault_of_ours() {
    let here = planned_term();
    let plan = fs::read_to_string(here.path().join("plan.yaml")).unwrap();
    let line = plan.lines().find(|line| line.contains(" holes: [")).unwrap();
    let first = line.split(['[', ',']).nth(1).unwrap();
    let second = line.split(['[', ',', ']']).nth(2).unwrap();
    let doubled = line.replacen(&format!("{first},{second}"), &format!("{first}, {first}"), 1);
    assert_ne!(line, doubled);
    edit(&here.path().join("plan.yaml"), line, &doubled);
    let lose = ["record", "lost", "--batch", "b-0002", "--in", "blue", "--plants", "1", "--cause", "snails"];
    assert_eq!(run_on(DAY, here.path(), &lose).code, 0);
    let ran = run_on(DAY, here.path(), &["replan", "--effort", "1"]);
    assert!(!ran.err.contains("fault in sowtide"), "{}", ran.err);
    assert!(ran.code == 0 || ran.err.contains("plan.yaml"), "{}", ran.err);
}

#[test]
fn misnamed_files_are_told() {
    let here = term();
    fs::rename(here.path().join("term.yaml"), here.path().join("term.yml")).unwrap();
    let ran = run(here.path(), &["check"]);
    assert!(ran.code == 1 && ran.err.contains("rename term.yml to term.yaml"), "{}", ran.err);
}

#[test]
fn files_of_others_are_not_written_over_where_no_name_was_given() {
    let here = planned_term();
    let own = "BEGIN:VCALENDAR\nPRODID:-//School//EN\nEND:VCALENDAR\n";
    for command in [&["calendar"][..], &["report"], &["sheets", "--of", "2026-10-08"]] {
        let first = run_on(DAY, here.path(), command);
        assert_eq!(first.code, 0, "{}", first.err);
        let name = first.out.lines().last().unwrap();
        fs::write(here.path().join(name), own).unwrap();
        let ran = run_on(DAY, here.path(), command);
        let told = format!("{name} is there already and is not a");
        assert!(ran.code == 1 && ran.err.contains(&told), "{}", ran.err);
        assert_eq!(fs::read_to_string(here.path().join(name)).unwrap(), own, "{name}");
        fs::remove_file(here.path().join(name)).unwrap();
        for _ in 0..2 {
            let ran = run_on(DAY, here.path(), command);
            assert_eq!(ran.code, 0, "{}", ran.err);
        }
    }
}

#[cfg(unix)]
#[test]
fn pipes_and_devices_are_neither_read_nor_written() {
    use std::process::Command;
    let here = planned_term();
    let pipe = |name: &str| {
        let made = Command::new("mkfifo").arg(here.path().join(name)).status().unwrap();
        assert!(made.success());
    };
    for name in ["/dev/null", "pipe.html"] {
        if name == "pipe.html" {
            pipe(name);
        }
        let ran = run_on(DAY, here.path(), &["report", "--out", name]);
        assert!(ran.code == 1 && ran.err.contains("is no file, but a device or a pipe"), "{}", ran.err);
    }
    pipe("crops/endive.yaml");
    let ran = run_on(DAY, here.path(), &["check"]);
    assert!(ran.code == 1 && ran.err.contains("no file, but a device or a pipe"), "{} {}", ran.out, ran.err);
}

#[test]
fn a_journal_behind_which_nothing_can_be_put_is_told_by_its_line() {
    let here = planned_term();
    let note = "- id: j001\n  recorded: 2026-09-01T12:00:00Z\n  day: 2026-09-07\n  what: note\n  text: a\n";
    for (text, line) in [
        ("format: 1\nentries: []\n".to_owned(), 2),
        (format!("entries:\n{note}format: 1\n"), 7),
        (format!("format: 1\nentries:\n{note}...\n"), 8),
    ] {
        fs::write(here.path().join("journal.yaml"), &text).unwrap();
        let ran = run_on(DAY, here.path(), &["record", "note", "b"]);
        assert_eq!(ran.code, 1, "{text}");
        let place = format!("journal.yaml:{line}:1");
        assert!(
            ran.err.contains(&place) && ran.err.contains("new entries cannot be put behind"),
            "{}",
            ran.err
        );
        assert_eq!(fs::read_to_string(here.path().join("journal.yaml")).unwrap(), text);
    }
    fs::write(here.path().join("journal.yaml"), "").unwrap();
    let ran = run_on(DAY, here.path(), &["record", "note", "b"]);
    assert!(ran.err.contains("remove the file; the next entry makes a new one"), "{}", ran.err);
}
