//! What weighed harvests say of what is still to come.
//!
//! The mass of a harvest against the figures of its crop and site, as a logarithm, is taken for the sum of what is peculiar to
//! the site, to the crop as this grower has it, to the crop at that site, and to the batch, and of the spread between tanks and
//! plants. What is believed of each once some were weighed is worked out by partial pooling ([`pooled`]): two light heads say
//! a little of all lettuce in the room, less of everything else there and of lettuce elsewhere, and nothing of the rest.

pub(super) mod by_eye;
mod measured;
pub(super) mod scales;
mod surprise;

use super::carry::{blame, going_on};
use super::effects::{self, Layout, OF_MASS, as_if_seen, places};
use crate::domain::growth::Way;
use crate::domain::ids::TankId;
use crate::domain::journal::Journal;
use crate::domain::learned::NOT_KNOWN;
use crate::domain::plan::{Batch, Harvest, MassFactor, Plan, Serving};
use crate::domain::pooling::{Observation, Pooled, pooled};
use crate::domain::term::Term;
use crate::domain::weighed::{Behind, FACTORS, NOTICEABLE_SHARE, Outlook, Slip, Stays, Weighed};
use crate::schedule::Kitchen;
use chrono::NaiveDate;
use scales::{Of, Recorded, Records, Weighing};
pub(super) use scales::{records, weighings};
use std::collections::BTreeMap;
pub use surprise::surprise;

/// Share of a mass by which factors in thousandths may change it.
const ROUNDED: f64 = 0.002;

/// What is to be expected on a day, given what was weighed until then, but for serving days. `term` is the term as it really
/// is.
#[must_use]
pub fn outlook(term: &Term, plan: &Plan, journal: &Journal, today: NaiveDate) -> Outlook {
    let records = records(plan, journal, today);
    let meant = |weighing: &Weighing<'_>| FACTORS.contains(&(weighing.grams / weighing.expected));
    let (weighings, slips): (Vec<_>, Vec<_>) =
        weighings(term, plan, journal, &records, today).into_iter().partition(meant);
    let slips = slips.into_iter().map(|slip| Slip {
        batch: plan.batches[slip.batch].id.clone(),
        day: slip.day,
        share: slip.grams / slip.expected,
    });
    let behind = by_eye::behind(plan, journal, &records, today);
    let stays = measured::stays(term, plan, journal, &records, today);
    let mut seen = by_eye::sightings(term, plan, &behind);
    seen.extend(measured::weighings(plan, &stays));
    let behind = behind.iter().map(|own| Behind {
        batch: plan.batches[own.batch].id.clone(),
        day: own.day,
        days: own.days,
    });
    let stays = stays.iter().map(|own| Stays {
        batch: plan.batches[own.batch].id.clone(),
        day: own.day,
        plants: own.plants,
        share: own.grams / own.expected,
    });
    let (slips, behind, stays) = (slips.collect(), behind.collect(), stays.collect());
    let mut outlook = Outlook { behind, stays, slips, ..Outlook::default() };
    if weighings.is_empty() && seen.is_empty() {
        return outlook;
    }
    let effects = Effects::new(term, weighings.iter().chain(&seen));
    let crops = places(term).map(|(place, site, crop)| {
        let own = || weighings.iter().filter(|own| (own.site, own.crop) == (site, crop));
        let here = |batch: &&Batch| (&batch.site, &batch.crop) == (site, crop);
        Weighed {
            site: site.clone(),
            crop: crop.clone(),
            plants: own().map(|own| own.plants).fold(0, u32::saturating_add),
            grams: own().map(|own| own.grams).sum(),
            expected: own().map(|own| own.expected).sum(),
            to_come: plan.batches.iter().filter(here).any(|batch| is_to_come(batch, today)),
            factor: effects.of_place(place),
        }
    });
    outlook.crops = crops.collect();
    outlook.crops.sort_by(|a, b| (&a.site, &a.crop).cmp(&(&b.site, &b.crop)));
    let batches = effects.batches.iter().enumerate();
    outlook.batches =
        batches.map(|(at, batch)| (plan.batches[*batch].id.clone(), effects.of_batch(at))).collect();
    outlook
}

/// The same with grams for serving days, as [`as_expected`] tells them.
#[must_use]
pub fn prospects(term: &Term, plan: &Plan, journal: &Journal, today: NaiveDate) -> Outlook {
    let mut outlook = outlook(term, plan, journal, today);
    let standing = counted(going_on(term, plan, journal, today), &outlook, journal, today);
    let servings = given_out(term, plan, standing).servings.into_iter();
    outlook.servings = servings.map(|serving| (serving.date, serving.planned)).collect();
    outlook
}

/// The plan as it stands ([`as_it_stands`]), with what serving days then get; just the plan if nothing is otherwise than
/// planned. Its points, bounds and the like are those of the plan.
#[must_use]
pub fn as_expected(term: &Term, plan: &Plan, journal: &Journal, today: NaiveDate) -> Plan {
    given_out(term, plan, as_it_stands(term, plan, journal, today))
}

/// Gives the greens of a plan as it stands out as plans give them. Days that were short before are so for the reason known then,
/// others because of what failed.
fn given_out(term: &Term, plan: &Plan, mut standing: Plan) -> Plan {
    if is_as_planned(plan, &standing) {
        return plan.clone();
    }
    Kitchen::new(term).give_out(&mut standing);
    blame(&mut standing, plan);
    standing.facts.short_grams = standing.servings.iter().map(Serving::short).sum();
    let harvests = standing.batches.iter().flat_map(|batch| &batch.parts).flat_map(|part| &part.harvests);
    standing.facts.surplus_grams = harvests.map(Harvest::surplus).sum();
    standing
}

/// Whether batches are as planned, but for masses that differ by rounding.
fn is_as_planned(plan: &Plan, standing: &Plan) -> bool {
    let mut rounded = standing.batches.clone();
    for (batch, planned) in rounded.iter_mut().zip(&plan.batches) {
        for (part, planned) in batch.parts.iter_mut().zip(&planned.parts) {
            for (harvest, planned) in part.harvests.iter_mut().zip(&planned.harvests) {
                if (harvest.grams - planned.grams).abs() <= ROUNDED * planned.grams {
                    harvest.grams = planned.grams;
                    harvest.arithmetic.yield_factor = planned.arithmetic.yield_factor;
                    harvest.serves.clone_from(&planned.serves);
                }
            }
        }
    }
    rounded == plan.batches
}

fn is_to_come(batch: &Batch, today: NaiveDate) -> bool {
    batch.parts.iter().flat_map(|part| &part.harvests).any(|harvest| harvest.date >= today)
}

/// The plan with everything the journal has told since it was made, as [`super::carried`], but what was missed done on the next
/// class day; with the masses that were weighed, or are to be expected now.
#[must_use]
pub fn as_it_stands(term: &Term, plan: &Plan, journal: &Journal, today: NaiveDate) -> Plan {
    let outlook = outlook(term, plan, journal, today);
    counted(going_on(term, plan, journal, today), &outlook, journal, today)
}

/// A plan, as it was made or as [`super::carried`] tells it, with the masses that were weighed or are to be expected now, and the
/// factors to count with.
#[must_use]
pub fn counted(mut standing: Plan, outlook: &Outlook, journal: &Journal, today: NaiveDate) -> Plan {
    let before: Vec<f64> = standing.batches.iter().map(Batch::grams).collect();
    let records = records(&standing, journal, today);
    count(&mut standing, outlook, &records, today);
    standing.mass_factors = mass_factors(&standing, &before, outlook, today);
    standing
}

/// Gives each harvest of a plan the mass that was weighed of it; those of batches that are not over, and plants that were not
/// harvested yet with the others, what they are counted with now.
fn count(standing: &mut Plan, outlook: &Outlook, records: &Records, today: NaiveDate) {
    let now = |batch: &Batch| if is_over(batch, today) { 1.0 } else { outlook.against(standing, batch) };
    let against: Vec<f64> = standing.batches.iter().map(now).collect();
    for (batch, against) in standing.batches.iter_mut().zip(against) {
        let of =
            |tank: &TankId, harvest: &Harvest| (tank.clone(), harvest.date, harvest.way == Way::WholeHead);
        let mut planned: InTanks = BTreeMap::new();
        for part in &batch.parts {
            for harvest in &part.harvests {
                let sum = planned.entry(of(&part.tank, harvest)).or_default();
                *sum = (sum.0.saturating_add(part.plants), sum.1 + harvest.grams);
            }
        }
        let in_tanks = divided(records.iter().filter(|((id, ..), _)| *id == batch.id), &planned);
        for part in &mut batch.parts {
            for harvest in &mut part.harvests {
                let of = of(&part.tank, harvest);
                let weighed = in_tanks.get(&of).zip(planned.get(&of).filter(|planned| planned.1 > 0.0));
                let share = weighed.map_or(against, |((plants, grams), (all, planned))| {
                    let rest = f64::from(all.saturating_sub(*plants)) / f64::from(*all);
                    grams / planned + rest * against
                });
                harvest.grams *= share;
                harvest.arithmetic.yield_factor *= share;
                harvest.serves.iter_mut().for_each(|served| served.grams *= share);
            }
        }
    }
}

/// Plants and grams of a batch by tank, day and whether they are pulled.
type InTanks = BTreeMap<(TankId, NaiveDate, bool), (u32, f64)>;

/// What was recorded of a batch, tank by tank: what was weighed together belongs to the tanks by what was planned of their plants, or by
/// their number where of some nothing was planned.
fn divided<'r>(records: impl Iterator<Item = (&'r Of, &'r Recorded)>, planned: &InTanks) -> InTanks {
    let mut divided: InTanks = BTreeMap::new();
    for ((_, tanks, day, pulled), own) in records {
        let each = |tank: &TankId| {
            let (plants, grams) = planned.get(&(tank.clone(), *day, *pulled))?;
            Some(grams / f64::from(*plants)).filter(|each| *each > 0.0)
        };
        let each: Option<Vec<f64>> = tanks.iter().map(each).collect();
        let each = each.unwrap_or_else(|| vec![1.0; tanks.len()]);
        let weights: Vec<f64> =
            each.iter().zip(&own.plants).map(|(each, plants)| each * f64::from(*plants)).collect();
        let sum: f64 = weights.iter().sum();
        for ((tank, plants), weight) in tanks.iter().zip(&own.plants).zip(weights) {
            let here = divided.entry((tank.clone(), *day, *pulled)).or_default();
            let grams = if sum > 0.0 { own.grams * weight / sum } else { 0.0 };
            *here = (here.0.saturating_add(*plants), here.1 + grams);
        }
    }
    divided
}

/// What a plan is to count with: what is to be expected of crops, and of batches of which there is more to come; of those that
/// are over what was weighed, or what was counted on where nothing was, or where that cannot be. `before` are the grams of
/// each batch as counted on so far.
fn mass_factors(standing: &Plan, before: &[f64], outlook: &Outlook, today: NaiveDate) -> Vec<MassFactor> {
    let crops = outlook.crops.iter().map(|crop| MassFactor {
        site: crop.site.clone(),
        crop: crop.crop.clone(),
        batch: None,
        factor: thousandths(crop.factor),
    });
    let crops: Vec<MassFactor> = crops.collect();
    let batches = standing.batches.iter().zip(before).map(|(batch, before)| {
        let factor = if is_over(batch, today) {
            let of_crop = outlook.of(batch).map_or(1.0, |crop| thousandths(crop.factor));
            let so_far = standing.counts_with(batch);
            let weighed = so_far * batch.grams() / before;
            (if FACTORS.contains(&weighed) { weighed } else { so_far }) / of_crop
        } else {
            outlook.batches.get(&batch.id).copied().unwrap_or(1.0)
        };
        MassFactor {
            site: batch.site.clone(),
            crop: batch.crop.clone(),
            batch: Some(batch.id.clone()),
            factor: thousandths(factor.clamp(*FACTORS.start(), *FACTORS.end())),
        }
    });
    let batches: Vec<MassFactor> = batches.collect();
    crops.into_iter().chain(batches).filter(|own| (own.factor - 1.0).abs() > 0.0).collect()
}

/// Whether none of its plants lives, so that nothing can come of it whatever is planned.
fn is_over(batch: &Batch, today: NaiveDate) -> bool {
    batch.parts.iter().all(|part| part.lost.is_some() || part.leaves().is_some_and(|day| day < today))
}

fn thousandths(factor: f64) -> f64 {
    (factor * 1000.0).round() / 1000.0
}

/// Whether plants of the plan that are still to be harvested are to be counted with noticeably more or less than it does.
#[must_use]
pub fn tells_news(plan: &Plan, outlook: &Outlook, today: NaiveDate) -> bool {
    let differs = |batch: &Batch| (outlook.against(plan, batch) - 1.0).abs() >= NOTICEABLE_SHARE;
    plan.batches.iter().any(|batch| differs(batch) && is_to_come(batch, today))
}

/// What is believed of sites, crops, crops at sites and batches.
struct Effects {
    /// Those of sites and crops, then of batches: logarithms of factors.
    believed: Pooled,
    layout: Layout,
    /// Batches of which something was weighed, by their place in the plan.
    batches: Vec<usize>,
}

impl Effects {
    fn new<'w>(term: &Term, weighings: impl Iterator<Item = &'w Weighing<'w>>) -> Self {
        let layout = Layout::of(term);
        let mut effects = Self { believed: pooled(&[], &[]), layout, batches: Vec::new() };
        let mut variances = layout.variances(OF_MASS);
        let mut observations = Vec::new();
        for weighing in weighings {
            let Some(place) = effects::place(term, weighing.site, weighing.crop) else { continue };
            let (deviation, noise) = weighing.spread;
            let known = effects.batches.iter().position(|batch| *batch == weighing.batch);
            let at = known.unwrap_or_else(|| {
                effects.batches.push(weighing.batch);
                variances.push(deviation.powi(2));
                effects.batches.len() - 1
            });
            let shared = layout.at(place).into_iter().chain([effects.batch(at)]).collect();
            observations.push(Observation { effects: shared, value: weighing.logarithm(), variance: noise });
        }
        observations.extend(places(term).filter_map(|(place, site, crop)| {
            let known = term.site(site)?.as_stated(crop).give_or_take?;
            as_if_seen(known, NOT_KNOWN, layout.at(place).to_vec())
        }));
        effects.believed = pooled(&variances, &observations);
        effects
    }

    /// Number of what a batch has alone.
    fn batch(&self, at: usize) -> (usize, f64) {
        (self.layout.count() + at, 1.0)
    }

    fn of_place(&self, place: (usize, usize)) -> f64 {
        factor(self.believed.mean(&self.layout.at(place)))
    }

    fn of_batch(&self, at: usize) -> f64 {
        factor(self.believed.mean(&[self.batch(at)]))
    }
}

fn factor(mean: f64) -> f64 {
    mean.exp().clamp(*FACTORS.start(), *FACTORS.end())
}
