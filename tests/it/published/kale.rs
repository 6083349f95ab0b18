//! Four plots cut in turn all winter: R. F. Heyduck, D. `VanLeeuwen`, S. J. Guldan, "Effect of Harvest Schedule
//! on Organic Kale Grown during the Winter in High Tunnels", `HortTechnology` 30(5):570, 2020.
//!
//! All plots were sown on 16 October and cut four times; the cuts gave 216, 88, 109 and 104 g a square foot
//! on average, 2.6 to 17.5 kg from the 60 square feet of a plot, up to 124 kg in the season.

use super::planned;
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{curve, days, figure, head};
use crate::support::day;
use sowtide::check::check;
use sowtide::domain::calendar::{Week, plus_days};
use sowtide::domain::crop::{Crop, Regrowth};
use sowtide::domain::growth::{Growing, Way};
use sowtide::domain::term::{ServingTarget, Term, WantedCrop, WayWish};
use std::collections::BTreeMap;

/// Weeks after sowing in which each plot was cut.
const PLOTS: [[u32; 4]; 4] = [[8, 16, 20, 24], [10, 17, 21, 25], [12, 18, 22, 26], [14, 19, 23, 27]];
/// Grams a square foot at each cut.
const CUTS: [f64; 4] = [216.0, 88.0, 109.0, 104.0];

/// Share of the leaf that a cut takes; what is left is not known, but little.
const TAKEN: f64 = 0.95;

/// A plant a square foot, of which a cut takes everything that may be taken. In winter it does not come back to what it
/// was: the published masses are what it reaches.
fn kale() -> Crop {
    Crop {
        germination: figure(1.0),
        nursery: figure(days(14, 14, 21)),
        first_cut: Some(figure(days(8 * 7, 8 * 7, 14 * 7))),
        whole_head: None,
        hold: figure(days(0, 0, 6 * 7)),
        growth: figure(curve(&[(8 * 7, CUTS[0] / TAKEN)])),
        regrowth: Some(Regrowth {
            interval: figure(days(4 * 7, 4 * 7, 8 * 7)),
            harvests: figure(4),
            until: None,
            taken: figure(TAKEN),
            lag: figure(3.0),
            vigour: figure(1.0),
            // The last harvest is planned as a pull, which leaves nothing.
            strength: figure(vec![CUTS[1] / CUTS[0], CUTS[2] / CUTS[0], CUTS[3] * TAKEN / CUTS[0]]),
        }),
        tank_survival: figure(1.0),
        ready_to_eat: figure(1.0),
        shelf_life: figure(0),
        ..head("kale")
    }
}

/// What the kitchen gets each week if the plots are cut as published: that is wanted on those days.
fn winter() -> Term {
    let sown = day("2013-10-16");
    let mut wanted_on = BTreeMap::new();
    for plot in PLOTS {
        for (week, grams) in plot.into_iter().zip(CUTS) {
            *wanted_on.entry(plus_days(sown, week * 7)).or_insert(0.0) += 60.0 * grams;
        }
    }
    let mut term = TermBuilder::default()
        .site(site("tunnel").tank(tank("beds", 12, 20)).nursery(240, 7))
        .crop(WantedCrop { way: WayWish::Cut, ..wanted(kale()) })
        .build();
    (term.start, term.end) = (sown, plus_days(sown, 27 * 7));
    // A Wednesday each week; sowing later than the first would not ripen all cuts in time.
    term.sites[0].class_days = (0..=27).map(|week| plus_days(sown, week * 7)).collect();
    term.servings =
        wanted_on.into_iter().map(|(date, grams)| ServingTarget { date, grams, sure: 0.0 }).collect();
    term.sites[0].tanks[0].usable_litres = 10_000.0;
    term.rules.smallest_batch = 240;
    term
}

#[test]
fn the_planner_finds_the_published_harvests() {
    let term = winter();
    let weeks: Vec<String> = term.servings.iter().map(|serving| Week::of(serving.date).to_string()).collect();
    assert_eq!((weeks.len(), &*weeks[0], &*weeks[15]), (16, "2013-W50", "2014-W17"));
    let plan = planned(&term, 600);
    assert_eq!(check(&term, &plan), []);
    // "Up to 124 kg": the printed figure is rounded.
    let grams: f64 = plan.batches.iter().map(sowtide::domain::plan::Batch::grams).sum();
    assert!((grams - 124_000.0).abs() < 620.0, "{grams}");
    let harvests = || plan.batches.iter().flat_map(|batch| &batch.parts).flat_map(|part| &part.harvests);
    let mut by_week: BTreeMap<Week, f64> = BTreeMap::new();
    for harvest in harvests() {
        *by_week.entry(Week::of(harvest.date)).or_default() += harvest.grams;
    }
    assert!(by_week.values().all(|grams| (2600.0..=17_500.0).contains(grams)), "{by_week:?}");
    // Weeks 9, 11, 13 and 15 stay empty, as published, and there is a harvest in all the others.
    let first = Week::of(day("2013-12-11"));
    let empty: Vec<usize> = std::iter::successors(Some(first), |week| Some(week.next()))
        .take(20)
        .enumerate()
        .filter(|(_, week)| !by_week.contains_key(week))
        .map(|(index, _)| index + 8)
        .collect();
    assert_eq!(empty, [9, 11, 13, 15]);
    assert!(plan.facts.short_grams < 0.005 * 124_000.0, "{} g short", plan.facts.short_grams);
}

/// Grams a square foot and week of plot B, cut four times in 25 weeks, against cutting once and sowing
/// again every 10 weeks: 20.68 against 21.6, so that regrowth has no advantage.
#[test]
fn sowing_again_gives_as_much_as_cutting_again() {
    let (term, kale) = (winter(), kale());
    let growing = Growing::new(&kale, &term.sites[0]);
    let mut stand = growing.never_held(10 * 7);
    let mut harvest_after = |weeks: u32, way| {
        stand = growing.later(stand, weeks * 7);
        let grams = growing.expected(growing.grams(stand), way);
        stand = growing.cut(stand);
        grams
    };
    let first = harvest_after(0, Way::Cut);
    let again =
        [(7, Way::Cut), (4, Way::Cut), (4, Way::WholeHead)].map(|(weeks, way)| harvest_after(weeks, way));
    let per_week = (first + again.iter().sum::<f64>()) / 25.0;
    assert!((per_week - 20.68).abs() < 0.02, "{per_week}");
    assert!((first / 10.0 - 21.6).abs() < 0.02, "{first}");
}
