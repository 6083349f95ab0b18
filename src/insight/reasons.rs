//! Why a serving day falls short, found by lifting one limit at a time.
//!
//! A day that no sowing can reach is too early, or lies behind days off. For the others the planning
//! model is solved again (with plants that need not be whole), once for each limit that can bind,
//! without that limit; the main reason is, of the limits whose lifting mends about as much of the day's shortfall as any, the one
//! that is the least to ask for. Only where none of them mends much, days off are lifted, too.

use super::side_by_side::side_by_side;
use crate::domain::plan::{NOTICEABLE, Plan, Shortfall};
use crate::domain::site::Site;
use crate::domain::term::{Stage, Term};
use crate::schedule::{Relaxed, Watch, earliest_harvests, relaxed_shortfalls};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Below this share of the target a shortfall only comes from plants being whole.
const WHOLE_PLANTS: f64 = 0.002;
/// A limit is to blame if lifting it mends at least this share of the shortfall.
const MENDS: f64 = 0.2;
/// Limits whose lifting mends this share of what any limit's does mend about as much.
const AS_MUCH: f64 = 0.8;
/// Sites a large term is judged by; the reasons are the same with more, and come later.
const SITES_LOOKED_AT: usize = 6;

/// Fills in the main reason of every short serving day.
pub fn explain(term: &Term, plan: &mut Plan, watch: &Watch) {
    for serving in &mut plan.servings {
        serving.shortfall = (serving.short() >= NOTICEABLE).then_some(Shortfall::Search);
    }
    let reach = Reach::new(term);
    let mut open = Vec::new();
    for (index, serving) in plan.servings.iter_mut().enumerate() {
        if serving.shortfall.is_none() || serving.short() < WHOLE_PLANTS * serving.target {
            continue;
        }
        match reach.reason(index) {
            Some(reason) => serving.shortfall = Some(reason),
            None => open.push(index),
        }
    }
    if open.is_empty() || (watch.stop)() {
        return;
    }
    let (sample, share) = sample(term);
    let Some(short) = relaxed_shortfalls(&sample, Relaxed::Nothing, watch) else {
        return;
    };
    let limits = limits(&sample);
    let without = without_each(&sample, &limits, watch);
    let mends = |without: &[f64], index: usize| short[index] - without[index];
    let main = |index: usize| {
        let each = || without.iter().map(|(without, reason)| (mends(without, index), *reason));
        let most = each().map(|(grams, _)| grams).fold(0.0, f64::max);
        let much = |(grams, _): &(f64, Shortfall)| *grams >= AS_MUCH * most;
        each().find(much).filter(|_| most > MENDS * short[index]).map(|(_, reason)| reason)
    };
    // Where plants that need not be whole would nearly suffice, the limits are not to blame.
    open.retain(|index| short[*index] / share >= 0.3 * plan.servings[*index].short());
    let mut unexplained = Vec::new();
    for index in open {
        match main(index) {
            Some(reason) => plan.servings[index].shortfall = Some(reason),
            None => unexplained.push(index),
        }
    }
    let days_off = (!unexplained.is_empty() && !(watch.stop)())
        .then(|| relaxed_shortfalls(&sample, Relaxed::DaysOff, watch))
        .flatten();
    for index in unexplained {
        let helps = days_off.as_ref().is_some_and(|without| mends(without, index) > MENDS * short[index]);
        plan.servings[index].shortfall = Some(if helps { Shortfall::DaysOff } else { reach.timing(index) });
    }
}

/// For each serving day, limits that mend something if nothing but the one is lifted, with the grams it mends, most first: with
/// plants that need not be whole, as if all of the term were still to come. `None` if there was no time for all of it.
pub(super) fn mends(term: &Term, watch: &Watch) -> Option<BTreeMap<NaiveDate, Vec<(Shortfall, f64)>>> {
    let (sample, share) = sample(term);
    let short = relaxed_shortfalls(&sample, Relaxed::Nothing, watch)?;
    let mut limits = limits(&sample);
    limits.push((Relaxed::DaysOff, Shortfall::DaysOff));
    let without = without_each(&sample, &limits, watch);
    if without.len() < limits.len() {
        return None;
    }
    let of_day = |(index, day): (usize, NaiveDate)| {
        let each = without.iter().map(|(without, limit)| (*limit, (short[index] - without[index]) / share));
        let mut each: Vec<(Shortfall, f64)> = each.filter(|(_, grams)| *grams >= NOTICEABLE).collect();
        each.sort_by(|one, other| other.1.total_cmp(&one.1));
        (day, each)
    };
    Some(term.servings.iter().map(|serving| serving.date).enumerate().map(of_day).collect())
}

/// Grams short without each of the limits, as far as there is time to find out.
fn without_each(term: &Term, limits: &[(Relaxed, Shortfall)], watch: &Watch) -> Vec<(Vec<f64>, Shortfall)> {
    let stop = watch.stop;
    let one = |(relaxed, reason): &(Relaxed, Shortfall)| {
        let watch = Watch { stop, report: &|_| {}, threads: 1 };
        let short = (!stop()).then(|| relaxed_shortfalls(term, *relaxed, &watch)).flatten()?;
        Some((short, *reason))
    };
    side_by_side(limits, watch.threads, one).into_iter().flatten().collect()
}

/// The first serving day for which the usual crops can be ready, by its place among them.
pub(super) fn first_usual_serving(term: &Term) -> usize {
    Reach::new(term).early.min(term.servings.len())
}

/// Limits of a term that can bind at all, with what to call them; what is the least to ask for first.
fn limits(term: &Term) -> Vec<(Relaxed, Shortfall)> {
    let limited_hands = |site: &Site| site.minutes_a_day.is_some() || site.sowings_a_day.is_some();
    let choosy =
        term.rules.kinds > 0 || term.crops.iter().any(|wanted| wanted.at_most < 1.0 || wanted.at_least > 0.0);
    let away = term.sites.iter().any(|site| !site.absences().is_empty());
    [
        (Relaxed::OnlyIn, Shortfall::OnlyIn, term.crops.iter().any(|wanted| !wanted.only_in.is_empty())),
        (Relaxed::Endurance, Shortfall::Unattended, away),
        (Relaxed::Water, Shortfall::Water, away),
        (Relaxed::OneTank, Shortfall::OneTank, term.rules.one_tank_at_most < 1.0),
        (Relaxed::Crops, Shortfall::Crops, choosy),
        (Relaxed::Hands, Shortfall::Hands, term.sites.iter().any(limited_hands)),
        (Relaxed::Nursery, Shortfall::Nursery, true),
        (Relaxed::Holes, Shortfall::Holes, true),
    ]
    .into_iter()
    .filter(|(_, _, binds)| *binds)
    .map(|(relaxed, reason, _)| (relaxed, reason))
    .collect()
}

/// The term, or a large term's part with a fair share of the target; and that share.
fn sample(term: &Term) -> (Term, f64) {
    let mut sample = term.clone();
    if term.sites.len() <= SITES_LOOKED_AT {
        return (sample, 1.0);
    }
    let every = term.sites.len().div_ceil(SITES_LOOKED_AT);
    sample.sites = term.sites.iter().step_by(every).cloned().collect();
    sample.standing.retain(|standing| sample.sites.iter().any(|site| site.id == standing.site));
    let holes = |sites: &[Site]| -> f64 {
        sites.iter().flat_map(|site| &site.tanks).map(|tank| f64::from(tank.lid.holes())).sum()
    };
    let share = holes(&sample.sites) / holes(&term.sites);
    for serving in &mut sample.servings {
        serving.grams *= share;
    }
    // A tank carries a larger share of the smaller target.
    sample.rules.one_tank_at_most = (sample.rules.one_tank_at_most / share).min(1.0);
    (sample, share)
}

/// Which serving days any sowing can reach.
struct Reach {
    /// By serving: whether anything can be harvested for it.
    reached: Vec<bool>,
    /// First serving that anything can be harvested for.
    first: usize,
    /// Servings so early that only the quickest crops reach them.
    early: usize,
    /// Whether nothing can be raised anywhere, as nobody looks after seedlings.
    unattended: bool,
}

impl Reach {
    fn new(term: &Term) -> Self {
        let harvests = earliest_harvests(term);
        let reached: Vec<bool> = term
            .servings
            .iter()
            .map(|serving| harvests.iter().any(|(day, keeps)| *day <= serving.date && serving.date <= *keeps))
            .collect();
        let first = reached.iter().position(|reached| *reached).unwrap_or(reached.len());
        let standing = term.standing.iter().any(|standing| standing.stage != Stage::Nursery);
        let usual = term
            .crops
            .iter()
            .filter_map(|wanted| wanted.crop.whole_head.as_ref().or(wanted.crop.first_cut.as_ref()))
            .map(|days| u64::from(days.value.usual))
            .min()
            .unwrap_or(0);
        let grown = term.start.checked_add_days(chrono::Days::new(usual + 7)).unwrap_or(term.start);
        let early = term.servings.partition_point(|serving| serving.date < grown);
        let unattended = harvests.is_empty() && term.sites.iter().all(Site::raises_nothing);
        Self { reached, first, early: if standing { first } else { early.max(first) }, unattended }
    }

    /// The reason, for a day nothing can be harvested for.
    fn reason(&self, index: usize) -> Option<Shortfall> {
        let late = match (self.unattended, index < self.first) {
            (true, _) => Shortfall::Unattended,
            (false, true) => Shortfall::TooEarly,
            (false, false) => Shortfall::DaysOff,
        };
        (!self.reached[index]).then_some(late)
    }

    /// The reason, for a day that no single limit is to blame for.
    fn timing(&self, index: usize) -> Shortfall {
        if index < self.early { Shortfall::TooEarly } else { Shortfall::Together }
    }
}
