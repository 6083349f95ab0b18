//! From one export to the next: what may change, and what may not.

use super::{events, value};
use crate::sample::{date, plan, term};
use crate::support::calendars::{PLAIN, early, exported, file};
use crate::support::few;
use chrono::{DateTime, Days, NaiveDate, NaiveTime, Utc};
use proptest::collection::vec;
use proptest::prelude::*;
use sowtide::domain::calendar::plus_days;
use sowtide::domain::ids::BatchId;
use sowtide::domain::plan::{Batch, Plan};
use sowtide::domain::published::{Published, Tally};
use sowtide::domain::tasks::tasks;
use sowtide::domain::term::Term;
use sowtide::report::ical;
use std::collections::{BTreeMap, BTreeSet};

/// An event as a file holds it.
type Lines = Vec<String>;

fn sequence(lines: &Lines) -> u32 {
    value(lines, "SEQUENCE").parse().unwrap()
}

fn is_cancelled(lines: &Lines) -> bool {
    value(lines, "STATUS") == "CANCELLED"
}

fn last_day(lines: &Lines) -> NaiveDate {
    let end = NaiveDate::parse_from_str(value(lines, "DTEND"), "%Y%m%d").unwrap();
    end - Days::new(1)
}

/// Something that happens to a plan between two exports. Numbers choose among what there is.
#[derive(Debug, Clone)]
pub(crate) enum Edit {
    Nothing,
    MoveHarvests {
        batch: usize,
        number: usize,
        days: i64,
    },
    MoveSowing {
        batch: usize,
        days: i64,
    },
    OtherHoles {
        batch: usize,
    },
    FewerPlugs {
        batch: usize,
    },
    Drop {
        batch: usize,
    },
    DropLastHarvest {
        batch: usize,
    },
    /// A batch as it was in the beginning, under its old id.
    BringBack {
        batch: usize,
    },
    Add {
        batch: usize,
        days: i64,
    },
    RenameSite {
        site: usize,
    },
}

pub(crate) fn any_edit() -> impl Strategy<Value = Edit> {
    let (batch, days) = (0..8_usize, -20..40_i64);
    prop_oneof![
        1 => Just(Edit::Nothing),
        4 => (batch.clone(), 0..3_usize, days.clone())
            .prop_map(|(batch, number, days)| Edit::MoveHarvests { batch, number, days }),
        2 => (batch.clone(), days.clone()).prop_map(|(batch, days)| Edit::MoveSowing { batch, days }),
        2 => batch.clone().prop_map(|batch| Edit::OtherHoles { batch }),
        1 => batch.clone().prop_map(|batch| Edit::FewerPlugs { batch }),
        3 => batch.clone().prop_map(|batch| Edit::Drop { batch }),
        2 => batch.clone().prop_map(|batch| Edit::DropLastHarvest { batch }),
        3 => batch.clone().prop_map(|batch| Edit::BringBack { batch }),
        2 => (batch, days).prop_map(|(batch, days)| Edit::Add { batch, days }),
        1 => (0..2_usize).prop_map(|site| Edit::RenameSite { site }),
    ]
}

impl Edit {
    pub(crate) fn apply(&self, term: &mut Term, plan: &mut Plan) {
        let shifted = |day: NaiveDate, days: i64| day + chrono::Duration::days(days);
        let chosen = |plan: &mut Plan, number: usize| {
            let count = plan.batches.len().max(1);
            plan.batches.get_mut(number % count).cloned().map(|batch| (number % count, batch))
        };
        let mut change = |number: usize, change: &dyn Fn(&mut Batch)| {
            if let Some((at, _)) = chosen(plan, number) {
                change(&mut plan.batches[at]);
            }
        };
        match self {
            Self::Nothing => {}
            Self::MoveHarvests { batch, number, days } => change(*batch, &|batch| {
                for part in &mut batch.parts {
                    if let Some(harvest) = part.harvests.get_mut(*number) {
                        harvest.date = shifted(harvest.date, *days);
                    }
                }
            }),
            Self::MoveSowing { batch, days } => {
                change(*batch, &|batch| batch.sown = shifted(batch.sown, *days));
            }
            Self::OtherHoles { batch } => {
                change(*batch, &|batch| batch.parts[0].holes.iter_mut().for_each(|hole| *hole += 1));
            }
            Self::FewerPlugs { batch } => {
                change(*batch, &|batch| batch.plugs = batch.plugs.saturating_sub(1));
            }
            Self::DropLastHarvest { batch } => change(*batch, &|batch| {
                for part in &mut batch.parts {
                    part.harvests.pop();
                }
            }),
            Self::Drop { batch } => {
                if let Some((at, _)) = chosen(plan, *batch) {
                    plan.batches.remove(at);
                }
            }
            Self::BringBack { batch } => {
                let original = &crate::sample::plan().batches[batch % 3];
                plan.batches.retain(|other| other.id != original.id);
                plan.batches.push(original.clone());
            }
            Self::Add { batch, days } => {
                if let Some((_, mut batch)) = chosen(plan, *batch) {
                    plan.last_number += 1;
                    batch.id = BatchId::new(format!("b{:03}", plan.last_number));
                    batch.sown = shifted(batch.sown, *days);
                    plan.batches.push(batch);
                }
            }
            Self::RenameSite { site } => term.sites[*site].name.push_str(" x"),
        }
    }
}

/// What must hold between two exports of which the second is made on `today`.
fn follows(
    before: &BTreeMap<String, Lines>,
    after: &BTreeMap<String, Lines>,
    wanted: &BTreeSet<String>,
    today: NaiveDate,
) {
    let live: BTreeSet<String> =
        after.iter().filter(|(_, lines)| !is_cancelled(lines)).map(|(uid, _)| uid.clone()).collect();
    assert_eq!(&live, wanted, "calendars hold just what is planned");
    for (uid, old) in before {
        match after.get(uid) {
            Some(new) if sequence(new) == sequence(old) => assert_eq!(new, old, "same number, same event"),
            Some(new) => {
                assert_eq!(sequence(new), sequence(old) + 1, "{uid}");
                let said = |lines: &Lines| -> Lines {
                    let stamps = ["DTSTAMP", "LAST-MODIFIED", "SEQUENCE"];
                    lines
                        .iter()
                        .filter(|line| !stamps.iter().any(|name| line.starts_with(name)))
                        .cloned()
                        .collect()
                };
                assert_ne!(said(new), said(old), "{uid} rose without a reason");
                assert!(!(is_cancelled(old) && is_cancelled(new)), "{uid} is called off once");
            }
            None => assert!(last_day(old) < today, "{uid} was dropped without a word"),
        }
    }
    for (uid, new) in after.iter().filter(|(_, lines)| is_cancelled(lines)) {
        assert!(before.contains_key(uid), "{uid} was called off unseen");
        assert!(last_day(new) >= today, "what is past is no longer called off");
    }
}

proptest! {
    #![proptest_config(few(60))]

    #[test]
    fn whatever_happens_to_a_plan_calendars_follow(steps in vec((vec(any_edit(), 0..4), 0..12_u32), 1..12)) {
        let (mut term, mut plan) = (term(), plan());
        let mut today = date("2026-08-20");
        let mut memory: Option<Published> = None;
        let mut file_before: BTreeMap<String, Lines> = BTreeMap::new();
        let mut highest: BTreeMap<String, u32> = BTreeMap::new();
        for (edits, days) in steps {
            today = plus_days(today, days);
            let now: DateTime<Utc> = today.and_time(NaiveTime::MIN).and_utc();
            for edit in edits {
                edit.apply(&mut term, &mut plan);
            }
            let export = ical::export(&term, &plan, memory.as_ref(), &PLAIN, (today, now));
            let all = export.calendars.first().map(|calendar| events(&calendar.text)).unwrap_or_default();
            let wanted = tasks(&term, &plan).iter()
                .map(|task| format!("{}-{}-{}-{}", plan.term_id, task.batch.id, task.kind, task.number))
                .collect();
            follows(&file_before, &all, &wanted, today);
            for (uid, lines) in &all {
                let highest = highest.entry(uid.clone()).or_insert(0);
                prop_assert!(sequence(lines) >= *highest, "{uid} fell");
                *highest = sequence(lines);
            }
            let later = now + chrono::Duration::hours(5);
            let again = ical::export(&term, &plan, Some(&export.published), &PLAIN, (today, later));
            prop_assert_eq!(&again.calendars, &export.calendars);
            prop_assert_eq!(&again.published, &export.published);
            let kept = again.tally.kept;
            prop_assert_eq!(again.tally, Tally { kept, ..Tally::default() });
            memory = Some(export.published);
            file_before = all;
        }
    }
}

#[test]
fn a_moved_harvest_rises_and_the_rest_stays() {
    let first = exported(&term(), &plan(), &PLAIN);
    let mut later = plan();
    later.revision += 1;
    for part in &mut later.batches[1].parts {
        part.harvests[0].date = date("2026-10-05");
    }
    let clock = (date("2026-09-10"), "2026-09-10T10:00:00Z".parse().unwrap());
    let second = ical::export(&term(), &later, Some(&first.published), &PLAIN, clock);
    let (old, new) = (events(file(&first, "all-sites")), events(file(&second, "all-sites")));
    let moved = "0f1e2d3c4b5a6978-b-0002-harvest-1";
    for (uid, lines) in &new {
        assert_eq!(lines == &old[uid], uid != moved, "{uid}");
    }
    assert_eq!((value(&new[moved], "DTSTART"), value(&new[moved], "SEQUENCE")), ("20261005", "3"));
    assert_eq!(value(&new[moved], "DTSTAMP"), "20260910T100000Z");
    assert_eq!(second.tally, Tally { changed: 1, kept: 7, ..Tally::default() });
}

#[test]
fn what_is_dropped_is_called_off_until_its_day_is_past() {
    let first = exported(&term(), &plan(), &PLAIN);
    let mut later = plan();
    later.batches.remove(2);
    let on = |day: &str, before: &Published| {
        let clock = (date(day), format!("{day}T10:00:00Z").parse().unwrap());
        ical::export(&term(), &later, Some(before), &PLAIN, clock)
    };
    // Sown on 25 September, moved on 9 October, harvested on 3 November.
    let second = on("2026-10-01", &first.published);
    let off = |export: &ical::Export, stem: &str| -> Vec<String> {
        let calendar = export.calendars.iter().find(|calendar| calendar.stem == stem);
        let all = calendar.map(|calendar| events(&calendar.text)).unwrap_or_default();
        all.into_values().filter(is_cancelled).map(|lines| value(&lines, "DTSTART").to_owned()).collect()
    };
    assert_eq!(off(&second, "all-sites"), ["20261103", "20261009"]);
    assert_eq!(off(&second, "site-room-4"), ["20261103", "20261009"], "though nothing else is left there");
    assert_eq!(off(&second, "harvest"), ["20261103"]);
    let lines = &events(file(&second, "all-sites"))["0f1e2d3c4b5a6978-b-0003-harvest-1"];
    insta::assert_snapshot!(lines.join("\n"), @r"
    UID:0f1e2d3c4b5a6978-b-0003-harvest-1
    DTSTAMP:20261001T100000Z
    DTSTART;VALUE=DATE:20261103
    DTEND;VALUE=DATE:20261104
    LAST-MODIFIED:20261001T100000Z
    SEQUENCE:3
    STATUS:CANCELLED
    SUMMARY:Cancelled: Harvest Leaf mustard (b-0003): 5 plants\, whole heads
    DESCRIPTION:This is no longer planned: there is nothing to do.
    CATEGORIES:Harvest
    LOCATION:Room 4
    TRANSP:TRANSPARENT
    ");
    let third = on("2026-10-10", &second.published);
    assert_eq!(off(&third, "all-sites"), ["20261103"]);
    let fourth = on("2026-11-04", &third.published);
    assert_eq!(off(&fourth, "all-sites"), [""; 0]);
    assert!(fourth.calendars.iter().all(|calendar| calendar.stem != "site-room-4"));
    // It comes back: the count goes on where it stood.
    let clock = (date("2026-11-05"), "2026-11-05T10:00:00Z".parse().unwrap());
    let fifth = ical::export(&term(), &plan(), Some(&fourth.published), &PLAIN, clock);
    let lines = &events(file(&fifth, "all-sites"))["0f1e2d3c4b5a6978-b-0003-harvest-1"];
    assert_eq!((value(lines, "STATUS"), value(lines, "SEQUENCE")), ("CONFIRMED", "4"));
}

#[test]
fn a_clock_set_back_makes_no_event_older() {
    let first = exported(&term(), &plan(), &PLAIN);
    let mut later = plan();
    later.batches[1].plugs += 1;
    let clock = (date("2026-09-01"), "2001-01-01T00:00:00Z".parse().unwrap());
    let second = ical::export(&term(), &later, Some(&first.published), &PLAIN, clock);
    assert_eq!(second.tally.changed, 1);
    assert!(second.published.events.values().all(|event| event.changed == early().1));
}

#[test]
fn a_plan_begun_anew_calls_off_the_old_one() {
    let first = exported(&term(), &plan(), &PLAIN);
    let mut other = plan();
    "ffffffffffffffff".clone_into(&mut other.term_id);
    let second = ical::export(&term(), &other, Some(&first.published), &PLAIN, early());
    assert_eq!(second.tally, Tally { new: 8, cancelled: 8, ..Tally::default() });
}
