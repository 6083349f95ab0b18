//! Why serving days are as they are: what they are made of, and what would mend those that fall short; how full a week is; why a
//! batch has its dates.

mod batch;
mod harvests;
mod week;

pub use batch::of_batch;
pub use week::of_week;

use super::reasons;
use crate::domain::calendar::DateSpan;
use crate::domain::explain::{DayExplained, Portion};
use crate::domain::odds::Odds;
use crate::domain::plan::{Plan, Serving, Shortfall};
use crate::domain::term::Term;
use crate::schedule::Watch;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Explains the serving days in a stretch; without one, every day that falls short or is less sure than promised.
pub fn explain(
    term: &Term,
    plan: &Plan,
    odds: &Odds,
    wanted: Option<DateSpan>,
    watch: &Watch,
) -> Vec<DayExplained> {
    let odds_of = |day: NaiveDate| odds.days.iter().find(|odds| odds.date == day).copied();
    let is_short = |serving: &Serving| serving.is_short(term.rules.tolerance);
    let amiss = |serving: &Serving| {
        is_short(serving) || odds_of(serving.date).is_some_and(|odds| odds.breaks_promise())
    };
    let own = |serving: &Serving| serving.date <= term.own_end();
    let asked = |serving: &&Serving| match wanted {
        Some(days) => days.contains(serving.date),
        None => own(serving) && amiss(serving),
    };
    let days: Vec<&Serving> = plan.servings.iter().filter(asked).collect();
    let any_short = days.iter().any(|serving| is_short(serving));
    let mends = if any_short { reasons::mends(term, watch) } else { Some(BTreeMap::new()) };
    let of_day = |serving: &Serving| {
        let mends = mends.as_ref()?.get(&serving.date).filter(|_| is_short(serving));
        // More than all that is missing cannot be mended.
        let capped = |(limit, grams): &(Shortfall, f64)| (*limit, grams.min(serving.short()));
        Some(mends.into_iter().flatten().map(capped).collect())
    };
    let one = |serving: &Serving| DayExplained {
        date: serving.date,
        target: serving.target,
        planned: serving.planned,
        reason: serving.shortfall,
        mends: of_day(serving),
        portions: portions(plan, serving.date),
        odds: odds_of(serving.date),
    };
    days.into_iter().map(one).collect()
}

fn portions(plan: &Plan, day: NaiveDate) -> Vec<Portion> {
    let mut all: Vec<Portion> = Vec::new();
    for (batch, part) in
        plan.batches.iter().flat_map(|batch| batch.parts.iter().map(move |part| (batch, part)))
    {
        for harvest in &part.harvests {
            let served = harvest.serves.iter().filter(|served| served.date == day);
            let portion = Portion {
                batch: batch.id.clone(),
                crop: batch.crop.clone(),
                site: batch.site.clone(),
                tank: part.tank.clone(),
                harvested: harvest.date,
                way: harvest.way,
                plants: part.plants,
                grams: served.map(|served| served.grams).sum(),
            };
            if portion.grams > 0.0 {
                add(&mut all, portion);
            }
        }
    }
    all.sort_by(|one, other| other.grams.total_cmp(&one.grams));
    all
}

/// Adds a portion to those that are harvested in one go with it, if there are any.
fn add(all: &mut Vec<Portion>, new: Portion) {
    let together = |other: &&mut Portion| {
        (&other.batch, &other.tank, other.harvested, other.way)
            == (&new.batch, &new.tank, new.harvested, new.way)
    };
    match all.iter_mut().find(together) {
        Some(portion) => {
            portion.plants += new.plants;
            portion.grams += new.grams;
        }
        None => all.push(new),
    }
}
