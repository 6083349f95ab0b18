//! What the weeks of a term are served, by crop and way of harvesting.

use super::glance::{NOTICEABLE_SHARE, Ways, surplus_by_week};
use crate::domain::calendar::Week;
use crate::domain::ids::CropId;
use crate::domain::plan::{NOTICEABLE, Plan, Serving};
use crate::domain::term::Term;
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};

/// What one week is served. All masses are grams ready to eat.
#[derive(Debug, Clone, PartialEq)]
pub struct WeekSupply<'a> {
    /// The week.
    pub week: Week,
    /// Its serving days, by date; none in many breaks.
    pub servings: Vec<&'a Serving>,
    /// Grams that its serving days get from each crop.
    pub crops: BTreeMap<&'a CropId, Ways>,
    /// Grams harvested in this week that no serving day can use.
    pub surplus: f64,
    /// Share of a target that may be missing where it is called met.
    pub tolerance: f64,
}

impl WeekSupply<'_> {
    /// Grams wanted.
    pub fn target(&self) -> f64 {
        self.servings.iter().map(|serving| serving.target).sum()
    }

    /// Grams planned to be served.
    pub fn planned(&self) -> f64 {
        self.servings.iter().map(|serving| serving.planned).sum()
    }

    /// Serving days that are called short.
    pub fn short_days(&self) -> impl Iterator<Item = &Serving> {
        self.servings.iter().copied().filter(|serving| serving.is_short(self.tolerance))
    }

    /// Whether the surplus is worth a word.
    pub fn has_surplus(&self) -> bool {
        self.surplus >= NOTICEABLE.max(self.target() * NOTICEABLE_SHARE)
    }
}

/// Every week of the term, from the first to the last.
pub fn weeks<'a>(term: &Term, plan: &'a Plan) -> Vec<WeekSupply<'a>> {
    let served = served(plan);
    let surplus = surplus_by_week(plan);
    weeks_of(term)
        .map(|week| {
            let servings: Vec<&Serving> =
                plan.servings.iter().filter(|serving| Week::of(serving.date) == week).collect();
            let mut crops: BTreeMap<&CropId, Ways> = BTreeMap::new();
            for (crop, ways) in servings.iter().filter_map(|serving| served.get(&serving.date)).flatten() {
                add(crops.entry(crop).or_default(), *ways);
            }
            let surplus = surplus.get(&week).copied().unwrap_or(0.0);
            WeekSupply { week, servings, crops, surplus, tolerance: term.rules.tolerance }
        })
        .collect()
}

/// The weeks that a term touches.
pub fn weeks_of(term: &Term) -> impl Iterator<Item = Week> + use<> {
    let end = term.end;
    std::iter::successors(Some(Week::of(term.start)), |week| Some(week.next()))
        .take_while(move |week| week.monday() <= end)
}

/// Grams served in the whole term from each crop.
pub fn by_crop(plan: &Plan) -> BTreeMap<&CropId, Ways> {
    let mut crops: BTreeMap<&CropId, Ways> = BTreeMap::new();
    for (crop, ways) in served(plan).into_values().flatten() {
        add(crops.entry(crop).or_default(), ways);
    }
    crops
}

/// The crops of a plan's batches, in the order in which the term file lists them.
pub fn crops<'a>(term: &Term, plan: &'a Plan) -> Vec<&'a CropId> {
    let grown: BTreeSet<&CropId> = plan.batches.iter().map(|batch| &batch.crop).collect();
    let mut crops: Vec<&CropId> = grown.into_iter().collect();
    let place = |id: &CropId| term.crops.iter().position(|wanted| wanted.crop.id == *id);
    crops.sort_by_key(|crop| place(crop).unwrap_or(usize::MAX));
    crops
}

fn served(plan: &Plan) -> BTreeMap<NaiveDate, BTreeMap<&CropId, Ways>> {
    let mut days: BTreeMap<NaiveDate, BTreeMap<&CropId, Ways>> = BTreeMap::new();
    for batch in &plan.batches {
        for harvest in batch.parts.iter().flat_map(|part| &part.harvests) {
            for served in &harvest.serves {
                let ways = days.entry(served.date).or_default().entry(&batch.crop).or_default();
                if harvest.pulls_uncut() {
                    ways.whole_heads += served.grams;
                } else {
                    ways.cuts += served.grams;
                }
            }
        }
    }
    days
}

fn add(sum: &mut Ways, more: Ways) {
    sum.whole_heads += more.whole_heads;
    sum.cuts += more.cuts;
}
