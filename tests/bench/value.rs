//! What a plan serves and costs, for plans that do not come from the planner. The checker works all of it
//! out again, so a slip here shows.

use chrono::NaiveDate;
use sowtide::domain::calendar::{days_between, plus_days};
use sowtide::domain::ids::{CropId, SiteId, TankId};
use sowtide::domain::plan::{Batch, Facts, Harvest, Served, Serving};
use sowtide::domain::term::{ServingTarget, Term};
use std::collections::{BTreeMap, BTreeSet};

/// What a serving day has taken so far.
#[derive(Default)]
struct Plate {
    all: f64,
    by_crop: BTreeMap<CropId, f64>,
    by_tank: BTreeMap<(SiteId, TankId), f64>,
}

/// Gives out every harvest, day by day: first the kinds asked for, then what spoils first.
pub(crate) fn by_spoiling(term: &Term, batches: &mut [Batch]) {
    for serving in &term.servings {
        let mut plate = Plate::default();
        let portions = portions(term, batches, serving);
        pass(term, batches, serving, &mut plate, &|crop| portions.get(crop).copied().unwrap_or(0.0));
        pass(term, batches, serving, &mut plate, &|crop| {
            term.crop(crop).map_or(0.0, |wanted| wanted.at_most * serving.grams)
        });
    }
}

/// Grams each crop should have on the plate: its least share, and for the most plentiful crops what makes
/// them count as a kind.
fn portions(term: &Term, batches: &[Batch], serving: &ServingTarget) -> BTreeMap<CropId, f64> {
    let mut ready: BTreeMap<&CropId, f64> = BTreeMap::new();
    for batch in batches {
        let keeps = term.crop(&batch.crop).map_or(0, |wanted| wanted.crop.shelf_life.value);
        let harvests = batch.parts.iter().flat_map(|part| &part.harvests);
        let fresh = harvests.filter(|harvest| can_serve(harvest, keeps, serving.date));
        *ready.entry(&batch.crop).or_default() += fresh.map(Harvest::surplus).sum::<f64>();
    }
    let mut plenty: Vec<(&CropId, f64)> = ready.into_iter().collect();
    plenty.sort_by(|a, b| b.1.total_cmp(&a.1));
    let kinds = term.rules.kinds as usize;
    plenty
        .iter()
        .enumerate()
        .map(|(rank, (crop, _))| {
            let share = term.crop(crop).map_or(0.0, |wanted| wanted.at_least);
            let kind = if rank < kinds { term.rules.kind_from } else { 0.0 };
            ((*crop).clone(), share.max(kind) * serving.grams)
        })
        .collect()
}

fn can_serve(harvest: &Harvest, keeps: u32, day: NaiveDate) -> bool {
    harvest.date <= day && day <= plus_days(harvest.date, keeps)
}

/// Fills the plate with each crop up to its limit.
fn pass(
    term: &Term,
    batches: &mut [Batch],
    serving: &ServingTarget,
    plate: &mut Plate,
    limit: &dyn Fn(&CropId) -> f64,
) {
    let mut ready = Vec::new();
    for batch in batches {
        let Some(wanted) = term.crop(&batch.crop) else {
            continue;
        };
        let keeps = wanted.crop.shelf_life.value;
        let most = limit(&batch.crop).min(wanted.at_most * serving.grams);
        for part in &mut batch.parts {
            let tank = (batch.site.clone(), part.tank.clone());
            for harvest in &mut part.harvests {
                if can_serve(harvest, keeps, serving.date) {
                    let last = plus_days(harvest.date, keeps);
                    ready.push((last, batch.crop.clone(), tank.clone(), most, harvest));
                }
            }
        }
    }
    ready.sort_by_key(|(last, ..)| *last);
    for (_, crop, tank, most, harvest) in ready {
        let of_crop = plate.by_crop.entry(crop).or_default();
        let of_tank = plate.by_tank.entry(tank).or_default();
        let tank_limit = term.rules.one_tank_at_most * serving.grams;
        let grams =
            harvest.surplus().min(most - *of_crop).min(tank_limit - *of_tank).min(serving.grams - plate.all);
        if grams > 1e-6 {
            *of_crop += grams;
            *of_tank += grams;
            plate.all += grams;
            match harvest.serves.iter_mut().find(|served| served.date == serving.date) {
                Some(served) => served.grams += grams,
                None => harvest.serves.push(Served { date: serving.date, grams }),
            }
        }
    }
}

/// The totals of a plan in which nothing stood before the term.
pub(crate) fn facts(term: &Term, batches: &[Batch], servings: &[Serving]) -> Facts {
    let surplus_grams: f64 = batches
        .iter()
        .flat_map(|batch| &batch.parts)
        .flat_map(|part| &part.harvests)
        .map(Harvest::surplus)
        .sum();
    let weights = term.rules.weights;
    let plugs: f64 = batches.iter().map(|batch| f64::from(batch.plugs)).sum();
    let shortfall: f64 = servings.iter().map(|serving| shortfall(term, batches, serving)).sum();
    Facts {
        solver: "none".into(),
        cost: shortfall
            + weights.surplus * surplus_grams
            + weights.sowing * batches.len() as f64
            + weights.visit * visits(batches) as f64
            + weights.plug * plugs
            + weights.hole_day * hole_days(term, batches),
        cost_bound: None,
        short_grams: servings.iter().map(Serving::short).sum(),
        short_bound_grams: None,
        surplus_grams,
        effort: 0,
        seed: 0,
        seconds: 0.0,
        stopped: false,
    }
}

/// Points of a serving day: grams short, kinds missing, crops below their least share.
fn shortfall(term: &Term, batches: &[Batch], serving: &Serving) -> f64 {
    let (rules, weights) = (&term.rules, term.rules.weights);
    let served = |crop: &CropId| -> f64 {
        batches
            .iter()
            .filter(|batch| batch.crop == *crop)
            .flat_map(|batch| &batch.parts)
            .flat_map(|part| &part.harvests)
            .flat_map(|harvest| &harvest.serves)
            .filter(|served| served.date == serving.date)
            .map(|served| served.grams)
            .sum()
    };
    let portion = rules.kind_from * serving.target;
    let (mut counted, mut missing) = (Vec::new(), 0.0);
    for wanted in &term.crops {
        let grams = served(&wanted.crop.id);
        counted.push(grams.min(portion));
        missing += (wanted.at_least * serving.target - grams).max(0.0);
    }
    counted.sort_by(|a, b| b.total_cmp(a));
    let kinds: f64 = counted.iter().take(rules.kinds as usize).sum();
    missing += (portion * f64::from(rules.kinds) - kinds).max(0.0);
    let mild = serving.short().min(weights.mild_share * serving.target);
    weights.short * (mild + missing) + weights.very_short * (serving.short() - mild)
}

/// Class days, by site, with anything to do.
fn visits(batches: &[Batch]) -> usize {
    let mut days: BTreeSet<(&SiteId, NaiveDate)> = BTreeSet::new();
    for batch in batches {
        days.insert((&batch.site, batch.sown));
        for part in &batch.parts {
            days.insert((&batch.site, part.transplant));
            days.extend(part.harvests.iter().map(|harvest| (&batch.site, harvest.date)));
        }
    }
    days.len()
}

fn hole_days(term: &Term, batches: &[Batch]) -> f64 {
    let parts = batches.iter().flat_map(|batch| &batch.parts);
    parts
        .filter_map(|part| {
            let free = plus_days(part.leaves()?, term.rules.turnover_days);
            let holes = part.holes.len() + part.kept_empty.len();
            Some(holes as f64 * days_between(part.transplant, free) as f64)
        })
        .sum()
}
