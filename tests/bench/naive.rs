//! The rule people use without a planner: sow the same number every week, whatever the calendar says.
//!
//! On the first class day of every week each site sows the same number of each crop of a fixed mix, moves the
//! seedlings at their usual age and pulls whole heads at theirs, each on that day or the next class day;
//! seedlings that would be left alone for too long move on the last class day before, if they are old enough.
//! What finds no cell, hole, water or time is not sown. That favours the rule, for a class would sow it
//! and lose it; so does the sweep over mixes and numbers, of which only the best counts.

use crate::value::{by_spoiling, facts};
use sowtide::domain::calendar::{Week, days_between, plus_days};
use sowtide::domain::growth::{DayWindow, Growing, Way};
use sowtide::domain::ids::BatchId;
use sowtide::domain::known::KnownEntries;
use sowtide::domain::lid::Spot;
use sowtide::domain::plan::{Arithmetic, Batch, Harvest, NOTICEABLE, Origin, Part, Plan, Serving, Shortfall};
use sowtide::domain::site::{Site, Tank};
use sowtide::domain::term::{Term, WantedCrop, WayWish};

use chrono::{DateTime, NaiveDate};
use std::collections::{BTreeMap, BTreeSet};

/// Most crops in a mix, unless all are sown.
const LARGEST_MIX: usize = 3;
/// Shares of a site's holes sown each week, in steps.
const STEP: f64 = 0.04;
const STEPS: u32 = 15;

/// The cheapest plan the rule gives over all mixes and weekly numbers. Terms in which something already
/// stands are not its business.
pub(crate) fn best(term: &Term) -> Option<Plan> {
    let heads: Vec<&WantedCrop> = term.crops.iter().filter(|wanted| wanted.way != WayWish::Cut).collect();
    mixes(&heads)
        .iter()
        .flat_map(|mix| (1..=STEPS).map(move |step| (mix, f64::from(step) * STEP)))
        .map(|(mix, share)| sow_always(term, mix, share))
        .min_by(|a, b| a.facts.cost.total_cmp(&b.facts.cost))
}

/// Every choice of up to [`LARGEST_MIX`] crops, and all of them.
fn mixes<'t>(crops: &[&'t WantedCrop]) -> Vec<Vec<&'t WantedCrop>> {
    let chosen = |bits: u32| -> Vec<&WantedCrop> {
        let taken = |index: &usize| bits & (1 << index) != 0;
        (0..crops.len()).filter(taken).map(|index| crops[index]).collect()
    };
    (1..1_u32 << crops.len())
        .map(chosen)
        .filter(|mix| mix.len() <= LARGEST_MIX || mix.len() == crops.len())
        .collect()
}

/// The plan that sows the mix every week, in all so many plants as this share of a site's holes.
fn sow_always(term: &Term, mix: &[&WantedCrop], share: f64) -> Plan {
    let mut batches = Vec::new();
    for site in &term.sites {
        let mut room = Room::new(term, site);
        let holes: u32 = site.tanks.iter().map(|tank| tank.lid.holes()).sum();
        let plants = (f64::from(holes) * share / mix.len() as f64).round() as u32;
        let mut weeks = BTreeSet::new();
        for day in &site.class_days {
            if weeks.insert(Week::of(*day)) {
                batches.extend(mix.iter().filter_map(|wanted| room.sow(wanted, *day, plants)));
            }
        }
    }
    batches.sort_by(|a, b| (a.sown, &a.site, &a.crop).cmp(&(b.sown, &b.site, &b.crop)));
    for (number, batch) in batches.iter_mut().enumerate() {
        batch.id = BatchId::new(format!("b{number:04}"));
    }
    by_spoiling(term, &mut batches);
    finished(term, batches)
}

fn finished(term: &Term, batches: Vec<Batch>) -> Plan {
    let served = |day: NaiveDate| -> f64 {
        let harvests = batches.iter().flat_map(|batch| &batch.parts).flat_map(|part| &part.harvests);
        let serves = harvests.flat_map(|harvest| &harvest.serves);
        serves.filter(|served| served.date == day).map(|served| served.grams).sum()
    };
    let servings: Vec<Serving> = term
        .servings
        .iter()
        .map(|wanted| {
            let planned = served(wanted.date).min(wanted.grams);
            let short = wanted.grams - planned >= NOTICEABLE;
            let shortfall = short.then_some(Shortfall::Search);
            Serving { date: wanted.date, target: wanted.grams, planned, shortfall }
        })
        .collect();
    Plan {
        term_id: "naive".into(),
        term_name: term.name.clone(),
        revision: 1,
        last_number: batches.len() as u32,
        last_task_numbers: BTreeMap::new(),
        reason: String::new(),
        made: DateTime::UNIX_EPOCH,
        sure: None,
        replanned: None,
        known: KnownEntries::default(),
        mass_factors: Vec::new(),
        facts: facts(term, &batches, &servings),
        batches,
        servings,
    }
}

/// What is left at a site: cells, minutes and sowings by day, holes by tank and day, litres by tank and
/// absence.
struct Room<'t> {
    term: &'t Term,
    site: &'t Site,
    cells: Vec<u32>,
    minutes: BTreeMap<NaiveDate, f64>,
    sowings: BTreeMap<NaiveDate, u32>,
    taken: Vec<Vec<Vec<bool>>>,
    litres: Vec<Vec<f64>>,
}

/// A batch's days and what one plant needs.
struct Days {
    sown: NaiveDate,
    moved: NaiveDate,
    pulled: NaiveDate,
}

impl<'t> Room<'t> {
    fn new(term: &'t Term, site: &'t Site) -> Self {
        let days = (days_between(term.start, term.end) + 1) as usize;
        let gaps = site.absences().len();
        Self {
            term,
            site,
            cells: vec![site.nursery.cells; days],
            minutes: BTreeMap::new(),
            sowings: BTreeMap::new(),
            taken: site.tanks.iter().map(|tank| vec![vec![false; days]; tank.lid.holes() as usize]).collect(),
            litres: site.tanks.iter().map(|tank| vec![tank.usable_litres; gaps]).collect(),
        }
    }

    fn index(&self, day: NaiveDate) -> usize {
        days_between(self.term.start, day).clamp(0, self.cells.len() as i64) as usize
    }

    /// Sows as many plants of the crop as fit, if the day leads to a harvest and enough of them fit.
    fn sow(&mut self, wanted: &WantedCrop, sown: NaiveDate, wish: u32) -> Option<Batch> {
        let growing = Growing::new(&wanted.crop, self.site);
        let moved = self.moving_day(wanted, sown, &growing.nursery_window())?;
        let ripe = wanted.crop.whole_head.as_ref().or(wanted.crop.first_cut.as_ref())?;
        let pulled = self.class_day(sown, ripe.value.usual, &growing.pull_window()?)?;
        let days = Days { sown, moved, pulled };
        let limit = self.site.sowings_a_day.unwrap_or(u32::MAX);
        if self.sowings.get(&sown).is_some_and(|count| *count >= limit) {
            return None;
        }
        let places = self.places(wanted, &days, wish);
        let found: u32 = places.iter().map(|(_, places)| places.len() as u32).sum();
        let plants = (self.term.rules.smallest_batch.max(1)..=found)
            .rev()
            .find(|plants| self.cells_and_hands_do(wanted, &days, *plants))?;
        Some(self.take(wanted, &growing, &days, places, plants))
    }

    /// The class day on which plants reach the age, or the next one that still lies in the window.
    fn class_day(&self, sown: NaiveDate, usual: u32, window: &DayWindow) -> Option<NaiveDate> {
        let age = (f64::from(usual) * self.site.pace).round() as u32;
        let from = plus_days(sown, age.clamp(*window.start(), *window.end()));
        let day = *self.site.class_days.iter().find(|day| **day >= from)?;
        (day <= plus_days(sown, *window.end()) && day <= self.term.end).then_some(day)
    }

    /// The class day on which seedlings reach the usual age or the next one, but not after they were left
    /// alone for too long.
    fn moving_day(&self, wanted: &WantedCrop, sown: NaiveDate, window: &DayWindow) -> Option<NaiveDate> {
        let usual = self.class_day(sown, wanted.crop.nursery.value.usual, window);
        let endurance = self.site.nursery.unattended_days;
        let left_alone =
            self.site.absences().into_iter().find(|gap| gap.alone > endurance && sown <= gap.leave);
        match left_alone {
            Some(gap) if usual.is_none_or(|day| day >= gap.back) => {
                window.contains(&(days_between(sown, gap.leave) as u32)).then_some(gap.leave)
            }
            _ => usual,
        }
    }

    /// Free places for up to so many plants, by tank, the emptiest tank first.
    fn places(&self, wanted: &WantedCrop, days: &Days, wish: u32) -> Vec<(usize, Vec<Spot>)> {
        let free = |index: usize| self.free_places(index, wanted, days);
        let mut found: Vec<(usize, Vec<Spot>)> =
            (0..self.site.tanks.len()).map(|index| (index, free(index))).collect();
        found.sort_by_key(|(_, places)| std::cmp::Reverse(places.len()));
        let mut left = wish as usize;
        for (_, places) in &mut found {
            places.truncate(left);
            left -= places.len();
        }
        found.retain(|(_, places)| !places.is_empty());
        found
    }

    fn free_places(&self, index: usize, wanted: &WantedCrop, days: &Days) -> Vec<Spot> {
        let tank = &self.site.tanks[index];
        let crop = &wanted.crop;
        let room = tank.lid.room_for(crop.spacing.value.cm());
        let may_stand = crop.tolerates(tank.ph, tank.ec) && wanted.may_stand_in(&self.site.id, &tank.id);
        let Some(room) = room.filter(|_| may_stand) else {
            return Vec::new();
        };
        let stay = self.stay(days);
        let free = |hole: &u32| !self.taken[index][*hole as usize - 1][stay.clone()].contains(&true);
        let mut places = tank.lid.spots(room);
        places.retain(|place| std::iter::once(&place.hole).chain(&place.kept_empty).all(free));
        let absences = self.site.absences();
        let watered = absences
            .iter()
            .zip(&self.litres[index])
            .filter(|(gap, _)| days.moved <= gap.leave && days.pulled >= gap.back)
            .map(|(gap, litres)| (litres / (crop.water_a_day.value * f64::from(gap.alone))) as usize)
            .min();
        places.truncate(watered.unwrap_or(usize::MAX));
        places
    }

    /// Days on which a plant's hole cannot be used by another.
    fn stay(&self, days: &Days) -> std::ops::Range<usize> {
        self.index(days.moved)..self.index(plus_days(days.pulled, self.term.rules.turnover_days))
    }

    /// Work of so many plants by day.
    fn work(&self, wanted: &WantedCrop, days: &Days, plants: u32) -> [(NaiveDate, f64); 3] {
        let minutes = self.term.rules.minutes;
        [
            (days.sown, f64::from(wanted.crop.plugs_for(plants, self.term.sure())) * minutes.sow),
            (days.moved, f64::from(plants) * minutes.transplant),
            (days.pulled, f64::from(plants) * minutes.harvest),
        ]
    }

    fn cells_and_hands_do(&self, wanted: &WantedCrop, days: &Days, plants: u32) -> bool {
        let waiting = self.index(days.sown)..self.index(days.moved);
        let least = self.cells[waiting].iter().min().copied().unwrap_or(0);
        let limit = self.site.minutes_a_day.unwrap_or(f64::INFINITY);
        let work = self.work(wanted, days, plants);
        let in_time =
            |(day, more): &(NaiveDate, f64)| self.minutes.get(day).copied().unwrap_or(0.0) + more <= limit;
        wanted.crop.plugs_for(plants, self.term.sure()) <= least && work.iter().all(in_time)
    }

    /// Uses up what the batch needs and writes it down.
    fn take(
        &mut self,
        wanted: &WantedCrop,
        growing: &Growing,
        days: &Days,
        places: Vec<(usize, Vec<Spot>)>,
        plants: u32,
    ) -> Batch {
        let crop = &wanted.crop;
        let plugs = crop.plugs_for(plants, self.term.sure());
        for (day, minutes) in self.work(wanted, days, plants) {
            *self.minutes.entry(day).or_default() += minutes;
        }
        *self.sowings.entry(days.sown).or_default() += 1;
        let waiting = self.index(days.sown)..self.index(days.moved);
        self.cells[waiting].iter_mut().for_each(|cells| *cells -= plugs);
        let mut left = plants as usize;
        let mut parts = Vec::new();
        for (tank, mut places) in places {
            places.truncate(left);
            left -= places.len();
            if !places.is_empty() {
                self.plant(tank, &places, days, crop.water_a_day.value);
                parts.push(part(&self.site.tanks[tank], &places, growing, days));
            }
        }
        Batch {
            id: BatchId::new(""),
            crop: crop.id.clone(),
            site: self.site.id.clone(),
            sown: days.sown,
            origin: Origin::Sown,
            plugs,
            seeds_per_plug: crop.seeds_per_plug.value,
            parts,
            task_numbers: BTreeMap::new(),
        }
    }

    fn plant(&mut self, tank: usize, places: &[Spot], days: &Days, water: f64) {
        let stay = self.stay(days);
        for place in places {
            for hole in std::iter::once(&place.hole).chain(&place.kept_empty) {
                self.taken[tank][*hole as usize - 1][stay.clone()].fill(true);
            }
        }
        for (gap, litres) in self.site.absences().iter().zip(&mut self.litres[tank]) {
            if days.moved <= gap.leave && days.pulled >= gap.back {
                *litres -= water * f64::from(gap.alone) * places.len() as f64;
            }
        }
    }
}

fn part(tank: &Tank, places: &[Spot], growing: &Growing, days: &Days) -> Part {
    let plants = places.len() as u32;
    let age = days_between(days.sown, days.pulled) as u32;
    let planted = growing.planted(days_between(days.sown, days.moved) as u32);
    let standing_grams = growing.grams(growing.later(planted, days_between(days.moved, days.pulled) as u32));
    let mut holes: Vec<u32> = places.iter().map(|place| place.hole).collect();
    let mut kept_empty: Vec<u32> = places.iter().flat_map(|place| place.kept_empty.clone()).collect();
    holes.sort_unstable();
    kept_empty.sort_unstable();
    Part {
        plants,
        tank: tank.id.clone(),
        transplant: days.moved,
        holes,
        kept_empty,
        cuts_before: 0,
        lost: None,
        harvests: vec![Harvest {
            date: days.pulled,
            way: Way::WholeHead,
            number: 1,
            grams: growing.expected(standing_grams, Way::WholeHead) * f64::from(plants),
            arithmetic: Arithmetic {
                days: age,
                standing_grams,
                taken: 1.0,
                survival: growing.crop.tank_survival.value,
                yield_factor: growing.yield_factor,
                ready_to_eat: growing.crop.ready_to_eat.value,
            },
            serves: Vec::new(),
        }],
    }
}
