//! A published weekly lettuce schedule, planned, against Little's law: plants standing on average are plants
//! started a day times the days they stand (J. D. C. Little, "A Proof for the Queuing Formula: L = lambda W",
//! Operations Research 9, 1961, pp. 383-387).
//!
//! "Lettuce Production", horticultural engineering page, Rutgers University: 12 days in the nursery, 24 days in
//! the pond, 960 of 1200 seeds transplanted. "Grower's Handbooks", Cornell Controlled Environment Agriculture:
//! a head of 5 oz, 142 g. The scale is that of a school: 40 heads, once a week.

use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{curve, days, figure, head};
use crate::support::day;
use chrono::{NaiveDate, Weekday};
use sowtide::check::check;
use sowtide::domain::calendar::{days_between, plus_days};
use sowtide::domain::crop::Crop;
use sowtide::domain::luck::Trouble;
use sowtide::domain::plan::{Part, Plan};
use sowtide::domain::term::Term;
use sowtide::insight::most::most;
use sowtide::insight::odds::Luck;
use sowtide::schedule::{self, Options, Watch};

const NURSERY_DAYS: u32 = 12;
const POND_DAYS: u32 = 24;
const HEADS: u32 = 40;
pub(crate) const HEAD_GRAMS: f64 = 142.0;
/// Serving days of the 16 weeks that the first sowing day of the term can still reach: 36 days after the first
/// Wednesday is Thursday, 15 October.
const REACHABLE: usize = 11;

/// The published schedule with no leeway: transplanted, pulled and eaten on fixed days.
fn lettuce() -> Crop {
    let ripe = NURSERY_DAYS + POND_DAYS;
    Crop {
        germination: figure(960.0 / 1200.0),
        nursery: figure(days(NURSERY_DAYS, NURSERY_DAYS, NURSERY_DAYS)),
        whole_head: Some(figure(days(ripe, ripe, ripe))),
        tank_survival: figure(1.0),
        growth: figure(curve(&[(NURSERY_DAYS, 2.0), (ripe, HEAD_GRAMS)])),
        shelf_life: figure(0),
        ready_to_eat: figure(1.0),
        ..head("lettuce")
    }
}

/// Sixteen weeks in which somebody comes every day. Two batches of 50 plugs meet in the nursery.
pub(crate) fn term(rows: u32, columns: u32) -> Term {
    use Weekday::{Fri, Mon, Sat, Sun, Thu, Tue, Wed};
    let room = site("hall").meets(&[Mon, Tue, Wed, Thu, Fri, Sat, Sun]).nursery(100, 4);
    TermBuilder::default()
        .serves(Thu, f64::from(HEADS) * HEAD_GRAMS)
        .site(room.tank(tank("pond", rows, columns)))
        .crop(wanted(lettuce()))
        .rules(|rules| rules.turnover_days = 0)
        .build()
}

fn options(effort: u64) -> Options {
    Options {
        seed: 1,
        effort: Some(effort),
        until_stopped: false,
        term_id: "0123456789abcdef".to_owned(),
        made: "2026-09-01T08:30:00Z".parse().unwrap(),
    }
}

pub(crate) fn plan(term: &Term) -> Plan {
    let plan =
        schedule::plan(term, None, &options(300), &Watch { stop: &|| false, report: &|_| {}, threads: 2 })
            .unwrap();
    assert_eq!(check(term, &plan), []);
    plan
}

/// Heads short on the serving days that can be reached at all.
fn heads_short(plan: &Plan) -> f64 {
    let reachable = &plan.servings[plan.servings.len() - REACHABLE..];
    reachable.iter().map(|serving| serving.short() / HEAD_GRAMS).sum()
}

/// Plants in the pond at the end of a day.
fn standing(plan: &Plan, on: NaiveDate) -> u32 {
    let there = |part: &&Part| part.transplant <= on && part.leaves().is_some_and(|leaves| on < leaves);
    plan.batches.iter().flat_map(|batch| &batch.parts).filter(there).map(|part| part.plants).sum()
}

#[test]
fn a_weekly_batch_feeds_every_reachable_week() {
    let term = term(10, 16);
    let plan = plan(&term);
    assert!(heads_short(&plan) < 1e-6, "{}", heads_short(&plan));
    let (early, reachable) = plan.servings.split_at(plan.servings.len() - REACHABLE);
    assert!(early.iter().all(|serving| serving.planned == 0.0));
    assert_eq!(reachable[0].date, day("2026-10-15"));
    // 40 heads need 50 plugs, one seed each, at 0.80 plants a plug.
    assert_eq!(plan.batches.len(), REACHABLE);
    for (batch, serving) in plan.batches.iter().zip(reachable) {
        assert_eq!((batch.plants(), batch.plugs, batch.seeds()), (HEADS, 50, 50));
        assert_eq!(days_between(batch.sown, serving.date), i64::from(NURSERY_DAYS + POND_DAYS));
    }
}

#[test]
fn as_many_plants_stand_as_littles_law_says() {
    let plan = plan(&term(10, 16));
    // Full from the fourth transplanting, Monday, 12 October, to the end of the week of the last.
    let mondays: Vec<NaiveDate> = (0..8).map(|week| plus_days(day("2026-10-12"), 7 * week)).collect();
    for monday in mondays {
        let counts: Vec<u32> = (0..7).map(|after| standing(&plan, plus_days(monday, after))).collect();
        // 40 a week for 24 days: 40 * 24 / 7 = 137.1 plants on average, so 40 * 24 plant-days a week, and at
        // most ceil(24 / 7) = 4 batches at once.
        assert_eq!(counts.iter().sum::<u32>(), HEADS * POND_DAYS, "{monday}");
        assert_eq!(counts, [160, 160, 160, 120, 120, 120, 120], "{monday}");
    }
}

#[test]
fn fewer_holes_than_four_batches_leave_a_shortfall() {
    // The average of 137 is not enough, because a batch stands whole until it is pulled: every four batches in a row
    // share the holes. Of eleven, two foursomes lose what is missing from 160, and three go free.
    for (rows, columns) in [(3, 53), (10, 15), (1, 137)] {
        let holes = rows * columns;
        let term = term(rows, columns);
        let least = f64::from(2 * (4 * HEADS - holes));
        let found = plan(&term);
        let unreachable = (found.servings.len() - REACHABLE) as f64 * f64::from(HEADS);
        let bound = schedule::bound(&term).unwrap().short_grams / HEAD_GRAMS - unreachable;
        assert!((bound - least).abs() < 1e-3, "{holes} holes: {bound} heads");
        assert!(heads_short(&found) > least - 1e-3, "{holes} holes: {} heads", heads_short(&found));
    }
}

#[test]
fn one_hole_less_costs_two_heads() {
    let short = heads_short(&plan(&term(3, 53)));
    assert!((short - 2.0).abs() < 1e-6, "{short} heads");
}

/// What the pond can sustain: the 40 heads a week for which four batches stand in its 160 holes at a time, as the schedule has it,
/// and never more than the 46 of Little's law.
#[test]
fn no_pond_sustains_more_than_littles_law() {
    let term = term(8, 20);
    let options = options(300);
    let watch = Watch { stop: &|| false, report: &|_| {}, threads: 2 };
    let luck = Luck { runs: 100, seed: 1, threads: 2, trouble: Trouble::default() };
    let most = most(&term, &options, luck, &watch).unwrap().unwrap();
    let heads = most.grams / HEAD_GRAMS;
    let of_law = 160.0 * 7.0 / f64::from(POND_DAYS);
    assert!(heads > 0.9 * f64::from(HEADS) && heads < f64::from(HEADS) + 1.0, "{most:?}");
    assert!(heads <= of_law, "{heads} heads, {of_law} by the law");
    assert!(!most.stopped && most.tried == 6 && most.least_sure.is_some());
    assert_eq!(most.days.len() + most.too_early.len(), term.servings.len());
}
