//! One mistake at a time, put into a term that reads well.

mod ahead;
mod promises;
mod supplies;
mod wishes;

use super::*;
use crate::files::library::Library;
use crate::files::store::Memory;

const SOUND: &str = "\
format: 1
name: Test term
start: 2027-01-11
end: 2027-05-14
breaks:
  - { name: winter break, first: 2027-02-15, last: 2027-02-19 }
closures:
  - { name: fair, day: 2027-03-08 }
sites:
  - id: room
    class-days: [Monday, Thursday]
    nursery: { cells: 48, unattended-days: 4 }
    tanks:
      - { id: a, count: 2, holes: 4 x 6, spacing: 15 cm, litres: 60, ec: 1.6, ph: 6.0 }
target:
  every: Thursday
  from: 2027-02-25
  servings: 20
  serving: 25 g
crops:
  - oakleaf
  - { crop: mizuna, way: cut }
  - spinach
rules:
  kinds: 2
standing:
  - { batch: old-1, crop: mizuna, site: room, sown: 2026-12-20, plants: 3,
      tank: a-1, transplanted: 2027-01-04, holes: [3, 5, 6] }
  - { batch: old-2, crop: oakleaf, site: room, sown: 2026-12-28, plants: 10 }
";

fn outcome(text: &str) -> Result<ReadTerm, Problems> {
    let file = TextFile::new("term.yaml", text);
    read_text(&file, &Memory::new(), Library::builtin().unwrap(), &[])
}

/// What is told after each replacement, one line a mistake.
fn told(changes: &[(&str, &str)]) -> String {
    let mut lines = Vec::new();
    for (old, new) in changes {
        assert!(SOUND.contains(old), "{old:?} is not in the term");
        let shown = new.replace('\n', " ");
        lines.push(format!("== {}", if shown.is_empty() { "(left out)" } else { shown.trim() }));
        match outcome(&SOUND.replacen(old, new, 1)) {
            Ok(read) => lines.extend(read.remarks.iter().map(ToString::to_string)),
            Err(problems) => lines.extend(problems.iter().map(|problem| {
                let (line, column) = (problem.line().unwrap_or(0), problem.column().unwrap_or(0));
                format!("{line}:{column} {} | {}", problem.message(), problem.help())
            })),
        }
    }
    lines.join("\n")
}

#[test]
fn the_term_reads_well_before_a_mistake_is_put_in() {
    let read = outcome(SOUND).unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!(read.remarks, []);
    let site = &read.term.sites[0];
    assert_eq!(site.name, "room");
    // 18 weeks of two days, less the break and the fair on a Monday.
    assert_eq!(site.class_days.len(), 2 * 18 - 2 - 1);
    assert_eq!(site.tanks[1].id.as_str(), "a-2");
    assert_eq!(read.term.servings.len(), 12);
    assert!((read.term.servings[0].grams - 500.0).abs() < 1e-9);
}

#[test]
fn mistakes_of_the_file_as_a_whole() {
    insta::assert_snapshot!(told(&[
        ("format: 1\n", ""),
        ("format: 1", "format: 2"),
        ("name: Test term", "nmae: Test term"),
        ("name: Test term", "name:"),
        ("name: Test term", "name: [a, b]"),
        ("closures:", "breaks:"),
        ("closures:", "holidays:"),
    ]), @r#"
        == (left out)
        1:1 "format" is missing here | add a line such as format: 1
        == format: 2
        1:9 this format of term file is not known | write format: 1, or use a newer Sowtide if the file was made with one
        == nmae: Test term
        1:1 "name" is missing here | add a line such as name: Autumn term
        2:1 unknown key "nmae" | did you mean "name"?
        == name:
        2:5 the value is missing | write it after the colon, or remove the line
        == name: [a, b]
        2:7 a single value was expected here | write only one value
        == breaks:
        7:1 "breaks" is given twice | keep only one of them
        == holidays:
        7:1 unknown key "holidays" | known here: format, name, start, end, next-term-starts, breaks, closures, import, sites, target, crops, rules, standing, arrivals, supplies
        "#);
}

#[test]
fn mistakes_of_the_calendar() {
    insta::assert_snapshot!(told(&[
        ("start: 2027-01-11", "start: 11.1.2027"),
        ("start: 2027-01-11", "start: 2027-02-30"),
        ("start: 2027-01-11", "start: 2027-13-01"),
        ("start: 2027-01-11", "start: 0027-01-11"),
        ("end: 2027-05-14", "end: 2027-01-10"),
        ("end: 2027-05-14", "end: 2028-05-14"),
        ("end: 2027-05-14", "end: 2027-03-05"),
        ("last: 2027-02-19", "last: 2027-02-09"),
        ("last: 2027-02-19 }", "day: 2027-02-19 }"),
        (", last: 2027-02-19", ""),
        ("name: fair, ", ""),
        ("day: 2027-03-08", "day: 2026-03-08"),
        ("- { name: fair, day: 2027-03-08 }", "- fair"),
        ("closures:\n  - { name: fair, day: 2027-03-08 }", "  - { name: trip, first: 2027-02-23, last: 2027-02-24 }\nclosures:\n  - { name: fair, day: 2027-02-22 }"),
        ("closures:", "  - { name: trip, first: 2027-02-20, last: 2027-02-24 }\nclosures:"),
        ("closures:", "import: [{ file: none.ics, kind: holiday, timed: maybe, zone: Paris }]\nclosures:"),
        ("closures:", "import: [{ file: none.ics, kind: break }]\nclosures:"),
    ]), @r#"
        == start: 11.1.2027
        3:8 "11.1.2027" is not a date | write year-month-day, such as 2026-09-01
        == start: 2027-02-30
        3:8 "2027-02-30" is not a date | this month ends on day 28
        == start: 2027-13-01
        3:8 "2027-13-01" is not a date | months run from 01 to 12; the order is year-month-day
        == start: 0027-01-11
        3:8 "0027-01-11" is not a date | use a year from 2000 to 2199
        == end: 2027-01-10
        4:6 the term ends before it starts | write 2027-01-11 or a later day
        == end: 2028-05-14
        4:6 this term is too long to plan | plan at most 400 days at a time: up to 2028-02-15
        == end: 2027-03-05
        8:24 Mon 2027-03-08 lies after the term ends | the term runs from 2027-01-11 to 2027-03-05
        == last: 2027-02-09
        6:52 this ends before it begins | write a day from 2027-02-15 on, or swap first and last
        == day: 2027-02-19 }
        6:46 "day" does not go with "first" and "last" | write either day, or first and last
        == (left out)
        6:7 "last" is missing here | add a line such as last: 2026-10-16
        == (left out)
        8:7 "name" is missing here | add a line such as name: autumn break
        == day: 2026-03-08
        8:24 Sun 2026-03-08 lies before the term starts | the term runs from 2027-01-11 to 2027-05-14
        == - fair
        8:5 keys with values were expected here | write each as "key: value" on a line of its own, indented
        == - { name: trip, first: 2027-02-23, last: 2027-02-24 } closures:   - { name: fair, day: 2027-02-22 }
        7:26 room: there is no class day between "winter break" and "trip" | write one break from 2027-02-15 to 2027-02-24, or give this site an extra class day between them
        == - { name: trip, first: 2027-02-20, last: 2027-02-24 } closures:
        == import: [{ file: none.ics, kind: holiday, timed: maybe, zone: Paris }] closures:
        7:34 "holiday" is not known here | known here: break, closure
        7:50 "maybe" is not known here | write yes or no
        7:63 this time zone is not known | write continent and city, such as Europe/Paris or America/Chicago
        == import: [{ file: none.ics, kind: break }] closures:
        7:18 there is no such calendar file | put the calendar file there: none.ics
        "#);
}

#[test]
fn mistakes_of_sites() {
    insta::assert_snapshot!(told(&[
        ("id: room", "id: Room 1"),
        ("class-days: [Monday, Thursday]", "class-days: [Mon, Thursdy]"),
        ("class-days: [Monday, Thursday]", "class-days: [Mon, Thu, Monday]"),
        ("class-days: [Monday, Thursday]", "class-days: []"),
        ("class-days: [Monday, Thursday]", "class_days: [Monday, Thursday]"),
        ("    nursery:", "    extra-class-days: [2027-06-01, 2027-02-17]\n    nursery:"),
        ("    nursery:", "    pace: 3\n    yield: -1\n    minutes-a-day: ten\n    sowings-a-day: 1.5\n    nursery:"),
        ("cells: 48, unattended-days: 4", "cells: 0"),
        ("cells: 48", "cells: 99999999999999999999999999"),
        ("cells: 48", "cells: .nan"),
        ("target:", "  - { id: room, class-days: Fri, nursery: { cells: 9, unattended-days: 3 }, tanks: [] }\ntarget:"),
    ]), @r#"
        == id: Room 1
        10:9 "Room 1" cannot be a short name | use 1 to 40 lower-case letters a to z, digits and hyphens, such as room-12
        == class-days: [Mon, Thursdy]
        11:23 "Thursdy" is not a weekday | did you mean "Thursday"?
        == class-days: [Mon, Thu, Monday]
        11:28 this weekday is listed twice | name each once
        == class-days: []
        11:17 no class day is left in the term | add a weekday, or check the days off
        == class_days: [Monday, Thursday]
        10:5 "class-days" is missing here | add a line such as class-days: [Monday, Thursday]
        11:5 unknown key "class_days" | did you mean "class-days"?
        == extra-class-days: [2027-06-01, 2027-02-17]     nursery:
        12:24 Tue 2027-06-01 lies after the term ends | the term runs from 2027-01-11 to 2027-05-14
        == pace: 3     yield: -1     minutes-a-day: ten     sowings-a-day: 1.5     nursery:
        12:11 this is too large | write a number from 0.5 to 2
        13:12 this is too small | write a number from 0.2 to 2
        14:20 "ten" is not a number | write a number from 1 to 1440
        15:20 "1.5" is not a whole number | write a whole number from 1 to 100
        == cells: 0
        12:16 "unattended-days" is missing here | add a line such as unattended-days: 4
        12:23 this is too small | write a whole number from 1 to 10000
        == cells: 99999999999999999999999999
        12:23 this is too large | write a whole number from 1 to 10000
        == cells: .nan
        12:23 ".nan" is not a whole number | write a whole number from 1 to 10000
        == - { id: room, class-days: Fri, nursery: { cells: 9, unattended-days: 3 }, tanks: [] } target:
        15:11 there are two sites "room" | give each site an id of its own
        15:77 there is no tank | add at least one tank with its holes and solution
        "#);
}

#[test]
fn mistakes_of_tanks() {
    insta::assert_snapshot!(told(&[
        ("4 x 6", "24"),
        ("4 x 6", "0 x 6"),
        ("15 cm", "15"),
        ("15 cm", "-15 cm"),
        ("15 cm", "15 miles"),
        ("litres: 60", "water: 60"),
        ("litres: 60", "litres: 60, gallons: 15"),
        ("ec: 1.6, ph: 6.0", "ec: 16, ph: 1e1"),
        ("ec: 1.6, ph: 6.0", "ec: \"1,6\""),
        ("      - { id: a, count: 2,", "      - { id: a-1, holes: 1 x 1, spacing: 9 cm, litres: 9, ec: 1.6, ph: 6 }\n      - { id: a, count: 2,"),
    ]), @r#"
        == 24
        14:35 "24" is not rows and columns of holes | write rows x columns, each from 1 to 50, such as 4 x 6
        == 0 x 6
        14:35 "0 x 6" is not rows and columns of holes | write rows x columns, each from 1 to 50, such as 4 x 6
        == 15
        14:51 "15" is not a length | the unit is missing: write 15 cm or 6 in
        == -15 cm
        14:51 "-15 cm" is not a length | must lie between 0 cm and 100 m
        == 15 miles
        14:51 "15 miles" is not a length | unknown unit "miles": write 15 cm or 6 in
        == water: 60
        14:11 "litres" is missing here | add a line such as litres: 40 (or gallons: 10), the water plants can draw
        14:58 unknown key "water" | known here: id, count, holes, spacing, litres, gallons, reservoir, ec, ph
        == litres: 60, gallons: 15
        14:70 the water is given both in litres and in gallons | keep one of the two
        == ec: 16, ph: 1e1
        14:74 this is too large | write a number from 0.2 to 6
        14:82 "1e1" is not a number | write a number from 4 to 8.5
        == ec: "1,6"
        14:11 "ph" is missing here | add a line such as ph: 6.0
        14:74 "1,6" is not a number | write a number from 0.2 to 6
        == - { id: a-1, holes: 1 x 1, spacing: 9 cm, litres: 9, ec: 1.6, ph: 6 }       - { id: a, count: 2,
        15:15 there are two tanks "a-1" at this site | give each tank an id of its own
        "#);
}
