//! What harvested plants should have weighed, by their history and the figures of crop and site.

use crate::domain::calendar::days_between;
use crate::domain::crop::Crop;
use crate::domain::growth::{Growing, Way};
use crate::domain::ids::{BatchId, CropId, SiteId, TankId};
use crate::domain::journal::{InTank, Journal, What};
use crate::domain::luck::{Pacing, SHARED, Spread};
use crate::domain::plan::{Batch, Plan};
use crate::domain::site::Site;
use crate::domain::term::Term;
use crate::replan::replay::{BatchReplay, Event, Happened, Lot, heard, replay};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Standard deviation that a weighing has of its own: trimming, scales, a tank in trouble (from memory).
pub(super) const OF_WEIGHING: f64 = 0.1;
/// The same where leaves were counted in cups, as a share: how loosely they lie differs from cook to cook (from memory).
const OF_VOLUME: f64 = 0.3;
/// The same for a plant weighed alone: who takes one of many does not take any (from memory). It evens out with more of them.
pub(super) const OF_CHOICE: f64 = 0.2;

/// One or more entries for plants of a batch that were harvested alike from the same tanks on one day.
pub(in crate::replan) struct Weighing<'a> {
    pub(in crate::replan) site: &'a SiteId,
    pub(in crate::replan) crop: &'a CropId,
    pub(in crate::replan) batch: usize,
    pub(in crate::replan) day: NaiveDate,
    pub(in crate::replan) plants: u32,
    pub(in crate::replan) grams: f64,
    /// Grams these plants should have given.
    pub(in crate::replan) expected: f64,
    /// Standard deviation of what all plants of the batch share, and variance of what is left.
    pub(in crate::replan) spread: (f64, f64),
}

impl Weighing<'_> {
    /// Logarithm of what was weighed against what it should have been. For one or two plants it lies some percent low on average, as
    /// the logarithm of a mean does; but who weighs just what was told must not be told another figure for it.
    pub(in crate::replan) fn logarithm(&self) -> f64 {
        (self.grams / self.expected).ln()
    }
}

/// Batch and tanks of a harvest that was weighed as a whole, its day, and whether plants were pulled.
pub(in crate::replan) type Of = (BatchId, Vec<TankId>, NaiveDate, bool);
/// What was recorded of each harvest.
pub(in crate::replan) type Records = BTreeMap<Of, Recorded>;

/// What was recorded of a harvest.
#[derive(Debug, Clone, Default)]
pub(in crate::replan) struct Recorded {
    /// Plants of each of its tanks.
    pub(in crate::replan) plants: Vec<u32>,
    /// Grams of all of them together.
    pub(in crate::replan) grams: f64,
    /// Those of them that were measured otherwise than by weighing.
    by_volume: f64,
}

impl Recorded {
    /// Whether there is anything: what was thrown away says nothing of how plants grow.
    fn is_weighed(&self) -> bool {
        self.all() > 0 && self.grams > 0.0
    }

    fn all(&self) -> u32 {
        self.plants.iter().copied().fold(0, u32::saturating_add)
    }

    /// Variance that the weighing has of its own.
    fn variance(&self) -> f64 {
        OF_WEIGHING.powi(2) + (OF_VOLUME * self.by_volume / self.grams).powi(2)
    }
}

/// What a journal says of harvests until a day.
pub(in crate::replan) fn records(plan: &Plan, journal: &Journal, today: NaiveDate) -> Records {
    let mut records = Records::new();
    for entry in heard(plan, journal, today) {
        let What::Harvested(harvested) = &entry.what else { continue };
        let mut places: Vec<&InTank> = harvested.places.iter().collect();
        places.sort_by_key(|place| &place.tank);
        let tanks = places.iter().map(|place| place.tank.clone()).collect();
        let of = (harvested.batch.clone(), tanks, entry.day, harvested.way == Way::WholeHead);
        let sum = records.entry(of).or_default();
        sum.plants.resize(places.len(), 0);
        for (plants, place) in sum.plants.iter_mut().zip(places) {
            *plants = plants.saturating_add(place.plants);
        }
        sum.grams += harvested.grams;
        sum.by_volume += if harvested.measured_as.is_some() { harvested.grams } else { 0.0 };
    }
    records
}

/// What was weighed, against what it should have been.
pub(in crate::replan) fn weighings<'a>(
    term: &Term,
    plan: &'a Plan,
    journal: &Journal,
    records: &Records,
    today: NaiveDate,
) -> Vec<Weighing<'a>> {
    if !records.values().any(Recorded::is_weighed) {
        return Vec::new();
    }
    let replay = replay(term, plan, journal, today);
    against(term, plan, &replay.batches, records).into_iter().map(|(_, weighing)| weighing).collect()
}

/// The same, each with the harvest it is of. What happened is told by a replay, what should have been by the figures of `term`.
pub(in crate::replan) fn against<'a, 'r>(
    term: &Term,
    plan: &'a Plan,
    replayed: &[BatchReplay<'_>],
    records: &'r Records,
) -> Vec<(&'r Of, Weighing<'a>)> {
    let weighing = |(of, own): (&'r Of, &Recorded)| {
        let (id, tanks, day, pulled) = of;
        let batch = plan.batches.iter().position(|batch| batch.id == *id)?;
        let scales = Scales::new(term, &replayed[batch])?;
        let each = |tank: &TankId| scales.each(tank, *day, *pulled).filter(|each| each.grams > 0.0);
        let each: Vec<Each> = tanks.iter().map(each).collect::<Option<_>>()?;
        let here = || each.iter().zip(&own.plants).map(|(each, plants)| (each, f64::from(*plants)));
        let expected: f64 = here().map(|(each, plants)| plants * each.grams).sum();
        let share = |each: &Each, plants: f64| plants * each.grams / expected;
        // What all of the batch share is the same in each tank; what tanks and plants have alone evens out.
        let of_batch = here().map(|(each, plants)| share(each, plants) * each.shared).sum();
        let of_tanks: f64 = here().map(|(each, plants)| share(each, plants).powi(2) * each.tank).sum();
        let alone = |(each, plants): (&Each, f64)| {
            if plants > 0.0 {
                share(each, plants).powi(2) * (each.alone + OF_CHOICE.powi(2)) / plants
            } else {
                0.0
            }
        };
        let spread = (of_batch, of_tanks + own.variance() + here().map(alone).sum::<f64>());
        let Batch { site, crop, .. } = &plan.batches[batch];
        let (day, plants, grams) = (*day, own.all(), own.grams);
        Some((of, Weighing { site, crop, batch, day, plants, grams, expected, spread }))
    };
    records.iter().filter(|(_, own)| own.is_weighed()).filter_map(weighing).collect()
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
        let really = self.replay.sown.filter(|_| batch.origin.is_sown());
        let sown = really.map_or(batch.born(), |done| done.on);
        let days = |from: NaiveDate, to: NaiveDate| days_between(from, to).max(0) as u32;
        let moved = lot.moved()?;
        let (mut since, mut stand) = (moved, self.growing.planted(days(sown, moved)));
        let mut before = None;
        for event in lot.harvests().take_while(|event| event.day < at.day) {
            stand = self.growing.cut(self.growing.later(stand, days(since, event.day)));
            (since, before) = (event.day, Some(event.day));
        }
        let grams = self.growing.grams(self.growing.later(stand, days(since, at.day)));
        Some((days(before.unwrap_or(sown), at.day), grams, before.is_none()))
    }
}
