//! Cells, holes, solution, water and hands.

use super::plan::{CUTS, LATE_HEADS};
use super::{after, chard, only, part};
use crate::support::crops::figure;
use crate::support::day;
use sowtide::check::Rule;
use sowtide::domain::calendar::{DateSpan, DaysOff, DaysOffKind};
use sowtide::domain::crop::Limits;
use sowtide::domain::term::Term;
use sowtide::domain::units::Length;

#[test]
fn the_nursery() {
    only(
        Rule::NurseryCells,
        "need 20 cells, but the nursery has 19",
        |term, _| {
            term.sites[0].nursery.cells = 19;
        },
    );
    only(
        Rule::NurseryCells,
        "need 3 cells, but the nursery has 2",
        |term, _| {
            term.sites[1].nursery.cells = 2;
        },
    );
    only(
        Rule::LeftAlone,
        "until Thu 8 Oct 2026, 7 days without anybody there; they last 4 days",
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
        span: DateSpan {
            first: date,
            last: date,
        },
        kind: DaysOffKind::Closure,
    });
}

#[test]
fn holes() {
    only(Rule::Holes, "has holes 1 to 20, but not 21", |_, plan| {
        part(plan, LATE_HEADS).holes[7] = 21;
    });
    only(
        Rule::Holes,
        "8 plants in tank a have 7 different holes",
        |_, plan| {
            part(plan, LATE_HEADS).holes[7] = 8;
        },
    );
    only(
        Rule::Holes,
        "8 plants in tank a have 7 different holes",
        |_, plan| {
            part(plan, LATE_HEADS).holes.pop();
        },
    );
    only(
        Rule::Spacing,
        "it should be 10, 12, 14, 16, 18 and 20",
        |_, plan| {
            part(plan, CUTS).kept_empty.pop();
        },
    );
    only(
        Rule::Spacing,
        "chard needs 2 holes a plant and may not stand in 12",
        |_, plan| {
            part(plan, CUTS).holes[1] = 12;
            part(plan, CUTS).kept_empty[1] = 11;
        },
    );
    only(Rule::Spacing, "grows too wide", |term, _| {
        chard(term).spacing = figure(Length::from_cm(50.0));
    });
    only(
        Rule::HoleClash,
        "hole 10 of tank a is taken by batch chard-1 until Fri 23 Oct 2026",
        |_, plan| {
            part(plan, LATE_HEADS).holes[7] = 10;
        },
    );
    only(
        Rule::HoleClash,
        "holes 1, 2, 3, 4, 6, 7, 8 and 9 of tank a",
        |term, plan| {
            // Three more days of rest for 36 holes.
            term.rules.turnover_days = 4;
            plan.facts.cost += 3.0 * 36.0 * 0.005;
        },
    );
}

#[test]
fn a_hole_is_free_again_after_its_rest() {
    // The heads leave on 12 October; the next come on 15 October.
    assert_eq!(
        after(|term, plan| {
            term.rules.turnover_days = 3;
            plan.facts.cost += 2.0 * 36.0 * 0.005;
        }),
        []
    );
}

#[test]
fn solution_and_water() {
    only(
        Rule::Solution,
        "kept at a pH of 7; oakleaf needs 5.5 to 6.5",
        |term, _| {
            term.sites[0].tanks[0].ph = 7.0;
        },
    );
    only(
        Rule::Solution,
        "kept at an EC of 1.5 mS/cm; chard needs 1.6 to 2 mS/cm",
        |term, _| {
            chard(term).ec = figure(Limits { low: 1.6, high: 2.0 });
        },
    );
    only(
        Rule::Water,
        "draw 8.8 litres until Mon 2 Nov 2026 (11 days), but only 8.7",
        |term, _| {
            term.sites[0].tanks[0].usable_litres = 8.7;
        },
    );
}

#[test]
fn hands() {
    only(
        Rule::Minutes,
        "24.0 minutes, but the class has 23.5",
        |term, _| {
            term.sites[0].minutes_a_day = Some(23.5);
        },
    );
    only(
        Rule::Sowings,
        "can sow 0 a day, but 1 are planned: chard-1",
        |term, _| {
            term.sites[0].sowings_a_day = Some(0);
        },
    );
}
