//! The totals of the plan: grams short and left over, and what the plan costs.

use super::mixing;
use super::promise;
use super::rhythm;
use super::servings::grams_by_crop;
use super::subject::{Known, KnownPart, Subject};
use super::turns;
use super::violation::{Findings, Rule, Violation, count, unlike};
use super::{GRAMS, exceeds};
use crate::domain::calendar::{days_between, plus_days};
use crate::domain::growth::Way;
use crate::domain::ids::{SiteId, TankId};
use crate::domain::plan::Part;
use crate::domain::term::ServingTarget;
use crate::domain::variety::{self, Lacking};
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};

/// What the plan costs, in words.
const COST: &str = "points the plan costs";

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    // Where names lead nowhere, nothing can be added up; they are reported on their own.
    let all_known = subject.batches.len() == subject.plan.batches.len()
        && subject.parts().all(|(known, part)| part.room(known).is_some());
    if !all_known {
        return;
    }
    let facts = &subject.plan.facts;
    let short: f64 = subject.term.servings.iter().map(|day| short_on(subject, day)).sum();
    let surplus = surplus(subject);
    let work = work(subject);
    let idle = turns::idle(subject, &work);
    let of_idle = subject.term.rules.idle_price() * f64::from(idle);
    let cost = cost(subject, surplus, work.len()) + of_idle;
    let lacking: f64 = subject.term.servings.iter().map(|day| lacking(subject, day)).sum();
    let of_lacking = subject.term.rules.weights.short * lacking;
    let sure = subject.term.sure();
    let spare: u64 = subject.batches.iter().map(|known| known.spare_plugs(sure)).sum();
    // Each serving day and harvest may have been rounded.
    let lines = subject.term.servings.len() + harvests(subject);
    let slack = GRAMS * (1.0 + lines as f64);
    let totals = [
        ("grams short in all", facts.short_grams, short, slack),
        ("grams of surplus in all", facts.surplus_grams, surplus, slack),
        (COST, facts.cost, cost, GRAMS + cost.abs() * 1e-6 + spare as f64 * subject.term.rules.weights.plug),
    ];
    for (what, listed, right, slack) in totals {
        if exceeds((listed - right).abs(), 0.0, slack) {
            let uncounted =
                |points: f64| what == COST && !exceeds((listed + points - right).abs(), 0.0, slack);
            let of_them = if lacking > GRAMS && uncounted(of_lacking) {
                let days = count(days_lacking(subject), "day");
                format!("; {of_lacking:.2} of them are for kinds and least shares that are missing on {days}")
            } else if idle > 0 && uncounted(of_idle) {
                format!(
                    "; {of_idle:.2} of them are for stretches of class in which a site has nothing to do, {idle} in all"
                )
            } else if what == COST {
                "; if rules or prices have changed since, plan again".to_owned()
            } else {
                String::new()
            };
            let [right, listed] = unlike(right, listed);
            let message = format!("the {what} should be {right}, not {listed}{of_them}");
            found.push(Violation::new(Rule::Totals, message));
        }
    }
    bounds(subject, [(short, totals[0].3), (cost, totals[2].3)], found);
}

fn days_lacking(subject: &Subject<'_>) -> u32 {
    let lacks = |day: &&Lacking| day.kinds_missing > 0 || !day.below_share.is_empty();
    variety::lacking(subject.term, subject.plan).values().filter(lacks).count() as u32
}

/// A bound is what no plan can undercut, so that this one cannot either. Grams short and points, each with its slack.
fn bounds(subject: &Subject<'_>, [short, cost]: [(f64, f64); 2], found: &mut Findings) {
    let facts = &subject.plan.facts;
    let bounds = [
        ("short-bound-grams", "grams short", facts.short_bound_grams, short),
        ("cost-bound", "points", facts.cost_bound, cost),
    ];
    for (key, what, bound, (reached, slack)) in bounds {
        let Some(bound) = bound.filter(|bound| exceeds(*bound, reached, slack)) else { continue };
        let [bound, reached] = unlike(bound, reached);
        let message = format!(
            "no plan is said to come below {bound} {what}, but this one comes to {reached}; correct \"{key}:\", or \
             take that line out"
        );
        found.push(Violation::new(Rule::Bounds, message));
    }
}

fn harvests(subject: &Subject<'_>) -> usize {
    subject.parts().map(|(_, part)| part.part.harvests.len()).sum()
}

fn short_on(subject: &Subject<'_>, serving: &ServingTarget) -> f64 {
    let served: f64 = grams_by_crop(subject, serving.date).values().sum();
    (serving.grams - served).max(0.0)
}

fn surplus(subject: &Subject<'_>) -> f64 {
    subject
        .parts()
        .flat_map(|(_, part)| &part.part.harvests)
        .map(|harvest| {
            let served: f64 = harvest.serves.iter().map(|served| served.grams).sum();
            (harvest.grams - served).max(0.0)
        })
        .sum()
}

/// What the plan costs, but for stretches of class in which a site has nothing to do.
fn cost(subject: &Subject<'_>, surplus: f64, visits: usize) -> f64 {
    let weights = subject.term.rules.weights;
    let shortfall: f64 =
        subject.term.servings.iter().map(|serving| cost_of_shortfall(subject, serving)).sum();
    let new = || subject.batches.iter().filter(|known| !known.batch.is_standing());
    let price = |known: &Known<'_>| if known.batch.origin.is_sown() { weights.plug } else { weights.bought };
    let plugs: f64 = new().map(|known| price(known) * f64::from(known.batch.plugs)).sum();
    shortfall
        + promise::points(subject)
        + weights.surplus * surplus
        + weights.sowing * new().count() as f64
        + weights.visit * visits as f64
        + plugs
        + chores(subject)
        + subject.term.rules.mixed_price() * mixing::further(subject) as f64
        + subject.term.rules.series_price() * rhythm::begun(subject) as f64
        + weights.split * splits(subject) as f64
        + weights.overmature * overmature(subject)
        + weights.hole_day * hole_days(subject)
        + storing(subject)
}

/// What the tasks cost that a class has with plants: each task, each further tank, and each plant missing to a handful, of
/// those that are pulled as of those that are cut.
fn chores(subject: &Subject<'_>) -> f64 {
    let rules = &subject.term.rules;
    let weights = rules.weights;
    let of_batch = |known: &Known<'_>| {
        let mut tasks: BTreeMap<(bool, NaiveDate), BTreeSet<&TankId>> = BTreeMap::new();
        let mut handfuls: BTreeMap<(&TankId, NaiveDate, Option<Way>), u64> = BTreeMap::new();
        for part in &known.parts {
            let moved = part.is_transplanted().then_some((part.part.transplant, None));
            let harvested = part.part.harvests.iter().map(|harvest| (harvest.date, Some(harvest.way)));
            for (date, way) in moved.into_iter().chain(harvested) {
                tasks.entry((way.is_some(), date)).or_default().insert(&part.part.tank);
                *handfuls.entry((&part.part.tank, date, way)).or_default() += u64::from(part.part.plants);
            }
        }
        let further: usize = tasks.values().map(|tanks| tanks.len().saturating_sub(1)).sum();
        let missing: u64 = handfuls
            .iter()
            .map(|((tank, ..), plants)| handful(subject, known, tank).saturating_sub(*plants))
            .sum();
        weights.task * tasks.len() as f64
            + weights.further_tank * further as f64
            + weights.scant * missing as f64
    };
    subject.batches.iter().map(of_batch).sum()
}

/// Plants of a batch that make a handful in a tank, where not even so many have room.
fn handful(subject: &Subject<'_>, known: &Known<'_>, tank: &TankId) -> u64 {
    let mut parts = known.parts.iter().filter(|part| part.part.tank == *tank);
    let room = parts.find_map(|part| Some(part.tank?.lid.spots(part.room(known)?).len()));
    room.map_or(0, |places| places as u64).min(u64::from(subject.term.rules.handful))
}

/// Parts of a batch in a tank beyond the first there, which are moved or harvested otherwise than the rest.
fn splits(subject: &Subject<'_>) -> usize {
    let of_batch = |known: &Known<'_>| {
        let mut ways: BTreeMap<&TankId, BTreeSet<(NaiveDate, Vec<NaiveDate>)>> = BTreeMap::new();
        for Part { tank, transplant, harvests, .. } in
            known.parts.iter().map(|part| part.part).filter(|part| part.lost.is_none())
        {
            let days = harvests.iter().map(|harvest| harvest.date).collect();
            ways.entry(tank).or_default().insert((*transplant, days));
        }
        ways.values().map(|ways| ways.len() - 1).sum::<usize>()
    };
    subject.batches.iter().map(of_batch).sum()
}

/// Days that plants never cut stand beyond their prime.
fn overmature(subject: &Subject<'_>) -> f64 {
    let late = |(known, KnownPart { part, .. }): (&Known<'_>, &KnownPart<'_>)| {
        let pulled = part.harvests.iter().find(|harvest| harvest.pulls_uncut())?.date;
        let age = days_between(known.batch.born(), pulled);
        Some(f64::from(part.plants) * (age - known.figures().prime()?).max(0) as f64)
    };
    subject.parts().filter_map(late).sum()
}

/// What greens cost that wait between harvest and serving: the first days little, those beyond freshness more.
fn storing(subject: &Subject<'_>) -> f64 {
    let rules = &subject.term.rules;
    let fresh = i64::from(rules.fresh_days);
    let harvests = subject.parts().flat_map(|(_, part)| &part.part.harvests);
    harvests
        .flat_map(|harvest| harvest.serves.iter().map(move |served| (harvest.date, served)))
        .map(|(cut, served)| {
            let days = days_between(cut, served.date).max(0);
            let (first, more) = (days.min(fresh), (days - fresh).max(0));
            served.grams * (rules.weights.stored * first as f64 + rules.weights.stale * more as f64)
        })
        .sum()
}

/// Grams below the target, kinds that are missing and crops that fall below their share.
fn cost_of_shortfall(subject: &Subject<'_>, serving: &ServingTarget) -> f64 {
    let weights = subject.term.rules.weights;
    let short = short_on(subject, serving);
    let mild = weights.mild_share * serving.grams;
    weights.short * (short.min(mild) + lacking(subject, serving))
        + weights.very_short * (short - mild).max(0.0)
}

/// Grams that kinds and least shares lack, which cost as much as grams that are a little short.
fn lacking(subject: &Subject<'_>, serving: &ServingTarget) -> f64 {
    let rules = &subject.term.rules;
    let by_crop = grams_by_crop(subject, serving.date);
    let kind = rules.kind_from * serving.grams;
    // The crops of which there is most are the kinds.
    let mut counted: Vec<f64> = by_crop.values().map(|grams| grams.clamp(0.0, kind)).collect();
    counted.sort_by(|a, b| b.total_cmp(a));
    let kinds_missing: f64 =
        (0..rules.kinds as usize).map(|number| kind - counted.get(number).copied().unwrap_or(0.0)).sum();
    let below_share: f64 = subject
        .term
        .crops
        .iter()
        .map(|wanted| {
            let served = by_crop.get(&wanted.crop.id).copied().unwrap_or(0.0);
            (wanted.at_least * serving.grams - served).max(0.0)
        })
        .sum();
    kinds_missing + below_share
}

/// Class days, counted for each site, with anything to sow, transplant or harvest.
fn work<'s>(subject: &'s Subject<'_>) -> BTreeSet<(&'s SiteId, NaiveDate)> {
    let mut days: BTreeSet<(&SiteId, NaiveDate)> = BTreeSet::new();
    for known in &subject.batches {
        let sown = (!known.batch.is_standing()).then_some(known.batch.sown);
        let transplanted =
            known.parts.iter().filter(|part| part.is_transplanted()).map(|part| part.part.transplant);
        let harvested =
            known.parts.iter().flat_map(|part| part.part.harvests.iter().map(|harvest| harvest.date));
        days.extend(
            sown.into_iter()
                .chain(transplanted)
                .chain(harvested)
                .filter(|day| subject.in_term(*day))
                .map(|day| (&known.site.id, day)),
        );
    }
    days
}

/// Holes taken, times days from transplanting (or the start) until the hole can be used again.
fn hole_days(subject: &Subject<'_>) -> f64 {
    let planted = subject.parts().filter(|(_, part)| !part.part.lost_in_nursery());
    planted
        .filter_map(|(known, part)| {
            let holes = f64::from(part.room(known)?.holes()) * f64::from(part.part.plants);
            let free = plus_days(part.part.leaves()?, subject.term.rules.turnover_days);
            let from = part.part.transplant.max(subject.term.start);
            Some(holes * days_between(from, free) as f64)
        })
        .sum()
}
