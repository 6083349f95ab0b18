//! The search's long step: a few batches are taken out, and what is then short is sown anew, one
//! best handful after the other.
//!
//! Single handfuls seldom get rid of a whole batch, because its greens are missed until others have
//! grown by as much (ruin and recreate; G. Schrimpf and others, Journal of Computational Physics 159,
//! 2000, pp. 139-171).

use super::super::instance::Path;
use super::change::Change;
use super::draw::some_batch;
use super::home::go_home;
use super::moves::{Servings, needed, needy};
use super::paths::{Wish, random};
use super::series::surplus;
use super::state::State;
use rand::Rng;
use rand::seq::IteratorRandom;

/// Handfuls looked at before the best one is planted.
const LOOKS: usize = 10;
/// Handfuls planted at most.
const HANDFULS: usize = 8;
/// While sowings may be out of rhythm, how often what is so is taken out, and how often other batches with it.
const EVENED: f64 = 0.5;
const OTHERS_TOO: f64 = 0.5;
/// When a plan is made anew, how often a batch goes back to what was planned instead of being taken out.
const HOME: f64 = 0.5;

/// Takes some batches out or back to what was planned, fills the gaps, and keeps the result if it costs at most `most` points more.
pub(super) fn rebuild(state: &mut State, servings: &Servings, most: f64, rng: &mut impl Rng) {
    let before = state.judged();
    let mut done: Vec<Change> = Vec::new();
    if state.may_be_uneven() && rng.random_bool(EVENED) {
        even_one_out(state, &mut done, rng);
    }
    if done.is_empty() || rng.random_bool(OTHERS_TOO) {
        take_out(state, &mut done, rng);
    }
    if done.is_empty() {
        return;
    }
    let mut idle = 0;
    for _ in 0..HANDFULS {
        if idle > 1 || state.needs().sum::<f64>() < 1.0 {
            break;
        }
        let best = needy(state, rng).and_then(|serving| best_handful(state, servings, serving, rng));
        match best {
            Some(change) if state.attempt(&[change], |_| true) => done.push(change),
            _ => idle += 1,
        }
    }
    if state.judged() - before > most {
        let back: Vec<Change> = done.iter().rev().map(Change::reverse).collect();
        state.attempt(&back, |_| true);
    }
}

/// Takes out one to three batches, or takes them back to what was planned; the further ones grow at the same time as the first.
fn take_out(state: &mut State, done: &mut Vec<Change>, rng: &mut impl Rng) {
    let count = rng.random_range(1..4);
    let mut near: Option<i32> = None;
    for _ in 0..count {
        let Some(batch) = pick(state, near, rng) else { continue };
        let mut changes = Vec::new();
        match state.habit().filter(|_| rng.random_bool(HOME)) {
            Some(habit) if state.lots(batch) != habit.home(batch) => {
                go_home(state, habit, batch, &mut changes);
            }
            _ if state.given(batch) => continue,
            _ => state.clear(batch, &mut changes),
        }
        near = Some(state.instance.candidates[batch as usize].start.begins);
        if state.attempt(&changes, |_| true) {
            done.extend(changes);
        }
    }
}

/// Takes out what is out of rhythm in a series.
fn even_one_out(state: &mut State, done: &mut Vec<Change>, rng: &mut impl Rng) {
    let Some(series) = state.rhythm.as_ref().and_then(|rhythm| rhythm.out_of_rhythm().choose(rng)) else {
        return;
    };
    let mut changes = Vec::new();
    surplus(state, series, &mut changes);
    if state.attempt(&changes, |_| true) {
        done.extend(changes);
    }
}

/// A batch sown near a day, if one is found quickly.
fn pick(state: &State, near: Option<i32>, rng: &mut impl Rng) -> Option<u32> {
    let Some(day) = near else {
        return some_batch(state, rng);
    };
    (0..8)
        .filter_map(|_| some_batch(state, rng))
        .min_by_key(|batch| (state.instance.candidates[*batch as usize].start.begins - day).abs())
}

/// The handful that helps a serving most, among some.
pub(super) fn best_handful(
    state: &mut State,
    servings: &Servings,
    serving: usize,
    rng: &mut impl Rng,
) -> Option<Change> {
    let mut best: Option<(f64, Change)> = None;
    for look in 0..LOOKS {
        let drawn = if look % 2 == 0 {
            needed(state, servings, serving, None, rng)
        } else {
            in_batch(state, servings, serving, rng)
        };
        let Some((candidate, path)) = drawn else { continue };
        let plants = state.sized(candidate, &path, state.need(serving));
        let change = Change { candidate, path, plants };
        // Where so many do not fit, fewer may.
        for plants in [plants, plants / 2] {
            let change = Change { plants, ..change };
            let Some(points) = (plants > 0).then(|| state.probe(change)).flatten() else {
                continue;
            };
            if points < best.map_or(-1e-9, |(least, _)| least) {
                best = Some((points, change));
            }
            break;
        }
    }
    best.map(|(_, change)| change)
}

/// A path for more plants of a batch that is sown anyway, harvested first for the serving.
fn in_batch(state: &State, servings: &Servings, serving: usize, rng: &mut impl Rng) -> Option<(u32, Path)> {
    let instance = state.instance;
    for _ in 0..8 {
        let batch = some_batch(state, rng)?;
        let candidate = &instance.candidates[batch as usize];
        let days = servings.days(serving, candidate.site);
        let from = candidate.pulls.start.min(candidate.cuts.start).max(days.start);
        let to = candidate.pulls.end.max(candidate.cuts.end).min(days.end);
        if from >= to || state.given(batch) {
            continue;
        }
        let first = rng.random_range(from..to);
        return random(instance, candidate, Wish { day: Some(first), pulled: None }, rng)
            .filter(|path| instance.allows(candidate, path))
            .map(|path| (batch, path));
    }
    None
}
