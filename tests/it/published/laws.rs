//! Steady state: by Little's law, plants standing are plants started a day times the days they stand
//! (J. D. C. Little, "A Proof for the Queuing Formula: L = λW", Operations Research 9, 1961).

use super::planned;
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{curve, days, figure, head};
use chrono::{Days, NaiveDate, Weekday};
use sowtide::check::check;
use sowtide::domain::calendar::{days_between, plus_days};
use sowtide::domain::crop::Crop;
use sowtide::domain::plan::Plan;
use sowtide::domain::room;
use sowtide::domain::term::{ServingTarget, Term};
use sowtide::schedule;

/// Weekdays on which greens are served, and grams.
type Served<'a> = (&'a [Weekday], f64);

const EVERY_DAY: [Weekday; 7] =
    [Weekday::Mon, Weekday::Tue, Weekday::Wed, Weekday::Thu, Weekday::Fri, Weekday::Sat, Weekday::Sun];

/// "Grower's Handbooks", Cornell Controlled Environment Agriculture: 5 oz in 35 days from seed.
const HEAD_GRAMS: f64 = 142.0;

/// A head that stands exactly so long in nursery and tank, of which nothing is lost after transplanting.
/// "Lettuce Production", horticultural engineering page, Rutgers University: of 1200 seeds sown a day 960
/// are transplanted.
fn lettuce(nursery: u32, in_tank: u32, shelf_life: u32) -> Crop {
    let age = nursery + in_tank;
    Crop {
        nursery: figure(days(nursery, nursery, nursery)),
        whole_head: figure(days(age, age, age)).into(),
        growth: figure(curve(&[(age, HEAD_GRAMS)])),
        tank_survival: figure(1.0),
        ready_to_eat: figure(1.0),
        shelf_life: figure(shelf_life),
        ..head("butterhead")
    }
}

/// One tank in a room where a class meets on the given days; the hole is free again on the day of the
/// harvest. Serving begins with the first day on which a head can be ready.
fn pond(crop: Crop, holes: (u32, u32), meets: &[Weekday], weeks: u32, served: Served) -> Term {
    let nursery = 40 * holes.0 * holes.1;
    let first = TermBuilder::start() + Days::new(u64::from(crop.whole_head.as_ref().unwrap().value.min + 6));
    let mut term = TermBuilder::default()
        .weeks(weeks)
        .site(site("pond").tank(tank("a", holes.0, holes.1)).meets(meets).nursery(nursery, 7))
        .crop(wanted(crop))
        .rules(|rules| rules.turnover_days = 0)
        .build();
    // Nobody needs to top it up.
    term.sites[0].tanks[0].usable_litres = 10_000.0;
    let served_on = |day: &NaiveDate| *day >= first && served.0.contains(&chrono::Datelike::weekday(day));
    term.servings = term
        .start
        .iter_days()
        .take_while(|day| *day <= term.end)
        .filter(served_on)
        .map(|date| ServingTarget { date, grams: served.1, sure: 0.0 })
        .collect();
    term
}

/// Heads by which the plan falls short, all serving days together.
fn heads_short(plan: &Plan) -> f64 {
    plan.facts.short_grams / HEAD_GRAMS
}

fn sound_plan(term: &Term) -> Plan {
    let plan = planned(term, 300);
    assert_eq!(check(term, &plan), []);
    plan
}

/// Holes in use on every day from `after` days after the start to so many days before the end.
fn in_use(term: &Term, plan: &Plan, after: u32, before: i64) -> Vec<u32> {
    let (site, first) = (&term.sites[0], plus_days(term.start, after));
    first
        .iter_days()
        .take_while(|day| days_between(*day, term.end) >= before)
        .map(|day| room::holes(plan, &site.id, &site.tanks[0].id, day).planted)
        .collect()
}

/// As printed on the Rutgers page: 960 plants a day stand 10 days at one spacing and 14 at the next.
#[test]
fn a_pond_planted_daily_holds_23_040_plants() {
    // 48 serving days, twice the stay: no hole can give more than two heads.
    let pond = |holes| pond(lettuce(12, 24, 0), holes, &EVERY_DAY, 13, (&EVERY_DAY, 960.0 * HEAD_GRAMS));
    let mut enough = pond((144, 160));
    assert_eq!(enough.sites[0].tanks[0].lid.holes(), 960 * (10 + 14));
    enough.sites[0].tanks[0].usable_litres = 1e9;
    enough.servings.truncate(48);
    let bound = |term: &Term| schedule::bound(term).unwrap().short_grams / HEAD_GRAMS;
    assert!(bound(&enough) < 0.5, "{}", bound(&enough));
    let mut fewer = enough.clone();
    fewer.sites[0].tanks[0].lid.columns = 159;
    // 144 holes fewer, two heads each.
    assert!((bound(&fewer) - 288.0).abs() < 0.5, "{}", bound(&fewer));
}

/// A fortieth of it, in whole plants and day by day: 30 seeds and 24 plants a day.
#[test]
fn a_fortieth_of_the_pond_is_full_every_day_and_sows_for_the_seedlings_lost() {
    let served: Served = (&EVERY_DAY, 24.0 * HEAD_GRAMS);
    let mut term = pond(lettuce(12, 24, 0), (24, 24), &EVERY_DAY, 13, served);
    term.servings.truncate(48);
    let plan = sound_plan(&term);
    assert!(heads_short(&plan) < 0.01, "{}", heads_short(&plan));
    assert!(plan.batches.iter().all(|batch| (batch.seeds(), batch.plants()) == (30, 24)));
    let first = days_between(term.start, term.servings[0].date) as u32;
    let steady = in_use(&term, &plan, first - 1, days_between(term.servings[23].date, term.end));
    assert!(steady.len() == 25 && steady.iter().all(|plants| *plants == 24 * 24), "{steady:?}");
    term.sites[0].tanks[0].lid.columns = 23;
    let short = heads_short(&sound_plan(&term));
    assert!(short > 2.0 * 24.0 - 0.01, "{short}");
}

/// Where heads keep for a week, batches can be spread over the days and the average is enough.
#[test]
fn spread_over_the_week_the_average_number_of_holes_is_enough() {
    let served: Served = (&[Weekday::Thu], 40.0 * HEAD_GRAMS);
    let pond = |columns| pond(lettuce(12, 24, 6), (8, columns), &EVERY_DAY, 16, served);
    let enough = pond(18);
    let plan = sound_plan(&enough);
    assert!(heads_short(&plan) < 0.5, "{}", heads_short(&plan));
    // Ten weeks are at most three stays, and 128 holes give at most 384 of the 400 heads.
    let short = heads_short(&sound_plan(&pond(16)));
    assert!(short > 16.0 - 0.01, "{short}");
}

/// H. Ako, A. Baker, "Small-Scale Lettuce Production with Hydroponics or Aquaponics", University of
/// Hawaii, SA-2, 2009: a tray gives 48 heads every five to six weeks. So 48 heads a week take five to six.
#[test]
fn as_many_trays_as_weeks_of_growing_give_a_tray_of_heads_a_week() {
    for weeks in [5, 6] {
        let thursday = [Weekday::Thu];
        let crop = lettuce(14, weeks * 7, 0);
        let trays =
            |trays: u32| pond(crop.clone(), (6 * trays, 8), &thursday, 20, (&thursday, 48.0 * HEAD_GRAMS));
        let plan = sound_plan(&trays(weeks));
        assert!(heads_short(&plan) < 0.01, "{}", heads_short(&plan));
        // Of any so many servings in a row, which stand together, one tray is missing.
        let term = trays(weeks - 1);
        let missing = f64::from(term.servings.len() as u32 / weeks * 48);
        let short = heads_short(&sound_plan(&term));
        assert!(short > missing - 0.01, "{short} of {missing}");
    }
}
