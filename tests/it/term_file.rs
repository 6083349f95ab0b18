//! Reading term files, seen from outside.

use chrono::NaiveDate;
use proptest::prelude::*;
use sowtide::files::new_term;
use sowtide::files::problem::Problem;
use sowtide::files::remark::Remark;
use sowtide::files::store::Disk;
use sowtide::files::term_file::{self, ReadTerm};
use std::path::Path;

fn example(name: &str) -> ReadTerm {
    term_file::read(&Disk::at(Path::new("examples").join(name)))
        .unwrap_or_else(|problems| panic!("{problems}"))
}

#[test]
fn the_examples_read_without_a_mistake() {
    for (name, sites, holes, servings) in
        [("one-room", 1, 24, 7), ("school", 6, 432, 11), ("too-much", 2, 42, 15)]
    {
        let term = example(name).term;
        let tanks = term.sites.iter().flat_map(|site| &site.tanks);
        assert_eq!(term.sites.len(), sites, "{name}");
        assert_eq!(tanks.map(|tank| tank.lid.holes()).sum::<u32>(), holes, "{name}");
        assert_eq!(term.servings.len(), servings, "{name}");
    }
}

fn told_of(remarks: &[Remark]) -> String {
    remarks.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

#[test]
fn what_was_imported_and_what_was_left_is_told() {
    insta::assert_snapshot!(told_of(&example("school").remarks), @r#"
        North building: days-off.ics: taken as closures: Building closed: heating repair (2027-01-26), Fire safety inspection (2027-02-02), Fire safety inspection (2027-03-02), Building closed, roof work (2027-03-16 to 2027-03-18), Fire safety inspection (2027-05-04)
        North building: days-off.ics: left: Book fair (none of the words), Parents' meeting (not all day), Building closed: paint work (cancelled)
        Kitchen annex: Thu 2027-04-01 is a class day although it lies in "spring break"
        "#);
}

/// Where nobody comes from one Tuesday to the next, seedlings that last three days cannot be raised; a warm room under
/// long lamps is told of by crop, with what its note says.
#[test]
fn what_a_site_is_like_is_held_against_what_plants_need() {
    let here = tempfile::tempdir().unwrap();
    let store = Disk::at(here.path());
    new_term::create(&store, "2027-01-18".parse().unwrap()).unwrap();
    let path = here.path().join("term.yaml");
    let text = std::fs::read_to_string(&path).unwrap();
    let told = |changes: &[(&str, &str)]| {
        let changed = changes.iter().fold(text.clone(), |text, (old, new)| {
            assert!(text.contains(old), "{old}");
            text.replacen(old, new, 1)
        });
        std::fs::write(&path, changed).unwrap();
        told_of(&term_file::read(&store).unwrap_or_else(|problems| panic!("{problems}")).remarks)
    };
    let tuesdays = ("class-days: [Tuesday, Friday]", "class-days: [Tuesday]\n    looks-in: only class days");
    assert!(
        told(&[tuesdays])
            .contains("Room 1: nothing can be raised in the nursery. Seedlings there last 4 days")
    );
    assert_eq!(told(&[("class-days: [Tuesday, Friday]", "class-days: [Tuesday]")]), "", "others look in");
    let room = "    air: { low: 18 C, high: 29 C }\n    lamps: 18 h\n    tanks:";
    let warm = told(&[("    tanks:", room)]);
    assert!(warm.contains("Room 1: the room gets warmer than Spinach likes"), "{warm}");
    assert!(warm.contains("The lamps are on for 18 hours a day."), "{warm}");
    assert_eq!(told(&[("    tanks:", "    air: { low: 19 C, high: 20 C }\n    tanks:")]), "");
    // Every other hole is 16.97 cm away there, but 18 cm are wanted.
    let close = told(&[("spacing: 15 cm", "spacing: 12 cm")]);
    let wider = "Room 1: where holes are 12 cm (4.7 in) apart, Oakleaf lettuce (loose-leaf) takes 4 holes a plant; 12.8 cm (5.1 in) apart, it would take 2";
    assert!(close.contains(wider), "{close}");
    assert_eq!(told(&[("spacing: 15 cm", "spacing: 12.8 cm")]), "");
}

/// The commonest slip, and what people write for days on which nobody comes besides classes.
#[test]
fn days_without_brackets_are_shown_with_them() {
    let text = new_term::text("2027-01-18".parse().unwrap());
    let told_with = |days: &str| told(text.replacen("class-days: [Tuesday, Friday]", days, 1).as_bytes());
    let commas = told_with("class-days: Tuesday, Friday");
    assert!(commas.contains("write several days in brackets: [Tuesday, Friday]"), "{commas}");
    let words = told_with("class-days: [Tuesday]\n    looks-in: class days only");
    assert!(words.contains("or: only class days"), "{words}");
    assert_eq!(told_with("class-days: Tuesday\n    looks-in: Friday"), "My first term");
}

/// A term file alone in a folder.
fn told(text: &[u8]) -> String {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("term.yaml"), text).unwrap();
    match term_file::read(&Disk::at(folder.path())) {
        Ok(read) => read.term.name,
        Err(problems) => {
            // Every way of showing the mistakes must work for any of them.
            for problem in problems.iter() {
                assert!(!problem.message().is_empty() && !problem.help().is_empty());
                assert_eq!(problem.line().is_some(), problem.column().is_some());
            }
            assert!(!problems.render(true).is_empty());
            problems.to_string().replace(&folder.path().display().to_string(), "my-term")
        }
    }
}

#[test]
fn all_mistakes_are_shown_in_one_run() {
    let text = "\
format: 1
name: Autumn term
start: 2026-08-31
end: 2026-12-18
breaks:
  - name: autumn break
    first: 2026-10-16
    last: 2026-10-12
sites:
  - id: room-12
    class-days: [Mon, Thrusday]
    nursery:
      cells: -48
      unattended-days: 4
    tank:
      - { id: a, holes: 4 x 6, spacing: 15 cm, litres: 60, ec: 1.6, ph: 6.0 }
target:
  every: Thursday
  servings: 120
  serving: 47
crops:
  - oakleaf
  - buterhead
  - crop: basil
    at-most: 5
";
    insta::assert_snapshot!(told(text.as_bytes()), @r#"
        error: this ends before it begins
         --> my-term/term.yaml:8:11
          |
        8 |     last: 2026-10-12
          |           ^^^^^^^^^^
          |
          = help: write a day from 2026-10-16 on, or swap first and last

        error: "tanks" is missing here
          --> my-term/term.yaml:10:5
           |
        10 |   - id: room-12
           |     ^^
           |
           = help: add a line such as tanks: with a list of tanks below it

        error: "Thrusday" is not a weekday
          --> my-term/term.yaml:11:23
           |
        11 |     class-days: [Mon, Thrusday]
           |                       ^^^^^^^^
           |
           = help: did you mean "Thursday"?

        error: this is too small
          --> my-term/term.yaml:13:14
           |
        13 |       cells: -48
           |              ^^^
           |
           = help: write a whole number from 1 to 10000

        error: unknown key "tank"
          --> my-term/term.yaml:15:5
           |
        15 |     tank:
           |     ^^^^
           |
           = help: did you mean "tanks"?

        error: "47" is not a mass
          --> my-term/term.yaml:20:12
           |
        20 |   serving: 47
           |            ^^
           |
           = help: the unit is missing: write 150 g, 1.2 kg, 5 oz, 2 lb or 3 lb 4 oz

        error: unknown crop "buterhead"
          --> my-term/term.yaml:23:5
           |
        23 |   - buterhead
           |     ^^^^^^^^^
           |
           = help: did you mean "butterhead"?

        error: "5" is not a share in per cent
          --> my-term/term.yaml:25:14
           |
        25 |     at-most: 5
           |              ^
           |
           = help: write a share from 1 % to 100 %, such as 5 %
        "#);
}

#[test]
fn text_that_is_no_yaml_is_shown_where_it_breaks() {
    insta::assert_snapshot!(told(b"format: 1\nname: \"Autumn\nstart: 2026-08-31\n"), @r#"
        error: this quotation mark is never closed
         --> my-term/term.yaml:2:7
          |
        2 | name: "Autumn
          |       ^
          |
          = help: write another one at the end of the text
        "#);
    insta::assert_snapshot!(told(b"format: 1\nname: x\n\tstart: 2026-08-31\n"), @r#"
        error: a tab stands where spaces are needed
         --> my-term/term.yaml:3:1
          |
        3 |     start: 2026-08-31
          | ^
          |
          = help: replace every tab by spaces
        "#);
    insta::assert_snapshot!(told(b"\xff\xfe\x00binary"), @r#"
        error: this is not plain text from here on
         --> my-term/term.yaml:1:1
          |
        1 |
          | ^
          |
          = help: open it in a text editor and save it as UTF-8 text
        "#);
    insta::assert_snapshot!(told(b""), @r#"
        error: there is nothing in this file
        --> my-term/term.yaml
         = help: start from a new term or an example
        "#);
}

#[test]
fn a_folder_without_a_term_says_how_to_start_one() {
    let problems = term_file::read(&Disk::at("no-such-folder")).unwrap_err();
    insta::assert_snapshot!(problems, @r#"
        error: there is no term here
        --> no-such-folder/term.yaml
         = help: name the folder of a term, or start one with: sowtide new FOLDER
        "#);
}

#[test]
fn mistakes_in_own_crops_and_calendars_come_with_those_of_the_term() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("crops")).unwrap();
    std::fs::write(folder.path().join("crops/our-mix.yaml"), "format: 1\nname: Our mix\n").unwrap();
    std::fs::write(folder.path().join("days.ics"), "not a calendar").unwrap();
    let term = new_term::text(NaiveDate::from_ymd_opt(2027, 1, 18).unwrap())
        .replace("  - oakleaf", "  - our-mix\n  - oakleaff")
        .replace("sites:", "import: { file: days.ics, kind: break }\nsites:");
    std::fs::write(folder.path().join("term.yaml"), term).unwrap();
    let problems = term_file::read(&Disk::at(folder.path())).unwrap_err();
    let told: Vec<&str> = problems.iter().map(Problem::message).collect();
    assert!(told.iter().any(|told| told.contains("\"scientific_name\" is missing")), "{told:?}");
    assert!(told.contains(&"this is not a calendar file"), "{told:?}");
    assert!(told.contains(&"unknown crop \"oakleaff\""), "{told:?}");
    assert!(!told.iter().any(|told| told.contains("our-mix")), "{told:?}");
}

#[test]
fn a_byte_order_mark_and_line_ends_of_other_systems_do_no_harm() {
    let text = std::fs::read_to_string("examples/one-room/term.yaml").unwrap();
    let changed = format!("\u{feff}{}", text.replace('\n', "\r\n"));
    assert_eq!(told(changed.as_bytes()), "Room 3, late winter");
}

/// Texts that once might have cost a stack, a loop without end or a panic.
#[test]
fn hostile_texts_end_in_a_message() {
    let deep = "a: ".to_owned() + &"[".repeat(100_000);
    let blocks: Vec<String> = (0..1_000).map(|depth| " ".repeat(depth) + "- x:\n").collect();
    let blocks = blocks.concat();
    let aliases: String = std::iter::once("a0: &a0 [x, x, x, x, x, x, x, x, x]\n".to_owned())
        .chain((1..9).map(|n| format!("a{n}: &a{n} [{}]\n", vec![format!("*a{}", n - 1); 9].join(", "))))
        .collect();
    let long = format!("name: {}", "x".repeat(1_000_000));
    let huge = "format: 1\nstart: 999999999-01-01\nend: -5\nsites: [{ tanks: [{ count: 1e308, holes: 99999999999 x 9 }] }]\n";
    let many = format!("crops: [{}]", vec!["x"; 2_000].join(", "));
    for text in [
        deep.as_str(),
        &blocks,
        &aliases,
        &long,
        huge,
        &many,
        "? [a]\n: b",
        "<<: {a: 1}",
        "- - -",
        "!!int x",
        "\u{0}",
    ] {
        assert!(told(text.as_bytes()).contains("error"), "{}", &text[..text.len().min(40)]);
    }
}

/// The school example with a few bytes changed: most of it still makes sense to the readers, so the
/// deeper checks are reached.
fn damaged() -> impl Strategy<Value = Vec<u8>> {
    let text = std::fs::read("examples/school/term.yaml").unwrap();
    let length = text.len();
    let piece = prop_oneof![
        Just(String::new()),
        Just("-".to_owned()),
        Just("\n".to_owned()),
        Just("2027-02-30".to_owned()),
        Just("99999999999".to_owned()),
        Just("[".to_owned()),
        Just(": ".to_owned()),
        "[0-9a-z%:.# \u{e4}-]{1,6}",
    ];
    prop::collection::vec((0..length, 0..12_usize, piece), 1..4).prop_map(move |changes| {
        let mut bytes = text.clone();
        for (at, removed, put) in changes {
            let at = at.min(bytes.len());
            let end = (at + removed).min(bytes.len());
            bytes.splice(at..end, put.into_bytes());
        }
        bytes
    })
}

proptest! {
    #![proptest_config(crate::support::few(150))]

    #[test]
    fn damaged_terms_never_break_the_reader(bytes in damaged()) {
        told(&bytes);
    }

    #[test]
    fn any_bytes_never_break_the_reader(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        told(&bytes);
    }

    #[test]
    fn any_calendar_never_breaks_the_import(
        start in "[0-9TZ]{8,16}",
        rule in "FREQ=(DAILY|WEEKLY|MONTHLY|YEARLY|HOURLY)(;(COUNT|INTERVAL)=[0-9]{1,3})?(;BYDAY=-?[0-9]?(MO|SU))?(;UNTIL=[0-9TZ]{8,16})?",
        length in "P[0-9]{1,6}[WDT]|PT[0-9]{1,9}[HMS]",
    ) {
        let entry = format!("BEGIN:VEVENT\r\nUID:1\r\nDTSTART:{start}\r\nDURATION:{length}\r\nRRULE:{rule}\r\nSUMMARY:x\r\nEND:VEVENT\r\n");
        let calendar = format!("BEGIN:VCALENDAR\r\nVERSION:2.0\r\n{entry}END:VCALENDAR\r\n");
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("days.ics"), calendar).unwrap();
        let term = new_term::text(NaiveDate::from_ymd_opt(2027, 1, 18).unwrap())
            .replace("sites:", "import: { file: days.ics, kind: closure, timed: yes }\nsites:");
        std::fs::write(folder.path().join("term.yaml"), term).unwrap();
        let _ = term_file::read(&Disk::at(folder.path()));
    }
}
