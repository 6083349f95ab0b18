//! Terms that go on into the next one.

use super::*;
use crate::domain::ahead::Ahead;

const END: &str = "end: 2027-05-14\n";

fn going_on(next: &str) -> String {
    SOUND.replacen(END, &format!("{END}next-term-starts: {next}\n"), 1)
}

#[test]
fn six_weeks_of_the_next_term_are_planned_ahead_and_nobody_comes_before_it() {
    let day = |text: &str| text.parse::<chrono::NaiveDate>().unwrap();
    let term = outcome(&going_on("2027-06-07")).unwrap().term;
    assert_eq!(term.ahead, Some(Ahead { last: day("2027-05-14"), next: day("2027-06-07") }));
    assert_eq!((term.own_end(), term.end), (day("2027-05-14"), day("2027-07-18")));
    let closed = day("2027-05-15")..=day("2027-06-06");
    assert!(term.sites[0].class_days.iter().all(|class| !closed.contains(class)));
    assert!(term.servings.iter().all(|serving| !closed.contains(&serving.date)));
    assert_eq!(term.sites[0].class_days.last(), Some(&day("2027-07-15")));
    assert_eq!(term.servings.last().unwrap().date, day("2027-07-15"));
    // Without what is planned ahead it is the term that nobody said more of.
    let own = term.of_its_own();
    let plain = outcome(SOUND).unwrap().term;
    assert_eq!((own.end, own.servings), (plain.end, plain.servings));
    assert_eq!(own.sites[0].class_days, plain.sites[0].class_days);
}

#[test]
fn a_next_term_may_begin_on_the_very_next_day() {
    let term = outcome(&going_on("2027-05-15")).unwrap().term;
    assert!(term.sites[0].days_off.iter().all(|off| off.name != "between the terms"));
}

#[test]
fn a_next_term_cannot_begin_before_this_one_ends_nor_far_away() {
    insta::assert_snapshot!(told(&[
        (END, "end: 2027-05-14\nnext-term-starts: 2027-05-14\n"),
        (END, "end: 2027-05-14\nnext-term-starts: 2028-01-10\n"),
        (END, "end: 2027-05-14\nnext-term-starts: in June\n"),
        (END, "end: 2027-05-14\nnext-term-start: 2027-06-07\n"),
    ]));
}
