//! From a term to a plan.
//!
//! 1. `network` lists every choice: what could be sown, moved and harvested, and when.
//! 2. `rules` writes the choices as a linear program, one file a rule; `solve` finds its optimum with
//!    plants that need not be whole. No plan can be better, so this is the bound.
//! 3. `search` finds whole plants in batches worth sowing.
//! 4. `holes` gives every plant a numbered hole for its whole stay.
//! 5. `decode` writes it all down as a [`Plan`].

mod candidate;
mod cleaning;
mod decode;
mod ground;
mod holes;
mod network;
mod path;
mod program;
mod rest;
mod rules;
mod search;
mod solve;
mod starts;

use crate::domain::ids::BatchId;
use crate::domain::plan::{Facts, Plan};
use crate::domain::term::Term;
use chrono::{DateTime, NaiveDate, Utc};
use ground::Ground;
use network::Network;
use rest::Rest;
use rules::Ages;
pub(crate) use rules::Lifted;
use search::{Found, Going, Hints};
use solve::Goal;
use std::collections::BTreeSet;
use std::fmt;
use std::sync::Arc;

/// What a plan is made with, apart from the term.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Options {
    /// Seed of the search's random numbers; the same seed and effort give the same plan.
    pub seed: u64,
    /// Thousands of steps the search takes; by default a number that suits the term's size.
    pub effort: Option<u64>,
    /// Identity of the term's plans, kept from the first one on.
    pub term_id: String,
    /// The moment the plan is made.
    pub made: DateTime<Utc>,
}

/// How planning is watched and ended early.
pub struct Watch<'a> {
    /// Asked often; once it says yes, the best plan so far is returned.
    pub stop: &'a (dyn Fn() -> bool + Sync),
    /// Told how far planning is.
    pub report: &'a (dyn Fn(Progress) + Sync),
    /// Threads to work on, at least 1. How many makes no difference to a plan, but where there is only one, a linear
    /// program at work cannot be ended early.
    pub threads: usize,
}

/// How far planning is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// What is being done.
    pub phase: Phase,
    /// Share of the phase that is done, 0 to 1.
    pub done: f64,
    /// Grams short in the best plan so far.
    pub short_grams: Option<f64>,
    /// Points the best plan so far costs.
    pub points: Option<f64>,
}

/// What planning is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Phase {
    /// Working out how good a plan can be at best.
    Bound,
    /// Looking for the plan.
    Search,
    /// Giving every plant its hole.
    Holes,
}

impl fmt::Display for Phase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Bound => "working out what is possible",
            Self::Search => "trying out sowings",
            Self::Holes => "giving every plant its hole",
        })
    }
}

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ScheduleError {
    /// Plants that already stand find no way to a harvest.
    #[error(
        "{plants} of the plants of batch {batch}, which already stand at the start, cannot be kept until a harvest: \
         no class day, hole or water is left for them, or their tank would not be cleaned in time. Harvest them before the term, or take them out of \
         `standing` in term.yaml"
    )]
    Standing {
        /// Their batch.
        batch: BatchId,
        /// How many find no way.
        plants: u32,
    },
    /// The term cannot be meant; readers of term files rule that out.
    #[error("this term cannot be planned: {}", .0.join("; "))]
    Unsound(Vec<String>),
}

/// Makes a plan for the term. Batches that `previous` also had, the same crop sown on the same day at the same
/// site, keep their ids, and their tasks their numbers.
///
/// # Errors
/// If plants that already stand at the start cannot be kept until a harvest, or the term cannot be meant. A target that cannot
/// be met is no error: the plan then says how short it falls.
pub fn plan(
    term: &Term,
    previous: Option<&Plan>,
    options: &Options,
    watch: &Watch,
) -> Result<Plan, ScheduleError> {
    refuse_unsound(term)?;
    let net = Network::new(term);
    let begin = |phase| (watch.report)(Progress { phase, done: 0.0, short_grams: None, points: None });
    begin(Phase::Bound);
    let ground = Ground::new(&net);
    let (bound, hints) = relax(&net, &ground, watch).unzip();
    begin(Phase::Search);
    let effort = options.effort.unwrap_or_else(|| search::usual_effort(&ground));
    let found = search::search(&ground, &hints.unwrap_or_default(), options.seed, effort, watch)?;
    let mut plan = decode::decode(&ground, previous, options, &found);
    plan.number_tasks(previous, None);
    plan.facts = Facts {
        cost_bound: bound.map(|bound: Bound| bound.points.min(found.points)),
        short_bound_grams: bound.map(|bound| bound.short_grams.min(plan.facts.short_grams)),
        solver: solve::BACKEND.to_owned(),
        effort,
        seed: options.seed,
        stopped: found.stopped,
        ..plan.facts
    };
    Ok(plan)
}

/// Refuses terms that cannot be meant: the arithmetic of planning relies on what [`Term::faults`] finds.
fn refuse_unsound(term: &Term) -> Result<(), ScheduleError> {
    let faults = term.faults();
    if faults.is_empty() { Ok(()) } else { Err(ScheduleError::Unsound(faults)) }
}

/// A plan under way, to be made anew from a day on.
#[derive(Debug, Clone, Copy)]
pub struct UnderWay<'a> {
    /// The plan as it stands: what was lost is lost.
    pub plan: &'a Plan,
    /// The plan people have in their calendars.
    pub known: &'a Plan,
    /// The first day that can still be planned.
    pub today: NaiveDate,
    /// Points for a task that changes against what people have in their calendars.
    pub price: f64,
}

/// A plan made anew.
#[derive(Debug, Clone, PartialEq)]
pub struct Resumed {
    /// What becomes of the old plan if only that is changed which cannot be.
    pub left: Plan,
    /// The new plan.
    pub plan: Plan,
}

/// Makes a plan anew from a day on. What is past stays as it is, what grows keeps its holes.
///
/// # Errors
/// If plants that stand in a tank cannot stay there, which the readers and the checker rule out.
pub fn resume(
    term: &Term,
    under_way: &UnderWay,
    options: &Options,
    watch: &Watch,
) -> Result<Resumed, ScheduleError> {
    refuse_unsound(term)?;
    let net = Network::since(term, Some(under_way.today));
    (watch.report)(Progress { phase: Phase::Search, done: 0.0, short_grams: None, points: None });
    let mut plan = under_way.plan.clone();
    loop {
        let ground = Ground::with(&net, &rest::grown(&net, &plan), Some(&plan));
        let going = Going {
            rest: &Rest::new(&ground, &plan),
            known: &Rest::new(&ground, under_way.known),
            early: rest::early(&ground, &UnderWay { plan: &plan, ..*under_way }),
            price: under_way.price,
        };
        let effort = options.effort.unwrap_or_else(|| search::usual_effort_again(&ground));
        let (seed, hints) = (options.seed, Hints::default());
        let write = |found: &Found| write(&ground, under_way, (options, effort), found);
        let left = write(&search::left(&ground, &hints, &going, seed, watch)?);
        // Tanks whose plants find no way to a harvest are empty sooner, and to be cleaned sooner.
        if left.lost_in_tanks() > plan.lost_in_tanks() {
            plan = left;
            continue;
        }
        let found = search::resume(&ground, &hints, &going, (seed, effort), watch)?;
        return Ok(Resumed { left, plan: write(&found) });
    }
}

/// Writes down a plan made anew.
fn write(ground: &Ground, under_way: &UnderWay, (options, effort): (&Options, u64), found: &Found) -> Plan {
    let mut plan = decode::decode(ground, Some(under_way.known), options, found);
    let solver = solve::BACKEND.to_owned();
    plan.facts = Facts { solver, effort, seed: options.seed, stopped: found.stopped, ..plan.facts };
    plan.replanned = Some(under_way.today);
    plan.number_tasks(Some(under_way.known), Some(under_way.today));
    plan.known = under_way.plan.known.clone();
    plan
}

/// Solves the model with plants that need not be whole: the bound, and hints for the search. `None` if
/// the solver fails or planning was stopped.
fn relax(net: &Network, ground: &Ground, watch: &Watch) -> Option<(Bound, Hints)> {
    if net.servings.is_empty() || (watch.stop)() {
        return None;
    }
    let (model, _) = rules::model_within(net, Lifted::Nothing, MOST_SOLVED);
    let program = Arc::new(model.program);
    let relaxed = solve::relax_unless(&program, Goal::Points, watch).ok()?;
    let planted = |flow: &rules::FirstHarvest| ground.hint(flow, relaxed.values[flow.col.0]);
    let harvests = model.first_harvests.iter().filter_map(planted).collect();
    let short: f64 =
        relaxed.values.iter().zip(&program.columns).map(|(value, column)| value * column.short).sum();
    // The cheapest way is seldom longer on shortfall than it must be; only then a second program is needed.
    let least =
        if short < 1.0 { 0.0 } else { solve::relax_unless(&program, Goal::Shortfall, watch).ok()?.value };
    Some((
        Bound { points: relaxed.value, short_grams: least.max(0.0) },
        Hints { harvests, scarce: least >= 1.0 },
    ))
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
    let program = rules::model_within(&Network::new(term), Lifted::Nothing, MOST_SOLVED).0.program;
    ModelSize { rows: program.rows.len(), columns: program.columns.len(), nonzeros: program.nonzeros() }
}

/// The best there could be if plants need not be whole; `None` if there is nothing to serve or the
/// solver fails.
pub fn bound(term: &Term) -> Option<Bound> {
    let net = Network::new(term);
    let watch = Watch { stop: &|| false, report: &|_| {}, threads: 2 };
    relax(&net, &Ground::new(&net), &watch).map(|(bound, _)| bound)
}

/// Grams short on each serving day of the best plan with plants that need not be whole, one limit
/// lifted; `None` if the solver fails or is stopped.
pub(crate) fn relaxed_shortfalls(term: &Term, lifted: Lifted, watch: &Watch) -> Option<Vec<f64>> {
    let mut term = term.clone();
    if lifted == Lifted::OnlyIn {
        term.crops.iter_mut().for_each(|wanted| wanted.only_in.clear());
    }
    let net = Network::new(&term);
    let model = rules::model(&net, lifted, Ages::Rounded);
    let relaxed = solve::relax_unless(&Arc::new(model.program), Goal::Points, watch).ok()?;
    let grams = |columns: &Vec<program::Col>| columns.iter().map(|col| relaxed.values[col.0].max(0.0)).sum();
    Some(model.short.iter().map(grams).collect())
}

/// Every day on which anything can be harvested at all, and the last day it keeps for.
pub(crate) fn earliest_harvests(term: &Term) -> Vec<(NaiveDate, NaiveDate)> {
    let net = Network::new(term);
    let ground = Ground::new(&net);
    let mut days = BTreeSet::new();
    for candidate in &ground.candidates {
        let site = &net.sites[candidate.site];
        let field = &site.fields[candidate.crop];
        let keeps = field.keeps(false).max(field.keeps(true));
        for day in candidate.pulls.clone().chain(candidate.cuts.clone()) {
            let first = site.class_days[usize::from(day)];
            days.insert((net.date(first), net.date(first + keeps)));
            // What is cut is harvested again.
            for again in ground.regrowths(candidate, day).filter(|_| candidate.cuts.contains(&day)) {
                let again = site.class_days[usize::from(again)];
                days.insert((net.date(again), net.date(again + keeps)));
            }
        }
    }
    days.into_iter().collect()
}

/// Most columns of an exported model that tells plants apart exactly, and of one that we solve ourselves.
const MOST_EXPORTED: usize = 60_000;
const MOST_SOLVED: usize = 6_000;

/// The planning model as free MPS text, whole numbers marked, for any solver that reads it. A comment on top says if it
/// had to round the ages of plants, and so is a relaxation.
pub fn export_model(term: &Term) -> String {
    let net = Network::new(term);
    let (model, exact) = rules::model_within(&net, Lifted::Nothing, MOST_EXPORTED);
    let text = model.program.to_mps();
    if exact {
        return text;
    }
    format!("* A relaxation: ages of plants are rounded up to whole days, in their favour.\n{text}")
}
