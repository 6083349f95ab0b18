//! From a term to a plan, on floors: each knows only those below it.
//!
//! 1. `instance` lists every choice: what could be sown, moved and harvested, when, and what it yields and uses.
//! 2. `model` writes the choices as a linear program, one file a rule; `solve` finds its optimum with plants that need
//!    not be whole, and `certify` proves a `bound` from it that no plan can be better than.
//! 3. `supply` gives harvested greens to serving days, and `kitchen` any greens, for who asks what luck may bring.
//! 4. `under_way` tells a plan that is carried out already in terms of the instance.
//! 5. `holes` gives every plant a numbered hole for its whole stay.
//! 6. `search` finds whole plants in batches worth sowing.
//! 7. `decode` writes it all down as a [`Plan`].

mod bound;
mod certify;
mod decode;
mod hand_out;
mod holes;
mod instance;
mod kitchen;
mod model;
mod options;
mod search;
mod solve;
mod supply;
mod under_way;
mod watch;

use crate::domain::calendar::DateSpan;
use crate::domain::plan::{Facts, Plan};
use crate::domain::term::Term;
pub(crate) use bound::relaxed_shortfalls;
pub use bound::{Bound, ModelSize, bound, export_model, model_size};
use chrono::NaiveDate;
use instance::{Instance, Network, SiteNet, Stretches};
pub(crate) use kitchen::{Kitchen, Pot};
pub(crate) use model::Relaxed;
pub use options::{Options, ScheduleError};
use search::{Budget, Found, Going};
use std::collections::BTreeSet;
use under_way::Rest;
pub use under_way::UnderWay;
pub use watch::{Phase, Progress, Watch};

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
    let instance = Instance::new(&net);
    let (bound, hints) = bound::relax(&net, &instance, watch).unzip();
    begin(Phase::Search);
    let effort = options.effort.unwrap_or_else(|| search::usual_effort(&instance));
    let budget = Budget { effort, longer: options.effort.is_none(), until_stopped: options.until_stopped };
    let found = search::search(&instance, &hints.unwrap_or_default(), options.seed, &budget, watch)?;
    let mut plan = decode::decode(&instance, previous, options, &found);
    plan.number_tasks(previous, None);
    plan.facts = Facts {
        cost_bound: bound.map(|bound: Bound| bound.points),
        short_bound_grams: bound.map(|bound| bound.short_grams),
        solver: solve::BACKEND.to_owned(),
        effort,
        seed: options.seed,
        stopped: found.stopped,
        ..plan.facts
    };
    Ok(plan)
}

/// Thousands of steps that a search for a plan of a term takes where nobody asks for another number.
pub fn usual_effort(term: &Term) -> u64 {
    search::usual_effort(&Instance::new(&Network::new(term)))
}

/// Refuses terms that cannot be meant: the arithmetic of planning relies on what [`Term::faults`] finds.
fn refuse_unsound(term: &Term) -> Result<(), ScheduleError> {
    let faults = term.faults();
    if faults.is_empty() { Ok(()) } else { Err(ScheduleError::Unsound(faults)) }
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
        let instance = Instance::with(&net, &under_way::grown(&net, &plan), Some(&plan));
        let counted_on = under_way.known.servings.iter().map(|serving| (serving.date, serving.short()));
        let going = Going {
            rest: &Rest::new(&instance, &plan),
            known: &Rest::new(&instance, under_way.known),
            early: under_way::early(&instance, &UnderWay { plan: &plan, ..*under_way }),
            price: under_way.price,
            counted_on: counted_on.collect(),
            concerned: net.sites.iter().map(|site| under_way.concerned.contains(&site.site.id)).collect(),
            only_losses: under_way.only_losses,
        };
        let effort = options.effort.unwrap_or_else(|| search::usual_effort_again(&instance));
        let seed = options.seed;
        let write = |found: &Found| write(&instance, under_way, (options, effort), found);
        let left = write(&search::left(&instance, &going, seed, watch)?);
        // Tanks whose plants find no way to a harvest are empty sooner, and to be cleaned sooner.
        if left.lost_in_tanks() > plan.lost_in_tanks() {
            plan = left;
            continue;
        }
        let found = search::resume(&instance, &going, (seed, effort, options.until_stopped), watch)?;
        return Ok(Resumed { left, plan: write(&found) });
    }
}

/// Writes down a plan made anew.
fn write(
    instance: &Instance,
    under_way: &UnderWay,
    (options, effort): (&Options, u64),
    found: &Found,
) -> Plan {
    let mut plan = decode::decode(instance, Some(under_way.known), options, found);
    let solver = solve::BACKEND.to_owned();
    plan.facts = Facts { solver, effort, seed: options.seed, stopped: found.stopped, ..plan.facts };
    plan.replanned = Some(under_way.today);
    plan.sure = under_way.plan.sure;
    plan.number_tasks(Some(under_way.known), Some(under_way.today));
    plan.known = under_way.plan.known.clone();
    plan
}

/// By site, where every one is to have something to do: the stretches of class in which it could and that are not over on a
/// day.
pub(crate) fn turns(term: &Term, today: Option<NaiveDate>) -> Vec<Vec<DateSpan>> {
    let net = Network::since(term, today);
    let dates = |(site, stretches): (&SiteNet, Stretches)| {
        let date = |index: usize| net.date(site.class_days[index]);
        stretches
            .iter()
            .map(|days| DateSpan { first: date(*days.start()), last: date(*days.end()) })
            .collect()
    };
    net.sites.iter().zip(instance::turns(&net)).map(dates).collect()
}

/// Every day on which anything can be harvested at all, and the last day it keeps for.
pub(crate) fn earliest_harvests(term: &Term) -> Vec<(NaiveDate, NaiveDate)> {
    let net = Network::new(term);
    let instance = Instance::new(&net);
    let mut days = BTreeSet::new();
    for candidate in &instance.candidates {
        let site = &net.sites[candidate.site];
        let field = &site.fields[candidate.crop];
        let keeps = field.keeps(false).max(field.keeps(true));
        for day in candidate.pulls.clone().chain(candidate.cuts.clone()) {
            let first = site.class_days[usize::from(day)];
            days.insert((net.date(first), net.date(first + keeps)));
            // What is cut is harvested again.
            for again in instance.regrowths(candidate, day).filter(|_| candidate.cuts.contains(&day)) {
                let again = site.class_days[usize::from(again)];
                days.insert((net.date(again), net.date(again + keeps)));
            }
        }
    }
    days.into_iter().collect()
}
