//! Sowings in a steady rhythm, planned from the beginning and planned again.

use crate::properties::{plan, plan_unless};
use crate::replan::{again, entry, leaves_the_past, past, planned};
use crate::support::any::any_term;
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{head, young};
use crate::support::{day, few};
use chrono::Weekday::{Fri, Tue};
use chrono::{Days, NaiveDate};
use proptest::prelude::*;
use sowtide::check::{Rule, check};
use sowtide::domain::calendar::{DateSpan, days_between};
use sowtide::domain::journal::{Amount, Journal, Place, What};
use sowtide::domain::plan::Plan;
use sowtide::domain::site::Tank;
use sowtide::domain::term::{LEAST_IN_RHYTHM, Rhythm, Term};
use sowtide::report::rhythm::series;
use sowtide::schedule::{self, Resumed};

/// A room that meets twice a week, with a break of a week in which seedlings would be left alone.
fn term(every: u32) -> Term {
    let hall = site("hall").meets(&[Tue, Fri]).tank(tank("a", 6, 6)).tank(tank("b", 6, 6)).nursery(60, 4);
    TermBuilder::default()
        .weeks(18)
        .site(hall)
        .holiday(day("2026-10-19"), day("2026-10-25"))
        .serves(Fri, 500.0)
        .crop(wanted(head("round")))
        .crop(wanted(young("rocket")))
        .rules(|rules| rules.rhythm = Rhythm::Steady { every })
        .build()
}

/// Day and plugs of the sowings of a crop from a day on.
fn sowings(plan: &Plan, crop: &str, from: NaiveDate) -> Vec<(NaiveDate, u32)> {
    let batches = plan.batches.iter().filter(|batch| batch.crop.as_str() == crop && batch.sown >= from);
    let mut all: Vec<(NaiveDate, u32)> = batches.map(|batch| (batch.sown, batch.plugs)).collect();
    all.sort_unstable();
    all
}

/// Where there is no room for three smallest batches side by side, there need not be three sowings; a tank that is out of use all
/// the time holds nothing.
#[test]
fn small_rooms_are_sown_as_often_as_smallest_batches_have_room() {
    let sown = |columns: u32, out_of_use: bool| {
        let span = DateSpan { first: day("2026-01-01"), last: day("2027-12-31") };
        let spare = Tank { out: if out_of_use { vec![span] } else { Vec::new() }, ..tank("b", 4, 6) };
        let hall = site("hall").meets(&[Tue, Fri]).tank(tank("a", 2, columns));
        let term = TermBuilder::default()
            .weeks(8)
            .site(if out_of_use { hall.tank(spare) } else { hall })
            .serves(Fri, 40.0)
            .crop(wanted(head("round")))
            .rules(|rules| {
                rules.smallest_batch = 4;
                rules.rhythm = Rhythm::Steady { every: 1 };
            })
            .build();
        plan(&term, 30, 1).unwrap().batches.len()
    };
    assert_eq!((sown(2, false), sown(2, true), sown(4, false)), (1, 1, 2));
}

/// Asserts that sowings are steady, and that none is missing except in some days.
#[track_caller]
fn assert_steady(sown: &[(NaiveDate, u32)], every: u32, except: DateSpan) {
    let Some((first, plugs)) = sown.first() else { return };
    let step = 7 * i64::from(every);
    assert!(sown.iter().all(|(_, other)| other == plugs), "{sown:?}");
    assert!(sown.iter().all(|(day, _)| days_between(*first, *day) % step == 0), "{sown:?}");
    for pair in sown.windows(2) {
        let between = pair[0].0.iter_days().step_by(step as usize).skip(1).take_while(|day| *day < pair[1].0);
        assert!(between.into_iter().all(|day| except.contains(day)), "{pair:?} in {sown:?}");
    }
}

/// Asserts that people are told of every sowing, and of every day left out.
#[track_caller]
fn assert_told(term: &Term, plan: &Plan) {
    let told = series(term, plan);
    for crop in ["round", "rocket"] {
        let of_crop = || told.iter().filter(|series| series.crop.as_str() == crop);
        let sown = of_crop().flat_map(|series| series.sown.iter().map(|day| (*day, series.plugs)));
        assert_eq!(sown.collect::<Vec<_>>(), sowings(plan, crop, term.start));
        assert!(of_crop().count() < 2, "{told:?}");
        assert!(
            of_crop().flat_map(|series| &series.left_out).all(|day| around_the_break().contains(*day)),
            "{told:?}"
        );
    }
}

/// No class is in the break, and what is sown in the ten days before would be left alone.
const AROUND_THE_BREAK: (&str, &str) = ("2026-10-07", "2026-10-25");

fn around_the_break() -> DateSpan {
    DateSpan { first: day(AROUND_THE_BREAK.0), last: day(AROUND_THE_BREAK.1) }
}

#[test]
fn sowings_are_steady_over_a_break() {
    for every in [1, 2] {
        let term = term(every);
        let found = plan(&term, 1, 100).unwrap();
        assert_eq!(check(&term, &found), []);
        let all = ["round", "rocket"].map(|crop| sowings(&found, crop, term.start));
        for sown in &all {
            assert_steady(sown, every, around_the_break());
            assert!(sown.is_empty() || sown.len() >= LEAST_IN_RHYTHM, "{sown:?}");
        }
        assert_told(&term, &found);
        let over_the_break =
            |sown: &&Vec<(NaiveDate, u32)>| sown.len() > 3 && sown[0].0 < around_the_break().first;
        let goes_on = |sown: &Vec<(NaiveDate, u32)>| sown.last().unwrap().0 > around_the_break().last;
        // Every other week, one crop before the break and one after it do better.
        assert!(every == 2 || all.iter().filter(over_the_break).any(goes_on), "{all:?}");
        assert!(found.facts.short_grams < 0.5 * term.target_grams(), "{:?}", found.facts);
        assert!(found.facts.cost >= schedule::bound(&term).unwrap().points - 1e-6);
    }
}

#[test]
fn who_stops_at_once_gets_a_rhythm_too() {
    let term = term(1);
    let found = plan_unless(&term, 1, 100, &|| true).unwrap();
    assert!(found.facts.stopped && !found.batches.is_empty());
    assert_eq!(check(&term, &found), []);
}

#[test]
fn what_was_forgotten_is_not_told_as_left_out() {
    let term = term(1);
    let mut found = plan(&term, 1, 100).unwrap();
    let row = series(&term, &found).into_iter().find(|series| series.sown.len() > 3).unwrap();
    let (crop, forgotten, after) = (row.crop.clone(), row.sown[1], row.sown[2]);
    found.batches.retain(|batch| batch.crop != crop || batch.sown != forgotten);
    let left_out = |plan: &Plan| {
        let mut days = series(&term, plan).into_iter().flat_map(|series| series.left_out);
        days.any(|day| day == forgotten)
    };
    assert!(left_out(&found));
    found.replanned = Some(after);
    assert!(!left_out(&found));
}

#[test]
fn what_is_still_to_be_sown_stays_steady_after_a_loss() {
    let term = term(1);
    let known = plan(&term, 1, 60).unwrap();
    let today = day("2026-10-02");
    let batch = known.batches.iter().rfind(|batch| batch.sown < today && batch.parts[0].transplant > today);
    let (id, place) = (batch.unwrap().id.clone(), Place::Nursery);
    let (plants, cause) = (Amount::All, "frost".to_owned());
    let lost = What::Lost { batch: id, place, plants, holes: Vec::new(), cause };
    let journal = Journal::new(vec![entry(0, today, None, lost)]);
    let Resumed { left, plan: new } = again(&term, &known, &journal, today).unwrap();
    assert_eq!((check(&term, &left), check(&term, &new)), (vec![], vec![]));
    for crop in ["round", "rocket"] {
        assert_steady(&sowings(&new, crop, today), 1, around_the_break());
    }
}

/// The wish comes while plants grow: what is sown is exempt, and the rest falls into rhythm.
#[test]
fn a_rhythm_wished_for_later_holds_from_then_on() {
    let mut term = term(2);
    term.rules.rhythm = Rhythm::Free;
    let known = plan(&term, 1, 60).unwrap();
    term.rules.rhythm = Rhythm::Steady { every: 2 };
    assert!(check(&term, &known).iter().any(|violation| violation.rule == Rule::Rhythm));
    let today = day("2026-09-29");
    let Resumed { left, plan: new } = again(&term, &known, &Journal::default(), today).unwrap();
    assert_eq!((check(&term, &left), check(&term, &new)), (vec![], vec![]));
    assert_eq!(past(&new, today), past(&known, today));
    for crop in ["round", "rocket"] {
        assert_steady(&sowings(&new, crop, today), 2, around_the_break());
    }
    assert!(again(&term, &new, &Journal::default(), today).is_none(), "twice is once");
}

proptest! {
    #![proptest_config(few(32))]

    /// Whatever was planned before: the new plan is sound, and what is past stays as it was.
    #[test]
    fn rhythms_that_come_later_leave_the_past_as_it_was(
        mut term in any_term(), days in 1..90_u64, every in 1..4_u32,
    ) {
        term.rules.rhythm = Rhythm::Free;
        let Some(known) = planned(&term) else { return Ok(()) };
        term.rules.rhythm = Rhythm::Steady { every };
        let today = (term.start + Days::new(days)).min(term.end);
        leaves_the_past(&term, &known, today)?;
    }

    /// With a rhythm, more often than random terms have one.
    #[test]
    fn every_steady_plan_is_sound(mut term in any_term(), every in 1..4_u32, seed in any::<u64>()) {
        term.rules.rhythm = Rhythm::Steady { every };
        let Ok(found) = plan(&term, seed, 30) else { return Ok(()) };
        prop_assert_eq!(check(&term, &found), []);
    }
}
