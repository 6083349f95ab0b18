//! Plans of small terms, where something once went wrong or easily could.

use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{head, young};
use crate::support::day;
use chrono::Weekday::{Fri, Mon, Thu, Tue};
use chrono::{DateTime, Utc};
use sowtide::check::check;
use sowtide::domain::crop::Crop;
use sowtide::domain::ids::{BatchId, CropId, SiteId};
use sowtide::domain::plan::{Plan, Shortfall};
use sowtide::domain::term::{Stage, Standing, Term};
use sowtide::insight::reasons::explain;
use sowtide::schedule::{self, Options, Watch};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::{AtomicUsize, Ordering::Relaxed};

fn plan(term: &Term, previous: Option<&Plan>) -> Plan {
    plan_made(term, previous, DateTime::UNIX_EPOCH)
}

fn plan_made(term: &Term, previous: Option<&Plan>, made: DateTime<Utc>) -> Plan {
    plan_searched(term, previous, made, 50)
}

/// After so many thousand steps.
fn plan_searched(term: &Term, previous: Option<&Plan>, made: DateTime<Utc>, effort: u64) -> Plan {
    let options = Options {
        seed: 1,
        effort: Some(effort),
        until_stopped: false,
        term_id: "0123456789abcdef".to_owned(),
        made,
    };
    let plan =
        schedule::plan(term, previous, &options, &Watch { stop: &|| false, report: &|_| {}, threads: 2 })
            .unwrap();
    assert_eq!(check(term, &plan), []);
    plan
}

fn term(crop: Crop) -> TermBuilder {
    TermBuilder::default()
        .weeks(12)
        .site(site("hall").meets(&[Mon, Fri]).tank(tank("a", 4, 6)))
        .serves(Fri, 150.0)
        .crop(wanted(crop))
}

fn ids(plan: &Plan) -> BTreeSet<BatchId> {
    plan.batches.iter().map(|batch| batch.id.clone()).collect()
}

/// A calendar that still holds the first plan's batches must not see other plants under their names.
#[test]
fn an_id_never_comes_back_for_other_plants() {
    let (heads, leaves) = (term(head("round")).build(), term(young("small")).build());
    let first = plan(&heads, None);
    let second = plan(&leaves, Some(&first));
    let third = plan(&heads, Some(&second));
    assert!(!first.batches.is_empty() && !second.batches.is_empty() && !third.batches.is_empty());
    for (one, other) in [(&first, &second), (&second, &third), (&first, &third)] {
        assert!(ids(one).is_disjoint(&ids(other)));
    }
    assert_eq!(third.revision, 3);
    assert_eq!(ids(&plan(&heads, Some(&first))), ids(&first), "the same plants keep their ids");
}

/// Classes meet a day later: calendars should show the same work on other days. Once a tray bears a batch's id, though,
/// no other plants may have it.
#[test]
fn batches_that_move_keep_their_ids_until_they_are_sown() {
    let on = |days| {
        let hall = site("hall").meets(days).tank(tank("a", 4, 6));
        TermBuilder::default().weeks(12).site(hall).serves(Fri, 150.0).crop(wanted(head("round"))).build()
    };
    let first = plan(&on(&[Mon, Fri]), None);
    let moved = plan(&on(&[Tue, Fri]), Some(&first));
    let sown = |plan: &Plan| -> BTreeMap<_, _> {
        plan.batches.iter().map(|batch| (batch.id.clone(), batch.sown)).collect()
    };
    let (old, new) = (sown(&first), sown(&moved));
    let kept = new.iter().filter(|(id, day)| old.get(id).is_some_and(|before| before != *day)).count();
    assert!(kept > 0, "{old:?} {new:?}");
    let end_of_term = "2026-12-24T08:00:00Z".parse().unwrap();
    let late = sown(&plan_made(&on(&[Tue, Fri]), Some(&first), end_of_term));
    assert!(late.iter().all(|(id, day)| old.get(id).is_none_or(|before| before == day)), "{old:?} {late:?}");
}

/// Seedlings sown on the first day stand there already and must not be counted as sown once more.
#[test]
fn seedlings_sown_on_the_first_day_take_their_cells_once() {
    let standing = Standing {
        batch: BatchId::new("early"),
        crop: CropId::new("round"),
        site: SiteId::new("hall"),
        sown: TermBuilder::start(),
        plants: 10,
        stage: Stage::Nursery,
    };
    let hall = site("hall").meets(&[Mon, Fri]).tank(tank("a", 4, 6)).nursery(12, 7);
    let term = TermBuilder::default()
        .weeks(9)
        .site(hall)
        .serves(Fri, 100.0)
        .crop(wanted(head("round")))
        .standing(standing)
        .build();
    let plan = plan(&term, None);
    let bound = schedule::bound(&term).expect("ten seedlings fit into twelve cells");
    assert!(bound.points <= plan.facts.cost + 1e-6);
    assert!(plan.batches.iter().any(|batch| batch.is_standing() && batch.plants() == 10));
}

/// Nobody comes for 16 days in the middle: seedlings cannot wait through that, so the tanks stand half empty for weeks
/// afterwards. That is the main reason, not that there are too few holes, though more holes would help, too.
#[test]
fn a_nursery_that_stands_empty_over_a_break_is_the_reason_for_short_days_after_it() {
    let term = |endured: u32| {
        let hall = site("hall").meets(&[Tue, Fri]).nursery(60, endured).tank(tank("a", 6, 6));
        let mut term = TermBuilder::default()
            .weeks(18)
            .holiday(day("2026-10-19"), day("2026-11-01"))
            .site(hall)
            .serves(Fri, 900.0)
            .crop(wanted(head("round")))
            .build();
        let (first, last) = (day("2026-11-06"), day("2026-11-27"));
        term.servings.retain(|serving| first <= serving.date && serving.date <= last);
        term
    };
    let mut left = plan(&term(5), None);
    explain(&term(5), &mut left, &Watch { stop: &|| false, report: &|_| {}, threads: 2 });
    let reasons: Vec<_> = left.servings.iter().filter_map(|serving| serving.shortfall).collect();
    let of = |why: Shortfall| reasons.iter().filter(|reason| **reason == why).count();
    assert!(of(Shortfall::Unattended) >= 2 && of(Shortfall::Holes) <= 1, "{reasons:?}");
    let short = left.facts.short_grams;
    let looked_after = plan(&term(20), None).facts.short_grams;
    assert!(looked_after < 0.8 * short, "{looked_after} g instead of {short} g");
}

/// Where greens that are missing cost nothing, none are grown, though there is room for all of them: no limit is to blame.
#[test]
fn weights_of_nought_are_not_told_as_limits() {
    let hall = site("hall").meets(&[Mon, Thu]).nursery(40, 14).tank(tank("a", 4, 6));
    let mut term =
        TermBuilder::default().weeks(12).site(hall).serves(Fri, 50.0).crop(wanted(head("round"))).build();
    (term.rules.weights.short, term.rules.weights.very_short) = (0.0, 0.0);
    let mut plan = plan(&term, None);
    explain(&term, &mut plan, &Watch { stop: &|| false, report: &|_| {}, threads: 2 });
    let reasons: BTreeSet<_> = plan.servings.iter().filter_map(|serving| serving.shortfall).collect();
    assert!(reasons.contains(&Shortfall::Search) && !reasons.contains(&Shortfall::Together), "{reasons:?}");
}

/// Classes once a week, nobody in between, and seedlings that last four days: no sowing can come to anything.
#[test]
fn seedlings_left_alone_are_the_reason_why_nothing_grows() {
    let hall = site("hall").meets(&[Tue]).nursery(20, 4).tank(tank("a", 4, 6));
    let term =
        TermBuilder::default().weeks(12).site(hall).serves(Fri, 150.0).crop(wanted(head("round"))).build();
    let mut plan = plan(&term, None);
    explain(&term, &mut plan, &Watch { stop: &|| false, report: &|_| {}, threads: 2 });
    assert!(
        plan.servings.iter().all(|serving| serving.shortfall == Some(Shortfall::Unattended)),
        "{plan:#?}"
    );
    let mut tended = term.clone();
    tended.sites[0].looks_in = vec![Tue, Fri];
    assert!(self::plan(&tended, None).facts.short_grams < plan.facts.short_grams);
}

/// A batch has a smallest size, a tank has not: buckets of one hole are planted as well as one tank with all their holes.
/// A hole in a bucket of its own is worth nine tenths of one of eight in a lid, or more.
#[test]
fn batches_are_spread_over_buckets() {
    let served = |room| -> f64 {
        let term = TermBuilder::default()
            .site(room)
            .crop(wanted(head("oakleaf")))
            .rules(|rules| rules.smallest_batch = 4)
            .build();
        let plan = plan_searched(&term, None, DateTime::UNIX_EPOCH, 500);
        plan.servings.iter().map(|serving| serving.planned).sum()
    };
    let buckets =
        (1..=8).fold(site("hall"), |room, number| room.tank(tank(&format!("bucket-{number}"), 1, 1)));
    let (spread, together) = (served(buckets), served(site("hall").tank(tank("long", 2, 4))));
    assert!(together > 1000.0 && spread > 0.9 * together, "{spread} g in buckets, {together} g in one tank");
}

#[test]
fn an_exported_model_says_what_it_leaves_out() {
    let plain = term(head("oakleaf")).build();
    assert!(schedule::export_model(&plain).starts_with("NAME"));
    let mut cleaned = plain;
    cleaned.rules.clean_every = Some(6);
    let model = schedule::export_model(&cleaned);
    assert_eq!(model.lines().next(), Some("* A relaxation. Left out: cleaning of tanks."));
}

/// Rounds of the search until it ends by itself or is stopped after 400 of them, and whether the plan says it ended early.
fn rounds(until_stopped: bool) -> (usize, bool) {
    let rounds = AtomicUsize::new(0);
    let watch = Watch {
        stop: &|| rounds.load(Relaxed) >= 400,
        report: &|progress| {
            rounds.fetch_add(usize::from(progress.points.is_some()), Relaxed);
        },
        threads: 2,
    };
    let options = Options {
        seed: 1,
        effort: Some(1),
        until_stopped,
        term_id: "0123456789abcdef".to_owned(),
        made: DateTime::UNIX_EPOCH,
    };
    let term = term(head("oakleaf")).build();
    let plan = schedule::plan(&term, None, &options, &watch).unwrap();
    assert_eq!(check(&term, &plan), []);
    (rounds.into_inner(), plan.facts.stopped)
}

#[test]
fn a_search_with_a_time_limit_goes_on_until_then() {
    let (by_itself, stopped) = rounds(false);
    assert!(by_itself < 400 && !stopped, "{by_itself} rounds");
    assert_eq!(rounds(true), (400, false));
}
