//! The best there could be if plants need not be whole, and what that says to the search.

#[cfg(test)]
mod tests;

use super::instance::{Day, Hint, Hints, Index, Instance, Network, Rhythms};
use super::model::{self, Col, Detail, FirstHarvest, Model, Relaxed};
use super::solve::{self, Goal, Optimum};
use super::watch::Watch;
use crate::domain::calendar::DateSpan;
use crate::domain::site::Site;
use crate::domain::term::{LONGEST_TERM, OneCropTanks, Rhythm, Term, WantedCrop, Weights};
use chrono::Datelike;

/// Solves the model with plants that need not be whole: the bound, and hints for the search. `None` if
/// the solver fails or planning was stopped.
pub(super) fn relax(net: &Network, instance: &Instance, watch: &Watch) -> Option<(Bound, Hints)> {
    if net.servings.is_empty() || (watch.stop)() {
        return None;
    }
    let (model, _) = model::model_within(net, Relaxed::Nothing, MOST_SOLVED);
    let optimum = solve::solve_unless(&model.program, Goal::Points, watch).ok()?;
    // The cheapest way is seldom longer on shortfall than it must be; only then a second program is needed.
    let least = if short(&model, &optimum) < 1.0 {
        0.0
    } else {
        solve::solve_unless(&model.program, Goal::Shortfall, watch).map_or(0.0, |least| least.bound)
    };
    let bound = Bound { points: optimum.bound.max(0.0), short_grams: least.max(0.0) };
    let hints = instance.rhythm.as_ref().and_then(|rhythms| steady(&model, instance, rhythms, watch));
    let plain = || Hints { harvests: harvests(&model, instance, &optimum), short: bound.short_grams };
    Some((bound, hints.unwrap_or_else(plain)))
}

/// Hints for sowings in a steady rhythm, if there is time for them.
fn steady(model: &Model, instance: &Instance, rhythms: &Rhythms, watch: &Watch) -> Option<Hints> {
    let model = model.in_rhythm(instance, rhythms);
    let optimum = solve::solve_unless(&model.program, Goal::Points, watch).ok()?;
    Some(Hints { harvests: harvests(&model, instance, &optimum), short: short(&model, &optimum) })
}

/// Grams short.
fn short(model: &Model, optimum: &Optimum) -> f64 {
    optimum.values.iter().zip(&model.program.columns).map(|(value, column)| value * column.short).sum()
}

fn harvests(model: &Model, instance: &Instance, optimum: &Optimum) -> Vec<Hint> {
    let planted = |flow: &FirstHarvest| hint(instance, flow, optimum.values[flow.col.0]);
    model.first_harvests.iter().filter_map(planted).collect()
}

/// What a first harvest of the linear program means for the search, unless it is next to nothing.
fn hint(instance: &Instance, flow: &FirstHarvest, plants: f64) -> Option<Hint> {
    let days = &instance.net.sites[flow.site].class_days;
    let index = |day: Day| days.partition_point(|other| *other < day) as Index;
    let candidate = instance.begun(flow.site, flow.crop, flow.start)?;
    (plants > 0.01).then(|| Hint { candidate, day: index(flow.day), pulled: flow.pulled, plants })
}

/// Nothing can cost less, or be shorter, than this.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bound {
    /// Points of the term's weights.
    pub points: f64,
    /// Grams short.
    pub short_grams: f64,
}

/// How large the planning model of a term is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ModelSize {
    /// Limits.
    pub rows: usize,
    /// Quantities to decide.
    pub columns: usize,
    /// Numbers other than nought in the rows.
    pub nonzeros: usize,
}

/// Counts the planning model of a term.
pub fn model_size(term: &Term) -> ModelSize {
    let program = model::model_within(&Network::new(term), Relaxed::Nothing, MOST_SOLVED).0.program;
    ModelSize { rows: program.rows.len(), columns: program.columns.len(), nonzeros: program.nonzeros() }
}

/// The best there could be if plants need not be whole; `None` if there is nothing to serve or the
/// solver fails.
pub fn bound(term: &Term) -> Option<Bound> {
    let net = Network::new(term);
    let watch = Watch { stop: &|| false, report: &|_| {}, threads: 2 };
    relax(&net, &Instance::new(&net), &watch).map(|(bound, _)| bound)
}

/// Grams short on each serving day of the best plan with plants that need not be whole, one limit
/// relaxed; `None` if the solver fails or is stopped.
pub(crate) fn relaxed_shortfalls(term: &Term, relaxed: Relaxed, watch: &Watch) -> Option<Vec<f64>> {
    let mut term = term.clone();
    match relaxed {
        Relaxed::OnlyIn => term.crops.iter_mut().for_each(|wanted| wanted.only_in.clear()),
        Relaxed::Endurance => {
            term.sites.iter_mut().for_each(|site| site.nursery.unattended_days = LONGEST_TERM);
        }
        Relaxed::DaysOff => {
            let days = DateSpan { first: term.start, last: term.end };
            term.sites.iter_mut().for_each(|site| meet_all_year(site, days));
        }
        _ => {}
    }
    // Where greens that are missing cost nothing, any day may be short, whatever is lifted.
    let (weights, usual) = (&mut term.rules.weights, Weights::default());
    for (price, usual) in [(&mut weights.short, usual.short), (&mut weights.very_short, usual.very_short)] {
        if *price <= 0.0 {
            *price = usual;
        }
    }
    let net = Network::new(&term);
    let model = model::model(&net, relaxed, Detail::Days, 0);
    let optimum = solve::solve_unless(&model.program, Goal::Points, watch).ok()?;
    let grams = |columns: &Vec<Col>| columns.iter().map(|col| optimum.values[col.0].max(0.0)).sum();
    Some(model.short.iter().map(grams).collect())
}

/// Lets class meet in breaks and closures as in any other week: on the weekdays on which it meets more than once.
fn meet_all_year(site: &mut Site, term: DateSpan) {
    let weekdays = site.usual_weekdays();
    let met = term.days().filter(|day| weekdays.contains(&day.weekday()));
    site.meet_also(met);
    site.days_off.clear();
}

/// Most columns of an exported model that tells plants apart exactly, and of one that we solve ourselves.
const MOST_EXPORTED: usize = 60_000;
const MOST_SOLVED: usize = 6_000;

/// The planning model as free MPS text, whole numbers marked, for any solver that reads it. A comment on top says what it
/// leaves out, so that it is a relaxation.
pub fn export_model(term: &Term) -> String {
    let net = Network::new(term);
    let (model, detail) = model::model_within(&net, Relaxed::Nothing, MOST_EXPORTED);
    let mut missing = left_out(term);
    if detail != Detail::All {
        missing.extend(["which of several equal tanks", "tasks of a batch beyond the fewest it can have"]);
    }
    if detail == Detail::Days {
        missing.push("ages of cut plants within a few days");
    }
    let comment = if missing.is_empty() {
        String::new()
    } else {
        format!("* A relaxation. Left out: {}.\n", missing.join("; "))
    };
    comment + &model.program.to_mps()
}

/// What a term asks for and no program knows of.
fn left_out(term: &Term) -> Vec<&'static str> {
    let rules = &term.rules;
    let ends =
        |wanted: &WantedCrop| wanted.crop.regrowth.as_ref().is_some_and(|regrowth| regrowth.until.is_some());
    let out = term.sites.iter().flat_map(|site| &site.tanks).any(|tank| !tank.out.is_empty());
    [
        (rules.clean_every.is_some(), "cleaning of tanks"),
        (rules.one_crop_tanks != OneCropTanks::No, "crops that share a tank"),
        (rules.rhythm != Rhythm::Free, "a steady rhythm"),
        (rules.weights.split > 0.0, "plants told apart in a tank"),
        (out, "tanks out of use"),
        (term.crops.iter().any(ends), "ages up to which cut plants are harvested again"),
    ]
    .into_iter()
    .filter_map(|(asked, what)| asked.then_some(what))
    .collect()
}
