//! Whole plants: our search against the proven optimum of other solvers, on terms small enough for proof.
//!
//! Every site has one tank of a kind, and one plug gives one plant or two give one, so that the
//! model and the plan mean exactly the same.

use super::planned;
use super::models::{HIGHS, optimum};
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{cutter, figure, head, young};
use crate::support::day;
use chrono::Weekday;
use sowtide::check::check;
use sowtide::domain::crop::Crop;
use sowtide::domain::site::Tank;
use sowtide::domain::term::{Term, WantedCrop};

/// How much dearer than the proven optimum a plan of the search may be.
const MOST_ABOVE: f64 = 0.005;

fn crop(crop: Crop, plants_per_plug: f64) -> WantedCrop {
    wanted(Crop {
        germination: figure(1.0),
        nursery_survival: figure(plants_per_plug),
        ..crop
    })
}

fn room(weeks: u32, grams: f64) -> TermBuilder {
    TermBuilder::default().weeks(weeks).serves(Weekday::Thu, grams)
}

/// One crop of whole heads.
fn heads() -> Term {
    room(9, 200.0)
        .site(site("room-12").tank(tank("a", 4, 4)))
        .crop(crop(head("oakleaf"), 1.0))
        .build()
}

/// One crop that is cut or pulled, over a break.
fn cuts_over_a_break() -> Term {
    room(11, 250.0)
        .site(site("room-12").tank(tank("a", 4, 6)))
        .crop(crop(young("rocket"), 0.5))
        .holiday(day("2026-10-19"), day("2026-10-25"))
        .build()
}

/// Two crops that share a lid and must both be served.
fn two_kinds() -> Term {
    room(10, 300.0)
        .site(site("room-12").tank(tank("a", 4, 6)).nursery(16, 4))
        .crop(crop(head("oakleaf"), 1.0))
        .crop(WantedCrop { at_most: 0.5, ..crop(young("rocket"), 1.0) })
        .rules(|rules| rules.kinds = 2)
        .build()
}

/// Three crops and two tanks of different strength at two sites, with little time.
fn two_sites() -> Term {
    let strong = Tank { ec: 2.0, ..tank("strong", 2, 4) };
    room(9, 400.0)
        .site(site("annex").tank(tank("a", 4, 4)).hands(Some(40.0), Some(1)))
        .site(site("hall").tank(strong).meets(&[Weekday::Tue]))
        .crop(crop(head("oakleaf"), 1.0))
        .crop(crop(cutter("chard"), 0.5))
        .crop(crop(young("rocket"), 1.0))
        .rules(|rules| rules.smallest_batch = 4)
        .build()
}

fn close_to_optimum(term: &Term) {
    let plan = planned(term, 1500);
    assert_eq!(check(term, &plan), []);
    let proven = optimum(HIGHS, term, "whole");
    let above = plan.facts.cost / proven - 1.0;
    eprintln!("{} plan against {proven} proven, {:.3} % above", plan.facts.cost, above * 100.0);
    assert!(above > -1e-6, "{} points, less than the {proven} proven", plan.facts.cost);
    assert!(above <= MOST_ABOVE, "{} points, far above the {proven} proven", plan.facts.cost);
}

#[test]
fn heads_of_one_crop() {
    close_to_optimum(&heads());
}

#[test]
fn cuts_of_one_crop_over_a_break() {
    close_to_optimum(&cuts_over_a_break());
}

#[test]
fn two_kinds_on_one_lid() {
    close_to_optimum(&two_kinds());
}

#[test]
fn three_crops_at_two_sites() {
    close_to_optimum(&two_sites());
}

