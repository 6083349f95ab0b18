//! What one thing more would bring: a tank, a class day, another crop. Each change is tried by planning the whole term anew with
//! it, and the plan is played with luck; what counts is by how much less is missing then.
//!
//! A search finds another plan from every beginning, so that the term as it is is searched three times: a change that brings no more
//! than these differ is of no use that could be told from luck.

mod ideas;

use super::odds::{Luck, odds};
use super::side_by_side::side_by_side;
use crate::domain::crop::Crop;
use crate::domain::term::Term;
use crate::domain::whatif::{Outcome, Tried, WhatIf};
use crate::schedule::{self, Options, Phase, Progress, ScheduleError, Watch};
use std::sync::atomic::{AtomicUsize, Ordering};

/// Share of the usual steps of a search that each plan gets.
const SHARE: u64 = 3;

/// Tries what could be changed. `library` has the crops there are besides those of the term. `None` if there was no time to plan
/// the term as it is.
///
/// # Errors
/// If the term cannot be planned at all.
pub fn what_if<'c>(
    term: &Term,
    library: impl Iterator<Item = &'c Crop>,
    options: &Options,
    luck: Luck,
    watch: &Watch,
) -> Result<Option<WhatIf>, ScheduleError> {
    let ideas = ideas::ideas(term, library);
    let effort = options.effort.or_else(|| Some((schedule::usual_effort(term) / SHARE).max(1)));
    let seeds = [0, 1, 2].map(|more| options.seed.wrapping_add(more));
    let trial = Trial {
        // A time limit is for all trials together.
        options: Options { effort, until_stopped: false, ..options.clone() },
        luck: Luck { threads: 1, ..luck },
        watch,
        trials: seeds.len() + ideas.len(),
        done: AtomicUsize::new(0),
    };
    let as_is = side_by_side(&seeds, watch.threads, |seed| trial.outcome(term, *seed));
    let as_is: Option<Vec<Outcome>> = as_is.into_iter().collect::<Result<_, _>>()?;
    let Some(mut as_is) = as_is else { return Ok(None) };
    as_is.sort_by(|one, other| one.missing.total_cmp(&other.missing));
    let [least, middle, most] = as_is[..] else { return Ok(None) };
    let found = side_by_side(&ideas, watch.threads, |(_, term)| trial.outcome(term, options.seed));
    let (mut tried, mut untried) = (Vec::new(), Vec::new());
    for ((idea, _), outcome) in ideas.into_iter().zip(found) {
        match outcome {
            Ok(Some(outcome)) => tried.push(Tried { idea, outcome }),
            Ok(None) => untried.push(idea),
            // What makes the term impossible to plan is no idea.
            Err(_) => {}
        }
    }
    tried.sort_by(|one, other| one.outcome.missing.total_cmp(&other.outcome.missing));
    Ok(Some(WhatIf {
        days: term.servings.len() as u32,
        as_is: middle,
        luck: most.missing - least.missing,
        tried,
        untried,
    }))
}

/// How each change is tried.
struct Trial<'a, 'w> {
    options: Options,
    luck: Luck,
    watch: &'a Watch<'w>,
    /// Plans to make, and those that are made.
    trials: usize,
    done: AtomicUsize,
}

impl Trial<'_, '_> {
    /// What becomes of a term; `None` once time is up.
    fn outcome(&self, term: &Term, seed: u64) -> Result<Option<Outcome>, ScheduleError> {
        let stop = self.watch.stop;
        let watch = Watch { stop, report: &|_| {}, threads: 1 };
        if stop() {
            return Ok(None);
        }
        let plan = schedule::plan(term, None, &Options { seed, ..self.options.clone() }, &watch)?;
        // What was stopped on its way cannot be compared.
        if stop() {
            return Ok(None);
        }
        let odds = odds(term, &plan, None, self.luck);
        let done = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        let done = done as f64 / self.trials as f64;
        (self.watch.report)(Progress { phase: Phase::Search, done, short_grams: None, points: None });
        let shares = || odds.days.iter().map(|day| day.reached.share);
        Ok(Some(Outcome {
            missing: odds.short_grams,
            met: plan.servings.iter().filter(|serving| !serving.is_short(term.rules.tolerance)).count()
                as u32,
            sure: shares().sum::<f64>() / odds.days.len().max(1) as f64,
            least_sure: shares().fold(1.0, f64::min),
        }))
    }
}
