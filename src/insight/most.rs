//! The largest target that sites can sustain on every serving day alike.
//!
//! How much the sites could bring at most if plants need not be whole and no day had to be like another bounds it from above;
//! then the interval is halved, with a plan for each target tried, until it is narrow enough. A target is sustained if the plan
//! made for it misses nothing beyond what the term tolerates and keeps what days are promised when the term is played.

use super::odds::{Luck, odds};
use super::reasons::first_usual_serving;
use crate::domain::most::Most;
use crate::domain::odds::DayOdds;
use crate::domain::term::Term;
use crate::schedule::{self, Options, Relaxed, ScheduleError, Watch, relaxed_shortfalls};

/// Times the interval is halved: it is then a fiftieth of what plants in fractions could bring.
const HALVED: u32 = 6;
/// Share of the usual steps of a search that each plan gets.
const SHARE: u64 = 2;

/// Finds out how much each serving day could get. `None` if there is no serving day, or no time to work out a first plan.
///
/// # Errors
/// If the term cannot be planned at all.
pub fn most(
    term: &Term,
    options: &Options,
    luck: Luck,
    watch: &Watch,
) -> Result<Option<Most>, ScheduleError> {
    let first = first_usual_serving(term);
    let (early, counted) = term.servings.split_at(first);
    let sure = counted.iter().map(|serving| serving.sure).fold(0.0, f64::max);
    let mut found = Most {
        grams: 0.0,
        days: counted.iter().map(|serving| serving.date).collect(),
        too_early: early.iter().map(|serving| serving.date).collect(),
        sure,
        least_sure: None,
        tried: 0,
        stopped: false,
    };
    let Some(mut high) = at_most(term, first, watch) else { return Ok(None) };
    // How long a search takes does not depend on the target.
    let effort = options.effort.or_else(|| Some(schedule::usual_effort(term) / SHARE));
    // A time limit is for all plans together.
    let options = Options { effort, until_stopped: false, ..options.clone() };
    for _ in 0..HALVED {
        let grams = f64::midpoint(found.grams, high);
        let even = even(term, first, grams);
        let plan = schedule::plan(&even, None, &options, watch)?;
        if (watch.stop)() {
            found.stopped = true;
            break;
        }
        found.tried += 1;
        let odds = odds(&even, &plan, None, luck);
        let short = plan.servings.iter().any(|serving| serving.is_short(term.rules.tolerance));
        if short || odds.days.iter().any(DayOdds::breaks_promise) {
            high = grams;
        } else {
            found.grams = grams;
            let least =
                odds.days.iter().min_by(|one, other| one.reached.share.total_cmp(&other.reached.share));
            found.least_sure = least.copied();
        }
    }
    Ok((found.tried > 0).then_some(found))
}

/// The term with the same target on every serving day from one on, and none before.
fn even(term: &Term, first: usize, grams: f64) -> Term {
    let mut term = term.clone();
    term.servings.drain(..first);
    term.servings.iter_mut().for_each(|serving| serving.grams = grams);
    term
}

/// More than any day alike can get: what plants in fractions could bring in all, by serving day.
fn at_most(term: &Term, first: usize, watch: &Watch) -> Option<f64> {
    let days = term.servings.len().checked_sub(first).filter(|days| *days > 0)? as f64;
    // A kilogram a plant and day is more than anything grows to.
    let holes: u32 = term.sites.iter().flat_map(|site| &site.tanks).map(|tank| tank.lid.holes()).sum();
    let more = 1000.0 * f64::from(holes);
    let short = relaxed_shortfalls(&even(term, first, more), Relaxed::Nothing, watch)?;
    Some((more * days - short.iter().sum::<f64>()).max(0.0) / days)
}
