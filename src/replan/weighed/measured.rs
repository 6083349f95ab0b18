//! What plants that stay weigh, and what that says of their harvests.

use super::by_eye::next_harvest;
use super::scales::{OF_CHOICE, OF_WEIGHING, Records, Weighing};
use crate::domain::calendar::days_between;
use crate::domain::growth::Growing;
use crate::domain::ids::{BatchId, TankId};
use crate::domain::journal::{Entry, Journal, Measuring, What};
use crate::domain::luck::{Pacing, SHARED, Spread};
use crate::domain::plan::Plan;
use crate::domain::site::Site;
use crate::domain::term::Term;
use crate::domain::weighed::FACTORS;
use crate::replan::replay::{BatchReplay, Lot, heard, replay, stood_on};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Share of a plant's fresh mass that is root, before it is cut for the first time (from memory).
const ROOTS: f64 = 1.0 / 7.0;
/// Standard deviation of a plant weighed in its cup, for the drops and for what roots weigh (from memory).
const OF_DROPS: f64 = 0.1;

/// Plants of a batch that were weighed on one day and stay.
#[derive(Debug, Clone, Copy)]
pub(in crate::replan) struct Stays {
    /// The batch's place in the plan.
    pub(in crate::replan) batch: usize,
    pub(in crate::replan) day: NaiveDate,
    pub(in crate::replan) plants: u32,
    /// Grams that they weigh, and should weigh, with their roots.
    pub(in crate::replan) grams: f64,
    pub(in crate::replan) expected: f64,
    /// The share of it that is to be counted with for their next harvest, its variance, and the standard deviation of what batches
    /// have of their own.
    share: f64,
    variance: f64,
    of_batch: f64,
}

/// What was weighed last of each batch without a harvest, unless a harvest of it was weighed since. Plants measured week by week are much the same, so that the last time says
/// all that is to be said.
pub(in crate::replan) fn stays(
    term: &Term,
    plan: &Plan,
    journal: &Journal,
    records: &Records,
    today: NaiveDate,
) -> Vec<Stays> {
    let mut last: BTreeMap<&BatchId, Vec<(&Entry, &Measuring)>> = BTreeMap::new();
    for entry in heard(plan, journal, today) {
        let What::Measured(measuring) = &entry.what else { continue };
        if measuring.samples.iter().any(|sample| sample.mass_g.is_some()) {
            let known = last.entry(&measuring.batch).or_default();
            known.retain(|(other, _)| other.day == entry.day);
            known.push((entry, measuring));
        }
    }
    last.retain(|id, told| {
        let day = told.first().map(|(entry, _)| entry.day);
        records.keys().all(|(other, _, harvested, _)| other != *id || Some(*harvested) < day)
    });
    if last.is_empty() {
        return Vec::new();
    }
    let replay = replay(term, plan, journal, today);
    let of_batch = |(id, told): (&BatchId, Vec<(&Entry, &Measuring)>)| {
        let batch = plan.batches.iter().position(|batch| batch.id == *id)?;
        Standing::new(term, &replay.batches[batch])?.stays(batch, &told)
    };
    last.into_iter().filter_map(of_batch).collect()
}

/// What they say, as weighings.
pub(in crate::replan) fn weighings<'a>(plan: &'a Plan, stays: &[Stays]) -> Vec<Weighing<'a>> {
    let weighing = |own: &Stays| Weighing {
        site: &plan.batches[own.batch].site,
        crop: &plan.batches[own.batch].crop,
        batch: own.batch,
        day: own.day,
        plants: 0,
        grams: own.share,
        expected: 1.0,
        spread: (own.of_batch, own.variance),
    };
    stays.iter().filter(|own| FACTORS.contains(&(own.grams / own.expected))).map(weighing).collect()
}

/// What plants of a batch weigh while they stand.
struct Standing<'a> {
    replay: &'a BatchReplay<'a>,
    growing: Growing<'a>,
}

/// What a plant should weigh on a day.
#[derive(Clone, Copy)]
struct Plant {
    /// Grams of leaf.
    leaf: f64,
    /// Grams of root: those of the largest plant that it was.
    root: f64,
    /// Days since it was sown, or since it was cut.
    days: u32,
    cut: bool,
}

impl<'a> Standing<'a> {
    fn new(term: &'a Term, replay: &'a BatchReplay<'a>) -> Option<Self> {
        let crop = &term.crop(&replay.batch.crop)?.crop;
        let site: &Site = term.site(&replay.batch.site)?;
        let stated = site.as_stated(&crop.id);
        let growing = Growing::at(crop, stated.pace, stated.yield_factor, site.nursery.cell_cm);
        Some(Self { replay, growing })
    }

    fn stays(&self, batch: usize, told: &[(&Entry, &Measuring)]) -> Option<Stays> {
        let mut all: Vec<(Plant, f64, f64)> = Vec::new();
        for (entry, measuring) in told {
            let plant = self.plant(&measuring.tank, &measuring.holes, entry.day)?;
            let should = self.growing.yield_factor * (plant.leaf + plant.root);
            let masses = measuring.samples.iter().filter_map(|sample| sample.mass_g);
            all.extend(masses.map(|mass| (plant, mass.found, should)));
        }
        // A slip of the pen among others says nothing of the batch.
        let can_be = |(_, found, should): &(Plant, f64, f64)| FACTORS.contains(&(found / should));
        if all.iter().any(can_be) {
            all.retain(can_be);
        }
        let (plant, day) = (all.last()?.0, told.first()?.0.day);
        let plants = all.len() as u32;
        let grams: f64 = all.iter().map(|(_, found, _)| found).sum();
        let expected: f64 = all.iter().map(|(_, _, should)| should).sum();
        // What weighs nothing was no plant.
        let is_sound = grams > 0.0 && expected > 0.0;
        let spreads = self.spreads(plant, day).filter(|_| is_sound)?;
        let between = self.growing.crop.variation.value.between_plants.powi(2);
        let alone = (between * (1.0 - SHARED) + OF_CHOICE.powi(2)) / f64::from(plants);
        let noise = between * SHARED + OF_WEIGHING.powi(2) + OF_DROPS.powi(2) + alone;
        Some(Stays {
            batch,
            day,
            plants,
            grams,
            expected,
            share: (spreads.passed_on * (grams / expected).ln()).exp(),
            variance: spreads.passed_on.powi(2) * noise + spreads.left,
            of_batch: spreads.of_batch,
        })
    }

    /// What a plant in one of these holes should weigh, or any in the tank if none is named. Nobody knows that of plants which were cut
    /// before the term.
    fn plant(&self, tank: &TankId, holes: &[u32], day: NaiveDate) -> Option<Plant> {
        let there = |lot: &&Lot| lot.tank == *tank && stood_on(lot, day);
        let named = |lot: &&Lot| lot.holes.iter().any(|hole| holes.contains(hole));
        let lots = || self.replay.lots.iter().filter(there);
        let lot = lots().find(named).or_else(|| lots().max_by_key(|lot| lot.plants))?;
        let batch = self.replay.batch;
        if lot.part.is_some_and(|part| batch.parts[part].cuts_before > 0) {
            return None;
        }
        let really = self.replay.sown.filter(|_| batch.origin.is_sown());
        let sown = really.map_or(batch.born(), |done| done.on);
        let days = |from: NaiveDate, to: NaiveDate| days_between(from, to).max(0) as u32;
        let growing = &self.growing;
        let (mut since, mut from) = (lot.moved()?, sown);
        let mut stand = growing.planted(days(sown, since));
        let (mut largest, mut cut) = (0.0_f64, false);
        // A class measures first and harvests then.
        for event in lot.harvests().take_while(|event| event.day < day) {
            stand = growing.later(stand, days(since, event.day));
            largest = largest.max(growing.grams(stand));
            stand = growing.cut(stand);
            (since, from, cut) = (event.day, event.day, true);
        }
        let leaf = growing.grams(growing.later(stand, days(since, day)));
        let root = largest.max(leaf) * ROOTS / (1.0 - ROOTS);
        Some(Plant { leaf, root, days: days(from, day), cut })
    }

    /// What the mass of a young plant says of its harvest. It is small because its batch is slow or because it is light. By the harvest
    /// slow ones have caught up some of it, light ones nothing. `None` if nothing more is to be harvested.
    fn spreads(&self, plant: Plant, day: NaiveDate) -> Option<Spreads> {
        let batch = self.replay.batch;
        let part = batch.parts.iter().find(|part| next_harvest(part, day).is_some())?;
        let next = next_harvest(part, day)?;
        let at_harvest = next.arithmetic;
        let is_first = next.number == 1 && part.cuts_before == 0;
        let then = Pacing::new(&self.growing, (at_harvest.days.max(1), is_first), at_harvest.standing_grams);
        let now = Pacing::new(&self.growing, (plant.days.max(1), !plant.cut), plant.leaf);
        let spread = Spread::of(self.growing.crop, batch.origin);
        let (slow_now, slow_then) = (now.of_pace(spread.pace), then.of_pace(spread.pace));
        let light = self.growing.crop.variation.value.between_batches.powi(2);
        let shared = slow_now * slow_then + light;
        let passed_on = (shared / (slow_now.powi(2) + light)).clamp(0.0, 1.0);
        let left = (slow_then.powi(2) + light - passed_on * shared).max(0.0);
        Some(Spreads { passed_on, left, of_batch: spread.batch(&then).1 })
    }
}

/// How what was weighed of young plants goes on.
struct Spreads {
    /// Share of the logarithm that is left by the harvest.
    passed_on: f64,
    /// Variance that the harvest has besides.
    left: f64,
    /// Standard deviation that all plants of the batch share at the harvest.
    of_batch: f64,
}
