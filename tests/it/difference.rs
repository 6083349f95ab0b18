//! The difference of two plans: what must always hold, and how it is told.

use crate::calendars::history::any_edit;
use crate::sample::{date, plan, term};
use crate::support::calendars::{PLAIN, early, exported};
use crate::support::few;
use proptest::collection::vec;
use proptest::prelude::*;
use sowtide::domain::difference::{Change, Detail, Difference, TaskTally};
use sowtide::domain::ids::{BatchId, TankId};
use sowtide::domain::plan::Plan;
use sowtide::domain::tasks::{TaskKind, tasks};
use sowtide::domain::units::Units;
use sowtide::replan::difference::{Plans, difference};
use sowtide::report::changes::{page, table};
use sowtide::report::sheets::Paper;
use sowtide::report::{Look, ical, json};
use std::collections::BTreeSet;

const LOOK: Look = Look { units: Units::Metric, width: 80, colour: false };

fn between(before: &Plan, after: &Plan, from: &str) -> Difference {
    difference(&term(), Plans { before, left: None, after }, date(from))
}

/// Something went wrong with the mustard: it is sown anew, later, and oakleaf is cut earlier to help out.
fn repaired() -> (Plan, Plan) {
    let mut left = plan();
    left.batches.remove(2);
    left.servings[3].planned = 0.0;
    let mut after = left.clone();
    after.revision = 4;
    let oakleaf = &mut after.batches[1];
    for part in &mut oakleaf.parts {
        part.harvests[0].date = date("2026-10-05");
    }
    oakleaf.plugs = 12;
    let mut mustard = plan().batches.remove(2);
    mustard.id = BatchId::new("b-0004");
    mustard.sown = date("2026-09-29");
    mustard.parts[0].transplant = date("2026-10-13");
    after.batches.push(mustard);
    after.servings[3].planned = 300.0;
    (left, after)
}

#[test]
fn a_difference_on_the_screen() {
    let (left, after) = repaired();
    let plans = Plans { before: &plan(), left: Some(&left), after: &after };
    let text = table(&term(), &difference(&term(), plans, date("2026-09-26")), &LOOK);
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    insta::assert_snapshot!(text);
}

#[test]
fn a_difference_as_json() {
    let (left, after) = repaired();
    let plans = Plans { before: &plan(), left: Some(&left), after: &after };
    insta::assert_snapshot!(json::changes(&difference(&term(), plans, date("2026-09-26"))));
}

#[test]
fn a_difference_as_a_page_says_what_the_screen_says() {
    let (left, after) = repaired();
    let plans = Plans { before: &plan(), left: Some(&left), after: &after };
    let found = difference(&term(), plans, date("2026-09-26"));
    for (paper, size) in [(Paper::A4, "size: A4"), (Paper::Letter, "size: letter")] {
        let html = page::page(&term(), &found, &LOOK, paper);
        assert!(html.contains(size));
        for part in [
            "<b>Harvest b-0002</b>",
            "Thu 8 Oct: 9 plants, tank blue, cut 1 of 2 and whole heads",
            "Mon 5 Oct: ",
            "not planned",
            "b-0004",
            "Week hit, if nothing is done: W45",
            "Hall; north",
        ] {
            assert!(html.contains(part), "{part} in {html}");
        }
    }
}

#[test]
fn every_kind_of_change_has_its_word() {
    let word = |change: &dyn Fn(&mut Plan)| {
        let mut after = plan();
        change(&mut after);
        let found = between(&plan(), &after, "2026-09-01");
        found
            .batches
            .iter()
            .find(|batch| batch.batch.as_str() == "b-0002")
            .map(|batch| (batch.change, batch.details.clone()))
    };
    let day =
        |before, after| Detail::Day { kind: TaskKind::Harvest, number: 2, before: Some(date(before)), after };
    assert_eq!(word(&|_| {}), Some((Change::Kept, vec![])));
    assert_eq!(
        word(&|plan| plan.batches[1].parts[0].harvests[1].date = date("2026-10-26")),
        Some((Change::Moved, vec![day("2026-10-22", Some(date("2026-10-26")))]))
    );
    assert_eq!(
        word(&|plan| drop(plan.batches[1].parts[0].harvests.pop())),
        Some((Change::Moved, vec![day("2026-10-22", None)]))
    );
    assert_eq!(
        word(&|plan| plan.batches[1].parts[1].tank = TankId::new("green")),
        Some((Change::Moved, vec![Detail::Place]))
    );
    assert_eq!(
        word(&|plan| plan.batches[1].plugs = 11),
        Some((Change::Resized, vec![Detail::Plugs { before: 10, after: 11 }]))
    );
    let fewer = |kind, number, day, before| Detail::Plants {
        kind,
        number,
        day: date(day),
        before,
        after: before - 1,
    };
    let resized = word(&|plan| plan.batches[1].parts[0].plants = 5);
    assert_eq!(
        resized,
        Some((
            Change::Resized,
            vec![
                fewer(TaskKind::Transplant, 1, "2026-09-21", 9),
                fewer(TaskKind::Harvest, 1, "2026-10-08", 9),
                fewer(TaskKind::Harvest, 2, "2026-10-22", 6),
            ]
        ))
    );
    let dropped = word(&|plan| drop(plan.batches.remove(1)));
    assert_eq!(dropped.map(|(change, details)| (change, details.len())), Some((Change::Dropped, 4)));
    let found = between(&Plan { batches: vec![], ..plan() }, &plan(), "2026-09-01");
    assert!(found.batches.iter().all(|batch| batch.change == Change::Added));
}

/// How the planner divides a batch is nobody's affair as long as the same holes are filled.
#[test]
fn a_batch_divided_otherwise_stays_as_it_is() {
    let mut after = plan();
    let parts = &mut after.batches[1].parts;
    let mut off = parts[0].clone();
    let some = off.holes.split_off(2);
    off.plants = off.holes.len() as u32;
    parts[0].plants = some.len() as u32;
    parts[0].holes = some;
    parts.push(off);
    let found = between(&plan(), &after, "2026-09-07");
    assert_eq!((found.tasks.altered(), found.batches[1].change), (0, Change::Kept));
    // Which plants are pulled and which are cut matters, too.
    let mut swapped = plan();
    let [cut, pulled, ..] = &mut swapped.batches[1].parts[..] else { panic!("the sample has two parts") };
    std::mem::swap(&mut cut.holes[0], &mut pulled.holes[0]);
    assert!(between(&plan(), &swapped, "2026-09-07").tasks.altered() > 0, "other plants are pulled");
    after.batches[1].parts[0].holes[0] = 12;
    assert!(between(&plan(), &after, "2026-09-07").tasks.altered() > 0, "another hole is another place");
}

#[test]
fn what_is_past_is_left_out() {
    let mut after = plan();
    after.batches[1].sown = date("2026-09-10");
    assert_eq!(between(&plan(), &after, "2026-09-10").tasks.altered(), 1);
    let later = between(&plan(), &after, "2026-09-11");
    assert!(later.is_empty(), "{later:?}");
    // A batch that lost all it still had to do is dropped, though it is still in the plan.
    after.batches[1].parts.clear();
    let found = between(&plan(), &after, "2026-09-11");
    assert_eq!(found.count(Change::Dropped), 1);
}

#[test]
fn the_week_from_which_on_all_is_well() {
    let with = |planned: [f64; 4]| {
        let mut plan = plan();
        for (serving, grams) in plan.servings.iter_mut().zip(planned) {
            serving.planned = grams;
        }
        plan
    };
    let weeks = |left: Option<[f64; 4]>, after: [f64; 4]| {
        let left = left.map(with);
        let (before, after) = (plan(), with(after));
        let plans = Plans { before: &before, left: left.as_ref(), after: &after };
        let found = difference(&term(), plans, date("2026-09-01"));
        let hit: Vec<String> = found.hit().map(|week| week.week.to_string()).collect();
        (hit.join(" "), found.holds_from().map(|week| week.to_string()))
    };
    let all = |week: &str| Some(week.to_owned());
    // The plan before brings 418 of 600 g, 480 of 480 g, 400 of 400 g and 538 of 600 g.
    assert_eq!(weeks(None, [418.0, 480.0, 400.0, 538.0]), (String::new(), all("2026-W38")));
    assert_eq!(weeks(None, [418.0, 470.0, 400.0, 538.0]), ("2026-W41".to_owned(), all("2026-W43")));
    assert_eq!(weeks(None, [418.0, 480.0, 400.0, 100.0]), ("2026-W45".to_owned(), None));
    assert_eq!(
        weeks(Some([418.0, 0.0, 0.0, 538.0]), [418.0, 100.0, 400.0, 538.0]),
        ("2026-W41 2026-W43".to_owned(), all("2026-W43"))
    );
}

proptest! {
    #![proptest_config(few(60))]

    #[test]
    fn counts_add_up_and_agree_with_calendars(edits in vec(any_edit(), 0..6), numbered in any::<bool>()) {
        let (mut changed_term, mut after) = (term(), plan());
        for edit in &edits {
            edit.apply(&mut changed_term, &mut after);
        }
        let before = plan();
        if numbered {
            after.number_tasks(Some(&before), None);
        }
        prop_assert!(between(&after, &after, "2026-08-01").is_empty());
        let found = between(&before, &after, "2020-01-01");
        let ids = |plan: &Plan| -> BTreeSet<BatchId> { plan.batches.iter().map(|batch| batch.id.clone()).collect() };
        let all: u32 = Change::ALL.into_iter().map(|change| found.count(change)).sum();
        prop_assert_eq!(all as usize, (&ids(&before) | &ids(&after)).len());
        prop_assert_eq!(found.batches.len(), all as usize);
        for batch in &found.batches {
            prop_assert_eq!(batch.change == Change::Kept, batch.details.is_empty());
        }
        let TaskTally { kept, moved, changed, dropped, added } = found.tasks;
        prop_assert_eq!((kept + moved + changed + dropped) as usize, tasks(&term(), &before).len());
        prop_assert_eq!((kept + moved + changed + added) as usize, tasks(&term(), &after).len());
        let back = between(&after, &before, "2020-01-01").tasks;
        prop_assert_eq!(back, TaskTally { dropped: added, added: dropped, ..found.tasks });
        // Calendars show the same tasks; they also change where only expected grams or a name do.
        let first = exported(&term(), &before, &PLAIN);
        let clock = (date("2020-01-01"), early().1);
        let calendars = ical::export(&changed_term, &after, Some(&first.published), &PLAIN, clock).tally;
        prop_assert_eq!((calendars.new, calendars.cancelled), (added, dropped));
        prop_assert!(calendars.changed >= moved + changed);
    }
}
