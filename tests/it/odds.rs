//! How sure a plan is, against what the theory of chance says of simple plans.

use crate::properties::plan;
use crate::sample;
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{cutter, figure, head};
use crate::support::day;
use chrono::Weekday;
use chrono::Weekday::{Mon, Thu};
use sowtide::domain::calendar::DateSpan;
use sowtide::domain::crop::{Crop, Variation};
use sowtide::domain::growth::Way;
use sowtide::domain::ids::{BatchId, CropId, SiteId, TankId};
use sowtide::domain::luck::Trouble;
use sowtide::domain::odds::Odds;
use sowtide::domain::plan::{Arithmetic, Batch, Harvest, Origin, Part, Plan};
use sowtide::domain::state::Tray;
use sowtide::domain::term::Term;
use sowtide::insight::odds::{Luck, SoFar, odds};
use statrs::distribution::{Binomial, ContinuousCDF, DiscreteCDF, LogNormal};
use std::collections::BTreeMap;

const NONE: Trouble = Trouble { suffers: 0.0, lost: 0.0 };
const LUCK: Luck = Luck { runs: 20_000, seed: 7, threads: 2, trouble: NONE };
/// Standard errors by which a share may miss the true chance.
const ERRORS: f64 = 4.0;

/// Heads that stand close, of which all seedlings and plants live and weigh the same.
pub(crate) fn certain() -> Crop {
    Crop {
        germination: figure(1.0),
        tank_survival: figure(1.0),
        variation: figure(Variation { between_plants: 0.0, between_batches: 0.0, days: 0.0 }),
        spacing: figure(sowtide::domain::units::Length::from_cm(10.0)),
        ..head("round")
    }
}

/// A term of that crop with one serving day of so many grams, a Thursday, and one batch for it, to be pulled on the Monday before:
/// 140 g stand in a plant, half is eaten.
fn one_batch(crop: &Crop, plants: (u32, u32), grams: f64) -> (Term, Plan) {
    one_batch_with(&[Mon], crop, plants, grams)
}

pub(crate) fn one_batch_with(
    meets: &[Weekday],
    crop: &Crop,
    (plants, plugs): (u32, u32),
    grams: f64,
) -> (Term, Plan) {
    let mut term = TermBuilder::default()
        .site(site("hall").meets(meets).tank(tank("a", 10, 12)))
        .crop(wanted(crop.clone()))
        .rules(|rules| rules.tolerance = 0.0)
        .build();
    let date = day("2026-10-19");
    term.servings.retain(|serving| serving.date >= date);
    term.servings.truncate(1);
    term.servings[0].grams = grams;
    let arithmetic = Arithmetic {
        days: 42,
        standing_grams: 140.0,
        taken: 1.0,
        survival: crop.tank_survival.value,
        yield_factor: 1.0,
        ready_to_eat: 0.5,
    };
    let harvest = Harvest {
        date,
        way: Way::WholeHead,
        number: 1,
        grams: f64::from(plants) * 70.0 * arithmetic.survival,
        arithmetic,
        serves: Vec::new(),
    };
    let part = Part {
        plants,
        tank: TankId::new("a"),
        transplant: day("2026-09-21"),
        holes: (1..=plants).collect(),
        kept_empty: Vec::new(),
        cuts_before: 0,
        lost: None,
        harvests: vec![harvest],
    };
    let batch = Batch {
        id: BatchId::new("b001"),
        crop: CropId::new("round"),
        site: SiteId::new("hall"),
        sown: day("2026-09-07"),
        origin: Origin::Sown,
        plugs,
        seeds_per_plug: 1,
        parts: vec![part],
        task_numbers: BTreeMap::new(),
    };
    (term, Plan { batches: vec![batch], servings: Vec::new(), ..sample::plan() })
}

fn of_one_batch(crop: &Crop, (plants, plugs): (u32, u32), grams: f64, trouble: Trouble) -> Odds {
    let (term, plan) = one_batch(crop, (plants, plugs), grams);
    odds(&term, &plan, None, Luck { trouble, ..LUCK })
}

/// From a day on, with nothing in the nursery.
fn since(date: &str) -> SoFar {
    SoFar { today: day(date), trays: BTreeMap::new() }
}

/// Where nothing differs and nothing fails, every playing is the plan.
#[test]
fn without_luck_the_plan_comes_true() {
    let sure = |crop: Crop| Crop {
        germination: figure(1.0),
        nursery_survival: figure(1.0),
        tank_survival: figure(1.0),
        variation: figure(Variation { between_plants: 0.0, between_batches: 0.0, days: 0.0 }),
        ..crop
    };
    let term = TermBuilder::default()
        .site(site("hall").tank(tank("a", 6, 6)).tank(tank("b", 4, 6)).nursery(60, 4))
        .holiday(day("2026-10-19"), day("2026-10-25"))
        .serves(chrono::Weekday::Fri, 600.0)
        .crop(wanted(sure(head("round"))))
        .crop(wanted(sure(cutter("chard"))))
        .build();
    let plan = plan(&term, 1, 60).unwrap();
    let found = odds(&term, &plan, None, Luck { runs: 100, ..LUCK });
    assert_eq!(found.days.len(), plan.servings.len());
    for (day, serving) in found.days.iter().zip(&plan.servings) {
        for grams in [day.mean, day.low, day.high] {
            assert!((grams - serving.planned).abs() < 1e-6, "{day:?} {serving:?}");
        }
    }
    assert!((found.surplus_grams - plan.facts.surplus_grams).abs() < 1e-6, "{found:?}");
}

/// Chances that at least so many of some seeds come up, each by itself: the binomial distribution, worked out exactly. Fewest
/// plugs by the mean, and for 80 and 95 %.
#[test]
fn seeds_come_up_as_the_binomial_distribution_says() {
    for (plants, germination, plugs, chance) in [
        (10, 0.8, 13, 0.747_324),
        (10, 0.8, 14, 0.870_160),
        (24, 0.6, 40, 0.568_132),
        (30, 0.85, 40, 0.970_079),
        (40, 0.8, 50, 0.583_559),
        (100, 0.9, 112, 0.671_544),
    ] {
        let crop = Crop { germination: figure(germination), ..certain() };
        let found = of_one_batch(&crop, (plants, plugs), f64::from(plants) * 70.0 - 1.0, NONE);
        let reached = found.days[0].reached;
        assert!((reached.share - chance).abs() < ERRORS * reached.error, "{plants} of {plugs}: {reached:?}");
        assert_eq!(reached, found.every_day);
    }
}

/// The mean of plants that each live with one chance, whatever is planted.
#[test]
fn as_many_plants_die_as_the_crop_says() {
    let crop = Crop { tank_survival: figure(0.9), ..certain() };
    let found = of_one_batch(&crop, (40, 40), 10_000.0, NONE);
    let error = 70.0 * (40.0_f64 * 0.9 * 0.1 / 20_000.0).sqrt();
    assert!((found.days[0].mean - 40.0 * 70.0 * 0.9).abs() < ERRORS * error, "{found:?}");
}

/// Half to nine tenths of the mass are left in one tank of two; and all or nothing. Closed forms.
#[test]
fn tanks_are_in_trouble_as_often_as_said() {
    let all = 40.0 * 70.0;
    let suffers = of_one_batch(&certain(), (40, 40), 10_000.0, Trouble { suffers: 0.5, lost: 0.0 });
    // Between half and nine tenths the variance is 0.4² / 12.
    let second = 0.5 + 0.5 * (0.7 * 0.7 + 0.16 / 12.0);
    let error = all * ((second - 0.85 * 0.85) / 20_000.0_f64).sqrt();
    assert!((suffers.days[0].mean - 0.85 * all).abs() < ERRORS * error, "{suffers:?}");
    let lost = of_one_batch(&certain(), (40, 40), all, Trouble { suffers: 0.0, lost: 0.25 }).days[0];
    assert!((lost.reached.share - 0.75).abs() < ERRORS * lost.reached.error, "{lost:?}");
    assert!((lost.low, lost.high) == (0.0, all) && lost.nearly == lost.reached, "{lost:?}");
}

/// Forty heads that differ by 12 %: their sum has a standard error of 1.9 % if they were independent, but 8.7 % as half of the
/// variance is shared by the tank: √(0.5 + 0.5 / 40) · 12 %. The middle eight tenths of a normal distribution are 2.563
/// standard deviations wide (the table in every textbook), and so nearly are these.
#[test]
fn plants_of_a_tank_are_heavy_or_light_together() {
    let variation = Variation { between_plants: 0.12, between_batches: 0.0, days: 0.0 };
    let found = of_one_batch(&Crop { variation: figure(variation), ..certain() }, (40, 40), 10_000.0, NONE);
    let day = found.days[0];
    let spread = (day.high - day.low) / 2.563 / day.mean;
    let shared = 0.12 * (0.5_f64 + 0.5 / 40.0).sqrt();
    assert!((spread / shared - 1.0).abs() < 0.03, "{spread} {shared}");
    assert!((day.mean / (40.0 * 70.0) - 1.0).abs() < ERRORS * shared / 20_000.0_f64.sqrt(), "{day:?}");
}

/// Slow batches weigh less; days and mass together spread as batches do, and neither counts twice.
#[test]
fn batches_differ_by_their_own_spread() {
    let spread_of = |days: f64| {
        let variation = Variation { between_plants: 0.0, between_batches: 0.15, days };
        let found =
            of_one_batch(&Crop { variation: figure(variation), ..certain() }, (40, 40), 10_000.0, NONE);
        (found.days[0].high - found.days[0].low) / 2.563 / found.days[0].mean
    };
    for days in [0.0, 1.0, 2.0] {
        assert!((spread_of(days) / 0.15 - 1.0).abs() < 0.2, "{days} days: {}", spread_of(days));
    }
}

/// Spare seedlings take free holes: of 60 plugs at 0.8 some 48 come up, and all of them are planted.
#[test]
fn spare_seedlings_take_free_holes() {
    let crop = Crop { germination: figure(0.8), ..certain() };
    let found = of_one_batch(&crop, (40, 60), 10_000.0, NONE);
    assert!((found.days[0].mean - 48.0 * 70.0).abs() < 5.0, "{found:?}");
    assert!(found.spare_seedlings < 0.01, "{found:?}");
    let (mut term, plan) = one_batch(&crop, (40, 60), 10_000.0);
    (term.sites[0].tanks[0].lid.rows, term.sites[0].tanks[0].lid.columns) = (5, 8);
    let full = odds(&term, &plan, None, LUCK);
    assert!((full.spare_seedlings - 8.0).abs() < 0.2 && full.days[0].mean < 40.0 * 70.0 + 1e-6, "{full:?}");
}

#[test]
fn luck_depends_on_the_seed_alone() {
    let (term, plan) = one_batch(&head("round"), (40, 55), 900.0);
    let with = |seed, threads| {
        odds(&term, &plan, None, Luck { runs: 300, seed, threads, trouble: Trouble::default() })
    };
    assert_eq!(with(1, 1), with(1, 2));
    assert_eq!(with(1, 1), with(1, 7));
    assert_ne!(with(1, 1).days, with(2, 1).days);
}

/// What lies before today went as planned, and what stands has only the rest of its days to die.
#[test]
fn a_term_under_way_is_played_from_what_stands() {
    let crop = Crop { germination: figure(0.5), tank_survival: figure(0.81), ..certain() };
    let (term, plan) = one_batch(&crop, (40, 40), 10_000.0);
    let on = |date: &str| odds(&term, &plan, Some(&since(date)), LUCK);
    // Half of its 28 days are left: √0.81 of the plants that stand live.
    let half = on("2026-10-05").days[0];
    assert!((half.mean - 40.0 * 70.0 * 0.9).abs() < 5.0, "{half:?}");
    let after = on("2026-10-20");
    assert!(after.days.iter().all(|served| served.low.to_bits() == served.high.to_bits()), "{after:?}");
}

/// What cannot be done any more counts as nothing: no class on the day of harvest, or a tank taken out of use before it.
#[test]
fn what_cannot_be_harvested_counts_as_nothing() {
    let (term, plan) = one_batch(&certain(), (40, 40), 2_800.0);
    let mean = |term: &Term| odds(term, &plan, Some(&since("2026-09-28")), LUCK).days[0].mean;
    assert!((mean(&term) - 2_800.0).abs() < 1e-6);
    let mut lost = term.clone();
    lost.sites[0].class_days.retain(|class| *class != day("2026-10-19"));
    assert!(mean(&lost) < 1e-9, "no class then");
    let out = |first, last| {
        let mut out = term.clone();
        out.sites[0].tanks[0].out.push(DateSpan { first: day(first), last: day(last) });
        mean(&out)
    };
    assert!(out("2026-10-05", "2026-12-01") < 1e-9, "its tank is out of use");
    // What is out of use afterwards, or was before today, does not matter.
    assert!((out("2026-10-19", "2026-12-01") - 2_800.0).abs() < 1e-6);
    assert!((out("2026-09-22", "2026-09-27") - 2_800.0).abs() < 1e-6);
}

/// Heads that are plainly too small on Monday wait for Thursday, when class meets again before the same serving day: worked out by
/// integrating over the days they are late. If others need their holes meanwhile, they cannot.
#[test]
fn a_late_batch_waits_where_it_may() {
    let variation = Variation { between_plants: 0.0, between_batches: 0.0, days: 4.0 };
    let crop = Crop { variation: figure(variation), ..certain() };
    let curve = &crop.growth.value;
    let share = |age: f64, late: f64| curve.grams_at(age - late * age) / 140.0;
    let patient = |late| {
        let seen = share(42.0, late);
        if seen < 0.85 { share(45.0, late) } else { seen }
    };
    let mean_of = |share: &dyn Fn(f64) -> f64| {
        let steps = (-4_000..4_000).map(|step| f64::from(step) / 1_000.0 + 0.000_5);
        let density =
            |deviations: f64| (-deviations * deviations / 2.0).exp() / (2.0 * std::f64::consts::PI).sqrt();
        steps.map(|at| share(at * 4.0 / 42.0) * density(at) * 0.001).sum::<f64>() * 40.0 * 70.0
    };
    let mean = |(term, plan): (Term, Plan)| odds(&term, &plan, None, LUCK).days[0].mean;
    let all = (40, 40);
    let (hasty, waits) = (mean_of(&|late| share(42.0, late)), mean_of(&patient));
    assert!(waits - hasty > 30.0, "{hasty} {waits}");
    let found = mean(one_batch(&crop, all, 10_000.0));
    assert!((found - hasty).abs() < 8.0, "{found} {hasty}");
    let (term, plan) = one_batch_with(&[Mon, Thu], &crop, all, 10_000.0);
    let found = mean((term.clone(), plan.clone()));
    assert!((found - waits).abs() < 8.0, "{found} {waits}");
    let mut next = plan.batches[0].clone();
    next.id = BatchId::new("b002");
    next.parts[0].transplant = day("2026-10-19");
    next.parts[0].harvests.clear();
    let awaited =
        mean((term.clone(), Plan { batches: vec![plan.batches[0].clone(), next.clone()], ..plan.clone() }));
    assert!((awaited - hasty).abs() < 8.0, "{awaited} {hasty}");
    // Holes rest for a day.
    next.parts[0].transplant = day("2026-10-23");
    let after = mean((term, Plan { batches: vec![plan.batches[0].clone(), next], ..plan }));
    assert!((after - waits).abs() < 8.0, "{after} {waits}");
}

/// Where seedlings were counted nothing is left to chance but how many of them die before they are moved.
#[test]
fn counted_seedlings_have_come_up() {
    let crop = Crop { germination: figure(0.5), nursery_survival: figure(0.9), ..certain() };
    let (term, plan) = one_batch(&crop, (40, 90), 10_000.0);
    let counted = |came_up| {
        let trays = BTreeMap::from([(BatchId::new("b001"), Tray { plugs: 90, came_up })]);
        odds(&term, &plan, Some(&SoFar { today: day("2026-09-14"), trays }), LUCK).days[0]
    };
    let few = counted(Some(30));
    assert!((few.mean - 27.0 * 70.0).abs() < ERRORS * 70.0 * (30.0_f64 * 0.09 / 20_000.0).sqrt(), "{few:?}");
    assert!(counted(Some(0)).high < 1e-9);
    let unknown = counted(None);
    assert!((unknown.mean - 40.5 * 70.0).abs() < 10.0, "{unknown:?}");
}

/// Where as many were counted as are to be expected, the last plants count as given up; seedlings that live after all take their
/// places again.
#[test]
fn seedlings_beyond_what_is_expected_take_the_last_places_again() {
    let (mut term, mut plan) = one_batch(&certain(), (12, 15), 10_000.0);
    let next = sowtide::domain::term::ServingTarget { date: day("2026-10-29"), ..term.servings[0] };
    term.servings.push(next);
    let mut last = plan.batches[0].parts[0].clone();
    (last.plants, last.holes, last.harvests[0].date) = (2, vec![13, 14], day("2026-10-26"));
    last.harvests[0].grams = 140.0;
    plan.batches[0].parts.push(last);
    let trays = BTreeMap::from([(BatchId::new("b001"), Tray { plugs: 15, came_up: Some(15) })]);
    let found = odds(&term, &plan, Some(&SoFar { today: day("2026-09-14"), trays }), LUCK);
    assert!((found.days[0].mean - 12.0 * 70.0).abs() < 1e-6, "{found:?}");
    assert!((found.days[1].mean - 3.0 * 70.0).abs() < 1e-6, "{found:?}");
}

/// One term in ten stays below `low` and one goes beyond `high`: against the quantiles of a statistics library (statrs), for a
/// log-normal mass and for seeds that come up.
#[test]
fn the_range_is_the_distributions_own() {
    let variation = Variation { between_plants: 0.0, between_batches: 0.15, days: 0.0 };
    let found =
        of_one_batch(&Crop { variation: figure(variation), ..certain() }, (40, 40), 10_000.0, NONE).days[0];
    let variance = (1.0_f64 + 0.15 * 0.15).ln();
    let mass = LogNormal::new(-variance / 2.0, variance.sqrt()).unwrap();
    for (told, share) in [(found.low, 0.1), (found.high, 0.9)] {
        let exact = 40.0 * 70.0 * mass.inverse_cdf(share);
        // The standard error of a quantile is √(q(1 - q)/n) over the density there, which is 0.175 of the deviations.
        let error = 40.0 * 70.0 * 0.15 * (0.09_f64 / 20_000.0).sqrt() / 0.175;
        assert!((told - exact).abs() < ERRORS * error, "{told} {exact}");
    }
    let found =
        of_one_batch(&Crop { germination: figure(0.8), ..certain() }, (120, 120), 10_000.0, NONE).days[0];
    let up = Binomial::new(0.8, 120).unwrap();
    for (told, share) in [(found.low, 0.1), (found.high, 0.9)] {
        assert!(
            (told / 70.0 - up.inverse_cdf(share) as f64).abs() < 1e-6,
            "{told} {}",
            up.inverse_cdf(share)
        );
    }
}
