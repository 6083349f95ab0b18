//! What weighed harvests say of masses, days and regrowth.
//!
//! The mass of a harvest against the figures of crop and site is, as a logarithm, the sum of what is peculiar to the site, to
//! the crop as this grower has it, to the crop at that site and to the batch, as in [`crate::replan::weighed`]. What is
//! peculiar may lie in the mass or in the pace: who is a tenth slower weighs much less of a plant cut young, and nothing less of
//! one that is full-grown. How much a mass depends on pace and on regrowth is found by growing the plants of each harvest a
//! little slower, and a little weaker after their cuts. As neither is a straight line, this is done again at what was
//! found (iterated linearisation: B. Bell and F. Cathey, IEEE Transactions on Automatic Control 38, 1993, p. 294), and from there only as
//! far as it fits better than before: at what a cut leaves, and at the most that a crop regrows to, the line breaks, and whole
//! steps would jump to and fro across it for ever (damped Gauss-Newton steps: J. Nocedal and S. Wright, Numerical Optimization,
//! 2nd edition, 2006, section 10.3).
//!
//! Where all harvests of a crop were of one age nobody can tell slow from small; then both are believed in the measure in
//! which they usually occur, and what they say of that age is right in any case.

use super::numbers::{Numbers, Scale};
use crate::domain::plan::Plan;
use crate::domain::pooling::{Observation, Pooled, pooled};
use crate::domain::site::CropHere;
use crate::domain::term::Term;
use crate::domain::weighed::FACTORS;
use crate::replan::effects::{Place, as_if_seen, place};
use crate::replan::replay::BatchReplay;
use crate::replan::weighed::by_eye::{Behind, OF_EYE, pace};
use crate::replan::weighed::scales::{Of, Records, Weighing, against};
use std::collections::{BTreeMap, BTreeSet};

/// By how much plants are grown slower and weaker to see what that changes.
const LITTLE: f64 = 0.02;
/// How often what was found is taken for the place to look from, at most.
const ROUNDS: usize = 12;
/// Shares of a step that are tried, one after the other.
const STEPS: [f64; 6] = [1.0, 0.5, 0.25, 0.125, 0.0625, 0.03125];
/// By how much a step has to fit better to be worth taking.
const BETTER: f64 = 1e-6;
/// The least share of its regrowth that is believed of a crop.
const LEAST_REGROWTH: f64 = 0.2;

/// What is known of a term, and what people wrote down of its masses and paces.
pub(super) struct Told<'a> {
    pub(super) term: &'a Term,
    pub(super) plan: &'a Plan,
    /// Every batch of the plan.
    pub(super) replayed: &'a [BatchReplay<'a>],
    pub(super) records: &'a Records,
    pub(super) behind: &'a [Behind],
}

/// A harvest that was weighed, and what its mass depends on.
#[derive(Debug, Clone, Copy)]
pub(super) struct Harvest {
    pub(super) place: Place,
    /// Number of its batch among those weighed.
    batch: usize,
    plants: u32,
    /// Logarithm of what was weighed against what should have been, by what is believed of pace and regrowth.
    off: f64,
    variance: f64,
    /// What the logarithm of its mass gains by that of pace, and by regrowth.
    pace: f64,
    pub(super) regrowth: f64,
}

/// What is believed after all harvests.
pub(super) struct Fit {
    pub(super) numbers: Numbers,
    harvests: Vec<Harvest>,
    at: Point,
    believed: Pooled,
}

impl Fit {
    /// Mean of a sum of effects.
    pub(super) fn mean(&self, sum: &[(usize, f64)]) -> f64 {
        self.at.sum(sum)
    }

    /// Standard deviation of such a sum.
    pub(super) fn deviation(&self, sum: &[(usize, f64)]) -> f64 {
        self.believed.deviation(sum)
    }

    /// Plants weighed of some harvests.
    pub(super) fn plants(&self, which: impl Fn(&Harvest) -> bool) -> u32 {
        let wanted = self.harvests.iter().filter(|own| which(own));
        wanted.map(|own| own.plants).fold(0, u32::saturating_add)
    }
}

/// Values of all effects; 0 where there are none yet.
#[derive(Debug, Clone, Default)]
struct Point(Vec<f64>);

impl Point {
    fn value(&self, effect: usize) -> f64 {
        self.0.get(effect).copied().unwrap_or(0.0)
    }

    fn sum(&self, sum: &[(usize, f64)]) -> f64 {
        sum.iter().map(|(effect, times)| times * self.value(*effect)).sum()
    }

    /// A share of the way to where something is believed.
    fn towards(&self, believed: &Pooled, effects: usize, share: f64) -> Self {
        let step = |effect: usize| {
            let own = self.value(effect);
            own + share * (believed.mean(&[(effect, 1.0)]) - own)
        };
        Self((0..effects).map(step).collect())
    }
}

/// What is supposed before harvests are seen, with widths that fit them best, and what is believed then.
struct Best {
    variances: Vec<f64>,
    known: Vec<Observation>,
    believed: Pooled,
}

impl Told<'_> {
    /// `None` if nothing was weighed.
    pub(super) fn fit(&self) -> Option<Fit> {
        let is_meant = |own: &Weighing<'_>| FACTORS.contains(&(own.grams / own.expected));
        let stated = against(self.term, self.plan, self.replayed, self.records).into_iter();
        let meant: BTreeSet<&Of> = stated.filter(|(_, own)| is_meant(own)).map(|(of, _)| of).collect();
        if meant.is_empty() {
            return None;
        }
        let numbers = Numbers::of(self.term);
        let seen = self.behind.iter().filter_map(|own| self.sighting(numbers, *own));
        let sightings: Vec<Observation> = seen.collect();
        let mut fit = Fit {
            numbers,
            harvests: Vec::new(),
            at: Point::default(),
            believed: pooled(&numbers.variances(Scale::SUPPOSED), &[]),
        };
        for _ in 0..ROUNDS {
            let (harvests, of_batches) = self.harvests(&fit, &meant);
            let mut seen: Vec<Observation> =
                harvests.iter().map(|own| observation(numbers, &fit.at, own)).collect();
            seen.extend(sightings.iter().cloned());
            let Some(mut best) = self.best(numbers, &of_batches, &seen) else { break };
            best.known.extend(sightings.iter().cloned());
            let next = self.step(&fit, &meant, &best);
            (fit.harvests, fit.believed) = (harvests, best.believed);
            let Some(next) = next else { break };
            fit.at = next;
        }
        Some(fit)
    }

    /// As far towards what is believed as it fits better than what was believed so far; `None` if it fits nowhere better.
    fn step(&self, fit: &Fit, meant: &BTreeSet<&Of>, best: &Best) -> Option<Point> {
        let so_far = self.misfit(fit.numbers, &fit.at, meant, best);
        let steps = STEPS.iter().map(|share| fit.at.towards(&best.believed, best.variances.len(), *share));
        steps.into_iter().find(|next| self.misfit(fit.numbers, next, meant, best) < so_far - BETTER)
    }

    /// How badly a point fits all that is known: twice the negative logarithm of its density, but for a constant.
    fn misfit(&self, numbers: Numbers, at: &Point, meant: &BTreeSet<&Of>, best: &Best) -> f64 {
        let mut batches = Vec::new();
        let grown = self.grown(numbers, at, (0.0, 0.0));
        let weighed = against(&grown, self.plan, self.replayed, self.records).into_iter();
        let of_weighings = weighed.filter(|(of, _)| meant.contains(of)).map(|(_, own)| {
            let effects =
                place(self.term, own.site, own.crop).map_or(0.0, |place| at.sum(&numbers.yields(place)));
            let batch = at.value(numbers.batch(number_of(&mut batches, own.batch)).0);
            (own.logarithm() - effects - batch).powi(2) / own.spread.1
        });
        let of_weighings: f64 = of_weighings.sum();
        let of_known = best.known.iter().map(|own| (own.value - at.sum(&own.effects)).powi(2) / own.variance);
        let supposed = best.variances.iter().enumerate();
        let of_supposed = supposed.map(|(effect, variance)| at.value(effect).powi(2) / variance);
        of_weighings + of_known.sum::<f64>() + of_supposed.sum::<f64>()
    }

    /// What is believed after what was seen, with those widths that fit it best.
    fn best(&self, numbers: Numbers, of_batches: &[f64], seen: &[Observation]) -> Option<Best> {
        let by_scale = Scale::all().map(|scale| {
            let mut variances = numbers.variances(scale);
            variances.extend(of_batches);
            let known = self.known_before(numbers, &pooled(&variances, &[]));
            let so_far = pooled(&variances, &known);
            let believed = pooled(&variances, &[&known, seen].concat());
            // How well what was seen fits, not what is known of it before.
            (believed.evidence() - so_far.evidence(), Best { variances, known, believed })
        });
        by_scale.max_by(|one, other| one.0.total_cmp(&other.0)).map(|(_, best)| best)
    }

    /// The term with what is believed of pace and regrowth, and a little more of either.
    fn grown(&self, numbers: Numbers, at: &Point, (pace, regrowth): (f64, f64)) -> Term {
        let mut grown = self.term.clone();
        for (site, here) in grown.sites.iter_mut().enumerate() {
            for (crop, wanted) in self.term.crops.iter().enumerate() {
                let stated = here.as_stated(&wanted.crop.id);
                let pace = stated.pace * (at.sum(&numbers.paces((site, crop))) + pace).exp();
                here.crops.insert(wanted.crop.id.clone(), CropHere { pace, ..stated });
            }
        }
        for (crop, wanted) in grown.crops.iter_mut().enumerate() {
            if let Some(own) = &mut wanted.crop.regrowth {
                let factor = again(at.sum(&[numbers.regrowth(crop)]) + regrowth);
                own.vigour.value *= factor;
                own.strength.value.iter_mut().for_each(|strength| *strength *= factor);
            }
        }
        grown
    }

    /// Each harvest, seen from what is believed so far, and the variance of each of their batches.
    fn harvests(&self, fit: &Fit, meant: &BTreeSet<&Of>) -> (Vec<Harvest>, Vec<f64>) {
        let weighed = |pace: f64, regrowth: f64| {
            let grown = self.grown(fit.numbers, &fit.at, (pace, regrowth));
            against(&grown, self.plan, self.replayed, self.records)
        };
        let by_pace = [weighed(LITTLE, 0.0), weighed(-LITTLE, 0.0)].map(expected);
        let by_regrowth = [weighed(0.0, LITTLE), weighed(0.0, -LITTLE)].map(expected);
        let (mut harvests, mut batches, mut variances) = (Vec::new(), Vec::new(), Vec::new());
        for (of, own) in weighed(0.0, 0.0).into_iter().filter(|(of, _)| meant.contains(of)) {
            let batch = number_of(&mut batches, own.batch);
            variances.resize(batches.len(), own.spread.0.powi(2));
            let Some(place) = place(self.term, own.site, own.crop) else { continue };
            harvests.push(Harvest {
                place,
                batch,
                plants: own.plants,
                off: own.logarithm(),
                variance: own.spread.1,
                pace: slope(&by_pace, of),
                regrowth: slope(&by_regrowth, of),
            });
        }
        (harvests, variances)
    }

    /// What is known from earlier terms of how far masses may be off, against what is supposed.
    fn known_before(&self, numbers: Numbers, supposed: &Pooled) -> Vec<Observation> {
        let places = self.term.sites.iter().enumerate().flat_map(|(site, here)| {
            let crops = self.term.crops.iter().enumerate();
            crops.map(move |(crop, wanted)| (here.as_stated(&wanted.crop.id), (site, crop), &wanted.crop))
        });
        let known = places.filter_map(|(here, place, crop)| {
            let sum = numbers.mass(place, crop).to_vec();
            as_if_seen(here.give_or_take?, supposed.deviation(&sum), sum)
        });
        known.collect()
    }

    /// What a batch that is behind tells of its pace.
    fn sighting(&self, numbers: Numbers, own: Behind) -> Option<Observation> {
        let batch = &self.plan.batches[own.batch];
        let place = place(self.term, &batch.site, &batch.crop)?;
        let (value, grown) = (pace(batch, own)?, &self.term.crops[place.1].crop);
        let of_batch = grown.variation.value.days / f64::from(grown.usual_days());
        let variance = of_batch.powi(2) + (OF_EYE * value).powi(2);
        Some(Observation { effects: numbers.paces(place).to_vec(), value, variance })
    }
}

/// What a harvest says, as a sum of effects.
fn observation(numbers: Numbers, at: &Point, own: &Harvest) -> Observation {
    let paces = numbers.paces(own.place).map(|(effect, times)| (effect, times * own.pace));
    let regrowth = (numbers.regrowth(own.place.1).0, own.regrowth);
    let value = own.off + at.sum(&paces) + at.sum(&[regrowth]);
    let others = [regrowth, numbers.batch(own.batch)];
    let effects = numbers.yields(own.place).into_iter().chain(paces).chain(others).collect();
    Observation { effects, value, variance: own.variance }
}

/// The number of a batch among those weighed.
fn number_of(batches: &mut Vec<usize>, batch: usize) -> usize {
    let known = batches.iter().position(|known| *known == batch);
    known.unwrap_or_else(|| {
        batches.push(batch);
        batches.len() - 1
    })
}

/// Factor for the regrowth of a crop of which so much is believed.
pub(super) fn again(believed: f64) -> f64 {
    (1.0 + believed).max(LEAST_REGROWTH)
}

/// Grams that each harvest should have given.
fn expected<'r>(weighed: Vec<(&'r Of, Weighing<'_>)>) -> BTreeMap<&'r Of, f64> {
    weighed.into_iter().map(|(of, own)| (of, own.expected)).collect()
}

/// What the logarithm of the mass of a harvest gains for what was changed a little, up and down.
fn slope([more, less]: &[BTreeMap<&Of, f64>; 2], of: &Of) -> f64 {
    let both = more.get(of).zip(less.get(of));
    both.map_or(0.0, |(more, less)| (more / less).ln() / (2.0 * LITTLE))
}
