//! Why a site has nothing to do, found by asking what could be done there, and then once more without one limit after
//! another.

use crate::domain::calendar::DateSpan;
use crate::domain::idle::{Idle, WhyIdle};
use crate::domain::plan::{Plan, Serving};
use crate::domain::site::Site;
use crate::domain::tasks::tasks;
use crate::domain::term::{LONGEST_TERM, SowWish, Term, WantedCrop};
use crate::domain::variety::lacking;
use crate::schedule::{earliest_harvests, turns};
use chrono::NaiveDate;

/// Every site that has nothing to do in the whole term, and every stretch of class in which one has nothing to do though the
/// rules ask for it and it could; and why.
pub fn idle(term: &Term, plan: &Plan) -> Vec<Idle> {
    let tasks = tasks(term, plan);
    let of_site = |(site, turns): (&Site, Vec<DateSpan>)| {
        let id = &site.id;
        let work: Vec<NaiveDate> =
            tasks.iter().filter(|task| task.batch.site == *id).map(|task| task.date).collect();
        if work.is_empty() {
            return vec![Idle { site: id.clone(), stretch: None, why: why(term, plan, site) }];
        }
        let idle = turns.into_iter().filter(|turn| !work.iter().any(|day| turn.contains(*day)));
        idle.map(|turn| Idle { site: id.clone(), stretch: Some(turn), why: WhyIdle::Search }).collect()
    };
    term.sites.iter().zip(turns(term, plan.replanned)).flat_map(of_site).collect()
}

fn why(term: &Term, plan: &Plan, site: &Site) -> WhyIdle {
    let mut alone = Term { sites: vec![site.clone()], ..term.clone() };
    let served = served(&alone);
    if !served.is_empty() {
        let short = short(term, plan);
        if !term.crops.iter().any(|wanted| holds_a_batch(term, site, wanted)) {
            return WhyIdle::SmallestBatch;
        }
        let needed = term.rules.every_site || served.iter().any(|day| short.contains(day));
        return if needed { WhyIdle::Search } else { WhyIdle::NotNeeded };
    }
    alone.crops.iter_mut().for_each(|wanted| wanted.only_in.clear());
    if !self::served(&alone).is_empty() {
        return WhyIdle::OnlyIn;
    }
    alone.sites[0].nursery.unattended_days = LONGEST_TERM;
    if !self::served(&alone).is_empty() {
        return WhyIdle::Unattended;
    }
    let fits = |wanted: &WantedCrop| {
        let crop = &wanted.crop;
        let spacing = crop.spacing.value.cm();
        site.tanks.iter().any(|tank| crop.tolerates(tank.ph, tank.ec) && tank.lid.has_place(spacing))
    };
    if term.crops.iter().any(fits) { WhyIdle::Time } else { WhyIdle::Room }
}

/// Whether a smallest batch of a crop finds room in the tanks of a site, and its plugs in the nursery if they need it.
fn holds_a_batch(term: &Term, site: &Site, wanted: &WantedCrop) -> bool {
    let smallest = term.rules.smallest_batch;
    let bought = term.arrivals.iter().any(|arrival| arrival.crop == wanted.crop.id);
    let needs_cells = wanted.sow == SowWish::Nursery && !bought;
    let cells = !needs_cells || wanted.crop.plugs_for(smallest, term.sure()) <= site.nursery.cells;
    cells && wanted.places_at(site, DateSpan { first: term.start, last: term.end }) >= smallest as usize
}

/// Serving days that anything could be harvested for.
fn served(term: &Term) -> Vec<NaiveDate> {
    let harvests = earliest_harvests(term);
    let days = term.servings.iter().map(|serving| serving.date);
    days.filter(|day| harvests.iter().any(|(first, last)| first <= day && day <= last)).collect()
}

/// Serving days that lack grams, kinds or shares.
fn short(term: &Term, plan: &Plan) -> Vec<NaiveDate> {
    let lacking = lacking(term, plan);
    let lacks = |day: &NaiveDate| {
        lacking.get(day).is_some_and(|day| day.kinds_missing > 0 || !day.below_share.is_empty())
    };
    let is_short = |serving: &Serving| serving.is_short(term.rules.tolerance) || lacks(&serving.date);
    let short = plan.servings.iter().filter(|serving| is_short(serving));
    short.map(|serving| serving.date).collect()
}
