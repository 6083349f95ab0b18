//! Grams that are missing to what each serving day is promised, worked out anew from the harvests the plan lists.

use super::subject::{Known, KnownPart, Subject};
use crate::domain::calendar::plus_days;
use crate::domain::chance::deviations;
use crate::domain::ids::{BatchId, CropId, SiteId, TankId};
use crate::domain::luck::{SHARED, Trouble};
use crate::domain::plan::Harvest;
use crate::domain::term::{ServingTarget, Term};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// A harvest that may be served, and the first and last serving day that can have it.
struct Crate<'a> {
    known: &'a Known<'a>,
    tank: &'a TankId,
    plants: u32,
    harvest: &'a Harvest,
    first: NaiveDate,
    last: NaiveDate,
}

impl Crate<'_> {
    /// Grams not yet served before a day.
    fn left(&self, day: NaiveDate) -> f64 {
        let served = self.harvest.serves.iter().filter(|served| served.date < day);
        (self.harvest.grams - served.map(|served| served.grams).sum::<f64>()).max(0.0)
    }

    fn on(&self, day: NaiveDate) -> f64 {
        self.harvest.serves.iter().filter(|served| served.date == day).map(|served| served.grams).sum()
    }
}

/// Points for the grams missing on all days to come.
pub(super) fn points(subject: &Subject<'_>) -> f64 {
    let term = subject.term;
    let open = |serving: &&ServingTarget| subject.plan.replanned.is_none_or(|today| serving.date >= today);
    if term.servings.iter().filter(open).all(|serving| serving.sure <= 0.0) {
        return 0.0;
    }
    let crates = crates(subject);
    // Grams that are lost on average of what is left over, and its variance.
    let mut left_over = (0.0, 0.0);
    let mut points = 0.0;
    for serving in term.servings.iter().filter(open) {
        let day = serving.date;
        // What was harvested before the plan was made anew is there.
        let fresh = crates.iter().filter(|own| own.first == day);
        let fresh = fresh.filter(|own| subject.plan.replanned.is_none_or(|today| own.harvest.date >= today));
        let (lost, variance) = doubt(fresh);
        let (lost, variance) = (left_over.0 + lost, left_over.1 + variance);
        let spoils_later = |own: &&Crate<'_>| own.first <= day && day < own.last;
        let kept: f64 = crates.iter().filter(spoils_later).map(|own| own.left(day) - own.on(day)).sum();
        let kept = kept.max(0.0);
        let gone = lost.max(0.0).min(kept);
        left_over = (gone, variance.min((kept - gone).powi(2)));
        if serving.sure > 0.0 {
            let least = (1.0 - term.rules.tolerance) * serving.grams;
            let reserve = (lost + deviations(serving.sure) * variance.sqrt()).max(0.0);
            let missing = (least + reserve - there(term, &crates, serving)).max(0.0).min(reserve);
            let twentieths = missing / (0.05 * serving.grams);
            points += term.rules.weights.unsure * missing * (1.0 + twentieths);
        }
    }
    points
}

fn crates<'a>(subject: &'a Subject<'a>) -> Vec<Crate<'a>> {
    let term = subject.term;
    let of_part = |(known, part): (&'a Known<'a>, &'a KnownPart<'a>)| {
        part.part.harvests.iter().filter_map(move |harvest| {
            let until = plus_days(harvest.date, known.figures().keeps(harvest));
            let mut days = term.servings.iter().map(|serving| serving.date);
            let first = days.clone().find(|day| harvest.date <= *day && *day <= until)?;
            let last = days.rfind(|day| *day <= until)?;
            let (tank, plants) = (&part.part.tank, part.part.plants);
            Some(Crate { known, tank, plants, harvest, first, last })
        })
    };
    let mut crates: Vec<Crate<'_>> = subject.parts().flat_map(of_part).collect();
    let crop = |own: &Crate<'_>| term.crops.iter().position(|wanted| wanted.crop.id == own.known.batch.crop);
    let site = |own: &Crate<'_>| term.sites.iter().position(|site| site.id == own.known.site.id);
    let tank = |own: &Crate<'_>| own.known.site.tanks.iter().position(|tank| tank.id == *own.tank);
    // What spoils first is taken first.
    crates.sort_by_cached_key(|own| (own.last, own.harvest.date, crop(own), site(own), tank(own)));
    crates
}

/// Grams lost on average of some harvests, and their variance: batches and tanks each by their sums, plants by themselves.
fn doubt<'c, 'a: 'c>(crates: impl Iterator<Item = &'c Crate<'a>>) -> (f64, f64) {
    let mut batches: BTreeMap<&BatchId, f64> = BTreeMap::new();
    let mut tanks: BTreeMap<(&SiteId, &TankId), (f64, f64)> = BTreeMap::new();
    let (mut lost, mut alone) = (0.0, 0.0);
    let trouble = Trouble::default();
    for own in crates {
        let grams = own.harvest.grams;
        let variation = own.known.wanted.crop.variation.value;
        let (mean, deviation) = own.known.figures().comes(own.harvest);
        lost += (1.0 - trouble.mean() * mean) * grams;
        *batches.entry(&own.known.batch.id).or_default() += deviation.max(variation.between_batches) * grams;
        let of_plants = variation.between_plants * variation.between_plants;
        let tank = tanks.entry((&own.known.site.id, own.tank)).or_default();
        *tank = (tank.0 + (of_plants * SHARED).sqrt() * grams, tank.1 + grams);
        let living = own.known.figures().survival(own.known.batch.origin);
        let one = of_plants * (1.0 - SHARED) + 1.0 / living - 1.0;
        alone += one * grams * grams / f64::from(own.plants.max(1));
    }
    let fate = trouble.variance();
    let shared = batches.values().map(|sum| sum * sum);
    let shared = shared.chain(tanks.values().map(|(sum, grams)| sum * sum + fate * grams * grams));
    (lost, alone + shared.sum::<f64>())
}

/// Grams that could be served on a day if more were wanted, within the shares of crops and tanks.
fn there(term: &Term, crates: &[Crate<'_>], serving: &ServingTarget) -> f64 {
    let day = serving.date;
    let there: Vec<&Crate<'_>> = crates.iter().filter(|own| own.first <= day && day <= own.last).collect();
    let mut of_crop: BTreeMap<&CropId, f64> = BTreeMap::new();
    let mut of_tank: BTreeMap<(&SiteId, &TankId), f64> = BTreeMap::new();
    for own in &there {
        *of_crop.entry(&own.known.batch.crop).or_default() += own.on(day);
        *of_tank.entry((&own.known.site.id, own.tank)).or_default() += own.on(day);
    }
    let one_tank = term.rules.one_tank_at_most;
    let of_one_tank = if one_tank < 1.0 { one_tank * serving.grams } else { f64::INFINITY };
    for own in &there {
        let crop = of_crop.entry(&own.known.batch.crop).or_default();
        let tank = of_tank.entry((&own.known.site.id, own.tank)).or_default();
        let share = own.known.wanted.at_most * serving.grams;
        let grams = (own.left(day) - own.on(day)).min(share - *crop).min(of_one_tank - *tank).max(0.0);
        *crop += grams;
        *tank += grams;
    }
    of_crop.values().sum()
}
