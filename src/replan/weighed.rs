//! What weighed harvests say of what is still to come.
//!
//! The mass of a harvest against the figures of its crop and site, as a logarithm, is taken for the sum of what is peculiar to
//! the site, to the crop as this grower has it, to the crop at that site, and to the batch, and of the spread between tanks and
//! plants. What is believed of each once some were weighed is worked out by partial pooling ([`pooled`]): two light heads say
//! a little of all lettuce in the room, less of everything else there and of lettuce elsewhere, and nothing of the rest.

use super::carry::carried;
use super::replay::{BatchReplay, Event, Happened, Lot, heard, replay};
use crate::domain::calendar::days_between;
use crate::domain::crop::Crop;
use crate::domain::growth::{Growing, Stand, Way};
use crate::domain::ids::{BatchId, CropId, SiteId, TankId};
use crate::domain::journal::{self, Journal, What};
use crate::domain::luck::{Pacing, SHARED, Spread};
use crate::domain::plan::{Batch, Harvest, Origin, Plan};
use crate::domain::pooling::{Observation, pooled};
use crate::domain::site::Site;
use crate::domain::term::Term;
use crate::domain::weighed::{FACTORS, MassFactor, Outlook, Weighed};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Standard deviation of what is peculiar to a site. Batches of one variety, planted on one day under six ways to run a
/// glasshouse, differed by 19 to 29 % (the experiment named at [`crate::domain::crop::SEEDLING_RATE`]).
const OF_SITE: f64 = 0.2;
/// The same for a crop as this grower has it, seed and season included (from memory).
const OF_CROP: f64 = 0.2;
/// And for the crop at one site, beside both (from memory).
const OF_CROP_AT_SITE: f64 = 0.1;
/// Share by which what is counted with must change until it is worth planning again for (common practice, no source).
const NOTICEABLE_SHARE: f64 = 0.05;

/// One or more entries for plants of a batch that were harvested alike from one tank on one day.
struct Weighing<'a> {
    site: &'a SiteId,
    crop: &'a CropId,
    batch: usize,
    plants: u32,
    grams: f64,
    /// Grams these plants should have given.
    expected: f64,
    /// Standard deviation of what all plants of the batch share, and variance of what is left.
    spread: (f64, f64),
}

/// What is to be expected on a day, given what was weighed until then. `term` is the term as it really is.
#[must_use]
pub fn outlook(term: &Term, plan: &Plan, journal: &Journal, today: NaiveDate) -> Outlook {
    let mut outlook = Outlook::default();
    let records = records(plan, journal, today);
    let weighings = weighings(term, plan, journal, &records, today);
    if !weighings.is_empty() {
        let effects = Effects::new(term, plan, &weighings);
        let crops = places(term).map(|(place, site, crop)| {
            let own = || weighings.iter().filter(|own| (own.site, own.crop) == (site, crop));
            Weighed {
                site: site.clone(),
                crop: crop.clone(),
                plants: own().map(|own| own.plants).fold(0, u32::saturating_add),
                grams: own().map(|own| own.grams).sum(),
                expected: own().map(|own| own.expected).sum(),
                factor: effects.of_place(place),
            }
        });
        outlook.crops = crops.collect();
        outlook.crops.sort_by(|a, b| (&a.site, &a.crop).cmp(&(&b.site, &b.crop)));
        let batches = effects.batches.iter().enumerate();
        outlook.batches =
            batches.map(|(at, batch)| (plan.batches[*batch].id.clone(), effects.of_batch(at))).collect();
    }
    let mut standing = carried(term, plan, journal, today);
    count(&mut standing, &outlook, &records);
    outlook.servings = servings(&standing);
    outlook
}

/// The plan with everything the journal has told since it was made, as [`super::carried`], and with the masses that were
/// weighed, or are to be expected now.
#[must_use]
pub fn as_it_stands(term: &Term, plan: &Plan, journal: &Journal, today: NaiveDate) -> Plan {
    let outlook = outlook(term, plan, journal, today);
    let mut standing = carried(term, plan, journal, today);
    count(&mut standing, &outlook, &records(plan, journal, today));
    standing.mass_factors = mass_factors(plan, &outlook);
    standing
}

/// Gives each harvest of a plan as it stands the mass that was weighed of it, or else what it is counted with now.
fn count(standing: &mut Plan, outlook: &Outlook, records: &Records) {
    let against: Vec<f64> = standing.batches.iter().map(|batch| outlook.against(standing, batch)).collect();
    for (batch, against) in standing.batches.iter_mut().zip(against) {
        let id = batch.id.clone();
        let of = |tank: &TankId, harvest: &Harvest| {
            (id.clone(), tank.clone(), harvest.date, harvest.way == Way::WholeHead)
        };
        let mut planned: BTreeMap<Of, f64> = BTreeMap::new();
        for part in &batch.parts {
            for harvest in &part.harvests {
                *planned.entry(of(&part.tank, harvest)).or_default() += harvest.grams;
            }
        }
        for part in &mut batch.parts {
            for harvest in &mut part.harvests {
                let of = of(&part.tank, harvest);
                let weighed = records.get(&of).zip(planned.get(&of).filter(|planned| **planned > 0.0));
                let share = weighed.map_or(against, |((_, grams), planned)| grams / planned);
                harvest.grams *= share;
                harvest.arithmetic.yield_factor *= share;
                harvest.serves.iter_mut().for_each(|served| served.grams *= share);
            }
        }
    }
}

/// Grams for each serving day.
fn servings(plan: &Plan) -> BTreeMap<NaiveDate, f64> {
    let mut servings: BTreeMap<NaiveDate, f64> =
        plan.servings.iter().map(|serving| (serving.date, 0.0)).collect();
    for harvest in plan.batches.iter().flat_map(|batch| &batch.parts).flat_map(|part| &part.harvests) {
        // What was harvested late is too late for some.
        for served in harvest.serves.iter().filter(|served| served.date >= harvest.date) {
            *servings.entry(served.date).or_default() += served.grams;
        }
    }
    servings
}

/// What a plan is to count with, given what is to be expected.
#[must_use]
pub fn mass_factors(plan: &Plan, outlook: &Outlook) -> Vec<MassFactor> {
    let thousandths = |factor: f64| (factor * 1000.0).round() / 1000.0;
    let crops = outlook.crops.iter().map(|crop| MassFactor {
        site: crop.site.clone(),
        crop: crop.crop.clone(),
        batch: None,
        factor: thousandths(crop.factor),
    });
    let batches = plan.batches.iter().filter_map(|batch| {
        Some(MassFactor {
            site: batch.site.clone(),
            crop: batch.crop.clone(),
            batch: Some(batch.id.clone()),
            factor: thousandths(*outlook.batches.get(&batch.id)?),
        })
    });
    crops.chain(batches).filter(|own| (own.factor - 1.0).abs() > 0.0).collect()
}

/// Whether plants of the plan that are still to be harvested are to be counted with noticeably more or less than it does.
#[must_use]
pub fn tells_news(plan: &Plan, outlook: &Outlook, today: NaiveDate) -> bool {
    plan.batches.iter().any(|batch| {
        (outlook.against(plan, batch) - 1.0).abs() >= NOTICEABLE_SHARE
            && batch.parts.iter().flat_map(|part| &part.harvests).any(|harvest| harvest.date >= today)
    })
}

/// What is believed of sites, crops, crops at sites and batches.
struct Effects {
    /// Sites, then crops, then crops at each site, then batches: logarithms of factors.
    means: Vec<f64>,
    sites: usize,
    crops: usize,
    /// Batches of which something was weighed, by their place in the plan.
    batches: Vec<usize>,
}

impl Effects {
    fn new(term: &Term, plan: &Plan, weighings: &[Weighing<'_>]) -> Self {
        let (sites, crops) = (term.sites.len(), term.crops.len());
        let mut effects = Self { means: Vec::new(), sites, crops, batches: Vec::new() };
        let mut variances = vec![OF_SITE.powi(2); sites];
        variances.extend(vec![OF_CROP.powi(2); crops]);
        variances.extend(vec![OF_CROP_AT_SITE.powi(2); sites * crops]);
        let mut observations = Vec::new();
        for weighing in weighings {
            let batch = &plan.batches[weighing.batch];
            let site = term.sites.iter().position(|site| site.id == batch.site);
            let crop = term.crops.iter().position(|wanted| wanted.crop.id == batch.crop);
            let Some(place) = site.zip(crop) else { continue };
            let (deviation, noise) = weighing.spread;
            let known = effects.batches.iter().position(|batch| *batch == weighing.batch);
            let at = known.unwrap_or_else(|| {
                effects.batches.push(weighing.batch);
                variances.push(deviation.powi(2));
                effects.batches.len() - 1
            });
            let shared = effects.shared(place).into_iter().chain([effects.batch(at)]).collect();
            let share = (weighing.grams / weighing.expected).clamp(*FACTORS.start(), *FACTORS.end());
            observations.push(Observation { effects: shared, value: share.ln(), variance: noise });
        }
        effects.means = pooled(&variances, &observations);
        effects
    }

    /// Numbers of what all of a crop at a site have in common.
    fn shared(&self, (site, crop): (usize, usize)) -> [usize; 3] {
        [site, self.sites + crop, self.sites + self.crops + site * self.crops + crop]
    }

    /// Number of what a batch has alone.
    fn batch(&self, at: usize) -> usize {
        self.sites + self.crops + self.sites * self.crops + at
    }

    fn of_place(&self, place: (usize, usize)) -> f64 {
        factor(self.shared(place).into_iter().map(|effect| self.means[effect]).sum())
    }

    fn of_batch(&self, at: usize) -> f64 {
        factor(self.means[self.batch(at)])
    }
}

/// Every crop at every site.
fn places(term: &Term) -> impl Iterator<Item = ((usize, usize), &SiteId, &CropId)> {
    term.sites.iter().enumerate().flat_map(|(site, here)| {
        let crops = term.crops.iter().enumerate();
        crops.map(move |(crop, wanted)| ((site, crop), &here.id, &wanted.crop.id))
    })
}

fn factor(mean: f64) -> f64 {
    mean.exp().clamp(*FACTORS.start(), *FACTORS.end())
}

/// Batch, tank and day of a harvest, and whether plants were pulled.
type Of = (BatchId, TankId, NaiveDate, bool);
/// Plants and grams recorded of each harvest.
type Records = BTreeMap<Of, (u32, f64)>;

fn records(plan: &Plan, journal: &Journal, today: NaiveDate) -> Records {
    let mut records = Records::new();
    for entry in heard(plan, journal, today) {
        if let What::Harvested(journal::Harvested { batch, tank, way, plants, grams, .. }) = &entry.what {
            let of = (batch.clone(), tank.clone(), entry.day, *way == Way::WholeHead);
            let sum = records.entry(of).or_default();
            *sum = (sum.0.saturating_add(*plants), sum.1 + grams);
        }
    }
    records
}

fn weighings<'a>(
    term: &'a Term,
    plan: &'a Plan,
    journal: &'a Journal,
    records: &Records,
    today: NaiveDate,
) -> Vec<Weighing<'a>> {
    // What was thrown away says nothing of how plants grow.
    let told: Vec<_> = records.iter().filter(|(_, (plants, grams))| *plants > 0 && *grams > 0.0).collect();
    if told.is_empty() {
        return Vec::new();
    }
    let replay = replay(term, plan, journal, today);
    let weighing = |((id, tank, day, pulled), (plants, grams)): (&Of, &(u32, f64))| {
        let batch = plan.batches.iter().position(|batch| batch.id == *id)?;
        let scales = Scales::new(term, &replay.batches[batch])?;
        let each = scales.each(tank, *day, *pulled).filter(|each| each.grams > 0.0)?;
        let expected = f64::from(*plants) * each.grams;
        let spread = (each.shared, each.tank + each.alone / f64::from(*plants));
        let Batch { site, crop, .. } = &plan.batches[batch];
        Some(Weighing { site, crop, batch, plants: *plants, grams: *grams, expected, spread })
    };
    told.into_iter().filter_map(weighing).collect()
}

/// What a plant of a harvest should have given, and how far that spreads.
struct Each {
    grams: f64,
    /// Standard deviation that all plants of the batch share.
    shared: f64,
    /// Variance that all in the tank share.
    tank: f64,
    /// Variance of each plant alone.
    alone: f64,
}

/// What plants of a batch should weigh.
struct Scales<'a> {
    replay: &'a BatchReplay<'a>,
    crop: &'a Crop,
    growing: Growing<'a>,
}

impl<'a> Scales<'a> {
    fn new(term: &'a Term, replay: &'a BatchReplay<'a>) -> Option<Self> {
        let crop = &term.crop(&replay.batch.crop)?.crop;
        let site: &Site = term.site(&replay.batch.site)?;
        let stated = site.as_stated(&crop.id);
        let growing = Growing::at(crop, stated.pace, stated.yield_factor, site.nursery.cell_cm);
        Some(Self { replay, crop, growing })
    }

    /// What a plant should have given that was harvested from a tank on a day.
    fn each(&self, tank: &TankId, day: NaiveDate, pulled: bool) -> Option<Each> {
        let wanted = |event: &&Event| event.day == day && matches!(event.what, Happened::Pulled(_)) == pulled;
        let origin = self.replay.batch.origin;
        let way = if pulled { Way::WholeHead } else { Way::Cut };
        let (mut plants, mut grams, mut shared) = (0, 0.0, 0.0);
        for lot in self.replay.lots.iter().filter(|lot| lot.tank == *tank) {
            let Some(event) = lot.harvests().find(wanted) else { continue };
            let (days, standing, is_first) = self.standing(lot, event)?;
            // Who counts plants at a harvest counts those that live.
            let each = origin.growing(self.crop) * self.growing.expected(standing, way)
                / self.crop.tank_survival.value;
            plants += lot.plants;
            grams += f64::from(lot.plants) * each;
            let pacing = Pacing::new(&self.growing, (days, is_first), standing);
            shared = Spread::of(self.crop, origin).batch(&pacing).1;
        }
        let plant = self.crop.variation.value.between_plants.powi(2);
        (plants > 0).then(|| Each {
            grams: grams / f64::from(plants),
            shared,
            tank: plant * SHARED,
            alone: plant * (1.0 - SHARED),
        })
    }

    /// Days since sowing, or since the cut before; grams that stand in a plant of a lot at one of its harvests; and whether it
    /// is the first one. `None` for plants that were cut before the term and that nobody had planned to harvest then.
    fn standing(&self, lot: &Lot, at: &Event) -> Option<(u32, f64, bool)> {
        let batch = self.replay.batch;
        let part = lot.part.map(|part| &batch.parts[part]);
        if part.is_some_and(|part| part.cuts_before > 0) {
            let planned = &part?.harvests.get(at.what.harvest()?)?.arithmetic;
            return Some((planned.days, planned.standing_grams, false));
        }
        let sown = self.replay.sown.map_or(batch.born(), |sown| match batch.origin {
            Origin::Bought { .. } => batch.born(),
            _ => sown.on,
        });
        let days = |from: NaiveDate, to: NaiveDate| days_between(from, to).max(0) as u32;
        let moved = lot.moved()?;
        let planted = match batch.origin {
            Origin::InCups => self.growing.never_held(days(sown, moved)),
            _ => self.growing.planted(days(sown, moved)),
        };
        let (mut since, mut stand): (NaiveDate, Stand) = (moved, planted);
        let mut before = None;
        for event in lot.harvests().take_while(|event| event.day < at.day) {
            stand = self.growing.cut(self.growing.later(stand, days(since, event.day)));
            (since, before) = (event.day, Some(event.day));
        }
        let grams = self.growing.grams(self.growing.later(stand, days(since, at.day)));
        Some((days(before.unwrap_or(sown), at.day), grams, before.is_none()))
    }
}
