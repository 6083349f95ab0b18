//! Why a serving day falls short, found by lifting one limit at a time.
//!
//! A day that no sowing can reach is too early, or lies behind days off. For the others the planning
//! model is solved again (with plants that need not be whole), once for each limit that can bind,
//! without that limit; the main reason is the limit whose lifting mends most of the day's shortfall.

use crate::domain::plan::{NOTICEABLE, Plan, Shortfall};
use crate::domain::site::Site;
use crate::domain::term::{Stage, Term};
use crate::schedule::{Relaxed, Watch, earliest_harvests, relaxed_shortfalls};

/// Below this share of the target a shortfall only comes from plants being whole.
const WHOLE_PLANTS: f64 = 0.002;
/// A limit is to blame if lifting it mends at least this share of the shortfall.
const MENDS: f64 = 0.2;
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
    let mut mended: Vec<Option<(f64, Shortfall)>> = vec![None; short.len()];
    for (relaxed, reason) in limits(&sample) {
        let Some(without) = (!(watch.stop)()).then(|| relaxed_shortfalls(&sample, relaxed, watch)).flatten()
        else {
            continue;
        };
        for &index in &open {
            let mends = short[index] - without[index];
            if mends > MENDS * short[index] && mended[index].is_none_or(|(most, _)| mends > most + 1.0) {
                mended[index] = Some((mends, reason));
            }
        }
    }
    for index in open {
        let serving = &mut plan.servings[index];
        // Where plants that need not be whole would nearly suffice, the limits are not to blame.
        if short[index] / share < 0.3 * serving.short() {
            continue;
        }
        serving.shortfall = Some(mended[index].map_or_else(|| reach.timing(index), |(_, reason)| reason));
    }
}

/// Limits of a term that can bind at all, with what to call them.
fn limits(term: &Term) -> Vec<(Relaxed, Shortfall)> {
    let limited_hands = |site: &Site| site.minutes_a_day.is_some() || site.sowings_a_day.is_some();
    let choosy =
        term.rules.kinds > 0 || term.crops.iter().any(|wanted| wanted.at_most < 1.0 || wanted.at_least > 0.0);
    let away = term.sites.iter().any(|site| !site.absences().is_empty());
    [
        // Before holes: where there are enough of them elsewhere, this is the reason.
        (Relaxed::OnlyIn, Shortfall::OnlyIn, term.crops.iter().any(|wanted| !wanted.only_in.is_empty())),
        (Relaxed::Holes, Shortfall::Holes, true),
        (Relaxed::Nursery, Shortfall::Nursery, true),
        (Relaxed::Hands, Shortfall::Hands, term.sites.iter().any(limited_hands)),
        (Relaxed::Crops, Shortfall::Crops, choosy),
        (Relaxed::OneTank, Shortfall::OneTank, term.rules.one_tank_at_most < 1.0),
        (Relaxed::Water, Shortfall::Water, away),
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
