//! What weighed harvests say of masses, days and regrowth.
//!
//! The mass of a harvest against the figures of crop and site is, as a logarithm, the sum of what is peculiar to the site, to
//! the crop as this grower has it, to the crop at that site and to the batch, as in [`crate::replan::weighed`]. What is
//! peculiar may lie in the mass or in the pace: who is a tenth slower weighs much less of a plant cut young, and nothing less of
//! one that is full-grown. How much a mass depends on pace and on regrowth is found by growing the plants of each harvest a
//! little slower, and a little weaker after their cuts. As neither is a straight line, this is done again at what was
//! found (iterated linearisation: B. Bell and F. Cathey, IEEE Transactions on Automatic Control 38, 1993, p. 294).
//!
//! Where all harvests of a crop were of one age nobody can tell slow from small; then both are believed in the measure in
//! which they usually occur, and what they say of that age is right in any case.

use super::BAND;
use crate::domain::chance::deviations;
use crate::domain::crop::{Crop, Regrowth};
use crate::domain::ids::CropId;
use crate::domain::journal::Journal;
use crate::domain::learned::{Figure, Lesson, NOT_KNOWN, Of};
use crate::domain::plan::Plan;
use crate::domain::pooling::{Observation, Pooled, pooled};
use crate::domain::site::{CropHere, Site};
use crate::domain::term::Term;
use crate::domain::weighed::FACTORS;
use crate::replan::weighed::by_eye::{Behind, OF_EYE, behind, pace};
use crate::replan::weighed::scales::{Weighing, records, weighings};
use crate::replan::weighed::{OF_CROP, OF_CROP_AT_SITE, OF_SITE, as_if_seen};
use chrono::NaiveDate;
use std::ops::RangeInclusive;

/// Standard deviation of the pace of a site, and of a crop as this grower has it (from memory: batches of one crop differ by
/// [`crate::domain::crop::Variation::days`], a twentieth of their days).
const PACE_OF_SITE: f64 = 0.06;
const PACE_OF_CROP: f64 = 0.06;
/// And of a crop at one site, beside both (from memory).
const PACE_OF_CROP_AT_SITE: f64 = 0.04;
/// Standard deviation of how well a crop grows again (from memory).
const OF_REGROWTH: f64 = 0.35;
/// Paces and yields that term files may have.
const PACES: RangeInclusive<f64> = 0.5..=2.0;
const YIELDS: RangeInclusive<f64> = 0.2..=2.0;
/// Vigours that crop files may have.
const VIGOURS: RangeInclusive<f64> = 0.5..=1.0;
/// By how much plants are grown slower and weaker to see what that changes.
const LITTLE: f64 = 0.02;
/// Factors by which standard deviations of sites and crops may be larger than supposed: what was weighed tells which fits best.
const SCALES: [f64; 4] = [1.0, 1.4, 2.0, 2.8];
/// How often what was found is taken for the place to look from.
const ROUNDS: usize = 4;
/// Share of a mass, for such a little, from which on it counts as depending on regrowth.
const DEPENDS: f64 = 0.001;

/// Every figure of which plants were weighed, and those of which others tell so much that it is worth writing down.
pub(super) fn lessons(term: &Term, plan: &Plan, journal: &Journal, today: NaiveDate) -> Vec<Lesson> {
    let Some(found) = Found::new(term, plan, journal, today) else { return Vec::new() };
    let mut lessons = Vec::new();
    for (crop, wanted) in term.crops.iter().enumerate() {
        for (site, here) in term.sites.iter().enumerate() {
            if wanted.may_begin_at(&here.id) {
                lessons.extend(found.of_place((here, site), (&wanted.crop, crop)));
            }
        }
        let seen = found.plants(|harvest| harvest.place.1 == crop && harvest.regrowth.abs() > DEPENDS);
        if let Some(regrowth) = wanted.crop.regrowth.as_ref().filter(|_| seen > 0) {
            let factors = found.factors(&[(found.layout.regrowth(crop), 1.0)]);
            lessons.extend(of_regrowth(&wanted.crop.id, regrowth, factors, seen));
        }
    }
    lessons
}

/// What becomes of a crop's regrowth: lowest, believed and highest factor for it.
fn of_regrowth(crop: &CropId, regrowth: &Regrowth, factors: [f64; 3], seen: u32) -> Vec<Lesson> {
    let lesson = |figure, before, [low, now, high]: [f64; 3]| {
        let band = (low.min(high), low.max(high));
        let of = Of { crop: crop.clone(), site: None, figure };
        Lesson { of, before, now, band, seen }
    };
    let vigour = regrowth.vigour.value;
    let vigours = factors.map(|factor| within(vigour * factor, &VIGOURS));
    let mut lessons = vec![lesson(Figure::Vigour, vigour, vigours)];
    if let Some(strength) = regrowth.strength.value.first() {
        lessons.push(lesson(Figure::Strength, *strength, factors.map(|factor| (strength * factor).min(1.0))));
    }
    // The same mass takes longer the weaker a plant grows, but for the days on which it does not grow at all.
    let (usual, lag) = (f64::from(regrowth.interval.value.usual), regrowth.lag.value);
    let days = vigours.map(|now| lag + (usual - lag).max(1.0) * vigour / now);
    lessons.push(lesson(Figure::Interval, usual, days));
    lessons
}

fn within(figure: f64, range: &RangeInclusive<f64>) -> f64 {
    figure.clamp(*range.start(), *range.end())
}

/// A harvest that was weighed, and what its mass depends on.
#[derive(Debug, Clone, Copy)]
struct Harvest {
    /// Its site and crop, by their place in the term.
    place: (usize, usize),
    /// Number of its batch among those weighed.
    batch: usize,
    plants: u32,
    /// Logarithm of what was weighed against what should have been.
    value: f64,
    variance: f64,
    /// What the logarithm of its mass gains by that of pace, and of regrowth.
    pace: f64,
    regrowth: f64,
}

/// Where effects stand among all of them.
#[derive(Debug, Clone, Copy)]
struct Layout {
    sites: usize,
    crops: usize,
}

impl Layout {
    fn places(self) -> usize {
        self.sites + self.crops + self.sites * self.crops
    }

    fn yields(self, (site, crop): (usize, usize)) -> [(usize, f64); 3] {
        let at_site = self.sites + self.crops + site * self.crops + crop;
        [site, self.sites + crop, at_site].map(|effect| (effect, 1.0))
    }

    fn paces(self, place: (usize, usize)) -> [(usize, f64); 3] {
        self.yields(place).map(|(effect, times)| (self.places() + effect, times))
    }

    /// What makes the mass of a crop at a site on its usual day.
    fn mass(self, place: (usize, usize), own: &Crop) -> [(usize, f64); 6] {
        let curve = &own.growth.value;
        let at = |pace: f64| curve.grams_at(f64::from(own.usual_days()) / pace);
        let slope = (at(1.0 + LITTLE) / at(1.0 - LITTLE)).ln() / (2.0 * LITTLE);
        let [site, crop, both] = self.yields(place);
        let [site_pace, crop_pace, both_pace] = self.paces(place).map(|(effect, _)| (effect, slope));
        [site, crop, both, site_pace, crop_pace, both_pace]
    }

    fn regrowth(self, crop: usize) -> usize {
        2 * self.places() + crop
    }

    fn batch(self, number: usize) -> usize {
        2 * self.places() + self.crops + number
    }

    /// Variances of all effects but those of batches, before anything is seen.
    fn variances(self, scale: f64) -> Vec<f64> {
        let of_places = |of_site: f64, of_crop: f64, of_both: f64| {
            let each = [(of_site, self.sites), (of_crop, self.crops), (of_both, self.sites * self.crops)];
            each.into_iter().flat_map(move |(deviation, count)| vec![(scale * deviation).powi(2); count])
        };
        of_places(OF_SITE, OF_CROP, OF_CROP_AT_SITE)
            .chain(of_places(PACE_OF_SITE, PACE_OF_CROP, PACE_OF_CROP_AT_SITE))
            .chain(vec![(scale * OF_REGROWTH).powi(2); self.crops])
            .collect()
    }
}

/// What is believed after all harvests.
struct Found {
    layout: Layout,
    harvests: Vec<Harvest>,
    believed: Pooled,
}

impl Found {
    /// `None` if nothing was weighed.
    fn new(term: &Term, plan: &Plan, journal: &Journal, today: NaiveDate) -> Option<Self> {
        let records = records(plan, journal, today);
        let weighed = |term: &Term| -> Vec<Measured> {
            weighings(term, plan, journal, &records, today).iter().map(Measured::new).collect()
        };
        let as_stated = weighed(term);
        let meant: Vec<bool> =
            as_stated.iter().map(|own| FACTORS.contains(&(own.grams / own.expected))).collect();
        if !meant.contains(&true) {
            return None;
        }
        let behind = behind(plan, journal, &records, today);
        let layout = Layout { sites: term.sites.len(), crops: term.crops.len() };
        let mut found = Self { layout, harvests: Vec::new(), believed: pooled(&layout.variances(1.0), &[]) };
        for _ in 0..ROUNDS {
            let grown = |pace: f64, regrowth: f64| weighed(&found.grown(term, pace, regrowth));
            let sights = [
                grown(0.0, 0.0),
                grown(LITTLE, 0.0),
                grown(-LITTLE, 0.0),
                grown(0.0, LITTLE),
                grown(0.0, -LITTLE),
            ];
            let (harvests, of_batches) = found.harvests(term, plan, &sights, &meant);
            let mut seen = found.observations(&harvests);
            seen.extend(behind.iter().filter_map(|own| found.sighting(term, plan, *own)));
            let by_scale = SCALES.iter().map(|scale| {
                let mut variances = layout.variances(*scale);
                variances.extend(&of_batches);
                let known = found.known_before(term, &pooled(&variances, &[]));
                let so_far = pooled(&variances, &known);
                let all = pooled(&variances, &[known, seen.clone()].concat());
                // How well what was seen fits, not what is known of it before.
                (all.evidence() - so_far.evidence(), all)
            });
            if let Some((_, best)) = by_scale.max_by(|one, other| one.0.total_cmp(&other.0)) {
                found.believed = best;
            }
            found.harvests = harvests;
        }
        Some(found)
    }

    /// The term with what is believed of pace and regrowth so far, and a little more of either.
    fn grown(&self, term: &Term, pace: f64, regrowth: f64) -> Term {
        let mut grown = term.clone();
        for (site, here) in grown.sites.iter_mut().enumerate() {
            for (crop, wanted) in term.crops.iter().enumerate() {
                let stated = here.as_stated(&wanted.crop.id);
                let believed = self.believed.mean(&self.layout.paces((site, crop)));
                let pace = stated.pace * (believed + pace).exp();
                here.crops.insert(wanted.crop.id.clone(), CropHere { pace, ..stated });
            }
        }
        for (crop, wanted) in grown.crops.iter_mut().enumerate() {
            if let Some(again) = &mut wanted.crop.regrowth {
                let believed = self.believed.mean(&[(self.layout.regrowth(crop), 1.0)]);
                let factor = (believed + regrowth).exp();
                again.vigour.value *= factor;
                again.strength.value.iter_mut().for_each(|strength| *strength *= factor);
            }
        }
        grown
    }

    /// Each harvest, seen from what is believed so far, and the variance of each of their batches.
    fn harvests(
        &self,
        term: &Term,
        plan: &Plan,
        sights: &[Vec<Measured>; 5],
        meant: &[bool],
    ) -> (Vec<Harvest>, Vec<f64>) {
        let [here, slower, faster, stronger, weaker] = sights;
        let (mut harvests, mut batches, mut variances) = (Vec::new(), Vec::new(), Vec::new());
        for (at, own) in here.iter().enumerate().filter(|(at, _)| meant.get(*at) == Some(&true)) {
            let batch = &plan.batches[own.batch];
            let site = term.sites.iter().position(|site| site.id == batch.site);
            let crop = term.crops.iter().position(|wanted| wanted.crop.id == batch.crop);
            let Some(place) = site.zip(crop) else { continue };
            let slope = |more: &[Measured], less: &[Measured]| match (more.get(at), less.get(at)) {
                (Some(more), Some(less)) => (more.expected / less.expected).ln() / (2.0 * LITTLE),
                _ => 0.0,
            };
            let (by_pace, by_regrowth) = (slope(slower, faster), slope(stronger, weaker));
            let number = batches.iter().position(|known| *known == own.batch).unwrap_or_else(|| {
                batches.push(own.batch);
                variances.push(own.of_batch.powi(2));
                batches.len() - 1
            });
            let so_far = by_pace * self.believed.mean(&self.layout.paces(place))
                + by_regrowth * self.believed.mean(&[(self.layout.regrowth(place.1), 1.0)]);
            let value = (own.grams / own.expected).ln() + so_far;
            let (plants, variance) = (own.plants, own.variance);
            harvests.push(Harvest {
                place,
                batch: number,
                plants,
                value,
                variance,
                pace: by_pace,
                regrowth: by_regrowth,
            });
        }
        (harvests, variances)
    }

    /// What was weighed.
    fn observations(&self, harvests: &[Harvest]) -> Vec<Observation> {
        let observed = |own: &Harvest| {
            let yields = self.layout.yields(own.place);
            let paces = self.layout.paces(own.place).map(|(effect, times)| (effect, times * own.pace));
            let others =
                [(self.layout.regrowth(own.place.1), own.regrowth), (self.layout.batch(own.batch), 1.0)];
            let effects = yields.into_iter().chain(paces).chain(others).collect();
            Observation { effects, value: own.value, variance: own.variance }
        };
        harvests.iter().map(observed).collect()
    }

    /// What is known from earlier terms of how far masses may be off, against what is supposed.
    fn known_before(&self, term: &Term, supposed: &Pooled) -> Vec<Observation> {
        let places = term.sites.iter().enumerate().flat_map(|(site, here)| {
            let crops = term.crops.iter().enumerate();
            crops.map(move |(crop, wanted)| (here.as_stated(&wanted.crop.id), (site, crop), &wanted.crop))
        });
        let known = places.filter_map(|(here, place, crop)| {
            let sum = self.layout.mass(place, crop).to_vec();
            as_if_seen(here.give_or_take?, supposed.deviation(&sum), sum)
        });
        known.collect()
    }

    /// What is believed of a crop at a site, each with its place in the term. Where it was not weighed itself, nothing unless others
    /// tell much.
    fn of_place(&self, (here, site): (&Site, usize), (own, crop): (&Crop, usize)) -> Vec<Lesson> {
        let (place, stated) = ((site, crop), here.as_stated(&own.id));
        let seen = self.plants(|harvest| harvest.place == place);
        let lesson = |figure, before, [low, now, high]: [f64; 3]| {
            let of = Of { crop: own.id.clone(), site: Some(here.id.clone()), figure };
            Lesson { of, before, now, band: (low, high), seen }
        };
        let told = |before: f64, sum: &[(usize, f64)], range: &RangeInclusive<f64>| {
            self.factors(sum).map(|factor| within(before * factor, range))
        };
        let off = self.believed.deviation(&self.layout.mass(place, own)).min(NOT_KNOWN);
        let lessons = [
            lesson(
                Figure::Yield,
                stated.yield_factor,
                told(stated.yield_factor, &self.layout.yields(place), &YIELDS),
            ),
            lesson(Figure::Pace, stated.pace, told(stated.pace, &self.layout.paces(place), &PACES)),
            lesson(Figure::GiveOrTake, stated.give_or_take.unwrap_or(NOT_KNOWN), [off; 3]),
        ];
        let worth_it = seen > 0 || lessons[..2].iter().any(Lesson::is_worth_it);
        lessons.into_iter().filter(|_| worth_it).collect()
    }

    /// What a batch that is behind tells of its pace.
    fn sighting(&self, term: &Term, plan: &Plan, own: Behind) -> Option<Observation> {
        let batch = &plan.batches[own.batch];
        let site = term.sites.iter().position(|site| site.id == batch.site)?;
        let crop = term.crops.iter().position(|wanted| wanted.crop.id == batch.crop)?;
        let (value, grown) = (pace(batch, own)?, &term.crops[crop].crop);
        let of_batch = grown.variation.value.days / f64::from(grown.usual_days());
        let variance = of_batch.powi(2) + (OF_EYE * value).powi(2);
        Some(Observation { effects: self.layout.paces((site, crop)).to_vec(), value, variance })
    }

    /// Plants weighed of some harvests.
    fn plants(&self, which: impl Fn(&Harvest) -> bool) -> u32 {
        let wanted = self.harvests.iter().filter(|own| which(own));
        wanted.map(|own| own.plants).fold(0, u32::saturating_add)
    }

    /// Lowest, believed and highest factor for a figure.
    fn factors(&self, sum: &[(usize, f64)]) -> [f64; 3] {
        let reach = deviations(f64::midpoint(1.0, BAND)) * self.believed.deviation(sum);
        [-reach, 0.0, reach].map(|off| (self.believed.mean(sum) + off).exp())
    }
}

/// What is needed of a weighing, without the term it was seen in.
struct Measured {
    batch: usize,
    plants: u32,
    grams: f64,
    expected: f64,
    /// Standard deviation that the batch shares, and variance of the rest.
    of_batch: f64,
    variance: f64,
}

impl Measured {
    fn new(weighing: &Weighing<'_>) -> Self {
        let Weighing { batch, plants, grams, expected, spread: (of_batch, variance), .. } = *weighing;
        Self { batch, plants, grams, expected, of_batch, variance }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_known_is_what_is_supposed_of_site_and_crop_together() {
        let together = (OF_SITE.powi(2) + OF_CROP.powi(2) + OF_CROP_AT_SITE.powi(2)).sqrt();
        assert!((together - NOT_KNOWN).abs() < 0.005, "{together}");
    }
}
