//! Weighed harvests that nobody would have expected.

use super::outlook;
use super::scales::{Weighing, records, weighings};
use crate::domain::journal::{Entry, Journal, What};
use crate::domain::plan::Plan;
use crate::domain::term::Term;
use crate::domain::weighed::FACTORS;
use crate::replan::effects::OF_MASS;
use chrono::NaiveDate;

/// Standard deviations beyond which a mass is worth a word: one honest harvest in a hundred lies there.
const SURPRISING: f64 = 2.6;

/// The grams that were to be expected of a harvest, by figures and by what was weighed before, if what was recorded is more than so many
/// standard deviations away. `None` of harvests that cannot be meant at all, which [`outlook`] tells. Of the journals, the first is
/// without the entry.
#[must_use]
pub fn surprise(
    (term, plan): (&Term, &Plan),
    [before, after]: [&Journal; 2],
    entry: &Entry,
    today: NaiveDate,
) -> Option<f64> {
    let What::Harvested(harvested) = &entry.what else { return None };
    let (batch, grams) = (&harvested.batch, harvested.grams);
    let told = Journal::new(vec![Entry { replaces: None, ..entry.clone() }]);
    let mut alone = records(plan, &told, today);
    alone.retain(|(id, ..), _| id == batch);
    let weighed = weighings(term, plan, after, &alone, today);
    let weighing = weighed.first().filter(|own| FACTORS.contains(&(own.grams / own.expected)))?;
    let outlook = outlook(term, plan, before, today);
    let planned = &plan.batches[weighing.batch];
    let expected = weighing.expected * outlook.factor(planned);
    let is_known = outlook.of(planned).is_some_and(|own| own.plants > 0);
    let away = (grams / expected).ln().abs();
    (harvested.plants() > 0 && away > SURPRISING * deviation(weighing, is_known)).then_some(expected)
}

/// Standard deviation of what a harvest weighs, as a logarithm: less where harvests of the crop were weighed at its site.
fn deviation(weighing: &Weighing<'_>, is_known: bool) -> f64 {
    let (batch, noise) = weighing.spread;
    let of_place = if is_known { 0.0 } else { OF_MASS.iter().map(|own| own.powi(2)).sum::<f64>() };
    (batch.powi(2) + noise + of_place).sqrt()
}
