//! Strategies for small valid terms of every kind.
//!
//! Every term they give can be planned: what already stands can be brought to harvest, though there may
//! be no way to reach the targets.

use super::build::{SiteBuilder, TermBuilder, site, tank, wanted};
use super::crops::{cutter, days, figure, head, young};
use chrono::{Days, NaiveDate, Weekday};
use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;
use proptest::sample::{Index, select, subsequence};
use sowtide::domain::calendar::{days_between, plus_days};
use sowtide::domain::crop::Limits;
use sowtide::domain::growth::{DayWindow, Growing};
use sowtide::domain::ids::BatchId;
use sowtide::domain::lid::Lid;
use sowtide::domain::site::{Site, Tank};
use sowtide::domain::term::{
    Arrival, Location, OneCropTanks, Rhythm, Rules, SowWish, Stage, Standing, Term, WantedCrop, WayWish,
};
use sowtide::domain::units::Length;
use std::collections::BTreeSet;

/// Terms of 1 to 3 sites with 1 to 3 tanks each, 1 to 3 crops and 9 to 15 weeks.
pub(crate) fn any_term() -> impl Strategy<Value = Term> {
    let sites = (1..=3_usize).prop_flat_map(|count| {
        let ids = ["annex", "hall", "room-12"];
        ids[..count].iter().map(|id| any_site(id)).collect::<Vec<_>>()
    });
    let served = (select(vec![Weekday::Tue, Weekday::Thu, Weekday::Fri]), 1..=12_u32);
    let parts = (sites, any_crops(), any_rules(), served);
    let calendar = (9..=15_u32, option::of((3..6_u32, 3..=16_u32)), vec(0..100_u32, 0..3));
    // At most one batch stands at a site, so that what stands never gets into its own way.
    let standing = vec(option::weighted(0.5, any_standing()), 3);
    let offered = vec((any::<Index>(), any::<Index>(), any::<Index>(), 1..=20_u32), 0..3);
    let turns = prop::bool::weighted(1.0 / 3.0);
    // After all others, so that cases kept from before stay what they were.
    let sure = select(vec![0.0, 0.0, 0.5, 0.8, 0.95]);
    let bound = vec(vec((any::<Index>(), option::of(any::<Index>())), 0..3), 3);
    (parts, calendar, standing, (offered, bound, turns, sure)).prop_map(
        |(
            (sites, crops, rules, served),
            (weeks, holiday, closures),
            standing,
            (offered, bound, turns, sure),
        )| {
            let start = TermBuilder::start();
            let mut builder = TermBuilder::default()
                .weeks(weeks)
                .serves(served.0, f64::from(served.1) * 100.0)
                .rules(|found| *found = rules);
            if let Some((after, length)) = holiday {
                let first = start + Days::new(u64::from(after) * 7);
                builder = builder.holiday(first, plus_days(first, length));
            }
            for closed in closures {
                builder = builder.closure(plus_days(start, closed % (weeks * 7)));
            }
            builder = sites.into_iter().fold(builder, TermBuilder::site);
            builder = crops.into_iter().fold(builder, TermBuilder::crop);
            let mut term = builder.build();
            term.rules.every_site = turns;
            term.promise(sure);
            // Now and then only of every other day.
            if (sure - 0.8).abs() < 1e-9 {
                term.servings.iter_mut().step_by(2).for_each(|serving| serving.sure = 0.0);
            }
            for (wanted, places) in term.crops.iter_mut().zip(&bound) {
                wanted.only_in = only_in(&term.sites, places);
            }
            term.standing = standing
                .iter()
                .zip(&term.sites)
                .filter_map(|(seed, site)| stand(&term, site, seed.as_ref()?))
                .collect();
            term.arrivals = offered.iter().filter_map(|seed| offer(&term, *seed)).collect();
            let mut seen = BTreeSet::new();
            term.arrivals.retain(|one| seen.insert((one.crop.clone(), one.site.clone(), one.date, one.days)));
            term
        },
    )
}

/// Sites and tanks to bind a crop to, none of them named twice.
fn only_in(sites: &[Site], places: &[(Index, Option<Index>)]) -> Vec<Location> {
    let mut found: Vec<Location> = Vec::new();
    for (site, tank) in places {
        let site = site.get(sites);
        let tank = tank.map(|tank| tank.get(&site.tanks).id.clone());
        let others = |other: &Location| other.site != site.id;
        if tank.is_none() {
            found.retain(others);
        }
        let covers = |other: &Location| other.tank.is_none() || other.tank == tank;
        if !found.iter().any(|other| !others(other) && covers(other)) {
            found.push(Location { site: site.id.clone(), tank });
        }
    }
    found
}

/// Seedlings of some age on some class day.
fn offer(term: &Term, (crop, site, day, plants): (Index, Index, Index, u32)) -> Option<Arrival> {
    let (wanted, site) = (crop.get(&term.crops), site.get(&term.sites));
    let days = *Growing::new(&wanted.crop, site).nursery_window().start();
    let date = *site.class_days.get(day.index(site.class_days.len().max(1)))?;
    Some(Arrival { crop: wanted.crop.id.clone(), site: site.id.clone(), date, days, plants, price: None })
}

fn any_site(id: &'static str) -> impl Strategy<Value = SiteBuilder> {
    use Weekday::{Fri, Mon, Thu, Tue, Wed};
    let tanks = (1..=3_usize).prop_flat_map(|count| {
        let ids = ["a", "b", "c"];
        ids[..count].iter().map(|id| any_tank(id)).collect::<Vec<_>>()
    });
    let hands = (option::of(30.0..120.0), option::of(1..=3_u32));
    let grows = (select(vec![0.8, 0.9, 1.0, 1.0, 1.1, 1.25]), select(vec![0.7, 1.0, 1.0, 1.2]));
    let nursery = (8..=60_u32, 3..=8_u32);
    let meets = subsequence(vec![Mon, Tue, Wed, Thu, Fri], 1..=3);
    (tanks, meets, nursery, hands, grows).prop_map(move |(tanks, meets, nursery, hands, grows)| {
        tanks
            .into_iter()
            .fold(site(id), SiteBuilder::tank)
            .meets(&meets)
            .nursery(nursery.0, nursery.1)
            .hands(hands.0, hands.1)
            .grows(grows.0, grows.1)
    })
}

fn any_tank(id: &'static str) -> impl Strategy<Value = Tank> {
    let lid = (1..=6_u32, 2..=6_u32, select(vec![15.0, 20.0]));
    let water = select(vec![20.0, 40.0, 150.0]);
    (lid, water, select(vec![1.2, 1.5, 2.2])).prop_map(
        move |((rows, columns, spacing_cm), usable_litres, ec)| Tank {
            lid: Lid { rows, columns, spacing_cm },
            usable_litres,
            ec,
            ..tank(id, 1, 1)
        },
    )
}

fn any_crops() -> impl Strategy<Value = Vec<WantedCrop>> {
    (1..=3_usize).prop_flat_map(|count| {
        let ids = ["oakleaf", "chard", "rocket"];
        ids[..count].iter().map(|id| any_crop(id)).collect::<Vec<_>>()
    })
}

fn any_crop(id: &'static str) -> impl Strategy<Value = WantedCrop> {
    let plants = select(vec![head(id), cutter(id), cutter(id), young(id)]);
    let spacing = select(vec![8.0, 15.0, 20.0, 25.0, 30.0]);
    let figures = (0.5..=1.0, 1..=4_u32, 0..=7_u32, select(vec![0.05, 0.1, 0.2]));
    let shares = (select(vec![0.3, 0.6, 1.0, 1.0]), select(vec![0.0, 0.0, 0.1]));
    let sow = select(vec![SowWish::Nursery, SowWish::Nursery, SowWish::Either, SowWish::InCups]);
    let wish = select(vec![WayWish::Either, WayWish::Either, WayWish::WholeHead, WayWish::Cut]);
    (plants, spacing, figures, shares, (wish, sow), any::<bool>()).prop_map(
        |(mut crop, spacing, (germination, seeds, shelf_life, water), shares, (wish, sow), thirsty)| {
            crop.spacing = figure(Length::from_cm(spacing));
            crop.germination = figure(germination);
            crop.seeds_per_plug = figure(seeds);
            crop.shelf_life = figure(shelf_life);
            crop.water_a_day = figure(water);
            if thirsty {
                crop.ec = figure(Limits { low: 1.4, high: 2.5 });
                crop.hold = figure(days(0, 7, 14));
            }
            // Only what regrows can be asked to be cut.
            let way = if crop.regrowth.is_none() && wish == WayWish::Cut { WayWish::Either } else { wish };
            crop.in_cups = Some(figure("Keep it damp.".to_owned()));
            WantedCrop { way, sow, at_most: shares.0, at_least: shares.1, ..wanted(crop) }
        },
    )
}

fn any_rules() -> impl Strategy<Value = Rules> {
    let shares = (0..=3_u32, select(vec![0.05, 0.1, 0.3]), select(vec![0.4, 0.7, 1.0, 1.0]));
    let clean_every = proptest::option::of(4..=8_u32);
    let chores = (1..=6_u32, select(vec![0.0, 1.0]), select(vec![0.0, 0.5]));
    let mixing =
        select(vec![OneCropTanks::No, OneCropTanks::Prefer, OneCropTanks::Prefer, OneCropTanks::Always]);
    let rhythm = option::weighted(0.2, select(vec![1_u32, 1, 2, 3]));
    let days = (0..=3_u32, clean_every, chores, (mixing, rhythm));
    (shares, 1..=8_u32, days).prop_map(
        |((kinds, kind_from, one_tank), smallest, (turnover, clean_every, chores, (mixing, rhythm)))| {
            let mut term = TermBuilder::default().build();
            term.rules.kinds = kinds;
            term.rules.kind_from = kind_from;
            term.rules.one_tank_at_most = one_tank;
            term.rules.smallest_batch = smallest;
            term.rules.turnover_days = turnover;
            term.rules.clean_every = clean_every;
            term.rules.handful = chores.0;
            term.rules.one_crop_tanks = mixing;
            term.rules.rhythm = rhythm.map_or(Rhythm::Free, |every| Rhythm::Steady { every });
            term.rules.weights.task = chores.1;
            (term.rules.weights.further_tank, term.rules.weights.scant) = (chores.2, chores.2);
            (term.rules.weights.split, term.rules.weights.overmature) = (chores.2 / 2.0, chores.2 / 20.0);
            term.rules.weights.series = chores.2;
            term.rules
        },
    )
}

/// What to let stand at a site, if it can.
#[derive(Debug, Clone, Copy)]
struct StandingSeed {
    crop: usize,
    plants: u32,
    in_tank: bool,
    holes_known: bool,
    cut_once: bool,
    age: u32,
}

fn any_standing() -> impl Strategy<Value = StandingSeed> {
    let flags = any::<(bool, bool, bool)>();
    (0..3_usize, 1..=6_u32, flags, 14..40_u32).prop_map(
        |(crop, plants, (in_tank, holes_known, cut_once), age)| StandingSeed {
            crop,
            plants,
            in_tank,
            holes_known,
            cut_once,
            age,
        },
    )
}

/// Lets plants stand at `site`, or nothing if they could not be brought to harvest.
fn stand(term: &Term, site: &Site, seed: &StandingSeed) -> Option<Standing> {
    let wanted = &term.crops[seed.crop % term.crops.len()];
    let growing = Growing::new(&wanted.crop, site);
    let first_class = *site.class_days.first()?;
    let tank = tank_for(site, wanted, seed.plants, seed.in_tank)?;
    let age = if seed.in_tank { seed.age } else { *growing.nursery_window().start() };
    let sown = first_class - Days::new(u64::from(age));
    let stage =
        if seed.in_tank { in_tank(term, wanted, &growing, tank, sown, seed)? } else { Stage::Nursery };
    let pulled = match &stage {
        Stage::Tank { cuts, .. } if !cuts.is_empty() => {
            wanted.way != WayWish::WholeHead
                && class_within(site, cuts[0], &growing.regrowth_window()?).is_some()
        }
        // A wish for cuts asks for more class days than one can be sure of.
        _ => wanted.way != WayWish::Cut && class_within(site, sown, &growing.pull_window()?).is_some(),
    };
    pulled.then(|| Standing {
        batch: BatchId::new(format!("old-{}", site.id)),
        crop: wanted.crop.id.clone(),
        site: site.id.clone(),
        sown,
        plants: seed.plants,
        stage,
    })
}

/// The first tank that suits so many plants and has water for every absence. Plants that stand in one may do so anywhere.
pub(crate) fn tank_for<'a>(
    site: &'a Site,
    wanted: &WantedCrop,
    plants: u32,
    in_tank: bool,
) -> Option<&'a Tank> {
    let crop = &wanted.crop;
    let anywhere = in_tank || !wanted.may_begin_at(&site.id);
    let longest = site.absences().iter().map(|absence| absence.alone).max().unwrap_or(0);
    let litres = f64::from(plants) * crop.water_a_day.value * f64::from(longest);
    site.tanks.iter().find(|tank| {
        let room = tank.lid.room_for(crop.spacing.value.cm());
        let places = room.map_or(0, |room| tank.lid.spots(room).len());
        places >= plants as usize
            && crop.tolerates(tank.ph, tank.ec)
            && litres <= tank.usable_litres
            && (anywhere || wanted.may_stand_in(&site.id, &tank.id))
    })
}

/// Plants in a tank, perhaps cut once already.
fn in_tank(
    term: &Term,
    wanted: &WantedCrop,
    growing: &Growing<'_>,
    tank: &Tank,
    sown: NaiveDate,
    seed: &StandingSeed,
) -> Option<Stage> {
    let transplanted = plus_days(sown, *growing.nursery_window().start());
    if transplanted >= term.start {
        return None;
    }
    let cut = growing
        .cut_window()
        .map(|window| plus_days(sown, *window.start()))
        .filter(|cut| seed.cut_once && *cut < term.start && *cut > transplanted);
    let room = tank.lid.room_for(wanted.crop.spacing.value.cm())?;
    let places = tank.lid.spots(room);
    let holes = places.iter().map(|place| place.hole).take(seed.plants as usize);
    Some(Stage::Tank {
        tank: tank.id.clone(),
        transplanted,
        holes: if seed.holes_known { holes.collect() } else { Vec::new() },
        cuts: cut.into_iter().collect(),
    })
}

/// The first class day so many days after `since`, not counting the very first one, which may be needed
/// for transplanting.
pub(crate) fn class_within(site: &Site, since: NaiveDate, window: &DayWindow) -> Option<NaiveDate> {
    let fits = |class: &NaiveDate| {
        u32::try_from(days_between(since, *class)).is_ok_and(|days| window.contains(&days))
    };
    site.class_days.iter().skip(1).copied().find(fits)
}
