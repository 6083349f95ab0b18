//! What people judge by eye: batches that are behind.

use super::scales::{OF_WEIGHING, Records, Weighing};
use crate::domain::calendar::days_between;
use crate::domain::crop::Crop;
use crate::domain::growth::Growing;
use crate::domain::ids::BatchId;
use crate::domain::journal::{Journal, What};
use crate::domain::luck::{Pacing, Spread};
use crate::domain::plan::{Batch, Harvest, Part, Plan};
use crate::domain::site::Site;
use crate::domain::term::Term;
use crate::domain::weighed::FACTORS;
use crate::replan::replay::heard;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Standard deviation of days judged by eye, as a share of them (from memory).
pub(in crate::replan) const OF_EYE: f64 = 0.25;

/// A batch that is behind, as somebody judged it last.
#[derive(Debug, Clone, Copy)]
pub(in crate::replan) struct Behind {
    /// Its place in the plan.
    pub(in crate::replan) batch: usize,
    pub(in crate::replan) day: NaiveDate,
    pub(in crate::replan) days: u32,
}

/// Batches that are behind, but for those of which something was weighed since: scales know better than eyes.
pub(in crate::replan) fn behind(
    plan: &Plan,
    journal: &Journal,
    records: &Records,
    today: NaiveDate,
) -> Vec<Behind> {
    let mut last: BTreeMap<&BatchId, Behind> = BTreeMap::new();
    for entry in heard(plan, journal, today) {
        let What::Behind { batch: id, days } = &entry.what else { continue };
        if let Some(batch) = plan.batches.iter().position(|batch| batch.id == *id) {
            last.insert(id, Behind { batch, day: entry.day, days: *days });
        }
    }
    let weighed_since =
        |id: &BatchId, own: &Behind| records.keys().any(|(other, _, day, _)| other == id && *day >= own.day);
    last.into_iter().filter(|(id, own)| !weighed_since(id, own)).map(|(_, own)| own).collect()
}

/// What batches that are behind will weigh at their next harvests, as if that had been weighed. The later a harvest, the less of its mass a
/// day makes.
pub(super) fn sightings<'a>(term: &'a Term, plan: &'a Plan, behind: &[Behind]) -> Vec<Weighing<'a>> {
    behind.iter().filter_map(|own| sighting(term, &plan.batches[own.batch], *own)).collect()
}

/// The first harvest of plants after a day.
pub(super) fn next_harvest(part: &Part, day: NaiveDate) -> Option<&Harvest> {
    part.harvests.iter().find(|harvest| harvest.date > day)
}

fn sighting<'a>(term: &'a Term, batch: &'a Batch, own: Behind) -> Option<Weighing<'a>> {
    let crop: &Crop = &term.crop(&batch.crop)?.crop;
    let site: &Site = term.site(&batch.site)?;
    let stated = site.as_stated(&crop.id);
    let growing = Growing::at(crop, stated.pace, stated.yield_factor, site.nursery.cell_cm);
    let (mut expected, mut grams, mut of_batch) = (0.0, 0.0, 0.0);
    for part in &batch.parts {
        let Some(next) = next_harvest(part, own.day) else { continue };
        let days = next.arithmetic.days.max(1);
        let is_first = next.number == 1 && part.cuts_before == 0;
        let pacing = Pacing::new(&growing, (days, is_first), next.arithmetic.standing_grams);
        expected += next.grams;
        grams += next.grams * pacing.share(f64::from(own.days) / f64::from(days));
        of_batch = Spread::of(crop, batch.origin).batch(&pacing).1;
    }
    let share = (grams / expected).max(*FACTORS.start());
    let variance = (OF_EYE * share.ln()).powi(2) + OF_WEIGHING.powi(2);
    (expected > 0.0).then_some(Weighing {
        site: &batch.site,
        crop: &batch.crop,
        batch: own.batch,
        day: own.day,
        plants: 0,
        grams: share,
        expected: 1.0,
        spread: (of_batch, variance),
    })
}

/// By how much the pace of a batch that is behind differs from what it should be, as a logarithm; `None` where it is as far behind as
/// it is old.
pub(in crate::replan) fn pace(batch: &Batch, own: Behind) -> Option<f64> {
    let age = days_between(batch.born(), own.day);
    let grown = age - i64::from(own.days);
    (grown > 0).then(|| (age as f64 / grown as f64).ln())
}
