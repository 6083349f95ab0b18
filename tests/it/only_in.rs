//! Crops that are bound to sites and tanks.

use crate::properties::plan;
use crate::replan::{again, leaves_the_past, past, planned};
use crate::support::any::any_term;
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{figure, head, young};
use crate::support::{day, few};
use chrono::Days;
use chrono::Weekday::{Fri, Tue};
use proptest::prelude::*;
use sowtide::check::{Rule, check};
use sowtide::domain::ids::{BatchId, CropId, SiteId, TankId};
use sowtide::domain::journal::Journal;
use sowtide::domain::plan::{Plan, Shortfall};
use sowtide::domain::term::{Arrival, Location, SowWish, Stage, Standing, Term, WantedCrop};
use sowtide::insight::reasons::explain;
use sowtide::schedule::{self, Resumed, Watch};
use std::collections::BTreeSet;

fn whole(site: &str) -> Location {
    Location { site: SiteId::new(site), tank: None }
}

fn one(site: &str, tank: &str) -> Location {
    Location { tank: Some(TankId::new(tank)), ..whole(site) }
}

/// Two sites of two equal tanks each, and two crops.
fn term() -> Term {
    let room =
        |name| site(name).meets(&[Tue, Fri]).tank(tank("a", 4, 6)).tank(tank("b", 4, 6)).nursery(36, 5);
    let cups =
        sowtide::domain::crop::Crop { in_cups: Some(figure("Keep it damp.".to_owned())), ..young("rocket") };
    TermBuilder::default()
        .weeks(11)
        .site(room("annex"))
        .site(room("hall"))
        .serves(Fri, 600.0)
        .crop(wanted(head("round")))
        .crop(WantedCrop { sow: SowWish::Either, ..wanted(cups) })
        .build()
}

/// Site and tank of everything of a crop that is put into a tank in the term.
fn places(plan: &Plan, crop: &str) -> BTreeSet<String> {
    let batches = plan.batches.iter().filter(|batch| batch.crop.as_str() == crop);
    let parts = batches.flat_map(|batch| batch.parts.iter().map(move |part| (batch, part)));
    parts.map(|(batch, part)| format!("{} {}", batch.site, part.tank)).collect()
}

fn standing(crop: &str, site: &str, stage: Stage) -> Standing {
    Standing {
        batch: BatchId::new(format!("old-{site}")),
        crop: CropId::new(crop),
        site: SiteId::new(site),
        sown: day("2026-08-18"),
        plants: 5,
        stage,
    }
}

#[test]
fn a_crop_stands_only_where_it_may() {
    let mut term = term();
    let free = plan(&term, 1, 60).unwrap();
    assert!(places(&free, "round").contains("annex b") && places(&free, "rocket").len() > 1, "{free:#?}");
    term.crops[0].only_in = vec![whole("hall"), one("annex", "a")];
    term.crops[1].only_in = vec![one("annex", "b")];
    // Nobody buys what could not be planted.
    let (crop, site) = (CropId::new("rocket"), SiteId::new("hall"));
    term.arrivals = vec![Arrival { crop, site, date: day("2026-09-08"), days: 10, plants: 20, price: None }];
    let bound = plan(&term, 1, 60).unwrap();
    assert_eq!(check(&term, &bound), []);
    assert_eq!(places(&bound, "rocket"), BTreeSet::from(["annex b".to_owned()]));
    let round = ["annex a", "hall a", "hall b"].map(str::to_owned);
    assert_eq!(places(&bound, "round"), BTreeSet::from(round));
    assert!(bound.facts.cost >= schedule::bound(&term).unwrap().points - 1e-6);
}

#[test]
fn what_stands_elsewhere_already_stays_there() {
    let mut term = term();
    term.crops[0].only_in = vec![one("hall", "a")];
    let stage = |tank: &str| Stage::Tank {
        tank: TankId::new(tank),
        transplanted: day("2026-09-01"),
        holes: Vec::new(),
        cuts: Vec::new(),
    };
    term.standing = vec![standing("round", "hall", stage("b")), standing("round", "annex", Stage::Nursery)];
    let plan = plan(&term, 1, 40).unwrap();
    assert_eq!(check(&term, &plan), []);
    let of = |id: &str| plan.batches.iter().find(|batch| batch.id.as_str() == id).unwrap();
    assert!(of("old-hall").parts.iter().all(|part| part.tank.as_str() == "b"));
    assert_eq!((of("old-annex").plants(), of("old-annex").lost()), (5, 0));
    let new = plan.batches.iter().filter(|batch| !batch.is_standing() && batch.crop.as_str() == "round");
    assert!(new.flat_map(|batch| &batch.parts).all(|part| part.tank.as_str() == "a"));
}

/// The wish comes while plants grow: they stay, seedlings find a way, and what is still to be sown goes where it may.
#[test]
fn a_wish_that_comes_later_holds_from_then_on() {
    let mut term = term();
    let known = plan(&term, 1, 60).unwrap();
    term.crops[0].only_in = vec![one("hall", "a")];
    assert!(check(&term, &known).iter().any(|violation| violation.rule == Rule::OnlyIn));
    let today = day("2026-09-29");
    let Resumed { left, plan: new } = again(&term, &known, &Journal::default(), today).unwrap();
    assert_eq!((check(&term, &left), check(&term, &new)), (vec![], vec![]));
    assert_eq!(past(&new, today), past(&known, today));
    assert!(past(&known, today).len() > 2 && left.lost_in_tanks() == 0);
    for batch in new.batches.iter().filter(|batch| batch.crop.as_str() == "round" && batch.sown >= today) {
        assert!(batch.site.as_str() == "hall" && batch.parts.iter().all(|part| part.tank.as_str() == "a"));
    }
    assert!(again(&term, &new, &Journal::default(), today).is_none(), "twice is once");
}

#[test]
fn crops_bound_to_a_small_tank_are_the_reason_of_a_shortfall() {
    let hall = site("hall").meets(&[Tue, Fri]).tank(tank("a", 8, 10)).tank(tank("b", 1, 3)).nursery(80, 5);
    let mut term =
        TermBuilder::default().weeks(12).site(hall).serves(Fri, 500.0).crop(wanted(head("round"))).build();
    term.servings.retain(|serving| serving.date >= day("2026-10-30"));
    let reasons = |term: &Term| -> Vec<Option<Shortfall>> {
        let mut plan = plan(term, 1, 40).unwrap();
        explain(term, &mut plan, &Watch { stop: &|| false, report: &|_| {}, threads: 2 });
        plan.servings.iter().map(|serving| serving.shortfall).collect()
    };
    assert!(reasons(&term).iter().all(Option::is_none));
    term.crops[0].only_in = vec![one("hall", "b")];
    let bound = reasons(&term);
    assert!(bound.iter().all(|reason| *reason == Some(Shortfall::OnlyIn)), "{bound:?}");
}

proptest! {
    #![proptest_config(few(32))]

    /// Whatever was planned before: the new plan is sound, and what is past stays as it was.
    #[test]
    fn wishes_that_come_later_leave_the_past_as_it_was(term in any_term(), days in 1..90_u64) {
        let mut before = term.clone();
        before.crops.iter_mut().for_each(|wanted| wanted.only_in.clear());
        let Some(known) = planned(&before) else { return Ok(()) };
        let today = (term.start + Days::new(days)).min(term.end);
        let resumed = leaves_the_past(&term, &known, today)?;
        prop_assert_eq!(resumed.map_or(0, |resumed| resumed.left.lost_in_tanks()), 0);
    }
}
