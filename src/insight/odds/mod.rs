//! How sure a plan is: the term is played many times, with seeds that do not come up, plants that die, slow batches and tanks
//! in trouble. Nobody in it knows the future: a class does what the plan says with what there is.
//!
//! What is drawn is told at [`crate::domain::luck`].
//!
//! A class has three freedoms: spare seedlings fill free holes of the tank that the last of their batch go to, and are pulled with
//! the others; heads that are plainly too small wait for the next class day, if that is soon enough for the same serving day and
//! nobody needs their holes; and greens are served as they come, day by day, within the limits of the term.

mod later;
mod play;
mod setting;
mod spares;
mod stays;

use super::side_by_side::side_by_side;
use crate::domain::ids::BatchId;
use crate::domain::luck::Trouble;
use crate::domain::odds::{Chance, DayOdds, NEARLY, Odds};
use crate::domain::plan::{Plan, is_short};
use crate::domain::state::Tray;
use crate::domain::term::{ServingTarget, Term};
use chrono::NaiveDate;
use play::{Played, play};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use setting::Setting;
use std::collections::BTreeMap;

/// How often a term is played, and with what luck.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Luck {
    /// Terms to play, at least 1.
    pub runs: u32,
    /// Seed of the random numbers.
    pub seed: u64,
    /// Threads to play on. The odds do not depend on it.
    pub threads: usize,
    /// What befalls tanks.
    pub trouble: Trouble,
}

/// How far a term is.
#[derive(Debug, Clone, PartialEq)]
pub struct SoFar {
    /// The first day that is still to come. What lies before went as the plan says.
    pub today: NaiveDate,
    /// What stands in the nursery, by batch.
    pub trays: BTreeMap<BatchId, Tray>,
}

/// Plays the rest of a term from a day on; the whole term without one.
pub fn odds(term: &Term, plan: &Plan, so_far: Option<&SoFar>, luck: Luck) -> Odds {
    let setting = Setting::new(term, plan, so_far, luck.trouble);
    let today = so_far.map(|so_far| so_far.today);
    let runs: Vec<u32> = (0..luck.runs.max(1)).collect();
    let played: Vec<Played> = side_by_side(&runs, luck.threads, |run| {
        let mut rng = ChaCha8Rng::seed_from_u64(luck.seed);
        rng.set_stream(u64::from(*run));
        play(&setting, &mut rng)
    });
    sum_up(term, plan, today, &played, luck.seed)
}

fn sum_up(term: &Term, plan: &Plan, today: Option<NaiveDate>, played: &[Played], seed: u64) -> Odds {
    let runs = played.len() as u32;
    let wanted = term.servings.iter().enumerate();
    let open: Vec<(usize, &ServingTarget)> = wanted
        .filter(|(_, serving)| serving.date <= term.own_end() && today.is_none_or(|day| serving.date >= day))
        .collect();
    let planned = |date: NaiveDate| {
        plan.servings.iter().find(|serving| serving.date == date).map_or(0.0, |serving| serving.planned)
    };
    let reaches = |run: &Played, (at, serving): &(usize, &ServingTarget)| {
        !is_short(serving.grams, run.served[*at], term.rules.tolerance)
    };
    let mean = |of: &dyn Fn(&Played) -> f64| played.iter().map(of).sum::<f64>() / f64::from(runs.max(1));
    let count =
        |of: &dyn Fn(&Played) -> bool| Chance::of(played.iter().filter(|run| of(run)).count() as u32, runs);
    let day = |day: &(usize, &ServingTarget)| {
        let (at, serving) = *day;
        let mut grams: Vec<f64> = played.iter().map(|run| run.served[at]).collect();
        grams.sort_by(f64::total_cmp);
        DayOdds {
            date: serving.date,
            target: serving.grams,
            planned: planned(serving.date),
            sure: serving.sure,
            missing: if serving.sure > 0.0 {
                let least = (1.0 - term.rules.tolerance) * serving.grams;
                (least - quantile(&grams, 1.0 - serving.sure)).max(0.0)
            } else {
                0.0
            },
            mean: mean(&|run| run.served[at]),
            low: quantile(&grams, 0.1),
            high: quantile(&grams, 0.9),
            reached: count(&|run| reaches(run, day)),
            nearly: count(&|run| run.served[at] >= NEARLY * serving.grams),
        }
    };
    let short =
        |run: &Played| -> f64 { open.iter().map(|(at, day)| (day.grams - run.served[*at]).max(0.0)).sum() };
    Odds {
        runs,
        seed,
        days: open.iter().map(day).collect(),
        every_day: count(&|run| open.iter().all(|day| reaches(run, day))),
        short_grams: mean(&short),
        surplus_grams: mean(&|run| run.surplus),
        empty_places: mean(&|run| f64::from(run.empty_places)),
        spare_seedlings: mean(&|run| f64::from(run.spare_seedlings)),
    }
}

/// The value below which a share of sorted ones lies, between two of them in a straight line (R. J. Hyndman and Y. Fan,
/// The American Statistician 50, 1996, pp. 361-365, definition 7).
fn quantile(sorted: &[f64], share: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else { return 0.0 };
    let at = share * last as f64;
    let (below, above) = (at.floor() as usize, at.ceil() as usize);
    sorted[below] + (at - at.floor()) * (sorted[above] - sorted[below])
}
