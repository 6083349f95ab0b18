//! What weighed harvests say of masses, days and regrowth.
//!
//! The mass of a harvest against the figures of crop and site is, as a logarithm, the sum of what is peculiar to the site, to
//! the crop as this grower has it, to the crop at that site and to the batch, as in [`crate::replan::weighed`]. What is
//! peculiar may lie in the mass or in the pace: who is a tenth slower weighs much less of a plant cut young, and nothing less of
//! one that is full-grown. How much a mass depends on pace and on regrowth is found by growing the plants of each harvest a
//! little slower, and a little weaker after their cuts. As neither is a straight line, this is done again at what was
//! found (iterated linearisation: B. Bell and F. Cathey, IEEE Transactions on Automatic Control 38, 1993, p. 294). The mass of a plant
//! that grows again is a straight line in its vigour, as a logarithm, while it grows at an even rate; in the logarithm of
//! vigour it is none at all, and who looked there could never believe in plants that regrow by half, and put it down to the crop.
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
use crate::replan::effects::{Layout, OF_MASS, Place, as_if_seen, place};
use crate::replan::replay::BatchReplay;
use crate::replan::weighed::by_eye::{Behind, OF_EYE, behind, pace};
use crate::replan::weighed::scales::{Of as Harvested, Records, Weighing, against, records};
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::RangeInclusive;

/// Standard deviation of the pace of a site, of a crop as this grower has it, and of a crop at one site, beside both (from memory:
/// batches of one crop differ by [`crate::domain::crop::Variation::days`], a twentieth of their days).
const OF_PACE: [f64; 3] = [0.06, 0.06, 0.04];
/// Standard deviation of how well a crop grows again, as a share (from memory).
const OF_REGROWTH: f64 = 0.35;
/// The least of it that is believed.
const LEAST_REGROWTH: f64 = 0.2;
/// Paces and yields that term files may have.
const PACES: RangeInclusive<f64> = 0.5..=2.0;
const YIELDS: RangeInclusive<f64> = 0.2..=2.0;
/// Vigours that crop files may have.
const VIGOURS: RangeInclusive<f64> = 0.2..=1.0;
/// By how much plants are grown slower and weaker to see what that changes.
const LITTLE: f64 = 0.02;
/// Factors by which standard deviations may be larger than supposed: what was weighed tells which fits best.
const SCALES: [f64; 4] = [1.0, 1.4, 2.0, 2.8];
/// How often what was found is taken for the place to look from.
const ROUNDS: usize = 4;
/// Share of a mass, for such a little, from which on it counts as depending on regrowth.
const DEPENDS: f64 = 0.001;

/// Every figure of which plants were weighed, and those of which others tell so much that it is worth writing down.
pub(super) fn lessons(
    term: &Term,
    plan: &Plan,
    replayed: &[BatchReplay<'_>],
    (journal, today): (&Journal, NaiveDate),
) -> Vec<Lesson> {
    let records = records(plan, journal, today);
    let told = Told { records: &records, behind: behind(plan, journal, &records, today) };
    let Some(found) = Found::new(term, plan, replayed, &told) else { return Vec::new() };
    let mut lessons = Vec::new();
    for (crop, wanted) in term.crops.iter().enumerate() {
        for (site, here) in term.sites.iter().enumerate() {
            if wanted.may_begin_at(&here.id) {
                lessons.extend(found.of_place((here, site), (&wanted.crop, crop)));
            }
        }
        let seen = found.plants(|harvest| harvest.place.1 == crop && harvest.regrowth.abs() > DEPENDS);
        if let Some(regrowth) = wanted.crop.regrowth.as_ref().filter(|_| seen > 0) {
            let factors = found.range(&[(found.numbers.regrowth(crop), 1.0)]).map(again);
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
    // The same mass takes longer the weaker a plant grows, but for the days on which it does not grow at all. Who waits longer than
    // the crop allows gets old leaves for it.
    let days = regrowth.interval.value;
    let (usual, lag) = (f64::from(days.usual), regrowth.lag.value);
    let longer = |now: f64| (lag + (usual - lag).max(1.0) * vigour / now).min(f64::from(days.max));
    let days = vigours.map(longer);
    lessons.push(lesson(Figure::Interval, usual, days));
    lessons
}

/// Factor for the regrowth of a crop of which so much is believed.
fn again(believed: f64) -> f64 {
    (1.0 + believed).max(LEAST_REGROWTH)
}

fn within(figure: f64, range: &RangeInclusive<f64>) -> f64 {
    figure.clamp(*range.start(), *range.end())
}

/// What people wrote down of masses and paces.
struct Told<'r> {
    records: &'r Records,
    behind: Vec<Behind>,
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
    /// What the logarithm of its mass gains by that of pace, and by regrowth.
    pace: f64,
    regrowth: f64,
}

/// Where effects stand among all: those of masses, those of paces, regrowth by crop, batches.
#[derive(Debug, Clone, Copy)]
struct Numbers {
    masses: Layout,
    crops: usize,
}

impl Numbers {
    fn yields(self, place: Place) -> [(usize, f64); 3] {
        self.masses.at(place)
    }

    fn paces(self, place: Place) -> [(usize, f64); 3] {
        self.yields(place).map(|(effect, times)| (self.masses.count() + effect, times))
    }

    /// What makes the mass of a crop at a site on its usual day.
    fn mass(self, place: Place, own: &Crop) -> [(usize, f64); 6] {
        let curve = &own.growth.value;
        let at = |pace: f64| curve.grams_at(f64::from(own.usual_days()) / pace);
        let slope = (at(1.0 + LITTLE) / at(1.0 - LITTLE)).ln() / (2.0 * LITTLE);
        let [site, crop, both] = self.yields(place);
        let [site_pace, crop_pace, both_pace] = self.paces(place).map(|(effect, _)| (effect, slope));
        [site, crop, both, site_pace, crop_pace, both_pace]
    }

    fn regrowth(self, crop: usize) -> usize {
        2 * self.masses.count() + crop
    }

    fn batch(self, number: usize) -> usize {
        2 * self.masses.count() + self.crops + number
    }

    /// Variances of all effects but those of batches, before anything is seen.
    fn variances(self, scale: Scale) -> Vec<f64> {
        let times = |deviation: f64| scale.masses * deviation;
        let masses = self.masses.variances(OF_MASS.map(times));
        let paces = self.masses.variances(OF_PACE.map(times));
        let regrowth = vec![(scale.regrowth * OF_REGROWTH).powi(2); self.crops];
        [masses, paces, regrowth].concat()
    }
}

/// How many times as wide as supposed sites and crops differ, and how crops regrow: one says nothing of the other.
#[derive(Debug, Clone, Copy)]
struct Scale {
    masses: f64,
    regrowth: f64,
}

impl Scale {
    const SUPPOSED: Self = Self { masses: 1.0, regrowth: 1.0 };

    /// All that are tried, the narrowest last.
    fn all() -> impl Iterator<Item = Self> {
        let both = SCALES.into_iter().flat_map(|masses| SCALES.map(|regrowth| Self { masses, regrowth }));
        both.rev()
    }
}

/// What is believed after all harvests.
struct Found {
    numbers: Numbers,
    harvests: Vec<Harvest>,
    believed: Pooled,
}

impl Found {
    /// `None` if nothing was weighed.
    fn new(term: &Term, plan: &Plan, replayed: &[BatchReplay<'_>], told: &Told<'_>) -> Option<Self> {
        let records = told.records;
        let weighed = |term: &Term| against(term, plan, replayed, records);
        let is_meant = |own: &Weighing<'_>| FACTORS.contains(&(own.grams / own.expected));
        let meant: BTreeSet<&Harvested> =
            weighed(term).into_iter().filter(|(_, own)| is_meant(own)).map(|(of, _)| of).collect();
        if meant.is_empty() {
            return None;
        }
        let numbers = Numbers { masses: Layout::of(term), crops: term.crops.len() };
        let believed = pooled(&numbers.variances(Scale::SUPPOSED), &[]);
        let mut found = Self { numbers, harvests: Vec::new(), believed };
        for _ in 0..ROUNDS {
            let grown = |pace: f64, regrowth: f64| weighed(&found.grown(term, pace, regrowth));
            let mut here = grown(0.0, 0.0);
            here.retain(|(of, _)| meant.contains(of));
            let slopes = Slopes {
                pace: [grown(LITTLE, 0.0), grown(-LITTLE, 0.0)].map(expected),
                regrowth: [grown(0.0, LITTLE), grown(0.0, -LITTLE)].map(expected),
            };
            let (harvests, of_batches) = found.harvests(term, &here, &slopes);
            let mut seen = found.observations(&harvests);
            seen.extend(told.behind.iter().filter_map(|own| found.sighting(term, plan, *own)));
            if let Some(best) = found.best(term, &of_batches, &seen) {
                found.believed = best;
            }
            found.harvests = harvests;
        }
        Some(found)
    }

    /// What is believed after what was seen, with those widths that fit it best.
    fn best(&self, term: &Term, of_batches: &[f64], seen: &[Observation]) -> Option<Pooled> {
        let by_scale = Scale::all().map(|scale| {
            let mut variances = self.numbers.variances(scale);
            variances.extend(of_batches);
            let known = self.known_before(term, &pooled(&variances, &[]));
            let so_far = pooled(&variances, &known);
            let all = pooled(&variances, &[&known, seen].concat());
            // How well what was seen fits, not what is known of it before.
            (all.evidence() - so_far.evidence(), all)
        });
        by_scale.max_by(|one, other| one.0.total_cmp(&other.0)).map(|(_, best)| best)
    }

    /// The term with what is believed of pace and regrowth so far, and a little more of either.
    fn grown(&self, term: &Term, pace: f64, regrowth: f64) -> Term {
        let mut grown = term.clone();
        for (site, here) in grown.sites.iter_mut().enumerate() {
            for (crop, wanted) in term.crops.iter().enumerate() {
                let stated = here.as_stated(&wanted.crop.id);
                let believed = self.believed.mean(&self.numbers.paces((site, crop)));
                let pace = stated.pace * (believed + pace).exp();
                here.crops.insert(wanted.crop.id.clone(), CropHere { pace, ..stated });
            }
        }
        for (crop, wanted) in grown.crops.iter_mut().enumerate() {
            if let Some(own) = &mut wanted.crop.regrowth {
                let believed = self.believed.mean(&[(self.numbers.regrowth(crop), 1.0)]);
                let factor = again(believed + regrowth);
                own.vigour.value *= factor;
                own.strength.value.iter_mut().for_each(|strength| *strength *= factor);
            }
        }
        grown
    }

    /// Each harvest, seen from what is believed so far, and the variance of each of their batches.
    fn harvests(
        &self,
        term: &Term,
        here: &[(&Harvested, Weighing<'_>)],
        slopes: &Slopes<'_>,
    ) -> (Vec<Harvest>, Vec<f64>) {
        let (mut harvests, mut batches, mut variances) = (Vec::new(), Vec::new(), Vec::new());
        for (of, own) in here {
            let Some(place) = place(term, own.site, own.crop) else { continue };
            let (pace, regrowth) = (slope(&slopes.pace, of), slope(&slopes.regrowth, of));
            let batch = batches.iter().position(|known| *known == own.batch).unwrap_or_else(|| {
                batches.push(own.batch);
                variances.push(own.spread.0.powi(2));
                batches.len() - 1
            });
            let so_far = pace * self.believed.mean(&self.numbers.paces(place))
                + regrowth * self.believed.mean(&[(self.numbers.regrowth(place.1), 1.0)]);
            let value = own.logarithm() + so_far;
            let (plants, variance) = (own.plants, own.spread.1);
            harvests.push(Harvest { place, batch, plants, value, variance, pace, regrowth });
        }
        (harvests, variances)
    }

    /// What was weighed.
    fn observations(&self, harvests: &[Harvest]) -> Vec<Observation> {
        let observed = |own: &Harvest| {
            let yields = self.numbers.yields(own.place);
            let paces = self.numbers.paces(own.place).map(|(effect, times)| (effect, times * own.pace));
            let others =
                [(self.numbers.regrowth(own.place.1), own.regrowth), (self.numbers.batch(own.batch), 1.0)];
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
            let sum = self.numbers.mass(place, crop).to_vec();
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
        let off = self.believed.deviation(&self.numbers.mass(place, own)).min(NOT_KNOWN);
        let lessons = [
            lesson(
                Figure::Yield,
                stated.yield_factor,
                told(stated.yield_factor, &self.numbers.yields(place), &YIELDS),
            ),
            lesson(Figure::Pace, stated.pace, told(stated.pace, &self.numbers.paces(place), &PACES)),
            lesson(Figure::GiveOrTake, stated.give_or_take.unwrap_or(NOT_KNOWN), [off; 3]),
        ];
        let worth_it = seen > 0 || lessons[..2].iter().any(Lesson::is_worth_it);
        lessons.into_iter().filter(|_| worth_it).collect()
    }

    /// What a batch that is behind tells of its pace.
    fn sighting(&self, term: &Term, plan: &Plan, own: Behind) -> Option<Observation> {
        let batch = &plan.batches[own.batch];
        let place = place(term, &batch.site, &batch.crop)?;
        let (value, grown) = (pace(batch, own)?, &term.crops[place.1].crop);
        let of_batch = grown.variation.value.days / f64::from(grown.usual_days());
        let variance = of_batch.powi(2) + (OF_EYE * value).powi(2);
        Some(Observation { effects: self.numbers.paces(place).to_vec(), value, variance })
    }

    /// Plants weighed of some harvests.
    fn plants(&self, which: impl Fn(&Harvest) -> bool) -> u32 {
        let wanted = self.harvests.iter().filter(|own| which(own));
        wanted.map(|own| own.plants).fold(0, u32::saturating_add)
    }

    /// Lowest, believed and highest factor for a figure.
    fn factors(&self, sum: &[(usize, f64)]) -> [f64; 3] {
        self.range(sum).map(f64::exp)
    }

    /// Lowest, believed and highest sum of effects.
    fn range(&self, sum: &[(usize, f64)]) -> [f64; 3] {
        let reach = deviations(f64::midpoint(1.0, BAND)) * self.believed.deviation(sum);
        [-reach, 0.0, reach].map(|off| self.believed.mean(sum) + off)
    }
}

/// Grams that each harvest should have given, of plants a little slower and a little faster, stronger and weaker.
struct Slopes<'r> {
    pace: [BTreeMap<&'r Harvested, f64>; 2],
    regrowth: [BTreeMap<&'r Harvested, f64>; 2],
}

fn expected<'r>(weighed: Vec<(&'r Harvested, Weighing<'_>)>) -> BTreeMap<&'r Harvested, f64> {
    weighed.into_iter().map(|(of, own)| (of, own.expected)).collect()
}

/// What the logarithm of the mass of a harvest gains for what was changed a little.
fn slope([more, less]: &[BTreeMap<&Harvested, f64>; 2], of: &Harvested) -> f64 {
    let both = more.get(of).zip(less.get(of));
    both.map_or(0.0, |(more, less)| (more / less).ln() / (2.0 * LITTLE))
}
