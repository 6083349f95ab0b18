//! Reading term files, seen from outside.

use sowtide::files::term_file::{self, ReadTerm};
use std::path::Path;

fn example(name: &str) -> ReadTerm {
    term_file::read(&Path::new("examples").join(name)).unwrap_or_else(|problems| panic!("{problems}"))
}

#[test]
fn the_examples_read_without_a_mistake() {
    for (name, sites, holes, servings) in [
        ("one-room", 1, 24, 7),
        ("school", 6, 432, 11),
        ("too-much", 2, 42, 15),
    ] {
        let term = example(name).term;
        let tanks = term.sites.iter().flat_map(|site| &site.tanks);
        assert_eq!(term.sites.len(), sites, "{name}");
        assert_eq!(tanks.map(|tank| tank.lid.holes()).sum::<u32>(), holes, "{name}");
        assert_eq!(term.servings.len(), servings, "{name}");
    }
}

#[test]
fn what_was_imported_and_what_was_left_is_told() {
    insta::assert_snapshot!(example("school").remarks.join("\n"), @r#"
        North building: days-off.ics: taken as closures: Building closed: heating repair (2027-01-26), Fire safety inspection (2027-02-02), Fire safety inspection (2027-03-02), Building closed, roof work (2027-03-16 to 2027-03-18), Fire safety inspection (2027-05-04)
        North building: days-off.ics: left: Book fair (none of the words), Parents' meeting (not all day), Building closed: paint work (cancelled)
        Kitchen annex: Thu 2027-04-01 is a class day although it lies in "spring break"
        "#);
}
