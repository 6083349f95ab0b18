//! Cells, holes, solution, water and hands.

use super::plan::{CUTS, LATE_HEADS};
use super::{after, also, chard, last_harvest, only, part};
use crate::support::crops::figure;
use crate::support::day;
use sowtide::check::Rule;
use sowtide::domain::calendar::{DateSpan, DaysOff, DaysOffKind};
use sowtide::domain::crop::Limits;
use sowtide::domain::ids::{SiteId, TankId};
use sowtide::domain::term::{Location, OneCropTanks, Term};
use sowtide::domain::units::Length;

#[test]
fn the_nursery() {
    only(Rule::NurseryCells, "need 20 cells, but the nursery has 19", |term, _| {
        term.sites[0].nursery.cells = 19;
    });
    only(Rule::NurseryCells, "need 3 cells, but the nursery has 2", |term, _| {
        term.sites[1].nursery.cells = 2;
    });
    only(
        Rule::LeftAlone,
        "until Thu 8 Oct 2026, 7 days of it without anybody there; they last 4 days",
        |term, _| {
            close(term, "2026-10-05");
        },
    );
}

/// A Monday without classes in the hall.
fn close(term: &mut Term, date: &str) {
    let hall = &mut term.sites[0];
    let date = day(date);
    hall.class_days.retain(|class| *class != date);
    hall.days_off.push(DaysOff {
        name: "closed".to_owned(),
        span: DateSpan { first: date, last: date },
        kind: DaysOffKind::Closure,
    });
}

#[test]
fn holes() {
    only(Rule::Holes, "has holes 1 to 20, but not 21", |_, plan| {
        part(plan, LATE_HEADS).holes[7] = 21;
    });
    only(Rule::Holes, "8 plants in tank a have 7 different holes", |_, plan| {
        part(plan, LATE_HEADS).holes[7] = 8;
    });
    only(Rule::Holes, "8 plants in tank a have 7 different holes", |_, plan| {
        part(plan, LATE_HEADS).holes.pop();
    });
    only(Rule::Spacing, "it should be 10, 12, 14, 16, 18 and 20", |_, plan| {
        part(plan, CUTS).kept_empty.pop();
    });
    only(Rule::Spacing, "chard needs 2 holes a plant and may not stand in 12", |_, plan| {
        part(plan, CUTS).holes[1] = 12;
        part(plan, CUTS).kept_empty[1] = 11;
    });
    only(Rule::Spacing, "grows too wide", |term, _| {
        chard(term).spacing = figure(Length::from_cm(50.0));
    });
    only(Rule::HoleClash, "hole 10 of tank a is taken by batch chard-1 until Fri 23 Oct 2026", |_, plan| {
        part(plan, LATE_HEADS).holes[7] = 10;
    });
    only(Rule::HoleClash, "holes 1, 2, 3, 4, 6, 7, 8 and 9 of tank a", |term, plan| {
        // Three more days of rest for 36 holes.
        term.rules.turnover_days = 4;
        plan.facts.cost += 3.0 * 36.0 * 0.005;
    });
}

#[test]
fn a_hole_is_free_again_after_its_rest() {
    // The heads leave on 12 October; the next come on 15 October.
    assert_eq!(
        after(|term, plan| {
            term.rules.turnover_days = 3;
            // In whatever order they are listed.
            plan.batches.reverse();
            plan.facts.cost += 2.0 * 36.0 * 0.005;
        }),
        []
    );
}

#[test]
fn solution_and_water() {
    only(Rule::Solution, "kept at a pH of 7; oakleaf needs 5.5 to 6.5", |term, _| {
        term.sites[0].tanks[0].ph = 7.0;
    });
    only(Rule::Solution, "kept at an EC of 1.5 mS/cm; chard needs 1.6 to 2 mS/cm", |term, _| {
        chard(term).ec = figure(Limits { low: 1.6, high: 2.0 });
    });
    only(
        Rule::Water,
        "draw 8.8 litres in 11 days without anybody until Mon 2 Nov 2026, but only 8.7",
        |term, _| {
            term.sites[0].tanks[0].usable_litres = 8.7;
        },
    );
}

fn bind(term: &mut Term, crop: usize, places: &[(&str, Option<&str>)]) {
    let location = |(site, tank): &(&str, Option<&str>)| Location {
        site: SiteId::new(*site),
        tank: tank.map(TankId::new),
    };
    term.crops[crop].only_in = places.iter().map(location).collect();
}

#[test]
fn where_crops_may_stand() {
    only(Rule::OnlyIn, "batch oakleaf-1: oakleaf may stand only in annex, not in tank a here", |term, _| {
        bind(term, 0, &[("annex", None)]);
    });
    let words = "chard may stand only in tank d of annex and tank b of hall, not in tank a here";
    only(Rule::OnlyIn, words, |term, _| {
        bind(term, 1, &[("annex", Some("d")), ("hall", Some("b"))]);
    });
    only(Rule::OnlyIn, "batch old-2: chard may stand only in hall and tank d of annex", |term, _| {
        bind(term, 1, &[("hall", None), ("annex", Some("d"))]);
    });
    assert_eq!(after(|term, _| bind(term, 0, &[("hall", Some("a"))])), [], "heads stood in the annex before");
    assert_eq!(
        after(|term, _| bind(term, 1, &[("hall", None)])),
        [],
        "so did seedlings, which must go somewhere"
    );
}

#[test]
fn what_was_planted_before_a_wish_may_stay() {
    let told = |replanned| {
        let found = after(|term, plan| {
            bind(term, 0, &[("hall", Some("b"))]);
            plan.replanned = Some(day(replanned));
        });
        found.iter().map(|found| (found.rule, found.batch.as_ref().unwrap().to_string())).collect::<Vec<_>>()
    };
    let both = ["oakleaf-1", "oakleaf-2"].map(|batch| (Rule::OnlyIn, batch.to_owned()));
    assert_eq!(told("2026-09-01"), both);
    assert_eq!(told("2026-10-01"), both[1..]);
    assert_eq!(told("2026-11-01"), []);
    // Seedlings of a site where the crop may not stand at all can only go into its tanks.
    let sown = |replanned| {
        after(|term, plan| {
            bind(term, 1, &[("annex", None)]);
            plan.replanned = Some(day(replanned));
        })
    };
    assert_eq!(sown("2026-09-11"), []);
    assert_ne!(sown("2026-09-10"), []);
}

#[test]
fn hands() {
    only(Rule::Minutes, "24.0 minutes, but the class has 23.5", |term, _| {
        term.sites[0].minutes_a_day = Some(23.5);
    });
    only(Rule::Sowings, "can sow 0 a day, but 1 is planned: chard-1", |term, _| {
        term.sites[0].sowings_a_day = Some(0);
    });
}

#[test]
fn cells_are_free_again_on_the_day_of_transplanting() {
    let found = after(|term, plan| {
        term.sites[0].nursery.cells = 10;
        // Sown on the day the chard leaves the nursery, and pulled as late as may be. A visit less.
        plan.batches[LATE_HEADS].sown = day("2026-09-24");
        last_harvest(plan, LATE_HEADS).arithmetic.days = 49;
        plan.facts.cost -= 0.1;
    });
    let told: Vec<_> = found.iter().map(|violation| (violation.rule, violation.date)).collect();
    assert_eq!(told, [(Rule::NurseryCells, Some(day("2026-09-10")))]);
}

#[test]
fn what_stands_fills_the_nursery_from_the_start() {
    only(Rule::NurseryCells, "Mon 7 Sep 2026, site annex: seedlings need 3 cells", |term, _| {
        term.sites[1].nursery.cells = 2;
    });
}

#[test]
fn absences_count_from_the_last_class_day_to_the_next() {
    assert_eq!(
        after(|term, _| {
            close(term, "2026-10-05");
            term.sites[0].nursery.unattended_days = 7;
        }),
        []
    );
    also(Rule::LeftAlone, "batch chard-1: seedlings stay in the nursery until Thu 24 Sep 2026", |term, _| {
        close(term, "2026-09-21");
    });
    only(Rule::Water, "draw 8.8 litres", |term, plan| {
        // Moved to the tank on the last class day: a visit and 56 hole-days less.
        term.sites[0].tanks[0].usable_litres = 8.7;
        term.sites[0].minutes_a_day = None;
        part(plan, LATE_HEADS).transplant = day("2026-10-22");
        plan.facts.cost -= 0.1 + 56.0 * 0.005;
    });
    also(Rule::Water, "draw 8.8 litres", |term, plan| {
        // Pulled on the first class day.
        term.sites[0].tanks[0].usable_litres = 8.7;
        last_harvest(plan, LATE_HEADS).date = day("2026-11-02");
    });
}

#[test]
fn work_before_the_term_takes_no_time_in_it() {
    let found = after(|term, _| term.sites[1].minutes_a_day = Some(0.0));
    let days: Vec<_> = found.iter().map(|violation| violation.date).collect();
    assert_eq!(days, [Some(day("2026-09-14")), Some(day("2026-10-12"))]);
    assert_eq!(after(|term, _| term.sites[1].sowings_a_day = Some(0)), []);
}

#[test]
fn crops_that_share_a_tank() {
    also(Rule::OneCrop, "tank a is to hold one crop at a time, but has", |term, _| {
        term.rules.one_crop_tanks = OneCropTanks::Always;
    });
    also(Rule::Totals, "points the plan costs", |term, _| {
        term.rules.one_crop_tanks = OneCropTanks::Prefer;
        term.rules.weights.mixed = 1.0;
    });
}
