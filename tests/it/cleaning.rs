//! Tanks are emptied and cleaned every so many weeks.

use crate::properties::plan;
use crate::sheets::words;
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{cutter, head};
use crate::support::sheets::whole_term;
use chrono::NaiveDate;
use chrono::Weekday::{Fri, Tue};
use sowtide::check::{Rule, check};
use sowtide::domain::calendar::days_between;
use sowtide::domain::ids::TankId;
use sowtide::domain::plan::{Part, Plan};
use sowtide::domain::term::Term;
use sowtide::domain::water::{Cleaning, Solution};
use sowtide::report::sheets::{Kind, Paper, files};

/// Sixteen weeks of a room with two tanks, and more wanted than they hold.
fn term(clean_every: Option<u32>) -> Term {
    TermBuilder::default()
        .weeks(16)
        .site(site("hall").meets(&[Tue, Fri]).tank(tank("a", 4, 6)).tank(tank("b", 3, 4)))
        .serves(Fri, 900.0)
        .crop(wanted(head("round")))
        .crop(wanted(cutter("oakleaf")))
        .rules(|rules| rules.clean_every = clean_every)
        .build()
}

fn parts<'a>(plan: &'a Plan, tank: &'a TankId) -> impl Iterator<Item = &'a Part> {
    plan.batches.iter().flat_map(|batch| &batch.parts).filter(move |part| part.tank == *tank)
}

/// Class days on which nothing stays in a tank.
fn empty(term: &Term, plan: &Plan, tank: &TankId) -> Vec<NaiveDate> {
    let stays =
        |day: NaiveDate| parts(plan, tank).any(|part| part.transplant < day && day < part.leaves().unwrap());
    term.sites[0].class_days.iter().copied().filter(|day| !stays(*day)).collect()
}

/// Most days from one class day on which a tank is empty to the next.
fn longest(term: &Term, plan: &Plan) -> i64 {
    let gaps = term.sites[0].tanks.iter().flat_map(|tank| {
        let empty = empty(term, plan, &tank.id);
        empty.windows(2).map(|pair| days_between(pair[0], pair[1])).collect::<Vec<_>>()
    });
    gaps.max().unwrap()
}

#[test]
fn tanks_are_empty_in_time() {
    let (seldom, often) = (term(None), term(Some(6)));
    let (never, cleaned) = (plan(&seldom, 1, 100).unwrap(), plan(&often, 1, 100).unwrap());
    assert_eq!(check(&seldom, &never), []);
    assert_eq!(check(&often, &cleaned), []);
    assert!(longest(&seldom, &never) > 6 * 7, "without the rule there is nothing to show");
    assert!(longest(&often, &cleaned) <= 6 * 7);
}

#[test]
fn a_tank_that_is_never_empty_is_told() {
    let never = plan(&term(None), 1, 100).unwrap();
    let found = check(&term(Some(6)), &never);
    assert!(!found.is_empty() && found.iter().all(|violation| violation.rule == Rule::Cleaning), "{found:?}");
    for violation in &found {
        let told = violation.to_string();
        let due = violation.date.unwrap().format("%a %-d %b %Y");
        assert!(told.starts_with(&format!("{due}, site hall: tank ")), "{told}");
        assert!(told.contains(" has plants from "), "{told}");
        let end =
            format!("it should be empty on a class day by {due}, so that it can be cleaned every 6 weeks");
        assert!(told.ends_with(&end), "{told}");
    }
}

/// Once a plan is under way, what stands is kept until it can be harvested; what comes after that is in the way.
#[test]
fn plants_of_before_may_stay_until_they_are_harvested() {
    let often = term(Some(6));
    let never = plan(&term(None), 1, 100).unwrap();
    let due = check(&often, &never).iter().filter_map(|violation| violation.date).min().unwrap();
    let today = *often.sites[0].class_days.iter().find(|day| **day > due).unwrap();
    let told = |plan: &Plan| check(&often, plan).iter().filter(|found| found.rule == Rule::Cleaning).count();
    let mut kept = Plan { replanned: Some(today), ..never.clone() };
    assert!(told(&kept) > 0);
    for batch in &mut kept.batches {
        batch.parts.retain(|part| part.transplant < today);
    }
    assert_eq!(told(&kept), 0);
    kept.replanned = None;
    assert!(told(&kept) > 0, "it takes longer than six weeks");
}

#[test]
fn the_care_sheet_of_the_week_says_what_to_do() {
    let term = term(Some(6));
    let plan = plan(&term, 1, 100).unwrap();
    let own = &term.sites[0];
    for tank in &own.tanks {
        let solution = Solution::of(&term, &plan, own, &tank.id);
        assert!(!solution.cleanings.is_empty());
        let empty = empty(&term, &plan, &tank.id);
        for Cleaning { day, filled } in &solution.cleanings {
            let next = parts(&plan, &tank.id).map(|part| part.transplant).filter(|moved| moved >= day).min();
            assert_eq!(next, Some(*filled));
            let change = |other: &NaiveDate| (0..=10).contains(&days_between(*other, *day));
            assert!(!solution.changes.iter().any(change), "a change just before {day}");
            assert!(empty.contains(day) && !solution.changes.contains(day));
            assert!(
                parts(&plan, &tank.id).any(|part| part.transplant >= *day),
                "a tank for which nothing comes"
            );
            let told = format!("{}, tank {}: after the harvest", day.format("%a %-d %b"), tank.id);
            let wish = whole_term(&term, &[Kind::Care], Paper::A4);
            let text = words(&files(&term, &plan, &[own], &wish)[0].html);
            assert!(
                text.contains(&told) && text.contains("Only an adult handles cleaners"),
                "{told} is not in\n{text}"
            );
        }
    }
}
